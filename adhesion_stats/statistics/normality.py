"""Tests of normality: Shapiro-Wilk and Anderson-Darling, for whole blocks.

What they can tell is little where n is small: see ``which_distribution``. A large p-value says that the sample does not
contradict a normal population, not that there is one.

When to use which
-----------------
``shapiro_wilk``       W and p-value; the more powerful for most alternatives.
``anderson_darling``   A^2 and p-value; heavier on the tails.

Values recorded in coarse steps make ties, which both take for a departure. Both therefore take the recording step and
say beside the p-value of the values as recorded how large it could be for the values behind them. Only exact values may
be passed: a value known within bounds has no place in the order of the others.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.within_step import farthest_cosine, least_by_shape

__all__ = ["NormalityTest", "anderson_darling", "shapiro_wilk"]

Values = NDArray[np.float64]

# Royston 1995 (algorithm AS R94): polynomials in 1/sqrt(n) for the two outermost coefficients, in n (to 11) and ln n
# (from 12) for mean and log sd of the transformed statistic.
_OUTER = (0.0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056)
_SECOND = (0.0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633)
_SMALL_SHIFT = (-2.273, 0.459)
_SMALL_MEAN = (0.5440, -0.39978, 0.025054, -0.0006714)
_SMALL_LOG_SD = (1.3822, -0.77857, 0.062767, -0.0020322)
_LARGE_MEAN = (-1.5861, -0.31082, -0.083751, 0.0038915)
_LARGE_LOG_SD = (-0.4803, -0.082676, 0.0030302)
_LARGEST = 5000

# D'Agostino & Stephens 1986, table 4.9: upper end of A*, and coefficients of the exponent; below 0.34 it is 1 - p.
_STEPHENS = (
    (0.200, -13.436, 101.14, -223.73),
    (0.340, -8.318, 42.796, -59.938),
    (0.600, 0.9177, -4.279, -1.38),
    (math.inf, 1.2937, -5.709, 0.0186),
)


@dataclass(frozen=True, eq=False)
class NormalityTest:
    """Result for g samples of n values each; arrays of shape (g,).

    Attributes
    ----------
    n : int
        Values per sample [-].
    statistic : (g,) float64
        W (1 fits best) or A^2 (0 fits best) [-].
    p_value : (g,) float64
        Probability of a worse fit where the population is normal, from the values as recorded [-].
    p_largest : (g,) float64
        Upper end of the p-values of all samples that would have been recorded alike [-]: only where this is small do
        the values contradict a normal population whatever they were within the recording step.
    """

    n: int
    statistic: Values
    p_value: Values
    p_largest: Values


@lru_cache(maxsize=4096)
def _coefficients(n: int) -> Values:
    """Coefficients of the ordered values, all n of them, antisymmetric, of unit length."""
    if n == 3:
        half = np.array([math.sqrt(0.5)])
    else:
        m = special.ndtri((np.arange(1, n + 1) - 0.375) / (n + 0.25))
        squares = float(m @ m)
        root, u = math.sqrt(squares), 1.0 / math.sqrt(n)
        outer = float(polynomial.polyval(u, _OUTER)) - m[0] / root
        half = -m[: n // 2].copy()
        if n > 5:
            second = float(polynomial.polyval(u, _SECOND)) - m[1] / root
            rest = (squares - 2.0 * m[0] ** 2 - 2.0 * m[1] ** 2) / (1.0 - 2.0 * outer**2 - 2.0 * second**2)
            half /= math.sqrt(rest)
            half[:2] = outer, second
        else:
            rest = (squares - 2.0 * m[0] ** 2) / (1.0 - 2.0 * outer**2)
            half /= math.sqrt(rest)
            half[0] = outer
    a = np.concatenate((-half, np.zeros(n % 2), half[::-1]))
    a.flags.writeable = False
    return a


def shapiro_wilk(x: Values, *, recording_step: float) -> NormalityTest:
    r"""Shapiro and Wilk's test of normality, coefficients and p-value by Royston's approximation.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, 3 <= n <= 5000
        Exact values, any unit; not all equal within a row.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    NormalityTest
        With the statistic W.

    Raises
    ------
    InvalidSample
        If n lies outside 3 to 5000, all values of a row are equal, one is not exact or the step is negative.

    Notes
    -----
    .. math::  W = \frac{\big(\sum a_i x_{(i)}\big)^2}{\sum (x_i - \bar x)^2}

    The p-value is exact for n = 3; at 5 % the test flags 4.9 to 5.1 % of normal samples of 3 to 30. W is the squared
    cosine of the angle between the values and the coefficients: with a recording step it is taken at the sample within
    the step that lies nearest to the coefficients, which is the largest W there is (a convex problem of two unknowns).
    Where all values could be equal, nothing is known of their shape and the largest p-value is 1.

    Source: Shapiro & Wilk, Biometrika 52 (1965) 591-611; Royston, Applied Statistics 44 (1995) 547-551 (AS R94); the
    treatment of the recording step is this project's own.

    Examples
    --------
    Weights of eleven men (Shapiro & Wilk 1965): W = 0.79.

    >>> men = np.array([[148.0, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236]])
    >>> float(shapiro_wilk(men, recording_step=0.0).statistic[0])
    0.79

    Readings to one decimal: what looks far from normal is a matter of ties.

    >>> found = shapiro_wilk(np.array([[1.5, 1.5, 1.5, 1.5, 1.6, 1.6, 1.7]]), recording_step=0.1)
    >>> (float(found.p_value[0]), float(found.p_largest[0]) > 0.99)
    (0.02009, True)
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    n = check_size(check_sample(x, at_least=3), at_least=3, at_most=_LARGEST)
    away = _away(x)
    a = _coefficients(n)
    squares = row_sum(away * away)
    product = row_sum(away * a)
    # 1 - W without cancellation: (sum of squares - product^2) / sum of squares
    root = np.sqrt(squares)
    lacking = np.maximum((root - product) * (root + product) / squares, 0.0)
    p = _shapiro_p(lacking, n)
    return NormalityTest(
        n, 1.0 - lacking, p, np.maximum(p, _shapiro_p(farthest_cosine(x, a, step), n)) if step > 0.0 else p
    )


