"""Is a table one that people write? Bounds for one cell and for the number of columns, the same for every file.

What depends on the length of a cell may take the square of it; no cell of a spreadsheet holds more.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from adhesion_stats.coded import PackedTexts
from adhesion_stats.intake.cells import Cells, ColumnRows
from adhesion_stats.messages import Fact, Severity

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.grid import Grid

__all__ = ["LONGEST_CELL", "MOST_COLUMNS", "too_many_columns", "within_bounds"]

LONGEST_CELL = 32_767  # characters; the bound of a cell in a spreadsheet
MOST_COLUMNS = 2_000
_SHOWN = 80


def too_many_columns(lines: Sequence[str], separators: Sequence[str], findings: Findings) -> bool:
    """Say where one line has more separators than a table has columns, before anyone tries to tell them apart."""
    for number, line in enumerate(lines, 1):
        if len(line) > MOST_COLUMNS:
            columns = 1 + max(line.count(separator) for separator in separators)
            if columns > MOST_COLUMNS:
                facts = {"columns": columns, "limit": MOST_COLUMNS}
                findings.add("too_many_columns", Severity.ERROR, row=number, facts=facts)
                return True
    return False


def within_bounds(grid: Grid, findings: Findings) -> bool:
    """Whether every cell of the grid is within the bounds; the first that is not is said."""
    rows = grid.rows
    if not isinstance(rows, ColumnRows):
        return _rows_within(grid, rows, findings)
    if len(rows.body) > MOST_COLUMNS:
        facts = {"columns": len(rows.body), "limit": MOST_COLUMNS}
        findings.add("too_many_columns", Severity.ERROR, sheet=grid.sheet, row=1, facts=facts)
        return False
    if any(_longest(cells) > LONGEST_CELL for cells in rows.body):
        return _rows_within(grid, rows, findings)
    return _rows_within(grid, rows.head, findings)


def _longest(cells: Cells) -> int:
    values = cells.text.values
    if isinstance(values, PackedTexts):  # bytes: at least as many as characters
        return int((values.offsets[1:] - values.offsets[:-1]).max(initial=0))
    return max(map(len, values), default=0)


def _rows_within(grid: Grid, rows: Sequence[list[str]], findings: Findings) -> bool:
    for number, row in zip(grid.numbers, rows, strict=False):
        if len(row) > MOST_COLUMNS:
            facts = {"columns": len(row), "limit": MOST_COLUMNS}
            findings.add("too_many_columns", Severity.ERROR, sheet=grid.sheet, row=number, facts=facts)
            return False
        if row and len(max(row, key=len)) > LONGEST_CELL:
            at = next(i for i, cell in enumerate(row) if len(cell) > LONGEST_CELL)
            said: dict[str, Fact] = {"length": len(row[at]), "limit": LONGEST_CELL, "text": row[at][:_SHOWN]}
            findings.add("cell_too_long", Severity.ERROR, sheet=grid.sheet, row=number, column=f"#{at + 1}", facts=said)
            return False
    return True
