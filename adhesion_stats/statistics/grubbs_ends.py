r"""Grubbs' test for one outlier at either end of a normal sample: range over standard deviation.

``grubbs_ends`` gives flags for whole blocks; ``grubbs_ends_statistic``, ``grubbs_ends_critical`` and
``grubbs_ends_p_value`` are its parts. The p-value is exact where no second pair of values can lie as far apart, and
comes from a table of simulated probabilities below (``grubbs_ends_levels``).

Imports: numpy, scipy.special, scipy.optimize, scipy.interpolate and this room. Must not import pandas, scipy.stats, or
any other room.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.grubbs_ends_levels import EXCEEDED
from adhesion_stats.statistics.grubbs_pair import PairScreen

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

__all__ = ["grubbs_ends", "grubbs_ends_critical", "grubbs_ends_p_value", "grubbs_ends_statistic"]

Values = NDArray[np.float64]

_LARGEST_N = max(EXCEEDED)


def grubbs_ends_statistic(x: Values) -> Values:
    r"""Range over standard deviation of each row.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Exact values, any unit.

    Returns
    -------
    (g,) float64
        w/s [-]; 0 where all values are equal.

    Raises
    ------
    InvalidSample
        If n < 3.

    Notes
    -----
    .. math::  w/s = (x_n - x_1)/s

    Source: Biometrika 41 (1954) 482-493; ASTM E178 (one outlier at either end).

    Examples
    --------
    ASTM E178 example 2, residuals of the semi-diameter of Venus: w/s = 4.374.

    >>> venus = np.array([[-1.40, -.44, -.30, -.24, -.22, -.13, -.05, .06, .10, .18, .20, .39, .48, .63, 1.01]])
    >>> grubbs_ends_statistic(venus)
    array([4.374])
    """
    check_sample(x, at_least=3)
    _, sd = mean_and_sd(x)
    statistic = np.zeros_like(sd)
    np.divide(x[:, -1] - x[:, 0], sd, out=statistic, where=sd > 0.0)
    return statistic


def grubbs_ends_p_value(statistic: Values, *, n: int) -> Values:
    r"""Probability of a range over standard deviation at least as large in a normal sample.

    Parameters
    ----------
    statistic : (g,) float64
        w/s of samples of n values each [-].
    n : int
        Values per sample [-], 4 to 30.

    Returns
    -------
    (g,) float64
        p-value [-]. Exact (relative error below 1e-12) where w/s >= sqrt(3 (n - 1)/2); below, simulated: standard error
        at most 4e-4, and at most 0.03 % of a p-value under 0.1.

    Raises
    ------
    InvalidSample
        If n lies outside the range.

    Notes
    -----
    A given pair is q sd apart with the probability of Student's t, n - 2 degrees of freedom, so that

    .. math::  P(w/s > q) = n(n-1)\, P\!\left(t > \sqrt{\frac{(n-2)\,q^2}{2(n-1) - q^2}}\right)
               \quad\text{for}\quad q \ge \sqrt{3(n-1)/2}

    where no two pairs can both be that far apart. Below, monotone cubic interpolation of ``EXCEEDED``.

    Source: Biometrika 41 (1954) 482-493 (closed form of the upper tail); the table below it is this project's own.

    Examples
    --------
    >>> grubbs_ends_p_value(np.array([4.374264]), n=15)
    array([0.0152])
    """
    size = check_size(n, at_least=4, at_most=_LARGEST_N)
    q = np.asarray(statistic, dtype=np.float64)
    share = np.minimum(q * q / (2.0 * (size - 1)), 1.0)
    with np.errstate(divide="ignore"):
        t = np.sqrt((size - 2) * share / (1.0 - share))
    p: Values = np.minimum(1.0, size * (size - 1) * special.stdtr(size - 2, -t))
    low, high = _ends(size)
    inside = q < high
    if inside.any():
        p[inside] = np.clip(_interpolant(size)(np.maximum(q[inside], low)), 0.0, 1.0)
    return p


def grubbs_ends_critical(*, n: int, alpha: float) -> float:
    """Critical value of range over standard deviation.

    Parameters
    ----------
    n : int
        Values in the sample [-], 4 to 30.
    alpha : float
        Level [-], strictly between 0 and 1.

    Returns
    -------
    float
        Critical w/s [-]; flagged is what exceeds it. Exact where it is at least sqrt(3 (n - 1)/2) (at 5 % to n = 10, at
        1 % to n = 13); above, its level is off by a standard error of at most 0.03 % of itself.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Root of ``grubbs_ends_p_value``.

    Source: Biometrika 41 (1954) 482-493; ASTM E178.

    Examples
    --------
    >>> grubbs_ends_critical(n=10, alpha=0.05)
    3.685
    """
    size = check_size(n, at_least=4, at_most=_LARGEST_N)
    level = check_level("alpha", alpha)
    t = -float(special.stdtrit(size - 2, level / (size * (size - 1))))
    by_formula = math.sqrt(2.0 * (size - 1) * t * t / (size - 2 + t * t))
    low, high = _ends(size)
    if t > 0.0 and by_formula >= high:
        return by_formula
    from scipy import optimize  # loads as long as all else together

    curve = _interpolant(size)
    return float(optimize.brentq(lambda q: float(curve(q)) - level, low, high, xtol=1e-14))


def grubbs_ends(x: Values, *, alpha: float, recording_step: float) -> PairScreen:
    """Grubbs' test of each row for one outlier at either end.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, 4 <= n <= 30
        Exact values, any unit.
    alpha : float
        Level of the test [-].
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    PairScreen
        ``position`` holds the smallest and the largest value. The test says that the two lie too far apart; which of
        them is to blame, one-sided tests say.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    A row is flagged only if w/s exceeds the critical value for every set of true values within half a recording step.
    The least value lies at a corner of their intervals (sd over range is a convex norm over a positive linear term).

    Source: as ``grubbs_ends_critical``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[0.5, 2.3, 2.4, 2.4, 2.4, 2.4, 2.5, 4.6], [2.3, 2.4, 2.4, 2.4, 2.4, 2.4, 2.4, 2.5]])
    >>> grubbs_ends(x, alpha=0.05, recording_step=0.1).flagged
    array([ True, False])
    """
    statistic = grubbs_ends_statistic(x)
    n = int(x.shape[1])
    critical = grubbs_ends_critical(n=n, alpha=alpha)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    beyond = statistic > critical
    flagged = beyond
    if step > 0.0 and beyond.any():
        flagged = beyond.copy()
        flagged[beyond] = _least_statistic(x[beyond], step) > critical
    return PairScreen(
        n=n,
        critical=critical,
        statistic=statistic,
        position=np.broadcast_to(np.array([0, n - 1]), (x.shape[0], 2)),
        flagged=flagged,
        within_step=beyond & ~flagged,
    )


def _ends(n: int) -> tuple[float, float]:
    """The least possible w/s, and the one from which on the closed form is exact."""
    least = 2.0 * math.sqrt((n - 1) / n) if n % 2 == 0 else 2.0 * math.sqrt(n / (n + 1))
    return least, math.sqrt(1.5 * (n - 1))


@lru_cache(maxsize=_LARGEST_N)
def _interpolant(n: int) -> PchipInterpolator:
    from scipy.interpolate import PchipInterpolator  # loads as long as all else together

    return PchipInterpolator(np.linspace(*_ends(n), len(EXCEEDED[n])), EXCEEDED[n])


def _least_statistic(x: Values, step: float) -> Values:
    """Smallest w/s with true values within half a step of the recorded ones."""
    n = x.shape[1]
    centred = x - x[:, n // 2][:, np.newaxis]
    worst = np.zeros(x.shape[0])  # largest sum of squares over squared range
    reachable = np.zeros(x.shape[0], dtype=np.bool_)
    for first in (-0.5, 0.5):
        for last in (-0.5, 0.5):
            for j in range(1, n):
                shift = np.where(np.arange(n) < j, -0.5, 0.5)
                shift[0], shift[-1] = first, last
                moved = centred + shift * step
                spread = moved[:, -1] - moved[:, 0]
                mean = row_sum(moved) / n
                squares = row_sum((moved - mean[:, np.newaxis]) ** 2)
                reachable |= spread <= 0.0
                worst = np.maximum(
                    worst, np.divide(squares, spread * spread, out=np.zeros_like(squares), where=spread > 0.0)
                )
    least = np.sqrt(np.divide(n - 1, worst, out=np.zeros_like(worst), where=worst > 0.0))
    return np.where(reachable, 0.0, least)
