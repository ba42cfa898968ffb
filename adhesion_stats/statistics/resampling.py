"""Resampling: bootstrap limits of any statistic, and the exact permutation test of two groups.

When to use which
-----------------
``bca_interval``      limits of a statistic for which no formula stands here; only from n = 10 on.
``permutation_test``  difference of two means without a distribution, by all ways of parting the values.

Below ten values the bootstrap is refused: at n = 5 a nominal 95 % covers 83 %, since five values have not enough
different resamples to show the tails.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_level, check_size
from adhesion_stats.statistics.decimals import whole_numbers

__all__ = ["BCA_LEAST_N", "LARGEST_PERMUTATIONS", "BcaInterval", "PermutationTest", "bca_interval", "permutation_test"]

Values = NDArray[np.float64]

BCA_LEAST_N = 10
LARGEST_PERMUTATIONS = 400_000


@dataclass(frozen=True)
class BcaInterval:
    """Bias-corrected and accelerated bootstrap interval of one sample.

    Attributes
    ----------
    estimate : float
        Statistic of the sample itself.
    low, high : float
        Limits, in the unit of the statistic.
    low_error, high_error : float
        Monte-Carlo standard error of each limit: what another seed would change.
    resamples : int
        How many were drawn [-].
    """

    estimate: float
    low: float
    high: float
    low_error: float
    high_error: float
    resamples: int


def bca_interval(
    x: Values,
    *,
    statistic: Callable[[Values], Values],
    confidence: float,
    resamples: int,
    rng: np.random.Generator,
) -> BcaInterval:
    r"""Two-sided bootstrap interval of a statistic, bias-corrected and accelerated.

    Parameters
    ----------
    x : (n,) float64, n >= 10
        One sample, any unit.
    statistic : callable, (g, n) -> (g,)
        Reduces the last axis; rows come ascending.
    confidence : float
        Confidence level [-], strictly between 0 and 1; approximate.
    resamples : int
        1000 or greater [-]; 10,000 leave a Monte-Carlo error of a few percent of the interval.
    rng : numpy.random.Generator
        Source of chance. The same state gives the same limits.

    Returns
    -------
    BcaInterval

    Raises
    ------
    InvalidSample
        If n < 10, a value is not finite, resamples are too few, the level is none, or the statistic is the same for
        every resample.

    Notes
    -----
    .. math::  \alpha_{1,2} = \Phi\!\left(z_0 + \frac{z_0 \pm z}{1 - a(z_0 \pm z)}\right), \qquad
               a = \frac{\sum d_i^3}{6 (\sum d_i^2)^{3/2}}

    d_i from leaving out one value at a time; ties with the estimate count half in z_0. The Monte-Carlo error comes
    from the binomial spread of the share below the estimate and of that below the limit. Coverage of a mean of ten
    normal values at 95 %: about 90 %. Source: Efron, Journal of the American Statistical Association 82 (1987)
    171-185; Efron & Tibshirani, An Introduction to the Bootstrap (1993), chapter 14.

    Examples
    --------
    >>> x = np.array([2.1, 2.4, 2.4, 2.6, 2.7, 2.9, 3.0, 3.1, 3.3, 3.8])
    >>> found = bca_interval(x, statistic=lambda rows: rows.mean(axis=-1), confidence=0.95, resamples=10_000,
    ...                      rng=np.random.default_rng(1))
    >>> (round(found.estimate, 2), found.low < 2.6 < found.high, found.low_error < 0.02)
    (2.83, True, True)
    """
    values = np.asarray(x, dtype=np.float64)
    level = check_level("confidence", confidence)
    count = check_size(resamples, at_least=1000)
    if values.ndim != 1 or not bool(np.isfinite(values).all()):
        raise InvalidSample(f"expected one sample of finite values; got shape {values.shape}")
    n = values.size
    if n < BCA_LEAST_N:
        raise InvalidSample(
            f"expected at least {BCA_LEAST_N} values for a bootstrap interval; got {n}: at n = 5 a nominal 95 % covers "
            "83 %. Use an interval of a distribution, or the order statistics"
        )
    ordered = np.sort(values)
    estimate = float(statistic(ordered[np.newaxis])[0])
    drawn = np.sort(ordered[rng.integers(0, n, size=(count, n))], axis=-1)
    found = np.asarray(statistic(drawn), dtype=np.float64)
    if found.shape != (count,) or float(found.min()) == float(found.max()):
        raise InvalidSample("expected a statistic with one number per row that differs between resamples")
    out = np.stack([np.delete(ordered, i) for i in range(n)])
    left = np.asarray(statistic(np.ascontiguousarray(out)), dtype=np.float64)
    away = float(left.mean()) - left
    squares = float(np.sum(away**2))
    acceleration = float(np.sum(away**3)) / (6.0 * squares**1.5) if squares > 0.0 else 0.0
    z = float(special.ndtri(0.5 + 0.5 * level))
    low, low_error = _limit(found, estimate, acceleration, -z)
    high, high_error = _limit(found, estimate, acceleration, z)
    return BcaInterval(estimate, low, high, low_error, high_error, count)


def _limit(found: Values, estimate: float, acceleration: float, z: float) -> tuple[float, float]:
    """One limit and its Monte-Carlo standard error."""
    count = found.size
    share = (int(np.count_nonzero(found < estimate)) + 0.5 * int(np.count_nonzero(found == estimate))) / count
    share = float(min(max(share, 0.5 / count), 1.0 - 0.5 / count))
    shift = float(special.ndtri(share))
    room = 1.0 - acceleration * (shift + z)
    score = shift + (shift + z) / room
    level = float(special.ndtr(score))
    # How the level moves with the share below the estimate, and how both shares move together.
    slope = math.exp(0.5 * (shift * shift - score * score)) * (1.0 + 1.0 / (room * room))
    together = min(share, level) - share * level
    variance = level * (1.0 - level) + slope * slope * share * (1.0 - share) - 2.0 * slope * together
    error = math.sqrt(max(variance, 0.0) / count)
    around = np.clip([level - error, level, level + error], 0.0, 1.0)
    below, limit, above = np.quantile(found, around)
    return float(limit), 0.5 * float(above - below)


@dataclass(frozen=True)
class PermutationTest:
    """Exact test of two groups by all ways of parting their values.

    Attributes
    ----------
    difference : float
        Mean of the first less mean of the second, in the unit of the values.
    p_lower, p_upper, p_two_sided : float
        Share of the ways that give as small, as large, or as far a difference [-].
    ways : int
        How many there are [-]; no p-value can be below 1 / ways.
    """

    difference: float
    p_lower: float
    p_upper: float
    p_two_sided: float
    ways: int


def permutation_test(a: Values, b: Values) -> PermutationTest:
    r"""Exact permutation test of the difference of two means.

    Parameters
    ----------
    a, b : (n_1,), (n_2,) float64
        Two samples, any unit, one value or more each.

    Returns
    -------
    PermutationTest

    Raises
    ------
    InvalidSample
        If a group is empty, a value is not finite, or there are more than 400,000 ways (10 and 10 values have 184,756).

    Notes
    -----
    All C(n_1 + n_2, n_1) ways are gone through. Values are taken as the decimals they print as, in whole numbers, so
    that equal sums are equal. Source: Fisher, The Design of Experiments (1935), section 21; Pitman, Supplement to the
    Journal of the Royal Statistical Society 4 (1937) 119-130.

    Examples
    --------
    Three and three values, wholly apart: 1 way of 20, two-sided 2.

    >>> permutation_test(np.array([1.0, 1.1, 1.2]), np.array([2.0, 2.1, 2.2]))
    PermutationTest(difference=-1.0, p_lower=0.05, p_upper=1.0, p_two_sided=0.1, ways=20)
    """
    first, second = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    every = np.concatenate((first.ravel(), second.ravel()))
    if first.ndim != 1 or second.ndim != 1 or not first.size or not second.size or not bool(np.isfinite(every).all()):
        raise InvalidSample(f"expected two samples of finite values; got shapes {first.shape} and {second.shape}")
    n, k = every.size, min(first.size, second.size)
    ways = math.comb(n, k)
    if ways > LARGEST_PERMUTATIONS:
        raise InvalidSample(
            f"{first.size} and {second.size} values can be parted in {ways} ways; up to {LARGEST_PERMUTATIONS} are "
            "gone through. Use the t test, which is nearly the same at such n"
        )
    whole, _ = whole_numbers(every)
    smaller = whole[: first.size] if first.size == k else whole[first.size :]
    # The sum of the smaller group fixes the difference of means; n * sum - k * total is it, in whole numbers.
    total = sum(whole)
    observed = n * sum(smaller) - k * total
    if first.size != k:
        observed = -observed
    lower = upper = far = 0
    sign = 1 if first.size == k else -1
    for chosen in itertools.combinations(whole, k):
        value = sign * (n * sum(chosen) - k * total)
        lower += value <= observed
        upper += value >= observed
        far += abs(value) >= abs(observed)
    difference = float(first.mean() - second.mean())
    return PermutationTest(difference, lower / ways, upper / ways, far / ways, ways)
