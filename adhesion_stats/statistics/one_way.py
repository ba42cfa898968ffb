r"""One-way analysis of variance: do group means differ more than the spread within groups explains?

Sums of squares are computed in whole numbers from the decimals that the values were recorded as (see ``decimals``), so
that constant leading digits cost nothing. The test assumes normal groups of one spread; ``precision`` turns the same
sums into components of variance, ``two_samples`` compares two means without equal spreads.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.decimals import whole_numbers

__all__ = ["OneWay", "one_way"]

Values = NDArray[np.float64]


@dataclass(frozen=True)
class OneWay:
    """Analysis of variance of one factor.

    Attributes
    ----------
    groups, results : int
        Numbers of groups and of values [-].
    between, within : float
        Sums of squares between and within groups, in the squared unit of the values.
    df_between, df_within : int
        Their degrees of freedom [-].
    statistic : float
        F, ratio of the mean squares [-]; inf where nothing varies within groups.
    p_value : float
        Probability of a larger F where all groups are alike [-].
    share_between : float
        Sum of squares between groups over that of all (R squared) [-].
    sd_within : float
        Square root of the mean square within groups, in the unit of the values.
    """

    groups: int
    results: int
    between: float
    within: float
    df_between: int
    df_within: int
    statistic: float
    p_value: float
    share_between: float
    sd_within: float


def one_way(values: Values, *, group: NDArray[np.integer]) -> OneWay:
    r"""One-way analysis of variance of values in groups.

    Parameters
    ----------
    values : (N,) float64
        Finite values, any unit and order; taken as the decimals that they print as (15 digits at most).
    group : (N,) int
        Code of the group of each value.

    Returns
    -------
    OneWay

    Raises
    ------
    InvalidSample
        If shapes differ, codes are no whole numbers, a value is not finite, there are fewer than two groups, no group
        has two values, or all values are equal.

    Notes
    -----
    With n_i values of sum T_i in group i of a, N of sum T in all,

    .. math::  S_b = \sum T_i^2/n_i - T^2/N, \qquad S_w = \sum x^2 - \sum T_i^2/n_i, \qquad
               F = \frac{S_b/(a - 1)}{S_w/(N - a)}

    in exact fractions; rounded once at the end. Exact for normal groups of equal spread. Source: NIST/SEMATECH
    e-Handbook of Statistical Methods, 7.4.3.3 (one-way ANOVA); NIST Statistical Reference Datasets, analysis of
    variance.

    Examples
    --------
    NIST StRD set SmLs07, nine groups of 21 values with thirteen constant leading digits: certified F = 21.

    >>> centre = np.array([4, 3, 5, 3, 5, 3, 5, 3, 5])[:, np.newaxis]
    >>> tenths = np.concatenate((centre, np.tile(np.concatenate((centre - 1, centre + 1), axis=1), 10)), axis=1)
    >>> values = np.array([float(f"1000000000000.{tenth}") for tenth in tenths.ravel()])
    >>> found = one_way(values, group=np.repeat(np.arange(9), 21))
    >>> (found.statistic, found.within, found.sd_within)
    (21.0, 1.8, 0.1)
    """
    codes = np.asarray(group)
    whole, unit = whole_numbers(values)
    if codes.shape != (len(whole),) or not np.issubdtype(codes.dtype, np.integer):
        raise InvalidSample(f"expected a whole number for the group of each value; got {codes.dtype} {codes.shape}")
    _, at = np.unique(codes, return_inverse=True)
    a, n = int(at.max(initial=-1)) + 1, len(whole)
    if a < 2 or n == a:
        raise InvalidSample(f"expected two groups or more, one of them with two values or more; got {a} of {n} values")
    sums, sizes = [0] * a, [0] * a
    for code, value in zip(at.tolist(), whole, strict=True):
        sums[code] += value
        sizes[code] += 1
    of_groups = sum((Fraction(total * total, size) for total, size in zip(sums, sizes, strict=True)), Fraction(0))
    every, grand = sum(value * value for value in whole), Fraction(sum(whole) ** 2, n)
    between, within = (of_groups - grand) / unit**2, (every - of_groups) / unit**2
    if between + within == 0:
        raise InvalidSample("expected values that differ; all are equal, no spread to judge by")
    statistic = float(between / (a - 1) / (within / (n - a))) if within else math.inf
    return OneWay(
        groups=a,
        results=n,
        between=float(between),
        within=float(within),
        df_between=a - 1,
        df_within=n - a,
        statistic=statistic,
        p_value=float(special.fdtrc(a - 1, n - a, statistic)) if within else 0.0,
        share_between=float(between / (between + within)),
        sd_within=math.sqrt(within / (n - a)),
    )
