"""What a requirement can come to at all, whatever the values: can n values ever meet it, can they ever fail it?

``whatever_the_values``  n values of which nothing is known (any strength up to the ceiling, any failure), decided as
                         every zone is: by all completions. A criterion that conforms here asks nothing of n values;
                         one that does not conform can't be met by them
``no_failure_meets``     whether a condition on what broke can be met by pulls that failed as those at hand did
``only_bounds``          zones all of whose values are known from below only
``greatest_cov``         the coefficient of variation that a criterion can't bear, whatever the mean

Proofs. A mean share, and a share of pulls, lies between the least and the greatest that a pull alone gives. So if no
single pull of those recorded meets a limit on it, no collection of such pulls does, whatever number; and a set of such
limits of which one is enough is met by a collection only if a single pull meets one of them. Mean - k sd >= L, with
L > 0 and k > 0, means sd / mean <= (1 - L / mean) / k < 1 / k.

A z-of-n criterion reads pulls that were planned and not made as unknown values; here they are not there, which is the
same as values of 0.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from adhesion_stats.acceptance.block import Block, Shares
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.conditions import Spread
from adhesion_stats.acceptance.evaluate import evaluate
from adhesion_stats.acceptance.forms import condition
from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.terms.criteria import (
    AreaCriterion,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    MeanAtLeast,
    Requirement,
    SmallestAtLeast,
    StrengthCriterion,
    criteria,
    questions,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["Whatever", "greatest_cov", "no_failure_meets", "only_bounds", "whatever_the_values"]


@dataclass(frozen=True, slots=True)
class Whatever:
    """What each criterion, in the order in which they are written, and the whole requirement come to, whatever the
    values: conforms (can't fail), does not conform (can't be met), undetermined (either, or not resolved).
    """

    criteria: tuple[Outcome, ...]
    whole: Outcome


def whatever_the_values(
    requirement: Requirement, n: int, *, rounding: Rounding, ceiling_mpa: float, glue: Sequence[str]
) -> Whatever:
    """Decide a requirement for n values of which nothing is known.

    Parameters
    ----------
    requirement, rounding
        What is asked, and how a value is compared with its limit.
    n
        Number of values, 1 or more.
    ceiling_mpa
        The greatest strength that can be [MPa]; ``inf`` where the contract declares none.
    glue
        Codes of a break at or in the dolly adhesive.
    """
    asked = tuple(criteria(requirement))
    free = _free(asked, n, n, ceiling_mpa, glue)
    table = evaluate(requirement, free, rounding=rounding)
    found = [Outcome(int(outcome)) for outcome in table.outcome[0]]
    for i, criterion in enumerate(asked):
        if isinstance(criterion, CountAtLeast) and criterion.n > n:
            planned = _free((criterion,), n, criterion.n, ceiling_mpa, glue)
            found[i] = Outcome(int(evaluate(criterion, planned, rounding=rounding).decision[0]))
    return Whatever(tuple(found), Outcome(int(table.decision[0])))


def _free(asked: Sequence[Criterion], n: int, size: int, ceiling_mpa: float, glue: Sequence[str]) -> Block:
    """One zone of ``n`` values that may be anything, and further ones of 0 up to ``size``."""
    low, high = np.zeros((1, size)), np.zeros((1, size))
    high[0, size - n :] = ceiling_mpa
    lows, highs = dict.fromkeys(questions(asked), low), dict.fromkeys(questions(asked), high)
    codes = tuple(dict.fromkeys(code for criterion in asked for code in _codes(criterion)))
    known, unrecorded = np.zeros((1, size, len(codes))), np.full((1, size), 100.0)
    shares = Shares(codes, tuple(glue), known, unrecorded, lows, highs)
    return Block(np.zeros(1, dtype=np.int64), size, lows, highs, shares)


def _codes(criterion: Criterion) -> tuple[str, ...]:
    """The failure codes that a criterion names."""
    if isinstance(criterion, AreaCriterion):
        return criterion.codes
    if isinstance(criterion, EachPullAtLeast):
        return tuple(code for case in criterion.cases for code in case.failed.codes)
    if isinstance(criterion, MeanAtLeast):
        return () if criterion.only is None else criterion.only.codes
    if isinstance(criterion, SmallestAtLeast | CountAtLeast):
        return () if criterion.unless is None else criterion.unless.codes
    return ()


def no_failure_meets(asked: Sequence[AreaCriterion], cases: Cases, *, rounding: Rounding) -> bool:
    """Tell whether no pull that failed as one of ``cases`` did meets any of the conditions, each pull taken alone.

    Then no zone of such pulls meets any (see above). False where there is no pull.
    """
    made = cases.keep(cases.pull >= 0)
    if not len(made):
        return False
    rows = np.column_stack([made.known, made.unrecorded, made.depth_low, made.depth_high])
    kept = made.keep(np.unique(rows, axis=0, return_index=True)[1])
    shares = Shares(
        kept.codes,
        kept.glue,
        kept.known[:, np.newaxis, :],
        kept.unrecorded[:, np.newaxis],
        depths=(kept.depth_low[:, np.newaxis], kept.depth_high[:, np.newaxis]),
    )
    block = Block(np.arange(len(kept), dtype=np.int64), 1, {}, {}, shares)
    return all(
        bool((evaluate(criterion, block, rounding=rounding).decision == Outcome.DOES_NOT_CONFORM).all())
        for criterion in asked
    )


def only_bounds(cases: Cases, question: str) -> tuple[int, ...]:
    """Codes of the zones that have values, all of them known from below only."""
    made = cases.pull >= 0
    bounded = (cases.low[question] < cases.high[question]) & (cases.low[question] > 0)
    there = np.bincount(cases.zone[made], minlength=len(cases.zones))
    open_ones = np.bincount(cases.zone[made & bounded], minlength=len(cases.zones))
    return tuple(np.flatnonzero((there > 0) & (there == open_ones)).tolist())


def greatest_cov(criterion: Criterion, n: int, *, rounding: Rounding) -> tuple[float, float] | None:
    """Return factor k, and the coefficient of variation [%] that n values must stay below to meet a criterion.

    That is 100 / k (see above), whatever the mean; None for a criterion that asks of no mean - k sd with its own sd.
    """
    if isinstance(criterion, AreaCriterion | EachPullAtLeast) or not isinstance(criterion, StrengthCriterion):
        return None
    asks = condition(criterion, n, rounding)
    if not isinstance(asks, Spread) or asks.own_k <= 0 or asks.own_at <= 0:
        return None
    return asks.own_k, 100.0 / asks.own_k
