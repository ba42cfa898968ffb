"""Which distribution? What the likelihood says of normal, lognormal and Weibull, how little few values can tell, and
how much the choice moves the bound.

When to use which
-----------------
``compare_families``   log-likelihoods and weights of the three, values exact or bounded.
``bounds_by_family``   the same tolerance bound under each of the three: the price of the choice.
``NORMALITY_POWER``    how often the Shapiro-Wilk test at 5 % sees a population that is not normal.

At n = 5 the test sees a lognormal population of 25 % variation in one sample of seventeen; of normal ones it flags one
in twenty. Not seeing a departure at such n is no reason to assume normality: the choice has to come from elsewhere
(the contract, the method, many earlier results).

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack, row_sum
from adhesion_stats.statistics.bounded import fit_bounded
from adhesion_stats.statistics.characteristic import tolerance_bound_lower
from adhesion_stats.statistics.families import FAMILIES, Family
from adhesion_stats.statistics.tolerance import tolerance_bound_lognormal
from adhesion_stats.statistics.weibull import tolerance_bound_weibull

__all__ = [
    "NORMALITY_POWER",
    "NORMALITY_POWER_SAMPLES",
    "FamilyComparison",
    "PowerPopulation",
    "bounds_by_family",
    "compare_families",
    "normality_power",
]

Values = NDArray[np.float64]
PowerPopulation = Literal["normal", "lognormal, CoV 25 %", "Weibull, shape 4", "15 % weak patches"]

NORMALITY_POWER_SAMPLES = 200_000
NORMALITY_POWER: dict[PowerPopulation, tuple[tuple[int, float], ...]] = {
    "normal": ((3, 0.051), (5, 0.049), (8, 0.051), (10, 0.049), (15, 0.05), (20, 0.05), (30, 0.049)),
    "lognormal, CoV 25 %": ((3, 0.053), (5, 0.06), (8, 0.085), (10, 0.097), (15, 0.14), (20, 0.183), (30, 0.268)),
    "Weibull, shape 4": ((3, 0.05), (5, 0.046), (8, 0.047), (10, 0.045), (15, 0.043), (20, 0.043), (30, 0.043)),
    "15 % weak patches": ((3, 0.055), (5, 0.083), (8, 0.142), (10, 0.176), (15, 0.271), (20, 0.367), (30, 0.539)),
}
"""Share of samples that the Shapiro-Wilk test flags at 5 %, by n; simulated (200,000 samples each, seeded; standard
error below 0.0012). Weak patches: 15 % of the values have half the mean and the same standard deviation, 15 % of the
mean."""


def normality_power(*, n: int, population: PowerPopulation) -> float:
    """How often the Shapiro-Wilk test at 5 % flags samples of n from a stated population.

    Parameters
    ----------
    n : int
        Values per sample [-]: 3, 5, 8, 10, 15, 20 or 30.
    population : str
        A key of ``NORMALITY_POWER``.

    Returns
    -------
    float
        Share flagged [-].

    Raises
    ------
    InvalidSample
        If the table has no such cell. Nothing is interpolated.

    Notes
    -----
    Source: simulation, see ``NORMALITY_POWER``.

    Examples
    --------
    >>> normality_power(n=5, population="lognormal, CoV 25 %") < 0.10
    True
    """
    if population not in NORMALITY_POWER:
        raise InvalidSample(f"expected one of {', '.join(NORMALITY_POWER)}; got {population!r}")
    cells = dict(NORMALITY_POWER[population])
    if n not in cells:
        raise InvalidSample(f"simulated for n = {', '.join(str(size) for size in cells)}; got n = {n}")
    return cells[n]


@dataclass(frozen=True, eq=False)
class FamilyComparison:
    """Log-likelihoods of normal, lognormal and Weibull, in this order.

    Attributes
    ----------
    n, r : int
        Values per sample, and how many of them are bounded [-].
    log_likelihood : (g, 3) float64
        Highest log-likelihood of each.
    """

    n: int
    r: int
    log_likelihood: Values

    @property
    def weight(self) -> Values:
        """(g, 3): likelihood of each over the sum of the three [-]. All have two parameters: so do Akaike's weights."""
        relative = np.exp(self.log_likelihood - self.log_likelihood.max(axis=-1, keepdims=True))
        share: Values = relative / row_sum(relative)[:, np.newaxis]
        return share

    @property
    def best(self) -> NDArray[np.int64]:
        """(g,): which of ``FAMILIES`` has the highest likelihood."""
        first: NDArray[np.int64] = np.argmax(self.log_likelihood, axis=-1)
        return first


def compare_families(stack: Stack) -> FamilyComparison:
    """Log-likelihoods of normal, lognormal and Weibull fits.

    Parameters
    ----------
    stack : Stack
        Samples of equal (n, r), values above zero, any unit, exact or within bounds; two distinct exact values each.

    Returns
    -------
    FamilyComparison

    Raises
    ------
    InvalidSample
        If a sample can't be fitted or has values not above zero.

    Notes
    -----
    Differences below about 2 say nothing. Source: Akaike, IEEE Transactions on Automatic Control 19 (1974) 716-723.

    Examples
    --------
    Twenty-three ball bearings (Lieblein & Zelen 1956): -113.129 (lognormal), -113.692 (Weibull).

    >>> from adhesion_stats.statistics.blocks import stacks
    >>> turns = np.array([17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.40, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64,
    ...                   68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40])
    >>> stack, = stacks(np.zeros(23, dtype=int), turns, turns)
    >>> [float(v) for v in compare_families(stack).log_likelihood[0, 1:]]
    [-113.128554, -113.691959]
    """
    fits = [fit_bounded(stack, family=family).log_likelihood for family in FAMILIES]
    return FamilyComparison(stack.n, stack.r, np.stack(fits, axis=-1))


def bounds_by_family(x: Values, *, content: float, confidence: float) -> dict[Family, Values]:
    """The lower tolerance bound under each of the three distributions.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values above zero, any unit.
    content, confidence : float
        Share above the bound and confidence level [-], strictly between 0 and 1.

    Returns
    -------
    dict of (g,) float64
        Bound by distribution, in the unit of the values.

    Raises
    ------
    InvalidSample
        As the three functions.

    Notes
    -----
    Sources: ``tolerance_bound_lower``, ``tolerance_bound_lognormal``, ``tolerance_bound_weibull``.

    Examples
    --------
    Ten values: the choice moves the bound by a tenth, more than any test on ten values can justify.

    >>> x = np.array([[2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5, 3.6]])
    >>> [round(float(bound[0]), 2) for bound in bounds_by_family(x, content=0.95, confidence=0.95).values()]
    [2.27, 2.37, 2.09]
    """
    return {
        "normal": tolerance_bound_lower(x, content=content, confidence=confidence),
        "lognormal": tolerance_bound_lognormal(x, content=content, confidence=confidence),
        "weibull": tolerance_bound_weibull(x, content=content, confidence=confidence),
    }
