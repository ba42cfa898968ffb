"""Strength of each pull: as entered, or load over tested area; both must agree. Doubtful values are kept, named and
marked.

Plausible pull-off strengths on concrete lie between 0.05 and 6 MPa (common practice, no published source). A column
that
is mostly far outside was written in another unit and is refused; a single value far outside is doubted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded
from adhesion_stats.intake.markers import Meaning
from adhesion_stats.intake.marks import decided_marks
from adhesion_stats.intake.numbers import Problem, decide_marks
from adhesion_stats.intake.numeric import Numbers
from adhesion_stats.intake.quantities import is_unit
from adhesion_stats.intake.sizes import Size, numbers_in, parse_size, says_square
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound, not_given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings, Marked
    from adhesion_stats.intake.gauges import Gauges
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["COLUMN_MPA", "LOAD_N", "USUAL_MPA", "Strength", "assemble", "read_sizes"]

USUAL_MPA = (0.05, 6.0)
COLUMN_MPA = (0.02, 50.0)  # a column whose middle value is outside was written in another unit
LOAD_N = (10.0, 1e5)  # loads of pull-off tests; only decides whether a point before three digits is a decimal point
_SINGLE_MPA = 25.0  # one value above is doubted
_FAR = 5.0  # one value above 6 MPa and so many times the middle value is doubted
_BARE_SIZE_MM = (10.0, 200.0)  # a size without unit inside is millimetres, outside it is asked about
_SENTINELS = frozenset(
    {
        "99",
        "999",
        "9999",
        "99999",
        "99.9",
        "99,9",
        "99.99",
        "99,99",
        "999.9",
        "999,9",
        "999.99",
        "-1",
        "-9",
        "-99",
        "-999",
        "-9999",
        "−1",
        "−9",
        "−99",
        "−999",
    }
)
_SIZES = (
    (50.0, "50 mm"),
    (50.8, "50.8 mm (2 in)"),
    (20.0, "20 mm"),
    (25.4, "25.4 mm (1 in)"),
    (75.0, "75 mm"),
    (76.2, "76.2 mm (3 in)"),
    (100.0, "100 mm"),
    (40.0, "40 mm"),
)
_SQUARES = ((50.0, "50 x 50 mm"), (40.0, "40 x 40 mm"), (100.0, "100 x 100 mm"))


@dataclass(frozen=True)
class Strength:
    """Columns over the pulls; ``doubts`` by code."""

    mpa: NDArray[np.float64]
    bound: NDArray[np.int8]
    computed: NDArray[np.bool_]
    doubts: dict[str, NDArray[np.bool_]]
    column: Column
    step: float
    already: NDArray[np.bool_]  # entered strengths that agree with the corrected load and not with the one shown


def read_sizes(table: Table, column: Column, name: str, unit: str, layout: Layout, findings: Findings) -> list[Size]:
    """Tested size of each distinct cell of ``column``, whose field is ``name``."""
    texts = column.texts
    marks = decide_marks(
        number
        for text, detail in zip(texts, column.details, strict=True)
        if detail is None
        for number in numbers_in(text)
    )
    decimal, thousands = decided_marks(marks, layout, None)
    settled = type(marks)(decimal, thousands, ())
    square = says_square(column.heading)
    sizes = [
        parse_size(text, unit=unit, marks=settled, value=None if detail is None else detail.value, square=square)
        if text
        else Size(math.nan, math.nan, problem=Problem.NO_DIGITS)
        for text, detail in zip(texts, column.details, strict=True)
    ]
    sheet, heading = table.grid.sheet, column.heading
    bad = column.where([size.problem not in {Problem.NONE, Problem.NO_DIGITS} for size in sizes])
    findings.add_rows("size_unreadable", Severity.ERROR, table.seen(bad, column), sheet=sheet, column=heading)
    odd = column.where(
        [
            size.bare and not math.isnan(size.number) and not _BARE_SIZE_MM[0] <= size.number <= _BARE_SIZE_MM[1]
            for size in sizes
        ]
    )
    findings.add_rows(
        "size_without_unit",
        Severity.ERROR,
        table.seen(odd, column),
        sheet=sheet,
        column=heading,
        facts={"field": name},
    )
    bare = column.where([size.bare and not math.isnan(size.number) for size in sizes]) & ~odd
    if square:
        sides = column.where([size.square for size in sizes])
        findings.add_rows("size_square", Severity.NOTE, table.seen(sides, column), sheet=sheet, column=heading)
    findings.add_rows("size_taken_as_mm", Severity.NOTE, table.seen(bare, column), sheet=sheet, column=heading)
    return sizes


def assemble(
    table: Table,
    strength: Numbers | None,
    load: Numbers | None,
    area_mm2: NDArray[np.float64],
    columns: tuple[Column | None, Column | None],
    layout: Layout,
    findings: Findings,
    gauges: Gauges,
) -> Strength:
    """Join entered strengths with load over area, and doubt what can't be right. All values are as indicated."""
    n = len(table)
    strength_column, load_column = columns
    main_column = strength_column or load_column
    assert main_column is not None
    from_load = load.value / area_mm2 if load is not None else not_given(n)
    mpa = strength.value if strength is not None else not_given(n)
    bound = strength.bound if strength is not None else np.full(n, Bound.NOTHING, np.int8)
    computed = np.zeros(n, np.bool_)
    if load is not None:
        blank = strength.meanings[Meaning.BLANK] if strength is not None else ~computed
        computed = np.isnan(mpa) & ~np.isnan(from_load) & blank
        mpa = np.where(computed, from_load, mpa)
        bound = np.where(computed, load.bound, bound).astype(np.int8)
    if strength is not None and load_column is not None:
        findings.add_rows(
            "strength_from_load",
            Severity.NOTE,
            table.seen(computed, load_column),
            sheet=table.grid.sheet,
            column=main_column.heading,
        )
    doubts: dict[str, NDArray[np.bool_]] = {}
    already = np.zeros(n, np.bool_)
    if strength is not None and load is not None and strength_column is not None:
        by_shown = load.value / gauges.area_shown(area_mm2)
        by_true = gauges.true_load(load.value) / area_mm2
        coarse = _off(strength, load, by_shown)  # else: it agrees with both as far as a coarse load tells
        coarse |= _apart(strength, by_shown) & ~_apart(strength, by_true)
        already = coarse & _both(strength, load, by_true) & ~_off(strength, load, by_true)
        findings.add_rows(
            "strength_already_corrected",
            Severity.NOTE,
            list(table.seen(already, strength_column)),
            sheet=table.grid.sheet,
            column=strength_column.heading,
        )
        doubts["load_strength_disagree"] = _disagree(
            table, strength, load, by_shown, strength_column, findings, already
        )
    _no_size(table, load, load_column, area_mm2, computed if strength is not None else None, findings)
    measured = load if strength is None else strength
    assert measured is not None
    about = measured.about
    findings.add_rows(
        "approximate_value",
        Severity.WARNING,
        table.seen(about, main_column),
        sheet=table.grid.sheet,
        column=main_column.heading,
    )
    doubts["approximate_value"] = about
    disputed = measured.disputed | (load.disputed if load is not None else np.zeros(n, np.bool_))
    doubts["columns_disagree"] = disputed
    doubts |= _implausible(table, mpa, measured, main_column, layout, findings)
    step = strength.step if strength is not None and not computed.any() else float("nan")
    return Strength(mpa, bound, computed, doubts, main_column, step, already)


