"""Comparison of two means, and of one standard deviation with a stated one.

When to use which
-----------------
``t_test``           two normal samples: pooled spread, or Welch's test without equal spreads.
``sd_test``          is the standard deviation another than a stated one?

``resampling`` has the exact permutation test. Only exact values may be passed: a value known within bounds has no
deviation from a mean; ``kaplan_meier`` has the log-rank test for such.

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
from adhesion_stats.statistics.within_step import corners, largest_squares, least_squares

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
        t, its degrees of freedom (not whole for Welch's test) and the two-sided p-value, from the values as recorded
        [-].
    p_largest : (g,) float64
        Upper end of the p-values of all values that would have been recorded alike [-].
    low, high : (g,) float64
        Confidence interval of the difference, in the unit of the values.
    """

    difference: Values
    statistic: Values
    degrees_of_freedom: Values
    p_value: Values
    p_largest: Values
    low: Values
    high: Values


def t_test(
    a: Values, b: Values, *, spreads: Literal["equal", "unequal"], confidence: float, recording_step: float
) -> TTest:
    r"""Student's (equal spreads) or Welch's t test of two means.

    Parameters
    ----------
    a, b : (g, n_1), (g, n_2) float64, ascending along the last axis, n >= 2 each
        Samples of exact values, row by row, any unit.
    spreads : {"equal", "unequal"}
        Pool both standard deviations, or not (Welch).
    confidence : float
        Confidence level of the interval [-], strictly between 0 and 1.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    TTest

    Raises
    ------
    InvalidSample
        If a sample has fewer than two values, the numbers of rows differ, both samples of a row have no spread, a value
        is not exact, the step is negative or the level is none.

    Notes
    -----
    .. math::  t = \frac{\bar a - \bar b}{\sqrt{s_a^2/n_1 + s_b^2/n_2}}, \qquad
               \nu = \frac{(s_a^2/n_1 + s_b^2/n_2)^2}{s_a^4/(n_1^2 (n_1-1)) + s_b^4/(n_2^2 (n_2-1))}

    With a recording step, |t| is taken where it is least over all true values: a norm over a linear term, hence at a
    corner, in each sample the lowest j values half a step one way and the others the other way; Welch's degrees of
    freedom at the end of the ratio of both spreads where they are fewest.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 (two-sample t-test for equal means); the treatment
    of the recording step is this project's own.

    Examples
    --------
    >>> a, b = np.array([[1.0, 2.0, 3.0]]), np.array([[2.0, 3.0, 4.0, 5.0]])
    >>> found = t_test(a, b, spreads="equal", confidence=0.95, recording_step=0.0)
    >>> (float(found.statistic[0]), float(found.degrees_of_freedom[0]))
    (-1.65985, 5.0)
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
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
    p = 2.0 * special.stdtr(df, -np.abs(t))
    most = p
    if step > 0.0:
        equal = spreads == "equal"
        least = _least_t(a, b, difference, step, equal=equal)
        most = np.maximum(p, 2.0 * special.stdtr(df if equal else _fewest_df(a, b, step), -least))
    return TTest(difference, t, df, p, most, difference - half, difference + half)


def _least_t(a: Values, b: Values, difference: Values, step: float, *, equal: bool) -> Values:
    """Smallest |t| with true values within half a step of the recorded ones."""
    n, m = a.shape[1], b.shape[1]
    of_a, of_b = (1.0 / n + 1.0 / m) / (n + m - 2), (1.0 / n + 1.0 / m) / (n + m - 2)
    if not equal:
        of_a, of_b = 1.0 / (n * (n - 1.0)), 1.0 / (m * (m - 1.0))
    sign = np.where(difference < 0.0, -1.0, 1.0)
    (shift_a, squares_a), (shift_b, squares_b) = corners(a, step), corners(b, step)
    least = np.full(a.shape[0], np.inf)
    for j in range(n + 1):
        apart = np.abs(difference)[:, np.newaxis] + sign[:, np.newaxis] * (shift_a[:, j, np.newaxis] - shift_b)
        error = np.sqrt(of_a * squares_a[:, j, np.newaxis] + of_b * squares_b)
        t = np.divide(np.maximum(apart, 0.0), error, out=np.zeros_like(error), where=error > 0.0)
        least = np.minimum(least, t.min(axis=-1))
    return least


def _fewest_df(a: Values, b: Values, step: float) -> Values:
    """Fewest degrees of freedom of Welch's test over all true values: at an end of the ratio of both variances."""
    n, m = a.shape[1], b.shape[1]
    low_a, high_a = least_squares(a, step) / (n * (n - 1.0)), largest_squares(a, step) / (n * (n - 1.0))
    low_b, high_b = least_squares(b, step) / (m * (m - 1.0)), largest_squares(b, step) / (m * (m - 1.0))

    def df(of_a: Values, of_b: Values) -> Values:
        found: Values = (of_a + of_b) ** 2 / (of_a * of_a / (n - 1) + of_b * of_b / (m - 1))
        return found

    return np.minimum(df(low_a, high_b), df(high_a, low_b))


