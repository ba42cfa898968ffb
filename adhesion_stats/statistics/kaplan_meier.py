"""The distribution function from exact values and lower bounds, without a distribution (Kaplan and Meier), with limits
that hold for few values; comparison of two groups (log-rank).

When to use which
-----------------
``kaplan_meier``   share above each value, with limits at a stated confidence.
``log_rank``       do two groups with lower bounds differ?

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack
from adhesion_stats.statistics.checks import check_choice, check_level

__all__ = ["KaplanMeier", "LogRank", "kaplan_meier", "log_rank"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class KaplanMeier:
    """Share of the population above a value, from g samples of n values; arrays of shape (g, n).

    Column i holds what is known from value i (ascending) up to the next one.

    Attributes
    ----------
    value : (g, n) float64
        Values and lower bounds, ascending, in the unit of the input.
    exact : (g, n) bool
        Whether the value is exact; where it is not, nothing changes but the number left.
    share_above : (g, n) float64
        Estimate [-]. Among equal exact values, the last column counts.
    low, high : (g, n) float64
        Limits at each value, each one-sided at (1 + confidence) / 2 [-].
    """

    value: Values
    exact: NDArray[np.bool_]
    share_above: Values
    low: Values
    high: Values


def kaplan_meier(stack: Stack, *, confidence: float) -> KaplanMeier:
    r"""Kaplan-Meier estimate of the share above each value, with limits by the beta product.

    Parameters
    ----------
    stack : Stack
        Samples of equal (n, r), values exact or bounded from below (high = inf).
    confidence : float
        Confidence level of the two-sided limits at one value [-], strictly between 0 and 1. The limits of all values
        together hold with less.

    Returns
    -------
    KaplanMeier

    Raises
    ------
    InvalidSample
        If a value is bounded from above, or the level is none.

    Notes
    -----
    Equal values: exact ones come before bounds. With Y values left before each exact value,

    .. math::  \hat S = \prod (1 - 1/Y_i), \qquad S_\text{high} \sim \prod \mathrm{Beta}(Y_i, 1), \qquad
               S_\text{low} \sim \prod \mathrm{Beta}(Y_i, 1) \cdot \mathrm{Beta}(Y^+, 1)

    Y+ being those left after the value. Each product is taken as the beta distribution with its mean and variance,
    which is exact without bounds: the limits are then those of Clopper and Pearson. Such limits hold their level or
    more where plain ones (Greenwood's) fall far short. Source: Kaplan & Meier, Journal of the American Statistical
    Association 53 (1958) 457-481; Fay, Brittain & Proschan, Biostatistics 14 (2013) 723-736.

    Examples
    --------
    6-mercaptopurine, Freireich et al. 1963, weeks of remission: 0.857 after 6 weeks.

    >>> from adhesion_stats.statistics.blocks import stacks
    >>> weeks = np.array([6.0, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35])
    >>> still = np.isin(np.arange(21), [3, 5, 7, 8, 11, 12, 13, 16, 17, 18, 19, 20])
    >>> stack, = stacks(np.zeros(21, dtype=int), weeks, np.where(still, np.inf, weeks))
    >>> found = kaplan_meier(stack, confidence=0.95)
    >>> float(found.share_above[0, 2])
    0.857143
    """
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    exact = stack.exact
    if bool((~exact & np.isfinite(stack.high)).any()):
        raise InvalidSample("expected values that are exact or bounded from below only")
    n = stack.n
    left = np.arange(n, 0, -1, dtype=np.float64)
    share: Values = np.cumprod(np.where(exact, 1.0 - 1.0 / left, 1.0), axis=-1, dtype=np.float64)
    mean: Values = np.cumprod(np.where(exact, left / (left + 1.0), 1.0), axis=-1, dtype=np.float64)
    square: Values = np.cumprod(np.where(exact, left / (left + 2.0), 1.0), axis=-1, dtype=np.float64)
    after = left - 1.0
    low_mean, low_square = mean * after / (after + 1.0), square * after / (after + 2.0)
    low = np.where(after > 0.0, _beta_point(low_mean, low_square, tail), 0.0)
    some = np.logical_or.accumulate(exact, axis=-1)
    high = np.where(some, _beta_point(mean, square, 1.0 - tail), 1.0)
    return KaplanMeier(stack.low, exact, share, low, high)


def _beta_point(mean: Values, square: Values, probability: float) -> Values:
    """Quantile of the beta distribution with the given first and second moments."""
    inside = (mean > 0.0) & (mean < 1.0)
    m, s = np.where(inside, mean, 0.5), np.where(inside, square, 0.3)
    size = m * (m - s) / (s - m * m) / m
    point: Values = special.betaincinv(m * size, (1.0 - m) * size, probability)
    return point


@dataclass(frozen=True)
class LogRank:
    """Comparison of two groups.

    Attributes
    ----------
    statistic : float
        Chi-square with one degree of freedom [-].
    p_value : float
        Two-sided, from many values [-].
    observed, expected : (float, float)
        Number of (weighted) exact values in each group, and what equal groups would have [-].
    """

    statistic: float
    p_value: float
    observed: tuple[float, float]
    expected: tuple[float, float]


def log_rank(a: Stack, b: Stack, *, weights: Literal["log-rank", "peto"]) -> LogRank:
    r"""Log-rank test of two samples with lower bounds.

    Parameters
    ----------
    a, b : Stack
        One sample each (g = 1), values exact or bounded from below, in one unit.
    weights : {"log-rank", "peto"}
        All values alike, or low ones heavier: by the common share above just before each value (rho = 1).

    Returns
    -------
    LogRank

    Raises
    ------
    InvalidSample
        If a stack has more than one row, a value is bounded from above, or nothing is exact.

    Notes
    -----
    .. math::  \chi^2 = \frac{\big(\sum w (d_1 - d\,Y_1/Y)\big)^2}
               {\sum w^2\, d\, \frac{Y_1 Y_2 (Y - d)}{Y^2 (Y - 1)}}

    Source: Peto & Peto, Journal of the Royal Statistical Society A 135 (1972) 185-207; Harrington & Fleming, Biometrika
    69 (1982) 553-566. The p-value is made for many values: below ten exact ones take it as a rough measure.

    Examples
    --------
    >>> from adhesion_stats.statistics.blocks import stacks
    >>> x = np.array([1.0, 2.0, 3.0, 4.0])
    >>> first, = stacks(np.zeros(4, dtype=int), x, x)
    >>> log_rank(first, first, weights="log-rank").statistic
    0.0
    """
    check_choice("weights", weights, among=("log-rank", "peto"))
    for stack in (a, b):
        if stack.g != 1 or bool((~stack.exact & np.isfinite(stack.high)).any()):
            raise InvalidSample("expected one sample each, values exact or bounded from below only")
    times = np.unique(np.concatenate((a.low[a.exact], b.low[b.exact])))
    if times.size == 0:
        raise InvalidSample("expected at least one exact value")
    left = [np.sum(s.low[0] >= times[:, np.newaxis], axis=-1).astype(np.float64) for s in (a, b)]
    here = [np.sum((s.low[0] == times[:, np.newaxis]) & s.exact[0], axis=-1).astype(np.float64) for s in (a, b)]
    y, d = left[0] + left[1], here[0] + here[1]
    before = np.concatenate(([1.0], np.cumprod(1.0 - d / y)[:-1]))
    w = before if weights == "peto" else np.ones_like(before)
    variance = float(np.sum(w * w * d * left[0] * left[1] * (y - d) / (y * y * np.maximum(y - 1.0, 1.0))))
    expected = (float(np.sum(w * d * left[0] / y)), float(np.sum(w * d * left[1] / y)))
    observed = (float(np.sum(w * here[0])), float(np.sum(w * here[1])))
    if variance == 0.0:
        raise InvalidSample("the groups do not overlap in any exact value: nothing to compare")
    statistic = (observed[0] - expected[0]) ** 2 / variance
    return LogRank(statistic, float(special.chdtrc(1.0, statistic)), observed, expected)
