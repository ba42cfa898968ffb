"""The slow plain twin of bounds, bounded values and tests of normality: one sample at a time, mpmath and fractions.

Written from the definitions, without a look at the kernels. Imports nothing of the package but its own sister twin.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from fractions import Fraction

import mpmath
from mpmath import mp, mpf

mp.dps = 30

Bounds = tuple[float, float]


def chi_density(s: mpf, df: int) -> mpf:
    """Density of chi over its root df."""
    half = mpf(df) / 2
    return 2 * half**half / mpmath.gamma(half) * s ** (df - 1) * mpmath.exp(-half * s * s)


def noncentral_t_below(t: float, df: int, delta: float) -> mpf:
    """P(T <= t) as an integral over the standard deviation."""
    turn = abs(mpf(delta) / t) if t and delta else mpf(1)
    cuts = sorted({mpf(0), turn / 2, turn, 2 * turn, mpf(1) / 2, mpf(1), mpf(2), mpf(4), mpf(9)})
    return mpmath.quad(lambda s: chi_density(s, df) * mpmath.ncdf(t * s - delta), cuts)


def two_sided_content_reached(k: float, n: int, content: float) -> mpf:
    """Confidence of mean +- k sd: over the mean, the inner half width by root search."""

    def inner(u: mpf) -> mpf:
        shift = u / mpmath.sqrt(n)
        start = shift + mpmath.sqrt(2) * mpmath.erfinv(content)
        r = mpmath.findroot(lambda r: mpmath.ncdf(shift + r) - mpmath.ncdf(shift - r) - content, start)
        wide = mpmath.gammainc(mpf(n - 1) / 2, (n - 1) * r * r / (2 * mpf(k) ** 2), regularized=True)
        return mpmath.npdf(u) * wide

    return 2 * mpmath.quad(inner, [0, 1, 2, 4, 8], maxdegree=5)


def all_next_above(k: float, n: int, m: int) -> mpf:
    """P(all of the next m values exceed mean - k sd), nested integrals."""

    def over_mean(s: mpf) -> mpf:
        return mpmath.quad(lambda u: mpmath.npdf(u) * mpmath.ncdf(k * s - u / mpmath.sqrt(n)) ** m, [-8, 0, 8])

    with mp.workdps(12):
        return mpmath.quad(lambda s: chi_density(s, n - 1) * over_mean(s), [0, 1, 4], maxdegree=5)


# ------------------------------------------------------------------------------------------------ counts and order


def binomial_at_least(k: int, n: int, share: Fraction) -> Fraction:
    """P(K >= k), K binomial, exact."""
    whole = Fraction(0)
    ways = 1
    for i in range(n + 1):
        if i >= k:
            whole += ways * share**i * (1 - share) ** (n - i)
        ways = ways * (n - i) // (i + 1)
    return whole


def exact_share_limits(k: int, n: int, confidence: float) -> tuple[float, float]:
    """Clopper and Pearson by halving."""
    tail = Fraction(1) / 2 - Fraction(confidence) / 2

    def crossing(enough: Callable[[Fraction], bool]) -> float:
        low, high = Fraction(0), Fraction(1)
        for _ in range(45):
            middle = (low + high) / 2
            low, high = (low, middle) if enough(middle) else (middle, high)
        return float(low)

    low = 0.0 if k == 0 else crossing(lambda share: binomial_at_least(k, n, share) > tail)
    high = 1.0 if k == n else crossing(lambda share: 1 - binomial_at_least(k + 1, n, share) < tail)
    return low, high


def kaplan_meier(values: Sequence[Bounds]) -> list[Fraction]:
    """Share above each value, ascending; exact before bounds among equals."""
    ordered = sorted(values)
    share, shares = Fraction(1), []
    for i, (low, high) in enumerate(ordered):
        if low == high:
            share *= 1 - Fraction(1, len(ordered) - i)
        shares.append(share)
    return shares


def permutation(a: Sequence[float], b: Sequence[float]) -> Fraction:
    """Two-sided p of the difference of means, values as their decimals."""
    every = [Fraction(str(v)) for v in (*a, *b)]
    total = sum(every)

    def difference(indices: Sequence[int]) -> Fraction:
        first = sum(every[i] for i in indices)
        return Fraction(first, len(a)) - Fraction(total - first, len(b))

    observed = abs(difference(range(len(a))))
    ways = list(itertools.combinations(range(len(every)), len(a)))
    return Fraction(sum(abs(difference(w)) >= observed for w in ways), len(ways))


# ------------------------------------------------------------------------------------------------ bounded values


def log_likelihood(values: Sequence[Bounds], family: str, location: mpf, scale: mpf) -> mpf:
    """Sum over values of log density (exact) or log probability (bounded), in the unit of the values."""
    whole = mpf(0)
    logs = family != "normal"

    def below(x: float) -> mpf:
        if x == float("inf"):
            return mpf(1)
        if x == float("-inf") or (logs and x <= 0):
            return mpf(0)
        z = ((mpmath.log(x) if logs else mpf(x)) - location) / scale
        return 1 - mpmath.exp(-mpmath.exp(z)) if family == "weibull" else mpmath.ncdf(z)

    for low, high in values:
        if low == high:
            z = ((mpmath.log(low) if logs else mpf(low)) - location) / scale
            density = mpmath.exp(z - mpmath.exp(z)) if family == "weibull" else mpmath.npdf(z)
            whole += mpmath.log(density / scale / (low if logs else 1))
        else:
            whole += mpmath.log(below(high) - below(low))
    return whole


def slope(values: Sequence[Bounds], family: str, location: float, scale: float) -> tuple[mpf, mpf]:
    """Derivatives of the log-likelihood in location and ln scale, in units of scale, by differences at 30 digits."""
    h = mpf(10) ** -12
    u, s = mpf(location), mpf(scale)
    up = log_likelihood(values, family, u + h * s, s) - log_likelihood(values, family, u - h * s, s)
    wide = log_likelihood(values, family, u, s * (1 + h)) - log_likelihood(values, family, u, s * (1 - h))
    return up / (2 * h), wide / (2 * h)


def fractile_above(values: Sequence[Bounds], family: str, z: float, limit: float, about: Bounds) -> float:
    """Share of the likelihood (measure d location d ln scale) with location + z scale above the limit.

    Even steps in ln scale, Simpson's rule in location, plain floats. ``about`` is a location and a scale near the
    middle; the limit is on the scale of location.
    """
    u_0, s_0 = about
    use = values if family == "normal" else [(math.log(low), math.log(high)) for low, high in values]
    peak = _joint(use, family, u_0, s_0)

    def simpson(low: float, high: float, scale: float) -> float:
        if high <= low:
            return 0.0
        step = (high - low) / 300
        weights = [1.0 if i in {0, 300} else 4.0 if i % 2 else 2.0 for i in range(301)]
        parts = (w * math.exp(_joint(use, family, low + i * step, scale) - peak) for i, w in enumerate(weights))
        return sum(parts) * step / 3.0

    top = whole = 0.0
    for i in range(241):
        scale = s_0 * math.exp(-2.5 + 0.05 * i)
        reach = 9.0 * scale + 4.0 * s_0
        edge = min(max(limit - z * scale, u_0 - reach), u_0 + reach)
        above = simpson(edge, u_0 + reach, scale)
        top += above
        whole += above + simpson(u_0 - reach, edge, scale)
    return top / whole


def _joint(values: Sequence[Bounds], family: str, u: float, scale: float) -> float:
    whole = 0.0
    for low, high in values:
        z = (low - u) / scale
        e = math.exp(min(z, 600.0)) if family == "weibull" else 0.0
        if low == high:
            whole += (z - e if family == "weibull" else -z * z / 2) - math.log(scale)
        elif family == "weibull":
            whole += -e
        else:
            whole += math.log(max(math.erfc(z / math.sqrt(2.0)) / 2.0, 1e-300))
    return whole


# ------------------------------------------------------------------------------------------------ normality


def anderson_darling(values: Sequence[float]) -> mpf:
    """A squared as the sum over ordered values, mean and sd estimated."""
    x = [mpf(v) for v in sorted(values)]
    n = len(x)
    mean = sum(x) / n
    sd = mpmath.sqrt(sum((v - mean) ** 2 for v in x) / (n - 1))
    p = [mpmath.ncdf((v - mean) / sd) for v in x]
    terms = ((2 * i + 1) * (mpmath.log(p[i]) + mpmath.log(1 - p[n - 1 - i])) for i in range(n))
    return -n - sum(terms) / n


def shapiro_wilk(values: Sequence[float]) -> mpf:
    """W with Royston's coefficients, written out (n > 5)."""
    x = [mpf(v) for v in sorted(values)]
    n = len(x)
    m = [mpmath.sqrt(2) * mpmath.erfinv(2 * (i - mpf("0.375")) / (n + mpf("0.25")) - 1) for i in range(1, n + 1)]
    squares = sum(v * v for v in m)
    u = 1 / mpmath.sqrt(n)
    last = (
        mpf("-2.706056") * u**5 + mpf("4.434685") * u**4 - mpf("2.07119") * u**3 - mpf("0.147981") * u**2
        + mpf("0.221157") * u + m[-1] / mpmath.sqrt(squares)
    )  # fmt: skip
    next_to_last = (
        mpf("-3.582633") * u**5 + mpf("5.682633") * u**4 - mpf("1.752461") * u**3 - mpf("0.293762") * u**2
        + mpf("0.042981") * u + m[-2] / mpmath.sqrt(squares)
    )  # fmt: skip
    phi = (squares - 2 * m[-1] ** 2 - 2 * m[-2] ** 2) / (1 - 2 * last**2 - 2 * next_to_last**2)
    a = [v / mpmath.sqrt(phi) for v in m]
    a[0], a[1], a[-2], a[-1] = -last, -next_to_last, next_to_last, last
    mean = sum(x) / n
    return sum(c * v for c, v in zip(a, x, strict=True)) ** 2 / sum((v - mean) ** 2 for v in x)
