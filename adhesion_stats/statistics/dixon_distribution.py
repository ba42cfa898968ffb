"""The exact distribution of Dixon's ratios in normal samples; users call ``dixon``, which checks what comes in.

The double integral is written out in ``dixon.dixon_p_value``. A product grid of Gauss-Legendre nodes gives it to 5e-14
for n to 100; nodes that can't matter are dropped, which leaves a few thousand. For arrays, P(R > r) is interpolated in
r.

Imports: numpy, scipy.special, scipy.optimize. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from scipy import special

__all__ = ["LARGEST_N", "NEIGHBOUR", "Ratio", "survival", "upper_point"]

Values = NDArray[np.float64]
Ratio = Literal["r10", "r11", "r12", "r20", "r21", "r22"]

LARGEST_N = 100

# Ratio r(j, i-1): gap from the suspect to its j-th neighbour over its distance to the i-th value from the other end.
NEIGHBOUR: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"r10": (1, 1), "r11": (1, 2), "r12": (1, 3), "r20": (2, 1), "r21": (2, 2), "r22": (2, 3)}
)

_TERMS = 64  # Chebyshev terms of the interpolant


@dataclass(frozen=True, eq=False)
class _Grid:
    """Nodes of the double integral, and all factors that do not depend on r (flat arrays)."""

    x: Values
    v: Values
    phi_x: Values
    phi_far: Values
    weight: Values
    between: int
    j: int

    def above(self, r: float) -> float:
        """P(R > r)."""
        phi_gap = special.ndtr(self.x - r * self.v)
        inside = np.maximum(phi_gap - self.phi_far, 0.0)
        rest = inside ** (self.between - self.j + 1)
        if self.j == 1:
            return float(np.sum(self.weight * rest))
        return float(np.sum(self.weight * rest * (inside + self.between * (self.phi_x - phi_gap))))


@lru_cache(maxsize=32)
def _grid(ratio: Ratio, n: int) -> _Grid:
    j, i = NEIGHBOUR[ratio]
    nodes, weights = np.polynomial.legendre.leggauss(120 if n <= 30 else 170)
    x, x_weight = 8.5 * nodes, 8.5 * weights
    v, v_weight = 8.0 * (nodes + 1.0), 8.0 * weights
    xx, vv = (axis.ravel() for axis in np.meshgrid(x, v, indexing="ij"))
    phi_x, phi_far = special.ndtr(xx), special.ndtr(xx - vv)
    constant = math.exp(math.lgamma(n + 1) - math.lgamma(i) - math.lgamma(n - i))
    weight = (
        constant
        / (2.0 * math.pi)
        * np.outer(x_weight, v_weight).ravel()
        * phi_far ** (i - 1)
        * np.exp(-0.5 * (xx * xx + (xx - vv) ** 2))
    )
    # At r = 0 every node contributes most; what is negligible there is negligible for all r.
    keep = weight * (phi_x - phi_far) ** (n - i - 1) * (1.0 if j == 1 else n) > 1e-22
    return _Grid(xx[keep], vv[keep], phi_x[keep], phi_far[keep], weight[keep], n - i - 1, j)


@lru_cache(maxsize=4096)
def upper_point(*, ratio: Ratio, n: int, level: float) -> float:
    """The r with P(R > r) = level, one-sided; arguments as checked by ``dixon``."""
    from scipy import optimize  # loads as long as all else together

    grid = _grid(ratio, n)
    return float(optimize.brentq(lambda r: grid.above(r) - level, 0.0, 1.0, xtol=1e-14, rtol=1e-14))


@lru_cache(maxsize=1024)
def _interpolant(ratio: Ratio, n: int) -> Values:
    """Chebyshev series of P(R > r) over r from 0 to 1."""
    grid = _grid(ratio, n)
    angle = np.pi * (np.arange(_TERMS) + 0.5) / _TERMS
    values = np.array([grid.above(r) for r in 0.5 * (np.cos(angle) + 1.0)])
    series: Values = 2.0 / _TERMS * np.cos(np.arange(_TERMS)[:, np.newaxis] * angle) @ values
    series[0] *= 0.5
    return series


def survival(r: Values, *, ratio: Ratio, n: int) -> Values:
    """P(R > r) of ratios from 0 to 1, one-sided; the interpolant is built once per (ratio, n)."""
    return np.clip(chebyshev.chebval(2.0 * r - 1.0, _interpolant(ratio, n)), 0.0, 1.0)
