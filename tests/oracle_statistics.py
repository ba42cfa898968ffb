"""The slow plain twin of the statistics: one sample at a time, standard library and mpmath only.

Written from the definitions, without a look at the kernels: sums in exact fractions, integrals by another route than
theirs. Imports nothing of the package.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

import mpmath
from mpmath import mp, mpf

mp.dps = 30


# ------------------------------------------------------------------------------------------------ description


def mean(values: Sequence[float]) -> Fraction:
    """Arithmetic mean, exact."""
    return sum((Fraction(value) for value in values), Fraction(0)) / len(values)


def variance(values: Sequence[float]) -> Fraction:
    """Sum of squared deviations over n - 1, exact."""
    middle = mean(values)
    return sum(((Fraction(value) - middle) ** 2 for value in values), Fraction(0)) / (len(values) - 1)


def real(number: Fraction) -> mpf:
    """A fraction as a number of 30 digits."""
    return mpf(number.numerator) / mpf(number.denominator)


def sd(values: Sequence[float]) -> mpf:
    """Standard deviation, divisor n - 1."""
    return mpmath.sqrt(real(variance(values)))


def median(values: Sequence[float]) -> Fraction:
    """Middle value, or mean of the two middle ones, exact."""
    ordered = sorted(Fraction(value) for value in values)
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def groups(codes: Iterable[int], rows: Iterable[tuple[float, float]]) -> dict[int, list[tuple[float, float]]]:
    """Rows (low, high) of each group, ascending."""
    found: dict[int, list[tuple[float, float]]] = {}
    for code, row in zip(codes, rows, strict=True):
        found.setdefault(code, []).append(row)
    return {code: sorted(found[code]) for code in sorted(found)}


# ------------------------------------------------------------------------------------------------ t and tolerance


def t_below(t: mpf, df: int) -> mpf:
    """P(T < t), Student's t."""
    tail = mpmath.betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + mpf(t) ** 2), regularized=True) / 2
    return tail if t < 0 else 1 - tail


def t_quantile(probability: float, df: int) -> mpf:
    """The t with P(T < t) = probability, by bisection."""
    if probability == 0.5:
        return mpf(0)
    if probability > 0.5:
        return -_t_lower(1 - mpf(probability), df)
    return _t_lower(mpf(probability), df)


def _t_lower(tail: mpf, df: int) -> mpf:
    low, high = mpf(-1), mpf(0)
    while t_below(low, df) > tail:
        low *= 2
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if t_below(middle, df) < tail else (low, middle)
    return (low + high) / 2


def k_one_sided(n: int, content: float, confidence: float) -> mpf:
    """Tolerance factor as root of P(sqrt(n) (k S - z) > U) = confidence, S the chi variable over its root df."""
    df = n - 1
    z = mpmath.sqrt(2) * mpmath.erfinv(2 * mpf(content) - 1)
    constant = 2 * (mpf(df) / 2) ** (mpf(df) / 2) / mpmath.gamma(mpf(df) / 2)

    def reached(k: mpf) -> mpf:
        def integrand(s: mpf) -> mpf:
            density = constant * s ** (df - 1) * mpmath.exp(-df * s * s / 2)
            return density * mpmath.ncdf(mpmath.sqrt(n) * (k * s - z))

        middle = abs(z / k)
        cuts = sorted({mpf(0), middle / 2, middle, middle * 2, mpf(1) / 2, mpf(1), mpf(2), mpf(4), mpf(9)})
        return mpmath.quad(integrand, cuts)

    low, high = z / 2, 2 * z  # for contents above 0.5 and confidences of 0.5 or more
    while reached(high) < confidence:
        high *= 2
    return mpmath.findroot(lambda k: reached(k) - mpf(confidence), (low, high), solver="anderson", tol=1e-40)


# ------------------------------------------------------------------------------------------------ Grubbs


def grubbs(values: Sequence[float], *, high: bool) -> mpf:
    """Distance of the largest (or smallest) value from the mean over sd; 0 where all are equal."""
    if min(values) == max(values):
        return mpf(0)
    away = max(values) if high else min(values)
    distance = real(Fraction(away) - mean(values))
    return (distance if high else -distance) / sd(values)


