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
from adhesion_stats.statistics.blocks import Stack, row_sum
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive

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


@dataclass(frozen=True, eq=False)
class LogRank:
    """Comparison of two groups, g pairs of samples; arrays of shape (g,).

    Attributes
    ----------
    statistic : (g,) float64
        Chi-square with one degree of freedom [-].
    p_value : (g,) float64
        Two-sided, from many values, of the values as recorded [-].
    p_largest : (g,) float64
        Upper end of the p-values of all values and bounds that would have been recorded alike [-].
    observed, expected : (g, 2) float64
        Number of (weighted) exact values in each group, and what equal groups would have [-].
    """

    statistic: Values
    p_value: Values
    p_largest: Values
    observed: Values
    expected: Values


def log_rank(a: Stack, b: Stack, *, weights: Literal["log-rank", "peto"], recording_step: float) -> LogRank:
    r"""Log-rank test of two samples with lower bounds, pair by pair.

    Parameters
    ----------
    a, b : Stack
        As many samples in one as in the other (row i against row i), values exact or bounded from below, in one unit.
    weights : {"log-rank", "peto"}
        All values alike, or low ones heavier: by the common share above just before each value (rho = 1).
    recording_step : float
        Step in which values and bounds were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    LogRank

    Raises
    ------
    InvalidSample
        If the numbers of rows differ, a value is bounded from above, a pair has nothing exact or no overlap, or the
        step is negative.

    Notes
    -----
    .. math::  \chi^2 = \frac{\big(\sum w (d_1 - d\,Y_1/Y)\big)^2}
               {\sum w^2\, d\, \frac{Y_1 Y_2 (Y - d)}{Y^2 (Y - 1)}}

    With a recording step, the sum is taken at both of its ends over all orders that the true values (which differ) can
    have, and the variance where it is largest: their ratio bounds the statistic from below. Where values of both groups
    lie within one step of each other their order is not known, and much of the evidence goes with it.

    Source: Peto & Peto, Journal of the Royal Statistical Society A 135 (1972) 185-207; Harrington & Fleming, Biometrika
    69 (1982) 553-566; the treatment of the recording step is this project's own. The p-value is made for many values:
    below ten exact ones take it as a rough measure.

    Examples
    --------
    >>> from adhesion_stats.statistics.blocks import stacks
    >>> x, y = np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.5, 3.5, 4.5, 5.5])
    >>> first, = stacks(np.zeros(4, dtype=int), x, x)
    >>> second, = stacks(np.zeros(4, dtype=int), y, y)
    >>> float(log_rank(first, second, weights="log-rank", recording_step=0.0).statistic[0])
    2.2528
    """
    check_choice("weights", weights, among=("log-rank", "peto"))
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    for stack in (a, b):
        if bool((~stack.exact & np.isfinite(stack.high)).any()):
            raise InvalidSample("expected values that are exact or bounded from below only")
    if a.g != b.g:
        raise InvalidSample(f"expected as many samples in both; got {a.g} and {b.g}")
    none = ~(a.exact.any(axis=-1) | b.exact.any(axis=-1))
    if bool(none.any()):
        raise InvalidSample(f"expected at least one exact value in each pair; pair {int(np.argmax(none))} has none")
    pooled = _Pooled.of(a, b)
    left, ending, before = pooled.left, pooled.ending, pooled.before
    y, d = left[0] + left[1], ending[0] + ending[1]
    w = before if weights == "peto" else np.ones_like(before)
    variance = row_sum(w * w * d * left[0] * left[1] * (y - d) / (y * y * np.maximum(y - 1.0, 1.0)))
    apart = variance == 0.0
    if bool(apart.any()):
        raise InvalidSample(
            f"the groups do not overlap in any exact value: nothing to compare in pair {int(np.argmax(apart))}"
        )
    expected = np.stack([row_sum(w * d * part / y) for part in left], axis=-1)
    observed = np.stack([row_sum(w * part) for part in ending], axis=-1)
    statistic = (observed[:, 0] - expected[:, 0]) ** 2 / variance
    p = np.asarray(special.chdtrc(1.0, statistic), dtype=np.float64)
    most = p
    if step > 0.0:
        most = np.maximum(p, special.chdtrc(1.0, _least_chi_square(a, b, step, peto=weights == "peto")))
    return LogRank(statistic, p, most, observed, expected)


