"""Tietjen and Moore's test for exactly k outliers at either end: sum of squares without the k values furthest from the
mean, over the whole.

There is no exact distribution: the p-value is simulated with the generator passed in, and comes with its standard
error. Where k is not known beforehand, use ``esd``.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd

__all__ = ["SimulatedProbability", "tietjen_moore_p_value", "tietjen_moore_statistic"]

Values = NDArray[np.float64]

_CHUNK = 50_000  # samples simulated at a time; part of what a seed means


@dataclass(frozen=True)
class SimulatedProbability:
    """A probability found by simulation.

    Attributes
    ----------
    value : float
        Estimate [-].
    standard_error : float
        Its Monte-Carlo standard error [-].
    samples : int
        Samples simulated [-].
    """

    value: float
    standard_error: float
    samples: int

    @classmethod
    def from_count(cls, count: int, samples: int) -> SimulatedProbability:
        """The share of ``count`` among ``samples``; the error of one more or less where it is 0 or 1."""
        value = count / samples
        inner = min(max(value, 1.0 / samples), 1.0 - 1.0 / samples)
        return cls(value, math.sqrt(inner * (1.0 - inner) / samples), samples)


def tietjen_moore_statistic(x: Values, *, k: int) -> Values:
    r"""E_k of each row: sum of squares without the k values furthest from the mean over the whole.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 4
        Exact values, any unit.
    k : int
        Number of suspects [-], 1 to n/2.

    Returns
    -------
    (g,) float64
        E_k [-], 0 to 1; small is significant; 1 where all values are equal.

    Raises
    ------
    InvalidSample
        If n < 4 or k lies outside 1 to n/2.

    Notes
    -----
    With z ordered by distance from the mean of all,

    .. math::  E_k = \sum_{i=1}^{n-k} (z_i - \bar z_k)^2 \Big/ \sum_{i=1}^{n} (z_i - \bar z)^2

    Source: Technometrics 14 (1972) 583-597; NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.2.

    Examples
    --------
    Residuals of the semi-diameter of Venus, k = 2: 0.292.

    >>> venus = np.array([[-1.40, -.44, -.30, -.24, -.22, -.13, -.05, .06, .10, .18, .20, .39, .48, .63, 1.01]])
    >>> tietjen_moore_statistic(venus, k=2)
    array([0.292])
    """
    n = check_sample(x, at_least=4)
    taken = check_size(k, at_least=1, at_most=n // 2)
    mean, _ = mean_and_sd(x)
    away = x - mean[:, np.newaxis]
    order = np.argsort(np.abs(away), axis=-1, kind="stable")
    near = np.take_along_axis(away, order, axis=-1)
    rest = near[:, : n - taken]
    middle = row_sum(rest) / (n - taken)
    inner = row_sum((rest - middle[:, np.newaxis]) ** 2)
    whole = row_sum(near * near)
    statistic = np.ones_like(whole)
    np.divide(inner, whole, out=statistic, where=whole > 0.0)
    return statistic


def tietjen_moore_p_value(
    statistic: float, *, n: int, k: int, samples: int, rng: np.random.Generator
) -> SimulatedProbability:
    """Probability of an E_k at most as large in a normal sample, by simulation.

    Parameters
    ----------
    statistic : float
        E_k of a sample [-], 0 to 1.
    n, k : int
        Values in the sample and suspects [-].
    samples : int
        Normal samples to simulate [-], 1000 or more.
    rng : numpy.random.Generator
        Source of random numbers; the same state gives the same result.

    Returns
    -------
    SimulatedProbability

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Source: as ``tietjen_moore_statistic``; the published critical values were simulated too.

    Examples
    --------
    >>> p = tietjen_moore_p_value(0.2920, n=15, k=2, samples=20_000, rng=np.random.default_rng(1))
    >>> abs(p.value - 0.0333) < 4 * p.standard_error
    True
    """
    if not 0.0 <= statistic <= 1.0:
        raise InvalidSample(f"expected a statistic from 0 to 1; got {statistic!r}")
    size = check_size(n, at_least=4)
    taken = check_size(k, at_least=1, at_most=size // 2)
    wanted = check_size(samples, at_least=1000)
    count = 0
    for start in range(0, wanted, _CHUNK):
        block = np.sort(rng.standard_normal((min(_CHUNK, wanted - start), size)), axis=-1)
        count += int(np.count_nonzero(tietjen_moore_statistic(block, k=taken) <= statistic))
    return SimulatedProbability.from_count(count, wanted)
