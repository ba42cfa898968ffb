"""What departs from the contract's test method (table ``[method]``): pull by pull, and what was never recorded.

A breach is a caution, or makes the pull invalid where the method says so (``invalid``); what was not recorded is said
and makes nothing invalid. Imports: pulls, plane, terms, units; scipy.spatial when distances are asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.coded import Coded
from adhesion_stats.plane import distance_to_edges, inside
from adhesion_stats.pulls import Pulls, not_given
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.method_checks import Distance, MethodChecks
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor

__all__ = ["DOLLY_STEP_MM", "Breach", "breaches", "invalid_by_method"]

DOLLY_STEP_MM = 0.5  # nominal 50 mm and 2 in. (50.8 mm) are two sizes
_SQUARE_FROM = (1 + math.pi / 4) / 2  # area over the square of the size: 1 for a square, pi/4 for a circle
_SLACK = 1e-9  # relative: a value on the limit, converted from another unit, is within it
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Breach:
    """One check: its key in [method], what it is about and what was asked (in words), and the pulls (n,).

    ``hit``: depart from it. ``unknown``: nothing was recorded, or not enough to tell.
    """

    key: str
    what: str
    asked: str
    hit: Mask
    unknown: Mask


def invalid_by_method(pulls: Pulls, specification: Specification) -> Mask:
    """(n,) whether the method makes the pull invalid; a pull that was never loaded is not judged here."""
    found = np.zeros(len(pulls), np.bool_)
    if specification.method.invalid:
        for breach in breaches(pulls, specification):
            if breach.key in specification.method.invalid:
                found |= breach.hit
    return found & ~pulls.lost


def breaches(pulls: Pulls, specification: Specification) -> Iterator[Breach]:
    """Yield the checks that the method asks for, in a fixed order."""
    checks, n = specification.method, len(pulls)
    yield from _dolly(pulls, checks)
    cut = pulls.labels.get("cut", Coded.same("", n))
    if checks.cut is not None:
        asked = "cut" if checks.cut == "yes" else "not cut"
        other, unsaid = cut.where(lambda said: said not in {"", checks.cut}), cut.where(lambda said: not said)
        yield Breach("cut", "cut round the dolly", asked, other, unsaid)
    uncut = cut.where(lambda said: said == "no")
    unit, one = f"{specification.unit}/s", factor(specification.unit, "strength")
    never = np.zeros(n, np.bool_)
    for key, column, what, span, unit_word, per, exempt in (
        ("cut_depth", "cut_depth_mm", "depth of the cut", checks.cut_depth_mm, "mm", 1.0, uncut),  # no cut, no depth
        ("rate", "rate_mpa_per_s", "loading rate", checks.rate_mpa_per_s, unit, one, never),
        ("time_to_failure", "time_to_failure_s", "time to failure", checks.time_to_failure_s, "s", 1.0, never),
        ("temperature", "temperature_c", "surface temperature", checks.temperature_c, "°C", 1.0, never),
    ):
        if span is not None:
            value = _column(pulls, column)
            yield Breach(key, what, _span(span, per, unit_word), _outside(value, span), np.isnan(value) & ~exempt)
    if checks.min_age_days is not None:
        age = _column(pulls, "age_days")
        yield Breach(
            "min_age", "age at test", f"at least {checks.min_age_days:g} d", age < checks.min_age_days, np.isnan(age)
        )
    if checks.min_glue_hours is not None:
        hours = _column(pulls, "glue_age_days") * 24.0
        asked = f"at least {checks.min_glue_hours:g} h"
        short = hours < checks.min_glue_hours - 1e-6
        yield Breach("min_glue_hours", "curing of the dolly adhesive", asked, short, np.isnan(hours))
    yield from _distances(pulls, specification)
    if checks.calibrated:
        yield _calibration(pulls, specification)
    if checks.share_step_percent is not None:
        step = checks.share_step_percent
        hit = pulls.failures.where(lambda shares: any(abs(one / step - round(one / step)) > 1e-9 for one in shares))
        yield Breach("failure_shares_step", "failure shares", f"multiples of {step:g} %", hit, never)


def _column(pulls: Pulls, name: str) -> NDArray[np.float64]:
    return pulls.conditions.get(name, not_given(len(pulls)))


def _span(span: tuple[float, float], one: float, unit: str) -> str:
    low, high = span
    if math.isinf(low):
        return f"{high / one:.4g} {unit} at most"
    if math.isinf(high):
        return f"{low / one:.4g} {unit} or more"
    return f"{low / one:.4g} to {high / one:.4g} {unit}"


def _outside(value: NDArray[np.float64], span: tuple[float, float]) -> Mask:
    slack = _SLACK * max((abs(end) for end in span if math.isfinite(end)), default=0.0)
    return np.asarray((value < span[0] - slack) | (value > span[1] + slack), np.bool_)


def _dolly(pulls: Pulls, checks: MethodChecks) -> Iterator[Breach]:
    size = _column(pulls, "dolly_mm")
    if checks.dolly_mm is not None:
        asked = f"{checks.dolly_mm:.4g} mm"
        yield Breach("dolly", "dolly size", asked, np.abs(size - checks.dolly_mm) > DOLLY_STEP_MM, np.isnan(size))
    if checks.dolly_shape is not None:
        ratio = pulls.area_mm2 / np.square(size)
        square = ratio > _SQUARE_FROM
        hit = ~square if checks.dolly_shape == "square" else square
        known = ~np.isnan(ratio)
        yield Breach("dolly_shape", "dolly shape", checks.dolly_shape, hit & known, ~known)


def _distances(pulls: Pulls, specification: Specification) -> Iterator[Breach]:
    checks, plan = specification.method, specification.plan
    if checks.spacing is None and checks.edge is None:
        return
    places = np.column_stack((_column(pulls, "x_m"), _column(pulls, "y_m")))

    def corners(zone: str) -> NDArray[np.float64] | None:
        found = None if plan is None else plan.zone(zone)
        return None if found is None else found.corners

    def to_edge(zone: str, points: NDArray[np.float64]) -> NDArray[np.float64]:
        outline = corners(zone)
        if outline is None:
            return not_given(len(points))
        return np.where(
            inside(points, outline), distance_to_edges(points, outline), -1.0
        )  # outside: no distance will do

    def to_next(_: str, points: NDArray[np.float64]) -> NDArray[np.float64]:
        return _nearest(points)

    for key, what, least, measured in (
        ("spacing", "spacing of pulls, centre to centre", checks.spacing, to_next),
        ("edge", "distance from the edge, to the centre", checks.edge, to_edge),
    ):
        if least is not None:
            away: NDArray[np.float64] = _by_zone(pulls, places, measured)
            needed = _needed(pulls, least, checks.dolly_mm) / 1000.0
            known = ~np.isnan(away) & ~np.isnan(needed)
            hit = known & (np.nan_to_num(away) < np.nan_to_num(needed) * (1 - _SLACK))
            yield Breach(key, what, f"at least {least.text}", hit, ~known)


def _needed(pulls: Pulls, least: Distance, nominal: float | None) -> NDArray[np.float64]:
    """The least distance of each pull [mm]; nan where it depends on a dolly of unknown size."""
    if least.mm is not None:
        return np.full(len(pulls), least.mm)
    size = _column(pulls, "dolly_mm")
    if nominal is not None:
        size = np.where(np.isnan(size), nominal, size)
    assert least.dollies is not None  # exactly one of both
    return np.asarray(size * least.dollies)


def _by_zone(
    pulls: Pulls,
    places: NDArray[np.float64],
    measured: Callable[[str, NDArray[np.float64]], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """(n,) a distance [m] of each pull that has a position; nan elsewhere. Coordinates are those of the zone."""
    found = np.full(len(pulls), np.nan)
    has: Mask = np.logical_not(np.isnan(places).any(axis=1))
    for zone in pulls.zones:
        rows = pulls.zone.rows_of(zone)
        rows = rows[has[rows]]
        if rows.size:
            found[rows] = measured(zone, places[rows])
    return found


def _nearest(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance from each point to its nearest neighbour; infinite for a lone one."""
    if len(points) < 2:
        return np.full(len(points), np.inf)
    from scipy.spatial import KDTree

    distances, _ = KDTree(points).query(points, k=2)
    return np.asarray(distances, np.float64)[:, 1]


def _calibration(pulls: Pulls, specification: Specification) -> Breach:
    """Whether the instrument's calibration was in force on the day, by the certificates in [readings.instruments].

    Both dates are ISO dates, which compare as text. Certificates in a layout file are checked when the file is read.
    """
    layout = Layout.from_mapping(specification.readings or {}, file=specification.file)
    due = {name: instrument.due for name, instrument in layout.instruments.items()}
    names = pulls.labels.get("instrument", Coded.same("", len(pulls))).map(lambda name: name or layout.instrument or "")
    until = names.map(lambda name: due.get(name, ""))
    days = list(zip(pulls.date, until, strict=True))
    late = np.array([bool(day and end and day > end) for day, end in days], np.bool_)
    unknown = np.array([not (day and end) for day, end in days], np.bool_)
    return Breach("calibrated", "calibration", "in force on the day of the test", late, unknown)
