"""Which form (see ``conditions``) each kind of criterion on strengths has for n values: one function a kind.

A z-of-n criterion plans n values. Where more are usable, it conforms only if every choice of n of them meets and
fails only if none does: the best choice takes the largest ones, the worst the smallest, so the rank that must meet
runs from z to z + N - n. Where fewer are there, the missing ones may do either: the rank runs from z - (n - N) to z.
A share of the pulls means z = share * n, as decimals, rounded up, of the n values that there are.

Limits on Q = (mean - L) / sd are decided as mean - k sd >= L, which is the same for sd > 0, never divides by zero and
keeps all that is known of mean - k sd over completions:

- quality index (k form): k is the limit itself (ISO 3951-2; MIL-STD-414, section B, form 1);
- share below L (M form): the minimum-variance unbiased estimate is I_x(a, a) with a = n/2 - 1 and
  x = max(0, 1/2 - Q sqrt(n) / (2 (n - 1))), which falls as Q grows: k is the Q at which it comes to the limit
  (Lieberman and Resnikoff, Journal of the American Statistical Association 50 (1955) 457-516; MIL-STD-414, table B-5);
- coefficient of variation sd / mean at most c: L = 0, k = 1 / c.

Rounded to the last place of its limit is what the contract names: the index, the share, the coefficient.

Factors: k of the one-sided tolerance bound (ISO 16269-6; NBS Handbook 91, table A-7), or k_n of EN 1990:2002, Annex
D, D7.2, by formula; looked up once per n.

Imports: this room, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.acceptance.conditions import (
    BetweenSds,
    Condition,
    Fitted,
    Floored,
    OfMean,
    Quotient,
    Ranked,
    Spread,
    Trouble,
    Unformed,
)
from adhesion_stats.acceptance.likely import likely
from adhesion_stats.acceptance.limits import MEAN, SPREAD, Threshold, percent_threshold, threshold
from adhesion_stats.statistics.characteristic import k_one_sided, k_pooled
from adhesion_stats.statistics.en1990 import k_en1990_known, k_en1990_unknown
from adhesion_stats.statistics.en14358 import k_en14358
from adhesion_stats.statistics.order_statistics import confidence_of_order_statistic, n_for_order_statistic
from adhesion_stats.statistics.tolerance import k_known_sd
from adhesion_stats.statistics.weibull import tolerance_bound_weibull
from adhesion_stats.terms.criteria import (
    CharacteristicAtLeast,
    CountAtLeast,
    CovAtMost,
    HeldAt,
    MeanAtLeast,
    MeanLessSd,
    OfStrengths,
    QualityIndex,
    ShareBelow,
    ShareOfPulls,
    SmallestAtLeast,
    SmallestOfMean,
    StrengthCriterion,
)
from adhesion_stats.terms.specification import CharacteristicAsked, Rounding

__all__ = ["condition", "factor_of", "least_number", "order_rank", "share_below"]

Values = NDArray[np.float64]
Asking = CharacteristicAtLeast | CharacteristicAsked

_EN14358_FLOOR = 0.05  # EN 14358:2016, formulas (3) and (6)
_FRACTILE = 0.95  # share above a 5 % fractile


def condition(criterion: StrengthCriterion, n: int, rounding: Rounding) -> Condition:
    """Return what ``criterion`` asks of n values."""
    if n == 0:
        return Unformed(Trouble.NO_VALUES)
    if n < least_number(criterion):
        return Unformed(Trouble.ONE_VALUE if least_number(criterion) == 2 else Trouble.TOO_FEW)
    form: Callable[..., Condition] = _FORMS[type(criterion)]
    if not isinstance(criterion, OfStrengths) or criterion.conformity is None:
        return form(criterion, n, rounding)
    asked = criterion.conformity  # a probability is compared as it is, whatever the way to round strengths
    measured = form(criterion, n, Rounding())
    return likely(measured, criterion, n, at_least=asked.at_least, uncertain=asked.of)


def least_number(criterion: StrengthCriterion | CharacteristicAsked) -> int:
    """How many values the criterion's value can be formed from at least."""
    if isinstance(criterion, ShareBelow):
        return 3  # with two values the estimate has no distribution to be read from
    if isinstance(criterion, MeanLessSd | QualityIndex | CovAtMost):
        return 2
    if not isinstance(criterion, CharacteristicAtLeast | CharacteristicAsked):
        return 1
    if criterion.method == "order-statistic":
        content, confidence = _levels(criterion)
        return n_for_order_statistic(rank=1, content=content, confidence=confidence)
    if criterion.method in {"en14358-normal", "en14358-lognormal"}:
        return 3
    known = criterion.known_cov is not None or criterion.known_sd is not None
    return 1 if known or criterion.method == "pooled" else 2


