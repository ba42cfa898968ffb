"""Zone of each pull, as text: written in the row, carried down from the first row of its block, or named by a
layout.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts
from adhesion_stats.intake.dates import looks_like_turned_date
from adhesion_stats.intake.findings import Marked
from adhesion_stats.intake.folding import spelling_key
from adhesion_stats.intake.grid import Kind
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.table import Column
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.pulls import UNNAMED_ZONE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows
    from adhesion_stats.intake.table import Table
    from adhesion_stats.terms.layout import Layout

_MOST_ZONES = 200  # a column with more different texts does not group pulls

__all__ = ["ids_of", "zones_of"]


def zones_of(table: Table, plan: Plan, rows: Rows, layout: Layout, findings: Findings, above: str = "") -> Texts:
    """Return the zone of each pull (``rows.pulls`` of ``table``, whose ``names`` are the ids of the pulls), tidy.

    ``above`` is the lone text over the headings: the first zone where further zones stand alone in their rows.
    """
    pulls = rows.pulls
    if layout.zone is not None:
        return Coded.same(layout.zone, len(pulls))
    at = plan.columns.get("zone")
    if at is None:
        if rows.zone_rows:
            blank = Column(0, "", table.blanks, [None])
            return _carried(table, blank, rows, None, findings, "zone", above)
        if "zone" not in plan.asked and not _perhaps(table, plan, rows, findings):
            findings.add("zone_unnamed", Severity.NOTE, sheet=table.grid.sheet, facts={"zone": UNNAMED_ZONE})
        return Coded.same(UNNAMED_ZONE, len(pulls))
    column = table.columns[at]
    written = column.filled_text[pulls]
    if not written.all() or rows.zone_rows:
        if written.all() or _may_carry(column, rows, layout):
            zones = _carried(table, column, rows, column.heading, findings, column.heading)
        else:
            mask = np.zeros(len(table), np.bool_)
            mask[pulls[~written]] = True
            findings.add_rows(
                "zone_missing", Severity.ERROR, _seen(table, mask, rows), sheet=table.grid.sheet, column=column.heading
            )
            zones = column.cells.take(pulls).map(lambda text: text or UNNAMED_ZONE).tidy
    else:
        zones = (column.cells if len(pulls) == len(table) else column.cells.take(pulls)).tidy
    if column.trimmed:
        findings.add(
            "zone_blanks_trimmed",
            Severity.WARNING,
            sheet=table.grid.sheet,
            column=column.heading,
            facts={"zones": tuple(sorted(column.trimmed))},
        )
    findings.add_rows(
        "name_became_date",
        Severity.WARNING,
        _seen(table, _turned(column), rows, column),
        sheet=table.grid.sheet,
        column=column.heading,
    )
    return _spellings(table, zones, column, layout, findings, rows)


def _perhaps(table: Table, plan: Plan, rows: Rows, findings: Findings) -> bool:
    """Ask about a column of an unknown heading that groups the pulls; whether there is one.

    It stands left of the values, each pull has a text in it that is no number, and at least one text comes again.
    """
    measure = min(plan.columns[name] for name in ("strength", "load") if name in plan.columns)
    for c in plan.unused:
        column = table.columns[c]
        used = np.unique(column.codes[rows.pulls])
        texts = [column.texts[code] for code in used.tolist()]
        if c > measure or not 2 <= len(texts) < len(rows.pulls) or not all(texts):
            continue
        if any(text[0].isdigit() for text in texts) or understand(column.heading).field or len(texts) > _MOST_ZONES:
            continue
        values = tuple(f'"{text}"' for text in texts[:5])
        facts: dict[str, Fact] = {"zone": UNNAMED_ZONE, "heading": column.heading, "values": values}
        row = int(table.numbers[rows.pulls[0]])
        findings.add(
            "zone_perhaps", Severity.ERROR, sheet=table.grid.sheet, row=row, column=column.heading, facts=facts
        )
        return True
    return False


def _turned(column: Column) -> NDArray[np.bool_]:
    """Rows whose name looks like one that a spreadsheet turned into a date."""
    turned = column.by_shape(looks_like_turned_date)
    if not column.is_plain:
        turned |= np.array([detail is not None and detail.kind is Kind.DATE for detail in column.details], np.bool_)
    return column.where(turned)


def _seen(table: Table, mask: NDArray[np.bool_], rows: Rows, column: Column | None = None) -> Marked:
    """The pulls in ``mask`` (over the rows of the table) for a message, with the cell of ``column``."""
    at = np.flatnonzero(mask[rows.pulls])
    pulls = rows.pulls[at]
    if column is None:
        return Marked(table.numbers[pulls], at, table.names)
    return Marked(table.numbers[pulls], at, table.names, column.cells.take(rows.pulls))


def _may_carry(column: Column, rows: Rows, layout: Layout) -> bool:
    """Zone written once a block: each written zone opens a block of its own, and at least one block has several
    rows.
    """
    if layout.carry_zone_down is not None:
        return layout.carry_zone_down
    starts = sorted({*rows.pulls[column.filled_text[rows.pulls]].tolist(), *rows.zone_rows})
    first = int(rows.pulls[0])
    if not starts or starts[0] > first:
        return False
    names = [column.cells[i] or rows.zone_rows.get(i, "") for i in starts]
    return len(set(names)) == len(names)


def _carried(
    table: Table, column: Column, rows: Rows, heading: str | None, findings: Findings, name: str, above: str = ""
) -> Texts:
    zones: list[str] = []
    current = above
    carried: list[tuple[int, str, str]] = []
    heads = sorted(rows.zone_rows)
    k = 0
    for position, i in enumerate(rows.pulls.tolist()):
        while k < len(heads) and heads[k] < i:
            current = rows.zone_rows[heads[k]]
            k += 1
        written = column.cells[i]
        current = written or current
        if not written:
            who = table.names[position] if table.names is not None else ""
            carried.append((int(table.numbers[i]), who, current))
        zones.append(current or UNNAMED_ZONE)
    lacking = [item for item in carried if not item[2]]
    findings.add_rows("zone_missing", Severity.ERROR, lacking, sheet=table.grid.sheet, column=heading or name)
    carried = [item for item in carried if item[2]]
    findings.add_rows("zone_carried_down", Severity.WARNING, carried, sheet=table.grid.sheet, column=heading or name)
    return Coded.of(zones)


def _spellings(table: Table, zones: Texts, column: Column, layout: Layout, findings: Findings, rows: Rows) -> Texts:
    """Apply the spellings that a layout merges; ask about those that differ by case, white space or accents only.

    A name that the layout lists as its own only spelling is kept apart from those like it.
    """
    apart = {zone for zone, spellings in layout.zones.items() if tuple(spellings) == (zone,)}
    to = {spelling: zone for zone, spellings in layout.zones.items() for spelling in spellings}
    decided = set(to) | set(layout.zones)
    if to:
        zones = zones.map(lambda zone: to.get(zone, zone)).tidy
    by_key: dict[str, list[str]] = {}
    for zone in zones.values:
        if zone not in apart:
            by_key.setdefault(spelling_key(zone), []).append(zone)
    for alike in by_key.values():
        if len(alike) < 2 or set(alike) <= decided:
            continue
        at = [zones.rows_of(zone) for zone in alike]
        row = int(table.numbers[rows.pulls[at[1][0]]])
        counts = tuple(f'"{zone}" ({len(own)})' for zone, own in zip(alike, at, strict=True))
        facts: dict[str, Fact] = {
            "spellings": counts,
            "first": alike[0],
            "second": alike[1],
            "others": tuple(alike[1:]),
        }
        findings.add(
            "zone_spellings", Severity.ERROR, sheet=table.grid.sheet, row=row, column=column.heading, facts=facts
        )
    return zones


def ids_of(table: Table, plan: Plan, rows: Rows, findings: Findings) -> Texts:
    """Return the id of each pull, as text ("" where none)."""
    at = plan.columns.get("id")
    if at is None:
        return Coded.same("", len(rows.pulls))
    column = table.columns[at]
    seen = _seen(table, _turned(column), rows, column)
    if (len(seen) and len(seen) < 0.9 * len(rows.pulls)) or len(seen) == len(rows.pulls):
        seen = replace(seen, names=None)
        findings.add_rows("name_became_date", Severity.WARNING, seen, sheet=table.grid.sheet, column=column.heading)
    return column.cells if len(rows.pulls) == len(table) else column.cells.take(rows.pulls)
