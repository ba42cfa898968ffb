"""Each criterion taken alone, over all zones of a block: what it can reach, whether it can be met, whether it can fail.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, Shares
from adhesion_stats.acceptance.completions import largest_number
from adhesion_stats.acceptance.composition import (
    SLACK,
    AreaCondition,
    Reading,
    area_condition,
    names_glue,
    reachable,
)
from adhesion_stats.acceptance.conditions import ByFailure, Condition, Ranked, Spread, Trouble, Unformed, condition
from adhesion_stats.acceptance.limits import Threshold, at_limit, meets
from adhesion_stats.acceptance.reach import lowest, peak, spread, spread_at_top
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.terms.criteria import (
    AreaCriterion,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    SmallestAtLeast,
    view,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["Alone", "ValuesOf", "Variables", "alone_of", "from_ends", "reading_of", "unformed"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
# What a criterion depends on: ("question", "pull-off"), ("shares", "covered area unknown"), ("alone", number), ...
Variables = tuple[str, str]


@dataclass(frozen=True, eq=False)
class Alone:
    """One criterion, taken alone, over the g zones of a block."""

    variables: Variables
    asks: Condition | AreaCondition | ByFailure
    low: Values
    high: Values
    possible: tuple[Truth, Truth]  # some completion meets; some completion fails
    certain: tuple[Truth, Truth]
    at_limit: Truth
    # z of n and limits by failure: values that reach the limit certainly, possibly; way out: excused pulls; mean of the
    # pulls of one failure: these pulls
    counts: tuple[NDArray[np.int64], NDArray[np.int64]]
    nothing: Truth | None = None  # (g,) where no value can be formed whatever the unknown is; None: nowhere


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


def alone_of(i: int, criterion: Criterion, block: Block, known: Mapping[str, ValuesOf], rounding: Rounding) -> Alone:
    """Return what one criterion (number ``i`` of the requirement) can reach in each zone of the block.

    ``known`` holds the values of each question, with what several criteria ask of them.
    """
    if isinstance(criterion, AreaCriterion):
        return _area_alone(i, criterion, block, rounding)
    assert not isinstance(criterion, EachPullAtLeast)  # see by_failure
    asks = condition(criterion, block.n, rounding)
    if isinstance(asks, Unformed):
        return unformed(i, asks, block.g)
    values = known[view(criterion)]
    low, high = values.low, values.high
    variables = ("question", view(criterion))
    top = np.maximum(values.largest, asks.limit.at * asks.limit.unit_mpa)
    sure = np.ones(block.g, dtype=np.bool_)
    if isinstance(asks, Ranked):
        least, most = values.certain_of_rank(asks.worst), values.ranked_from_top(asks.best)
    else:
        least, most, top, sure = _spread_ends(asks, values, top)
        if not (asks.never_falls(block.n) or asks.falls(block.n)) or asks.own_k < 0:
            variables = ("alone", str(i))  # falls in every value, or is convex: never joined with others
    unit = asks.limit.unit_mpa
    slack = asks.tolerance * top / unit
    alone = from_ends(variables, asks, asks.limit, least / unit, most / unit, slack, sure)
    if isinstance(criterion, CountAtLeast):
        return replace(alone, counts=_counts(criterion, asks.limit, low / unit, high / unit, slack))
    if isinstance(criterion, SmallestAtLeast) and criterion.unless is not None:
        return replace(alone, counts=(np.isinf(low).sum(axis=1), np.isinf(high).sum(axis=1)))
    return alone


def _counts(
    criterion: CountAtLeast, limit: Threshold, low: Values, high: Values, slack: Values
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """How many values (bounds in the limit's unit) reach the limit certainly, and possibly; planned ones that are
    not there may.
    """
    sure = meets(low, limit, slack=slack[:, np.newaxis]).sum(axis=1)
    could = meets(high, limit, slack=slack[:, np.newaxis]).sum(axis=1)
    return sure, could + max(criterion.n - low.shape[1], 0)


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


def _area_alone(i: int, criterion: AreaCriterion, block: Block, rounding: Rounding) -> Alone:
    if block.n == 0:
        return unformed(i, Unformed(Trouble.NO_VALUES), block.g)
    assert block.shares is not None  # cut and evaluate are given the same requirement
    recorded = names_glue(criterion, block.shares.glue)
    asks = area_condition(criterion, rounding)
    least, most = reachable(reading_of(block.shares, recorded=recorded), asks)
    variables = ("shares", "as recorded" if recorded else "covered area unknown")
    return from_ends(variables, asks, asks.limit, least, most, SLACK, np.ones(block.g, dtype=np.bool_))


def reading_of(shares: Shares, *, recorded: bool) -> Reading:
    """Return the shares of a block as criteria that name an adhesive code read them (``recorded``), or as others do."""
    return Reading.of(shares, glue_as_recorded=recorded)


def from_ends(
    variables: Variables,
    asks: Condition | AreaCondition | ByFailure,
    limit: Threshold,
    least: Values,
    most: Values,
    slack: Values | float,
    sure: Truth,
) -> Alone:
    """A criterion whose values run from ``least`` to ``most``; ``sure`` tells where both ends can be had."""
    met_least, met_most = meets(least, limit, slack=slack), meets(most, limit, slack=slack)
    met_worst, met_best = (met_most, met_least) if limit.at_most else (met_least, met_most)
    on = at_limit(least, limit, slack=slack) | at_limit(most, limit, slack=slack)
    nothing = np.zeros(least.size, dtype=np.int64)
    certain = (met_best, ~met_worst & (sure | ~met_best))
    return Alone(variables, asks, least, most, (met_best, ~met_worst), certain, on, (nothing, nothing))


def unformed(i: int, asks: Unformed, g: int) -> Alone:
    """A criterion whose value can't be formed in any of g zones: it may be met or not."""
    either = np.ones(g, dtype=np.bool_)
    nowhere = np.full(g, np.inf)
    nothing = np.zeros(g, dtype=np.int64)
    return Alone(
        ("alone", str(i)), asks, -nowhere, nowhere, (either, either), (either, either), ~either, (nothing, nothing)
    )
