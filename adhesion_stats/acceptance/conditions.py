"""What each kind of strength criterion asks of n values, reduced to two forms.

``Ranked``  the value of some rank, counted from the largest, is at or above a threshold:
            smallest (rank n), at least z of n (rank z)
``Spread``  scale * mean - k * sd - shift is at or above a threshold:
            mean (k = 0), characteristic value with unknown sd (k), known sd (shift), known coefficient of variation
            (scale)

A z-of-n criterion plans n values. Where more are usable, it conforms only if every choice of n of them meets and
fails only if none does: the best choice takes the largest ones, the worst the smallest, so the rank that must meet
runs from z to z + N - n. Where fewer are there, the missing ones may do either: the rank runs from z - (n - N) to z.

Factors: k of the one-sided tolerance bound (ISO 16269-6; NBS Handbook 91, table A-7), or k_n of EN 1990:2002, Annex
D, D7.2, by formula; looked up once per n.

Imports: this room's limits, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

from adhesion_stats.acceptance.limits import ENTERED, MEAN, SPREAD, Threshold, threshold
from adhesion_stats.statistics.characteristic import k_one_sided
from adhesion_stats.statistics.en1990 import k_en1990_known, k_en1990_unknown
from adhesion_stats.terms.criteria import (
    CharacteristicAtLeast,
    CountAtLeast,
    MeanAtLeast,
    SmallestAtLeast,
    StrengthCriterion,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["ByFailure", "Condition", "Ranked", "Spread", "Trouble", "Unformed", "condition"]


class Trouble(IntEnum):
    """Why a value can't be formed."""

    NO_VALUES = 1
    ONE_VALUE = 2


@dataclass(frozen=True, slots=True)
class Unformed:
    """A criterion whose value can't be formed from so few values."""

    trouble: Trouble


@dataclass(frozen=True, slots=True)
class Ranked:
    """The value of rank ``best`` (``worst``), counted from the largest, decides whether the criterion can (must) be
    met.

    ``best`` below 1: the missing values alone could meet it.
    """

    best: int
    worst: int
    limit: Threshold
    tolerance: float = ENTERED


@dataclass(frozen=True, slots=True)
class Spread:
    """``scale * mean - k * sd - shift_mpa`` at or above the limit."""

    k: float
    scale: float
    shift_mpa: float
    limit: Threshold
    tolerance: float

    @property
    def own_k(self) -> float:
        """Factor of the equivalent condition mean - own_k * sd >= own_at."""
        return self.k / self.scale

    @property
    def own_at(self) -> float:
        """Threshold [MPa] of the equivalent condition mean - own_k * sd >= own_at."""
        return (self.limit.at * self.limit.unit_mpa + self.shift_mpa) / self.scale

    def never_falls(self, n: int) -> bool:
        """Whether the value never falls as one of the n values grows."""
        return self.scale > 0 and abs(self.own_k) * math.sqrt(n) <= 1.0

    def falls(self, n: int) -> bool:
        """Whether the value is concave in the values and can fall as one of them grows."""
        return self.scale > 0 and self.own_k * math.sqrt(n) > 1.0


@dataclass(frozen=True, slots=True)
class ByFailure:
    """A criterion that is decided pull by pull or over a part of the pulls, by what broke (see ``by_failure``)."""

    limit: Threshold


Condition = Ranked | Spread | Unformed


def condition(criterion: StrengthCriterion, n: int, rounding: Rounding) -> Condition:
    """Return what ``criterion`` asks of n values."""
    if n == 0:
        return Unformed(Trouble.NO_VALUES)
    form: Callable[..., Condition] = _FORMS[type(criterion)]
    return form(criterion, n, rounding)


def _mean(criterion: MeanAtLeast, _: int, rounding: Rounding) -> Condition:
    return Spread(0.0, 1.0, 0.0, threshold(criterion.limit, rounding), MEAN)


def _smallest(criterion: SmallestAtLeast, n: int, rounding: Rounding) -> Condition:
    return Ranked(n, n, threshold(criterion.limit, rounding))


def _count(criterion: CountAtLeast, n: int, rounding: Rounding) -> Condition:
    best, worst = criterion.z - max(criterion.n - n, 0), criterion.z + max(n - criterion.n, 0)
    return Ranked(best, worst, threshold(criterion.limit, rounding))


def _characteristic(criterion: CharacteristicAtLeast, n: int, rounding: Rounding) -> Condition:
    limit = threshold(criterion.limit, rounding)
    if criterion.method == "en1990-known":
        k = k_en1990_known(n=n)
        if criterion.known_cov is not None:
            return Spread(0.0, 1.0 - k * criterion.known_cov, 0.0, limit, MEAN)
        assert criterion.known_sd is not None  # terms.parse takes exactly one of the two
        return Spread(0.0, 1.0, k * criterion.known_sd.mpa, limit, MEAN)
    if n == 1:
        return Unformed(Trouble.ONE_VALUE)
    if criterion.method == "en1990-unknown":
        return Spread(k_en1990_unknown(n=n), 1.0, 0.0, limit, SPREAD)
    assert criterion.content is not None  # terms.parse asks for both with method "tolerance"
    assert criterion.confidence is not None
    return Spread(k_one_sided(n=n, content=criterion.content, confidence=criterion.confidence), 1.0, 0.0, limit, SPREAD)


_FORMS: dict[type, Callable[..., Condition]] = {
    MeanAtLeast: _mean,
    SmallestAtLeast: _smallest,
    CountAtLeast: _count,
    CharacteristicAtLeast: _characteristic,
}
