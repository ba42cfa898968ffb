"""Text of a TOML file -> its table, within bounds that no specification and no layout reaches.

A few kilobytes can be nested a hundred thousand levels deep, or hold a number of a million digits; whatever walks
through the table afterwards may rely on these bounds. Imports: ``tomllib``.
"""

from __future__ import annotations

import tomllib

__all__ = ["table_of"]

_MOST_CHARACTERS = 4_000_000
_DEEPEST = 30  # levels; the deepest of a specification is six
_LONGEST_TEXT, _LONGEST_KEY = 10_000, 200
_LARGEST = 2**63 - 1  # whole numbers as TOML 1.0 has them


def table_of(text: str) -> dict[str, object]:
    """Return the table written in ``text``.

    Raises
    ------
    ValueError
        When it is no TOML, or goes beyond the bounds; the text says what and where.
    """
    if len(text) > _MOST_CHARACTERS:
        raise ValueError(f"it has more than {_MOST_CHARACTERS} characters")
    for number, line in enumerate(text.splitlines(), 1):
        if line.count(".") > _DEEPEST and _dotted(line) > _DEEPEST:
            raise ValueError(f"a key of more than {_DEEPEST} parts (at line {number})")
    try:
        table = tomllib.loads(text)
    except RecursionError:
        raise ValueError(f"it is nested more than {_DEEPEST} levels deep") from None
    _check(table)
    return table


def _dotted(line: str) -> int:
    """Most parts in a row that are divided by dots and hold no blank inside, as those of a key."""
    longest = now = 0
    for part in line.split("."):
        now = now + 1 if part.strip() and not any(c.isspace() for c in part.strip()) else 0
        longest = max(longest, now)
    return longest


def _check(table: dict[str, object]) -> None:
    """Raise ``ValueError`` for what goes beyond the bounds; without recursion."""
    heap: list[tuple[object, str, int]] = [(table, "", 1)]
    while heap:
        value, path, level = heap.pop()
        if level > _DEEPEST:
            raise ValueError(f"it is nested more than {_DEEPEST} levels deep (at {path[:80]})")
        if isinstance(value, str) and len(value) > _LONGEST_TEXT:
            raise ValueError(f"the text at {path[:80]} has {len(value)} characters, more than {_LONGEST_TEXT}")
        if isinstance(value, int) and abs(value) > _LARGEST:
            raise ValueError(f"the number at {path[:80]} is larger than TOML allows")
        if isinstance(value, dict):
            for key, part in value.items():
                if len(key) > _LONGEST_KEY:
                    raise ValueError(f"a key of {len(key)} characters, more than {_LONGEST_KEY}: {key[:40]}")
                heap.append((part, f"{path}.{key}" if path else key, level + 1))
        elif isinstance(value, list):
            heap += [(part, f"{path}[{i}]", level + 1) for i, part in enumerate(value, 1)]
