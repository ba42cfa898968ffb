"""Comparisons within a file: stated means with the pulls, one quantity in two units, values without id, ids twice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.numeric import Numbers, read_numbers
from adhesion_stats.intake.summary_rows import expected
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound, Pulls

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows
    from adhesion_stats.intake.strength import Strength
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["bare_values", "compare_parallel", "compare_summaries", "duplicates"]


def compare_parallel(
    table: Table, plan: Plan, name: str, first: Numbers, column: Column, layout: Layout, findings: Findings
) -> None:
    """Compare further columns of one quantity in other units with the first; rows that differ are doubted."""
    for at, unit in plan.parallel.get(name, ()):
        other = table.columns[at]
        numbers = read_numbers(
            table, other, name, unit=unit, row_units=None, layout=layout, findings=findings, plausible=None, must=True
        )
        gap = np.abs(first.value - numbers.value)
        wrong = first.given & numbers.given & (gap > (first.half + numbers.half) * 1.001 + 1e-9 * np.abs(first.value))
        lone = first.given != numbers.given
        seen = [
            (row, who, f"{column.texts[column.codes[i]] or '(blank)'} and {other.texts[other.codes[i]] or '(blank)'}")
            for (row, who, _), i in zip(table.seen(wrong | lone), np.flatnonzero(wrong | lone), strict=True)
        ]
        findings.add_rows(
            "columns_disagree",
            Severity.WARNING,
            seen,
            sheet=table.grid.sheet,
            column=other.heading,
            facts={"field": name},
        )
        first.disputed |= wrong | lone
        findings.add(
            "columns_agree",
            Severity.NOTE,
            sheet=table.grid.sheet,
            column=column.heading,
            facts={"field": name, "headings": (column.heading, other.heading)},
        )


def compare_summaries(
    full: Table, rows: Rows, plan: Plan, joined: Strength, zones: list[str], findings: Findings
) -> None:
    """Compare what summary rows state with the pulls above them, zone by zone and over all."""
    at = plan.columns.get("strength")
    if at is None or not rows.summaries:
        return
    from adhesion_stats.intake.numbers import parse

    column = full.columns[at]
    factor = 1.0
    exact = joined.bound == Bound.EXACT
    zone_array = np.array(zones, dtype=object)
    odd = []
    for summary in rows.summaries:
        code = column.codes[summary.at]
        detail = column.details[code]
        body, parsed = parse(column.texts[code].replace(",", ".")) if detail is None else (None, None)
        stated = (
            detail.value if detail is not None else parsed.value if parsed is not None and not parsed.problem else None
        )
        if stated is None or math.isnan(stated) or (body is not None and body.unit):
            continue
        half = 0.0051 if detail is not None else 0.5 * 10.0 ** -(parsed.decimals or 0) if parsed is not None else 0.0
        above = rows.pulls < summary.at
        if not above.any():
            continue
        zone = zones[int(np.flatnonzero(above)[-1])]
        sets = [exact & (zone_array == zone), exact & above & (zone_array == zone), exact & above, exact]
        candidates = [value for mask in sets for value in expected(summary.kind, joined.mpa[mask])]
        if (
            candidates
            and not any(abs(stated * factor - value) <= half + 1e-9 + 0.0005 * abs(value) for value in candidates)
            and joined.step == joined.step
        ):
            odd.append(
                (int(full.numbers[summary.at]), summary.label, f"{column.texts[code]}; computed {candidates[0]:.4g}")
            )
    if all(unit in {"", "MPa", "N/mm²", "N/mm2"} for unit in [plan.units.get("strength", "")]):
        findings.add_rows("summary_differs", Severity.WARNING, odd, sheet=full.grid.sheet, column=column.heading)


def bare_values(table: Table, plan: Plan, joined: Strength, zones: list[str], findings: Findings) -> None:
    """Values without an id among pulls with ids: one that equals the mean of its zone may be a mean without a label:
    ask.
    """
    if "id" not in plan.columns:
        return
    known = ~np.isnan(joined.mpa)
    bare = np.array([not name for name in table.names], np.bool_) & known
    if not bare.any() or bare.sum() > 0.5 * known.sum():
        return
    zone_array = np.array(zones, dtype=object)
    half = 0.5 * (joined.step if not math.isnan(joined.step) else 0.01)
    odd = np.zeros(len(table), np.bool_)
    for i in np.flatnonzero(bare):
        others = joined.mpa[known & ~bare & (zone_array == zones[i])]
        odd[i] = len(others) > 1 and abs(joined.mpa[i] - float(np.mean(others))) <= half * 1.001
    column = joined.column
    findings.add_rows(
        "unlabelled_mean", Severity.ERROR, table.seen(odd, column), sheet=table.grid.sheet, column=column.heading
    )
    findings.add_rows(
        "id_missing", Severity.NOTE, table.seen(bare & ~odd, column), sheet=table.grid.sheet, column=column.heading
    )


def duplicates(pulls: Pulls, findings: Findings) -> None:
    """Ids that occur twice within one zone."""
    if len(set(zip(pulls.zone, pulls.id, strict=True))) == len(pulls):
        return
    seen: dict[tuple[str, str], list[int]] = {}
    for i, key in enumerate(zip(pulls.zone, pulls.id, strict=True)):
        if key[1]:
            seen.setdefault(key, []).append(i)
    twice = [(int(pulls.row[i]), name, zone) for (zone, name), at in seen.items() if len(at) > 1 for i in at]
    findings.add_rows("duplicate_id", Severity.WARNING, twice, sheet=pulls.sheet[0] if pulls.sheet else "")
