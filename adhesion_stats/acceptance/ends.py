"""What a condition's value can reach over all completions of unknown values, form by form.

``ends_of`` gives, for each zone, the least and the greatest value, and whether both are exact.

- Ranks and ``Spread``: see ``reach``.
- Share of the mean: smallest / mean is greatest where every unknown value is as low as its bound and the least upper
  bound of all allow (raising the smallest value to that bound gains more than the mean gains by it, the others only
  raise the mean), and least where one value lies at its lower and all others at their upper bounds.
- With a floor under the sd, the value is the smaller one of mean - k sd and of what the floor leaves; logarithms keep
  the order of values, so a box stays a box.
- A bound found by iteration is known for exact values only.
- A probability of conformity never falls as a value grows.

Q = (mean - L) / sd is at or above k just where mean - k sd >= L, for k >= 0: its ends are found by bisection in k.

Imports: numpy, this room, statistics.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.completions import largest_number
from adhesion_stats.acceptance.conditions import (
    BetweenSds,
    Fitted,
    Floored,
    Likely,
    OfMean,
    OfValues,
    Quotient,
    Ranked,
    Spread,
)
from adhesion_stats.acceptance.limits import Threshold, at_limit
from adhesion_stats.acceptance.reach import at_level, lowest, peak, spread, spread_at_top
from adhesion_stats.statistics.describe import mean_and_sd

__all__ = ["Ends", "ValuesOf", "ends_of"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

_LARGEST_INDEX = 1e6  # quality indices beyond it are called infinite where values are unknown
_HALVINGS = 60


@dataclass(frozen=True, eq=False)
class Ends:
    """Ends (g,) of a condition's value, in its limit's unit.

    ``sure``: both ends are exact. ``shown``: the ends as people read them, where those are of another quantity, with
    whether one lies on the limit. ``stuck``: the value can't be formed from these values.
    """

    limit: Threshold
    least: Values
    most: Values
    slack: Values
    sure: Truth
    shown: tuple[Values, Values, Truth] | None = None
    stuck: Truth | None = None


class ValuesOf:
    """The values of a block for one question, with what several criteria ask of them; computed once, on first use."""

    def __init__(self, low: Values, high: Values) -> None:
        self.low, self.high = low, high

    @cached_property
    def mean_and_sd(self) -> tuple[Values, Values]:
        """(g,) each, of the lower bounds."""
        return mean_and_sd(self.low)

    @cached_property
    def open_rows(self) -> NDArray[np.intp]:
        """Zones with an unknown value."""
        if self.low is self.high:
            return np.empty(0, dtype=np.intp)
        return np.flatnonzero((self.high > self.low).any(axis=1))

    @cached_property
    def largest(self) -> Values:
        """(g,) the largest finite number among the bounds of each zone."""
        low = self.low
        if np.isinf(low[:, -1]).any():  # an excused pull lies at no number
            low = np.sort(np.where(np.isinf(low), 0.0, low), axis=1)
        top: Values = np.maximum(np.abs(low[:, 0]), np.abs(low[:, -1]))  # rows ascend
        if self.open_rows.size:
            top[self.open_rows] = largest_number(self.low[self.open_rows], self.high[self.open_rows])
        return top

    def certain_of_rank(self, rank: int) -> Values:
        """(g,) the rank-th largest lower bound; 0 where the rank is beyond the values that are there."""
        g, n = self.low.shape
        return self.low[:, n - rank] if rank <= n else np.zeros(g)

    def ranked_from_top(self, rank: int) -> Values:
        """(g,) the rank-th largest upper bound; without end where the rank is below 1 (values not there suffice)."""
        g, n = self.low.shape
        if rank < 1:
            return np.full(g, np.inf)
        ranked = self.low[:, n - rank].copy()
        if self.open_rows.size:
            ranked[self.open_rows] = np.sort(self.high[self.open_rows], axis=1)[:, n - rank]
        return ranked


def ends_of(asks: OfValues, values: ValuesOf) -> Ends:
    """Least and greatest value of a condition over all completions of each zone's values."""
    if isinstance(asks, OfMean):
        return _of_mean_ends(asks, values)
    if isinstance(asks, Floored):
        return _floored_ends(asks, values)
    if isinstance(asks, Fitted):
        return _fitted_ends(asks, values)
    if isinstance(asks, BetweenSds):
        return _between_sds_ends(asks, values)
    if isinstance(asks, Likely):
        return _likely_ends(asks, values)
    unit = asks.limit.unit_mpa
    top = np.maximum(values.largest, asks.limit.at * unit)
    sure = np.ones(values.low.shape[0], dtype=np.bool_)
    if isinstance(asks, Ranked):
        least, most = values.certain_of_rank(asks.worst), values.ranked_from_top(asks.best)
    else:
        least, most, top, sure = _spread_ends(asks, values, top)
    shown = None
    if isinstance(asks, Spread) and asks.quotient is not None:
        shown = _quotient_ends(asks, asks.quotient, values)
    return Ends(asks.limit, least / unit, most / unit, asks.tolerance * top / unit, sure, shown)


