"""Comparisons within a file: stated means with the pulls, one quantity in two units, values without id, ids twice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import PackedTexts
from adhesion_stats.intake.findings import Marked
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.numbers import parse
from adhesion_stats.intake.numeric import Numbers, read_numbers
from adhesion_stats.intake.quantities import to_inside
from adhesion_stats.intake.summary_rows import expected
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.pulls import Bound, Pulls

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.coded import Texts
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows, Summary
    from adhesion_stats.intake.strength import Strength
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = [
    "bare_values",
    "compare_parallel",
    "compare_summaries",
    "duplicates",
    "means_as_zones",
    "named_apart",
    "odd_labels",
]

_DESCRIBING = ("failure", "date", "diameter", "area")


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
            (row, who, f"{column.cells[i] or '(blank)'} and {other.cells[i] or '(blank)'}")
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
    full: Table,
    rows: Rows,
    plan: Plan,
    joined: Strength,
    zones: Texts,
    glue: NDArray[np.bool_],
    findings: Findings,
) -> None:
    """Compare what summary rows state with the pulls: of their zone, above, or all, with or without ``glue`` breaks."""
    at = plan.columns.get("strength")
    unit = plan.units.get("strength", "MPa")
    if at is None:
        return
    column = full.columns[at]
    factor, _ = to_inside(unit, "strength")
    exact = joined.bound == Bound.EXACT
    odd = []
    for summary in rows.summaries:
        stated = _stated(column, int(column.codes[summary.at]))
        above = rows.pulls < summary.at
        if stated is None or not above.any():
            continue
        own = zones.codes == zones.values.index(_zone_of(full, plan, summary, zones, above))
        sets = [
            exact & mask & valid for mask in (own, own & above, above, own | True) for valid in (above | True, ~glue)
        ]
        right = [value / factor for mask in sets for value in expected(summary.kind, joined.mpa[mask])]
        value, half = stated
        if right and min(abs(value - one) - half - 0.0005 * abs(one) for one in right) > 1e-9:
            text = f"{column.cells[summary.at]}; computed {right[0]:.4g}"
            odd.append((int(full.numbers[summary.at]), summary.label, text))
    findings.add_rows("summary_differs", Severity.WARNING, odd, sheet=full.grid.sheet, column=column.heading)


def _stated(column: Column, code: int) -> tuple[float, float] | None:
    """Value that a summary row states, and half its last place; None where it states none (or in a unit of its own)."""
    detail = column.details[code]
    if detail is not None:
        return None if detail.value is None else (detail.value, 0.0051)
    body, number = parse(column.texts[code].replace(",", "."))
    if number.problem or body.unit or body.bound:
        return None
    return number.value, 0.5 * 10.0 ** -(number.decimals or 0)


def _zone_of(full: Table, plan: Plan, summary: Summary, zones: Texts, above: NDArray[np.bool_]) -> str:
    """Zone that a summary row is about: named in its row or in its label, else that of the last pull above."""
    if "zone" in plan.columns:
        column = full.columns[plan.columns["zone"]]
        written = column.cells[summary.at]
        if written in zones.values:
            return written
    named: list[str] = [zone for zone in zones.values if fold(summary.label).endswith(f" {fold(zone)}")]
    if named:
        return max(named, key=len)
    return zones.values[int(zones.codes[np.flatnonzero(above)[-1]])]


def bare_values(table: Table, plan: Plan, joined: Strength, zones: Texts, layout: Layout, findings: Findings) -> None:
    """Values without an id among pulls with ids: a mean of its zone, or the only one of its "zone", may be no
    reading: ask.
    """
    if "id" not in plan.columns:
        return
    known = ~np.isnan(joined.mpa)
    bare = ~table.columns[plan.columns["id"]].filled_text & known & ~_kept(table, layout)
    if not bare.any() or bare.sum() > 0.5 * known.sum():
        return
    half = 0.5 * (joined.step if not math.isnan(joined.step) else 0.01)
    counts = np.bincount(zones.codes, minlength=len(zones.values))
    lone = bare & (counts == 1)[zones.codes]
    named = np.flatnonzero(known & ~bare)
    named = named[np.argsort(zones.codes[named], kind="stable")]
    edges = np.searchsorted(zones.codes[named], np.arange(len(zones.values) + 1))
    means = np.full(len(zones.values), np.nan)
    for zone in np.unique(zones.codes[bare]).tolist():
        others = joined.mpa[named[edges[zone] : edges[zone + 1]]]
        means[zone] = np.mean(others) if len(others) > 1 else np.nan
    odd = bare & (np.abs(joined.mpa - means[zones.codes]) <= half * 1.001)
    column = joined.column
    findings.add_rows(
        "unlabelled_mean",
        Severity.ERROR,
        table.seen(odd, column),
        sheet=table.grid.sheet,
        column=column.heading,
        facts=_listed(table, odd),
    )
    where = table.columns[plan.columns["zone"]] if "zone" in plan.columns else column
    findings.add_rows(
        "lone_value",
        Severity.ERROR,
        table.seen(lone, where),
        sheet=table.grid.sheet,
        column=column.heading,
        facts=_listed(table, lone),
    )
    findings.add_rows(
        "id_missing",
        Severity.NOTE,
        table.seen(bare & ~odd & ~lone, column),
        sheet=table.grid.sheet,
        column=column.heading,
    )


def odd_labels(table: Table, plan: Plan, joined: Strength, zones: Texts, layout: Layout, findings: Findings) -> None:
    """Ask about a name without a digit below pulls whose names have one: perhaps a mean in words that are not known.

    Such a row ends the rows of its zone and says nothing but a value where the others say more.
    """
    if "id" not in plan.columns:
        return
    column = table.columns[plan.columns["id"]]
    bare = column.by_shape(lambda text: bool(text) and not any(sign.isdigit() for sign in text))
    if not bare.any() or bare.all():
        return
    suspect = column.where(bare) & ~_kept(table, layout)
    numbered = column.filled_text & ~column.where(bare)
    if not suspect.any() or not numbered.any():
        return
    for name in _DESCRIBING:
        if name in plan.columns:
            filled = table.columns[plan.columns[name]].filled
            if filled[numbered].all():
                suspect &= ~filled
    suspect &= ~np.isnan(joined.mpa)
    last = np.full(len(zones.values), len(table))
    last[zones.codes[numbered]] = np.flatnonzero(numbered)  # the last one of each zone stays
    suspect &= np.arange(len(table)) > last[zones.codes]
    findings.add_rows(
        "label_or_id",
        Severity.ERROR,
        table.seen(suspect, joined.column),
        sheet=table.grid.sheet,
        column=column.heading,
        facts=_listed(table, suspect),
    )


def means_as_zones(
    table: Table, plan: Plan, joined: Strength, zones: Texts, layout: Layout, findings: Findings
) -> None:
    """Ask about zone names in a file without ids that stand below rows of other zones and hold their mean each time.

    A word for a mean that is not known would make a zone of its own. A name that stands once is asked about only where
    it has no digit.
    """
    if "id" in plan.columns or "zone" not in plan.columns or len(table) < 3:
        return
    starts = np.concatenate([[0], np.flatnonzero(zones.codes[1:] != zones.codes[:-1]) + 1])
    lengths = np.diff(np.concatenate([starts, [len(table)]]))
    means = np.concatenate([[np.nan], (np.add.reduceat(joined.mpa, starts) / lengths)[:-1]])  # of the run before
    half = 0.5 * (joined.step if not math.isnan(joined.step) else 0.01)
    like = (lengths == 1) & (np.abs(joined.mpa[starts] - means) <= half * 1.001)
    like[1:] &= lengths[:-1] >= 2
    runs = zones.codes[starts]
    every = np.bincount(runs, minlength=len(zones.values))
    often = np.bincount(runs[like], minlength=len(zones.values))
    bare = np.array([not any(sign.isdigit() for sign in name) for name in zones.values], np.bool_)
    suspect = (often > 0) & (often == every) & (bare | (often > 1))
    odd = suspect[zones.codes] & ~_kept(table, layout)
    column = table.columns[plan.columns["zone"]]
    findings.add_rows(
        "zone_or_mean",
        Severity.ERROR,
        table.seen(odd, column),
        sheet=table.grid.sheet,
        column=column.heading,
        facts=_listed(table, odd),
    )


def _kept(table: Table, layout: Layout) -> NDArray[np.bool_]:
    """Rows that a layout says to be pulls."""
    return np.isin(table.numbers, np.array(layout.keep_rows, np.int64))


def _listed(table: Table, mask: NDArray[np.bool_]) -> dict[str, Fact]:
    return {"listed": ", ".join(str(number) for number in table.numbers[mask].tolist()[:20])}


def named_apart(zones: Texts, column: Column | None) -> bool:
    """Whether no two pulls with an id share zone and id; False where that is not told at once."""
    if column is None:
        return True
    if isinstance(column.texts, PackedTexts):  # nearly every row has an id of its own
        return column.texts.rise
    keys = zones.codes * np.int64(len(column.texts)) + column.codes
    if not column.filled_text.all():
        keys = keys[column.filled_text]
    size = len(zones.values) * len(column.texts)
    if size <= 8 * len(column.codes):
        taken = np.zeros(size, np.bool_)
        taken[keys] = True
        return int(np.count_nonzero(taken)) == len(keys)
    keys.sort()
    return bool((np.diff(keys) > 0).all())


def duplicates(pulls: Pulls, findings: Findings) -> None:
    """Ids that occur twice within one zone."""
    zones, ids = pulls.zone.tidy, pulls.id.tidy
    named = np.flatnonzero(ids.where(bool))
    keys = zones.codes[named] * np.int64(len(ids.values)) + ids.codes[named]
    _, which, counts = np.unique(keys, return_inverse=True, return_counts=True)
    at = named[counts[which] > 1]
    twice = Marked(pulls.row[at], at, names=ids, cells=zones)
    findings.add_rows("duplicate_id", Severity.WARNING, twice, sheet=pulls.sheet[0] if pulls.sheet else "")
