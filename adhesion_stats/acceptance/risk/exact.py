r"""Rules whose operating characteristic is computed and not simulated.

A rule on which of several limits the mean reaches, and how many single values reach which limit, only gains by larger
values. So it is met by every completion of the unknown values if the least one meets it, and by some if the greatest
does. Both are samples of independent values (``statistics.operating_joint``), and all three outcomes follow. Of rules
with a standard deviation the one on mean - k sd alone, of normal values that are all known, is a non-central t.

The mean of a measurement of m normal pulls is normal with the variance sigma² (b + (1 - b) / m), b the share of the
variance that lies between measurements: rules on measurements are computed the same way.

=====================  ====================================================================================
``count``              .. math:: P = \sum_{i \ge z} \binom{n}{i} p^i (1-p)^{n-i}, one limit on single values
``counts``             the multinomial sum, several limits on single values
``mean``               .. math:: P = \Phi(\sqrt n (\mu - L)/\sigma), normal values
``mean and values``    Fourier series of the sum's distribution, cut at the limits on single values
``mean less sd``       .. math:: P = P(T'_{n-1}(\sqrt n (\mu - L)/\sigma) \ge k \sqrt n), normal values
=====================  ====================================================================================

Anything else, also every kind of criterion that is not known here, is left to simulation.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.conditions import Condition, Ranked, Spread
from adhesion_stats.acceptance.forms import condition
from adhesion_stats.acceptance.logic import numbered
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.statistics.operating import ThreeWay, accepts_mean, accepts_mean_less_sd
from adhesion_stats.statistics.operating_joint import (
    MOST_WAYS,
    Completed,
    best_completion,
    probability_accepted,
    worst_completion,
)
from adhesion_stats.statistics.strengths import Ratio
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    AreaCriterion,
    Criterion,
    EachPullAtLeast,
    Requirement,
    depends_on_failure,
    questions,
)
from adhesion_stats.terms.specification import Rounding
from adhesion_stats.units import factor

__all__ = ["Exact", "How", "exact_way"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
How = Literal["count", "counts", "mean", "mean and values", "mean less sd", "mean less pooled sd", "simulated"]


@dataclass(frozen=True)
class Exact:
    """How a rule's three probabilities are computed: ``at(means (g,) [MPa], cov)``."""

    how: How
    at: Callable[[Values, float], ThreeWay]


def exact_way(requirement: Requirement, *, n: int, assumed: Assumed, rounding: Rounding) -> Exact | None:
    """Return the exact way for this rule, or None where there is none.

    Parameters
    ----------
    requirement
        Criteria on strengths, all of or any of.
    n
        Values of the zone (pulls, or measurements), all of them made.
    assumed, rounding
        As in ``operating_characteristic``.
    """
    asked = numbered(requirement)
    if any(depends_on_failure(c) for c in asked) or (assumed.broke and len(questions(asked)) > 1):
        return None
    means = assumed.of_question(questions(asked)[0]).of_means()
    if means is None or (assumed.per_measurement > 1 and rounding.record_to is not None):
        return None  # pulls are recorded in steps before their mean is taken
    found: list[Ranked | Spread] = []
    for criterion in asked:
        asks = _known_form(criterion, n, rounding)
        if asks is None:
            return None
        found.append(asks)
    if all(isinstance(asks, Ranked) or (asks.k == 0.0 and asks.scale > 0.0) for asks in found):
        way = _of_growing(requirement, found, n, means, rounding)
    else:
        way = _of_mean_less_sd(found, n, means, rounding)
    return way if way is None or assumed.per_measurement == 1 else _narrowed(way, assumed.narrowed)


def _narrowed(way: Exact, by: float) -> Exact:
    """The same for means of measurements, whose coefficient of variation is smaller."""
    return Exact(way.how, lambda mean, cov: way.at(mean, cov * by))


def _known_form(criterion: Criterion, n: int, rounding: Rounding) -> Ranked | Spread | None:
    """The reduced form of a criterion, if it is one of the two that are computed here and nothing else hangs on it."""
    if isinstance(criterion, AreaCriterion | EachPullAtLeast):
        return None
    asks: Condition = condition(criterion, n, rounding)
    if type(asks) is Ranked:
        return asks
    return asks if type(asks) is Spread else None


