"""The exact distribution of Grubbs' ratio for two outliers in one tail of a normal sample; users call ``grubbs_pair``,
which checks what comes in.

The integral is written out in ``grubbs_pair.grubbs_pair_p_value``. It is carried as Chebyshev series over the pieces
where it is smooth; its last value, which has to be 1, is met within 1e-12 for n to 100.

Imports: numpy, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from adhesion_stats.statistics.grubbs_distribution import survival

__all__ = ["LARGEST_N", "below", "lower_point"]

Values = NDArray[np.float64]

LARGEST_N = 100  # checked this far

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)
_UNIT, _UNIT_WEIGHTS = 0.5 * (_NODES + 1.0), 0.5 * _WEIGHTS


def _order(n: int) -> int:
    """Chebyshev terms per piece: with few values the pieces are wide, and end near a branch point."""
    return 64 if n < 8 else 28


@dataclass(frozen=True, eq=False)
class _Distribution:
    """P(ratio <= rho^2) on the pieces between ``ends``, as Chebyshev series in y = sqrt((rho - a)/(b - a)).

    The first piece, from rho = 0, is a series in rho / b times rho^(n - 3), so that the smallest probabilities keep
    their digits.
    """

    n: int
    ends: Values
    series: Values

    def below(self, ratio: Values) -> Values:
        """P(ratio' <= ratio)."""
        rho = np.sqrt(ratio)
        piece = np.clip(np.searchsorted(self.ends, rho, side="right") - 1, 0, self.ends.size - 2)
        a, b = self.ends[piece], self.ends[piece + 1]
        share = np.clip((rho - a) / (b - a), 0.0, 1.0)
        at = 2.0 * np.where(piece == 0, share, np.sqrt(share)) - 1.0
        p = np.asarray(chebyshev.chebval(at, self.series[:, piece], tensor=False), dtype=np.float64)
        p = np.where(piece == 0, p * share ** (self.n - 3), p)
        clipped: Values = np.clip(p, 0.0, 1.0)
        return clipped


def _share_of_circle(y: Values, m: int, cos_phi: float) -> Values:
    """1/pi times the integral of F_m(y cos psi) over psi from phi to pi/2; y of any shape."""
    top = (m - 1) / math.sqrt(m)
    flat = y.ravel()
    total = np.maximum(np.arccos(np.minimum(top / flat, 1.0)) - math.acos(cos_phi), 0.0)
    reach = np.minimum(flat * cos_phi, top)
    for k in range(1, m - 1):
        a = math.sqrt((m - 1) * (m - k - 1) / (m * (k + 1)))
        b = math.sqrt((m - 1) * (m - k) / (m * k))
        rows = np.flatnonzero(reach > a)
        if rows.size == 0:
            continue
        # F_m is analytic in s = sqrt((b - g)/(b - a)) from s_low (where g = reach) to 1 (where g = a).
        s_low = np.sqrt(np.maximum(b - reach[rows], 0.0) / (b - a))
        width = 1.0 - s_low
        s = s_low[:, np.newaxis] + width[:, np.newaxis] * _UNIT
        g = b - (b - a) * s * s
        whole = width == 1.0
        f = np.empty_like(g)
        if whole.any():
            f[whole] = 1.0 - survival(b - (b - a) * _UNIT * _UNIT, n=m)
        if not whole.all():
            part = g[~whole]
            f[~whole] = 1.0 - survival(part.ravel(), n=m).reshape(part.shape)
        room = np.sqrt((flat[rows, np.newaxis] - g) * (flat[rows, np.newaxis] + g))
        total[rows] += (f * 2.0 * (b - a) * s / room) @ _UNIT_WEIGHTS * width
    shaped: Values = (total / math.pi).reshape(y.shape)
    return shaped


@lru_cache(maxsize=LARGEST_N)
def _distribution(n: int) -> _Distribution:
    m, order = n - 2, _order(n)
    scale = math.sqrt((n - 1) / (n - 2))
    cos_phi = math.sqrt(n / (2.0 * (n - 1)))
    # Pieces of rho = sqrt(ratio): cut where the nearer of the pair passes a joint of F_m.
    joints = np.array([math.sqrt((m - 1) * (m - k) / (m * k)) for k in range(1, m)]) / cos_phi
    ends = np.concatenate(([0.0], 1.0 / np.sqrt(1.0 + (joints / scale) ** 2 / (n - 3))))
    angle = np.pi * (np.arange(order) + 0.5) / order
    t = 0.5 * (np.cos(angle) + 1.0)
    to_series = 2.0 / order * np.cos(np.arange(order)[:, np.newaxis] * angle)
    to_series[0] *= 0.5
    a, b = ends[:-1, np.newaxis], ends[1:, np.newaxis]
    inner = a + (b - a) * t * t
    inner[0] = b[0] * t
    y = scale * np.sqrt((1.0 - inner * inner) * (n - 3)) / inner
    density = math.comb(n, 2) * (n - 3) * _share_of_circle(y, m, cos_phi)
    # Pieces above the first: integral of density rho^(n-4) d rho, with d rho = 2 (b - a) t dt.
    integrand = density * inner ** (n - 4) * 2.0 * (b - a) * t
    series = np.zeros((order + 1, ends.size - 1))
    if ends.size > 2:
        series[:, 1:] = chebyshev.chebint(to_series @ integrand[1:].T, m=1, lbnd=-1, scl=0.5)
    # First piece: P(rho) = rho^(n-3) times the mean of the density over s^(n-4) ds (n - 3), s = rho'/rho from 0 to 1.
    s_power = _UNIT_WEIGHTS * _UNIT ** (n - 4)
    first = np.empty(order)
    rho = b[0, 0] * t
    points = rho[:, np.newaxis] * _UNIT
    y_first = scale * np.sqrt((1.0 - points * points) * (n - 3)) / points
    first[:] = math.comb(n, 2) * (n - 3) * (_share_of_circle(y_first, m, cos_phi) @ s_power)
    series[:order, 0] = to_series @ (first * b[0, 0] ** (n - 3))
    at_end = float(chebyshev.chebval(1.0, series[:, 0]))
    for piece in range(1, ends.size - 1):
        series[0, piece] += at_end
        at_end = float(chebyshev.chebval(1.0, series[:, piece]))
    return _Distribution(n, ends, series)


def below(ratio: Values, *, n: int) -> Values:
    """P(ratio' <= ratio), one-sided, of ratios from 0 to 1."""
    return _distribution(n).below(ratio)


@lru_cache(maxsize=4096)
def lower_point(*, n: int, level: float) -> float:
    """The ratio c with P(ratio <= c) = level, one-sided; arguments as checked by ``grubbs_pair``."""
    from scipy import optimize  # loads as long as all else together

    spread = _distribution(n)

    def excess(log_ratio: float) -> float:
        return math.log(max(float(spread.below(np.array([math.exp(log_ratio)]))[0]), 1e-300)) - math.log(level)

    high = 2.0 * math.log(float(spread.ends[-1]))
    if excess(high) <= 0.0:
        return math.exp(high)
    low = high - 1.0
    while excess(low) > 0.0:
        low -= 2.0 * (high - low)
    return math.exp(float(optimize.brentq(excess, low, high, xtol=1e-14, rtol=8.9e-16)))
