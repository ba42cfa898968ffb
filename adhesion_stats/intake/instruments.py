"""Readings of instruments -> true values, by the certificates that a layout states; what was shown is kept beside.

A load is corrected where the instrument shows loads (and the strength follows in the same ratio), a stress where it
shows stresses. A reading outside the certified range is not corrected but doubted: nothing is extrapolated.
"""

from __future__ import annotations

import operator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded
from adhesion_stats.intake.gauges import Gauges
from adhesion_stats.intake.sizes import parse_size
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound, not_given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.coded import Texts
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.numeric import Numbers
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.strength import Strength
    from adhesion_stats.intake.table import Table
    from adhesion_stats.messages import Fact
    from adhesion_stats.terms.instruments import Instrument
    from adhesion_stats.terms.layout import Layout

__all__ = ["Gauges", "Indicated", "calibration_of", "correct", "gauges_of"]

_AT = 1.0 - 1e-9  # a reading at the capacity, converted from another unit, is at it
_SAME_SIZE = 0.005  # relative: tested areas that differ by less are those of one dolly (0.25 % of a diameter)


@dataclass(frozen=True)
class Indicated:
    """Pulls after correction, and what the instruments had shown (nan where nothing was corrected)."""

    strength: Strength
    bound: NDArray[np.int8]
    load_n: NDArray[np.float64]
    indicated_mpa: NDArray[np.float64]
    indicated_load_n: NDArray[np.float64]


def gauges_of(table: Table, plan: Plan, layout: Layout, findings: Findings) -> Gauges:
    """Say which pull was made with which instrument; wrong names in the layout are errors."""
    n = len(table)
    if not layout.instruments:
        if layout.instrument is not None:
            _wrong(
                findings, "instrument", f'the name of a table [instruments."{layout.instrument}"]', layout.instrument
            )
        return Gauges({}, table.blanks, not_given(n))
    if layout.instrument is not None and layout.instrument not in layout.instruments:
        _wrong(findings, "instrument", "one of " + ", ".join(layout.instruments), layout.instrument)
    default = layout.instrument or ""
    column = table.columns[plan.columns["instrument"]] if "instrument" in plan.columns else None
    name = Coded.same(default, n) if column is None else column.cells.map(lambda text: text or default)
    nominal = np.full(n, np.nan)
    gauges = Gauges(layout.instruments, name, nominal)
    for key, known, rows in gauges.by_instrument():
        if not known.reads_for:
            continue
        size = parse_size(known.reads_for, unit="")
        if size.problem or size.bare:
            _wrong(findings, f"instruments.{key}.reads_for", 'a size with its unit, such as "50 mm"', known.reads_for)
        else:
            nominal[rows] = size.area_mm2
    return gauges


def _wrong(findings: Findings, key: str, expected: str, came: str) -> None:
    facts: dict[str, Fact] = {"key": key, "expected": expected, "came": came}
    findings.add("layout_wrong_value", Severity.ERROR, facts=facts)


def correct(
    table: Table,
    gauges: Gauges,
    joined: Strength,
    bound: NDArray[np.int8],
    load: Numbers | None,
    area_mm2: NDArray[np.float64],
    findings: Findings,
) -> Indicated:
    """Return strengths and loads by certificate, with their bounds; ``joined`` and ``load`` are as indicated.

    A reading at or above the capacity is a lower bound at the capacity. Readings outside the certified range, and
    values that the instrument did not show (a strength without the load that it read), are kept and doubted.
    """
    n = len(table)
    load_n = load.value if load is not None else not_given(n)
    if not gauges.known:
        return Indicated(joined, bound, load_n, not_given(n), not_given(n))
    work = _Work(joined.mpa.copy(), bound.copy(), load_n.copy(), np.full(n, np.nan), np.full(n, np.nan), {})
    _unnamed(table, gauges, joined, findings)
    for name, known, rows in gauges.by_instrument():
        has = rows & ~np.isnan(joined.mpa)
        if known.quantity == "load":
            _loads(table, name, known, has, joined, load, work, findings)
        else:
            _stresses(table, name, known, has, joined, gauges, area_mm2, work, findings)
    step = joined.step if np.isnan(work.shown_mpa).all() else float("nan")
    strength = replace(joined, mpa=work.mpa, doubts={**joined.doubts, **work.doubts}, step=step)
    return Indicated(strength, work.bound, work.load_n, work.shown_mpa, work.shown_n)


