"""Distributions of one value in units of its mean: normal, lognormal, Weibull, by coefficient of variation.

Every value is written through a standard normal score: ``value_at(z)`` is the value that lies below with the
probability Phi(z). Integrals over any of the three are then integrals over a normal density.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.checks import check_choice, check_positive
from adhesion_stats.statistics.populations import weibull_shape

__all__ = ["MOST_COV", "SCORES", "Distribution", "Ratio"]

Values = NDArray[np.float64]
Distribution = Literal["normal", "lognormal", "weibull"]

SCORES = 8.0
"""Normal scores beyond which there is less than 1e-15."""

MOST_COV = 2.0
"""Largest coefficient of variation that is taken [-]."""


@dataclass(frozen=True)
class Ratio:
    """A value divided by its mean.

    Attributes
    ----------
    distribution : {"normal", "lognormal", "weibull"}
    cov : float
        Coefficient of variation [-], above 0 and at most 2.

    Raises
    ------
    InvalidSample
        For another distribution or a coefficient out of range.

    Examples
    --------
    A lognormal value lies below its mean more often than not.

    >>> float(Ratio("lognormal", 0.25).share_below(np.array([1.0]))[0])
    0.5490
    """

    distribution: Distribution
    cov: float

    def __post_init__(self) -> None:
        """Refuse what is no distribution."""
        check_choice("distribution", self.distribution, among=get_args(Distribution))
        check_positive("cov", self.cov, zero_allowed=False)
        if self.cov > MOST_COV:
            check_choice("cov", f"{self.cov!r}", among=(f"at most {MOST_COV}",))

    @property
    def _sigma(self) -> float:
        return math.sqrt(math.log1p(self.cov * self.cov))

    @property
    def _weibull(self) -> tuple[float, float]:
        k = weibull_shape(cov=self.cov)
        return k, 1.0 / math.gamma(1.0 + 1.0 / k)

    def score(self, ratio: Values) -> Values:
        """Normal score z of a ratio, cut at ``SCORES`` either way; any shape, infinite ratios too."""
        ratio = np.asarray(ratio, dtype=np.float64)
        if self.distribution == "normal":
            return np.clip((ratio - 1.0) / self.cov, -SCORES, SCORES)
        positive = np.maximum(ratio, 1e-300)
        if self.distribution == "lognormal":
            return np.clip(np.log(positive) / self._sigma + 0.5 * self._sigma, -SCORES, SCORES)
        k, scale = self._weibull
        with np.errstate(over="ignore"):
            hazard = (positive / scale) ** k
        below = special.ndtri(-np.expm1(-hazard))
        above = -special.ndtri(np.exp(-hazard))
        return np.clip(np.where(hazard < 0.5, below, above), -SCORES, SCORES)

    def value_at(self, score: Values) -> Values:
        """The ratio that lies below with the probability Phi(score); any shape."""
        if self.distribution == "normal":
            return np.asarray(1.0 + self.cov * score)
        if self.distribution == "lognormal":
            return np.asarray(np.exp(self._sigma * score - 0.5 * self._sigma**2))
        k, scale = self._weibull
        return np.asarray(scale * (-special.log_ndtr(-score)) ** (1.0 / k))

    def share_below(self, ratio: Values) -> Values:
        """P(value / mean <= ratio) [-]; any shape."""
        score = self.score(ratio)
        return np.where(score <= -SCORES, 0.0, np.where(score >= SCORES, 1.0, special.ndtr(score)))

    def draw(self, *, g: int, n: int, rng: np.random.Generator) -> Values:
        """(g, n) float64: g samples of n ratios, in the order in which they were drawn."""
        return self.value_at(rng.standard_normal((g, n)))
