r"""Precision of a method: how far results of one laboratory, and of several, lie apart.

A **cell** holds the results of one laboratory at one level. Cells may differ in size; a cell of one result says nothing
about repeatability but counts for the mean and between laboratories. "Laboratory" may be a crew, instrument or day.

When to use which
-----------------
``precision``        repeatability and reproducibility of each level from results, balanced or not.
``precision_cells``  the same from means and standard deviations of cells.

Consistency of laboratories: ``mandel``; largest spread: ``cochran``; furthest mean: ``grubbs``, ``grubbs_pair``.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample

__all__ = ["Cells", "Precision", "cells", "precision", "precision_cells"]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

# Critical difference of two results at about 95 %: 1.96 sqrt 2, rounded as both documents do.
_FACTOR = 2.8


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells of a precision experiment, by ascending level, within it by ascending laboratory; arrays of shape (c,).

    Attributes
    ----------
    level, laboratory : (c,) int64
        Codes.
    count : (c,) int64
        Results in the cell [-].
    mean : (c,) float64
        Mean of the cell, in the unit of the values.
    sd : (c,) float64
        Standard deviation (divisor count - 1); nan where count = 1.
    """

    level: Codes
    laboratory: Codes
    count: Codes
    mean: Values
    sd: Values


@dataclass(frozen=True, eq=False)
class Precision:
    """Precision of a method at g levels; arrays of shape (g,), in the unit of the values unless said otherwise.

    Attributes
    ----------
    level : (g,) int64
        Code of the level.
    laboratories, results : (g,) int64
        Cells and results that entered [-].
    mean : (g,) float64
        Mean of all results (cells weighted by their number of results).
    sd_of_means : (g,) float64
        Standard deviation of the cell means, unweighted; nan with one laboratory.
    repeatability_sd : (g,) float64
        s_r, within laboratories; nan where no cell has two results.
    between_sd : (g,) float64
        s_L, between laboratories; 0 where the estimate of its square is negative.
    between_variance : (g,) float64
        The estimate of s_L squared as it comes out, negative or not, in the squared unit.
    reproducibility_sd : (g,) float64
        s_R, square root of s_L^2 + s_r^2; never less than s_r.
    repeatability_limit, reproducibility_limit : (g,) float64
        r = 2.8 s_r and R = 2.8 s_R: what the difference of two single results stays below in about 95 % of cases.
    """

    level: Codes
    laboratories: Codes
    results: Codes
    mean: Values
    sd_of_means: Values
    repeatability_sd: Values
    between_sd: Values
    between_variance: Values
    reproducibility_sd: Values

    @property
    def repeatability_limit(self) -> Values:
        """(g,): r."""
        return _FACTOR * self.repeatability_sd

    @property
    def reproducibility_limit(self) -> Values:
        """(g,): R."""
        return _FACTOR * self.reproducibility_sd


