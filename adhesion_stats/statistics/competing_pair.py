"""Two places where pulls break, with strengths assumed to be correlated: the fit at one correlation, and a sweep.

The same data fit with any dependence (Tsiatis, Proceedings of the National Academy of Sciences 72 (1975) 20-22): the
correlation is an assumption, never a result. ``competing_risks`` says what that means and has bounds that need none.

When to use which
-----------------
``fit_dependent``      the fit of two places at one assumed correlation.
``sweep_correlation``  how the answer moves over correlations.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack, row_sum
from adhesion_stats.statistics.bounded import fit_bounded
from adhesion_stats.statistics.checks import check_choice, check_correlation
from adhesion_stats.statistics.families import mean_of

__all__ = ["DependentFit", "fit_dependent", "sweep_correlation"]

Values = NDArray[np.float64]
Mask = NDArray[np.bool_]
Pair = Literal["normal", "lognormal"]

_STEPS = 100


@dataclass(frozen=True, eq=False)
class DependentFit:
    """Two places at one assumed correlation, by maximum likelihood; g samples, column 0 and 1 for each place.

    Attributes
    ----------
    family : {"normal", "lognormal"}
        Distribution of both.
    correlation : float
        Assumed, of the values (normal) or their logarithms [-].
    location, scale : (g, 2) float64
        Of each place; see ``families``.
    mean : (g, 2) float64
        Mean strength of each place, in the unit of the values.
    log_likelihood : (g,) float64
        Says next to nothing about the correlation: it moves little between assumptions.
    """

    family: Pair
    correlation: float
    location: Values
    scale: Values
    mean: Values
    log_likelihood: Values

    def share_below(self, limit: float, *, place: Literal[0, 1]) -> Values:
        """(g,): share of one place's strengths below a limit in the unit of the values [-]."""
        at = limit if self.family == "normal" else math.log(limit)
        share: Values = special.ndtr((at - self.location[:, place]) / self.scale[:, place])
        return share


def fit_dependent(x: Values, first: Mask, *, family: Pair, correlation: float) -> DependentFit:
    r"""Strength of two places whose strengths are assumed to be correlated, by maximum likelihood.

    Parameters
    ----------
    x : (g, n) float64
        Strength at failure of each pull, any unit and order.
    first : (g, n) bool
        True where it broke in place 0, False where in place 1.
    family : {"normal", "lognormal"}
        Distribution of both places.
    correlation : float
        Assumed correlation [-], above -1 and below 1. Only through the shape of the normal distribution could data of
        this kind tell it, and tens of pulls do not.

    Returns
    -------
    DependentFit

    Raises
    ------
    InvalidSample
        If either place has fewer than two distinct exact values, a value is not finite, the likelihood has no highest
        point, or the correlation lies outside its range.

    Notes
    -----
    A pull that broke in place 0 at y contributes, with z = (y - mu) / sigma of each place,

    .. math::  \frac{\varphi(z_0)}{\sigma_0}\, \Phi\!\left(\frac{\rho z_0 - z_1}{\sqrt{1-\rho^2}}\right)

    Its logarithm is concave in (mu / sigma, 1 / sigma) of both places together, so that Newton's method, halved where a
    step leads down, finds the one highest point. At correlation 0 this is the fit of each place with the others as
    bounds.

    Source: by the definition of the bivariate normal distribution; Nadas, Technometrics 13 (1971) 201-202 (the
    identified minimum of a normal pair).

    Examples
    --------
    >>> x = np.array([[1.0, 2.0, 3.0, 4.0, 2.5, 3.5]])
    >>> first = np.array([[True, False, True, False, True, False]])
    >>> fit_dependent(x, first, family="normal", correlation=0.0).mean
    array([[3.3308, 3.3779]])
    """
    check_choice("family", family, among=("normal", "lognormal"))
    rho = check_correlation("correlation", correlation)
    values, mask = np.asarray(x, dtype=np.float64), np.asarray(first, dtype=np.bool_)
    if values.ndim != 2 or mask.shape != values.shape or values.shape[1] < 1:
        raise InvalidSample(f"expected values and places of one shape (g, n); got {values.shape} and {mask.shape}")
    if not bool(np.isfinite(values).all()):
        raise InvalidSample("expected finite strengths at failure; a pull that is known within bounds has none")
    order = np.lexsort((mask, values), axis=-1)
    values, mask = np.take_along_axis(values, order, axis=-1), np.take_along_axis(mask, order, axis=-1)
    start = _independent(values, mask, family)
    y = values if family == "normal" else np.log(values)
    n = y.shape[1]
    centre = row_sum(y) / n
    away = y - centre[:, np.newaxis]
    unit = np.sqrt(row_sum(away * away) / n)
    found, height = _climb(away / unit[:, np.newaxis], mask, _scaled(start, centre, unit), rho)
    scale = unit[:, np.newaxis] / found[:, 1::2]
    location = centre[:, np.newaxis] + scale * found[:, 0::2]
    jacobian = 0.0 if family == "normal" else row_sum(y)
    return DependentFit(
        family, rho, location, scale, mean_of(family, location, scale), height - n * np.log(unit) - jacobian
    )


