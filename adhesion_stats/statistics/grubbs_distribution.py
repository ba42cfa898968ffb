"""The exact one-sided distribution of Grubbs' statistic in normal samples; users call ``grubbs``, which checks what
comes in.

The recursion is written out in ``grubbs.grubbs_p_value``. It is carried from n = 3 upwards as Chebyshev series on the
pieces where the distribution function is smooth; the last piece has a closed form, and both meet within 4e-14 for n to
300.

Imports: numpy, scipy.special, scipy.optimize. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from scipy import special

__all__ = ["LARGEST_N", "alone_from", "one_beyond", "survival", "upper_point"]

Values = NDArray[np.float64]

LARGEST_N = 300  # checked this far

_ORDER = 28  # Chebyshev terms per piece of the distribution


def alone_from(n: int) -> float:
    """From this G on no second value can lie as far out on the same side."""
    return math.sqrt((n - 1) * (n - 2) / (2 * n))


def _reached_by(n: int, k: int) -> float:
    """Largest u that k of n values can all reach; between two of these the distribution function is smooth."""
    return math.sqrt((n - 1) * (n - k) / (n * k))


def one_beyond(u: Values, n: int) -> Values:
    """Probability that one given value lies beyond u."""
    room = np.maximum((n - 1) ** 2 - n * u * u, 0.0)
    with np.errstate(divide="ignore"):
        tail: Values = special.stdtr(n - 2, -u * np.sqrt(n * (n - 2) / room))
    return tail


@dataclass(frozen=True, eq=False)
class _Distribution:
    """F_n below u*, as Chebyshev series on each piece between ``_reached_by(n, k + 1)`` and ``_reached_by(n, k)``.

    On a piece [a, b] the variable is y = sqrt((b - u)/(b - a)): F has half-integer powers of b - u at the upper end and
    is smooth at the lower one, so that it is analytic in y. ``series[:, k - 2]`` belongs to piece k = 2 ... n - 2.
    """

    n: int
    series: Values

    def below(self, y: Values) -> Values:
        """F at y, one row of y per piece."""
        return _series_value(self.series, 2.0 * y.T - 1.0).T

    def survival(self, statistic: Values) -> Values:
        """1 - F at values below u*."""
        ends = np.array([_reached_by(self.n, k) for k in range(self.n - 1, 1, -1)])  # ascending, 1/sqrt(n) ... u*
        piece = np.clip(np.searchsorted(ends, statistic, side="right") - 1, 0, max(len(ends) - 2, 0))
        f = np.zeros_like(statistic)
        above = statistic > ends[0]
        if above.any():
            at = piece[above]
            lower, upper = ends[at], ends[at + 1]
            y = np.sqrt(np.clip((upper - statistic[above]) / (upper - lower), 0.0, 1.0))
            f[above] = _series_value(self.series[:, self.n - 4 - at], 2.0 * y - 1.0)
        survival: Values = np.clip(1.0 - f, 0.0, 1.0)
        return survival


def _series_value(series: Values, at: Values) -> Values:
    """Chebyshev series, one per column of ``series``, at the points of the same column of ``at``."""
    value: Values = np.asarray(chebyshev.chebval(at, series, tensor=False), dtype=np.float64)
    return value


@lru_cache(maxsize=LARGEST_N)
def _distribution(n: int) -> _Distribution:
    found = _Distribution(3, np.zeros((_ORDER + 1, 0)))
    for m in range(4, n + 1):
        found = _next(found, m)
    return found


def _next(previous: _Distribution, n: int) -> _Distribution:
    """The distribution for n values from the one for n - 1: integrate n f_n(u) F_{n-1}(h(u)) piece by piece."""
    k = np.arange(2, n - 1)
    upper = np.sqrt((n - 1) * (n - k) / (n * k))[:, np.newaxis]
    lower = np.sqrt((n - 1) * (n - k - 1) / (n * (k + 1)))[:, np.newaxis]
    nodes = np.cos(np.pi * (np.arange(_ORDER) + 0.5) / _ORDER)
    y = 0.5 * (nodes + 1.0)
    u = upper - (upper - lower) * y * y
    share = 1.0 - n * u * u / (n - 1) ** 2
    log_constant = (
        special.gammaln(0.5 * (n - 1)) - special.gammaln(0.5 * (n - 2)) + 0.5 * math.log(n / math.pi) - math.log(n - 1)
    )
    density = np.exp(log_constant + 0.5 * (n - 4) * np.log(share))
    h = u * n / (n - 1) / np.sqrt(((n - 1) - n * u * u / (n - 1)) / (n - 2))
    # Piece k of n looks back on piece k - 1 of n - 1; the first of these is the closed form.
    back = np.empty_like(h)
    back[0] = 1.0 - (n - 1) * one_beyond(h[0], n - 1)
    if n > 4:
        j = k[1:] - 1
        top = np.sqrt((n - 2) * (n - 1 - j) / ((n - 1) * j))[:, np.newaxis]
        bottom = np.sqrt((n - 2) * (n - 2 - j) / ((n - 1) * (j + 1)))[:, np.newaxis]
        back[1:] = previous.below(np.sqrt(np.clip((top - h[1:]) / (top - bottom), 0.0, 1.0)))
    integrand = n * density * back * 2.0 * (upper - lower) * y
    # Chebyshev series of the integrand from its values at the nodes, then its integral over y from 1 down.
    angle = np.pi * (np.arange(_ORDER) + 0.5) / _ORDER
    to_series = 2.0 / _ORDER * np.cos(np.arange(_ORDER)[:, np.newaxis] * angle)
    to_series[0] *= 0.5
    integral = chebyshev.chebint(to_series @ integrand.T, m=1, lbnd=1, scl=-0.5)
    gain = _series_value(
        integral, np.full(integral.shape[1], -1.0)
    )  # of each piece, from its lower end to its upper one
    start = np.cumsum(gain[::-1])[::-1] - gain  # what lies below each piece
    # F(y) = F(lower end) + integral from y to 1.
    integral[0] += start
    return _Distribution(n, integral)


def survival(statistic: Values, *, n: int) -> Values:
    """P(G > statistic), one-sided: the closed form where it is exact, the recursion below."""
    p = np.minimum(1.0, n * one_beyond(statistic, n))
    inside = statistic < alone_from(n)
    if inside.any():
        p[inside] = _distribution(n).survival(statistic[inside])
    return p


@lru_cache(maxsize=4096)
def upper_point(*, n: int, level: float, two_sided: bool) -> float:
    """The critical value, as ``grubbs.grubbs_critical`` describes it; arguments as checked there."""
    t = float(special.stdtrit(n - 2, level / (2 * n if two_sided else n)))
    by_formula = (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))
    if two_sided:
        # At levels so high that twice the one-sided chance passes 1 the formula gives nothing above the least possible
        # value.
        return by_formula if t < 0.0 else 0.0
    if t < 0.0 and by_formula >= alone_from(n) - 1e-12:
        return by_formula
    from scipy import optimize  # loads as long as all else together

    spread = _distribution(n)

    def excess(statistic: float) -> float:
        return float(spread.survival(np.array([statistic]))[0]) - level

    return float(optimize.brentq(excess, 1.0 / math.sqrt(n), alone_from(n), xtol=1e-15, rtol=8.9e-16))
