"""The slow plain twin of outlier tests, precision, uncertainty and sample sizes: one sample at a time, from the
definitions, without a look at the kernels. Imports nothing of the package.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import mpmath
import numpy as np
from mpmath import mpf

from tests import oracle_statistics as plain

# ------------------------------------------------------------------------------------------------ two outliers


def squares(values: Sequence[float]) -> Fraction:
    """Sum of squared deviations from the mean, exact."""
    middle = plain.mean(values)
    return sum(((Fraction(value) - middle) ** 2 for value in values), Fraction(0))


def pair_ratio(values: Sequence[float], *, high: bool) -> float:
    """Sum of squares without the two largest (or smallest) over the whole; 1 where all are equal."""
    ordered = sorted(values)
    whole = squares(ordered)
    rest = ordered[:-2] if high else ordered[2:]
    return float(squares(rest) / whole) if whole else 1.0


def pair_below(ratio: float, n: int, *, points: int) -> float:
    """P(pair ratio <= ratio), one-sided: both integrals by Gauss-Legendre between all joints, F by the recursion.

    ``F_(n-2)`` is computed here by its own integral over one value and the closed form one below: for n = 6 and 7.
    """
    m = n - 2
    joints = [math.sqrt((m - 1) * (m - k) / (m * k)) for k in range(1, m)]
    cos_phi = math.sqrt(n / (2 * (n - 1)))
    reach = math.sqrt((n - 1) / (n - 2))
    cuts = [
        1.0 / math.sqrt(1.0 + (joint / cos_phi / reach) ** 2 / (n - 3)) for joint in joints
    ]  # of rho = sqrt(ratio), where the nearer of the pair meets a joint
    top = math.sqrt(ratio)
    total = 0.0
    edges = [0.0, *(cut for cut in sorted(cuts) if cut < top), top]
    for low, high in itertools.pairwise(edges):
        for s, weight in _gauss(points):
            # Branch points lie at the lower end of every piece but the first.
            rho, slope = (low + (high - low) * s * s, 2 * (high - low) * s) if low else (high * s, high)
            y = reach * math.sqrt((1 - rho * rho) * (n - 3)) / rho
            inner = _circle(y, m, cos_phi, joints, points)
            total += weight * slope * (n - 3) * rho ** (n - 4) * inner
    return math.comb(n, 2) * total


def _circle(y: float, m: int, cos_phi: float, joints: list[float], points: int) -> float:
    """1/pi of the integral of F_m(y cos psi) over psi from phi to pi/2."""
    phi = math.acos(cos_phi)
    ends = sorted({phi, math.pi / 2, *(math.acos(joint / y) for joint in joints if joint < y * cos_phi)})
    total = 0.0
    for low, high in itertools.pairwise(ends):
        for s, weight in _gauss(points):
            psi = low + (high - low) * s * s
            total += weight * 2 * (high - low) * s * _grubbs_below(y * math.cos(psi), m, points)
    return total / math.pi


def _grubbs_below(g: float, m: int, points: int) -> float:
    """P(G <= g), one side: closed form, or one integral over it (m = 4 and 5)."""
    if g <= 1 / math.sqrt(m):
        return 0.0
    if g >= (m - 1) / math.sqrt(m):
        return 1.0
    start = math.sqrt((m - 1) * (m - 2) / (2 * m))
    if g >= start:
        return 1.0 - m * _alone(g, m)
    constant = math.gamma((m - 1) / 2) / math.gamma((m - 2) / 2) * math.sqrt(m / math.pi) / (m - 1)
    joints = sorted(math.sqrt((m - 1) * (m - k) / (m * k)) for k in range(2, m))
    edges = [*(joint for joint in joints if joint < g), g]
    total = 0.0
    for low, high in itertools.pairwise(edges):
        end = min((joint for joint in joints if joint >= high), default=start)
        for s, weight in _gauss(points):
            # y runs from the joint above, where the branch point is.
            y_low, y_high = math.sqrt(end - high), math.sqrt(end - low)
            y = y_low + (y_high - y_low) * s
            u = end - y * y
            density = constant * (1 - m * u * u / (m - 1) ** 2) ** ((m - 4) / 2)
            h = u * m / (m - 1) / math.sqrt(((m - 1) - m * u * u / (m - 1)) / (m - 2))
            total += weight * 2 * y * (y_high - y_low) * m * density * _grubbs_below(h, m - 1, points)
    return total


def _alone(g: float, m: int) -> float:
    from scipy import special

    room = (m - 1) ** 2 - m * g * g
    return float(special.stdtr(m - 2, -g * math.sqrt(m * (m - 2) / room))) if room > 0 else 0.0


@lru_cache(maxsize=8)
def _gauss(points: int) -> list[tuple[float, float]]:
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return [(0.5 * (a + 1.0), 0.5 * w) for a, w in zip(nodes.tolist(), weights.tolist(), strict=True)]


# ------------------------------------------------------------------------------------------------ several outliers


def esd(values: Sequence[float], r: int) -> list[tuple[float, float]]:
    """(statistic, value taken away) of each step; of two equally far the low one."""
    left = sorted(values)
    found = []
    for _ in range(r):
        middle = plain.mean(left)
        spread = plain.sd(left)
        away = max(left, key=lambda value: (abs(Fraction(value) - middle), -value))
        distance = plain.real(abs(Fraction(away) - middle))
        found.append((float(distance / spread) if spread else 0.0, away))
        left.remove(away)
    return found


def esd_critical(n: int, i: int, alpha: float) -> float:
    """lambda_i by the formula of 1983, with a t quantile by bisection."""
    t = plain.t_quantile(1.0 - alpha / (2 * (n - i + 1)), n - i - 1)
    return float((n - i) * t / mpmath.sqrt((n - i - 1 + t * t) * (n - i + 1)))


def tietjen_moore(values: Sequence[float], k: int) -> float:
    """E_k, exact."""
    middle = plain.mean(values)
    near = sorted(values, key=lambda value: abs(Fraction(value) - middle))
    whole = squares(values)
    return float(squares(near[: len(near) - k]) / whole) if whole else 1.0


def modified_z(values: Sequence[float]) -> list[float]:
    """0.6745 (x - median) / MAD of each value."""
    middle = plain.median(values)
    deviation = plain.median([float(abs(Fraction(value) - middle)) for value in values])
    return [float(Fraction("0.6745") * (Fraction(value) - middle) / deviation) for value in values]


def holm(p_values: Sequence[float]) -> list[float]:
    """Adjusted p: the smallest family level at which the step-down procedure rejects, by its definition."""
    m = len(p_values)
    order = sorted(range(m), key=lambda at: p_values[at])
    adjusted = [0.0] * m
    largest = 0.0
    for rank, at in enumerate(order):
        largest = max(largest, min(1.0, (m - rank) * p_values[at]))
        adjusted[at] = largest
    return adjusted


# ------------------------------------------------------------------------------------------------ variances


def cochran_survival(c: float, p: int, df: int) -> float:
    """P(C > c): mpmath's integral of the recursion, nested, so for few variances only."""
    return float(1 - _shares_below(mpf(c), p, df))


