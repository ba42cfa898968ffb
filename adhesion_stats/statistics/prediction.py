"""Prediction: what the next pulls of the same population will bring.

When to use which
-----------------
``prediction_interval_mean``       the mean of the next m values (m = 1: the next value), both ends.
``prediction_bound_mean``          the same, lower bound.
``prediction_bound_smallest``      a bound that all of the next m values exceed.
``prediction_interval_sd``         the standard deviation of the next m values.

All for normal samples with unknown standard deviation, exact, and only for values drawn from the same population by
the same way of testing.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.checks import check_level, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.intervals import t_quantile
from adhesion_stats.statistics.noncentral import NODES, WEIGHTS, chi_nodes

__all__ = [
    "k_smallest_of_next",
    "prediction_bound_mean",
    "prediction_bound_smallest",
    "prediction_interval_mean",
    "prediction_interval_sd",
]

Values = NDArray[np.float64]


def prediction_interval_mean(x: Values, *, m: int, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided prediction interval for the mean of the next m values.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    m : int
        How many values the next mean is taken over [-], 1 or greater.
    confidence : float
        Probability that the next mean lies within [-], over both samples.

    Returns
    -------
    low, high : (g,) float64
        Limits, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2, m < 1 or the level is none.

    Notes
    -----
    .. math::  \bar x \pm t_{(1+\gamma)/2,\,n-1}\; s \sqrt{1/m + 1/n}

    Source: Hahn & Meeker, Statistical Intervals (1991), chapter 4.

    Examples
    --------
    >>> low, high = prediction_interval_mean(np.array([[2.0, 3.0, 4.0]]), m=1, confidence=0.95)
    >>> (float(low[0]), float(high[0]))
    (-1.968276, 7.968276)
    """
    n = check_sample(x, at_least=2)
    level = check_level("confidence", confidence)
    mean, sd = mean_and_sd(x)
    half = t_quantile(probability=1.0 - 0.5 * (1.0 - level), degrees_of_freedom=n - 1) * _spread(n, m) * sd
    return mean - half, mean + half


def prediction_bound_mean(x: Values, *, m: int, confidence: float) -> Values:
    """Lower prediction bound for the mean of the next m values.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    m : int
        How many values the next mean is taken over [-], 1 or greater.
    confidence : float
        Probability that the next mean lies above [-], over both samples.

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2, m < 1 or the level is none.

    Notes
    -----
    mean - t s sqrt(1/m + 1/n), one-sided t. With m = 1 and 0.95 this is the characteristic value of EN 1990 Annex D.
    Source: Hahn & Meeker, Statistical Intervals (1991), chapter 4.

    Examples
    --------
    >>> float(prediction_bound_mean(np.array([[2.0, 3.0, 4.0]]), m=1, confidence=0.95)[0])
    -0.3717
    """
    n = check_sample(x, at_least=2)
    t = t_quantile(probability=check_level("confidence", confidence), degrees_of_freedom=n - 1)
    mean, sd = mean_and_sd(x)
    return mean - t * _spread(n, m) * sd


def _spread(n: int, m: int) -> float:
    return math.sqrt(1.0 / check_size(m, at_least=1) + 1.0 / n)


@lru_cache(maxsize=4096)
def k_smallest_of_next(*, n: int, m: int, confidence: float) -> float:
    r"""Factor k such that all of the next m values exceed mean - k sd, with the stated probability.

    Parameters
    ----------
    n : int
        Values in the sample [-], 2 or greater.
    m : int
        Values to come [-], 1 or greater.
    confidence : float
        Probability that the smallest of the next m lies above [-], strictly between 0 and 1.

    Returns
    -------
    float
        k [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  \int f_S(s) \int \varphi(u)\, \Phi\big(k s - u/\sqrt n\big)^m\, du\, ds = \gamma

    by Gauss-Legendre quadrature in both; error below 1e-9. Source: Hahn & Meeker, Statistical Intervals (1991),
    chapter 4.

    Examples
    --------
    With m = 1 it is t sqrt(1 + 1/n).

    >>> k_smallest_of_next(n=3, m=1, confidence=0.95)
    3.3717
    """
    size = check_size(n, at_least=2)
    count = check_size(m, at_least=1)
    level = check_level("confidence", confidence)
    s, s_weight = chi_nodes(size - 1)
    u = 9.0 * NODES
    u_weight = 9.0 * WEIGHTS * np.exp(-0.5 * u * u) / math.sqrt(2.0 * math.pi)
    away = u / math.sqrt(size)

    def excess(k: float) -> float:
        inner = np.exp(count * special.log_ndtr(k * s[:, np.newaxis] - away)) @ u_weight
        return float(s_weight @ inner) - level

    from scipy import optimize  # loads as long as all else together

    low, high = -1.0, 1.0
    while excess(low) > 0.0:
        low *= 2.0
    while excess(high) < 0.0:
        high *= 2.0
    return float(optimize.brentq(excess, low, high, xtol=1e-13, rtol=8.9e-16, maxiter=200))


def prediction_bound_smallest(x: Values, *, m: int, confidence: float) -> Values:
    """Lower prediction bound for the smallest of the next m values.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    m : int
        Values to come [-], 1 or greater.
    confidence : float
        Probability that all of them lie above [-], over both samples.

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2, m < 1 or the level is none.

    Notes
    -----
    mean - k sd. Source: ``k_smallest_of_next``.

    Examples
    --------
    >>> float(prediction_bound_smallest(np.array([[2.0, 3.0, 4.0]]), m=1, confidence=0.95)[0])
    -0.3717
    """
    n = check_sample(x, at_least=2)
    k = k_smallest_of_next(n=n, m=m, confidence=confidence)
    mean, sd = mean_and_sd(x)
    return mean - k * sd


def prediction_interval_sd(x: Values, *, m: int, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided prediction interval for the standard deviation of the next m values.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    m : int
        Values to come [-], 2 or greater.
    confidence : float
        Probability that their standard deviation lies within [-].

    Returns
    -------
    low, high : (g,) float64
        Limits, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2, m < 2 or the level is none.

    Notes
    -----
    .. math::  s/\sqrt{F_{(1+\gamma)/2;\,n-1,\,m-1}}, \qquad s\sqrt{F_{(1+\gamma)/2;\,m-1,\,n-1}}

    Source: Hahn & Meeker, Statistical Intervals (1991), chapter 4.

    Examples
    --------
    >>> low, high = prediction_interval_sd(np.array([[2.0, 3.0, 4.0]]), m=3, confidence=0.90)
    >>> (float(low[0]), float(high[0]))
    (0.229416, 4.358899)
    """
    n = check_sample(x, at_least=2)
    count = check_size(m, at_least=2)
    upper = 1.0 - 0.5 * (1.0 - check_level("confidence", confidence))
    _, sd = mean_and_sd(x)
    down = math.sqrt(float(special.fdtri(n - 1, count - 1, upper)))
    up = math.sqrt(float(special.fdtri(count - 1, n - 1, upper)))
    return sd / down, sd * up
