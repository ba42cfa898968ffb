"""Criteria that depend on what broke: shares of the area, pulls told apart by their failure, limits by failure.

Of each pull a share of the area is known by code; the rest could be any code. So a pull surely fits a description from
its known share and least depth, and could fit it with all its unknown share at its greatest depth. For most criteria
what the adhesive covered is unknown too; one that names an adhesive code takes shares as recorded.
Imports: the standard library and this package.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from adhesion_stats.twin.forms import SHARE, VALUE, threshold
from adhesion_stats.twin.model import INFINITE, NotKnown
from adhesion_stats.twin.quantities import Limit, limit_of, measure, percent
from adhesion_stats.twin.terms import Criterion, Terms
from adhesion_stats.twin.values import Number, Value

__all__ = ["Ends", "area_ends", "area_value", "by_failure_ends", "depends_alone", "view_bounds"]

_SAME = Fraction(1, 10**7)  # shares [%] this close are one
_MOST_WAYS = 4096


@dataclass(frozen=True)
class Ends:
    """Whether some completion meets and some fails a criterion, and the least and the greatest value it can have."""

    can_meet: bool
    can_fail: bool
    low: object = None
    high: object = None


def depends_alone(criterion: Criterion) -> bool:
    """Whether the criterion is decided by what broke in each pull, alone: limits by failure, means within a failure."""
    return criterion.kind == "each_pull" or any(k in criterion.table for k in ("only_failed", "within_same_failure"))


def _reading(value: Value, codes: Sequence[str], glue: Sequence[str]) -> tuple[dict[str, Fraction], Fraction]:
    """Known shares and the share that could be any code, as a criterion on these codes reads them."""
    if any(code in glue for code in codes):
        return value.known, value.unrecorded
    known = {code: share for code, share in value.known.items() if code not in glue}
    covered = sum((share for code, share in value.known.items() if code in glue), Fraction(0))
    return known, value.unrecorded + covered


def _texts(value: object) -> list[str]:
    return [str(entry) for entry in value] if isinstance(value, list) else [str(value)]


def _fits(value: Value, table: dict[str, object], key: str, glue: Sequence[str]) -> tuple[bool, bool]:
    """Whether the description under ``key`` surely fits a pull, and whether it could."""
    codes = _texts(table[key])
    known, unknown = _reading(value, codes, glue)
    start = percent(str(table["from"]))[0] - _SAME
    share = sum((known.get(code, Fraction(0)) for code in set(codes)), Fraction(0))
    sure, could = share >= start, share + unknown >= start
    if "depth_from" in table:
        asked = measure(str(table["depth_from"]), "length")
        depth = asked.value * asked.mpa * (1 - Fraction(1, 10**12))
        sure, could = sure and value.depth[0] >= depth, could and value.depth[1] >= depth
    return sure, could


def view_bounds(criterion: Criterion, values: Sequence[Value], terms: Terms) -> list[tuple[Number, Number]]:
    """Bounds of the values that a criterion is decided on: an excused pull is as good as a value without end."""
    bounds = [value.bounds[criterion.question] for value in values]
    if "unless_failed" not in criterion.table:
        return bounds
    fits = [_fits(value, dict(criterion.table), "unless_failed", terms.glue_codes) for value in values]
    return [
        (INFINITE if sure else low, INFINITE if could else high)
        for (low, high), (sure, could) in zip(bounds, fits, strict=True)
    ]


# ----------------------------------------------------------------------------------------------------- areas


def area_value(
    criterion: Criterion, values: Sequence[Value], terms: Terms, *, all_to: str | None, most: bool | None = None
) -> tuple[Fraction, bool]:
    """The value [%] of a criterion on areas and whether it meets, with all unknown area (and depth) going one way.

    ``all_to``: the code that all unknown area goes to (None: to a code that no criterion names); ``most``: all of it to
    the criterion's own codes, at the greatest depth (True), or none, at the least (False).
    """
    codes = _texts(criterion.table[criterion.kind])
    total = Fraction(0)
    for value in values:
        known, unknown = _reading(value, codes, terms.glue_codes)
        share = sum((known.get(code, Fraction(0)) for code in set(codes)), Fraction(0))
        gets = most if most is not None else all_to in codes
        share += unknown if gets else 0
        if criterion.kind == "pulls_with_failure":
            fits = share >= percent(str(criterion.table["from"]))[0] - _SAME
            if "depth_from" in criterion.table:
                asked = measure(str(criterion.table["depth_from"]), "length")
                deepest = value.depth[1] if gets or most is None else value.depth[0]
                fits = fits and deepest >= asked.value * asked.mpa * (1 - Fraction(1, 10**12))
            share = Fraction(100 if fits else 0)
        total += share
    result = total / len(values)
    at_most = "at_most" in criterion.table
    share, places = percent(str(criterion.table["at_most" if at_most else "at_least"]))
    limit = threshold(Limit(share, places, "%", Fraction(1)), terms, at_most=at_most)
    return result, limit.meets(result, SHARE, 100.0)


def area_ends(criterion: Criterion, values: Sequence[Value], terms: Terms) -> Ends:
    """What a criterion on areas can reach."""
    if not values:
        return Ends(True, True)
    ends = [area_value(criterion, values, terms, all_to=None, most=most) for most in (False, True)]
    met = [meets for _, meets in ends]
    return Ends(any(met), not all(met), ends[0][0], ends[1][0])


# ---------------------------------------------------------------------------------------------------- by failure


def by_failure_ends(criterion: Criterion, values: Sequence[Value], terms: Terms) -> Ends:
    """What a criterion can reach that asks each pull, or a part of the pulls, by what broke."""
    if not values:
        return Ends(True, True)
    if criterion.kind == "each_pull":
        return _each_pull(criterion, values, terms)
    if "only_failed" in criterion.table:
        return _only(criterion, values, terms)
    return _alike(criterion, values, terms)


def _each_pull(criterion: Criterion, values: Sequence[Value], terms: Terms) -> Ends:
    """Each pull against the limits of every case that could fit it; met where all pulls reach theirs."""
    surely = possibly = 0
    cases = criterion.table["each_pull"]
    assert isinstance(cases, list)
    for value in values:
        low, high = value.bounds[criterion.question]
        limits, settled = [], False
        for case in cases:
            sure, could = _fits(value, case, "failed", terms.glue_codes)
            settled = settled or sure
            if could:
                limits.append(threshold(limit_of(case, "at_least"), terms))
        silent = not settled and "otherwise" not in criterion.table
        if not settled and "otherwise" in criterion.table:
            limits.append(threshold(limit_of(dict(criterion.table), "otherwise"), terms))
        surely += not silent and all(limit.meets(low, VALUE) for limit in limits)
        possibly += silent or any(limit.meets(high, VALUE) for limit in limits)
    n = len(values)
    return Ends(possibly == n, surely < n, Fraction(100 * surely, n), Fraction(100 * possibly, n))


def _selected(bounds: Sequence[Number], optional: Sequence[Number]) -> Number:
    """The least mean of the values that are surely chosen and any of those that could be."""
    ordered = sorted(optional)
    means = []
    for taken in range(len(ordered) + 1):
        chosen = [*bounds, *ordered[:taken]]
        if chosen:
            means.append(_mean(chosen))
    return min(means)


def _mean(values: Sequence[Number]) -> Number:
    infinite = [value for value in values if not math.isfinite(value)]
    return infinite[0] if infinite else sum((Fraction(v) for v in values), Fraction(0)) / len(values)


def _least_and_most(
    sure: Sequence[tuple[Number, Number]], open_: Sequence[tuple[Number, Number]]
) -> tuple[Number, Number]:
    least = _selected([low for low, _ in sure], [low for low, _ in open_])
    most = -_selected([-high for _, high in sure], [-high for _, high in open_])
    return least, most


def _only(criterion: Criterion, values: Sequence[Value], terms: Terms) -> Ends:
    """The mean of the pulls that failed so."""
    fits = [_fits(value, dict(criterion.table), "only_failed", terms.glue_codes) for value in values]
    bounds = [value.bounds[criterion.question] for value in values]
    sure = [bound for bound, (surely, _) in zip(bounds, fits, strict=True) if surely]
    open_ = [bound for bound, (surely, could) in zip(bounds, fits, strict=True) if could and not surely]
    if not sure and not open_:
        return Ends(True, True)
    least, most = _least_and_most(sure, open_)
    limit = threshold(limit_of(dict(criterion.table), "mean_at_least"), terms)
    met = limit.meets(least, VALUE), limit.meets(most, VALUE)
    return Ends(met[1] or not sure, not met[0] or not sure, least, most)


def _alike(criterion: Criterion, values: Sequence[Value], terms: Terms) -> Ends:
    """The mean of each group of pulls that failed alike, over every way to share out those that could go several."""
    start = percent(str(criterion.table["from"]))[0] - _SAME
    options: list[list[str]] = []
    for value in values:
        known, unknown = _reading(value, [], terms.glue_codes)
        sure = [code for code, share in known.items() if share >= start]
        named = {code for other in values for code in other.known if code not in terms.glue_codes}
        could = [code for code in sorted(named) if known.get(code, Fraction(0)) + unknown > _SAME]
        options.append(sure or [*could, *([""] if unknown > _SAME else [])])
    if math.prod(len(option) for option in options) > _MOST_WAYS:
        raise NotKnown("ways", criterion.key)
    bounds = [value.bounds[criterion.question] for value in values]
    least: Number = INFINITE
    most: Number = -INFINITE
    for choice in itertools.product(*options):
        groups: dict[str, list[tuple[Number, Number]]] = {}
        for code, bound in zip(choice, bounds, strict=True):
            groups.setdefault(code, []).append(bound)
        lows = {code: [low for low, _ in group] for code, group in groups.items()}
        # "" stands for codes that nobody has seen: there may be several, each with one pull
        least = min(least, *(_mean(group) if code else min(group) for code, group in lows.items()))
        most = max(most, min(_mean([high for _, high in group]) for group in groups.values()))
    limit = threshold(limit_of(dict(criterion.table), "mean_at_least"), terms)
    return Ends(limit.meets(most, VALUE), not limit.meets(least, VALUE), least, most)