def cells(values: Values, *, level: NDArray[np.integer], laboratory: NDArray[np.integer]) -> Cells:
    """Count, mean and standard deviation of each cell.

    Parameters
    ----------
    values : (N,) float64
        Results, finite, any unit and order.
    level, laboratory : (N,) int
        Codes of level and laboratory of each result.

    Returns
    -------
    Cells

    Raises
    ------
    InvalidSample
        If shapes differ, codes are no whole numbers, or a value is not finite.

    Notes
    -----
    Source: ISO 5725-2:1994, 7.2 (forms B and C).

    Examples
    --------
    >>> found = cells(np.array([1.0, 2.0, 5.0]), level=np.array([0, 0, 0]), laboratory=np.array([4, 4, 7]))
    >>> (found.laboratory.tolist(), found.mean.tolist(), found.count.tolist())
    ([4, 7], [1.5, 5.0], [2, 1])
    """
    x = np.asarray(values, dtype=np.float64)
    first, second = np.asarray(level), np.asarray(laboratory)
    if x.ndim != 1 or first.shape != x.shape or second.shape != x.shape or x.size == 0:
        raise InvalidSample(
            f"expected one level and one laboratory per value; got shapes {x.shape}, {first.shape} and {second.shape}"
        )
    if not (np.issubdtype(first.dtype, np.integer) and np.issubdtype(second.dtype, np.integer)):
        raise InvalidSample(f"expected whole numbers as codes; got {first.dtype} and {second.dtype}")
    finite = np.isfinite(x)
    if not finite.all():
        at = int(np.argmin(finite))
        raise InvalidSample(f"expected finite numbers; value {at} is {float(x[at])!r}")
    order = np.lexsort((x, second, first))  # by value within the cell, so that the order of entry can't matter
    x, first, second = x[order], first[order].astype(np.int64), second[order].astype(np.int64)
    new = np.concatenate(([True], (first[1:] != first[:-1]) | (second[1:] != second[:-1])))
    start = np.flatnonzero(new)
    count = np.diff(np.append(start, x.size))
    origin = x[start + count // 2]  # referred to a middle value, as in ``mean_and_sd``
    away = x - np.repeat(origin, count)
    shift = np.add.reduceat(away, start) / count
    squares = np.add.reduceat(np.square(away - np.repeat(shift, count)), start)
    sd = np.full(start.size, np.nan)
    np.divide(squares, count - 1, out=sd, where=count > 1)
    return Cells(level=first[start], laboratory=second[start], count=count, mean=origin + shift, sd=np.sqrt(sd))


def precision(values: Values, *, level: NDArray[np.integer], laboratory: NDArray[np.integer]) -> Precision:
    """Repeatability and reproducibility of each level.

    Parameters
    ----------
    values : (N,) float64
        Results, finite, any unit and order.
    level, laboratory : (N,) int
        Codes of level and laboratory of each result.

    Returns
    -------
    Precision

    Raises
    ------
    InvalidSample
        As ``cells``.

    Notes
    -----
    Equations: ``precision_cells``. Source: as there.

    Examples
    --------
    >>> found = precision(np.array([10.0, 12.0, 15.0, 17.0]), level=np.zeros(4, int), laboratory=np.array([1, 1, 2, 2]))
    >>> (float(found.repeatability_sd[0]), float(found.reproducibility_sd[0]))
    (1.414, 3.674)
    """
    x, codes = np.asarray(values, dtype=np.float64), np.asarray(level)
    if x.ndim != 1 or codes.shape != x.shape or not bool(np.isfinite(x).all()):
        cells(x, level=codes, laboratory=laboratory)  # says what is wrong
    # Referred to the smallest value of the level, so that a large common part costs no digits of the cell means.
    _, at = np.unique(codes, return_inverse=True)
    origin = np.full(int(at.max(initial=-1)) + 1, np.inf)
    np.minimum.at(origin, at, x)
    found = precision_cells(cells(x - origin[at], level=codes, laboratory=laboratory))
    return replace(found, mean=origin + found.mean)


def precision_cells(found: Cells) -> Precision:
    r"""Repeatability and reproducibility of each level from the cells.

    Parameters
    ----------
    found : Cells
        Each level and laboratory once, by ascending level; means and standard deviations in one unit.

    Returns
    -------
    Precision

    Raises
    ------
    InvalidSample
        If there is no cell, levels do not ascend, a count is below 1, or a cell of two or more results has no sd.

    Notes
    -----
    With n_i results in cell i of p at a level,

    .. math::  s_r^2 = \frac{\sum (n_i - 1) s_i^2}{\sum (n_i - 1)}, \qquad
               s_d^2 = \frac{1}{p-1} \sum n_i (\bar y_i - \bar{\bar y})^2, \qquad
               \bar{\bar n} = \frac{1}{p-1} \left[\sum n_i - \frac{\sum n_i^2}{\sum n_i}\right]

    .. math::  s_L^2 = \frac{s_d^2 - s_r^2}{\bar{\bar n}} \ (0 \text{ if negative}), \qquad s_R^2 = s_L^2 + s_r^2

    In balanced experiments this is :math:`s_R^2 = s_{\bar x}^2 + s_r^2 (n-1)/n`, not less than :math:`s_r^2`.

    Source: ISO 5725-2:1994, 7.4.5 (clause from memory, unverified); ASTM E691 (repeatability and reproducibility
    standard deviations).

    Examples
    --------
    JCGM 100:2008, H.5: ten days of five voltages, in microvolts above 10 V; between days 43.

    >>> mean = np.array([172.0, 116, 13, 144, 106, 31, 60, 125, 163, 41])
    >>> sd = np.array([60.0, 77, 111, 101, 67, 93, 80, 73, 88, 86])
    >>> days = Cells(np.zeros(10, int), np.arange(10), np.full(10, 5), mean, sd)
    >>> float(precision_cells(days).between_sd[0])
    43.
    """
    if found.level.size == 0:
        raise InvalidSample("expected at least one cell; got none")
    if bool((np.diff(found.level) < 0).any()):
        raise InvalidSample("expected cells by ascending level")
    if bool((found.count < 1).any()) or bool(np.isnan(found.sd[found.count > 1]).any()):
        raise InvalidSample("expected a count of 1 or more in every cell, and an sd wherever it is 2 or more")
    start = np.flatnonzero(np.concatenate(([True], np.diff(found.level) != 0)))
    p = np.diff(np.append(start, found.level.size))

    def total(of: Values) -> Values:
        summed: Values = np.add.reduceat(of, start)
        return summed

    n = found.count.astype(np.float64)
    results = total(n)
    origin = found.mean[start]
    away = found.mean - np.repeat(origin, p)
    weighted, plain = total(n * away) / results, total(away) / p
    within_df = total(n - 1.0)
    within = np.full(start.size, np.nan)
    squares = np.where(found.count > 1, (n - 1.0) * np.square(found.sd), 0.0)
    np.divide(total(squares), within_df, out=within, where=within_df > 0)
    several = p > 1
    of_means = np.full(start.size, np.nan)
    np.divide(total(np.square(away - np.repeat(plain, p))), p - 1, out=of_means, where=several)
    between_mean_square, size = np.full(start.size, np.nan), np.full(start.size, np.nan)
    np.divide(total(n * np.square(away - np.repeat(weighted, p))), p - 1, out=between_mean_square, where=several)
    np.divide(results - total(n * n) / results, p - 1, out=size, where=several)
    between = (between_mean_square - within) / size
    kept = np.maximum(between, 0.0)
    return Precision(
        level=found.level[start],
        laboratories=p.astype(np.int64),
        results=results.astype(np.int64),
        mean=origin + weighted,
        sd_of_means=np.sqrt(of_means),
        repeatability_sd=np.sqrt(within),
        between_sd=np.sqrt(kept),
        between_variance=between,
        reproducibility_sd=np.sqrt(kept + within),
    )