def _no_size(
    table: Table,
    load: Numbers | None,
    column: Column | None,
    area: NDArray[np.float64],
    computed: NDArray[np.bool_] | None,
    findings: Findings,
) -> None:
    """Loads that can't become strengths because no size is known."""
    if load is None or column is None or computed is not None:
        return
    lacking = load.given & np.isnan(area)
    findings.add_rows(
        "size_missing", Severity.ERROR, table.seen(lacking, column), sheet=table.grid.sheet, column=column.heading
    )


def _both(strength: Numbers, load: Numbers, from_load: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Rows with an exact strength and an exact load over an area."""
    exact = (strength.bound == Bound.EXACT) & (load.bound == Bound.EXACT)
    return np.asarray(strength.given & ~np.isnan(from_load) & exact, np.bool_)


def _off(strength: Numbers, load: Numbers, from_load: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Rows whose strength is not load over area within what rounding of both allows."""
    both = _both(strength, load, from_load)
    share = np.divide(load.half, load.value, out=np.zeros_like(load.half), where=load.value > 0)
    allowed = strength.half + from_load * share + 1e-9 * np.abs(from_load)
    wrong = np.zeros(len(both), np.bool_)
    wrong[both] = np.abs(strength.value - from_load)[both] > allowed[both]
    return wrong


def _apart(strength: Numbers, from_load: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Rows whose strength is not load over area within its own rounding, the load taken as written."""
    return np.asarray(np.abs(strength.value - from_load) > strength.half + 1e-9 * np.abs(from_load), np.bool_)


def _disagree(
    table: Table,
    strength: Numbers,
    load: Numbers,
    from_load: NDArray[np.float64],
    column: Column,
    findings: Findings,
    already: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    wrong = _off(strength, load, from_load) & ~already

    def said(i: int) -> str:
        fit = _fitting(float(load.value[i]), float(strength.value[i]), float(strength.half[i]))
        text = f"{column.cells[i]} given, {from_load[i]:.4g} MPa computed"
        return f"{text}; {fit} would fit" if fit else text

    seen = replace(table.seen(wrong), text=said)
    findings.add_rows("load_strength_disagree", Severity.WARNING, seen, sheet=table.grid.sheet, column=column.heading)
    return wrong


def _fitting(load: float, strength: float, half: float) -> str:
    """The usual size under which load and strength would agree."""
    low, high = strength - half, strength + half
    for side, label in _SIZES:
        if low <= load / (math.pi * side**2 / 4.0) <= high:
            return label
    for side, label in _SQUARES:
        if low <= load / side**2 <= high:
            return label
    return ""


def _implausible(
    table: Table, mpa: NDArray[np.float64], numbers: Numbers, column: Column, layout: Layout, findings: Findings
) -> dict[str, NDArray[np.bool_]]:
    sheet, heading = table.grid.sheet, column.heading
    doubts: dict[str, NDArray[np.bool_]] = {}
    marks = column.where([text in _SENTINELS for text in column.texts])
    low, high = np.fmin.reduce(mpa), np.fmax.reduce(mpa)  # without nan
    if USUAL_MPA[0] <= low and high <= USUAL_MPA[1] and not marks.any():
        return doubts
    known = ~np.isnan(mpa)
    negative = known & (mpa < 0)
    zero = known & (mpa == 0)
    findings.add_rows("negative_strength", Severity.WARNING, table.seen(negative, column), sheet=sheet, column=heading)
    findings.add_rows("zero_strength", Severity.WARNING, table.seen(zero, column), sheet=sheet, column=heading)
    doubts["negative_strength"], doubts["zero_strength"] = negative, zero
    positive = known & (mpa > 0)
    if layout.plausible is False or not positive.any():
        return doubts
    sentinel = positive & marks
    plain = positive & ~sentinel
    middle = float(np.median(mpa[plain])) if plain.any() else float(np.median(mpa[positive]))
    sentinel &= mpa > 3.0 * float(mpa[plain].max()) if plain.any() else mpa > USUAL_MPA[1]
    findings.add_rows("sentinel_value", Severity.WARNING, table.seen(sentinel, column), sheet=sheet, column=heading)
    doubts["sentinel_value"] = sentinel
    if not COLUMN_MPA[0] <= middle <= COLUMN_MPA[1]:
        _refuse_unit(table, mpa, numbers, column, positive, middle, findings)
        return doubts
    far = (
        positive & ~sentinel & ((mpa > max(_SINGLE_MPA, 1.5 * middle)) | ((mpa > USUAL_MPA[1]) & (mpa > _FAR * middle)))
    )
    findings.add_rows(
        "implausible_strength",
        Severity.WARNING,
        _with_mpa(table, far, column, mpa),
        sheet=sheet,
        column=heading,
        facts={"middle": f"{middle:.3g}"},
    )
    doubts["implausible_strength"] = far
    unusual = positive & ~far & ~sentinel & ((mpa > USUAL_MPA[1]) | (mpa < USUAL_MPA[0]))
    findings.add_rows(
        "unusual_strength", Severity.WARNING, _with_mpa(table, unusual, column, mpa), sheet=sheet, column=heading
    )
    return doubts


def _with_mpa(table: Table, mask: NDArray[np.bool_], column: Column, mpa: NDArray[np.float64]) -> Marked:
    """Rows in ``mask``, each text with its value behind it; each pair of text and value is put into words once."""
    at = np.flatnonzero(mask)
    values, which = np.unique(mpa[at], return_inverse=True)
    pairs = column.codes[at] * np.int64(max(1, len(values))) + which
    _, first, which = np.unique(pairs, return_index=True, return_inverse=True)
    codes = np.zeros(len(table), np.int32)
    codes[at] = which
    texts = [f"{column.cells[i]} ({mpa[i]:.3g} MPa)" for i in at[first]]
    return replace(table.seen(mask), cells=Coded(codes, texts))


def _refuse_unit(
    table: Table,
    mpa: NDArray[np.float64],
    numbers: Numbers,
    column: Column,
    positive: NDArray[np.bool_],
    middle: float,
    findings: Findings,
) -> None:
    far = positive & ((mpa < COLUMN_MPA[0]) | (mpa > COLUMN_MPA[1]))
    first = int(np.flatnonzero(far)[0] if far.any() else np.flatnonzero(positive)[0])
    facts = {
        "unit": numbers.unit or ", ".join(numbers.units_seen),
        "text": column.cells[first],
        "mpa": f"{mpa[first]:.4g}",
        "middle": f"{middle:.4g}",
        "field": "strength" if is_unit(numbers.unit or "MPa", "strength") else "load",
    }
    findings.add(
        "implausible_unit",
        Severity.ERROR,
        sheet=table.grid.sheet,
        row=int(table.numbers[first]),
        column=column.heading,
        facts=facts,
    )
