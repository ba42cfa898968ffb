"""Tested area of each pull: from its size or area column, from a layout, or stated once above the headings."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.numeric import read_numbers
from adhesion_stats.intake.sizes import Size, parse_size, says_square
from adhesion_stats.intake.strength import read_sizes
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import not_given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.table import Table
    from adhesion_stats.terms.layout import Layout


__all__ = ["areas_of"]

_SIZE_WORDS = re.compile(
    r"(?:disc|disk|dolly|dollies|diameter|Ø|stempel|durchmesser|pastille|disco|krazek|stud|fixture|plate|platten|pad)",
    re.IGNORECASE,
)
_SIZE = re.compile(
    r"(?:Ø|⌀)?\s*(\d+(?:[.,]\d+)?(?:\s*[x×]\s*\d+(?:[.,]\d+)?)?\s*(?:mm|cm|inch(?:es)?|in\.?|\"|″|'')(?![a-z]))",
    re.IGNORECASE,
)


def areas_of(
    table: Table,
    plan: Plan,
    units: dict[str, str],
    preamble: list[tuple[str, int, str]],
    layout: Layout,
    findings: Findings,
    *,
    needed: bool,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Tested area [mm²] and side or diameter [mm] of each pull."""
    area = side = not_given(len(table))
    if "diameter" in plan.columns:
        column = table.columns[plan.columns["diameter"]]
        sizes = read_sizes(table, column, "diameter", units.get("diameter", ""), layout, findings)
        area = np.array([size.area_mm2 for size in sizes])[column.codes]
        side = np.array([size.side_mm for size in sizes])[column.codes]
    if "area" in plan.columns:
        column = table.columns[plan.columns["area"]]
        numbers = read_numbers(
            table,
            column,
            "area",
            unit=units.get("area", ""),
            row_units=None,
            layout=layout,
            findings=findings,
            plausible=None,
            must=needed,
        )
        stated = np.where(numbers.value > 0, numbers.value, np.nan)
        wrong = numbers.given & np.isnan(stated)
        findings.add_rows(
            "size_unreadable", Severity.ERROR, table.seen(wrong, column), sheet=table.grid.sheet, column=column.heading
        )
        both = ~np.isnan(area) & ~np.isnan(stated) & (np.abs(area - stated) > 0.02 * stated)
        findings.add_rows(
            "area_and_size_disagree",
            Severity.WARNING,
            table.seen(both, column),
            sheet=table.grid.sheet,
            column=column.heading,
        )
        area = np.where(np.isnan(stated), area, stated)
    if "dolly" in plan.columns:
        column = table.columns[plan.columns["dolly"]]
        sizes = read_sizes(table, column, "dolly", units.get("dolly", ""), layout, findings)
        side = np.array([size.side_mm for size in sizes])[column.codes]
        nominal = np.array([size.area_mm2 for size in sizes])[column.codes]
        instead = np.isnan(area) & ~np.isnan(nominal)
        area = np.where(instead, nominal, area)
        facts = {"tested": table.columns[plan.columns["diameter"]].heading if "diameter" in plan.columns else "area"}
        findings.add("tested_size_used", Severity.NOTE, sheet=table.grid.sheet, column=column.heading, facts=facts)
    if needed or "load" in plan.columns or any(known.reads_for for known in layout.instruments.values()):
        area, side = _size_elsewhere(table, area, side, preamble, layout, findings, needed=needed)
    return area, side


def _size_elsewhere(
    table: Table,
    area: NDArray[np.float64],
    side: NDArray[np.float64],
    preamble: list[tuple[str, int, str]],
    layout: Layout,
    findings: Findings,
    *,
    needed: bool,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Size from a layout, else from the lines above the heading when they state exactly one."""
    lacking = np.isnan(area)
    if not lacking.any():
        return area, side
    size: Size | None = None
    if layout.diameter is not None:
        size = parse_size(layout.diameter, unit="")
        if size.problem or size.bare:
            findings.add(
                "layout_wrong_value",
                Severity.ERROR,
                facts={"key": "diameter", "expected": 'a size with its unit, such as "50 mm"', "came": layout.diameter},
            )
            return area, side
    elif needed:
        stated = [
            (row, f"{match[1]} square" if says_square(text) and "Ø" not in match[0] else match[1], text)
            for _, row, text in preamble
            if _SIZE_WORDS.search(text)
            for match in _SIZE.finditer(text)
        ]
        sizes = {parse_size(text, unit="").area_mm2 for _, text, _ in stated}
        if len(sizes) == 1:
            size = parse_size(stated[0][1], unit="")
            findings.add(
                "size_from_above",
                Severity.WARNING,
                sheet=table.grid.sheet,
                row=stated[0][0],
                facts={"text": stated[0][2], "size": stated[0][1]},
            )
    if size is None:
        return area, side
    return np.where(lacking, size.area_mm2, area), np.where(lacking & np.isnan(side), size.side_mm, side)
