"""Characteristic values by tolerance bound: what a stated share of the population exceeds, at a stated confidence.

The spread is estimated from the sample; ``en1990`` has the prediction method of EN 1990 Annex D.

The bounds come out as they are: below zero where the sample is small or wide, which means that such a sample says
nothing about so low a fractile. Saying that in words is the caller's part.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.checks import check_level, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.noncentral import NODES as _NODES
from adhesion_stats.statistics.noncentral import WEIGHTS as _WEIGHTS
from adhesion_stats.statistics.noncentral import chi_nodes

__all__ = ["k_one_sided", "k_pooled", "tolerance_bound_lower"]

Values = NDArray[np.float64]

_REACH = 9.5  # standard deviations beyond which the normal density adds less than 1e-20


@lru_cache(maxsize=4096)
def k_one_sided(*, n: int, content: float, confidence: float) -> float:
    r"""One-sided tolerance factor k of a normal sample with unknown standard deviation.

    With the stated confidence, at least the share ``content`` of the population lies above mean - k sd.

    Parameters
    ----------
    n : int
        Values in the sample [-], 2 or greater (compared with high-precision values up to 1000).
    content : float
        Share of the population above the bound [-], strictly between 0 and 1 (0.95 for the 5 % fractile).
    confidence : float
        Confidence level [-], strictly between 0 and 1.

    Returns
    -------
    float
        k [-]; negative where content and confidence are so low that the bound lies above the mean.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  k = t'_{\gamma}(n-1,\ z_p\sqrt n)/\sqrt n

    with the quantile of the non-central t distribution. It is found as the root of

    .. math::  \int \varphi(u)\, P\big(\chi^2_{n-1} < (n-1)\, a_+(u)^2\big)\, du = 1 - \gamma,
               \qquad a(u) = (z_p + u/\sqrt n)/k

    by Gauss-Legendre quadrature, for k < 1 of the same probability over the distribution of the standard deviation.
    Relative error below 1e-12.

    Source: NBS Handbook 91 (Experimental Statistics), table A-7; ISO 16269-6, tables of one-sided factors, sd unknown.

    Examples
    --------
    NBS Handbook 91, table A-7: n = 10, confidence 0.95, content 0.90.

    >>> k_one_sided(n=10, content=0.90, confidence=0.95)
    2.355
    """
    size = check_size(n, at_least=2)
    share = check_level("content", content)
    level = check_level("confidence", confidence)
    return _factor(size, size - 1, share, level)


@lru_cache(maxsize=4096)
def k_pooled(*, n: int, degrees_of_freedom: int, content: float, confidence: float) -> float:
    r"""One-sided tolerance factor k where the standard deviation is pooled over several samples.

    Pooling takes one spread for all zones. That has to be agreed beforehand: a test of equal spreads at n = 4 sees a
    doubled standard deviation one time in five, so that no test on the same values can justify it.

    Parameters
    ----------
    n : int
        Values whose mean the bound starts from [-], 1 or greater.
    degrees_of_freedom : int
        Degrees of freedom of the pooled standard deviation [-], 1 or greater: values in all samples less number of
        samples.
    content : float
        Share of the population above the bound [-], strictly between 0 and 1.
    confidence : float
        Confidence level [-], strictly between 0 and 1.

    Returns
    -------
    float
        k [-]; the bound is mean - k times the pooled sd.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  k = t'_{\gamma}(\nu,\ z_p\sqrt n)/\sqrt n

    as in ``k_one_sided``, which is the case of ``degrees_of_freedom = n - 1``: the mean brings its n, the spread its
    degrees of freedom. Source: by the definition of the non-central t distribution; Owen, Factors for one-sided
    tolerance limits, report SCR-607 (1963).

    Examples
    --------
    Five values and their own spread, and five values with the spread of ten such samples.

    >>> k_pooled(n=5, degrees_of_freedom=4, content=0.95, confidence=0.95)
    4.203
    >>> k_pooled(n=5, degrees_of_freedom=40, content=0.95, confidence=0.95)
    2.527355
    """
    size = check_size(n, at_least=1)
    df = check_size(degrees_of_freedom, at_least=1)
    return _factor(size, df, check_level("content", content), check_level("confidence", confidence))


def _factor(n: int, df: int, share: float, level: float) -> float:
    z = float(special.ndtri(share))
    at_zero = float(special.ndtr(-z * math.sqrt(n)))
    if at_zero == level:
        return 0.0
    if at_zero > level:  # the bound lies above the mean: the mirror image has a positive factor
        return -_factor(n, df, 1.0 - share, 1.0 - level)
    from scipy import optimize  # loads as long as all else together

    missed = _risk(n, df, z)

    def excess(log_k: float) -> float:
        """Risk that the bound lies too high, less the risk allowed (the smaller probability keeps its digits)."""
        return missed(math.exp(log_k)) - (1.0 - level)

    low, high = -1.0, 1.0
    while excess(low) < 0.0:
        low -= 2.0
    while excess(high) > 0.0:
        high += 2.0
    return math.exp(float(optimize.brentq(excess, low, high, xtol=1e-15, rtol=8.9e-16, maxiter=200)))


def _risk(n: int, df: int, z: float) -> Callable[[float], float]:
    """P(mean - k sd > the fractile at -z) as a function of k > 0.

    Over the mean u for k sqrt(n) >= sqrt(df), over the standard deviation s below: the other factor of the integrand
    changes over a width of about k sqrt(n / df) in u, and of its inverse in s, so that either way it is as smooth as
    the density.
    """
    root_n, half_df = math.sqrt(n), 0.5 * df
    # Below u_0 the bound z + u / sqrt(n) is negative, and no sd can make the bound too high.
    u_0 = max(-z * root_n, -_REACH)
    half = 0.5 * (_REACH - u_0)
    u = u_0 + half * (1.0 + _NODES)
    u_weight = half * _WEIGHTS * np.exp(-0.5 * u * u) / math.sqrt(2.0 * math.pi)
    squared = half_df * (z + u / root_n) ** 2
    s, s_weight = chi_nodes(df)

    def missed(k: float) -> float:
        if k * root_n >= math.sqrt(df + 1.0):
            return float(np.sum(u_weight * special.gammainc(half_df, squared / (k * k))))
        return float(np.sum(s_weight * special.ndtr(root_n * (z - k * s))))

    return missed


def tolerance_bound_lower(x: Values, *, content: float, confidence: float) -> Values:
    r"""Lower one-sided tolerance bound mean - k sd of a normal sample with unknown standard deviation.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values, any unit.
    content : float
        Share of the population above the bound [-].
    confidence : float
        Confidence level [-].

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values; may be negative.

    Raises
    ------
    InvalidSample
        If n < 2 or a level lies outside 0 to 1.

    Notes
    -----
    .. math::  m - k\,s, \qquad k = k(n, p, \gamma)

    Source: ISO 16269-6 (one-sided statistical tolerance interval, sd unknown). See ``k_one_sided``.

    Examples
    --------
    Ten washers of NBS Handbook 91: 90 % lie above 0.1175 with 95 % confidence.

    >>> washers = np.array([[.120, .123, .123, .124, .126, .126, .128, .129, .129, .132]])
    >>> float(tolerance_bound_lower(washers, content=0.90, confidence=0.95)[0])
    0.11755
    """
    n = check_sample(x, at_least=2)
    mean, sd = mean_and_sd(x)
    return mean - k_one_sided(n=n, content=content, confidence=confidence) * sd
