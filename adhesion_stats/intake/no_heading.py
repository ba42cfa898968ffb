"""Sheets without a row of headings that can be used: what is said about them. Nothing is read here."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from adhesion_stats.intake.headings import understand
from adhesion_stats.messages import Severity

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.intake.heading_rows import HeadingRow
    from adhesion_stats.terms.layout import Layout

__all__ = ["cells_parted_by_blanks", "say_no_heading"]

_MEASURES = frozenset({"strength", "load"})


def cells_parted_by_blanks(grid: Grid, heading: HeadingRow, findings: Findings) -> bool:
    """Whether the only heading holds several, parted by runs of blanks; that is then said."""
    texts = [text for text in heading.texts if text]
    if len(texts) != 1:
        return False
    parts = re.split(r"\s{2,}", texts[0].strip())
    fields = [understand(part).field for part in parts]
    if len(parts) < 2 or not _MEASURES & set(fields) or not all(fields):
        return False
    row = grid.numbers[heading.index]
    facts = {"cells": tuple(parts)}
    findings.add("parted_by_blanks", Severity.ERROR, sheet=grid.sheet, row=row, column=texts[0], facts=facts)
    return True


def say_no_heading(grid: Grid, layout: Layout, findings: Findings) -> None:
    """Say why no table was found: no headings, headings down the first column, or none where a layout says."""
    filled = [i for i in range(len(grid.rows)) if not grid.is_blank(i)]
    widest = max(filled[:50], key=lambda i: sum(bool(cell.strip()) for cell in grid.rows[i])) if filled else 0
    cells = tuple(cell.strip()[:40] for cell in (grid.rows[widest] if filled else []) if cell.strip())[:30]
    row = grid.numbers[widest] if filled else 1
    if layout.heading_row is not None and layout.heading_row not in grid.numbers:
        findings.add(
            "heading_row_missing",
            Severity.ERROR,
            sheet=grid.sheet,
            row=layout.heading_row,
            facts={"rows": len(grid.rows)},
        )
        return
    if _on_its_side(grid, filled):
        column = grid.rows[filled[0]][0].strip()
        findings.add(
            "table_on_its_side", Severity.ERROR, sheet=grid.sheet, row=row, column=column, facts={"cells": cells}
        )
        return
    findings.add(
        "no_heading",
        Severity.ERROR,
        sheet=grid.sheet,
        row=row,
        column=cells[0] if cells else "",
        facts={"cells": cells},
    )


def _on_its_side(grid: Grid, filled: list[int]) -> bool:
    """Whether the headings stand below each other in the first column, with the readings to the right."""
    rows = [grid.rows[i] for i in filled[:50]]
    fields = {understand(row[0].strip()).field for row in rows if sum(bool(cell.strip()) for cell in row) > 2}
    return bool(_MEASURES & fields) and len(fields - {""}) > 1