def _spread_ends(asks: Spread, values: ValuesOf, top: Values) -> tuple[Values, Values, Values, Truth]:
    """Ends of scale * mean - k sd - shift [MPa], the largest number involved, and whether both ends are exact."""
    mean, sd = values.mean_and_sd
    n = values.low.shape[1]
    sure = np.ones(mean.size, dtype=np.bool_)
    least = mean if asks.own_k == 0.0 else mean - asks.own_k * sd
    most = least
    rows = values.open_rows
    if rows.size:
        least, most, top = least.copy(), least.copy(), top.copy()
        lows, highs = values.low[rows], values.high[rows]
        if asks.falls(n):
            value, level = peak(lows, highs, asks.own_k)
            most[rows] = value
            top[rows] = np.maximum(top[rows], np.where(np.isinf(level), 0.0, np.abs(level)))
            least[rows], sure[rows] = lowest(lows, highs, asks.own_k)
        elif asks.own_k < 0 and not asks.never_falls(n):
            # Convex: between the least mean and no proven end above; left open unless the least value meets.
            least[rows], most[rows], sure[rows] = spread(lows, 0.0), np.inf, False
        else:
            most[rows] = spread_at_top(highs, asks.own_k)
    ends = (asks.scale * least - asks.shift_mpa, asks.scale * most - asks.shift_mpa)
    return (*ends, top, sure) if asks.scale > 0 else (*ends[::-1], top, sure)


def _quotient_ends(asks: Spread, quotient: Quotient, values: ValuesOf) -> tuple[Values, Values, Truth]:
    """Ends of the shown value: a function of Q = (mean - L) / sd."""
    at = asks.own_at
    mean, sd = values.mean_and_sd
    first = _index(mean, sd, at, asks.tolerance * np.maximum(values.largest, abs(at)))
    last = first
    rows = values.open_rows
    if rows.size:
        first, last = first.copy(), first.copy()
        first[rows], last[rows] = _index_ends(values.low[rows], values.high[rows], at)
    low, high = quotient.of(first), quotient.of(last)
    if quotient.limit.at_most:
        low, high = high, low
    slack = asks.tolerance * np.maximum(abs(quotient.limit.limit), 1.0)
    on = at_limit(low, quotient.limit, slack=slack) | at_limit(high, quotient.limit, slack=slack)
    return low, high, on


def _index(mean: Values, sd: Values, at: float, slack: Values) -> Values:
    away = mean - at
    endless = np.where(away >= -slack, np.inf, -np.inf)
    return np.divide(away, sd, out=endless, where=sd > slack)


def _index_ends(low: Values, high: Values, at: float) -> tuple[Values, Values]:
    """Least and greatest Q over boxes; below 0 only a bound: without lower end, 0 as the upper end."""
    straight = 1.0 / math.sqrt(low.shape[1])

    def sure(k: Values) -> Truth:
        least = np.where(k <= straight, spread(low, k), lowest(low, high, k)[0])
        return np.greater_equal(least, at)

    def could(k: Values) -> Truth:
        return np.greater_equal(peak(low, high, k)[0], at)

    found = []
    for holds in (sure, could):
        inside, outside = np.zeros(low.shape[0]), np.full(low.shape[0], _LARGEST_INDEX)
        everywhere = holds(outside)
        for _ in range(_HALVINGS):
            middle = 0.5 * (inside + outside)
            good = holds(middle)
            inside, outside = np.where(good, middle, inside), np.where(good, outside, middle)
        found.append(np.where(everywhere, np.inf, inside))
    first, last = found
    return np.where(spread(low, 0.0) < at, -np.inf, first), np.where(spread_at_top(high, 0.0) < at, 0.0, last)