def _levels(asked: Asking) -> tuple[float, float]:
    """Content and confidence."""
    content = _FRACTILE if asked.method == "iso12491" else asked.content
    assert content is not None  # terms.parse asks for both
    assert asked.confidence is not None
    return content, asked.confidence


def order_rank(*, n: int, content: float, confidence: float) -> int:
    """The largest rank, counted from the smallest of n values, that keeps the confidence."""
    rank = 1
    while rank < n and confidence_of_order_statistic(n=n, rank=rank + 1, content=content) >= confidence:
        rank += 1
    return rank


def share_below(index: Values, n: int) -> Values:
    """Estimated share of the population below the limit [%], from the quality index of n values (see above)."""
    a = 0.5 * n - 1.0
    x = np.clip(0.5 - index * math.sqrt(n) / (2.0 * (n - 1)), 0.0, 1.0)
    share: Values = 100.0 * special.betainc(a, a, x)
    return share


def factor_of(asked: Asking, n: int) -> float | None:
    """The factor k of a characteristic value of n values; None where the method has none or n is too small."""
    if n < max(least_number(asked), 1):
        return None
    method, known = asked.method, asked.known_cov is not None or asked.known_sd is not None
    if method == "en1990-known":
        return k_en1990_known(n=n)
    if method == "en1990-unknown":
        return k_en1990_unknown(n=n)
    if method in {"en14358-normal", "en14358-lognormal"}:
        return k_en14358(n=n, factors="exact")
    if method in {"weibull", "order-statistic"}:
        return None
    if method == "pooled":
        if not isinstance(asked, CharacteristicAtLeast) or asked.pooled is None or asked.pooled[2] < 1:
            return None
        content, confidence = _levels(asked)
        return k_pooled(n=n, degrees_of_freedom=asked.pooled[2], content=content, confidence=confidence)
    content, confidence = _levels(asked)
    k = k_known_sd if known else k_one_sided
    return k(n=n, content=content, confidence=confidence)


def _mean(criterion: MeanAtLeast, _: int, rounding: Rounding) -> Condition:
    return Spread(0.0, 1.0, 0.0, threshold(criterion.limit, rounding), MEAN)


def _smallest(criterion: SmallestAtLeast | HeldAt, n: int, rounding: Rounding) -> Condition:
    return Ranked(n, n, threshold(criterion.limit, rounding))


def _count(criterion: CountAtLeast, n: int, rounding: Rounding) -> Condition:
    best, worst = criterion.z - max(criterion.n - n, 0), criterion.z + max(n - criterion.n, 0)
    return Ranked(best, worst, threshold(criterion.limit, rounding))


def _share_of_pulls(criterion: ShareOfPulls, n: int, rounding: Rounding) -> Condition:
    z = criterion.z(n)
    return Ranked(z, z, threshold(criterion.limit, rounding))


def _less_sd(criterion: MeanLessSd, n: int, rounding: Rounding) -> Condition:
    k = criterion.factor(n)
    if k is None:
        return Unformed(Trouble.NO_FACTOR)
    return Spread(k, 1.0, 0.0, threshold(criterion.limit, rounding), SPREAD)


def _quality_index(criterion: QualityIndex, _: int, rounding: Rounding) -> Condition:
    limit = percent_threshold(criterion.index, rounding, at_most=False, places=criterion.places)
    return _on_quotient(limit.at, criterion.limit.mpa, Quotient(lambda q: q, limit))


