"""Tolerance bound of a complete Weibull sample, exact and without simulation.

``bounded_limits`` has the same bound where values are bounded.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.statistics.checks import check_level, check_sample
from adhesion_stats.statistics.tolerance import logarithms

__all__ = ["tolerance_bound_weibull"]

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
    n = check_sample(x, at_least=2)
    share, level = check_level("content", content), check_level("confidence", confidence)
    y = logarithms(x)
    if bool((y[:, 0] == y[:, -1]).any()):
        row = int(np.argmax(y[:, 0] == y[:, -1]))
        raise InvalidSample(f"expected values that differ; row {row} has equal ones only, no spread to judge by")
    bound = np.empty(x.shape[0])
    size = max(1, _CELLS // (_NODES * n))
    for start in range(0, x.shape[0], size):
        part = slice(start, start + size)
        bound[part] = _portion(y[part], n, -math.log(share), level)
    return np.exp(bound)


def _portion(y: Values, n: int, hazard: float, level: float) -> Values:
    # Moved and stretched: the largest value to 0, the standard deviation (divisor n) to 1.
    top = y[:, -1:]
    away = y - (row_sum(y) / n)[:, np.newaxis]
    unit = np.sqrt(row_sum(away * away) / n)[:, np.newaxis]
    scaled = (y - top) / unit
    low = 0.5 * math.log(n / (2.0 * float(special.gammainccinv(0.5 * n, 1e-10)))) - 1.2
    high = 0.5 * math.log(n / (2.0 * float(special.gammaincinv(0.5 * (n - 1), 1e-10)))) + 0.7
    v = np.linspace(low, high, _NODES)
    b = np.exp(v)
    terms = np.exp(scaled[:, np.newaxis, :] / b[:, np.newaxis])
    total = row_sum(terms)
    log_h = -(n - 1) * v + row_sum(scaled)[:, np.newaxis] / b - n * np.log(total)
    h = np.exp(log_h - log_h.max(axis=-1, keepdims=True))
    h /= row_sum(h)[:, np.newaxis]
    # The confidence falls from 1 to 0 as the bound rises; halving, since a steep start would throw Newton's method off.
    below, above = np.full(y.shape[0], -4000.0), np.full(y.shape[0], 40.0)
    for _ in range(_HALVINGS):
        middle = 0.5 * (below + above)
        lifted = hazard * total * np.exp(np.minimum(-middle[:, np.newaxis] / b, 680.0))
        reached = row_sum(h * special.gammainc(n, lifted))
        below, above = np.where(reached > level, middle, below), np.where(reached > level, above, middle)
    log_bound: Values = top[:, 0] + unit[:, 0] * 0.5 * (below + above)
    return log_bound
