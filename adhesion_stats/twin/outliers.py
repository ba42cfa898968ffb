"""p-values of Grubbs' and Dixon's tests in normal samples, by the integrals that define them.

Grubbs (one-sided): G = |suspect - mean| / sd. One given value lies beyond G with P(T > t), Student's t with n - 2
degrees of freedom, t = G √(n (n - 2) / ((n - 1)² - n G²)). Where two values can't both lie beyond G, that is for
G² >= (n - 1)(n - 2) / (2n), the p-value is n P(T > t), exactly (ASTM E178). Below, several can, and the p-value is one
less the distribution function, by the recursion of Grubbs, Annals of Mathematical Statistics 21 (1950) 27-58: with the
suspect at u, the others are a sample of n - 1 whose own largest distance must stay below h(u).

Dixon: the smallest value at x, the far value of the ratio at z; of the values between, so many lie beyond x + r (z - x)
(Annals of Mathematical Statistics 22 (1951) 68-78). A double integral, summed by the trapezoidal rule, which converges
exponentially for integrands that fall off at both ends.

Plain floats and ``math.erfc`` here: double sums in mpmath would take minutes. About 11 digits.
Imports: the standard library and this package.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Sequence
from fractions import Fraction

import mpmath
from mpmath import mpf

from adhesion_stats.twin.formulas import mean, number, student_tail, variance

__all__ = ["dixon_p", "dixon_ratio", "grubbs_p", "grubbs_statistic", "ratio_for"]

_RANGES: dict[str, tuple[tuple[int, int, str], ...]] = {
    "E178": ((3, 7, "r10"), (8, 10, "r11"), (11, 13, "r21"), (14, 30, "r22")),
    "E178 to 100": ((3, 7, "r10"), (8, 10, "r11"), (11, 13, "r21"), (14, 100, "r22")),
    "Q": ((3, 100, "r10"),),
}
LARGEST_RECURSION = 40  # n beyond which the twin leaves large p-values of Grubbs' test alone


def _phi(x: float) -> float:
    """Density of the normal distribution."""
    return math.exp(-x * x / 2) / math.sqrt(2 * math.pi)


def _cdf(x: float) -> float:
    """Distribution function of the normal distribution."""
    return math.erfc(-x / math.sqrt(2)) / 2


# --------------------------------------------------------------------------------------------------------- Grubbs


def grubbs_statistic(ascending: Sequence[Fraction], side: str) -> tuple[mpf, bool]:
    """G [-] of the suspect, and whether it is the largest value; side "low", "high" or "both" (the farther end)."""
    middle = mean(ascending)
    low, high = middle - ascending[0], ascending[-1] - middle
    largest = side == "high" or (side == "both" and high > low)
    return number(high if largest else low) / mpmath.sqrt(number(variance(ascending))), largest


def _one_beyond(g: mpf, n: int) -> mpf:
    """Probability that one given value of n lies beyond G on one side."""
    room = (n - 1) ** 2 - n * g * g
    return mpf(0) if room <= 0 else student_tail(g * mpmath.sqrt(n * (n - 2) / room), n - 2)


def grubbs_p(g: mpf, n: int, side: str) -> float | None:
    """p-value, two-sided 2 n P(T > t), at most 1; None where the twin leaves it alone: a large p of a large sample."""
    if side == "both":
        return float(min(mpf(1), 2 * n * _one_beyond(g, n)))
    if g * g >= mpf((n - 1) * (n - 2)) / (2 * n):
        return float(n * _one_beyond(g, n))
    if n > LARGEST_RECURSION:
        return None
    return 1 - _largest_below(n)(float(g))


def _reached_by(n: int, k: int) -> float:
    """The largest u that k of n values can all reach: between two of these the distribution function is smooth."""
    return math.sqrt((n - 1) * (n - k) / (n * k))


def _density(u: float, n: int) -> float:
    """Density of the studentised distance u of one given value (Thompson's distribution)."""
    inside = 1 - n * u * u / (n - 1) ** 2
    if inside <= 0:
        return 0.0
    log = math.lgamma((n - 1) / 2) - math.lgamma((n - 2) / 2) + 0.5 * math.log(n / math.pi) - math.log(n - 1)
    return math.exp(log + (n - 4) / 2 * math.log(inside))


def _within(u: float, n: int) -> float:
    """h(u): how far out, in the scale of the other n - 1, the largest of these may lie to stay below the suspect."""
    left = (n - 1 - n * u * u / (n - 1)) / (n - 2)
    return math.inf if left <= 0 else u * n / (n - 1) / math.sqrt(left)


@functools.cache
def _largest_below(n: int) -> Callable[[float], float]:
    """The distribution function of G in samples of n, as polynomials between the places where it is not smooth.

    F(g) = n ∫ density(u) F_(n-1)(h(u)) du from 1/√n to g. Each piece is taken in the variable s with u = right - (right
    - left) s², in which the half powers at its right end are smooth, and integrated by Gauss and Legendre's rule.
    """
    if n == 3:  # the middle value decides: n times Thompson's arcsine law from 1/√3 on

        def of_three(g: float) -> float:
            angle = math.asin(min(1.0, g * math.sqrt(3) / 2))
            return min(1.0, max(0.0, 3 / math.pi * (angle - math.pi / 6)))

        return of_three
    smaller = _largest_below(n - 1)
    edges = [_reached_by(n, k) for k in range(n - 1, 0, -1)]  # ascending, from 1/√n to (n - 1)/√n
    pieces: list[tuple[float, float, list[float]]] = []
    so_far = 0.0
    for left, right in itertools.pairwise(edges[:-1]):
        slopes = [_slope(left, right, s, n, smaller) for s in _NODES]
        pieces.append((left, right, [so_far + part for part in _areas_from_left(slopes)]))
        so_far += sum(weight * slope for weight, slope in zip(_WEIGHTS, slopes, strict=True))
    return _Pieces(n, pieces)


def _slope(left: float, right: float, s: float, n: int, smaller: Callable[[float], float]) -> float:
    """- dF/ds at s in (0, 1), u = right - (right - left) s²."""
    u = right - (right - left) * s * s
    return n * _density(u, n) * smaller(_within(u, n)) * 2 * (right - left) * s


class _Pieces:
    """The distribution function of G from its values at the nodes of each piece."""

    def __init__(self, n: int, pieces: list[tuple[float, float, list[float]]]) -> None:
        self.n, self.pieces = n, pieces

    def __call__(self, g: float) -> float:
        if g >= _reached_by(self.n, 2):
            return float(1 - self.n * _one_beyond(mpf(min(g, (self.n - 1) / math.sqrt(self.n))), self.n))
        for left, right, values in self.pieces:
            if left <= g <= right:
                return _interpolated(values, math.sqrt((right - g) / (right - left)))
        return 0.0


def _legendre(count: int) -> tuple[list[float], list[float]]:
    """Nodes and weights of Gauss and Legendre's rule on (0, 1): roots of the Legendre polynomial by Newton's rule."""
    nodes, weights = [], []
    for i in range(count):
        x = math.cos(math.pi * (i + 0.75) / (count + 0.5))
        slope = 1.0
        for _ in range(60):
            before, value = 1.0, x
            for k in range(2, count + 1):
                before, value = value, ((2 * k - 1) * x * value - (k - 1) * before) / k
            slope = count * (x * value - before) / (x * x - 1)
            step = value / slope
            x -= step
            if abs(step) < 1e-16:
                break
        nodes.append((1 - x) / 2)
        weights.append(1 / ((1 - x * x) * slope * slope))
    return nodes, weights


_NODES, _WEIGHTS = _legendre(24)
_BARY = [
    (-1) ** i * math.sqrt(node * (1 - node) * weight)
    for i, (node, weight) in enumerate(zip(_NODES, _WEIGHTS, strict=True))
]  # barycentric weights of Legendre nodes (Wang and Xiang, Mathematics of Computation 81 (2012) 861-877)


def _interpolated(values: Sequence[float], s: float) -> float:
    """The polynomial through the values at the nodes, by the barycentric formula."""
    top = bottom = 0.0
    for node, weight, value in zip(_NODES, _BARY, values, strict=True):
        if s == node:
            return value
        part = weight / (s - node)
        top += part * value
        bottom += part
    return top / bottom


@functools.cache
def _partial_weights() -> list[list[float]]:
    """Weights of the integral from each node to 1 of the polynomial through the values at the nodes."""
    rows = []
    for start in _NODES:
        row = [0.0] * len(_NODES)
        for x, w in zip(_NODES, _WEIGHTS, strict=True):
            s = start + (1 - start) * x
            parts = [weight / (s - node) if s != node else math.inf for node, weight in zip(_NODES, _BARY, strict=True)]
            total = sum(parts)
            for k, part in enumerate(parts):
                row[k] += w * (1 - start) * part / total
        rows.append(row)
    return rows


def _areas_from_left(slopes: Sequence[float]) -> list[float]:
    """The integral of the slope from s = 1 (the left end of the piece) to each node."""
    return [sum(weight * slope for weight, slope in zip(row, slopes, strict=True)) for row in _partial_weights()]


# ---------------------------------------------------------------------------------------------------------- Dixon


def ratio_for(n: int, convention: str) -> str | None:
    """Which ratio the convention uses for n values; None where it says nothing."""
    return next((ratio for first, last, ratio in _RANGES[convention] if first <= n <= last), None)


def dixon_ratio(ascending: Sequence[Fraction], ratio: str, side: str) -> tuple[Fraction, bool]:
    """The ratio, exact, and whether the suspect is the largest value; side "both": the larger of both ratios."""
    j, i = int(ratio[1]), int(ratio[2]) + 1
    low = _gap_over_span(ascending, j, i)
    high = _gap_over_span([-value for value in reversed(ascending)], j, i)
    largest = side == "high" or (side == "both" and high > low)
    return (high if largest else low), largest


def _gap_over_span(x: Sequence[Fraction], j: int, i: int) -> Fraction:
    """(x_(1+j) - x_1) / (x_(n-i+1) - x_1); 0 where the span is."""
    span = x[len(x) - i] - x[0]
    return (x[j] - x[0]) / span if span else Fraction(0)


def dixon_p(r: float, ratio: str, n: int, side: str) -> float:
    """P(R > r); two-sided: twice that, at most 1."""
    p = _dixon_above(r, n, int(ratio[1]), int(ratio[2]))
    return min(1.0, 2 * p) if side == "both" else min(1.0, p)


def _dixon_above(r: float, n: int, j: int, above: int) -> float:
    """P(R > r) of the ratio whose far value has ``above`` values beyond it (0, 1 or 2), j the neighbour (1 or 2).

    x is the smallest value, z = x + e^s the far one: of the m = n - 2 - above values between them all lie beyond
    c = x + r (z - x), or, for j = 2, all but one.
    """
    m = n - 2 - above
    ways = math.factorial(n) // (math.factorial(above) * math.factorial(m))
    total = 0.0
    fine = 1 if n <= 14 else 2 if n <= 40 else 4  # high powers ask for a finer grid
    step_x, step_s = 0.2 / fine, 0.15 / fine
    xs = [step_x * k for k in range(-45 * fine, 34 * fine)]  # beyond 9 standard deviations nothing is left
    spans = [(math.exp(step_s * k), step_s) for k in range(-120 * fine, 19 * fine)]  # e^-18 to e^2.7 = 15
    for x in xs:
        start = _cdf(x)
        inner = 0.0
        for span, step in spans:
            z = x + span
            if z > 9:
                break
            end = _cdf(z)
            cut = _cdf(x + r * span)
            beyond = max(end - cut, 0.0)
            kept = beyond**m
            if j == 2 and m >= 1:
                kept += m * (cut - start) * beyond ** (m - 1)
            inner += _phi(z) * math.erfc(z / math.sqrt(2)) ** above / 2**above * kept * span * step
        total += _phi(x) * inner * step_x
    return ways * total
