"""The three distributions that strengths are fitted with, each as location and scale of the values or their logarithms.

=============  ==============================  ========================================================
name           standard deviate                parameters
=============  ==============================  ========================================================
``normal``     z = (x - mu) / sigma            location mu = mean, scale sigma = sd
``lognormal``  z = (ln x - mu) / sigma         exp(mu) = median, sigma = sd of ln x
``weibull``    z = (ln x - mu) / sigma         exp(mu) = scale parameter, 1 / sigma = shape parameter
=============  ==============================  ========================================================

z is normal for the first two, and of the smallest extreme value for the third: P(Z > z) = exp(-exp(z)). Users call
``bounded`` and ``bounded_limits``; this module holds the formulas that both need.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack, row_sum
from adhesion_stats.statistics.checks import check_choice

__all__ = ["FAMILIES", "Columns", "Family", "columns", "deviate", "log_between", "log_density", "mean_of", "score"]

Values = NDArray[np.float64]
Family = Literal["normal", "lognormal", "weibull"]
FAMILIES: tuple[Family, ...] = ("normal", "lognormal", "weibull")

_LARGEST = 690.0  # exp of more overflows


def deviate(family: Family, probability: float) -> float:
    """The z with P(Z <= z) = probability [-]."""
    if family == "weibull":
        return math.log(-math.log1p(-probability))
    return float(special.ndtri(probability))


def mean_of(family: Family, location: Values, scale: Values) -> Values:
    """Mean of the distribution with the given location and scale, in the unit of the values."""
    if family == "normal":
        return location
    log_mean: Values = location + (0.5 * scale * scale if family == "lognormal" else special.gammaln(1.0 + scale))
    return np.exp(log_mean)


def log_density(family: Family, z: Values) -> Values:
    """Logarithm of the density of the standard deviate."""
    if family == "weibull":
        of_extreme: Values = z - np.exp(np.minimum(z, _LARGEST))
        return of_extreme
    of_normal: Values = -0.5 * z * z - 0.5 * math.log(2.0 * math.pi)
    return of_normal


def score(family: Family, z: Values) -> tuple[Values, Values]:
    """First and second derivative of ``log_density``."""
    if family == "weibull":
        e = np.exp(np.minimum(z, _LARGEST))
        return 1.0 - e, -e
    return -z, np.full_like(z, -1.0)


def log_between(family: Family, a: Values, b: Values) -> Values:
    """Logarithm of P(a < Z < b), a < b; either may be infinite; in the tail where it keeps its digits."""
    if family == "weibull":
        low, high = np.exp(np.minimum(a, _LARGEST)), np.exp(np.minimum(b, _LARGEST))
        of_extreme: Values = -low + np.log(-np.expm1(low - np.where(b > _LARGEST, np.inf, high)))
        return of_extreme
    upper = a > 0.0
    low, high = np.where(upper, -b, a), np.where(upper, -a, b)
    of_high: Values = special.log_ndtr(high)
    of_both: Values = of_high + np.log1p(-np.exp(special.log_ndtr(low) - of_high))
    return of_both


@dataclass(frozen=True, eq=False)
class Columns:
    """A stack parted into exact and bounded values, on the scale on which location and scale are measured.

    Attributes
    ----------
    exact : (g, n - r) float64
        Exact values (their logarithms), ascending.
    low, high : (g, r) float64
        Bounds of the others; -inf and inf where there is none.
    log_jacobian : (g,) float64
        What the logarithms take from the log-likelihood: sum of ln x over the exact values; 0 for ``normal``.
    """

    exact: Values
    low: Values
    high: Values
    log_jacobian: Values

    @property
    def from_below_only(self) -> bool:
        """Whether every bounded value is known from below only."""
        return bool(np.isposinf(self.high).all())


def columns(stack: Stack, *, family: Family) -> Columns:
    """Part a stack into exact and bounded values, taking logarithms where the family asks for them.

    Raises
    ------
    InvalidSample
        If the family is none, or it takes logarithms and an exact value or an upper bound is not above zero.
    """
    check_choice("family", family, among=FAMILIES)
    g, n, r = stack.g, stack.n, stack.r
    exact = stack.exact_values
    if r == 0:
        low = high = np.empty((g, 0))
    else:
        bounded = ~stack.exact
        low, high = stack.low[bounded].reshape(g, r), stack.high[bounded].reshape(g, r)
    if family == "normal":
        return Columns(np.ascontiguousarray(exact), low, high, np.zeros(g))
    wrong = (exact <= 0.0).any(axis=-1) | (high <= 0.0).any(axis=-1)
    if bool(wrong.any()):
        raise InvalidSample(
            f"a {family} fit needs values above zero; {int(wrong.sum())} of {g} samples have others, the first in "
            f"group {int(stack.group[int(np.argmax(wrong))])}"
        )
    logs = np.log(exact)
    with np.errstate(divide="ignore"):
        # A lower bound of zero says nothing about a positive value.
        below = np.log(np.maximum(low, 0.0))
    total = row_sum(logs) if n > r else np.zeros(g)
    return Columns(logs, below, np.log(high), total)
