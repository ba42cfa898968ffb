"""Strength of each layer and interface where pulls break in different places (competing risks).

A pull that breaks in one place says of every other place: at least this strong. Taken as bounds, such pulls answer what
the bond would be if the substrate had held. Two things have to be said with every such answer.

1. It assumes that the strengths of the places are independent from pull to pull. The same data fit with any dependence
   (Tsiatis, Proceedings of the National Academy of Sciences 72 (1975) 20-22), so that no test on them can tell. Where a
   good spot is good in all layers, the answer is too high, which is the unsafe side.
2. The plain mean of the pulls that broke in one place is no strength of that place: it is the mean of those that
   happened to be weakest there.

When to use which
-----------------
``as_bounds``                 pulls of one place exact, all others bounded from below: input for ``bounded``.
``share_below_whatever``      share below a limit with no assumption on dependence (Peterson's bounds).
``mean_where_it_broke``       what averaging within one place gives, by formula: the size of the selection.

``competing_pair`` has the fit of two places at an assumed correlation, and the sweep over correlations.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_correlation, check_level, check_positive
from adhesion_stats.statistics.shares import share_interval_exact

__all__ = [
    "ShareWhatever",
    "as_bounds",
    "mean_where_it_broke",
    "share_below_whatever",
]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]


def as_bounds(x: Values, place: Codes, *, of: int) -> tuple[Values, Values]:
    """Lower and upper bounds of the strength of one place: exact where it broke there, known from below elsewhere.

    Parameters
    ----------
    x : (N,) float64
        Strength at failure of each pull, any unit.
    place : (N,) int64
        Code of the place where it broke.
    of : int
        Code of the place asked about.

    Returns
    -------
    low, high : (N,) float64
        For ``stacks``; in the unit of the values.

    Raises
    ------
    InvalidSample
        If shapes differ.

    Notes
    -----
    Valid as input of a likelihood only if the strengths of the places are independent; the module says more. Source:
    Lawless, Statistical Models and Methods for Lifetime Data (2003), chapter 9.

    Examples
    --------
    >>> low, high = as_bounds(np.array([2.0, 3.0]), np.array([0, 1]), of=1)
    >>> (low.tolist(), high.tolist())
    ([2.0, 3.0], [inf, 3.0])
    """
    values, codes = np.asarray(x, dtype=np.float64), np.asarray(place)
    if values.ndim != 1 or codes.shape != values.shape:
        raise InvalidSample(f"expected one place per value; got shapes {values.shape} and {codes.shape}")
    return values, np.where(codes == of, values, np.inf)


@dataclass(frozen=True, eq=False)
class ShareWhatever:
    """Share of one place's strengths below a limit, whatever the dependence between places; arrays of shape (g,).

    Attributes
    ----------
    low, high : (g,) float64
        Estimates that no dependence can go beyond [-].
    low_limit, high_limit : (g,) float64
        Their confidence limits, each one-sided [-].
    """

    low: Values
    high: Values
    low_limit: Values
    high_limit: Values


def share_below_whatever(x: Values, here: NDArray[np.bool_], *, limit: float, confidence: float) -> ShareWhatever:
    r"""Share of one place's strengths below a limit, without any assumption on dependence or distribution.

    Parameters
    ----------
    x : (g, n) float64
        Strengths at failure, any unit.
    here : (g, n) bool
        Whether the pull broke in the place asked about.
    limit : float
        In the unit of the values.
    confidence : float
        Confidence level of each limit [-], above 0.5 and below 1.

    Returns
    -------
    ShareWhatever

    Raises
    ------
    InvalidSample
        If shapes differ or the level is none.

    Notes
    -----
    .. math::  P(X < L,\ \text{broke here}) \le P(\text{strength here} < L) \le P(X < L)

    A pull that broke elsewhere below the limit might have been as weak here. The bounds are sharp. Limits by Clopper
    and Pearson. Source: Peterson, Proceedings of the National Academy of Sciences 73 (1976) 11-13.

    Examples
    --------
    Ten pulls: two broke here below the limit, one elsewhere below it.

    >>> x = np.array([[1.0, 1.1, 1.2, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0]])
    >>> here = np.array([[True, True, False, False, False, False, False, False, False, False]])
    >>> found = share_below_whatever(x, here, limit=1.5, confidence=0.95)
    >>> (found.low.tolist(), found.high.tolist())
    ([0.2], [0.3])
    """
    values, broke = np.asarray(x, dtype=np.float64), np.asarray(here, dtype=np.bool_)
    if values.ndim != 2 or broke.shape != values.shape or values.shape[1] < 1:
        raise InvalidSample(f"expected values and places of one shape (g, n); got {values.shape} and {broke.shape}")
    level = check_level("confidence", confidence)
    if level <= 0.5:
        raise InvalidSample(f"expected a confidence above 0.5 for a one-sided limit; got {confidence!r}")
    n = int(values.shape[1])
    below = values < limit
    least = np.count_nonzero(below & broke, axis=-1).astype(np.int64)
    most = np.count_nonzero(below, axis=-1).astype(np.int64)
    low_limit, _ = share_interval_exact(least, n=n, confidence=2.0 * level - 1.0)
    _, high_limit = share_interval_exact(most, n=n, confidence=2.0 * level - 1.0)
    return ShareWhatever(least / n, most / n, low_limit, high_limit)


def mean_where_it_broke(
    *, mean: float, sd: float, other_mean: float, other_sd: float, correlation: float
) -> tuple[float, float]:
    r"""Mean strength of the pulls that break in one of two places, and their share: what averaging within a place does.

    Parameters
    ----------
    mean, sd : float
        True mean and standard deviation of the place, any unit.
    other_mean, other_sd : float
        Those of the other place, in the same unit.
    correlation : float
        Between the two [-], above -1 and below 1.

    Returns
    -------
    mean : float
        Expected mean of the pulls that break in the place, in the unit of the values.
    share : float
        Share of all pulls that do [-].

    Raises
    ------
    InvalidSample
        If a standard deviation is not above zero or the correlation lies outside its range.

    Notes
    -----
    .. math::  E(X_1 \mid X_1 < X_2) = \mu_1 - \frac{\sigma_1^2 - \rho\sigma_1\sigma_2}{\delta}\,
               \frac{\varphi(a)}{\Phi(a)}, \qquad \delta^2 = \sigma_1^2 + \sigma_2^2 - 2\rho\sigma_1\sigma_2, \quad
               a = (\mu_2 - \mu_1)/\delta

    Both places normal. Source: Cain, The American Statistician 48 (1994) 124-125 (minimum of two normal variables).

    Examples
    --------
    Two layers of 2.0 +- 0.4 MPa each, independent: averaging within either gives 1.77, 11 % low.

    >>> mean_where_it_broke(mean=2.0, sd=0.4, other_mean=2.0, other_sd=0.4, correlation=0.0)
    (1.774, 0.5)
    """
    s, t = check_positive("sd", sd, zero_allowed=False), check_positive("other_sd", other_sd, zero_allowed=False)
    rho = check_correlation("correlation", correlation)
    apart = math.sqrt(s * s + t * t - 2.0 * rho * s * t)
    a = (other_mean - mean) / apart
    share = float(special.ndtr(a))
    ratio = math.exp(-0.5 * a * a - float(special.log_ndtr(a))) / math.sqrt(2.0 * math.pi)
    return mean - (s * s - rho * s * t) / apart * ratio, share
