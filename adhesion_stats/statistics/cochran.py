"""Cochran's test: does the largest of several variances stand out?

When to use which
-----------------
``cochran``            flags for blocks of variances, at a level, aware of the recording step.
``cochran_statistic``  the statistic alone.
``cochran_critical``   critical value, one scalar per (p, df, alpha).
``cochran_p_value``    p-values of statistics.

All variances of a row come from samples of the same size. One-sided: a variance that is too small is not looked for.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_positive, check_size

__all__ = ["VarianceScreen", "cochran", "cochran_critical", "cochran_p_value", "cochran_statistic"]

Values = NDArray[np.float64]

_LARGEST_P, _LARGEST_DF = 100, 100  # checked this far
_ORDER = 64  # Chebyshev terms per piece of the distribution


@dataclass(frozen=True, eq=False)
class VarianceScreen:
    """What Cochran's test says of g sets of p variances each.

    Attributes
    ----------
    p, degrees_of_freedom : int
        Variances per set, and degrees of freedom of each [-].
    critical : float
        Critical value of C [-].
    statistic : (g,) float64
        C of the largest variance, from the values as recorded [-].
    position : (g,) int64
        Column of the largest variance (the first of equal ones).
    flagged : (g,) bool
        C above the critical value, whatever the true values were within the recording step.
    within_step : (g,) bool
        C above the critical value as recorded, but not surely so within the recording step: no flag.
    """

    p: int
    degrees_of_freedom: int
    critical: float
    statistic: Values
    position: NDArray[np.int64]
    flagged: NDArray[np.bool_]
    within_step: NDArray[np.bool_]


def cochran_statistic(variances: Values) -> Values:
    r"""Cochran's C of each row: the largest variance over the sum of all.

    Parameters
    ----------
    variances : (g, p) float64, p >= 2
        Variances (divisor n - 1) of samples of equal size, zero or positive, in any order.

    Returns
    -------
    (g,) float64
        C [-], 1/p to 1; 1/p where all variances are zero.

    Raises
    ------
    InvalidSample
        If the array has another shape or holds a negative variance.

    Notes
    -----
    .. math::  C = s^2_{max} / \sum s_i^2

    Source: Annals of Eugenics 11 (1941) 47-52; ISO 5725-2:1994, 7.3.3 (clause from memory, unverified).

    Examples
    --------
    >>> cochran_statistic(np.array([[1.0, 2.0, 5.0]]))
    array([0.625])
    """
    s2 = _checked(variances)
    total = row_sum(np.sort(s2, axis=-1))
    found = np.full_like(total, 1.0 / s2.shape[1])
    np.divide(s2.max(axis=-1), total, out=found, where=total > 0.0)
    return found


def cochran_critical(*, p: int, degrees_of_freedom: int, alpha: float) -> float:
    r"""Critical value of Cochran's C.

    Parameters
    ----------
    p : int
        Number of variances [-], 2 to 100.
    degrees_of_freedom : int
        Degrees of freedom of each, one less than its sample size [-], 1 to 100.
    alpha : float
        Level [-], strictly between 0 and 1.

    Returns
    -------
    float
        Critical C [-]; flagged is what exceeds it. Exact, absolute error below 1e-10 (1e-12 for p to 40).

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  C_c = \mathrm{Beta}^{-1}_{1-\alpha/p}\left(\tfrac{\nu}{2}, \tfrac{(p-1)\nu}{2}\right)

    where that is at least 1/2, since two variances can't both exceed half of the sum. Below, the distribution function
    of ``cochran_p_value`` is inverted; the printed tables use the formula throughout, which is too large by at most
    1.3e-4 at 5 % (p to 40, n to 6).

    Source: Annals of Eugenics 11 (1941) 47-52; ISO 5725-2:1994, table 4.

    Examples
    --------
    ISO 5725-2:1994, table 4, p = 8, n = 3: 0.516 at 5 %, 0.615 at 1 %.

    >>> cochran_critical(p=8, degrees_of_freedom=2, alpha=0.05)
    0.516
    >>> cochran_critical(p=8, degrees_of_freedom=2, alpha=0.01)
    0.615
    """
    size, df = _sizes(p, degrees_of_freedom)
    return _upper_point(size, df, check_level("alpha", alpha))


def cochran_p_value(statistic: Values, *, p: int, degrees_of_freedom: int) -> Values:
    r"""Probability of a C at least as large if all variances are estimates of one and the values are normal.

    Parameters
    ----------
    statistic : (g,) float64
        C [-].
    p, degrees_of_freedom : int
        As in ``cochran_critical``.

    Returns
    -------
    (g,) float64
        p-value [-], exact (absolute error below 1e-10, 1e-12 for p to 40).

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    With f the density of Beta(nu/2, (p - 1) nu/2), the distribution function is

    .. math::  F_p(C) = 1 - p\,P(B > C) \quad (C \ge 1/2), \qquad
               F_p(C) = p \int_{1/p}^{C} f(u)\, F_{p-1}\!\left(\frac{u}{1-u}\right) du \quad\text{below}

    Source: Annals of Eugenics 11 (1941) 47-52 (upper part); the recursion follows from the variances' shares of their
    sum being Dirichlet distributed.

    Examples
    --------
    NIST/SEMATECH e-Handbook gear data, ten batches of ten, C = 0.2771267:

    >>> cochran_p_value(np.array([0.2771267]), p=10, degrees_of_freedom=9)
    array([0.012103])
    """
    size, df = _sizes(p, degrees_of_freedom)
    return _survival(np.asarray(statistic, dtype=np.float64), size, df)


def cochran(variances: Values, *, degrees_of_freedom: int, alpha: float, recording_step: float) -> VarianceScreen:
    r"""Cochran's test of each row of variances.

    Parameters
    ----------
    variances : (g, p) float64, 2 <= p <= 100
        Variances of samples of equal size, in any order.
    degrees_of_freedom : int
        Of each variance, one less than its sample size [-].
    alpha : float
        Level of the test [-].
    recording_step : float
        Step in which the values behind the variances were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    VarianceScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    True values within half a step w of the recorded ones change a standard deviation of n values by no more than
    :math:`\tfrac w2 \sqrt{n/(n-1)}`. A row is flagged only if C exceeds the critical value with the largest standard
    deviation smaller by that much and all others larger.

    Source: as ``cochran_critical``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> cochran(np.array([[0.01, 0.02, 4.0]]), degrees_of_freedom=2, alpha=0.05, recording_step=0.1).flagged
    array([ True])
    """
    s2 = _checked(variances)
    statistic = cochran_statistic(variances)
    critical = cochran_critical(p=int(s2.shape[1]), degrees_of_freedom=degrees_of_freedom, alpha=alpha)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    exceeds = statistic > critical
    change = 0.5 * step * math.sqrt((degrees_of_freedom + 1) / degrees_of_freedom)
    sd = np.sort(np.sqrt(s2), axis=-1)
    largest = np.maximum(sd[:, -1] - change, 0.0) ** 2
    flagged = exceeds & (largest > critical * (largest + row_sum((sd[:, :-1] + change) ** 2)))
    return VarianceScreen(
        p=int(s2.shape[1]),
        degrees_of_freedom=degrees_of_freedom,
        critical=critical,
        statistic=statistic,
        position=np.argmax(s2, axis=-1),
        flagged=flagged if step > 0.0 else exceeds,
        within_step=exceeds & ~flagged if step > 0.0 else np.zeros_like(exceeds),
    )


def _checked(variances: Values) -> Values:
    s2 = np.asarray(variances, dtype=np.float64)
    if s2.ndim != 2 or s2.shape[1] < 2:
        raise InvalidSample(f"expected variances of shape (g, p) with p of at least 2; got shape {s2.shape}")
    if not bool(((s2 >= 0.0) & (s2 < np.inf)).all()):
        raise InvalidSample(
            "expected finite variances of zero or greater; got a negative one, a missing one or one of bounded values"
        )
    return s2


def _sizes(p: int, degrees_of_freedom: int) -> tuple[int, int]:
    return check_size(p, at_least=2, at_most=_LARGEST_P), check_size(
        degrees_of_freedom, at_least=1, at_most=_LARGEST_DF
    )


def _beyond(c: Values, p: int, df: int) -> Values:
    """Probability that one given variance holds more than the share c of the sum."""
    tail: Values = special.betainc(0.5 * (p - 1) * df, 0.5 * df, np.clip(1.0 - c, 0.0, 1.0))
    return tail


@lru_cache(maxsize=512)
def _series(p: int, df: int) -> Values:
    """F_p on the pieces 1/(k + 1) to 1/k, k = 2 ... p - 1, as Chebyshev series in y = sqrt((b - c)/(b - a)).

    F has half-integer powers at the upper end of a piece and is smooth at the lower one, as in Grubbs' distribution.
    """
    found = np.zeros((_ORDER + 1, 0))
    for size in range(3, p + 1):
        found = _next(found, size, df)
    return found


def _next(previous: Values, p: int, df: int) -> Values:
    k = np.arange(2, p)[:, np.newaxis]
    upper, lower = 1.0 / k, 1.0 / (k + 1)
    angle = np.pi * (np.arange(_ORDER) + 0.5) / _ORDER
    y = 0.5 * (np.cos(angle) + 1.0)
    u = upper - (upper - lower) * y * y
    half = 0.5 * df
    log_density = (
        (half - 1.0) * np.log(u) + ((p - 1) * half - 1.0) * np.log1p(-u) - special.betaln(half, (p - 1) * half)
    )
    h = u / (1.0 - u)
    back = np.empty_like(h)
    back[0] = 1.0 - (p - 1) * _beyond(h[0], p - 1, df)  # piece 2 looks back on the closed form
    if p > 3:
        j = k[1:] - 1
        top, bottom = 1.0 / j, 1.0 / (j + 1)
        at = 2.0 * np.sqrt(np.clip((top - h[1:]) / (top - bottom), 0.0, 1.0)) - 1.0
        back[1:] = np.asarray(chebyshev.chebval(at.T, previous, tensor=False), dtype=np.float64).T
    integrand = p * np.exp(log_density) * back * 2.0 * (upper - lower) * y
    to_series = 2.0 / _ORDER * np.cos(np.arange(_ORDER)[:, np.newaxis] * angle)
    to_series[0] *= 0.5
    integral: Values = np.asarray(chebyshev.chebint(to_series @ integrand.T, m=1, lbnd=1, scl=-0.5), dtype=np.float64)
    gain = np.asarray(chebyshev.chebval(np.full(integral.shape[1], -1.0), integral, tensor=False), dtype=np.float64)
    integral[0] += np.cumsum(gain[::-1])[::-1] - gain  # what lies below each piece
    return integral


def _survival(c: Values, p: int, df: int) -> Values:
    tail = np.minimum(1.0, p * _beyond(c, p, df))
    inside = c < 0.5
    if inside.any():
        at = np.maximum(c[inside], 1.0 / p)
        k = np.clip(
            np.floor(1.0 / at).astype(np.int64), 2, max(p - 1, 2)
        )  # rounding at a joint is harmless: F is smooth
        upper, lower = 1.0 / k, 1.0 / (k + 1)
        y = np.sqrt(np.clip((upper - at) / (upper - lower), 0.0, 1.0))
        if p == 2:
            tail[inside] = 1.0
        else:
            f = np.asarray(chebyshev.chebval(2.0 * y - 1.0, _series(p, df)[:, k - 2], tensor=False), dtype=np.float64)
            tail[inside] = np.clip(1.0 - f, 0.0, 1.0)
    return tail


@lru_cache(maxsize=4096)
def _upper_point(p: int, df: int, level: float) -> float:
    by_formula = 1.0 - float(special.betaincinv(0.5 * (p - 1) * df, 0.5 * df, min(level / p, 1.0)))
    if by_formula >= 0.5:
        return by_formula
    from scipy import optimize  # loads as long as all else together

    def excess(c: float) -> float:
        return float(_survival(np.array([c]), p, df)[0]) - level

    return float(optimize.brentq(excess, 1.0 / p, 0.5, xtol=1e-15, rtol=8.9e-16))
