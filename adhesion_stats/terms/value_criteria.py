"""Further kinds of criterion on the values of a zone: spread, shares of the mean, shares of the pulls, proof loads.

Imports: terms.criterion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from adhesion_stats.terms.criterion import Asked, CriterionBase, Limit, OfStrengths

__all__ = ["CovAtMost", "HeldAt", "MeanLessSd", "QualityIndex", "ShareBelow", "ShareOfPulls", "SmallestOfMean"]


@dataclass(frozen=True, slots=True)
class MeanLessSd(OfStrengths):
    """Mean - k sd is at or above the limit; ``k`` for every n, or ``k_by_n`` for the numbers of pulls it lists."""

    kind = "mean less sd"
    said = "less_sd"

    k: float | None = None
    k_by_n: tuple[tuple[int, float], ...] = ()

    def factor(self, n: int) -> float | None:
        """The factor for n values; None where the contract's table has none."""
        return self.k if self.k is not None else dict(self.k_by_n).get(n)


@dataclass(frozen=True, slots=True)
class _ByVariables(CriterionBase):
    """Acceptance by variables with one lower limit, standard deviation unknown."""

    question: str
    limit: Limit

    @property
    def strength_limit(self) -> Limit | None:
        """The lower limit of a single value."""
        return self.limit


@dataclass(frozen=True, slots=True)
class QualityIndex(_ByVariables):
    """The quality index (mean - lower limit) / sd is at or above ``index`` [-] (k form)."""

    kind = "quality index"
    said = "index"

    index: float
    places: int

    @property
    def asked(self) -> Asked:
        """The least index."""
        return Asked(self.index, "", self.places)


@dataclass(frozen=True, slots=True)
class ShareBelow(_ByVariables):
    """The estimated share of the population below the lower limit is at most ``percent`` (M form)."""

    kind = "share below"
    said = "below"

    percent: float
    places: int

    @property
    def asked(self) -> Asked:
        """The largest share [%]."""
        return Asked(self.percent, "%", self.places, at_most=True)


@dataclass(frozen=True, slots=True)
class CovAtMost(CriterionBase):
    """The coefficient of variation sd / mean is at most ``percent``."""

    kind = "cov"
    said = "cov"

    question: str
    percent: float
    places: int

    @property
    def asked(self) -> Asked:
        """The largest coefficient of variation [%]."""
        return Asked(self.percent, "%", self.places, at_most=True)


@dataclass(frozen=True, slots=True)
class SmallestOfMean(CriterionBase):
    """The smallest value is at least ``percent`` of the mean of the zone's values."""

    kind = "smallest of mean"
    said = "of_mean"

    question: str
    percent: float
    places: int

    @property
    def asked(self) -> Asked:
        """The least share of the mean [%]."""
        return Asked(self.percent, "%", self.places)


@dataclass(frozen=True, slots=True)
class ShareOfPulls(OfStrengths):
    """At least the share ``percent`` of the zone's values, however many they are, is at or above the limit."""

    kind = "share of pulls"
    said = "part"

    percent: Decimal

    def z(self, n: int) -> int:
        """How many of n values that is: the share as a decimal, times n, rounded up to a whole pull."""
        return math.ceil(self.percent * n / 100)


@dataclass(frozen=True, slots=True)
class HeldAt(OfStrengths):
    """Every pull held the proof stress: none let go below it. A pull that let go exactly at it has held it."""

    kind = "held"
    said = "held"
