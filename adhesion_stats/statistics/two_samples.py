"""Comparison of two means, and of one standard deviation with a stated one.

When to use which
-----------------
``t_test``           two normal samples: pooled spread, or Welch's test without equal spreads.
``sd_test``          is the standard deviation another than a stated one?

``resampling`` has the exact permutation test.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive, check_sample
from adhesion_stats.statistics.describe import mean_and_sd

__all__ = ["SdTest", "TTest", "sd_test", "t_test"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class TTest:
    """Comparison of two means, g pairs of samples; arrays of shape (g,).

    Attributes
    ----------
    difference : (g,) float64
        Mean of the first less mean of the second, in the unit of the values.
    statistic, degrees_of_freedom, p_value : (g,) float64
        t, its degrees of freedom (not whole for Welch's test) and the two-sided p-value [-].
    low, high : (g,) float64
        Confidence interval of the difference, in the unit of the values.
    """

    difference: Values
    statistic: Values
    degrees_of_freedom: Values
    p_value: Values
    low: Values
    high: Values


def t_test(a: Values, b: Values, *, spreads: Literal["equal", "unequal"], confidence: float) -> TTest:
    r"""Student's (equal spreads) or Welch's t test of two means.

    Parameters
    ----------
    a, b : (g, n_1), (g, n_2) float64, ascending along the last axis, n >= 2 each
        Samples, row by row, any unit.
    spreads : {"equal", "unequal"}
        Pool both standard deviations, or not (Welch).
    confidence : float
        Confidence level of the interval [-], strictly between 0 and 1.

    Returns
    -------
    TTest

    Raises
    ------
    InvalidSample
        If a sample has fewer than two values, the numbers of rows differ, both samples of a row have no spread, or the
        level is none.

    Notes
    -----
    .. math::  t = \frac{\bar a - \bar b}{\sqrt{s_a^2/n_1 + s_b^2/n_2}}, \qquad
               \nu = \frac{(s_a^2/n_1 + s_b^2/n_2)^2}{s_a^4/(n_1^2 (n_1-1)) + s_b^4/(n_2^2 (n_2-1))}

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 (two-sample t-test for equal means).

    Examples
    --------
    >>> a, b = np.array([[1.0, 2.0, 3.0]]), np.array([[2.0, 3.0, 4.0, 5.0]])
    >>> found = t_test(a, b, spreads="equal", confidence=0.95)
    >>> (float(found.statistic[0]), float(found.degrees_of_freedom[0]))
    (-1.65985, 5.0)
    """
    check_choice("spreads", spreads, among=("equal", "unequal"))
    n, m = check_sample(a, at_least=2), check_sample(b, at_least=2)
    level = check_level("confidence", confidence)
    if a.shape[0] != b.shape[0]:
        raise InvalidSample(f"expected as many rows in both; got {a.shape[0]} and {b.shape[0]}")
    mean_a, sd_a = mean_and_sd(a)
    mean_b, sd_b = mean_and_sd(b)
    flat = (sd_a == 0.0) & (sd_b == 0.0)
    if bool(flat.any()):
        raise InvalidSample(f"expected spread in one sample at least; row {int(np.argmax(flat))} has none")
    if spreads == "equal":
        df = np.full(mean_a.shape, float(n + m - 2))
        pooled = ((n - 1) * sd_a * sd_a + (m - 1) * sd_b * sd_b) / (n + m - 2)
        error = np.sqrt(pooled * (1.0 / n + 1.0 / m))
    else:
        of_a, of_b = sd_a * sd_a / n, sd_b * sd_b / m
        df = (of_a + of_b) ** 2 / (of_a * of_a / (n - 1) + of_b * of_b / (m - 1))
        error = np.sqrt(of_a + of_b)
    difference = mean_a - mean_b
    t = difference / error
    half = -special.stdtrit(df, 0.5 * (1.0 - level)) * error
    return TTest(difference, t, df, 2.0 * special.stdtr(df, -np.abs(t)), difference - half, difference + half)


@dataclass(frozen=True, eq=False)
class SdTest:
    """Comparison of a standard deviation with a stated one; arrays of shape (g,).

    Attributes
    ----------
    statistic : (g,) float64
        (n - 1) s^2 / sigma_0^2 [-].
    p_lower, p_upper : (g,) float64
        One-sided p-values: s as small, s as large [-].
    critical_low, critical_high : float
        Points of chi-square with half of 1 - confidence beyond each [-].
    """

    statistic: Values
    p_lower: Values
    p_upper: Values
    critical_low: float
    critical_high: float


def sd_test(x: Values, *, sd: float, confidence: float) -> SdTest:
    r"""Chi-square test of a standard deviation against a stated one.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    sd : float
        Standard deviation to compare with, in the unit of the values, above 0.
    confidence : float
        Confidence level of the two critical points [-], strictly between 0 and 1.

    Returns
    -------
    SdTest

    Raises
    ------
    InvalidSample
        If n < 2, sd is not above zero or the level is none.

    Notes
    -----
    .. math::  \chi^2 = (n-1)\, s^2/\sigma_0^2

    Depends on normality much more than a test of means. Source: NIST/SEMATECH e-Handbook of Statistical Methods,
    1.3.5.8.

    Examples
    --------
    >>> found = sd_test(np.array([[2.0, 3.0, 4.0]]), sd=1.0, confidence=0.95)
    >>> (float(found.statistic[0]), found.critical_high)
    (2.0, 7.3778)
    """
    n = check_sample(x, at_least=2)
    stated = check_positive("sd", sd, zero_allowed=False)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    _, found = mean_and_sd(x)
    half_df = 0.5 * (n - 1)
    statistic = (n - 1) * (found / stated) ** 2
    p_lower = np.asarray(special.gammainc(half_df, 0.5 * statistic), dtype=np.float64)
    p_upper = np.asarray(special.gammaincc(half_df, 0.5 * statistic), dtype=np.float64)
    return SdTest(
        statistic,
        p_lower,
        p_upper,
        2.0 * float(special.gammaincinv(half_df, tail)),
        2.0 * float(special.gammainccinv(half_df, tail)),
    )
