"""Confidence intervals of the spread: standard deviation and coefficient of variation of a normal sample, exact.

Few values say little about spread: with five, the true standard deviation may be 0.6 to 2.9 times the one found.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_level, check_sample
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.noncentral import noncentrality

__all__ = ["confidence_interval_cov", "confidence_interval_sd"]

Values = NDArray[np.float64]


def confidence_interval_sd(x: Values, *, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided confidence interval of the standard deviation, equal risk at both ends.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit.
    confidence : float
        Confidence level [-], strictly between 0 and 1.

    Returns
    -------
    low, high : (g,) float64
        Limits, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2 or the level is none.

    Notes
    -----
    .. math::  s\sqrt{\nu/\chi^2_{(1+\gamma)/2,\,\nu}}, \qquad s\sqrt{\nu/\chi^2_{(1-\gamma)/2,\,\nu}}, \qquad \nu = n-1

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8; Hahn & Meeker, Statistical Intervals (1991),
    chapter 4.

    Examples
    --------
    NBS Handbook 91, capacity of batteries: 95 % interval 2.38 to 6.32.

    >>> batteries = np.array([[135.0, 136, 137, 138, 140, 141, 142, 142, 143, 146]])
    >>> low, high = confidence_interval_sd(batteries, confidence=0.95)
    >>> (float(low[0]), float(high[0]))
    (2.382731, 6.324099)
    """
    n = check_sample(x, at_least=2)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    half_df = 0.5 * (n - 1)
    _, sd = mean_and_sd(x)
    low = math.sqrt(half_df / float(special.gammainccinv(half_df, tail)))
    high = math.sqrt(half_df / float(special.gammaincinv(half_df, tail)))
    return sd * low, sd * high


def confidence_interval_cov(x: Values, *, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided confidence interval of the coefficient of variation, exact, equal risk at both ends.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample with positive mean, any unit.
    confidence : float
        Confidence level [-], strictly between 0 and 1.

    Returns
    -------
    low, high : (g,) float64
        Limits [-]. ``high`` is inf where the sample can't exclude a mean of zero; ``low`` likewise, in the rare sample
        that can't tell the mean from one below zero.

    Raises
    ------
    InvalidSample
        If n < 2, the level is none, or a mean is not above zero.

    Notes
    -----
    sqrt(n) m / s follows the non-central t distribution with n - 1 degrees of freedom and delta = sqrt(n) mu / sigma;
    the limits of delta, turned over, are those of the coefficient of variation. Exact for positive means. Source:
    Johnson & Welch, Applications of the non-central t-distribution, Biometrika 31 (1940) 362-389.

    Examples
    --------
    >>> low, high = confidence_interval_cov(np.array([[1.8, 2.0, 2.3, 2.4, 3.0]]), confidence=0.90)
    >>> (float(low[0]), float(high[0]))
    (0.127995, 0.497792)
    """
    n = check_sample(x, at_least=2)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    mean, sd = mean_and_sd(x)
    if bool((mean <= 0.0).any()):
        row = int(np.argmax(mean <= 0.0))
        raise InvalidSample(f"a coefficient of variation needs a mean above zero; row {row} has {float(mean[row])!r}")
    low, high = np.zeros_like(mean), np.zeros_like(mean)
    wide = sd > 0.0
    t = math.sqrt(n) * mean[wide] / sd[wide]
    for found, probability in ((low, tail), (high, 1.0 - tail)):
        delta = noncentrality(t, degrees_of_freedom=n - 1, probability=probability)
        found[wide] = np.where(delta > 0.0, math.sqrt(n) / np.where(delta > 0.0, delta, 1.0), np.inf)
    return low, high