@dataclass(frozen=True, eq=False)
class SdTest:
    """Comparison of a standard deviation with a stated one; arrays of shape (g,).

    Attributes
    ----------
    statistic : (g,) float64
        (n - 1) s^2 / sigma_0^2 [-].
    p_lower, p_upper : (g,) float64
        One-sided p-values of the values as recorded: s as small, s as large [-].
    p_lower_largest, p_upper_largest : (g,) float64
        The largest of each over all values that would have been recorded alike [-].
    critical_low, critical_high : float
        Points of chi-square with half of 1 - confidence beyond each [-].
    """

    statistic: Values
    p_lower: Values
    p_upper: Values
    p_lower_largest: Values
    p_upper_largest: Values
    critical_low: float
    critical_high: float


def sd_test(x: Values, *, sd: float, confidence: float, recording_step: float) -> SdTest:
    r"""Chi-square test of a standard deviation against a stated one.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Exact values of a normal sample, any unit.
    sd : float
        Standard deviation to compare with, in the unit of the values, above 0.
    confidence : float
        Confidence level of the two critical points [-], strictly between 0 and 1.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    SdTest

    Raises
    ------
    InvalidSample
        If n < 2, sd is not above zero, a value is not exact, the step is negative or the level is none.

    Notes
    -----
    .. math::  \chi^2 = (n-1)\, s^2/\sigma_0^2

    Depends on normality much more than a test of means. With a recording step, the p-values are those of the largest
    and of the least standard deviation of all true values, both exact.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8; the treatment of the recording step is this
    project's own.

    Examples
    --------
    >>> found = sd_test(np.array([[2.0, 3.0, 4.0]]), sd=1.0, confidence=0.95, recording_step=0.0)
    >>> (float(found.statistic[0]), found.critical_high)
    (2.0, 7.3778)
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    n = check_sample(x, at_least=2)
    stated = check_positive("sd", sd, zero_allowed=False)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    _, found = mean_and_sd(x)
    half_df = 0.5 * (n - 1)
    statistic = (n - 1) * (found / stated) ** 2
    p_lower, p_upper = _chi_square(statistic, half_df)
    lower_most, upper_most = p_lower, p_upper
    if step > 0.0:
        lower_most = np.maximum(p_lower, _chi_square(largest_squares(x, step) / stated**2, half_df)[0])
        upper_most = np.maximum(p_upper, _chi_square(least_squares(x, step) / stated**2, half_df)[1])
    return SdTest(
        statistic,
        p_lower,
        p_upper,
        lower_most,
        upper_most,
        2.0 * float(special.gammaincinv(half_df, tail)),
        2.0 * float(special.gammainccinv(half_df, tail)),
    )


def _chi_square(statistic: Values, half_df: float) -> tuple[Values, Values]:
    """Probability below and above."""
    at = 0.5 * statistic
    return (
        np.asarray(special.gammainc(half_df, at), dtype=np.float64),
        np.asarray(special.gammaincc(half_df, at), dtype=np.float64),
    )
