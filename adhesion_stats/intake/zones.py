"""Zone of each pull, as text: written in the row, carried down from the first row of its block, or named by a
layout.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.dates import looks_like_turned_date
from adhesion_stats.intake.folding import spelling_key
from adhesion_stats.intake.grid import Kind
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.pulls import UNNAMED_ZONE

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows
    from adhesion_stats.intake.table import Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["ids_of", "zones_of"]


def zones_of(table: Table, plan: Plan, rows: Rows, layout: Layout, findings: Findings, above: str = "") -> list[str]:
    """Return the zone of each pull (``rows.pulls`` of ``table``, whose ``names`` are the ids of the pulls).

    ``above`` is the lone text over the headings: the first zone where further zones stand alone in their rows.
    """
    pulls = rows.pulls
    if layout.zone is not None:
        return [layout.zone] * len(pulls)
    at = plan.columns.get("zone")
    if at is None:
        if rows.zone_rows:
            return _carried(table, [""] * len(table), rows, None, findings, "zone", above)
        findings.add("zone_unnamed", Severity.NOTE, sheet=table.grid.sheet, facts={"zone": UNNAMED_ZONE})
        return [UNNAMED_ZONE] * len(pulls)
    column = table.columns[at]
    cells = column.cells
    blanks = [int(i) for i in pulls if not cells[i]]
    if blanks or rows.zone_rows:
        if not blanks or _may_carry(cells, rows, layout):
            zones = _carried(table, cells, rows, column.heading, findings, column.heading)
        else:
            mask = np.zeros(len(table), np.bool_)
            mask[blanks] = True
            findings.add_rows(
                "zone_missing", Severity.ERROR, _seen(table, mask, rows), sheet=table.grid.sheet, column=column.heading
            )
            zones = [cells[i] or UNNAMED_ZONE for i in pulls]
    else:
        zones = [cells[i] for i in pulls]
    if column.trimmed:
        findings.add(
            "zone_blanks_trimmed",
            Severity.WARNING,
            sheet=table.grid.sheet,
            column=column.heading,
            facts={"zones": tuple(sorted(column.trimmed))},
        )
    turned = column.where(
        [
            (detail is not None and detail.kind is Kind.DATE) or looks_like_turned_date(text)
            for text, detail in zip(column.texts, column.details, strict=True)
        ]
    )
    findings.add_rows(
        "name_became_date",
        Severity.WARNING,
        _seen(table, turned, rows, column.index),
        sheet=table.grid.sheet,
        column=column.heading,
    )
    return _spellings(table, zones, column.index, layout, findings, rows)


def _seen(table: Table, mask: np.ndarray, rows: Rows, column: int | None = None) -> list[tuple[int, str, str]]:
    found = []
    for k, i in enumerate(rows.pulls):
        if mask[i]:
            text = table.columns[column].texts[table.columns[column].codes[i]] if column is not None else ""
            found.append((int(table.numbers[i]), table.names[k] if table.names else "", text))
    return found


def _may_carry(cells: list[str], rows: Rows, layout: Layout) -> bool:
    """Zone written once a block: each written zone opens a block of its own, and at least one block has several
    rows.
    """
    if layout.carry_zone_down is not None:
        return layout.carry_zone_down
    starts = sorted({int(i) for i in rows.pulls if cells[i]} | set(rows.zone_rows))
    first = int(rows.pulls[0])
    if not starts or starts[0] > first:
        return False
    names = [cells[i] or rows.zone_rows.get(i, "") for i in starts]
    return len(set(names)) == len(names)


def _carried(
    table: Table, cells: list[str], rows: Rows, heading: str | None, findings: Findings, column: str, above: str = ""
) -> list[str]:
    zones: list[str] = []
    current = above
    carried: list[tuple[int, str, str]] = []
    heads = sorted(rows.zone_rows)
    k = 0
    for position, i in enumerate(rows.pulls):
        while k < len(heads) and heads[k] < i:
            current = rows.zone_rows[heads[k]]
            k += 1
        written = cells[i]
        current = written or current
        if not written:
            name = table.names[position] if table.names else ""
            carried.append((int(table.numbers[i]), name, current))
        zones.append(current or UNNAMED_ZONE)
    lacking = [item for item in carried if not item[2]]
    findings.add_rows("zone_missing", Severity.ERROR, lacking, sheet=table.grid.sheet, column=heading or column)
    carried = [item for item in carried if item[2]]
    findings.add_rows("zone_carried_down", Severity.WARNING, carried, sheet=table.grid.sheet, column=heading or column)
    return zones


def _spellings(table: Table, zones: list[str], at: int, layout: Layout, findings: Findings, rows: Rows) -> list[str]:
    """Apply the spellings that a layout merges; ask about those that differ by case, white space or accents only."""
    to = {spelling: zone for zone, spellings in layout.zones.items() for spelling in spellings}
    decided = set(to) | set(layout.zones)
    zones = [to.get(zone, zone) for zone in zones]
    by_key: dict[str, list[str]] = {}
    for zone in dict.fromkeys(zones):
        by_key.setdefault(spelling_key(zone), []).append(zone)
    for alike in by_key.values():
        if len(alike) < 2 or set(alike) <= decided:
            continue
        first = next(k for k, zone in enumerate(zones) if zone == alike[1])
        row = int(table.numbers[rows.pulls[first]])
        counts = tuple(f'"{zone}" ({zones.count(zone)})' for zone in alike)
        facts: dict[str, Fact] = {"spellings": counts, "first": alike[0], "second": alike[1]}
        findings.add(
            "zone_spellings",
            Severity.ERROR,
            sheet=table.grid.sheet,
            row=row,
            column=table.columns[at].heading,
            facts=facts,
        )
    return zones


def ids_of(table: Table, plan: Plan, rows: Rows, findings: Findings) -> tuple[str, ...]:
    """Return the id of each pull, as text ("" where none)."""
    at = plan.columns.get("id")
    if at is None:
        return ("",) * len(rows.pulls)
    column = table.columns[at]
    cells = column.cells
    ids = tuple(cells[i] for i in rows.pulls)
    turned = column.where(
        [
            (detail is not None and detail.kind is Kind.DATE) or looks_like_turned_date(text)
            for text, detail in zip(column.texts, column.details, strict=True)
        ]
    )
    seen = [(int(table.numbers[i]), "", cells[i]) for i in rows.pulls if turned[i]]
    if (seen and len(seen) < 0.9 * len(ids)) or len(seen) == len(ids):
        findings.add_rows("name_became_date", Severity.WARNING, seen, sheet=table.grid.sheet, column=column.heading)
    return ids
