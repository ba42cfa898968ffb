"""Collects what a file's reader must know while it is being read, so that all problems come at once. No words here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from adhesion_stats.messages import Fact, Message, Place, Severity, worst_first

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["Findings", "Seen", "ranges"]

_NAMED = 40  # rows that a message names one by one
_SHOWN = 12  # examples shown where there are more rows and many texts; all rows stand in the fact "rows"

Seen = tuple[int, str, str]  # row number, id of the pull ("" if none), text of the cell


def ranges(rows: Iterable[int]) -> str:
    """Return row numbers in short form.

    >>> ranges([4, 5, 6, 9])
    '4-6, 9'
    """
    runs: list[list[int]] = []
    for row in sorted(set(rows)):
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def _named(seen: Seen) -> str:
    row, name, text = seen
    label = f"{row} ({name})" if name else str(row)
    return f'{label}: "{text}"' if text else label


class Findings:
    """Messages about one file; ``add`` says one thing, ``add_rows`` one thing about many rows."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._messages: list[Message] = []

    def add(
        self,
        code: str,
        severity: Severity,
        *,
        sheet: str = "",
        row: int | None = None,
        column: str | None = None,
        facts: Mapping[str, Fact] | None = None,
    ) -> None:
        """Say one thing about one place."""
        place = Place(file=self.file, sheet=sheet or None, row=row, column=column or None)
        self._messages.append(Message(code=code, severity=severity, place=place, facts=facts or {}))

    def add_rows(
        self,
        code: str,
        severity: Severity,
        seen: Sequence[Seen],
        *,
        sheet: str = "",
        column: str | None = None,
        facts: Mapping[str, Fact] | None = None,
    ) -> None:
        """Say one thing about several rows (nothing for none): facts ``count``, ``rows`` and ``found`` name them all.

        ``found`` holds ``4 (p3): "n/a"`` for each row, or, for many rows, each text with its runs of rows, or, for many
        rows with many texts, the first ones and the runs of the others.
        """
        if not seen:
            return
        ordered = sorted(seen)
        by_text: dict[str, list[int]] = {}
        for row, _, text in ordered:
            by_text.setdefault(text, []).append(row)
        if len(ordered) <= _NAMED:
            found = tuple(_named(item) for item in ordered)
        elif len(by_text) <= _NAMED:
            found = tuple(f'{ranges(rows)}: "{text}"' if text else ranges(rows) for text, rows in by_text.items())
        else:
            found = (
                *(_named(item) for item in ordered[:_SHOWN]),
                f"... {ranges(row for row, _, _ in ordered[_SHOWN:])}",
            )
        all_facts: dict[str, Fact] = {
            "count": len(ordered),
            "rows": ranges(row for row, _, _ in ordered),
            "found": found,
            **(facts or {}),
        }
        self.add(code, severity, sheet=sheet, row=ordered[0][0], column=column, facts=all_facts)

    @property
    def failed(self) -> bool:
        """Whether an error was said."""
        return any(message.severity is Severity.ERROR for message in self._messages)

    @property
    def messages(self) -> tuple[Message, ...]:
        """Everything said, worst first, each thing once."""
        unique: list[Message] = []
        for message in worst_first(self._messages):
            if message not in unique:
                unique.append(message)
        return tuple(unique)
