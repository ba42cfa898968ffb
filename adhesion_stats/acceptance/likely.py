"""Criteria in view of the uncertainty of measurement: the probability that the true value conforms, and what is asked
of it.

The true strength behind each reading is normal about it, with errors that all pulls share and errors that each has for
itself (``statistics.shared_errors``); prior: nothing is known of the true values beforehand. Which errors act:

- criteria on the values themselves (mean, smallest, z of n, share of the pulls, proof load): both. A common error does
  not average out, an independent one does in a mean.
- criteria that allow for the scatter (mean - k sd, characteristic values, quality index, coefficient of variation): the
  common ones only. The scatter of the readings holds the independent ones already.

A criterion with a probability asked then becomes one of two forms:

- where the probability depends on the criterion's value alone, a limit moved up by the guard band: the same form, so
  that all that is known of it over unknown values, alone and together with others, stays as it is;
- ranks and means under independent errors: ``Likely``, a probability of all the values together. It never falls as a
  value grows (below a probability of 0.9999, and for standard uncertainties of at most 15 % of the reading): the least
  and the greatest completion decide. Proof for one value Y beside others: over(Y) / u(Y), with over linear and u² a
  quadratic in Y, has a derivative whose sign is that of a linear function that is positive at Y = 0, so that it rises
  first, and where it falls again it stays above its limit 1 / (share) of at least 4.7 standard deviations.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.conditions import (
    BetweenSds,
    Condition,
    Fitted,
    Floored,
    Likely,
    OfMean,
    OfValues,
    Ranked,
    Spread,
    Unformed,
)
from adhesion_stats.acceptance.ends import ValuesOf, ends_of
from adhesion_stats.acceptance.limits import Threshold
from adhesion_stats.statistics.shared_errors import (
    Errors,
    conformity_of_mean,
    conformity_of_rank,
    conformity_of_value,
    limit_for_probability,
)
from adhesion_stats.terms.criteria import (
    CharacteristicAtLeast,
    CountAtLeast,
    HeldAt,
    MeanAtLeast,
    ShareOfPulls,
    SmallestAtLeast,
    StrengthCriterion,
    Uncertain,
)

__all__ = ["Doubt", "acceptance_limit", "doubt_of", "likely", "probability_ends", "uncertainty_of_value"]

Values = NDArray[np.float64]
Ends = tuple[Values, Values]

_ON_VALUES = (MeanAtLeast, SmallestAtLeast, CountAtLeast, ShareOfPulls, HeldAt)
_TOLERANCE = 1e-9  # of a probability
_STEP = 1e-4  # relative step of the derivative by a shift
_HALVINGS = 60


@dataclass(frozen=True, slots=True)
class Doubt:
    """What acts on a criterion: the errors, and ``fixed`` [MPa]: value + fixed is what errors in shares act on."""

    errors: Errors
    fixed: float = 0.0


def doubt_of(criterion: StrengthCriterion, uncertain: Uncertain, asks: Condition) -> Doubt:
    """Which of the stated errors act on a criterion."""
    both = isinstance(criterion, _ON_VALUES)
    errors = Errors(
        common=uncertain.mpa(common=True),
        common_share=uncertain.share(common=True),
        independent=uncertain.mpa(common=False) if both else 0.0,
        independent_share=uncertain.share(common=False) if both else 0.0,
    )
    pooled = isinstance(criterion, CharacteristicAtLeast) and criterion.method == "pooled"
    return Doubt(errors, asks.shift_mpa if isinstance(asks, Spread) and not pooled else 0.0)


def likely(
    asks: Condition, criterion: StrengthCriterion, n: int, *, at_least: float, uncertain: Uncertain
) -> Condition:
    """The condition that the true value conforms with a probability, in place of one on the measured value."""
    if isinstance(asks, Unformed | OfMean | Likely):
        return asks
    doubt = doubt_of(criterion, uncertain, asks)
    errors, limit = doubt.errors, asks.limit
    lower = limit.limit * limit.unit_mpa
    if isinstance(asks, Ranked) and not errors.common_only:
        return Likely(_of_ranks(asks, lower, errors), asks, _on_probability(at_least), _TOLERANCE)
    if isinstance(asks, Spread) and errors.independent_share > 0.0:
        return Likely(_of_mean(lower, errors), asks, _on_probability(at_least), _TOLERANCE)
    at = limit_for_probability(
        lower=lower,
        errors=errors,
        moved=asks.scale if isinstance(asks, Spread) else 1.0,
        fixed=doubt.fixed,
        independent=errors.independent / math.sqrt(n),
        probability=at_least,
    )
    moved = at / limit.unit_mpa
    return replace(asks, limit=replace(limit, at=moved, closed=True, far=moved, far_closed=True))


def _on_probability(at_least: float) -> Threshold:
    return Threshold(at_least, at_least, True, at_least, True, False, 1.0, 4)


def _of_ranks(asks: Ranked, lower: float, errors: Errors) -> Callable[[Values, bool], Values]:
    def of(x: Values, best: bool) -> Values:
        rank = asks.best if best else asks.worst
        if rank < 1:
            return np.ones(x.shape[0])
        if rank > x.shape[1]:
            return np.zeros(x.shape[0])
        return conformity_of_rank(x, at_least=rank, lower=lower, errors=errors)

    return of


def _of_mean(lower: float, errors: Errors) -> Callable[[Values, bool], Values]:
    def of(x: Values, best: bool) -> Values:  # noqa: ARG001 - the mean is of all values either way
        return conformity_of_mean(x, lower=lower, errors=errors)

    return of


def probability_ends(asks: OfValues, doubt: Doubt, low: Values, high: Values, value: Ends) -> Ends | None:
    """Least and greatest probability of conformity over all completions; None where it is not computed.

    Parameters
    ----------
    asks
        The condition on the measured value, its limit as written.
    low, high : (g, n) [MPa]
        Bounds of the values, rows ascending by low.
    value : (g,) each
        Least and greatest value of the condition [MPa].
    """
    errors, lower = doubt.errors, asks.limit.limit * asks.limit.unit_mpa
    if isinstance(asks, Likely):
        asks = asks.measured
    if isinstance(asks, OfMean):
        return None
    if isinstance(asks, Ranked) or (isinstance(asks, Spread) and not errors.common_only):
        of = _of_ranks(asks, lower, errors) if isinstance(asks, Ranked) else _of_mean(lower, errors)
        least = of(low, False)
        if high is low and _one_rank(asks):
            return least, least
        return least, np.maximum(least, of(np.sort(high, axis=1), True))  # quadrature may turn two equal ones round
    moved: Values | float = 1.0
    if isinstance(asks, Spread):
        moved, lower = asks.scale, asks.limit.at * asks.limit.unit_mpa if asks.quotient is not None else lower
    elif errors.common > 0.0 and isinstance(asks, Floored | Fitted):
        if high is not low and bool((high > low).any()):
            return None
        moved = _moved(asks, low)
    found = []
    for end in value:
        scaled = np.where(np.isfinite(end), end + doubt.fixed, 0.0)
        found.append(conformity_of_value(end, lower=lower, errors=errors, moved=moved, scaled=scaled))
    return found[0], np.maximum(found[0], found[1])


def _one_rank(asks: Ranked | Spread) -> bool:
    return not isinstance(asks, Ranked) or asks.best == asks.worst


def _moved(asks: Floored | Fitted, x: Values) -> Values:
    """Derivative of the value by a shift of all readings, by central differences."""
    step = _STEP * x.mean(axis=1, keepdims=True)
    up, down = (ends_of(asks, ValuesOf(moved, moved)).least for moved in (x + step, x - step))
    unit = asks.limit.unit_mpa
    with np.errstate(invalid="ignore", divide="ignore"):
        found: Values = np.nan_to_num((up - down) * unit / (2.0 * step[:, 0]), nan=0.0, posinf=0.0, neginf=0.0)
    return found


def uncertainty_of_value(asks: OfValues, doubt: Doubt, x: Values, value: float) -> float | None:
    """Standard uncertainty [MPa] of the value of exact readings (n,); None where the probability is no normal one."""
    errors = doubt.errors
    if isinstance(asks, Likely):
        asks = asks.measured
    if isinstance(asks, OfMean | BetweenSds) or not math.isfinite(value):
        return None
    if isinstance(asks, Ranked) and not errors.common_only:
        return None
    own = math.hypot(errors.independent, errors.independent_share * float(np.sqrt(np.square(x).mean())))
    moved = asks.scale if isinstance(asks, Spread) else 1.0
    if isinstance(asks, Floored | Fitted) and errors.common > 0.0:
        moved = float(_moved(asks, x[np.newaxis, :])[0])
    common = math.hypot(errors.common * moved, errors.common_share * (value + doubt.fixed))
    return math.hypot(common, own / math.sqrt(x.size))


def acceptance_limit(asks: OfValues, low: Values, value: float) -> float:
    """What the value [limit's unit] has to reach for the probability asked.

    Of a ``Likely`` condition: where it would be if all readings (n,) [MPa] were moved up or down together until they
    have the probability asked.
    """
    if not isinstance(asks, Likely):
        return asks.limit.at
    x, wanted = low[np.newaxis, :], asks.limit.at
    known = x[np.isfinite(x)]
    down, up = -float(known.max(initial=0.0)), 1.0
    while float(asks.of(x + up, False)[0]) < wanted:
        up *= 2.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (down + up)
        if float(asks.of(np.maximum(x + middle, 0.0), False)[0]) >= wanted:
            up = middle
        else:
            down = middle
    return value + up / asks.measured.limit.unit_mpa
