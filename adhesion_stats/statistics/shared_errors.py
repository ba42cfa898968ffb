r"""Probability of conformity of several values whose errors are partly one and the same.

The true value behind a reading y is taken as

.. math::  x_i = y_i (1 - \rho\,\delta - \rho'\,\delta_i) - u\,\varepsilon - u'\,\varepsilon_i

with standard normal errors of which :math:`\delta, \varepsilon` are **common** to all readings (the calibration of the
instrument) and :math:`\delta_i, \varepsilon_i` are **independent** (the resolution). Little is known of the true values
beforehand: the prior is flat, so that what is known afterwards is this normal distribution about each reading.

When to use which
-----------------
``Errors``                      the four standard uncertainties.
``conformity_of_rank``          at least z of n true values reach a lower limit (z = n: all, the smallest).
``conformity_of_mean``          the mean of the n true values does.
``conformity_of_value``         a value that moves with the common errors, such as mean - k sd, does.
``limit_for_probability``       what such a value has to reach for a stated probability.

Sampling is no part of it: these n places, not the zone that they stand for.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_level, check_positive, check_size

__all__ = [
    "Errors",
    "conformity_of_mean",
    "conformity_of_rank",
    "conformity_of_value",
    "limit_for_probability",
]

Values = NDArray[np.float64]

_REACH = 9.0  # standard deviations of the common error that are integrated over
_ORDER = 12  # Gauss-Legendre nodes between two breaks
_ACROSS = 20  # Gauss-Hermite nodes where common errors are of both kinds
_ABOUT = np.array([-8.0, -3.0, 0.0, 3.0, 8.0])  # breaks about the place where a value crosses the limit
_MOST = 4_000_000  # numbers held at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Standard uncertainties of each reading.

    Attributes
    ----------
    common, independent : float
        Fixed amounts, in the unit of the readings; zero or positive.
    common_share, independent_share : float
        Shares of the reading [-]; zero or positive, below 1.

    Raises
    ------
    InvalidSample
        If a number is negative, not finite, or a share is 1 or more.
    """

    common: float
    common_share: float
    independent: float
    independent_share: float

    def __post_init__(self) -> None:
        """Refuse what is no uncertainty."""
        for name in ("common", "common_share", "independent", "independent_share"):
            check_positive(name, getattr(self, name), zero_allowed=True)
        for name in ("common_share", "independent_share"):
            if getattr(self, name) >= 1.0:
                raise InvalidSample(f"expected {name} below 1; got {getattr(self, name)!r}")

    @property
    def common_only(self) -> bool:
        """Whether all readings share their whole error."""
        return self.independent == 0.0 and self.independent_share == 0.0


def conformity_of_value(
    values: Values, *, lower: float, errors: Errors, moved: Values | float, scaled: Values | float
) -> Values:
    r"""Probability that the true value behind each result reaches a lower limit, all errors common.

    Parameters
    ----------
    values : (g,) float64
        Results, such as mean - k sd, any unit; may be infinite.
    lower : float
        The limit, in the same unit.
    errors : Errors
        Its independent parts are no part of this: a result that allows for the scatter holds them already.
    moved : (g,) float64 or float
        What the result changes by for a unit change of all readings [-]: 1 for a mean, 1 for mean - k sd.
    scaled : (g,) float64 or float
        What it changes by for a unit relative change of all readings: the result itself, for a mean or mean - k sd.

    Returns
    -------
    (g,) float64
        Probability [-].

    Raises
    ------
    InvalidSample
        If the limit is not finite.

    Notes
    -----
    .. math::  p = \Phi\!\left(\frac{f - L}{\sqrt{(a u)^2 + (b \rho)^2}}\right)

    Exact where the result is a sum of the readings less a multiple of their standard deviation: it then moves by just
    a u and b rho. Without any common error the probability is 1 or 0.

    Source: JCGM 106:2012, 7.3 (one-sided limit, normal); JCGM 100:2008, 5.2.2 (correlated inputs).

    Examples
    --------
    A mean of 1.53 MPa, 1 % common: (1.53 - 1.50) / 0.0153 = 1.96.

    >>> conformity_of_value(np.array([1.53]), lower=1.5, moved=1.0, scaled=1.53,
    ...     errors=Errors(common=0.0, common_share=0.01, independent=0.0, independent_share=0.0))
    array([0.975])
    """
    f = np.asarray(values, dtype=np.float64)
    if not math.isfinite(lower):
        raise InvalidSample(f"expected a finite limit; got {lower!r}")
    return _normal(f - lower, np.hypot(errors.common * np.asarray(moved), errors.common_share * np.asarray(scaled)))


