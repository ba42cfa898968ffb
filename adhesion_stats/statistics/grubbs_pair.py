r"""Grubbs' tests for two outliers: both in one tail of a normal sample, or one at either end.

A test for one outlier may miss two that lie together, because each widens the standard deviation against which the
other is measured.

When to use which
-----------------
``grubbs_pair``   two in one tail: sum of squares without the two over the whole. Exact, n = 4 to 100.
``grubbs_ends``   one at either end: range over standard deviation. Exact from sqrt(3 (n - 1)/2) on, simulated below,
                  n = 4 to 30.
``..._statistic``, ``..._critical``, ``..._p_value``   their parts.

Only exact values may be passed: a value known within bounds is no observation of the size of a value.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.grubbs_pair_distribution import LARGEST_N, below, lower_point
from adhesion_stats.statistics.screening import SIDES, Sides

__all__ = ["PairScreen", "grubbs_pair", "grubbs_pair_critical", "grubbs_pair_p_value", "grubbs_pair_statistic"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PairScreen:
    """What a test for two outliers says of g samples of n values each.

    Attributes
    ----------
    n : int
        Values per sample [-].
    critical : float
        Critical value of the statistic at the level asked for [-].
    statistic : (g,) float64
        Test statistic, from the values as recorded [-].
    position : (g, 2) int64
        Columns of the two suspects in the ascending block.
    flagged : (g,) bool
        Statistic beyond the critical value, whatever the true values were within the recording step.
    within_step : (g,) bool
        Statistic beyond the critical value as recorded, but not surely so within the recording step: no flag.
    """

    n: int
    critical: float
    statistic: Values
    position: NDArray[np.int64]
    flagged: NDArray[np.bool_]
    within_step: NDArray[np.bool_]


def grubbs_pair_statistic(x: Values, *, sides: Sides) -> tuple[Values, NDArray[np.bool_]]:
    r"""Sum of squares without the two suspects over the whole sum of squares; small is significant.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 4
        Exact values, any unit.
    sides : {"low", "high", "two"}
        ``two`` takes the end with the smaller ratio (the low one if both are equal).

    Returns
    -------
    statistic : (g,) float64
        Ratio, 0 to 1 [-]; 1 where all values are equal.
    high : (g,) bool
        True where the suspects are the two largest values.

    Raises
    ------
    InvalidSample
        If n < 4.

    Notes
    -----
    .. math::  S^2_{n-1,n}/S^2 \quad\text{or}\quad S^2_{1,2}/S^2

    Source: Annals of Mathematical Statistics 21 (1950) 27-58; ASTM E178 (two outliers); ISO 5725-2:1994, 7.3.4.3
    (clause from memory, unverified).

    Examples
    --------
    ASTM E178 example 3, elongation at break, two lowest of ten: 1.19655 / 5.35104.

    >>> elongation = np.array([[2.02, 2.22, 3.04, 3.23, 3.59, 3.73, 3.94, 4.05, 4.11, 4.13]])
    >>> grubbs_pair_statistic(elongation, sides="low")[0]
    array([0.2236])
    """
    n = check_sample(x, at_least=4)
    check_choice("sides", sides, among=SIDES)
    _, sd = mean_and_sd(x)
    whole = sd * sd * (n - 1)

    def ratio(rest: Values) -> Values:
        _, spread = mean_and_sd(np.ascontiguousarray(rest))
        found = np.ones_like(whole)
        np.divide(spread * spread * (n - 3), whole, out=found, where=whole > 0.0)
        return np.minimum(found, 1.0)

    if sides == "high":
        return ratio(x[:, :-2]), np.ones(x.shape[0], dtype=np.bool_)
    low = ratio(x[:, 2:])
    if sides == "low":
        return low, np.zeros(x.shape[0], dtype=np.bool_)
    upper = ratio(x[:, :-2])
    return np.minimum(low, upper), upper < low


def grubbs_pair_critical(*, n: int, alpha: float, sides: Sides) -> float:
    """Critical value of the ratio for two outliers in one tail.

    Parameters
    ----------
    n : int
        Values in the sample [-], 4 to 100.
    alpha : float
        Level [-], strictly between 0 and 1.
    sides : {"low", "high", "two"}
        One-sided values are exact. The two-sided one is the one-sided point at alpha / 2, never too large: exact as
        long as both ends can't fall below it at once.

    Returns
    -------
    float
        Critical ratio [-]; flagged is what lies **below** it. Relative error below 1e-10.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Root of the distribution function of ``grubbs_pair_p_value``. The columns headed 1 % and 5 % of ISO 5725-2:1994,
    table 5, hold two-sided points.

    Source: Annals of Mathematical Statistics 21 (1950) 27-58, table V; ASTM E178; ISO 5725-2:1994, table 5.

    Examples
    --------
    Annals of Mathematical Statistics 21 (1950), n = 10, 5 %: 0.2305.

    >>> grubbs_pair_critical(n=10, alpha=0.05, sides="low")
    0.2305
    """
    size = check_size(n, at_least=4, at_most=LARGEST_N)
    level = check_level("alpha", alpha)
    check_choice("sides", sides, among=SIDES)
    return lower_point(n=size, level=0.5 * level if sides == "two" else level)


def grubbs_pair_p_value(statistic: Values, *, n: int, sides: Sides) -> Values:
    r"""Probability of a ratio at most as large in a normal sample.

    Parameters
    ----------
    statistic : (g,) float64
        Ratios [-], each from 0 to 1, of samples of n values each.
    n : int
        Values per sample [-], 4 to 100.
    sides : {"low", "high", "two"}
        One-sided probabilities are exact (absolute error below 1e-12). The two-sided one is twice that, at most 1: an
        upper bound.

    Returns
    -------
    (g,) float64
        p-value [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Of the sum of squares 1, the others hold r and the pair 1 - r, in a direction theta between the distance of its
    middle from the others and its own width. With F_m the distribution function of Grubbs' one-sided statistic of m
    values,

    .. math::  P(R \le c) = \binom n2 \int_0^c \frac{n-3}{2} r^{(n-5)/2}\, \frac1{2\pi} \int
               F_{n-2}\!\left(\sqrt{\frac{(1-r)(n-3)}{r}} \left[\sqrt{\tfrac{n}{2(n-2)}} \cos\theta -
               \frac{|\sin\theta|}{\sqrt 2}\right]\right) d\theta\, dr

    over the theta where the bracket is positive.

    Source: definition of the statistic in Annals of Mathematical Statistics 21 (1950) 27-58; the integral is this
    project's own.

    Examples
    --------
    ASTM E178 example 1, the two highest of ten, ratio 0.0909624:

    >>> grubbs_pair_p_value(np.array([0.0909624]), n=10, sides="high")
    array([0.00226427])
    """
    size = check_size(n, at_least=4, at_most=LARGEST_N)
    check_choice("sides", sides, among=SIDES)
    ratio = np.asarray(statistic, dtype=np.float64)
    if not bool(((ratio >= 0.0) & (ratio <= 1.0)).all()):
        raise InvalidSample("expected ratios from 0 to 1")
    p = below(ratio, n=size)
    return np.minimum(1.0, 2.0 * p) if sides == "two" else p


def grubbs_pair(x: Values, *, alpha: float, sides: Sides, recording_step: float) -> PairScreen:
    """Grubbs' test of each row for two outliers in one tail.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, 4 <= n <= 100
        Exact values, any unit.
    alpha : float
        Level of the test [-].
    sides : {"low", "high", "two"}
        Which end is looked at.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    PairScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    A row is flagged only if no set of true values within half a recording step brings the ratio up to the critical
    value. The bound used for that takes the middle of the pair half a step nearer, its width a whole step smaller and
    the others at those corners of their intervals where they weigh most; since these can't all happen at once, a flag
    that hangs on the last hundredth of a step may not be raised.

    Source: as ``grubbs_pair_critical``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[1.5, 1.6, 3.0, 3.1, 3.1, 3.2]])
    >>> screen = grubbs_pair(x, alpha=0.05, sides="low", recording_step=0.1)
    >>> (screen.flagged, screen.position)
    (array([ True]), array([[0, 1]]))
    """
    statistic, high = grubbs_pair_statistic(x, sides=sides)
    n = int(x.shape[1])
    critical = grubbs_pair_critical(n=n, alpha=alpha, sides=sides)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    beyond = statistic < critical
    flagged = beyond
    if step > 0.0 and beyond.any():
        flagged = beyond.copy()
        flagged[beyond] = _surely_below(x[beyond], high[beyond], step, critical)
    return PairScreen(
        n=n,
        critical=critical,
        statistic=statistic,
        position=np.where(high, n - 2, 0)[:, np.newaxis] + np.arange(2),
        flagged=flagged,
        within_step=beyond & ~flagged,
    )


def _surely_below(x: Values, high: NDArray[np.bool_], step: float, critical: float) -> NDArray[np.bool_]:
    """Whether the ratio stays below the critical value for all true values within half a step."""
    turned = np.where(high[:, np.newaxis], x, -x[:, ::-1])  # the suspects are the two largest
    n = x.shape[1]
    origin = turned[:, (n - 2) // 2]
    rest = turned[:, :-2] - origin[:, np.newaxis]
    pair = 0.5 * (turned[:, -1] + turned[:, -2]) - origin - 0.5 * step
    width = np.maximum(turned[:, -1] - turned[:, -2] - step, 0.0)
    # ratio < critical  <=>  Q < kappa (a D^2 + width^2 / 2), Q of the rest, D = middle of the pair - mean of the rest.
    kappa, a = critical / (1.0 - critical), 2.0 * (n - 2) / n
    d = pair - row_sum(rest) / (n - 2)
    # sqrt(kappa (a D^2 + width^2 / 2)) is convex in D and lies above its tangent at d; sqrt(Q) less the tangent is
    # convex in the true values of the rest, so that its largest value lies at a corner.
    root = np.sqrt(kappa * (a * d * d + 0.5 * width * width))
    slope = np.divide(kappa * a * d, root, out=np.zeros_like(root), where=root > 0.0)
    sure: NDArray[np.bool_] = np.greater(d, 0.5 * step)
    for j in range(n - 1):
        moved = rest + np.where(np.arange(n - 2) < j, -0.5 * step, 0.5 * step)
        mean = row_sum(moved) / (n - 2)
        squares = row_sum((moved - mean[:, np.newaxis]) ** 2)
        sure &= np.sqrt(squares) < root + slope * (pair - mean - d)
    return sure
