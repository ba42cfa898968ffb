"""Criteria that ask each pull, or a part of the pulls, by what broke: limits by failure, means within one failure.

Each is decided alone, from the values and the failure of each pull side by side; beside other criteria its unknowns are
taken as independent (never fewer completions than the truth).

Limits by failure. The limits that a pull may be held to are those of every case that could fit it, and the limit
"otherwise" unless a case surely fits: giving all unknown area to a code that no case names makes no further case fit. A
pull surely meets if its lower bound meets all of them, and could meet if its upper bound meets one. Pulls are
independent, so every number of meeting pulls between the two can be had. Where several cases fit a pull the contract
does not say which is meant, and where none does and nothing is said "otherwise", it does not say what is asked.

Mean of the pulls that failed so. Surely members: C; pulls that could be: O. Over all choices T of O the least mean of C
and T takes the smallest lower bounds of O in order, as long as they lie below the mean: the least over the |O| + 1
beginnings of the sorted list is exact. The greatest likewise. Between them the mean jumps, but whether some
completion meets and some fails needs the two ends only. Where C is empty, T may be too: then there is no mean, and the
criterion may be either.

Means within the same failure. A pull belongs to the code with ``alike_from`` or more of its area (more than half, so to
one only). Where no code surely has that, it may go with any code that it shows or could show, also one that no other
pull shows. Some group's mean falls short if the least mean of a group does, for each group on its own: the other pulls
go elsewhere. All groups meet together only if the pulls can be shared out so: every way to share them out is tried
while there are ``MOST_WAYS`` at most, else the answer is open and not resolved. (Pulls of unseen codes are best taken
together: separate groups that each meet also meet as one.)

Imports: numpy, this room and terms.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.alone import Alone, from_ends, unformed
from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.composition import SLACK, Reading
from adhesion_stats.acceptance.conditions import ByFailure, Trouble, Unformed
from adhesion_stats.acceptance.limits import ENTERED, MEAN, Threshold, at_limit, meets, percent_threshold, threshold
from adhesion_stats.acceptance.membership import fits, shares_of, values_of
from adhesion_stats.terms.criteria import (
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    Limit,
    MeanAtLeast,
    SmallestAtLeast,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["MOST_WAYS", "alone_by_failure", "decided_by_failure", "pulls_told_apart", "selected_mean"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

MOST_WAYS = 4096


def decided_by_failure(criterion: Criterion) -> bool:
    """Tell whether a criterion is one of these kinds."""
    if isinstance(criterion, MeanAtLeast):
        return criterion.only is not None or criterion.alike_from is not None
    return isinstance(criterion, EachPullAtLeast)


def alone_by_failure(i: int, criterion: Criterion, block: Block, rounding: Rounding) -> Alone:
    """Return what one such criterion (number ``i`` of the requirement) can reach in each zone of the block."""
    if block.n == 0:
        return unformed(i, Unformed(Trouble.NO_VALUES), block.g)
    if isinstance(criterion, EachPullAtLeast):
        return _each_pull(i, criterion, block, rounding)
    assert isinstance(criterion, MeanAtLeast)  # see decided_by_failure
    return _only(i, criterion, block, rounding) if criterion.only is not None else _alike(i, criterion, block, rounding)


def pulls_told_apart(criterion: Criterion, block: Block, rounding: Rounding) -> tuple[Truth, Truth] | None:
    """Tell which pulls (g, n) surely, and possibly, are excused, averaged or reach their limit, in the order of the
    block's shares; None for a criterion that tells no pulls apart so.
    """
    if isinstance(criterion, EachPullAtLeast):
        certain, possible, _ = _reaching(criterion, block, rounding)
        return certain, possible
    if isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None:
        return fits(shares_of(block), criterion.unless)
    if isinstance(criterion, MeanAtLeast) and criterion.only is not None:
        return fits(shares_of(block), criterion.only)
    return None


def _each_pull(i: int, criterion: EachPullAtLeast, block: Block, rounding: Rounding) -> Alone:
    certain, possible, just_so = _reaching(criterion, block, rounding)
    all_pulls = percent_threshold(100.0, rounding, at_most=False, places=0)
    counts = certain.sum(axis=1), possible.sum(axis=1)
    least, most = (100.0 * count / block.n for count in counts)
    sure_rows = np.ones(block.g, np.bool_)
    alone = from_ends(("alone", str(i)), ByFailure(all_pulls), all_pulls, least, most, SLACK, sure_rows)
    return replace(alone, counts=counts, at_limit=just_so.any(axis=1) & (counts[0] == block.n))


def _reaching(criterion: EachPullAtLeast, block: Block, rounding: Rounding) -> tuple[Truth, Truth, Truth]:
    """Which pulls (g, n) surely and possibly reach their limit, and which could lie just on one."""
    shares = shares_of(block)
    low, high = values_of(shares, criterion.question)
    certain, possible = np.ones(low.shape, np.bool_), np.zeros(low.shape, np.bool_)
    settled, just_so = np.zeros(low.shape, np.bool_), np.zeros(low.shape, np.bool_)
    for case in criterion.cases:
        sure, could = fits(shares, case.failed)
        meets_low, meets_high, on = _against(low, high, case.limit, rounding)
        certain &= ~could | meets_low
        possible |= could & meets_high
        just_so |= could & on
        settled |= sure
    if criterion.otherwise is None:
        certain &= settled
        possible |= ~settled
    else:
        meets_low, meets_high, on = _against(low, high, criterion.otherwise, rounding)
        certain &= settled | meets_low
        possible |= ~settled & meets_high
        just_so |= ~settled & on
    return certain, possible, just_so


def _against(low: Values, high: Values, limit: Limit, rounding: Rounding) -> tuple[Truth, Truth, Truth]:
    """Whether each value surely meets the limit, could meet it, and whether its lower bound lies on it."""
    t = threshold(limit, rounding)
    least, most = low / t.unit_mpa, high / t.unit_mpa
    slack = ENTERED * np.maximum(least, t.at)
    return meets(least, t, slack=slack), meets(most, t, slack=slack), at_limit(least, t, slack=slack)


def selected_mean(low: Values, high: Values, sure: Truth, could: Truth) -> tuple[Values, Values]:
    """Return the least and the greatest mean (g,) of the values that are chosen.

    Parameters
    ----------
    low, high : (g, n) [MPa]
        Bounds of the values.
    sure, could : (g, n)
        Which values are surely chosen, and which could be (a sure one could). At least one value is chosen.

    Returns
    -------
    least, most : (g,) [MPa]
        ``inf`` and ``-inf`` where no value could be chosen.
    """
    optional = could & ~sure
    number = sure.sum(axis=1)[:, np.newaxis]
    taken = np.arange(low.shape[1] + 1)
    allowed = (taken <= optional.sum(axis=1)[:, np.newaxis]) & (number + taken > 0)
    sizes = np.maximum(number + taken, 1)
    ends = []
    for bound, sign in ((low, 1.0), (high, -1.0)):
        # the optional values in order, the smallest (greatest) first; the others last, where no choice reaches
        rank = np.sort(np.where(optional, sign * bound, np.inf), axis=1)
        rank = np.where(taken[:-1] < optional.sum(axis=1)[:, np.newaxis], rank, 0.0)
        base = sign * np.sort(np.where(sure, bound, 0.0), axis=1).sum(axis=1)[:, np.newaxis]  # one order, one last bit
        running = np.concatenate([np.zeros(base.shape), np.cumsum(rank, axis=1)], axis=1)
        means = np.where(allowed, (base + running) / sizes, np.inf)
        ends.append(sign * means.min(axis=1))
    return ends[0], ends[1]


def _top(low: Values, high: Values, limit: Threshold) -> Values:
    finite = np.where(np.isinf(high), low, high)
    top: Values = np.maximum(finite.max(axis=1), limit.at * limit.unit_mpa)
    return top


def _only(i: int, criterion: MeanAtLeast, block: Block, rounding: Rounding) -> Alone:
    assert criterion.only is not None
    shares, limit = shares_of(block), threshold(criterion.limit, rounding)
    low, high = values_of(shares, criterion.question)
    sure, could = fits(shares, criterion.only)
    least, most = selected_mean(low, high, sure, could)
    members = sure.sum(axis=1), could.sum(axis=1)
    none = members[1] == 0
    least, most = np.where(none, -np.inf, least), np.where(none, np.inf, most)
    alone = _mean_alone(i, limit, least, most, _top(low, high, limit), np.ones(block.g, np.bool_))
    either = members[0] == 0  # perhaps no pull failed so: then there is no mean, and the criterion may be either
    possible = (alone.possible[0] | either, alone.possible[1] | either)
    certain = (alone.certain[0] | either, alone.certain[1] | either)
    return replace(alone, possible=possible, certain=certain, counts=members, nothing=none)


def _mean_alone(i: int, limit: Threshold, least: Values, most: Values, top: Values, sure: Truth) -> Alone:
    slack, unit = MEAN * top / limit.unit_mpa, limit.unit_mpa
    return from_ends(("alone", str(i)), ByFailure(limit), limit, least / unit, most / unit, slack, sure)


@dataclass(frozen=True, eq=False)
class _Groups:
    """Which pulls (g, n, c) surely belong to a code, and to which they could; the last code is one that is unseen."""

    sure: Truth
    could: Truth

    @property
    def open(self) -> Truth:
        """(g, n) pulls that may go with more than one code, or with an unseen one."""
        belongs: Truth = np.asarray(np.any(self.sure, axis=2), dtype=np.bool_)
        return ~belongs


def _groups(reading: Reading, start: float) -> _Groups:
    unseen = np.zeros((*reading.unknown.shape, 1))
    known = np.concatenate([reading.known, unseen], axis=2)
    sure = known >= start - SLACK
    undecided = ~sure.any(axis=2, keepdims=True)
    return _Groups(sure, sure | (undecided & (known + reading.unknown[:, :, np.newaxis] > SLACK)))


def _alike(i: int, criterion: MeanAtLeast, block: Block, rounding: Rounding) -> Alone:
    assert criterion.alike_from is not None
    shares, limit = shares_of(block), threshold(criterion.limit, rounding)
    low, high = values_of(shares, criterion.question)
    groups = _groups(Reading.of(shares, glue_as_recorded=False), criterion.alike_from)
    codes = range(groups.sure.shape[2])
    ends = [selected_mean(low, high, groups.sure[:, :, c], groups.could[:, :, c]) for c in codes]
    least = np.min([end[0] for end in ends], axis=0)
    # Groups that surely exist can't do better than at their best; with no pull open that is the answer.
    exists: Truth = np.any(groups.sure, axis=1)
    most = np.min([np.where(exists[:, c], ends[c][1], np.inf) for c in codes], axis=0)
    resolved = np.ones(block.g, np.bool_)
    for row in np.flatnonzero(groups.open.any(axis=1)).tolist():
        best = _best_shared_out(high[row], groups.could[row])
        if best is None:
            resolved[row] = False
        else:
            most[row] = best
    return _mean_alone(i, limit, least, most, _top(low, high, limit), resolved)


def _best_shared_out(high: Values, could: Truth) -> float | None:
    """The greatest that the least mean of a group can be over all ways to give each pull (n, c) to a code; None: too
    many ways.
    """
    options = [np.flatnonzero(row).tolist() for row in could]
    if math.prod(len(option) for option in options) > MOST_WAYS:
        return None
    best = -math.inf
    for choice in itertools.product(*options):
        groups: dict[int, list[float]] = {}
        for code, value in zip(choice, high.tolist(), strict=True):
            groups.setdefault(code, []).append(value)
        best = max(best, min(math.fsum(sorted(group)) / len(group) for group in groups.values()))
    return best