@dataclass
class _Work:
    mpa: NDArray[np.float64]
    bound: NDArray[np.int8]
    load_n: NDArray[np.float64]
    shown_mpa: NDArray[np.float64]
    shown_n: NDArray[np.float64]
    doubts: dict[str, NDArray[np.bool_]]

    def doubt(self, code: str, rows: NDArray[np.bool_]) -> None:
        self.doubts[code] = self.doubts.get(code, np.zeros(len(rows), np.bool_)) | rows


def _say(
    table: Table,
    joined: Strength,
    code: str,
    severity: Severity,
    rows: NDArray[np.bool_],
    findings: Findings,
    **facts: Fact,
) -> None:
    seen = list(table.seen(rows, joined.column))
    findings.add_rows(code, severity, seen, sheet=table.grid.sheet, column=joined.column.heading, facts=facts)


def _unnamed(table: Table, gauges: Gauges, joined: Strength, findings: Findings) -> None:
    """Pulls with a value whose instrument is not stated, or not named at all: nothing is assumed of them."""
    has = ~np.isnan(joined.mpa)
    known = tuple(gauges.known)
    for code, rows in (
        ("instrument_unknown", gauges.name.where(lambda name: bool(name) and name not in known)),
        ("instrument_missing", gauges.name.where(lambda name: not name)),
    ):
        seen = replace(table.seen(has & rows), cells=gauges.name)
        facts: dict[str, Fact] = {"known": known, "first": known[0]}
        findings.add_rows(code, Severity.ERROR, seen, sheet=table.grid.sheet, column=joined.column.heading, facts=facts)


def _range_text(known: Instrument) -> str:
    low, high = known.certified
    return f"{low:g} to {high:g} {known.unit}"