def _shares_below(c: mpf, p: int, df: int) -> mpf:
    if c <= mpf(1) / p:
        return mpf(0)
    half, rest = mpf(df) / 2, mpf((p - 1) * df) / 2
    if c >= mpf(1) / 2:
        return 1 - p * (1 - mpmath.betainc(half, rest, 0, c, regularized=True))

    def integrand(u: mpf) -> mpf:
        return u ** (half - 1) * (1 - u) ** (rest - 1) / mpmath.beta(half, rest) * _shares_below(u / (1 - u), p - 1, df)

    cuts = [mpf(1) / p, *(mpf(1) / k for k in range(p - 1, 2, -1) if mpf(1) / k < c), c]
    return p * mpmath.quad(integrand, cuts)


@dataclass(frozen=True)
class PlainPrecision:
    """Repeatability, between and reproducibility standard deviation of one level."""

    mean: float
    repeatability: float
    between_variance: float
    reproducibility: float


def precision(cells: Sequence[Sequence[float]]) -> PlainPrecision:
    """ISO 5725-2:1994, 7.4.5, in exact fractions."""
    n = [len(cell) for cell in cells]
    total, p = sum(n), len(cells)
    means = [plain.mean(cell) for cell in cells]
    grand = sum((count * mean for count, mean in zip(n, means, strict=True)), Fraction(0)) / total
    within = sum((squares(cell) for cell in cells), Fraction(0)) / (total - p)
    between = sum((count * (mean - grand) ** 2 for count, mean in zip(n, means, strict=True)), Fraction(0)) / (p - 1)
    size = (total - Fraction(sum(count * count for count in n), total)) / (p - 1)
    component = (between - within) / size
    return PlainPrecision(
        mean=float(grand),
        repeatability=math.sqrt(within),
        between_variance=float(component),
        reproducibility=math.sqrt(max(component, Fraction(0)) + within),
    )


