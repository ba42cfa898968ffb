"""Specifications that use a published rule or method, with its holes filled by their examples."""

from __future__ import annotations

from adhesion_stats.terms.library import Published

HEAD = '[contract]\ntitle = "t"\n'
ASKED = '[[require]]\nmean_at_least = "1.50 MPa"\n'


def written(value: object) -> str:
    """A value as TOML; texts in quotes."""
    return str(value).lower() if isinstance(value, bool) else str(value) if isinstance(value, int) else f'"{value}"'


def specification_with(one: Published) -> str:
    """The text of a specification that uses ``one``."""
    filled: dict[str, list[str]] = {}
    for hole in one.holes:
        table, _, rest = hole.key.partition(".")
        filled.setdefault(table, []).append(f"{rest.rpartition('.')[2]} = {written(hole.example)}\n")
    use = f'use = "{one.name}"\n'
    if one.kind == "rule":
        return HEAD + "[[require]]\n" + use + "".join(filled.get("require", []))
    tables = "".join(f"[{table}]\n" + "".join(lines) for table, lines in filled.items() if table != "method")
    return HEAD + ASKED + "[method]\n" + use + "".join(filled.get("method", [])) + tables
