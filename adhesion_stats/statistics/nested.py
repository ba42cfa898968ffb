r"""Nested spread: how much of the variance lies between groups, between parts within groups, and within parts.

Three levels, such as pulls within measurements within zones. Parts and groups may differ in size: components are those
of the analysis of variance (mean squares set equal to their expectations), which is Henderson's method 1; for equal
sizes it is the closed form. For two levels use ``precision``.

Estimates may be negative where there is little to see; they are returned as they come out beside the ones cut at zero.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.precision import cells

__all__ = ["NestedSpread", "nested_spread"]

Values = NDArray[np.float64]


@dataclass(frozen=True)
class NestedSpread:
    """Components of variance of three nested levels, in the squared unit of the values.

    Attributes
    ----------
    groups, parts, results : int
        Numbers of groups, of parts in all groups, and of results [-].
    mean : float
        Mean of all results, in their unit.
    sum_of_squares : tuple of float
        Between groups, between parts within groups, within parts.
    degrees_of_freedom : tuple of int
        Of these three [-].
    raw : tuple of float
        Components between groups, between parts within groups, within parts, as they come out, negative or not; nan
        where there is no degree of freedom.
    sizes : tuple of float
        Coefficients of the expected mean squares [-]: of the part component in the mean square of parts and in that of
        groups, and of the group component in that of groups. All whole in balanced data.
    """

    groups: int
    parts: int
    results: int
    mean: float
    sum_of_squares: tuple[float, float, float]
    degrees_of_freedom: tuple[int, int, int]
    raw: tuple[float, float, float]
    sizes: tuple[float, float, float]

    @property
    def components(self) -> tuple[float, float, float]:
        """The components with negative ones set to 0; nan stays nan."""
        group, part, within = (value if math.isnan(value) else max(value, 0.0) for value in self.raw)
        return group, part, within

    @property
    def sds(self) -> tuple[float, float, float]:
        """Standard deviations between groups, between parts, within parts, in the unit of the values."""
        group, part, within = (math.sqrt(value) for value in self.components)
        return group, part, within


def nested_spread(values: Values, *, group: NDArray[np.integer], part: NDArray[np.integer]) -> NestedSpread:
    r"""Components of variance of results within parts within groups.

    Parameters
    ----------
    values : (N,) float64
        Results, finite, any unit and order.
    group, part : (N,) int
        Codes of group and part of each result. Parts are nested: part 1 of group 1 and part 1 of group 2 are different.

    Returns
    -------
    NestedSpread

    Raises
    ------
    InvalidSample
        If shapes differ, codes are no whole numbers, a value is not finite, or no part has two results.

    Notes
    -----
    With n_ij results in part j of group i, n_i in group i, N in all, a groups, b parts,

    .. math::  E(MS_w) = \sigma^2, \qquad E(MS_p) = \sigma^2 + k_1 \sigma_p^2, \qquad
               E(MS_g) = \sigma^2 + k_2 \sigma_p^2 + k_3 \sigma_g^2

    .. math::  k_1 = \frac{N - \sum_i \sum_j n_{ij}^2/n_i}{b - a}, \quad
               k_2 = \frac{\sum_i \sum_j n_{ij}^2 (1/n_i - 1/N)}{a - 1}, \quad
               k_3 = \frac{N - \sum_i n_i^2/N}{a - 1}

    Source: Biometrics 9 (1953) 226-252 (method 1); ISO 5725-3:1994, annex B (clause from memory, unverified)
    (three-factor nested experiment).

    Examples
    --------
    >>> values = np.array([1.0, 3.0, 4.0, 6.0, 10.0, 12.0, 11.0, 15.0])
    >>> found = nested_spread(values, group=np.array([0, 0, 0, 0, 1, 1, 1, 1]), part=np.array([0, 0, 1, 1, 0, 0, 1, 1]))
    >>> (found.sum_of_squares, found.degrees_of_freedom)
    ((144.5, 13.0, 14.0), (1, 2, 4))
    """
    x = np.asarray(values, dtype=np.float64)
    # Referred to the smallest value, so that a large common part costs no digits; 0 if there is something wrong to say.
    origin = float(np.min(x)) if x.size and bool(np.isfinite(x).all()) else 0.0
    inner = cells(x - origin, level=group, laboratory=part)
    start = np.flatnonzero(np.concatenate(([True], np.diff(inner.level) != 0)))
    n = inner.count.astype(np.float64)
    a, b = int(start.size), int(n.size)
    parts = np.diff(np.append(start, b))
    in_group: Values = np.add.reduceat(n, start)
    total = float(np.sum(n))
    df = (a - 1, b - a, int(total) - b)
    if df[2] < 1:
        raise InvalidSample("expected at least one part with two results; spread within parts can't be told otherwise")
    away = inner.mean
    group_mean = np.add.reduceat(n * away, start) / in_group
    grand = float(np.sum(in_group * group_mean)) / total
    within = float(np.sum(np.where(inner.count > 1, (n - 1.0) * np.square(inner.sd), 0.0)))
    between_parts = float(np.sum(n * np.square(away - np.repeat(group_mean, parts))))
    between_groups = float(np.sum(in_group * np.square(group_mean - grand)))
    squares_by_group = np.add.reduceat(n * n, start)
    shared = float(np.sum(squares_by_group / in_group))
    k_1 = (total - shared) / df[1] if df[1] else math.nan
    k_2 = (shared - float(np.sum(squares_by_group)) / total) / df[0] if df[0] else math.nan
    k_3 = (total - float(np.sum(in_group * in_group)) / total) / df[0] if df[0] else math.nan
    result = within / df[2]
    part_component = (between_parts / df[1] - result) / k_1 if df[1] else math.nan
    group_component = (between_groups / df[0] - result - k_2 * part_component) / k_3 if df[0] else math.nan
    return NestedSpread(
        groups=a,
        parts=b,
        results=int(total),
        mean=float(origin + grand),
        sum_of_squares=(between_groups, between_parts, within),
        degrees_of_freedom=df,
        raw=(group_component, part_component, result),
        sizes=(k_1, k_2, k_3),
    )
