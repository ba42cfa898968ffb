"""Which row holds the headings: alone, with a row above or with a row of units below, and where the first table begins.

Nothing is said here about which column is what; that is for ``proposal``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from adhesion_stats.intake.cells import cells_of
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.quantities import dimensions

if TYPE_CHECKING:
    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.terms.layout import Layout

__all__ = ["KEY_FIELDS", "HeadingRow", "find_heading", "first_table"]

_SEARCH = 200  # rows in which a heading is looked for
KEY_FIELDS = frozenset(
    {"zone", "id", "strength", "load", "diameter", "dolly", "area", "failure", "date", "unit", "bound", "lost", "share"}
)
_MEASURED = re.compile(r"\s*[<>≤≥]?\s*[-−]?\d+[.,]\d")  # a cell that begins so is a reading, no heading


@dataclass(frozen=True)
class HeadingRow:
    """Where the headings stand: index of the last heading row, of the first row below, texts and their meaning."""

    index: int
    first: int
    texts: tuple[str, ...]
    units: tuple[str, ...]  # of a row of units below the headings
    rows: tuple[int, ...] = ()  # indices of all heading and unit rows


def _fields(texts: list[str]) -> set[tuple[str, str]]:
    return {(h.field, h.code) for text in texts if text.strip() and (h := understand(text.strip())).field}


def _measured(fields: set[tuple[str, str]]) -> bool:
    return bool({("strength", ""), ("load", "")} & fields)


def _joined(above: list[str], below: list[str]) -> list[str]:
    """Headings over two rows: the lower text where it says something, else both."""
    width = max(len(above), len(below))
    out = []
    for c in range(width):
        low = below[c].strip() if c < len(below) else ""
        high = above[c].strip() if c < len(above) else ""
        if low and high and _says_less(low, f"{high} {low}"):
            out.append(f"{high} {low}")
        else:
            out.append(low or high)
    return out


def _says_less(low: str, whole: str) -> bool:
    """Whether the lower text alone says less than with the one above it ("at failure" under "Load")."""
    alone, joined = understand(low), understand(whole)
    return not alone.field or (bool(joined.field) and joined.rank < alone.rank)


def _continues(above: list[str], below: list[str]) -> bool:
    """Whether every text of a row reads like a heading, a unit, or the rest of the heading above it."""
    for c, cell in enumerate(below):
        text = cell.strip()
        if not text:
            continue
        high = above[c].strip() if c < len(above) else ""
        whole = understand(f"{high} {text}").field if high else ""
        if text[0].isdigit() or not (understand(text).field or dimensions(text) or whole):
            return False
    return True


def _has_digit_below(grid: Grid, index: int, texts: list[str]) -> bool:
    measures = [c for c, text in enumerate(texts) if understand(text.strip()).field in {"strength", "load"}]
    for row in grid.rows[index + 1 : index + 6]:
        if any(c < len(row) and any(ch.isdigit() for ch in row[c]) for c in measures):
            return True
    return False


def find_heading(grid: Grid, layout: Layout) -> HeadingRow | None:
    """Return the heading row of a grid, or None where no row names a strength or a load."""
    if layout.heading_row is not None:
        if layout.heading_row not in grid.numbers:
            return None
        at = grid.numbers.index(layout.heading_row)
        return _with_unit_row(grid, at, [cell.strip() for cell in grid.rows[at]], (at,))
    wanted = {fold(text) for text in layout.columns.values()}
    best: tuple[tuple[int, bool, int], int, list[str], tuple[int, ...]] | None = None
    for i, row in enumerate(grid.rows[:_SEARCH]):
        if any(_MEASURED.match(cell) for cell in row):
            continue
        options: list[tuple[list[str], tuple[int, ...]]] = [(row, (i,))]
        if i and not grid.is_blank(i - 1) and _continues(grid.rows[i - 1], row):
            options.append((_joined(grid.rows[i - 1], row), (i - 1, i)))
        for texts, rows in options:
            fields = _fields(texts)
            named = sum(fold(text) in wanted for text in texts if text.strip())
            measured = _measured(fields) or (
                "strength" in layout.columns and fold(layout.columns["strength"]) in map(fold, texts)
            )
            if not measured:
                continue
            said = [understand(text.strip()) for text in texts]
            united = sum(h.field in {"strength", "load"} and bool(h.unit) for h in said)
            score = (len(fields) + 2 * named, _has_digit_below(grid, i, texts), united)
            if best is None or score > best[0]:
                best = (score, i, [text.strip() for text in texts], rows)
    if best is None:
        return None
    _, index, texts, rows = best
    if len(rows) == 1 and _from_above(grid, index, texts):
        rows = (index - 1, index)
    return _with_unit_row(grid, index, texts, rows)


def first_table(grid: Grid, heading: HeadingRow, layout: Layout) -> HeadingRow:
    """The heading of the first table: one above the best heading with readings between them is a table of its own."""
    above = range(heading.rows[0])
    if not any(_MEASURED.match(cell) for i in above for cell in grid.rows[i]):
        return heading
    before = replace(grid, rows=grid.rows[: heading.rows[0]], numbers=grid.numbers[: heading.rows[0]])
    earlier = find_heading(before, layout)
    if (
        earlier is None
        or len(_fields(list(earlier.texts))) < 2
        or not _has_digit_below(before, earlier.index, list(earlier.texts))
    ):
        return heading
    return first_table(before, earlier, layout)


def _from_above(grid: Grid, index: int, texts: list[str]) -> bool:
    """Give a column without a heading the one that stands alone in the row above ("Zone" over two rows); whether any
    did.
    """
    above = [cell.strip() for cell in grid.rows[index - 1]] if index else []
    if any(_MEASURED.match(cell) for cell in above):
        return False
    texts += [""] * (len(above) - len(texts))
    found = [c for c, cell in enumerate(above) if cell and not texts[c] and understand(cell).field in KEY_FIELDS]
    found = [c for c in found if any(text.strip() for text in cells_of(grid.rows, c, index + 1)[0])]
    for c in found:
        texts[c] = above[c]
    return bool(found)


def _with_unit_row(grid: Grid, index: int, texts: list[str], rows: tuple[int, ...]) -> HeadingRow:
    while texts and not texts[-1] and not any(cell.strip() for cell in cells_of(grid.rows, len(texts) - 1, index)[0]):
        texts.pop()
    after = index + 1
    units = [""] * len(texts)
    if after < len(grid.rows):
        below = [cell.strip() for cell in grid.rows[after]]
        said = [cell for cell in below if cell not in {"", "-", "–", "[-]", "[–]", "(-)"}]
        if said and all(dimensions(cell) for cell in said):
            units = [(below[c] if c < len(below) and dimensions(below[c]) else "") for c in range(len(texts))]
            rows = (*rows, after)
            after += 1
    return HeadingRow(index, after, tuple(texts), tuple(units), rows)
