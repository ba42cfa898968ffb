"""Description of samples: mean, standard deviation, coefficient of variation, smallest, largest, median.

Use ``describe`` for all of it, ``mean_and_sd`` where only these two are needed.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_sample

__all__ = ["Description", "describe", "mean_and_sd"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Description:
    """Description of g samples of n values each; arrays of shape (g,), in the unit of the values.

    Attributes
    ----------
    n : int
        Values per sample [-].
    mean, sd, smallest, largest, median : (g,) float64
        ``sd`` has divisor n - 1 and is nan for every row where n = 1: one value says nothing about spread.
    cov : (g,) float64
        Coefficient of variation sd / mean [-]. nan where n = 1 and where the mean is 0, and nowhere else.
    """

    n: int
    mean: Values
    sd: Values
    cov: Values
    smallest: Values
    largest: Values
    median: Values


def mean_and_sd(x: Values) -> tuple[Values, Values]:
    r"""Mean and standard deviation (divisor n - 1) of each row.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.

    Returns
    -------
    mean, sd : (g,) float64
        In the unit of the values. ``sd`` is exactly 0 where all values are equal, and nan where n = 1.

    Raises
    ------
    InvalidSample
        If ``x`` is no block.

    Notes
    -----
    Values are first referred to the middle observation c, which makes the differences (nearly always) exact; then in
    two passes

    .. math::  d_i = x_i - c, \qquad \bar d = \frac1n \sum d_i, \qquad m = c + \bar d, \qquad
               s^2 = \frac{1}{n-1} \sum (d_i - \bar d)^2

    The mean difference is smaller than the range of the values, so that its rounding can't show in the sum of squares
    and the usual correction for it has nothing left to correct. Equal values give differences of 0 and s = 0 exactly.
    Source: NIST Statistical Reference Datasets, univariate summary statistics; the digits of agreement with certified
    values are those that double-precision input allows (docs/digits-of-agreement.md).

    Examples
    --------
    NIST StRD set NumAcc1: certified mean 10000002, sd 1.

    >>> mean, sd = mean_and_sd(np.array([[10000001.0, 10000002.0, 10000003.0]]))
    >>> (float(mean[0]), float(sd[0]))
    (10000002.0, 1.0)
    """
    n = check_sample(x, at_least=1)
    middle = x[:, n // 2]
    away = x - middle[:, np.newaxis]
    shift = row_sum(away) / n
    if n == 1:
        return middle + shift, np.full(x.shape[0], np.nan)
    away -= shift[:, np.newaxis]
    away *= away
    return middle + shift, np.sqrt(row_sum(away) / (n - 1))


def describe(x: Values) -> Description:
    """Mean, sd, coefficient of variation, smallest, largest and median of each row.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit. One sample is a block of one row.

    Returns
    -------
    Description

    Raises
    ------
    InvalidSample
        If ``x`` is no block.

    Notes
    -----
    Median: the middle value, or the mean of the two middle values. Source: ``mean_and_sd``; NIST/SEMATECH e-Handbook of
    Statistical Methods, 1.3.5.1 (measures of location; clause from memory, unverified).

    Examples
    --------
    ASTM E178, example 1 (breaking strength of copper wire): mean 575.2, s = 8.70.

    >>> wire = np.array([[568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596]])
    >>> d = describe(wire)
    >>> (float(d.mean[0]), float(d.sd[0]), float(d.median[0]))
    (575.2, 8.70, 572.0)
    """
    mean, sd = mean_and_sd(x)
    n = x.shape[1]
    cov = np.full_like(mean, np.nan)
    np.divide(sd, mean, out=cov, where=mean != 0.0)
    median = x[:, (n - 1) // 2] + 0.5 * (x[:, n // 2] - x[:, (n - 1) // 2])
    return Description(n=n, mean=mean, sd=sd, cov=cov, smallest=x[:, 0], largest=x[:, -1], median=median)