def _of_mean_less_sd(found: Sequence[Ranked | Spread], n: int, assumed: Assumed, rounding: Rounding) -> Exact | None:
    one = found[0]
    usable = len(found) == 1 and assumed.distribution == "normal" and assumed.all_known and rounding.record_to is None
    if not usable or not isinstance(one, Spread) or one.scale <= 0.0 or n < 2:
        return None
    limit, k = one.own_at, one.own_k

    def at(mean: Values, cov: float) -> ThreeWay:
        accepted = accepts_mean_less_sd(mean, limit=limit, sd=cov * mean, n=n, k=k)
        return ThreeWay(accepted, 1.0 - accepted, np.zeros_like(accepted))

    return Exact("mean less sd", at)


def _of_growing(
    requirement: Requirement, found: Sequence[Ranked | Spread], n: int, assumed: Assumed, rounding: Rounding
) -> Exact | None:
    """Rules that only gain by larger values: the least and the greatest completion decide."""
    means = tuple(sorted({asks.own_at for asks in found if isinstance(asks, Spread)}))
    if means and rounding.record_to is not None:
        return None  # the mean of values in steps is not a continuous one
    singles = tuple(sorted({_single_limit(asks, rounding) for asks in found if isinstance(asks, Ranked)}))
    if math.comb(n + len(singles), len(singles)) > MOST_WAYS:
        return None
    if not singles and len(means) == 1 and assumed.distribution == "normal" and assumed.all_known:
        return Exact("mean", lambda mean, cov: _two_way(accepts_mean(mean, limit=means[0], sd=cov * mean, n=n)))

    def leaf(asks: Ranked | Spread, *, best: bool) -> Truth:
        shape = [1] * (1 + len(singles))
        if isinstance(asks, Spread):
            shape[0] = len(means) + 1
            return (np.arange(len(means) + 1) > means.index(asks.own_at)).reshape(shape)
        axis = 1 + singles.index(_single_limit(asks, rounding))
        shape[axis] = n + 1
        # A rank beyond the values that are there asks the value 0, as in ``Alone``: never enough for a limit above 0.
        rank = asks.best if best else asks.worst
        return (np.arange(n + 1) >= rank).reshape(shape)

    full = (len(means) + 1, *(n + 1 for _ in singles))
    must = np.broadcast_to(_whole(requirement, [leaf(a, best=False) for a in found]), full).copy()
    can = np.broadcast_to(_whole(requirement, [leaf(a, best=True) for a in found]), full).copy()
    worst = worst_completion(lost=assumed.lost_share)
    best = best_completion(at_least=assumed.glue_share, lost=assumed.lost_share, ceiling=assumed.ceiling_mpa)
    one_way = assumed.all_known and bool((must == can).all())

    def at(mean: Values, cov: float) -> ThreeWay:
        ratio = Ratio(assumed.distribution, cov)

        def accepted(rule: Truth, completed: Completed) -> Values:
            return probability_accepted(
                mean, ratio=ratio, n=n, limits=singles, mean_limits=means, accepted=rule, completed=completed
            )

        conforms = accepted(must, worst)
        if one_way:
            return _two_way(conforms)
        possible = np.maximum(conforms, accepted(can, best))
        return ThreeWay(conforms, 1.0 - possible, possible - conforms)

    return Exact("mean and values" if means else "count" if len(singles) == 1 else "counts", at)


def _two_way(accepted: Values) -> ThreeWay:
    return ThreeWay(accepted, 1.0 - accepted, np.zeros_like(accepted))


def _single_limit(asks: Ranked, rounding: Rounding) -> float:
    """From where on [MPa] a single strength meets the limit; where strengths are recorded in steps, from half a step
    below the first step that meets it.
    """
    at = asks.limit.at * asks.limit.unit_mpa
    if rounding.record_to is None:
        return at
    step = rounding.record_to.value * factor(rounding.record_to.unit, "strength")
    steps = math.ceil(at / step - 1e-9)
    if not asks.limit.closed and abs(steps - at / step) <= 1e-9:
        steps += 1
    return (steps - 0.5) * step


def _whole(requirement: Requirement, leaves: list[Truth]) -> Truth:
    """The requirement on the grid of counts, from its criteria in the order in which they are written."""
    rest = iter(leaves)

    def truth(part: Requirement) -> Truth:
        if not isinstance(part, AllOf | AnyOf):
            return next(rest)
        found = [truth(p) for p in part.parts]
        whole = found[0]
        for more in found[1:]:
            whole = whole & more if isinstance(part, AllOf) else whole | more
        return whole

    return truth(requirement)
