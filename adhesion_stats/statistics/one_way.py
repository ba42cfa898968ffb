r"""One-way analysis of variance: do group means differ more than the spread within groups explains?

Sums of squares are computed in whole numbers from the decimals that the values were recorded as (see ``decimals``), so
that constant leading digits cost nothing. The test assumes normal groups of one spread; ``precision`` turns the same
sums into components of variance, ``two_samples`` compares two means without equal spreads. Only exact values may be
passed: a value known within bounds has no place in a sum of squares.

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
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_positive
from adhesion_stats.statistics.decimals import whole_numbers
from adhesion_stats.statistics.within_step import largest_squares

__all__ = ["OneWay", "one_way"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class OneWay:
    """Analyses of variance of one factor, g sets of one layout; arrays of shape (g,).

    Attributes
    ----------
    groups, results : int
        Numbers of groups and of values in each set [-].
    between, within : (g,) float64
        Sums of squares between and within groups, in the squared unit of the values.
    df_between, df_within : int
        Their degrees of freedom [-].
    statistic : (g,) float64
        F, ratio of the mean squares [-]; inf where nothing varies within groups.
    p_value : (g,) float64
        Probability of a larger F where all groups are alike, from the values as recorded [-].
    p_largest : (g,) float64
        Upper end of the p-values of all values that would have been recorded alike [-].
    share_between : (g,) float64
        Sum of squares between groups over that of all (R squared) [-].
    sd_within : (g,) float64
        Square root of the mean square within groups, in the unit of the values.
    """

    groups: int
    results: int
    between: Values
    within: Values
    df_between: int
    df_within: int
    statistic: Values
    p_value: Values
    p_largest: Values
    share_between: Values
    sd_within: Values


def one_way(values: Values, *, group: NDArray[np.integer], recording_step: float) -> OneWay:
    r"""One-way analysis of variance of values in groups.

    Parameters
    ----------
    values : (g, N) float64
        Sets of exact values, any unit and order; taken as the decimals that they print as (15 digits at most).
    group : (N,) int
        Code of the group of each column.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    OneWay

    Raises
    ------
    InvalidSample
        If shapes differ, codes are no whole numbers, a value is not exact, there are fewer than two groups, no group
        has two values, all values of a set are equal, or the step is negative.

    Notes
    -----
    With n_i values of sum T_i in group i of a, N of sum T in all,

    .. math::  S_b = \sum T_i^2/n_i - T^2/N, \qquad S_w = \sum x^2 - \sum T_i^2/n_i, \qquad
               F = \frac{S_b/(a - 1)}{S_w/(N - a)}

    in exact fractions; rounded once at the end. Exact for normal groups of equal spread. With a recording step, F is
    bounded from below by the largest S_w of all true values and the least that S_b can fall to along its own slope;
    not both may happen at once.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.3 (one-way ANOVA); NIST Statistical Reference
    Datasets, analysis of variance; the treatment of the recording step is this project's own.

    Examples
    --------
    NIST StRD set SmLs07, nine groups of 21 values with thirteen constant leading digits: certified F = 21.

    >>> centre = np.array([4, 3, 5, 3, 5, 3, 5, 3, 5])[:, np.newaxis]
    >>> tenths = np.concatenate((centre, np.tile(np.concatenate((centre - 1, centre + 1), axis=1), 10)), axis=1)
    >>> values = np.array([[float(f"1000000000000.{tenth}") for tenth in tenths.ravel()]])
    >>> found = one_way(values, group=np.repeat(np.arange(9), 21), recording_step=0.0)
    >>> (float(found.statistic[0]), float(found.within[0]), float(found.sd_within[0]))
    (21.0, 1.8, 0.1)
    """
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    x, codes = np.asarray(values, dtype=np.float64), np.asarray(group)
    if x.ndim != 2 or codes.shape != x.shape[1:] or not np.issubdtype(codes.dtype, np.integer):
        raise InvalidSample(
            f"expected values of shape (g, N) and a whole number for the group of each column; got values of shape "
            f"{x.shape} and groups {codes.dtype} {codes.shape}"
        )
    if not bool(np.isfinite(x).all()):
        raise InvalidSample("expected exact, finite values; one that is known within bounds has no sum of squares")
    _, at = np.unique(codes, return_inverse=True)
    a, n = int(at.max(initial=-1)) + 1, int(at.size)
    if a < 2 or n == a:
        raise InvalidSample(f"expected two groups or more, one of them with two values or more; got {a} of {n} values")
    flat, unit = whole_numbers(x.ravel())
    whole = np.empty(x.shape, dtype=object)  # Python's own numbers: no sum can overflow
    whole.flat[:] = flat
    members = [np.flatnonzero(at == code) for code in range(a)]
    sums = np.stack([whole[:, one].sum(axis=-1) for one in members], axis=-1)
    squares = (whole * whole).sum(axis=-1)
    found = np.array(
        [
            _analysed(row.tolist(), int(square), [one.size for one in members], unit)
            for row, square in zip(sums, squares, strict=True)
        ],
        dtype=np.float64,
    ).reshape(x.shape[0], 5)
    flat_rows = np.isnan(found[:, 2])
    if bool(flat_rows.any()):
        raise InvalidSample(
            f"expected values that differ; all of set {int(np.argmax(flat_rows))} are equal, no spread to judge by"
        )
    statistic = found[:, 2]
    p = np.where(np.isinf(statistic), 0.0, special.fdtrc(a - 1, n - a, np.where(np.isinf(statistic), 1.0, statistic)))
    most = p
    if step > 0.0:
        most = np.maximum(p, special.fdtrc(a - 1, n - a, _least_f(x, members, step)))
    return OneWay(
        groups=a,
        results=n,
        between=found[:, 0],
        within=found[:, 1],
        df_between=a - 1,
        df_within=n - a,
        statistic=statistic,
        p_value=p,
        p_largest=most,
        share_between=found[:, 3],
        sd_within=found[:, 4],
    )


def _analysed(sums: list[int], squares: int, sizes: list[int], unit: int) -> tuple[float, float, float, float, float]:
    """Sums of squares, F, share and sd of one set, from whole numbers; F is nan where all values are equal."""
    n, a = sum(sizes), len(sizes)
    of_groups = sum((Fraction(total * total, size) for total, size in zip(sums, sizes, strict=True)), Fraction(0))
    between, within = (of_groups - Fraction(sum(sums) ** 2, n)) / unit**2, (squares - of_groups) / unit**2
    if between + within == 0:
        return 0.0, 0.0, math.nan, math.nan, 0.0
    statistic = float(between / (a - 1) / (within / (n - a))) if within else math.inf
    return (
        float(between),
        float(within),
        statistic,
        float(between / (between + within)),
        math.sqrt(within / (n - a)),
    )


def _least_f(x: Values, members: list[NDArray[np.intp]], step: float) -> Values:
    """Lower bound of F with true values within half a step of the recorded ones."""
    n, a = x.shape[1], len(members)
    away = x - x[:, :1]
    means = np.stack([row_sum(np.sort(away[:, one], axis=-1)) / one.size for one in members], axis=-1)
    sizes = np.array([one.size for one in members], dtype=np.float64)
    apart = means - (row_sum(means * sizes) / n)[:, np.newaxis]
    length = np.sqrt(row_sum(sizes * apart * apart))
    # The root of S_b is a norm: it lies above its tangent, which falls by no more than half a step times its slopes.
    slopes = np.divide(row_sum(sizes * np.abs(apart)), length, out=np.zeros_like(length), where=length > 0.0)
    least = np.maximum(length - 0.5 * step * slopes, 0.0)
    within = np.zeros_like(length)
    for one in members:
        within += largest_squares(np.sort(x[:, one], axis=-1), step)
    f: Values = least * least / (a - 1) / (within / (n - a))
    return f