def _away(x: Values) -> Values:
    """Values less their mean; refuses rows of equal ones."""
    equal = x[:, 0] == x[:, -1]
    if bool(equal.any()):
        raise InvalidSample(
            f"expected values that differ; {int(equal.sum())} of {x.shape[0]} samples have equal ones only, the first "
            f"in row {int(np.argmax(equal))}"
        )
    away = x - x[:, x.shape[1] // 2, np.newaxis]
    away -= (row_sum(away) / x.shape[1])[:, np.newaxis]
    return away


def _shapiro_p(lacking: Values, n: int) -> Values:
    with np.errstate(divide="ignore"):
        log_lacking = np.log(lacking)
    if n == 3:
        p = 1.0 - 6.0 / math.pi * np.arccos(np.sqrt(np.clip(1.0 - lacking, 0.75, 1.0)))
        return np.maximum(p, 0.0)
    if n <= 11:
        gamma = float(polynomial.polyval(n, _SMALL_SHIFT))
        mean = float(polynomial.polyval(n, _SMALL_MEAN))
        sd = math.exp(float(polynomial.polyval(n, _SMALL_LOG_SD)))
        beyond = log_lacking >= gamma
        y = -np.log(gamma - np.where(beyond, gamma - 1.0, log_lacking))
        return np.where(beyond, 1e-99, special.ndtr((mean - y) / sd))
    mean = float(polynomial.polyval(math.log(n), _LARGE_MEAN))
    sd = math.exp(float(polynomial.polyval(math.log(n), _LARGE_LOG_SD)))
    return special.ndtr((mean - log_lacking) / sd)


def anderson_darling(x: Values, *, recording_step: float) -> NormalityTest:
    r"""Anderson and Darling's test of normality, mean and standard deviation estimated.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 8
        Exact values, any unit; not all equal within a row.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    NormalityTest
        With the statistic A^2 (without the factor for n).

    Raises
    ------
    InvalidSample
        If n < 8 (the p-value is fitted from there on), all values of a row are equal, one is not exact or the step is
        negative.

    Notes
    -----
    .. math::  A^2 = -n - \frac1n \sum (2i - 1)\big[\ln\Phi(z_i) + \ln(1 - \Phi(z_{n+1-i}))\big], \qquad
               A^* = A^2 (1 + 0.75/n + 2.25/n^2)

    With a recording step, A^2 is bounded from below: over every mean and standard deviation that the true values can
    have, each value is set where it adds least. As not all of that can happen at once, a departure that hangs on the
    last part of a step may not be reported.

    Source: D'Agostino & Stephens, Goodness-of-Fit Techniques (1986), section 4.8.5 and table 4.9 (case 3); the
    treatment of the recording step is this project's own.

    Examples
    --------
    Weights of 20 leghorn chicks (D'Agostino & Stephens): A^2 = 0.214.

    >>> chicks = np.array([[156.0, 162, 168, 182, 186, 190, 190, 196, 202, 210,
    ...                     214, 220, 226, 230, 230, 236, 236, 242, 246, 270]])
    >>> float(anderson_darling(chicks, recording_step=0.0).statistic[0])
    0.214
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    n = check_sample(x, at_least=8)
    _away(x)
    mean, sd = mean_and_sd(x)
    z = (x - mean[:, np.newaxis]) / sd[:, np.newaxis]
    rank = 2.0 * np.arange(1, n + 1) - 1.0
    statistic = -n - row_sum(rank * (special.log_ndtr(z) + special.log_ndtr(-z[:, ::-1]))) / n
    p = _anderson_p(statistic, n)
    if step == 0.0:
        return NormalityTest(n, statistic, p, p)

    def terms(z: Values) -> tuple[Values, Values]:
        below, above = special.log_ndtr(z), special.log_ndtr(-z)
        density = -0.5 * z * z - 0.5 * math.log(2.0 * math.pi)
        slope = rank[::-1] * np.exp(density - above) - rank * np.exp(density - below)
        return -(rank * below + rank[::-1] * above) / n, slope / n

    least = -n + least_by_shape(x, step, best=special.ndtri(rank / (2.0 * n)), terms=terms)
    return NormalityTest(n, statistic, p, np.maximum(p, _anderson_p(np.maximum(least, 0.0), n)))


def _anderson_p(statistic: Values, n: int) -> Values:
    adjusted = statistic * (1.0 + 0.75 / n + 2.25 / (n * n))
    p = np.empty_like(adjusted)
    low = -math.inf
    for end, c0, c1, c2 in _STEPHENS:
        here = (adjusted > low) & (adjusted <= end)
        value = np.exp(c0 + c1 * adjusted[here] + c2 * adjusted[here] ** 2)
        p[here] = 1.0 - value if end <= 0.34 else value
        low = end
    # Beyond 13 the fitted parabola turns up again.
    return np.where(adjusted > 13.0, 0.0, p)