def conformity_of_mean(values: Values, *, lower: float, errors: Errors) -> Values:
    r"""Probability that the mean of the n true values reaches a lower limit.

    Parameters
    ----------
    values : (g, n) float64
        Readings, any unit; an infinite one makes it 1.
    lower : float
        The limit, in the same unit.
    errors : Errors
        In the same unit.

    Returns
    -------
    (g,) float64
        Probability [-].

    Raises
    ------
    InvalidSample
        If the limit is not finite or a row is empty.

    Notes
    -----
    .. math::  p = \Phi\!\left(\frac{\bar y - L}{u_m}\right), \qquad
               u_m^2 = u^2 + \rho^2 \bar y^2 + \frac{u'^2}{n} + \frac{\rho'^2}{n^2} \sum y_i^2

    Only the independent part shrinks as n grows. Exact for normal errors.

    Source: JCGM 106:2012, 7.3 (one-sided limit, normal); JCGM 100:2008, 5.1.2 (combined uncertainty).

    Examples
    --------
    0.03 MPa common, 0.04 MPa independent, n = 4: u_m = sqrt(0.03² + 0.04²/4) = 0.0361 MPa.

    >>> conformity_of_mean(np.array([[1.5, 1.5, 1.6, 1.6]]), lower=1.5,
    ...     errors=Errors(common=0.03, common_share=0.0, independent=0.04, independent_share=0.0))
    array([0.917])
    """
    y = _rows(values)
    endless = np.asarray(np.isposinf(y).any(axis=1))
    known = np.where(endless[:, np.newaxis], 0.0, y)
    n = y.shape[1]
    mean = known.mean(axis=1)
    own = errors.independent**2 / n + errors.independent_share**2 * np.square(known).mean(axis=1) / n
    u = np.sqrt(errors.common**2 + (errors.common_share * mean) ** 2 + own)
    return np.where(endless, 1.0, _normal(mean - _finite(lower), u))


