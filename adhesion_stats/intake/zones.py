"""Zone of each pull, as text: written in the row, carried down from the first row of its block, or named by a
layout.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.cells import first_seen, take
from adhesion_stats.intake.dates import looks_like_turned_date
from adhesion_stats.intake.findings import Marked
from adhesion_stats.intake.folding import spelling_key
from adhesion_stats.intake.grid import Kind
from adhesion_stats.intake.table import Column
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.pulls import UNNAMED_ZONE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows
    from adhesion_stats.intake.table import Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["Zones", "ids_of", "zones_of"]


@dataclass(frozen=True)
class Zones:
    """Zone of each pull: ``codes`` (n,) into the different ``names``, in the order in which they first stand there."""

    codes: NDArray[np.int32]
    names: tuple[str, ...]

    @classmethod
    def one(cls, name: str, n: int) -> Zones:
        """The same zone for all."""
        return cls(np.zeros(n, np.int32), (name,))

    @classmethod
    def of(cls, texts: Sequence[str], codes: NDArray[np.int32]) -> Zones:
        """Zones from texts, some of which may be alike or not occur."""
        known: dict[str, int] = {}
        to = np.zeros(len(texts), np.int32)
        for k in first_seen(codes, len(texts)):
            to[k] = known.setdefault(texts[k], len(known))
        return cls(to[codes], tuple(known))

    @property
    def each(self) -> tuple[str, ...]:
        """Zone of every pull."""
        return tuple(take(self.names, self.codes))


def zones_of(table: Table, plan: Plan, rows: Rows, layout: Layout, findings: Findings, above: str = "") -> Zones:
    """Return the zone of each pull (``rows.pulls`` of ``table``, whose ``names`` are the ids of the pulls).

    ``above`` is the lone text over the headings: the first zone where further zones stand alone in their rows.
    """
    pulls = rows.pulls
    if layout.zone is not None:
        return Zones.one(layout.zone, len(pulls))
    at = plan.columns.get("zone")
    if at is None:
        if rows.zone_rows:
            blank = Column(0, "", np.zeros(len(table), np.int32), [""], [None])
            return _carried(table, blank, rows, None, findings, "zone", above)
        findings.add("zone_unnamed", Severity.NOTE, sheet=table.grid.sheet, facts={"zone": UNNAMED_ZONE})
        return Zones.one(UNNAMED_ZONE, len(pulls))
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
            zones = Zones.of([text or UNNAMED_ZONE for text in column.texts], column.codes[pulls])
    else:
        zones = Zones.of(column.texts, column.codes if len(pulls) == len(table) else column.codes[pulls])
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
    return Marked(table.numbers[pulls], at, table.names, column.codes[rows.pulls], column.texts)


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
    names = [column.texts[column.codes[i]] or rows.zone_rows.get(i, "") for i in starts]
    return len(set(names)) == len(names)


def _carried(
    table: Table, column: Column, rows: Rows, heading: str | None, findings: Findings, name: str, above: str = ""
) -> Zones:
    zones: list[str] = []
    current = above
    carried: list[tuple[int, str, str]] = []
    heads = sorted(rows.zone_rows)
    k = 0
    for position, i in enumerate(rows.pulls.tolist()):
        while k < len(heads) and heads[k] < i:
            current = rows.zone_rows[heads[k]]
            k += 1
        written = column.texts[column.codes[i]]
        current = written or current
        if not written:
            who = table.names[position] if table.names else ""
            carried.append((int(table.numbers[i]), who, current))
        zones.append(current or UNNAMED_ZONE)
    lacking = [item for item in carried if not item[2]]
    findings.add_rows("zone_missing", Severity.ERROR, lacking, sheet=table.grid.sheet, column=heading or name)
    carried = [item for item in carried if item[2]]
    findings.add_rows("zone_carried_down", Severity.WARNING, carried, sheet=table.grid.sheet, column=heading or name)
    known: dict[str, int] = {}
    codes = np.array([known.setdefault(zone, len(known)) for zone in zones], np.int32)
    return Zones(codes, tuple(known))


def _spellings(table: Table, zones: Zones, column: Column, layout: Layout, findings: Findings, rows: Rows) -> Zones:
    """Apply the spellings that a layout merges; ask about those that differ by case, white space or accents only."""
    to = {spelling: zone for zone, spellings in layout.zones.items() for spelling in spellings}
    decided = set(to) | set(layout.zones)
    if to:
        zones = Zones.of([to.get(zone, zone) for zone in zones.names], zones.codes)
    by_key: dict[str, list[str]] = {}
    for zone in zones.names:
        by_key.setdefault(spelling_key(zone), []).append(zone)
    for alike in by_key.values():
        if len(alike) < 2 or set(alike) <= decided:
            continue
        at = [zones.codes == zones.names.index(zone) for zone in alike]
        row = int(table.numbers[rows.pulls[int(at[1].argmax())]])
        counts = tuple(f'"{zone}" ({int(mask.sum())})' for zone, mask in zip(alike, at, strict=True))
        facts: dict[str, Fact] = {"spellings": counts, "first": alike[0], "second": alike[1]}
        findings.add(
            "zone_spellings", Severity.ERROR, sheet=table.grid.sheet, row=row, column=column.heading, facts=facts
        )
    return zones


def ids_of(table: Table, plan: Plan, rows: Rows, findings: Findings) -> tuple[str, ...]:
    """Return the id of each pull, as text ("" where none)."""
    at = plan.columns.get("id")
    if at is None:
        return ("",) * len(rows.pulls)
    column = table.columns[at]
    seen = _seen(table, _turned(column), rows, column)
    if (len(seen) and len(seen) < 0.9 * len(rows.pulls)) or len(seen) == len(rows.pulls):
        seen = replace(seen, names=())
        findings.add_rows("name_became_date", Severity.WARNING, seen, sheet=table.grid.sheet, column=column.heading)
    return column.cells if len(rows.pulls) == len(table) else tuple(take(column.texts, column.codes[rows.pulls]))
