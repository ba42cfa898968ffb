"""Can several conditions on the same values be met, or failed, by one and the same completion of the unknown ones?

A completion gives every unknown value a number between its bounds. Whether *some* completion meets all of a set of
conditions, or fails all of them, is all that deciding a requirement needs (see ``logic``). Alone, each condition is
answered by the ends of what it can reach. Together they share values:

- Conditions that never fall as a value grows (mean; ranks; characteristic value with known spread): all values high
meets
  every one that can be met, all values low fails every one that can be failed.
- Ranks beside mean - k sd: exchanging two unknown values keeps every condition, so the unknown values may be taken
in the order of
  their bounds (where these are nested: a higher lower bound never comes with a lower upper bound). A rank that must
  be met then raises the lower bounds of the topmost unknown values, a rank that must fail caps the upper bounds of
  the lowest ones: a box again.
- Met together, in that box: by a completion at one common level, or not at all (``reach``, 2). One concave condition
with means: its
  peak, moved up to where the mean is met. Several: intervals of levels that must overlap.
- Smallest at least a share of the mean: among completions with a given mean the one at a common level has the
  greatest smallest value, and along the level smallest - share * mean first rises and then falls: an interval too.
  Failed together with others, no exact answer is given.
- Failed together, in that box: on an edge, or not at all (``reach``, 4). Along an edge each concave condition fails
outside an interval
  whose ends are roots of a quadratic; the ends of the edge and these roots are the only places to look.

Where bounds are not nested or a box has too many corners, the answer is given as ``possible`` without ``certain``.

Values for different questions (pull-off strength, bond of an interface, strength of a layer) are taken as
independent variables, each within its own bounds, and so are the failure shares: a larger set of completions than
the truth, never a smaller one.

Imports: numpy and this room.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.conditions import OfMean, Ranked, Spread
from adhesion_stats.acceptance.limits import SPREAD
from adhesion_stats.acceptance.reach import (
    MOST_CORNERS,
    at_level,
    interval_of_levels,
    interval_of_share,
    level_of_mean,
    peak,
    split_free,
    spread,
)

__all__ = ["Possible", "can_fail_together", "can_meet_together", "raised"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Possible:
    """Per row: ``possible`` (g,) no proof against it, ``certain`` (g,) a completion is known."""

    possible: Truth
    certain: Truth

    def __and__(self, other: Possible) -> Possible:
        return Possible(self.possible & other.possible, self.certain & other.certain)

    def __or__(self, other: Possible) -> Possible:
        return Possible(self.possible | other.possible, self.certain | other.certain)


def largest_number(low: Values, high: Values) -> Values:
    """(g,) the largest finite number among the bounds of each row: what tolerances are relative to."""
    top: Values = np.where(np.isinf(low), 0.0, np.abs(low)).max(axis=1)
    if high is not low:
        top = np.maximum(top, np.where(np.isinf(high), 0.0, high).max(axis=1))
    return top


def _slack(condition: Spread, low: Values, high: Values) -> Values:
    return condition.tolerance * np.maximum(largest_number(low, high), abs(condition.own_at))


def can_meet_together(low: Values, high: Values, conditions: Sequence[Ranked | Spread | OfMean]) -> Possible:
    """Whether one completion meets all conditions; rows where each alone can be met, at least one condition concave.

    Parameters
    ----------
    low, high : (g, n) [MPa]
        Bounds.
    conditions
        Ranks, shares of the mean, and ``Spread`` with scale > 0 and k >= 0.
    """
    spreads = [c for c in conditions if isinstance(c, Spread)]
    low, nested = raised(low, high, [c for c in conditions if isinstance(c, Ranked)])
    concave = [c for c in spreads if c.own_k > 0]
    means = [c for c in spreads if c.own_k == 0]
    parts = [c for c in conditions if isinstance(c, OfMean)]
    if len(concave) == 1 and not parts:
        met = _peak_meets(low, high, concave[0], means)
    else:
        met = _levels_overlap(low, high, spreads, parts)
    return Possible(met | ~nested, met & nested)


def _peak_meets(low: Values, high: Values, concave: Spread, means: Sequence[Spread]) -> Truth:
    value, level = peak(low, high, concave.own_k)
    top = np.maximum(largest_number(low, high), np.where(np.isinf(level), 0.0, np.abs(level)))
    slack = concave.tolerance * np.maximum(top, abs(concave.own_at))
    met: Truth = np.greater_equal(value, concave.own_at - slack)
    for mean in means:
        # Below the peak the mean is short: move up to the level at which it is met, and look there.
        short = np.flatnonzero(met & ~np.isinf(level))
        short = short[
            spread(at_level(low[short], high[short], level[short]), 0.0)
            < mean.own_at - _slack(mean, low[short], high[short])
        ]
        if not short.size:
            continue
        lows, highs = low[short], high[short]
        up = level_of_mean(lows, highs, mean.own_at)
        up = np.where(np.isinf(up), np.where(np.isinf(highs), lows, highs).max(axis=1), up)
        level[short] = np.maximum(level[short], up)
        there = at_level(lows, highs, level[short])
        met[short] = spread(there, concave.own_k) >= concave.own_at - concave.tolerance * np.maximum(
            np.abs(there).max(axis=1), abs(concave.own_at)
        )
        met[short] &= spread(there, 0.0) >= mean.own_at - _slack(mean, lows, highs)
    return met


def _levels_overlap(low: Values, high: Values, spreads: Sequence[Spread], parts: Sequence[OfMean]) -> Truth:
    first = np.full(low.shape[0], -np.inf)
    last = np.full(low.shape[0], np.inf)
    for c in spreads:
        a, b = interval_of_levels(low, high, c.own_k, c.own_at, _slack(c, low, high))
        first, last = np.maximum(first, a), np.minimum(last, b)
    for p in parts:
        a, b = interval_of_share(low, high, p.limit.at / 100.0, p.tolerance)
        first, last = np.maximum(first, a), np.minimum(last, b)
    tie = SPREAD * np.maximum(largest_number(low, high), np.where(np.isfinite(last), np.abs(last), 0.0))
    overlap: Truth = np.less_equal(first, last + tie)
    return overlap


def _in_order(low: Values, high: Values) -> tuple[Values, Truth]:
    """Place of each unknown value in the order of its bounds ((g, n), lowest 0, exact values last), and whether
    bounds are nested.
    """
    free = high > low
    by_high = np.argsort(np.where(free, high, np.inf), axis=1, kind="stable")
    by_low = np.argsort(np.take_along_axis(np.where(free, low, np.inf), by_high, axis=1), axis=1, kind="stable")
    order = np.take_along_axis(by_high, by_low, axis=1)
    place = np.empty(low.shape)
    np.put_along_axis(place, order, np.broadcast_to(np.arange(low.shape[1], dtype=np.float64), low.shape), axis=1)
    tops = np.take_along_axis(np.where(free, high, np.inf), order, axis=1)
    nested: Truth = np.less_equal(tops[:, :-1], tops[:, 1:]).all(axis=1)
    return place, nested


def raised(low: Values, high: Values, ranks: Sequence[Ranked]) -> tuple[Values, Truth]:
    """Lower bounds raised so that every rank is met by its topmost unknown values, and whether that loses no
    completion.

    Rows where a rank can't be met at all must not be passed.
    """
    nested = np.ones(low.shape[0], dtype=np.bool_)
    if not ranks:
        return low, nested
    place, in_order = _in_order(low, high)
    free = high > low
    r = free.sum(axis=1)[:, np.newaxis]
    lifted = low
    for c in ranks:
        at = _meeting_value(c)
        exact_above = (~free & np.greater_equal(low, at)).sum(axis=1)[:, np.newaxis]
        needed = np.clip(c.best - exact_above, 0, r)
        top = free & (place >= r - needed)
        lifted = np.where(top, np.minimum(np.maximum(lifted, at), high), lifted)
        if c.best < low.shape[1]:  # the smallest raises every unknown value: no order is needed
            nested &= in_order
    return lifted, nested


def capped(low: Values, high: Values, ranks: Sequence[Ranked]) -> tuple[Values, Truth]:
    """Upper bounds capped so that every rank fails by its lowest unknown values, and whether that loses no
    completion.
    """
    nested = np.ones(low.shape[0], dtype=np.bool_)
    if not ranks:
        return high, nested
    place, in_order = _in_order(low, high)
    free = high > low
    n = low.shape[1]
    lid = high
    for c in ranks:
        at = _meeting_value(c)
        exact_below = (~free & np.less(low, at)).sum(axis=1)[:, np.newaxis]
        needed = np.maximum(n - c.worst + 1 - exact_below, 0)
        lid = np.where(free & (place < needed), np.maximum(np.minimum(lid, at), low), lid)
        nested &= in_order
    return lid, nested


def _meeting_value(c: Ranked) -> float:
    """Least value [MPa] that meets the rank's limit, a hair above where the limit itself does not; equal ones
    within tolerance meet.
    """
    slip = -c.tolerance if c.limit.closed else c.tolerance
    return c.limit.at * c.limit.unit_mpa * (1.0 + slip)


def can_fail_together(low: Values, high: Values, conditions: Sequence[Ranked | Spread | OfMean]) -> Possible:
    """Whether one completion fails all conditions; rows where each alone can fail, at least one condition concave.

    Arguments as in ``can_meet_together``. A share of the mean is left out here: what the others can do is then a
    bound.
    """
    others: list[Ranked | Spread] = [c for c in conditions if not isinstance(c, OfMean)]
    if len(others) < len(conditions):
        if not any(isinstance(c, Spread) and c.falls(low.shape[1]) for c in others):
            return Possible(np.ones(low.shape[0], dtype=np.bool_), np.zeros(low.shape[0], dtype=np.bool_))
        return Possible(can_fail_together(low, high, others).possible, np.zeros(low.shape[0], dtype=np.bool_))
    spreads = [c for c in others if isinstance(c, Spread)]
    capped_high, nested = capped(low, high, [c for c in others if isinstance(c, Ranked)])
    failed = np.zeros(low.shape[0], dtype=np.bool_)
    resolved = nested.copy()
    still = capped_high > low
    none_left = np.flatnonzero(~still.any(axis=1))
    if none_left.size:
        failed[none_left] = _all_fail(low[none_left], spreads, None)
    some = np.flatnonzero(still.any(axis=1))
    for found, fixed, lows, highs in split_free(low[some], capped_high[some]):
        rows = some[found]
        if 2 ** lows.shape[1] > MOST_CORNERS:
            resolved[rows] = False
            failed[rows] = _all_fail(np.concatenate([lows, fixed], axis=1), spreads, None)
        else:
            failed[rows] = _edge_fails(fixed, lows, highs, spreads)
    return Possible(failed | ~resolved, failed & nested)


def _all_fail(x: Values, spreads: Sequence[Spread], own: Spread | None) -> Truth:
    """Rows (g, n) in which every condition fails; the condition ``own`` also when it lies on its threshold."""
    failing = np.ones(x.shape[0], dtype=np.bool_)
    top = np.abs(x).max(axis=1)
    for c in spreads:
        slack = c.tolerance * np.maximum(top, abs(c.own_at))
        failing &= spread(x, c.own_k) < c.own_at + (slack if c is own else -slack)
    return failing


def _edge_fails(fixed: Values, lows: Values, highs: Values, spreads: Sequence[Spread]) -> Truth:
    """Rows in which all conditions fail somewhere on an edge: one free value moves, the others lie at bounds.

    A free value without upper bound can't lie at its upper bound; such corners are passed over.
    """
    r = lows.shape[1]
    n = r + fixed.shape[1]
    failed = np.zeros(lows.shape[0], dtype=np.bool_)
    for moving in range(r):
        rest = [i for i in range(r) if i != moving]
        for ups in itertools.product((False, True), repeat=r - 1):
            others = np.where(np.array(ups, dtype=np.bool_), highs[:, rest], lows[:, rest])
            rows = np.flatnonzero(~failed & np.isfinite(others).all(axis=1))
            if not rows.size:
                continue
            base = np.concatenate([others[rows], fixed[rows]], axis=1)
            failed[rows] |= _fails_along(base, lows[rows, moving], highs[rows, moving], spreads, n)
    return failed


def _fails_along(base: Values, start: Values, stop: Values, spreads: Sequence[Spread], n: int) -> Truth:
    """Whether all conditions fail for some y in [start, stop] beside the n - 1 other values ``base``."""
    total = base.sum(axis=1)
    end = stop
    for c in spreads:
        if c.own_k == 0:
            end = np.minimum(end, n * c.own_at - total)  # the mean fails below this value only
    live = end >= start
    far = np.isinf(end)  # then there is no mean among the conditions
    failed = far & live & np.array([c.falls(n) for c in spreads]).all()
    means = [c for c in spreads if c.own_k == 0]
    candidates: list[tuple[Values, Spread | None]] = [(start, None), (np.where(far, start, end), None)]
    for c in spreads:
        if c.own_k > 0 and len(spreads) - len(means) > 1:
            candidates += [(y, c) for y in _roots(base, c, n)]
    for y, own in candidates:
        inside = live & (y >= start) & (y <= end)
        x = np.concatenate([np.where(inside, y, start)[:, np.newaxis], base], axis=1)
        concave_fail = _all_fail(x, [c for c in spreads if c.own_k != 0], own)
        failed |= inside & concave_fail & _means_fail_below(x, start, means)
    return failed


def _means_fail_below(x: Values, start: Values, means: Sequence[Spread]) -> Truth:
    """Whether the means fail at x or just below it: the end of an edge is where the mean comes to its threshold."""
    at_start = np.concatenate([start[:, np.newaxis], x[:, 1:]], axis=1)
    return _all_fail(at_start, means, None)


def _roots(base: Values, c: Spread, n: int) -> tuple[Values, Values]:
    """Values y of the moving coordinate at which mean - k sd equals the threshold (nan where it never does).

    With m0, SS0 of the n - 1 others, u = y - m0, d = at - m0, q = k²/(n-1): (u/n - d)² = q (SS0 + (n-1)/n u²).
    """
    m0 = base.mean(axis=1)
    ss0 = np.square(base - m0[:, np.newaxis]).sum(axis=1)
    d, q = c.own_at - m0, c.own_k**2 / (n - 1)
    a = 1.0 / n**2 - q * (n - 1) / n
    b = -2.0 * d / n
    e = d * d - q * ss0
    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(b * b - 4.0 * a * e)
        return m0 + (-b - root) / (2.0 * a), m0 + (-b + root) / (2.0 * a)