def conformity_of_rank(values: Values, *, at_least: int, lower: float, errors: Errors) -> Values:
    r"""Probability that at least so many of the n true values reach a lower limit.

    Parameters
    ----------
    values : (g, n) float64
        Readings in any order, any unit; an infinite one surely reaches the limit.
    at_least : int
        How many must reach it, 1 to n.
    lower : float
        The limit, above 0, in the same unit.
    errors : Errors
        In the same unit.

    Returns
    -------
    (g,) float64
        Probability [-], to about 1e-9.

    Raises
    ------
    InvalidSample
        If the limit is not above 0, a row is empty, or the number is out of range.

    Notes
    -----
    Given the common errors the values are independent, each reaching the limit with

    .. math::  q_i = \Phi\!\left(\frac{(y_i - L)(1 - c z_2) - b_i z_1}{\sqrt{u'^2 + \rho'^2 y_i^2}}\right), \quad
               b_i = \frac{y_i L \rho^2 + u^2}{w}, \quad c = \frac{\rho u}{w}, \quad w^2 = \rho^2 L^2 + u^2

    where :math:`z_1, z_2` are the two common errors turned so that the first is the one that moves a value at the
    limit. The number that reach it follows from the q_i (a sum of unequal Bernoulli trials), and is averaged over
    :math:`z_1` by Gauss-Legendre quadrature between breaks about each crossing, over :math:`z_2` by Gauss-Hermite.
    Without independent errors it is the normal probability of the value of that rank, in closed form.

    Source: JCGM 106:2012, 7.3 (one-sided limit, normal), of each value; of several it follows from the model.

    Examples
    --------
    Two readings on the limit with independent errors only: each true value reaches it half of the time, both a quarter.

    >>> alone = Errors(common=0.0, common_share=0.0, independent=0.05, independent_share=0.0)
    >>> conformity_of_rank(np.array([[1.0, 1.0]]), at_least=2, lower=1.0, errors=alone)
    array([0.25])

    With the same error on both: half of the time.

    >>> shared = Errors(common=0.05, common_share=0.0, independent=0.0, independent_share=0.0)
    >>> conformity_of_rank(np.array([[1.0, 1.0]]), at_least=2, lower=1.0, errors=shared)
    array([0.5])
    """
    y = _rows(values)
    g, n = y.shape
    z = check_size(at_least, at_least=1)
    limit = check_positive("lower", lower, zero_allowed=False)
    if z > n:
        raise InvalidSample(f"expected at most as many as the {n} values; got {z}")
    if errors.common_only:
        ranked: Values = np.sort(y, axis=1)[:, n - z]
        scaled = np.where(np.isinf(ranked), 0.0, ranked)
        return conformity_of_value(ranked, lower=limit, errors=errors, moved=1.0, scaled=scaled)
    found = np.empty(g)
    held = max(1, _MOST // (n * _ORDER * (_ABOUT.size * n + 2 * int(_REACH))))
    for start in range(0, g, held):
        found[start : start + held] = _of_rank(y[start : start + held], z, limit, errors)
    return found


def _of_rank(y: Values, z: int, limit: float, errors: Errors) -> Values:
    n = y.shape[1]
    endless = np.isposinf(y)
    known = np.where(endless, limit, y)
    over = known - limit
    spread = np.maximum(np.hypot(errors.independent, errors.independent_share * known), 1e-12 * limit)
    w = math.hypot(errors.common_share * limit, errors.common)
    if w == 0.0:
        return _tail(np.where(endless, 1.0, special.ndtr(over / spread)), n - z)
    loads = np.maximum((known * limit * errors.common_share**2 + errors.common**2) / w, 1e-12 * w)
    turn = errors.common_share * errors.common / w
    across, weights = (np.zeros(1), np.ones(1)) if turn == 0.0 else _hermite()
    total = np.zeros(y.shape[0])
    for place, weight in zip(across.tolist(), weights.tolist(), strict=True):
        margin = over * (1.0 - turn * place)
        nodes, mass = _along(margin / loads, spread / loads)
        q = special.ndtr((margin[:, np.newaxis, :] - loads[:, np.newaxis, :] * nodes[:, :, np.newaxis])
                         / spread[:, np.newaxis, :])  # fmt: skip
        q = np.where(endless[:, np.newaxis, :], 1.0, q)
        total += weight * (mass * _tail(q, n - z)).sum(axis=1)
    return np.minimum(total, 1.0)


def _along(crossing: Values, width: Values) -> tuple[Values, Values]:
    """Nodes and weights (g, m) of the standard normal, with breaks about each crossing."""
    g = crossing.shape[0]
    about = (crossing[:, :, np.newaxis] + width[:, :, np.newaxis] * _ABOUT).reshape(g, -1)
    grid = np.broadcast_to(np.linspace(-_REACH, _REACH, 2 * int(_REACH) + 1), (g, 2 * int(_REACH) + 1))
    breaks = np.sort(np.concatenate([np.clip(about, -_REACH, _REACH), grid], axis=1), axis=1)
    points, weights = np.polynomial.legendre.leggauss(_ORDER)
    half = 0.5 * np.diff(breaks, axis=1)[:, :, np.newaxis]
    middle = 0.5 * (breaks[:, 1:] + breaks[:, :-1])[:, :, np.newaxis]
    nodes = (middle + half * points).reshape(g, -1)
    mass = (half * weights).reshape(g, -1) * np.exp(-0.5 * np.square(nodes)) / math.sqrt(2.0 * math.pi)
    return nodes, mass


def _hermite() -> tuple[Values, Values]:
    points, weights = np.polynomial.hermite_e.hermegauss(_ACROSS)
    return points, weights / weights.sum()


def _tail(q: Values, most: int) -> Values:
    """Probability that at most ``most`` of the independent trials with success q (last axis) fail."""
    if most == 0:
        return np.asarray(q.prod(axis=-1))
    failed = [np.ones(q.shape[:-1])] + [np.zeros(q.shape[:-1]) for _ in range(most)]
    for i in range(q.shape[-1]):
        success = q[..., i]
        for k in range(most, 0, -1):
            failed[k] = failed[k] * success + failed[k - 1] * (1.0 - success)
        failed[0] = failed[0] * success
    return np.asarray(sum(failed))


def limit_for_probability(
    *, lower: float, errors: Errors, moved: float, fixed: float, independent: float, probability: float
) -> float:
    r"""What a result has to reach so that its true value reaches a lower limit with a stated probability.

    Parameters
    ----------
    lower : float
        The limit, any unit.
    errors : Errors
        Its common parts are used.
    moved : float
        What the result changes by for a unit change of all readings [-].
    fixed : float
        The part of result + fixed that an error in shares does not touch: k times a standard deviation that the
        contract states, else 0, in the same unit.
    independent : float
        Standard uncertainty through errors that are not common, in the same unit.
    probability : float
        Above 0.5 and below 1.

    Returns
    -------
    float
        The acceptance limit, in the same unit; above ``lower`` by the guard band.

    Raises
    ------
    InvalidSample
        If the probability is out of range, or the share is so large that no result would do.

    Notes
    -----
    The larger solution of (A - L)² = z² (a² u² + s² + rho² (A + c)²), in closed form; for a fixed amount alone
    A = L + z u.

    Source: JCGM 106:2012, 8.3.2 (clause from memory, unverified: guarded acceptance); the probability at its edge by
    JCGM 106:2012, 7.3.

    Examples
    --------
    1 % common, 95 %: A = 1.5 / (1 - 1.645 x 0.01) = 1.525.

    >>> limit_for_probability(lower=1.5, moved=1.0, fixed=0.0, independent=0.0, probability=0.95,
    ...     errors=Errors(common=0.0, common_share=0.01, independent=0.0, independent_share=0.0))
    1.525
    """
    p = check_level("probability", probability)
    if p <= 0.5:
        raise InvalidSample(f"expected a probability above 0.5; got {probability!r}")
    z = -float(special.ndtri(1.0 - p))
    amount = math.hypot(moved * errors.common, check_positive("independent", independent, zero_allowed=True))
    slope = z * errors.common_share
    if slope >= 1.0:
        raise InvalidSample(f"expected a smaller share: at {errors.common_share!r} no result reaches {p!r}")
    whole = _finite(lower) + fixed
    root = math.hypot(errors.common_share * whole, amount * math.sqrt(1.0 - slope * slope))
    return (whole + z * root) / (1.0 - slope * slope) - fixed


def _normal(over: Values, u: Values | float) -> Values:
    """Phi(over / u); without uncertainty 1 from 0 on."""
    u = np.broadcast_to(np.asarray(u, dtype=np.float64), over.shape)
    certain = np.where(over >= 0.0, np.inf, -np.inf)
    return np.asarray(special.ndtr(np.divide(over, u, out=certain, where=u > 0.0)))


def _rows(values: Values) -> Values:
    y = np.asarray(values, dtype=np.float64)
    if y.ndim != 2 or y.shape[1] == 0 or bool(np.isnan(y).any()):
        raise InvalidSample("expected rows of at least one reading, none missing")
    return y


def _finite(lower: float) -> float:
    if not math.isfinite(lower):
        raise InvalidSample(f"expected a finite limit; got {lower!r}")
    return lower
