"""Grubbs' test: does the largest or the smallest value of a normal sample stand out by its studentised distance from
the mean?

When to use which
-----------------
``grubbs``             flags for whole blocks, at a level, aware of the recording step.
``grubbs_statistic``   the statistic alone.
``grubbs_critical``    the critical value, one scalar per (n, alpha, sides).
``grubbs_p_value``     p-values of statistics.

Only exact values may be passed: a value known within bounds is no observation of the size of a value. With n = 3 the
statistic can't exceed 1.1547 and the test sees little; the level holds all the same.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.grubbs_distribution import LARGEST_N, one_beyond, survival, upper_point
from adhesion_stats.statistics.screening import SIDES, OutlierScreen, Sides

__all__ = ["LARGEST_N", "grubbs", "grubbs_critical", "grubbs_p_value", "grubbs_statistic", "least_statistic"]

Values = NDArray[np.float64]


def grubbs_statistic(x: Values, *, sides: Sides) -> tuple[Values, NDArray[np.bool_]]:
    r"""Grubbs' statistic G of each row, and whether its suspect is the largest value.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Exact values, any unit.
    sides : {"low", "high", "two"}
        ``two`` takes the end that lies further from the mean (the low one if both do).

    Returns
    -------
    statistic : (g,) float64
        G [-]; 0 where all values are equal.
    high : (g,) bool
        True where the suspect is the largest value.

    Raises
    ------
    InvalidSample
        If n < 3.

    Notes
    -----
    .. math::  G = (x_n - m)/s \quad\text{or}\quad (m - x_1)/s

    Source: ASTM E178 (single outlier); NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1.

    Examples
    --------
    e-Handbook 1.3.5.17.1, uranium isotope data: G = 2.4687.

    >>> uranium = np.array([[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]])
    >>> g, high = grubbs_statistic(uranium, sides="two")
    >>> (float(g[0]), bool(high[0]))
    (2.4688, True)
    """
    check_choice("sides", sides, among=SIDES)
    n = check_sample(x, at_least=3)
    mean, sd = mean_and_sd(x)
    above, below = x[:, n - 1] - mean, mean - x[:, 0]
    if sides == "high":
        high = np.ones(x.shape[0], dtype=np.bool_)
    elif sides == "low":
        high = np.zeros(x.shape[0], dtype=np.bool_)
    else:
        high = above > below
    distance = np.where(high, above, below)
    statistic = np.zeros_like(distance)
    np.divide(distance, sd, out=statistic, where=sd > 0.0)
    return statistic, high


def grubbs_critical(*, n: int, alpha: float, sides: Sides) -> float:
    r"""Critical value of Grubbs' statistic.

    Parameters
    ----------
    n : int
        Values in the sample [-], 3 to 300.
    alpha : float
        Level: probability of a false flag in a normal sample [-], strictly between 0 and 1.
    sides : {"low", "high", "two"}
        One-sided values are exact. Two-sided ones use the t formula at alpha / 2, which is exact as long as the
        critical value is at least sqrt((n - 1)/2) (at 5 % up to n = 13) and otherwise never too small: the true level
        is 0.0500 of 0.05 at n = 20 and 0.0499 at n = 30.

    Returns
    -------
    float
        Critical value of G [-]; flagged is what exceeds it.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  G_c = \frac{n-1}{\sqrt n} \sqrt{\frac{t^2}{n - 2 + t^2}}, \qquad t = t_{1-\alpha/n,\,n-2}

    holds one-sided where :math:`G_c \ge \sqrt{(n-1)(n-2)/(2n)}`: two values can't both lie so far out. Below, the
    distribution function of ``grubbs_p_value`` is inverted.

    Source: Annals of Mathematical Statistics 21 (1950) 27-58; ASTM E178, table of one-sided critical values.

    Examples
    --------
    ASTM E178, n = 10, one-sided 5 % and 1 %:

    >>> grubbs_critical(n=10, alpha=0.05, sides="high")
    2.176
    >>> grubbs_critical(n=10, alpha=0.01, sides="high")
    2.410
    """
    size = check_size(n, at_least=3, at_most=LARGEST_N)
    level = check_level("alpha", alpha)
    check_choice("sides", sides, among=SIDES)
    return upper_point(n=size, level=level, two_sided=sides == "two")


def grubbs_p_value(statistic: Values, *, n: int, sides: Sides) -> Values:
    r"""Probability of a statistic at least as large in a normal sample.

    Parameters
    ----------
    statistic : (g,) float64
        G of samples of n values each [-].
    n : int
        Values per sample [-], 3 to 300.
    sides : {"low", "high", "two"}
        One-sided probabilities are exact (absolute error below 1e-12). The two-sided one is 2 n P(t > t_G), at most 1:
        exact where G >= sqrt((n - 1)/2), an upper bound otherwise.

    Returns
    -------
    (g,) float64
        p-value [-].

    Raises
    ------
    InvalidSample
        If n lies outside the range.

    Notes
    -----
    The studentised distance u of one given value has :math:`t = u \sqrt{n(n-2)/((n-1)^2 - n u^2)}`, Student's t with
    n - 2 degrees of freedom; density :math:`f_n`. One-sided, the distribution function of the largest is

    .. math::  F_n(G) = 1 - n\,P(t > t_G) \quad\text{for}\quad G \ge u^* = \sqrt{(n-1)(n-2)/(2n)}, \qquad
               F_n(G) = n \int_{1/\sqrt n}^{G} f_n(u)\, F_{n-1}(h(u))\, du \quad\text{below},

    h(u) being the distance within the others that makes the next largest as large as u.

    Source: Annals of Mathematical Statistics 21 (1950) 27-58 (recursion); Biometrika 28 (1936) 308-320 (single
    distance).

    Examples
    --------
    ASTM E178 example 1, G = 2.39 of 10 values:

    >>> grubbs_p_value(np.array([2.3901166]), n=10, sides="high")
    array([0.01182])
    """
    size = check_size(n, at_least=3, at_most=LARGEST_N)
    check_choice("sides", sides, among=SIDES)
    g = np.asarray(statistic, dtype=np.float64)
    if sides == "two":
        return np.minimum(1.0, 2.0 * size * one_beyond(g, size))
    return survival(g, n=size)


def grubbs(x: Values, *, alpha: float, sides: Sides, recording_step: float) -> OutlierScreen:
    """Grubbs' test of each row for one outlier.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, 3 <= n <= 300
        Exact values, any unit.
    alpha : float
        Level of the test [-].
    sides : {"low", "high", "two"}
        Which end is looked at.
    recording_step : float
        Step in which the values were recorded, in the unit of the values (0.1 for readings to one decimal); 0 where
        they were not.

    Returns
    -------
    OutlierScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    A value recorded in steps of w stands for any true value within w/2 of it. A row is flagged only if the suspect's G
    exceeds the critical value for **every** set of such true values. The least favourable set moves the suspect half a
    step towards the rest and pushes the rest apart: its lowest j values half a step down, the others half a step up
    (all j are tried; the ratio is a convex norm over a positive linear term, so its largest value over a box lies at a
    corner, and the sign of its slope ascends with the value). So 1.5, 1.5, 1.6 recorded to 0.1 is no flag: all three
    may be 1.55. The price is power: a flag that hangs on digits which were not recorded is not raised.

    Source: as ``grubbs_critical``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[1.5, 1.5, 1.6], [1.5, 1.5, 9.9]])
    >>> grubbs(x, alpha=0.05, sides="high", recording_step=0.0).flagged
    array([ True,  True])
    >>> grubbs(x, alpha=0.05, sides="high", recording_step=0.1).flagged
    array([False,  True])
    """
    statistic, high = grubbs_statistic(x, sides=sides)
    n = x.shape[1]
    critical = grubbs_critical(n=n, alpha=alpha, sides=sides)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    least = np.minimum(statistic, least_statistic(x, high, step)) if step > 0.0 else statistic
    exceeds = statistic > critical
    flagged = exceeds & (least > critical)
    return OutlierScreen(
        n=n,
        sides=sides,
        critical=critical,
        statistic=statistic,
        high=high,
        least=least,
        flagged=flagged,
        within_step=exceeds & ~flagged,
    )


def least_statistic(x: Values, high: NDArray[np.bool_], step: float) -> Values:
    """Smallest G that the suspect can have with true values within half a step of the recorded ones."""
    # Turned so that the suspect is the last and largest, referred to the middle of the rest.
    turned = np.where(high[:, np.newaxis], x, -x[:, ::-1])
    rest = turned[:, :-1] - turned[:, (x.shape[1] - 1) // 2][:, np.newaxis]
    suspect = turned[:, -1] - turned[:, (x.shape[1] - 1) // 2] - 0.5 * step
    n = x.shape[1]
    largest_ratio = np.zeros(x.shape[0])  # of sum of squares of the rest to squared distance of the suspect
    reachable = np.zeros(x.shape[0], dtype=np.bool_)  # the suspect can sink to the mean of the rest
    for j in range(n):
        moved = rest + np.where(np.arange(n - 1) < j, -0.5 * step, 0.5 * step)
        mean = row_sum(moved) / (n - 1)
        squares = row_sum((moved - mean[:, np.newaxis]) ** 2)
        distance = suspect - mean
        reachable |= distance <= 0.0
        ratio = np.divide(squares, distance * distance, out=np.zeros_like(squares), where=distance > 0.0)
        largest_ratio = np.maximum(largest_ratio, ratio)
    # With D the distance and Q the sum of squares of the others: G = (n-1)/n D / sqrt((Q + D^2 (n-1)/n)/(n-1)).
    least = (n - 1) / n / np.sqrt((largest_ratio + (n - 1) / n) / (n - 1))
    return np.where(reachable, 0.0, least)