def sweep_correlation(
    x: Values, first: Mask, *, family: Pair, correlations: Sequence[float]
) -> tuple[DependentFit, ...]:
    """The fit of two places at each of several assumed correlations.

    Parameters
    ----------
    x, first, family
        As in ``fit_dependent``.
    correlations : sequence of float
        Assumed correlations [-].

    Returns
    -------
    tuple of DependentFit
        One for each correlation. The spread between them is what the data leave open.

    Raises
    ------
    InvalidSample
        As ``fit_dependent``.

    Notes
    -----
    Such data can't tell one correlation from another. Source: Tsiatis, Proceedings of the National Academy of Sciences
    72 (1975) 20-22; the fit as ``fit_dependent``.

    Examples
    --------
    >>> x = np.array([[1.0, 2.0, 3.0, 4.0, 2.5, 3.5]])
    >>> first = np.array([[True, False, True, False, True, False]])
    >>> [float(fit.mean[0, 0]) for fit in sweep_correlation(x, first, family="normal", correlations=(0.0, 0.7))]
    [3.3308, 3.04]
    """
    return tuple(fit_dependent(x, first, family=family, correlation=rho) for rho in correlations)


def _independent(values: Values, first: Mask, family: Pair) -> tuple[Values, Values]:
    """Location and scale (g, 2) of each place at correlation 0; refuses what can't be fitted."""
    location, scale = np.empty((values.shape[0], 2)), np.empty((values.shape[0], 2))
    counts = np.count_nonzero(first, axis=-1)
    for count in np.unique(counts).tolist():  # a stack has as many exact values in every row
        rows = np.flatnonzero(counts == count)
        for place, exact in enumerate((first[rows], ~first[rows])):
            high = np.where(exact, values[rows], np.inf)
            order = np.lexsort((high, values[rows]), axis=-1)
            low = np.take_along_axis(values[rows], order, axis=-1)
            fit = fit_bounded(Stack(rows, low, np.take_along_axis(high, order, axis=-1)), family=family)
            location[rows, place], scale[rows, place] = fit.location, fit.scale
    return location, scale


def _scaled(start: tuple[Values, Values], centre: Values, unit: Values) -> Values:
    """(g, 4): location / scale and 1 / scale of both places, in units of the sample."""
    location, scale = start
    found = np.empty((centre.size, 4))
    found[:, 1::2] = unit[:, np.newaxis] / scale
    found[:, 0::2] = (location - centre[:, np.newaxis]) / scale
    return found