@dataclass(frozen=True, eq=False)
class _Pooled:
    """Both groups in one order, exact values before bounds; arrays (g, N), 0 but at the first of equal values.

    ``left`` and ``ending``: of each group, values not below this one and exact values equal to it. ``before``: share
    above just before.
    """

    left: tuple[Values, Values]
    ending: tuple[Values, Values]
    before: Values

    @classmethod
    def of(cls, a: Stack, b: Stack) -> _Pooled:
        value = np.concatenate((a.low, b.low), axis=-1)
        order = np.argsort(value, axis=-1, kind="stable")
        value = np.take_along_axis(value, order, axis=-1)
        exact = np.take_along_axis(np.concatenate((a.exact, b.exact), axis=-1), order, axis=-1)
        here = order < a.n
        size = value.shape[1]
        new = np.ones(value.shape, dtype=np.bool_)
        new[:, 1:] = value[:, 1:] != value[:, :-1]
        first = np.maximum.accumulate(np.where(new, np.arange(size), 0), axis=-1)
        left, ending = [], []
        for mine in (here, ~here):
            upto: NDArray[np.int64] = np.cumsum(mine, axis=-1) - mine  # of this group, sorted before
            left.append((mine.sum(axis=-1)[:, np.newaxis] - upto).astype(np.float64))
            count = np.zeros(value.shape)
            np.add.at(count, (np.arange(value.shape[0])[:, np.newaxis], first), (mine & exact).astype(np.float64))
            ending.append(count)
        y, d = left[0] + left[1], ending[0] + ending[1]
        above = np.cumprod(1.0 - d / y, axis=-1)
        before = np.concatenate((np.ones((value.shape[0], 1)), above[:, :-1]), axis=-1)
        return cls((left[0], left[1]), (ending[0], ending[1]), before)


def _least_chi_square(a: Stack, b: Stack, step: float, *, peto: bool, chunk: int = 4_000_000) -> Values:
    """Lower bound of the statistic over all values and bounds within half a step of the recorded ones."""
    wide = step * (1.0 + 1e-9)  # values a whole step apart are so by rounding only
    most, least = _largest_excess(a, b, wide, peto=peto), -_largest_excess(b, a, wide, peto=peto)
    nearest = np.where((least <= 0.0) & (most >= 0.0), 0.0, np.minimum(np.abs(least), np.abs(most)))
    variance = np.empty(a.g)
    rows = max(1, chunk // (a.n + b.n) ** 2)
    for start in range(0, a.g, rows):
        part = slice(start, start + rows)
        value = np.concatenate((a.low[part], b.low[part]), axis=-1)
        exact = np.concatenate((a.exact[part], b.exact[part]), axis=-1)
        variance[part] = _largest_variance(value, exact, a.n, wide, peto=peto)
    least_square: Values = np.divide(nearest * nearest, variance, out=np.zeros(a.g), where=variance > 0.0)
    return least_square


def _largest_excess(a: Stack, b: Stack, step: float, *, peto: bool) -> Values:
    """Observed less expected of the first group, as large as it can be.

    It grows with every exchange of two neighbours in the common order that brings one of ``a`` before one of ``b``, a
    bound of ``a`` before an exact value of ``a``, or an exact value of ``b`` before a bound of ``b``; so it is largest
    with ``a`` half a step down, ``b`` half a step up, and bounds a whole step further than that.
    """
    shifted = [
        group.low + sign * np.where(group.exact, 0.5 * step, 1.5 * step) for group, sign in ((a, -1.0), (b, 1.0))
    ]
    order = np.argsort(np.concatenate(shifted, axis=-1), axis=-1, kind="stable")
    exact = np.take_along_axis(np.concatenate((a.exact, b.exact), axis=-1), order, axis=-1)
    mine = (order < a.n).astype(np.float64)
    y = np.arange(order.shape[1], 0, -1, dtype=np.float64)
    left = np.cumsum(mine[:, ::-1], axis=-1)[:, ::-1]
    w = np.ones(order.shape)
    if peto:
        w[:, 1:] = np.cumprod(np.where(exact, 1.0 - 1.0 / y, 1.0), axis=-1)[:, :-1]
    return row_sum(np.where(exact, w * (mine - left / y), 0.0))


def _largest_variance(value: Values, exact: NDArray[np.bool_], n: int, step: float, *, peto: bool) -> Values:
    """Variance with every exact value's weight and share of the groups left as large, and as even, as they can be."""
    ahead = value[:, np.newaxis, :] - value[:, :, np.newaxis]  # [row, this, other]
    surely, perhaps = (ahead > step) | np.eye(value.shape[1], dtype=np.bool_), ahead >= -step  # not below this one
    low_1, high_1 = surely[..., :n].sum(axis=-1), perhaps[..., :n].sum(axis=-1)
    low_2, high_2 = surely[..., n:].sum(axis=-1), perhaps[..., n:].sum(axis=-1)
    even = np.clip(0.5, low_1 / (low_1 + high_2), high_1 / (high_1 + low_2))
    w = np.ones_like(even)
    if peto:  # the share above falls by a factor 1 - 1/Y at each exact value that is surely below
        falls = np.where(exact, np.log1p(-1.0 / np.maximum(high_1 + high_2, 2)), 0.0)
        w = np.exp(np.where(ahead < -step, falls[:, np.newaxis, :], 0.0).sum(axis=-1))
    return row_sum(exact * w * w * even * (1.0 - even))
