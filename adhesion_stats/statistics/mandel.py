r"""Mandel's h and k: which laboratory lies apart in its mean (h) or its spread (k) at a level?

When to use which
-----------------
``mandel``            h and k of every cell, with flags, aware of the recording step.
``mandel_h``, ``mandel_k``                      the statistics of blocks of cells.
``mandel_h_critical``, ``mandel_k_critical``    critical values.

Each critical value holds for one given cell: among p laboratories at a level, about p times alpha are flagged by chance
(``flags_by_chance``). That is how the two documents use them: as indicators to look at, not as tests for removal.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_positive, check_size
from adhesion_stats.statistics.grubbs import least_statistic

__all__ = ["MandelScreen", "mandel", "mandel_h", "mandel_h_critical", "mandel_k", "mandel_k_critical"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MandelScreen:
    """Mandel's h and k of g levels with p laboratories each; arrays of shape (g, p).

    Attributes
    ----------
    h, k : (g, p) float64
        The statistics, from the values as recorded [-].
    h_critical, k_critical : float
        Critical values [-].
    h_flagged, k_flagged : (g, p) bool
        Beyond the critical value (h on either side), surely so within the recording step.
    """

    h: Values
    k: Values
    h_critical: float
    k_critical: float
    h_flagged: NDArray[np.bool_]
    k_flagged: NDArray[np.bool_]


def mandel_h(means: Values) -> Values:
    r"""Between-laboratory consistency h of each cell.

    Parameters
    ----------
    means : (g, p) float64, p >= 3
        Cell means of each level, laboratories in any order, any unit.

    Returns
    -------
    (g, p) float64
        h [-], signed; 0 where all means of a level are equal.

    Raises
    ------
    InvalidSample
        If the array has another shape or holds something that is not finite.

    Notes
    -----
    .. math::  h_i = (\bar y_i - \bar{\bar y}) / s_{\bar y}

    Source: ASTM E691 (h-value); ISO 5725-2:1994, 7.3.1 (clause from memory, unverified).

    Examples
    --------
    >>> mandel_h(np.array([[1.0, 2.0, 3.0]]))
    array([[-1.,  0.,  1.]])
    """
    x = _block(means, at_least=3)
    ordered = np.sort(x, axis=-1)
    p = x.shape[1]
    origin = ordered[:, p // 2][:, np.newaxis]
    shift = row_sum(ordered - origin)[:, np.newaxis] / p
    sd = np.sqrt(row_sum(np.square(ordered - origin - shift)) / (p - 1))[:, np.newaxis]
    away = x - origin - shift
    h: Values = np.divide(away, sd, out=np.zeros_like(away), where=np.broadcast_to(sd > 0.0, away.shape))
    return h


def mandel_k(sds: Values) -> Values:
    r"""Within-laboratory consistency k of each cell.

    Parameters
    ----------
    sds : (g, p) float64, p >= 2
        Cell standard deviations of each level, zero or positive, all from cells of the same size.

    Returns
    -------
    (g, p) float64
        k [-]; 0 where all are zero.

    Raises
    ------
    InvalidSample
        If the array has another shape or holds a negative or missing number.

    Notes
    -----
    .. math::  k_i = s_i \Big/ \sqrt{\textstyle\sum s_j^2 / p}

    Source: ASTM E691 (k-value); ISO 5725-2:1994, 7.3.1 (clause from memory, unverified).

    Examples
    --------
    >>> mandel_k(np.array([[1.0, 1.0, 2.0]]))
    array([[0.707, 0.707, 1.414]])
    """
    s = _block(sds, at_least=2)
    if bool((s < 0.0).any()):
        raise InvalidSample("expected standard deviations of zero or greater; got a negative one")
    pooled = np.sqrt(row_sum(np.square(np.sort(s, axis=-1))) / s.shape[1])[:, np.newaxis]
    k: Values = np.divide(s, pooled, out=np.zeros_like(s), where=np.broadcast_to(pooled > 0.0, s.shape))
    return k


def mandel_h_critical(*, p: int, alpha: float) -> float:
    r"""Critical value of h for one given laboratory, two-sided.

    Parameters
    ----------
    p : int
        Laboratories [-], 3 or greater.
    alpha : float
        Level for one given cell [-].

    Returns
    -------
    float
        Critical absolute value [-]; exact.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  h_c = \frac{(p-1)\,t}{\sqrt{p\,(t^2 + p - 2)}}, \qquad t = t_{1-\alpha/2,\,p-2}

    Source: ASTM E691 (critical values of h, 0.5 %); ISO 5725-2:1994, 8.3, tables 6 and 7 (1 and 5 %) (clause from
    memory, unverified).

    Examples
    --------
    ASTM E691, p = 8: 2.15 at 0.5 %.

    >>> mandel_h_critical(p=8, alpha=0.005)
    2.15
    """
    size = check_size(p, at_least=3)
    t = -float(special.stdtrit(size - 2, 0.5 * check_level("alpha", alpha)))
    return (size - 1) * t / math.sqrt(size * (t * t + size - 2))


def mandel_k_critical(*, p: int, n: int, alpha: float) -> float:
    r"""Critical value of k for one given laboratory.

    Parameters
    ----------
    p : int
        Laboratories [-], 2 or greater.
    n : int
        Results per cell [-], 2 or greater.
    alpha : float
        Level for one given cell [-].

    Returns
    -------
    float
        Critical value [-]; exact.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  k_c = \sqrt{\frac{p}{1 + (p-1)/F}}, \qquad F = F_{1-\alpha;\; n-1,\, (p-1)(n-1)}

    Source: ASTM E691 (critical values of k, 0.5 %); ISO 5725-2:1994, 8.3, tables 6 and 7 (1 and 5 %) (clause from
    memory, unverified).

    Examples
    --------
    ASTM E691, p = 8, n = 3: 2.06 at 0.5 %.

    >>> mandel_k_critical(p=8, n=3, alpha=0.005)
    2.06
    """
    size, results = check_size(p, at_least=2), check_size(n, at_least=2)
    level = check_level("alpha", alpha)
    # k^2 / p is the cell's share of the sum of variances, Beta((n - 1)/2, (p - 1)(n - 1)/2).
    rest = float(special.betaincinv(0.5 * (size - 1) * (results - 1), 0.5 * (results - 1), level))
    return math.sqrt(size * (1.0 - rest))


def mandel(means: Values, sds: Values, *, n: int, alpha: float, recording_step: float) -> MandelScreen:
    r"""Mandel's h and k of every cell, with flags.

    Parameters
    ----------
    means, sds : (g, p) float64, p >= 3
        Cell means and standard deviations of each level, laboratories in the same order.
    n : int
        Results per cell [-], 2 or greater.
    alpha : float
        Level for one given cell [-]; 0.005 in ASTM E691, 0.01 and 0.05 in ISO 5725-2.
    recording_step : float
        Step in which the results were recorded, in their unit; 0 where they were not.

    Returns
    -------
    MandelScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    True values within half a step w of the recorded ones move a mean by no more than w/2, and a standard deviation by
    no more than :math:`\tfrac w2 \sqrt{n/(n-1)}`. Flags are raised only where they would be for all such values.

    Source: as the critical values; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> means = np.array([[10.0, 10.1, 10.1, 10.2, 10.2, 14.0]])
    >>> screen = mandel(means, np.full((1, 6), 0.1), n=3, alpha=0.01, recording_step=0.0)
    >>> screen.h_flagged.tolist()
    [[False, False, False, False, False, True]]
    """
    h, k = mandel_h(means), mandel_k(sds)
    if h.shape != k.shape:
        raise InvalidSample(f"expected as many means as standard deviations; got shapes {h.shape} and {k.shape}")
    p = int(h.shape[1])
    h_critical, k_critical = mandel_h_critical(p=p, alpha=alpha), mandel_k_critical(p=p, n=n, alpha=alpha)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    h_flagged, k_flagged = np.abs(h) > h_critical, k > k_critical
    if step > 0.0:
        h_flagged &= _surely_apart(np.asarray(means, dtype=np.float64), h > 0.0, step, h_critical)
        change = 0.5 * step * math.sqrt(n / (n - 1))
        least = np.square(np.maximum(sds - change, 0.0))
        others = row_sum(np.square(sds + change))[:, np.newaxis] - np.square(sds + change)
        k_flagged &= p * least > k_critical**2 * (least + others)
    return MandelScreen(
        h=h, k=k, h_critical=h_critical, k_critical=k_critical, h_flagged=h_flagged, k_flagged=k_flagged
    )


def _surely_apart(means: Values, above: NDArray[np.bool_], step: float, critical: float) -> NDArray[np.bool_]:
    """(g, p): whether each cell's |h| exceeds the critical value for all true means within half a step."""
    found = np.zeros(means.shape, dtype=np.bool_)
    for cell in range(means.shape[1]):
        # The cell is put where ``least_statistic`` expects its suspect: last if above the mean, else first.
        others = np.sort(np.delete(means, cell, axis=1), axis=-1)
        own = means[:, cell][:, np.newaxis]
        arranged = np.where(above[:, cell][:, np.newaxis], np.hstack([others, own]), np.hstack([own, others]))
        found[:, cell] = least_statistic(np.ascontiguousarray(arranged), above[:, cell], step) > critical
    return found


def _block(x: Values, *, at_least: int) -> Values:
    block = np.asarray(x, dtype=np.float64)
    if block.ndim != 2 or block.shape[1] < at_least:
        raise InvalidSample(f"expected cells of shape (g, p) with p of at least {at_least}; got shape {block.shape}")
    if not bool(np.isfinite(block).all()):
        raise InvalidSample("expected a finite number in every cell")
    return block