def grubbs_survival(g: float, n: int) -> mpf:
    """P(G > g) for one given side: nested integrals, so for small n only."""
    return 1 - _grubbs_below(mpf(g), n)


def _grubbs_below(g: mpf, n: int) -> mpf:
    if n == 2:
        return mpf(1) if g >= 1 / mpmath.sqrt(2) else mpf(0)
    least = 1 / mpmath.sqrt(n)
    if g <= least:
        return mpf(0)
    upper = mpmath.sqrt(mpf((n - 1) * (n - 2)) / (2 * n))
    if g >= upper:
        room = (n - 1) ** 2 - n * g * g
        return mpf(1) if room <= 0 else 1 - n * (1 - t_below(g * mpmath.sqrt(n * (n - 2) / room), n - 2))
    constant = mpmath.gamma(mpf(n - 1) / 2) / mpmath.gamma(mpf(n - 2) / 2) * mpmath.sqrt(n / mpmath.pi) / (n - 1)

    def integrand(u: mpf) -> mpf:
        density = constant * (1 - n * u * u / mpf(n - 1) ** 2) ** (mpf(n - 4) / 2)
        others = u * n / mpf(n - 1) / mpmath.sqrt(((n - 1) - n * u * u / mpf(n - 1)) / (n - 2))
        return density * _grubbs_below(others, n - 1)

    kinks = [mpmath.sqrt(mpf((n - 1) * (n - k)) / (n * k)) for k in range(n - 1, 1, -1)]
    return n * mpmath.quad(integrand, [*(kink for kink in kinks if kink < g), g])


# ------------------------------------------------------------------------------------------------ Dixon

_NEIGHBOUR = {"r10": (1, 1), "r11": (1, 2), "r12": (1, 3), "r20": (2, 1), "r21": (2, 2), "r22": (2, 3)}


def dixon(values: Sequence[float], *, ratio: str, high: bool) -> Fraction:
    """Gap to the j-th neighbour over distance to the i-th value from the other end, exact; 0 over 0 is 0."""
    j, i = _NEIGHBOUR[ratio]
    ordered = sorted(Fraction(value) if high else -Fraction(value) for value in values)
    span = ordered[-1] - ordered[i - 1]
    return (ordered[-1] - ordered[-1 - j]) / span if span else Fraction(0)


def dixon_survival(r: float, n: int, ratio: str, *, steps: int) -> float:
    """P(R > r) by Simpson's rule in v and the trapezoidal rule in x, written out as loops."""
    j, i = _NEIGHBOUR[ratio]

    def phi(z: float) -> float:
        return 0.5 * math.erfc(-z / math.sqrt(2.0))

    total = 0.0
    dx, dv = 14.0 / steps, 14.0 / (2 * steps)
    for a in range(steps + 1):
        x = -7.0 + a * dx
        at_x = phi(x)
        for b in range(2 * steps + 1):
            v = b * dv
            simpson = 1 if b in (0, 2 * steps) else 4 if b % 2 else 2
            far, near = phi(x - v), phi(x - r * v)
            inner = sum(
                math.comb(n - i - 1, m) * (at_x - near) ** m * (near - far) ** (n - i - 1 - m) for m in range(j)
            )
            total += simpson * far ** (i - 1) * math.exp(-0.5 * (x * x + (x - v) ** 2)) * inner
    constant = math.factorial(n) / (math.factorial(i - 1) * math.factorial(n - i - 1)) / (2 * math.pi)
    return constant * total * dx * dv / 3.0


# ------------------------------------------------------------------------------------------------ recording step


def corners(values: Sequence[float], step: float) -> Iterable[list[float]]:
    """Every sample whose values lie at an end of their recording intervals."""
    for signs in itertools.product((-0.5, 0.5), repeat=len(values)):
        yield [value + sign * step for value, sign in zip(values, signs, strict=True)]


def own_distance(values: Sequence[float], at: int) -> mpf:
    """Studentised distance above the mean of one given value (not: of the largest); 0 where it lies below."""
    spread = sd(values)
    away = real(Fraction(values[at]) - mean(values))
    return mpf(0) if spread == 0 or away <= 0 else away / spread
