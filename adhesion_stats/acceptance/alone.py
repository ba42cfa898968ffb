"""Each criterion taken alone, over all zones of a block: what it can reach, whether it can be met, whether it can fail.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, Shares
from adhesion_stats.acceptance.composition import (
    SLACK,
    AreaCondition,
    Reading,
    area_condition,
    names_glue,
    reachable,
)
from adhesion_stats.acceptance.conditions import (
    ByFailure,
    Condition,
    Likely,
    OfMean,
    OfValues,
    Ranked,
    Spread,
    Trouble,
    Unformed,
)
from adhesion_stats.acceptance.ends import Ends, ValuesOf, ends_of
from adhesion_stats.acceptance.forms import condition
from adhesion_stats.acceptance.likely import doubt_of, probability_ends
from adhesion_stats.acceptance.limits import Threshold, at_limit, meets
from adhesion_stats.terms.criteria import (
    AreaCriterion,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    HeldAt,
    OfStrengths,
    ShareOfPulls,
    SmallestAtLeast,
    StrengthCriterion,
    view,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["Alone", "ValuesOf", "Variables", "alone_of", "from_ends", "met_by", "reading_of", "unformed"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
Counts = NDArray[np.int64]
# What a criterion depends on: ("question", "pull-off"), ("shares", "covered area unknown"), ("alone", number), ...
Variables = tuple[str, str]


@dataclass(frozen=True, eq=False)
class Alone:
    """One criterion, taken alone, over the g zones of a block.

    ``question``: that of the values it is about, None for areas. ``stuck``: no value can be formed from these values.
    """

    variables: Variables
    asks: Condition | AreaCondition | ByFailure
    low: Values
    high: Values
    possible: tuple[Truth, Truth]  # some completion meets; some completion fails
    certain: tuple[Truth, Truth]
    at_limit: Truth
    # z of n and limits by failure: values that reach the limit certainly, possibly; way out: excused pulls; mean of the
    # pulls of one failure: these pulls; 0 for kinds that count none
    counts: tuple[Counts, Counts]
    nothing: Truth | None = None  # (g,) where no value can be formed whatever the unknown is; None: nowhere
    question: str | None = None
    stuck: Truth | None = None
    probability: tuple[Values, Values] | None = None  # of conformity, least and greatest; None where none is asked


def alone_of(i: int, criterion: Criterion, block: Block, known: Mapping[str, ValuesOf], rounding: Rounding) -> Alone:
    """Return what one criterion (number ``i`` of the requirement) can reach in each zone of the block.

    ``known`` holds the values of each question, with what several criteria ask of them.
    """
    if isinstance(criterion, AreaCriterion):
        return _area_alone(i, criterion, block, rounding)
    assert not isinstance(criterion, EachPullAtLeast)  # see by_failure
    asks = condition(criterion, block.n, rounding)
    if isinstance(asks, Unformed):
        return replace(unformed(i, asks, block.g), question=view(criterion))
    values = known[view(criterion)]
    ends = ends_of(asks, values)
    variables = ("question", view(criterion)) if _joins(asks, block.n) else ("alone", str(i))
    alone = replace(_alone(variables, asks, ends), question=view(criterion))
    if isinstance(criterion, OfStrengths) and criterion.conformity is not None:
        alone = replace(alone, probability=_probability(criterion, asks, ends, values))
    if isinstance(criterion, CountAtLeast | ShareOfPulls | HeldAt):
        planned = criterion.n if isinstance(criterion, CountAtLeast) else block.n
        if isinstance(asks, Likely):
            asks = asks.measured
            ends = ends_of(asks, values)
        unit = asks.limit.unit_mpa
        return replace(alone, counts=_counts(planned, ends, values.low / unit, values.high / unit))
    if isinstance(criterion, SmallestAtLeast) and criterion.unless is not None:
        return replace(alone, counts=(np.isinf(values.low).sum(axis=1), np.isinf(values.high).sum(axis=1)))
    return alone


def _probability(
    criterion: StrengthCriterion, asks: OfValues, ends: Ends, values: ValuesOf
) -> tuple[Values, Values] | None:
    """Least and greatest probability of conformity of a criterion that asks for one."""
    if isinstance(asks, Likely):
        return ends.least, ends.most
    assert isinstance(criterion, OfStrengths)
    assert criterion.conformity is not None
    doubt, unit = doubt_of(criterion, criterion.conformity.of, asks), asks.limit.unit_mpa
    return probability_ends(asks, doubt, values.low, values.high, (ends.least * unit, ends.most * unit))


def _joins(asks: OfValues, n: int) -> bool:
    """Whether the condition can be joined with others on the same values exactly (see ``completions``)."""
    if isinstance(asks, Spread):  # not where it falls in every value, or is convex
        return (asks.never_falls(n) or asks.falls(n)) and asks.own_k >= 0
    return isinstance(asks, Ranked | OfMean)


def met_by(asks: OfValues, x: Values) -> Truth:
    """Tell which rows (g, n) of exact values, ascending, meet a condition."""
    ends = ends_of(asks, ValuesOf(x, x))
    met = meets(ends.least, ends.limit, slack=ends.slack)
    return met if ends.stuck is None else met & ~ends.stuck


def _counts(planned: int, ends: Ends, low: Values, high: Values) -> tuple[Counts, Counts]:
    """How many values (bounds in the limit's unit) reach the limit certainly, and possibly; planned ones that are
    not there may.
    """
    slack = ends.slack[:, np.newaxis]
    sure = meets(low, ends.limit, slack=slack).sum(axis=1)
    could = meets(high, ends.limit, slack=slack).sum(axis=1)
    return sure, could + max(planned - low.shape[1], 0)


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
    return _alone(variables, asks, Ends(limit, least, most, np.broadcast_to(slack, least.shape), sure))


def _alone(variables: Variables, asks: Condition | AreaCondition | ByFailure, ends: Ends) -> Alone:
    limit: Threshold = ends.limit
    met_least, met_most = (meets(end, limit, slack=ends.slack) for end in (ends.least, ends.most))
    met_worst, met_best = (met_most, met_least) if limit.at_most else (met_least, met_most)
    low, high = ends.least, ends.most
    on = at_limit(low, limit, slack=ends.slack) | at_limit(high, limit, slack=ends.slack)
    if ends.shown is not None:
        low, high, on = ends.shown
    can_meet, can_fail = met_best, ~met_worst
    certain = (met_best, ~met_worst & (ends.sure | ~met_best))
    if not ends.sure.all():  # an end that is only a bound proves nothing about what meets
        certain = (certain[0] & (ends.sure | ~can_fail), certain[1])
    nothing = np.zeros(low.size, dtype=np.int64)
    if ends.stuck is not None:
        low, high = np.where(ends.stuck, -np.inf, low), np.where(ends.stuck, np.inf, high)
        can_meet, can_fail = can_meet | ends.stuck, can_fail | ends.stuck
    return Alone(variables, asks, low, high, (can_meet, can_fail), certain, on, (nothing, nothing), stuck=ends.stuck)


def unformed(i: int, asks: Unformed, g: int) -> Alone:
    """A criterion whose value can't be formed in any of g zones: it may be met or not."""
    either = np.ones(g, dtype=np.bool_)
    nowhere = np.full(g, np.inf)
    nothing = np.zeros(g, dtype=np.int64)
    return Alone(
        ("alone", str(i)), asks, -nowhere, nowhere, (either, either), (either, either), ~either, (nothing, nothing)
    )