def nested(groups: Sequence[Sequence[Sequence[float]]]) -> tuple[float, float, float]:
    """Components between groups, between parts, within: by solving the three equations of expected mean squares.

    The coefficients are found by putting in unit variances: the expectation of a sum of squares of independent values
    with variance v_i is the trace of its matrix with these variances, written out as sums.
    """
    rows = [(g, (g, j), Fraction(x)) for g, parts in enumerate(groups) for j, part in enumerate(parts) for x in part]
    total = len(rows)
    size_g: dict[int, int] = {}
    size_p: dict[tuple[int, int], int] = {}
    sum_g: dict[int, Fraction] = {}
    sum_p: dict[tuple[int, int], Fraction] = {}
    for g, p, x in rows:
        size_g[g] = size_g.get(g, 0) + 1
        size_p[p] = size_p.get(p, 0) + 1
        sum_g[g] = sum_g.get(g, Fraction(0)) + x
        sum_p[p] = sum_p.get(p, Fraction(0)) + x
    t_all = sum((x for _, _, x in rows), Fraction(0)) ** 2 / total
    t_g = sum((sum_g[g] ** 2 / size_g[g] for g in size_g), Fraction(0))
    t_p = sum((sum_p[p] ** 2 / size_p[p] for p in size_p), Fraction(0))
    t_x = sum((x * x for _, _, x in rows), Fraction(0))
    # Expected uncorrected sums: coefficients of (group, part, within) components; the mean cancels in differences.
    e_all = (
        Fraction(sum(s * s for s in size_g.values()), total),
        Fraction(sum(s * s for s in size_p.values()), total),
        Fraction(1),
    )
    e_g = (
        Fraction(total),
        sum((Fraction(s * s, size_g[p[0]]) for p, s in size_p.items()), Fraction(0)),
        Fraction(len(size_g)),
    )
    e_p = (Fraction(total), Fraction(total), Fraction(len(size_p)))
    e_x = (Fraction(total), Fraction(total), Fraction(total))
    within = (t_x - t_p) / (e_x[2] - e_p[2])
    part = ((t_p - t_g) - within * (e_p[2] - e_g[2])) / (e_p[1] - e_g[1])
    group = ((t_g - t_all) - within * (e_g[2] - e_all[2]) - part * (e_g[1] - e_all[1])) / (e_g[0] - e_all[0])
    return float(group), float(part), float(within)


# ------------------------------------------------------------------------------------------------ sample sizes


def noncentral_t_above(t: float, df: int, delta: float) -> float:
    """P(t' > t): integral over the chi variable over its root df, 30 digits."""
    half = mpf(df) / 2
    constant = 2 * half**half / mpmath.gamma(half)

    def integrand(s: mpf) -> mpf:
        return constant * s ** (df - 1) * mpmath.exp(-half * s * s) * mpmath.ncdf(mpf(delta) - mpf(t) * s)

    return float(mpmath.quad(integrand, [0, 0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 3, 5, 9]))