def _at_capacity(
    known: Instrument, shown: NDArray[np.float64], has: NDArray[np.bool_], work: _Work
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Readings [unit of the instrument] cut at the capacity, and which became lower bounds by it."""
    if not known.capacity:
        return shown, np.zeros(len(shown), np.bool_)
    capacity = known.amount(known.capacity)
    full = has & (shown >= capacity * _AT) & np.isin(work.bound, [Bound.EXACT, Bound.AT_LEAST])
    work.bound[full] = Bound.AT_LEAST
    return np.where(full, np.minimum(shown, capacity), shown), full


def _loads(
    table: Table,
    name: str,
    known: Instrument,
    has: NDArray[np.bool_],
    joined: Strength,
    load: Numbers | None,
    work: _Work,
    findings: Findings,
) -> None:
    """An instrument that shows loads."""
    facts: dict[str, Fact] = {"instrument": name, "unit": known.unit}
    if load is None:
        _say(table, joined, "instrument_needs_load", Severity.ERROR, has, findings, **facts)
        return
    without = has & np.isnan(load.value) & known.corrects
    work.doubt("instrument_not_applied", without)
    _say(table, joined, "instrument_not_applied", Severity.WARNING, without, findings, what="load", **facts)
    has = has & ~np.isnan(load.value)
    read = load.value / known.factor
    cut, full = _at_capacity(known, read, has, work)
    if known.corrects:
        true = known.true_of(cut) * known.factor
        inside = has & ~np.isnan(true)
        ratio = np.divide(true, load.value, out=np.full(len(true), np.nan), where=inside & (load.value != 0))
        work.shown_n[has], work.shown_mpa[has] = load.value[has], joined.mpa[has]
        work.load_n[inside] = true[inside]
        moved = inside & ~np.isnan(ratio) & ~joined.already
        work.mpa[moved] = joined.mpa[moved] * ratio[moved]
        _said_range(table, name, known, joined, has & ~moved & ~joined.already, moved, work, findings)
    elif full.any():
        over = full & (cut < read)
        work.mpa[over] = joined.mpa[over] * cut[over] / read[over]
    _say(table, joined, "at_capacity", Severity.WARNING, full, findings, capacity=known.capacity, **facts)


def _stresses(
    table: Table,
    name: str,
    known: Instrument,
    has: NDArray[np.bool_],
    joined: Strength,
    gauges: Gauges,
    area_mm2: NDArray[np.float64],
    work: _Work,
    findings: Findings,
) -> None:
    """An instrument that shows stresses, for a dolly that the layout may state."""
    facts: dict[str, Fact] = {"instrument": name, "unit": known.unit}
    computed = has & joined.computed & known.corrects
    work.doubt("instrument_not_applied", computed)
    _say(table, joined, "instrument_not_applied", Severity.WARNING, computed, findings, what="strength", **facts)
    has = has & ~joined.computed
    read = joined.mpa / known.factor
    cut, full = _at_capacity(known, read, has, work)
    true = known.true_of(cut) * known.factor
    inside = has & ~np.isnan(true)
    nominal = gauges.nominal_mm2
    scaled = inside & ~np.isnan(nominal) & ~np.isnan(area_mm2)
    other = scaled & (np.abs(nominal - area_mm2) > _SAME_SIZE * area_mm2)
    if known.corrects:
        work.shown_mpa[has] = joined.mpa[has]
        work.mpa[inside] = true[inside]
        work.mpa[scaled] = true[scaled] * nominal[scaled] / area_mm2[scaled]
        _said_range(table, name, known, joined, has & ~inside, inside, work, findings)
        reads = {"reads_for": known.reads_for, **facts}
        _say(table, joined, "instrument_size_scaled", Severity.NOTE, other, findings, **reads)
    elif full.any():
        work.mpa[full] = cut[full] * known.factor
    sizes = area_mm2[has & ~np.isnan(area_mm2)]
    if not known.reads_for and len(sizes):
        rows = has & ~np.isnan(area_mm2)
        areas = tuple(f"{area:.4g} mm²" for area in dict.fromkeys(sizes.tolist()))[:6]
        _say(table, joined, "instrument_size_not_used", Severity.WARNING, rows, findings, areas=areas, **facts)
    _say(table, joined, "at_capacity", Severity.WARNING, full, findings, capacity=known.capacity, **facts)


def _said_range(
    table: Table,
    name: str,
    known: Instrument,
    joined: Strength,
    outside: NDArray[np.bool_],
    corrected: NDArray[np.bool_],
    work: _Work,
    findings: Findings,
) -> None:
    facts: dict[str, Fact] = {"instrument": name, "certificate": known.certificate or "not named"}
    work.doubt("outside_certified_range", outside)
    rule = f"a table of {len(known.table)} pairs" if known.table else "a polynomial" if known.polynomial else "its zero"
    _say(
        table,
        joined,
        "outside_certified_range",
        Severity.WARNING,
        outside,
        findings,
        certified=_range_text(known),
        **facts,
    )
    if not corrected.any():
        return
    before, after = joined.mpa[corrected], work.mpa[corrected]
    most = int(np.argmax(np.abs(after - before)))
    facts |= {"rule": rule, "before": f"{before[most]:.4g}", "after": f"{after[most]:.4g}"}
    _say(table, joined, "instrument_corrected", Severity.NOTE, corrected, findings, **facts)


def calibration_of(
    table: Table,
    plan: Plan,
    gauges: Gauges,
    joined: Strength,
    dates: Texts,
    findings: Findings,
) -> None:
    """Say which pulls were made after the calibration was due, or before it was made, or under another certificate."""
    if not gauges.known:
        return
    dated = dates.where(bool)
    for name, known, rows in gauges.by_instrument():
        has = rows & ~np.isnan(joined.mpa)
        for code, severity, limit, wrong in (
            ("calibration_past_due", Severity.WARNING, known.due, operator.gt),
            ("calibration_after_test", Severity.WARNING, known.calibrated, operator.lt),
        ):
            late = has & dated & dates.flagged([bool(limit) and wrong(day, limit) for day in dates.values])
            days = {"instrument": name, "day": limit}
            seen = replace(table.seen(late), cells=dates)
            findings.add_rows(code, severity, seen, sheet=table.grid.sheet, column=joined.column.heading, facts=days)
        unsure = has & ~dated & bool(known.due)
        _say(table, joined, "calibration_not_checked", Severity.NOTE, unsure, findings, instrument=name, day=known.due)
        if known.certificate and "certificate" in plan.columns:
            column = table.columns[plan.columns["certificate"]]
            other = has & column.where([text not in {"", known.certificate} for text in column.texts])
            facts: dict[str, Fact] = {"instrument": name, "certificate": known.certificate}
            seen = table.seen(other, column)
            findings.add_rows(
                "certificate_differs",
                Severity.WARNING,
                seen,
                sheet=table.grid.sheet,
                column=column.heading,
                facts=facts,
            )
