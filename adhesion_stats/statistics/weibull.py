"""Tolerance bound of a complete Weibull sample, exact and without simulation; and the confidence reached for a value.

``bounded_limits`` has the same bound where values are bounded.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_positive, check_sample
from adhesion_stats.statistics.tolerance import logarithms

__all__ = ["confidence_above_weibull", "tolerance_bound_weibull"]

Values = NDArray[np.float64]

_NODES = 160  # over the logarithm of the scale
_HALVINGS = 64
_CELLS = 2_000_000


def tolerance_bound_weibull(x: Values, *, content: float, confidence: float) -> Values:
    r"""Lower one-sided tolerance bound of a two-parameter Weibull sample.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values above zero, any unit; not all equal within a row.
    content, confidence : float
        Share above the bound and confidence level [-], strictly between 0 and 1.

    Returns
    -------
    (g,) float64
        Bound, in the unit of the values, above zero.

    Raises
    ------
    InvalidSample
        If n < 2, a value is not above zero, all values of a row are equal, or a level lies outside 0 to 1.

    Notes
    -----
    With y = ln x, location u and scale b (shape 1/b), given the configuration of the sample, e^{-u/b} S(b) has the
    gamma distribution of n, S(b) = sum e^{y_i / b}, and b the density

    .. math::  h(b) \propto b^{-n-1}\, e^{\sum y_i / b}\, b\, S(b)^{-n}

    The bound e^L solves, with P the regularised incomplete gamma function,

    .. math::  \int h(b)\; P\big(n,\ -\ln p \sum e^{(y_i - L)/b}\big)\, db = \gamma

    by the trapezoidal rule in ln b; error of the confidence below 1e-9 (n = 2: 1e-7). Its level is exact. Source:
    Lawless, Technometrics 20 (1978) 355-364.

    Examples
    --------
    Twenty-three ball bearings (Lieblein & Zelen 1956): 90 % outlast 16.9 million turns, with 95 % confidence.

    >>> turns = np.array([[17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.40, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64,
    ...                    68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40]])
    >>> float(tolerance_bound_weibull(turns, content=0.90, confidence=0.95)[0])
    16.944
    """
    share, level = check_level("content", content), check_level("confidence", confidence)
    y = _checked(x)
    bound = np.empty(x.shape[0])
    for part in _parts(y):
        bound[part] = _portion(y[part], -math.log(share), level)
    return np.exp(bound)


def confidence_above_weibull(x: Values, *, content: float, value: float) -> Values:
    r"""Confidence with which a stated share of a two-parameter Weibull population is shown to lie above a value.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values above zero, any unit; not all equal within a row.
    content : float
        Share above the value [-], strictly between 0 and 1.
    value : float
        In the unit of the values, above 0.

    Returns
    -------
    (g,) float64
        Confidence [-]: that of which the tolerance bound equals the value.

    Raises
    ------
    InvalidSample
        If n < 2, a value is not above zero, all values of a row are equal, or the content lies outside 0 to 1.

    Notes
    -----
    The left side of the equation of ``tolerance_bound_weibull``, with e^L given. Source: as there.

    Examples
    --------
    Twenty-three ball bearings (Lieblein & Zelen 1956), 90 % above the bound of 95 % confidence:

    >>> turns = np.array([[17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.40, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64,
    ...                    68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40]])
    >>> float(confidence_above_weibull(turns, content=0.90, value=16.944)[0])
    0.9500
    """
    share, at = check_level("content", content), math.log(check_positive("value", value, zero_allowed=False))
    y = _checked(x)
    reached = np.empty(x.shape[0])
    for part in _parts(y):
        scales = _scales(y[part])
        reached[part] = _reached(scales, -math.log(share), (at - y[part][:, -1]) / scales.unit)
    return np.clip(reached, 0.0, 1.0)


def _checked(x: Values) -> Values:
    """Logarithms of a block that a Weibull distribution can be judged by."""
    check_sample(x, at_least=2)
    y = logarithms(x)
    if bool((y[:, 0] == y[:, -1]).any()):
        row = int(np.argmax(y[:, 0] == y[:, -1]))
        raise InvalidSample(f"expected values that differ; row {row} has equal ones only, no spread to judge by")
    return y


def _parts(y: Values) -> Iterator[slice]:
    size = max(1, _CELLS // (_NODES * y.shape[1]))
    for start in range(0, y.shape[0], size):
        yield slice(start, min(start + size, y.shape[0]))


@dataclass(frozen=True, eq=False)
class _Scales:
    """Logarithms moved and stretched (largest to 0, standard deviation with divisor n to 1), over nodes of the scale.

    Attributes
    ----------
    n : int
    unit : (g,) what the logarithms were divided by
    b : (nodes,) scale
    total : (g, nodes) S(b)
    weight : (g, nodes) density of b, summing to 1
    """

    n: int
    unit: Values
    b: Values
    total: Values
    weight: Values


def _scales(y: Values) -> _Scales:
    n = y.shape[1]
    away = y - (row_sum(y) / n)[:, np.newaxis]
    unit = np.sqrt(row_sum(away * away) / n)
    scaled = (y - y[:, -1:]) / unit[:, np.newaxis]
    low = 0.5 * math.log(n / (2.0 * float(special.gammainccinv(0.5 * n, 1e-10)))) - 1.2
    high = 0.5 * math.log(n / (2.0 * float(special.gammaincinv(0.5 * (n - 1), 1e-10)))) + 0.7
    v = np.linspace(low, high, _NODES)
    b = np.exp(v)
    terms = np.exp(scaled[:, np.newaxis, :] / b[:, np.newaxis])
    total = row_sum(terms)
    log_h = -(n - 1) * v + row_sum(scaled)[:, np.newaxis] / b - n * np.log(total)
    h = np.exp(log_h - log_h.max(axis=-1, keepdims=True))
    h /= row_sum(h)[:, np.newaxis]
    return _Scales(n, unit, b, total, h)


def _reached(scales: _Scales, hazard: float, at: Values) -> Values:
    """Confidence of a bound at ``at``, in moved and stretched logarithms."""
    lifted = hazard * scales.total * np.exp(np.minimum(-at[:, np.newaxis] / scales.b, 680.0))
    return row_sum(scales.weight * special.gammainc(scales.n, lifted))


def _portion(y: Values, hazard: float, level: float) -> Values:
    scales = _scales(y)
    # The confidence falls from 1 to 0 as the bound rises; halving, since a steep start would throw Newton's method off.
    below, above = np.full(y.shape[0], -4000.0), np.full(y.shape[0], 40.0)
    for _ in range(_HALVINGS):
        middle = 0.5 * (below + above)
        enough = _reached(scales, hazard, middle) > level
        below, above = np.where(enough, middle, below), np.where(enough, above, middle)
    log_bound: Values = y[:, -1] + scales.unit * 0.5 * (below + above)
    return log_bound