def _climb(y: Values, first: Mask, start: Values, rho: float) -> tuple[Values, Values]:
    """The highest point from a start, and its height; rows stop one by one, so that each gives its own bits."""
    at = start.copy()
    height, slope, bend = _likelihood(y, first, at, rho)
    going = np.ones(at.shape[0], dtype=np.bool_)
    for _ in range(_STEPS):
        step = np.linalg.solve(-bend, slope[:, :, np.newaxis])[:, :, 0]
        rise = row_sum(step * slope)  # twice what a parabola would gain
        going &= rise > 1e-18 * y.shape[1]
        if not bool(going.any()):
            break
        stride = np.where(going, 1.0, 0.0)
        for _ in range(60):
            to = at + stride[:, np.newaxis] * step
            inside = (to[:, 1] > 0.0) & (to[:, 3] > 0.0)
            tried, *_ = _likelihood(y, first, np.where(inside[:, np.newaxis], to, at), rho)
            worse = going & ~(inside & (tried >= height - 1e-13 * np.abs(height)))
            if not bool(worse.any()):
                break
            stride = np.where(worse, 0.5 * stride, stride)
        at = np.where(going[:, np.newaxis], at + stride[:, np.newaxis] * step, at)
        height, slope, bend = _likelihood(y, first, at, rho)
    lost = ~np.isfinite(at).all(axis=-1) | (np.abs(slope).max(axis=-1) > 1e-5 * y.shape[1])
    if bool(lost.any()):
        raise InvalidSample(
            f"no fit at correlation {rho!r}: the likelihood of row {int(np.argmax(lost))} has no highest point within "
            "reach"
        )
    return at, height


def _likelihood(y: Values, first: Mask, at: Values, rho: float) -> tuple[Values, Values, Values]:
    """Height (g,), slope (g, 4) and bend (g, 4, 4) in location / scale and 1 / scale of both places."""
    steep = 1.0 / math.sqrt(1.0 - rho * rho)
    z = [at[:, 2 * i + 1, np.newaxis] * y - at[:, 2 * i, np.newaxis] for i in (0, 1)]
    mine, other = np.where(first, z[0], z[1]), np.where(first, z[1], z[0])
    a = steep * (rho * mine - other)
    log_p = special.log_ndtr(a)
    ratio = np.exp(-0.5 * a * a - log_p) / math.sqrt(2.0 * math.pi)
    fall = ratio * (a + ratio) * steep * steep  # minus the second derivative of log_p, in z of the other place
    counts = np.stack([np.count_nonzero(part, axis=-1) for part in (first, ~first)], axis=-1).astype(np.float64)
    log_tau = np.log(at[:, 1::2])
    height = (
        row_sum(-0.5 * mine * mine + log_p) - 0.5 * y.shape[1] * math.log(2.0 * math.pi) + row_sum(counts * log_tau)
    )
    of_mine, of_other = -mine + rho * steep * ratio, -steep * ratio
    by_z = [np.where(first, of_mine, of_other), np.where(first, of_other, of_mine)]
    slope, bend = np.empty(at.shape), np.empty((*at.shape, 4))
    bend_mine, bend_other, bend_both = -1.0 - rho * rho * fall, -fall, rho * fall
    twice = {
        (0, 0): np.where(first, bend_mine, bend_other),
        (1, 1): np.where(first, bend_other, bend_mine),
        (0, 1): bend_both,
    }
    for i in (0, 1):
        slope[:, 2 * i] = -row_sum(by_z[i])
        slope[:, 2 * i + 1] = row_sum(by_z[i] * y) + counts[:, i] / at[:, 2 * i + 1]
        for j in (0, 1):
            d = twice[min(i, j), max(i, j)]
            bend[:, 2 * i, 2 * j] = row_sum(d)
            bend[:, 2 * i, 2 * j + 1] = bend[:, 2 * i + 1, 2 * j] = -row_sum(d * y)
            bend[:, 2 * i + 1, 2 * j + 1] = row_sum(d * y * y)
        bend[:, 2 * i + 1, 2 * i + 1] -= counts[:, i] / at[:, 2 * i + 1] ** 2
    return height, slope, bend