def _share_below(criterion: ShareBelow, n: int, rounding: Rounding) -> Condition:
    limit = percent_threshold(criterion.percent, rounding, at_most=True, places=criterion.places)
    a = 0.5 * n - 1.0
    k = (0.5 - float(special.betaincinv(a, a, min(limit.at / 100.0, 1.0)))) * 2.0 * (n - 1) / math.sqrt(n)
    return _on_quotient(k, criterion.limit.mpa, Quotient(lambda q: share_below(q, n), limit))


def _cov(criterion: CovAtMost, _: int, rounding: Rounding) -> Condition:
    limit = percent_threshold(criterion.percent, rounding, at_most=True, places=criterion.places)

    def cov(q: Values) -> Values:
        return np.divide(100.0, q, out=np.full_like(q, np.inf), where=q > 0)

    return _on_quotient(100.0 / limit.at, 0.0, Quotient(cov, limit))


def _on_quotient(k: float, lower_mpa: float, quotient: Quotient) -> Spread:
    limit = Threshold(lower_mpa, lower_mpa, quotient.limit.closed, lower_mpa, quotient.limit.closed, False, 1.0, 0)
    return Spread(k, 1.0, 0.0, limit, SPREAD, quotient)


def _of_mean(criterion: SmallestOfMean, _: int, rounding: Rounding) -> Condition:
    limit = percent_threshold(criterion.percent, rounding, at_most=False, places=criterion.places)
    return OfMean(limit, MEAN)


def _characteristic(criterion: CharacteristicAtLeast, n: int, rounding: Rounding) -> Condition:
    limit = threshold(criterion.limit, rounding)
    if criterion.method == "order-statistic":
        content, confidence = _levels(criterion)
        rank = n + 1 - order_rank(n=n, content=content, confidence=confidence)
        return Ranked(rank, rank, limit)
    if criterion.method == "weibull":
        content, confidence = _levels(criterion)

        def bound(x: Values) -> Values:
            return tolerance_bound_weibull(x, content=content, confidence=confidence)

        return Fitted(bound, limit, SPREAD)
    if criterion.method == "pooled":
        return _pooled(criterion, n, limit)
    k = factor_of(criterion, n)
    assert k is not None  # condition looked at n
    if criterion.known_cov is not None:
        return Spread(0.0, 1.0 - k * criterion.known_cov, 0.0, limit, MEAN)
    if criterion.known_sd is not None:
        return Spread(0.0, 1.0, k * criterion.known_sd.mpa, limit, MEAN)
    if criterion.method == "lognormal":
        return Floored(k, 0.0, True, limit, SPREAD)
    if criterion.method in {"en14358-normal", "en14358-lognormal"}:
        return Floored(k, _EN14358_FLOOR, criterion.method == "en14358-lognormal", limit, SPREAD)
    return Spread(k, 1.0, 0.0, limit, SPREAD)


def _pooled(criterion: CharacteristicAtLeast, n: int, limit: Threshold) -> Condition:
    if criterion.pooled is None:  # decide puts it in; a zone on its own has nothing to pool
        return Unformed(Trouble.TOO_FEW)
    least, most, df = criterion.pooled
    if df < 1:
        return Unformed(Trouble.TOO_FEW)
    content, confidence = _levels(criterion)
    k = k_pooled(n=n, degrees_of_freedom=df, content=content, confidence=confidence)
    if least == most:
        return Spread(0.0, 1.0, k * least, limit, SPREAD)
    return BetweenSds(k, (least, most), limit, SPREAD)


_FORMS: dict[type, Callable[..., Condition]] = {
    MeanAtLeast: _mean,
    SmallestAtLeast: _smallest,
    HeldAt: _smallest,
    CountAtLeast: _count,
    ShareOfPulls: _share_of_pulls,
    MeanLessSd: _less_sd,
    QualityIndex: _quality_index,
    ShareBelow: _share_below,
    CovAtMost: _cov,
    SmallestOfMean: _of_mean,
    CharacteristicAtLeast: _characteristic,
}