def _between_sds_ends(asks: BetweenSds, values: ValuesOf) -> Ends:
    """Ends that are proven, and exact where the sd is known."""
    (least_sd, most_sd), unit = asks.sd, asks.limit.unit_mpa
    bottom, top = values.mean_and_sd[0], spread_at_top(values.high, 0.0)
    ends = (bottom - asks.k * most_sd, top - asks.k * least_sd) if asks.k >= 0 else (bottom, np.full_like(top, np.inf))
    slack = asks.tolerance * np.maximum(values.largest, asks.limit.at * unit) / unit
    sure = np.full(bottom.size, least_sd == most_sd)
    return Ends(asks.limit, ends[0] / unit, ends[1] / unit, slack, sure)


def _of_mean_ends(asks: OfMean, values: ValuesOf) -> Ends:
    """Ends of 100 * smallest / mean [%]."""
    low, high = values.low, values.high
    n = low.shape[1]
    most = _of_mean(low)
    least = most
    rows = values.open_rows
    if rows.size:
        least, most = least.copy(), most.copy()
        lows, highs = low[rows], high[rows]
        cap = highs.min(axis=1)
        raised = np.maximum(lows, np.where(np.isinf(cap), lows.max(axis=1), cap)[:, np.newaxis])
        most[rows] = np.where(np.isinf(cap), 100.0, _of_mean(raised))
        worst = np.full(rows.size, 100.0)
        for i in range(n):
            rest = highs.copy()
            rest[:, i] = lows[:, i]
            total = rest.sum(axis=1)
            share = np.divide(100.0 * n * lows[:, i], total, out=np.full(rows.size, 100.0), where=total > 0)
            worst = np.minimum(worst, share)
        least[rows] = worst
    sure = np.ones(low.shape[0], dtype=np.bool_)
    return Ends(asks.limit, least, most, np.full(low.shape[0], 100.0 * asks.tolerance), sure)


def _of_mean(x: Values) -> Values:
    mean = spread(np.sort(x, axis=1), 0.0)
    share: Values = np.divide(100.0 * x.min(axis=1), mean, out=np.full(x.shape[0], 100.0), where=mean > 0)
    return share


