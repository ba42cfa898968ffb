"""Tietjen and Moore's test for exactly k outliers at either end: sum of squares without the k values furthest from the
mean, over the whole.

There is no exact distribution: p-values and critical values are simulated with the generator passed in, and come with
their standard error. Where k is not known beforehand, use ``esd``.

When to use which
-----------------
``tietjen_moore``             flags for whole blocks, at a level, aware of the recording step.
``tietjen_moore_statistic``   the statistic alone.
``tietjen_moore_critical``    the critical value of (n, k, alpha).
``tietjen_moore_p_value``     p-values of statistics.

Only exact values may be passed: a value known within bounds is no observation of the size of a value.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.within_step import corners

__all__ = [
    "SimulatedPoint",
    "SimulatedProbabilities",
    "SimulatedProbability",
    "TietjenMooreScreen",
    "tietjen_moore",
    "tietjen_moore_critical",
    "tietjen_moore_p_value",
    "tietjen_moore_statistic",
]

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


@dataclass(frozen=True, eq=False)
class SimulatedProbabilities:
    """Probabilities found by one simulation; arrays of shape (g,).

    Attributes
    ----------
    value : (g,) float64
        Estimates [-].
    standard_error : (g,) float64
        Their Monte-Carlo standard errors [-]; those of one simulation, so not independent.
    samples : int
        Samples simulated [-].
    """

    value: Values
    standard_error: Values
    samples: int


@dataclass(frozen=True)
class SimulatedPoint:
    """A point of a distribution found by simulation.

    Attributes
    ----------
    value : float
        Estimate, in the unit of the statistic.
    standard_error : float
        Its Monte-Carlo standard error, in the same unit.
    samples : int
        Samples simulated [-].
    """

    value: float
    standard_error: float
    samples: int


@dataclass(frozen=True, eq=False)
class TietjenMooreScreen:
    """What Tietjen and Moore's test says of g samples of n values each.

    Attributes
    ----------
    n, k : int
        Values per sample, and suspects [-].
    critical : SimulatedPoint
        Critical value of E_k [-]; flagged is what lies below it.
    statistic : (g,) float64
        E_k, from the values as recorded [-].
    position : (g, k) int64
        Columns of the suspects in the ascending block, ascending.
    flagged : (g,) bool
        E_k below the critical value, whatever the true values were within the recording step.
    within_step : (g,) bool
        E_k below the critical value as recorded, but not surely so within the recording step: no flag.
    """

    n: int
    k: int
    critical: SimulatedPoint
    statistic: Values
    position: NDArray[np.int64]
    flagged: NDArray[np.bool_]
    within_step: NDArray[np.bool_]


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
    return _statistic(x, taken)[0]


def _statistic(x: Values, k: int) -> tuple[Values, NDArray[np.int64]]:
    """E_k and the columns of its suspects."""
    n = x.shape[1]
    mean, _ = mean_and_sd(x)
    away = x - mean[:, np.newaxis]
    order = np.argsort(np.abs(away), axis=-1, kind="stable")
    near = np.take_along_axis(away, order, axis=-1)
    rest = near[:, : n - k]
    middle = row_sum(rest) / (n - k)
    inner = row_sum((rest - middle[:, np.newaxis]) ** 2)
    whole = row_sum(near * near)
    statistic = np.ones_like(whole)
    np.divide(inner, whole, out=statistic, where=whole > 0.0)
    return statistic, np.sort(order[:, n - k :], axis=-1)


def tietjen_moore_p_value(
    statistic: Values, *, n: int, k: int, samples: int, rng: np.random.Generator
) -> SimulatedProbabilities:
    """Probability of an E_k at most as large in a normal sample, by simulation.

    Parameters
    ----------
    statistic : (g,) float64
        E_k of samples [-], each from 0 to 1.
    n, k : int
        Values in each sample and suspects [-].
    samples : int
        Normal samples to simulate [-], 1000 or more; the same ones for all statistics.
    rng : numpy.random.Generator
        Source of random numbers; the same state gives the same result.

    Returns
    -------
    SimulatedProbabilities

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Source: as ``tietjen_moore_statistic``; the published critical values were simulated too.

    Examples
    --------
    >>> p = tietjen_moore_p_value(np.array([0.2920]), n=15, k=2, samples=20_000, rng=np.random.default_rng(1))
    >>> bool(abs(p.value[0] - 0.0333) < 4 * p.standard_error[0])
    True
    """
    found = np.asarray(statistic, dtype=np.float64)
    if found.ndim != 1 or not bool(((found >= 0.0) & (found <= 1.0)).all()):
        raise InvalidSample(f"expected a list of statistics from 0 to 1; got {statistic!r}")
    simulated = _simulated(n=n, k=k, samples=samples, rng=rng)
    size = simulated.size
    value = np.searchsorted(simulated, found, side="right") / size
    inner = np.clip(value, 1.0 / size, 1.0 - 1.0 / size)
    return SimulatedProbabilities(value, np.sqrt(inner * (1.0 - inner) / size), size)


def tietjen_moore_critical(*, n: int, k: int, alpha: float, samples: int, rng: np.random.Generator) -> SimulatedPoint:
    """Critical value of E_k, by simulation.

    Parameters
    ----------
    n, k : int
        Values in the sample, 4 or more, and suspects, 1 to n/2 [-].
    alpha : float
        Level [-], strictly between 0 and 1.
    samples : int
        Normal samples to simulate [-], 1000 or more and enough for the level: 100 / alpha is a good number.
    rng : numpy.random.Generator
        Source of random numbers; the same state gives the same result.

    Returns
    -------
    SimulatedPoint
        Flagged is what lies **below** the value [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    The order statistic at the level; its standard error is half the distance of the order statistics one binomial
    standard error above and below.

    Source: as ``tietjen_moore_statistic``; the published critical values were simulated too.

    Examples
    --------
    Printed for n = 15, k = 2 at 5 %: 0.317 in 1972, 0.315 by 10,000 simulations of NIST Dataplot.

    >>> point = tietjen_moore_critical(n=15, k=2, alpha=0.05, samples=20_000, rng=np.random.default_rng(1))
    >>> abs(point.value - 0.3147) < 4 * point.standard_error
    True
    """
    level = check_level("alpha", alpha)
    simulated = _simulated(n=n, k=k, samples=samples, rng=rng)
    size = simulated.size
    spread = math.sqrt(level * (1.0 - level) / size)
    low, value, high = (
        float(simulated[min(max(math.floor(share * size), 0), size - 1)])
        for share in (level - spread, level, level + spread)
    )
    return SimulatedPoint(value, 0.5 * (high - low), size)


def _simulated(*, n: int, k: int, samples: int, rng: np.random.Generator) -> Values:
    """E_k of normal samples, ascending."""
    size = check_size(n, at_least=4)
    taken = check_size(k, at_least=1, at_most=size // 2)
    wanted = check_size(samples, at_least=1000)
    found = np.empty(wanted)
    for start in range(0, wanted, _CHUNK):
        part = min(_CHUNK, wanted - start)
        found[start : start + part] = _statistic(np.sort(rng.standard_normal((part, size)), axis=-1), taken)[0]
    found.sort()
    return found


def tietjen_moore(
    x: Values, *, k: int, alpha: float, recording_step: float, samples: int, rng: np.random.Generator
) -> TietjenMooreScreen:
    r"""Tietjen and Moore's test of each row for exactly k outliers at either end.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 4
        Exact values, any unit.
    k : int
        Number of suspects [-], 1 to n/2.
    alpha : float
        Level of the test [-].
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.
    samples, rng
        Of the simulated critical value, as in ``tietjen_moore_critical``; the generator gives the same bits for one row
        as for many.

    Returns
    -------
    TietjenMooreScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    A row is flagged only if no set of true values within half a recording step brings E_k up to the critical value,
    whichever k values then lie furthest out. For each choice of suspects that is possible, the root of what the
    suspects add to the sum of squares is a norm and lies above its tangent; the root of the others' sum of squares less
    that tangent is convex, with its largest value at a corner (``within_step``). A flag that hangs on the last
    hundredth of a step may not be raised.

    Source: as ``tietjen_moore_statistic``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[0.5, 2.3, 2.4, 2.4, 2.4, 2.4, 2.5, 4.6], [2.3, 2.4, 2.4, 2.4, 2.4, 2.4, 2.4, 2.5]])
    >>> found = tietjen_moore(x, k=2, alpha=0.05, recording_step=0.1, samples=10_000, rng=np.random.default_rng(1))
    >>> (found.flagged, found.position[0])
    (array([ True, False]), array([0, 7]))
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    n = check_sample(x, at_least=4)
    taken = check_size(k, at_least=1, at_most=n // 2)
    critical = tietjen_moore_critical(n=n, k=taken, alpha=alpha, samples=samples, rng=rng)
    statistic, position = _statistic(x, taken)
    beyond = statistic < critical.value
    flagged = beyond
    if step > 0.0 and beyond.any():
        flagged = beyond.copy()
        flagged[beyond] = _surely_below(x[beyond], taken, step, critical.value)
    return TietjenMooreScreen(n, taken, critical, statistic, position, flagged, beyond & ~flagged)


def _surely_below(x: Values, k: int, step: float, critical: float) -> NDArray[np.bool_]:
    """Whether E_k stays below the critical value for all true values within half a step."""
    n = x.shape[1]
    m = n - k
    mean, _ = mean_and_sd(x)
    distance = np.abs(x - mean[:, np.newaxis])
    kappa = critical / (1.0 - critical)  # E_k < critical  <=>  squares of the rest < kappa times what the suspects add
    weight = k * m / n
    sure = np.ones(x.shape[0], dtype=np.bool_)
    for low in range(k + 1):  # so many of the suspects at the low end
        out = np.concatenate((x[:, :low], x[:, m + low :]), axis=-1)
        rest = np.ascontiguousarray(x[:, low : m + low])
        far = np.concatenate((distance[:, :low], distance[:, m + low :]), axis=-1)
        # A distance from the mean moves by no more than a step.
        possible = far.min(axis=-1) + step >= distance[:, low : m + low].max(axis=-1) - step
        origin = rest[:, m // 2]
        middle = row_sum(out - origin[:, np.newaxis]) / k
        apart = middle - row_sum(rest - origin[:, np.newaxis]) / m
        within = out - origin[:, np.newaxis] - middle[:, np.newaxis]
        norm = np.sqrt(kappa * (row_sum(within * within) + weight * apart * apart))
        some = norm > 0.0
        per = np.divide(kappa, norm, out=np.zeros_like(norm), where=some)
        of_suspects = row_sum(np.abs(within + (weight * apart / k)[:, np.newaxis])) * per
        _, squares = corners(rest, step)
        shift = 0.5 * step * (m - 2.0 * np.arange(m + 1))
        tangent = (norm - 0.5 * step * of_suspects)[:, np.newaxis] - (per * weight * apart / m)[:, np.newaxis] * shift
        sure &= ~possible | (some & (np.sqrt(squares) < tangent).all(axis=-1))
    return sure
