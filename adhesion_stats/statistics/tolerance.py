"""More tolerance factors and bounds: two-sided, spread known, spread pooled, logarithms.

When to use which
-----------------
``tolerance_interval``          both ends: the stated share lies between them.
``tolerance_bound_known_sd``    lower bound, standard deviation known beforehand.
``tolerance_bound_pooled``      lower bound of each sample, one spread pooled over all; only where agreed beforehand.
``tolerance_bound_lognormal``   lower bound through the logarithms: never below zero.
``k_two_sided``, ``k_known_sd`` the factors alone.

``characteristic`` has the usual lower bound, ``weibull`` the one of a Weibull population, ``order_statistics`` the one
that asks for no distribution.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.characteristic import k_one_sided, k_pooled
from adhesion_stats.statistics.checks import check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.noncentral import NODES, WEIGHTS

__all__ = [
    "k_known_sd",
    "k_two_sided",
    "logarithms",
    "pooled_sd",
    "tolerance_bound_known_sd",
    "tolerance_bound_lognormal",
    "tolerance_bound_pooled",
    "tolerance_interval",
]

Values = NDArray[np.float64]

_REACH = 9.5  # standard deviations beyond which the normal density adds less than 1e-20


@lru_cache(maxsize=4096)
def k_two_sided(*, n: int, content: float, confidence: float) -> float:
    r"""Two-sided tolerance factor k of a normal sample with unknown standard deviation, exact.

    With the stated confidence, at least the share ``content`` of the population lies within mean +- k sd.

    Parameters
    ----------
    n : int
        Values in the sample [-], 2 or greater (compared with other computations up to 1000).
    content : float
        Share of the population within the limits [-], strictly between 0 and 1.
    confidence : float
        Confidence level [-], strictly between 0 and 1.

    Returns
    -------
    float
        k [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  \int \varphi(u)\, P\big(\nu S^2 > \nu\, r(u)^2 / k^2\big)\, du = \gamma, \qquad
               \Phi(u/\sqrt n + r) - \Phi(u/\sqrt n - r) = p

    with nu = n - 1, by Gauss-Legendre quadrature; relative error below 1e-12. Printed factors often come from an
    approximation (Howe; Wald and Wolfowitz) and differ in the third digit. Source: ISO 16269-6 (two-sided statistical
    tolerance interval, mean and sd unknown).

    Examples
    --------
    n = 10, confidence and content 0.95.

    >>> k_two_sided(n=10, content=0.95, confidence=0.95)
    3.393429
    """
    size = check_size(n, at_least=2)
    share = check_level("content", content)
    level = check_level("confidence", confidence)
    half_df = 0.5 * (size - 1)
    u = 0.5 * _REACH * (1.0 + NODES)  # the integrand is even in u
    weight = _REACH * WEIGHTS * np.exp(-0.5 * u * u) / math.sqrt(2.0 * math.pi)
    squared = half_df * _half_width(u / math.sqrt(size), share) ** 2

    def excess(log_k: float) -> float:
        return float(np.sum(weight * special.gammainc(half_df, squared * math.exp(-2.0 * log_k)))) - (1.0 - level)

    from scipy import optimize  # loads as long as all else together

    low, high = -1.0, 1.0
    while excess(low) < 0.0:
        low -= 2.0
    while excess(high) > 0.0:
        high += 2.0
    return math.exp(float(optimize.brentq(excess, low, high, xtol=1e-15, rtol=8.9e-16, maxiter=200)))


def _half_width(shift: Values, share: float) -> Values:
    """The r with Phi(shift + r) - Phi(shift - r) = share; Newton from the right, where the curve bends away."""
    width = shift + float(special.ndtri(0.5 + 0.5 * share))
    for _ in range(60):
        outside = special.ndtr(-shift - width) + special.ndtr(shift - width)
        density = np.exp(-0.5 * (shift + width) ** 2) + np.exp(-0.5 * (shift - width) ** 2)
        width = width - ((1.0 - share) - outside) * math.sqrt(2.0 * math.pi) / density
    return width


def k_known_sd(*, n: int, content: float, confidence: float) -> float:
    r"""One-sided tolerance factor where the standard deviation is known beforehand.

    Parameters
    ----------
    n : int
        Values in the sample [-], 1 or greater.
    content, confidence : float
        Share above the bound and confidence level [-], strictly between 0 and 1.

    Returns
    -------
    float
        k [-]; the bound is mean - k sigma.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  k = z_p + z_\gamma / \sqrt n

    Source: ISO 16269-6 (one-sided interval, sd known); ISO 12491.

    Examples
    --------
    5 % fractile at confidence 0.75, n = 3.

    >>> k_known_sd(n=3, content=0.95, confidence=0.75)
    2.03
    """
    size = check_size(n, at_least=1)
    z_content = float(special.ndtri(check_level("content", content)))
    return z_content + float(special.ndtri(check_level("confidence", confidence))) / math.sqrt(size)


def tolerance_interval(x: Values, *, content: float, confidence: float) -> tuple[Values, Values]:
    """Two-sided tolerance interval mean +- k sd of a normal sample with unknown standard deviation.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values, any unit.
    content, confidence : float
        Share between the limits and confidence level [-].

    Returns
    -------
    low, high : (g,) float64
        Limits, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 2 or a level lies outside 0 to 1.

    Notes
    -----
    Source: ISO 16269-6. See ``k_two_sided``.

    Examples
    --------
    >>> low, high = tolerance_interval(np.array([[2.0, 3.0, 4.0]]), content=0.95, confidence=0.95)
    >>> (float(low[0]), float(high[0]))
    (-6.788752, 12.788752)
    """
    n = check_sample(x, at_least=2)
    mean, sd = mean_and_sd(x)
    reach = k_two_sided(n=n, content=content, confidence=confidence) * sd
    return mean - reach, mean + reach


def tolerance_bound_known_sd(x: Values, *, sd: float, content: float, confidence: float) -> Values:
    """Lower one-sided tolerance bound of a normal sample, standard deviation known beforehand.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.
    sd : float
        Known standard deviation, in the unit of the values, 0 or greater.
    content, confidence : float
        Share above the bound and confidence level [-].

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values.

    Raises
    ------
    InvalidSample
        If sd is negative or not finite, or a level lies outside 0 to 1.

    Notes
    -----
    Source: ISO 16269-6. See ``k_known_sd``.

    Examples
    --------
    >>> float(tolerance_bound_known_sd(np.array([[2.0, 3.0, 4.0]]), sd=1.0, content=0.95, confidence=0.75)[0])
    0.97
    """
    n = check_sample(x, at_least=1)
    known = check_positive("sd", sd, zero_allowed=True)
    mean, _ = mean_and_sd(x)
    return mean - k_known_sd(n=n, content=content, confidence=confidence) * known


def pooled_sd(sds: Values, degrees_of_freedom: NDArray[np.int64]) -> tuple[float, int]:
    r"""Standard deviation pooled over samples, and its degrees of freedom.

    Parameters
    ----------
    sds : (m,) float64
        Standard deviation of each sample (divisor n - 1), in the unit of the values.
    degrees_of_freedom : (m,) int64
        n - 1 of each sample [-], 1 or greater.

    Returns
    -------
    sd : float
        In the unit of the values.
    degrees_of_freedom : int
        Their sum [-].

    Raises
    ------
    InvalidSample
        If there is no sample, the lengths differ, or a standard deviation is negative or not finite.

    Notes
    -----
    .. math::  s_p^2 = \sum \nu_i s_i^2 / \sum \nu_i

    Source: JCGM 100:2008, 4.2.4 (pooled estimate of variance); elementary.

    Examples
    --------
    >>> pooled_sd(np.array([0.3, 0.4]), np.array([4, 4]))
    (0.35355, 8)
    """
    each, df = np.asarray(sds, dtype=np.float64), np.asarray(degrees_of_freedom)
    if each.ndim != 1 or each.size == 0 or df.shape != each.shape:
        raise InvalidSample(f"expected one sd and its degrees of freedom per sample; got {each.shape} and {df.shape}")
    if not bool((np.isfinite(each) & (each >= 0.0)).all()) or int(df.min()) < 1:
        raise InvalidSample("expected standard deviations of 0 or greater with 1 or more degrees of freedom each")
    total = int(df.sum())
    return math.sqrt(float(np.sum(df * each * each)) / total), total


def tolerance_bound_pooled(
    x: Values, *, sd: float, degrees_of_freedom: int, content: float, confidence: float
) -> Values:
    """Lower one-sided tolerance bound of each sample, with a standard deviation pooled over samples.

    Only where pooling was agreed beforehand (see ``k_pooled``). ``tolerance_bound_lower`` gives the bound of each
    sample by its own spread; show both.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.
    sd : float
        Pooled standard deviation, in the unit of the values.
    degrees_of_freedom : int
        Its degrees of freedom [-].
    content, confidence : float
        Share above the bound and confidence level [-].

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values.

    Raises
    ------
    InvalidSample
        If sd is negative or not finite, or a number lies outside its range.

    Notes
    -----
    Source: see ``k_pooled``.

    Examples
    --------
    >>> x = np.array([[2.0, 3.0, 4.0]])
    >>> float(tolerance_bound_pooled(x, sd=1.0, degrees_of_freedom=2, content=0.95, confidence=0.75)[0])
    -0.1518
    """
    n = check_sample(x, at_least=1)
    pooled = check_positive("sd", sd, zero_allowed=True)
    k = k_pooled(n=n, degrees_of_freedom=degrees_of_freedom, content=content, confidence=confidence)
    mean, _ = mean_and_sd(x)
    return mean - k * pooled


def logarithms(x: Values) -> Values:
    """Natural logarithms of a block, or ``InvalidSample`` where a value is not above zero."""
    check_sample(x, at_least=1)
    if x.size and float(x.min()) <= 0.0:
        rows = np.flatnonzero(x[:, 0] <= 0.0)
        raise InvalidSample(
            f"expected values above zero for logarithms; {rows.size} of {x.shape[0]} samples have others, "
            f"the first in row {int(rows[0])}: {float(x[rows[0], 0])!r}"
        )
    return np.log(x)


def tolerance_bound_lognormal(x: Values, *, content: float, confidence: float) -> Values:
    r"""Lower one-sided tolerance bound of a lognormal sample.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values above zero, any unit.
    content, confidence : float
        Share above the bound and confidence level [-].

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values, above zero.

    Raises
    ------
    InvalidSample
        If n < 2, a value is not above zero, or a level lies outside 0 to 1.

    Notes
    -----
    .. math::  \exp(\bar y - k\, s_y), \qquad y = \ln x

    Source: ISO 16269-6 (transformation to normality); see ``k_one_sided``.

    Examples
    --------
    >>> x = np.array([[2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5, 3.6]])
    >>> float(tolerance_bound_lognormal(x, content=0.95, confidence=0.95)[0])
    2.3674256979
    """
    n = check_sample(x, at_least=2)
    mean, sd = mean_and_sd(logarithms(x))
    return np.exp(mean - k_one_sided(n=n, content=content, confidence=confidence) * sd)