def _floored_ends(asks: Floored, values: ValuesOf) -> Ends:
    g, n = values.low.shape
    low, high = values.low, values.high
    dead: Truth = np.zeros(g, dtype=np.bool_)
    if asks.logs:
        with np.errstate(divide="ignore"):
            low = np.log(low)
            high = low if values.high is values.low else np.log(high)
        dead = np.asarray(
            np.isneginf(high).any(axis=1)
        )  # a value known to be 0: the bound is 0 whatever the others are
    least, most = np.full(g, -np.inf), np.full(g, -np.inf)
    sure = np.ones(g, dtype=np.bool_)
    live = np.flatnonzero(~dead)
    lows, highs = low[live], high[live]
    endless = np.isneginf(lows).any(axis=1)
    finite = np.where(np.isfinite(lows), lows, np.where(np.isfinite(highs), highs, np.inf)).min(axis=1, initial=np.inf)
    lifted = np.where(np.isneginf(lows), np.where(np.isinf(finite), 0.0, finite)[:, np.newaxis], lows)
    lifted = np.minimum(lifted, highs)
    if asks.k * math.sqrt(n) > 1.0:
        best, level = peak(lifted, highs, asks.k)
        worst = np.full(live.size, -np.inf)
        closed = np.flatnonzero(~endless)
        worst[closed], sure[live[closed]] = lowest(lows[closed], highs[closed], asks.k)
        exact = np.flatnonzero(~(highs > lows).any(axis=1))
        worst[exact] = best[exact] = spread(lows[exact], asks.k)
    else:  # never falls where |k| <= 1/sqrt(n); below, convex: no proven upper end
        best = spread_at_top(highs, asks.k)
        level = np.full(live.size, np.inf)
        worst = np.full(live.size, -np.inf)
        closed = np.flatnonzero(~endless)
        worst[closed] = spread(lows[closed], asks.k)
        if asks.k * math.sqrt(n) < -1.0:
            some = (highs > lows).any(axis=1)
            worst, best = np.where(some, -np.inf, worst), np.where(some, np.inf, best)
            sure[live[some]] = False
    if asks.floor > 0.0:
        top, bottom = _under_floor(asks, highs), _under_floor(asks, lows)
        at_peak = _under_floor(asks, at_level(lifted, highs, np.where(np.isinf(level), 0.0, level)))
        there = np.isinf(level) | np.greater_equal(at_peak, best)
        settled = np.isinf(best) & (top <= best)
        exact_here = ~np.any(highs > lows, axis=1)
        sure[live[~(there | settled | exact_here)]] = False
        best, worst = np.minimum(best, top), np.minimum(worst, bottom)
    most[live], least[live] = best, worst
    unit = asks.limit.unit_mpa
    if asks.logs:
        least, most = np.exp(least), np.exp(most)
    scale = np.maximum(asks.limit.at, np.where(np.isfinite(most), np.abs(most), 0.0) / unit)
    if not asks.logs:
        scale = np.maximum(scale, values.largest / unit)
    return Ends(asks.limit, least / unit, most / unit, asks.tolerance * scale, sure)


def _under_floor(asks: Floored, x: Values) -> Values:
    """The value with the sd at its floor; (g, n) may hold infinite values."""
    endless, dead = np.isposinf(x).any(axis=1), np.isneginf(x).any(axis=1)
    mean = spread(np.sort(np.where(np.isfinite(x), x, 0.0), axis=1), 0.0)
    value = mean - asks.k * asks.floor if asks.logs else mean * (1.0 - asks.k * asks.floor)
    return np.where(dead, -np.inf, np.where(endless, np.inf, value))


def _likely_ends(asks: Likely, values: ValuesOf) -> Ends:
    """Ends of the probability, at the least and the greatest completion; shown are those of the measured value."""
    low = np.ascontiguousarray(values.low)
    least = asks.of(low, False)
    most = least
    if values.open_rows.size:
        most = np.maximum(least, asks.of(np.sort(values.high, axis=1), True))  # quadrature may turn equal ones round
    elif isinstance(asks.measured, Ranked) and asks.measured.best != asks.measured.worst:
        most = asks.of(low, True)
    measured = ends_of(asks.measured, values)
    slack = np.full(least.size, asks.tolerance)
    on = at_limit(least, asks.limit, slack=slack) | at_limit(most, asks.limit, slack=slack)
    sure = np.ones(least.size, dtype=np.bool_)
    return Ends(asks.limit, least, most, slack, sure, (measured.least, measured.most, on))


def _fitted_ends(asks: Fitted, values: ValuesOf) -> Ends:
    """Exact values only; 0 to no end, and not proven, where one is unknown; stuck where no bound can be found."""
    g = values.low.shape[0]
    least, most = np.zeros(g), np.full(g, np.inf)
    sure, stuck = np.zeros(g, dtype=np.bool_), np.zeros(g, dtype=np.bool_)
    exact = np.ones(g, dtype=np.bool_)
    exact[values.open_rows] = False
    fit = exact & (values.low[:, 0] > 0.0) & (values.low[:, 0] < values.low[:, -1])
    stuck[exact & ~fit] = True
    rows = np.flatnonzero(fit)
    if rows.size:
        least[rows] = most[rows] = asks.bound(np.ascontiguousarray(values.low[rows])) / asks.limit.unit_mpa
    sure[rows] = True
    slack = asks.tolerance * np.maximum(asks.limit.at, np.where(np.isfinite(most), most, 0.0))
    return Ends(asks.limit, least, most, slack, sure, None, stuck)
