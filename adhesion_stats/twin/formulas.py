"""Mean, standard deviation and the factors of characteristic values, each by its text-book formula, slowly.

Values are fractions, exact as written; a mean and a sum of squares are exact, a root is taken once at the end. Factors
come from ``mpmath``: quantiles by root finding on the distribution function, the non-central t distribution by
quadrature over the sample's standard deviation.
Imports: mpmath, the standard library, this package.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from fractions import Fraction

import mpmath
from mpmath import mp, mpf

__all__ = [
    "confidence_of_rank",
    "factor_known_spread",
    "factor_one_sided",
    "interval_of_mean",
    "mean",
    "normal_quantile",
    "number",
    "root",
    "share_below",
    "student_quantile",
    "student_tail",
    "sum_of_squares",
    "variance",
    "weibull_bound",
]

mp.dps = 25  # digits that mpmath computes with; 9 are compared


def number(value: Fraction | float) -> mpf:
    """A fraction as a number of 25 digits."""
    return mpf(value.numerator) / value.denominator if isinstance(value, Fraction) else mpf(value)


def mean(values: Sequence[Fraction]) -> Fraction:
    """Sum over number, exact."""
    return sum(values, Fraction(0)) / len(values)


def sum_of_squares(values: Sequence[Fraction]) -> Fraction:
    """Sum of (value - mean)², exact."""
    middle = mean(values)
    return sum(((value - middle) ** 2 for value in values), Fraction(0))


def variance(values: Sequence[Fraction]) -> Fraction:
    """Sum of squares over n - 1, exact: the square of the sample's standard deviation."""
    return sum_of_squares(values) / (len(values) - 1)


def root(f: Callable[[mpf], mpf], low: mpf, high: mpf, within: float) -> mpf:
    """Where f changes its sign between two ends: halved six times, then the chord's zero by turns with halving.

    The root always stays between the ends. Raises ValueError where the sign does not change.
    """
    at_low, at_high = f(low), f(high)
    if at_low * at_high > 0:
        raise ValueError(f"no change of sign between {low} and {high}")
    for step in range(400):
        width = high - low
        if width <= within * max(abs(low), abs(high)) or not at_low or not at_high:
            break
        middle = (low + high) / 2
        if step > 5 and step % 3:
            # a little beyond the chord's zero, so that both ends close in
            chord = (low * at_high - high * at_low) / (at_high - at_low)
            nudge = within / 2 * abs(chord)
            middle = min(max(chord + (nudge if abs(at_low) < abs(at_high) else -nudge), low), high)
        at_middle = f(middle)
        if at_low * at_middle <= 0:
            high, at_high = middle, at_middle
        else:
            low, at_low = middle, at_middle
    return low if abs(at_low) < abs(at_high) else high


# ------------------------------------------------------------------------------------------------- distributions


@functools.cache
def normal_quantile(share: float) -> mpf:
    """The z below which this share of a normal population lies: Φ(z) = (1 + erf(z / √2)) / 2."""
    return mpmath.sqrt(2) * mpmath.erfinv(2 * mpf(share) - 1)


def student_tail(t: mpf, freedom: int) -> mpf:
    """P(T > t) of Student's t for t >= 0: half of the incomplete beta function I(x; ν/2, 1/2) at x = ν / (ν + t²).

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.1 and 26.5.27.
    """
    x = freedom / (freedom + t * t)
    return mpmath.betainc(mpf(freedom) / 2, mpf(1) / 2, 0, x, regularized=True) / 2


@functools.cache
def student_quantile(share: float, freedom: int) -> mpf:
    """The t below which this share (above one half) lies, by halving and the secant rule."""
    upper = 1 - mpf(share)
    low, high = mpf(0), mpf(1)
    while student_tail(high, freedom) > upper:
        low, high = high, 2 * high
    return root(lambda t: student_tail(t, freedom) - upper, low, high, 1e-20)


def interval_of_mean(values: Sequence[Fraction], confidence: float) -> tuple[mpf, mpf]:
    """Two-sided confidence interval of the mean: mean ± t sd / √n (NIST/SEMATECH e-Handbook, 1.3.5.2)."""
    n = len(values)
    t = student_quantile(float((1 + Fraction(str(confidence))) / 2), n - 1)
    half = t * mpmath.sqrt(number(variance(values) / n))
    middle = number(mean(values))
    return middle - half, middle + half


# -------------------------------------------------------------------------------------- characteristic values


@functools.cache
def factor_one_sided(n: int, content: float, confidence: float, freedom: int) -> mpf:
    """The factor k of mean - k sd: with this confidence at least the content of a normal population lies above it.

    mean - k sd lies below the fractile μ - zσ when Z ≤ √n (k r - z), with Z the standardised mean and r = sd / σ. So k
    solves  confidence = ∫ Φ(√n (k r - z)) f(r) dr,  where ν r² follows the chi-square distribution with ν degrees of
    freedom. With ν = n - 1 this is the non-central t distribution (ISO 16269-6; NBS Handbook 91, table A-7).
    """
    z = normal_quantile(content)
    v = mpf(freedom)
    scale = 2 * (v / 2) ** (v / 2) / mpmath.gamma(v / 2)  # density of r: scale r^(ν-1) exp(-ν r² / 2)
    width = 1 / mpmath.sqrt(2 * v)
    points = [
        mpf(0),
        *(p for p in (1 - 6 * width, 1 - 2 * width, 1 + 2 * width) if p > 0),
        1 + 6 * width,
        1 + 16 * width,
    ]

    def reached(k: mpf) -> mpf:
        def integrand(r: mpf) -> mpf:
            return mpmath.ncdf(mpmath.sqrt(n) * (k * r - z)) * scale * r ** (v - 1) * mpmath.exp(-v * r * r / 2)

        return mpmath.quad(integrand, points)

    with mp.workdps(16):
        start = z + normal_quantile(confidence) / mpmath.sqrt(n)
        low, high = mpf(0), max(2 * start, mpf(1))
        while reached(high) < confidence:
            low, high = high, 2 * high
        return root(lambda k: reached(k) - confidence, low, high, 1e-14)


def factor_known_spread(n: int, content: float, confidence: float) -> mpf:
    """K = z(content) + z(confidence) / √n, the spread being known (ISO 16269-6)."""
    return normal_quantile(content) + normal_quantile(confidence) / mpmath.sqrt(n)


def confidence_of_rank(n: int, rank: int, content: Fraction) -> Fraction:
    """P(at least ``rank`` of n values lie below the fractile), exact binomial sum (ISO 16269-6; Wilks 1941).

    That is the confidence with which the value of this rank, counted from the smallest, lies below the fractile.
    """
    below = 1 - content
    return sum(
        (math.comb(n, i) * below**i * content ** (n - i) for i in range(rank, n + 1)),
        Fraction(0),
    )


@functools.cache
def weibull_bound(values: tuple[Fraction, ...], content: float, confidence: float) -> mpf | None:
    """The value above which, with this confidence, at least the content of a Weibull population lies; None: none found.

    The logarithms y_i have the smallest-extreme-value distribution with location u and scale b. With mean m and
    standard deviation s of the y_i, the distances a_i = (y_i - m) / s say nothing of u and b. Given them, z = s / b has
    a density proportional to z^(n-2) exp(z Σ a_i) / S(z)^n, S(z) = Σ exp(z a_i), and exp((m - u) / b) S(z) a gamma
    distribution of order n. So m - t s lies below the fractile u + b log(-log(content)) with the probability

        ∫ density(z) P(n, exp(t z) (-log(content)) S(z)) dz,      P the regularised incomplete gamma function,

    and t is the root at the confidence (Lawless, Technometrics 20 (1978) 355-364: conditional and exact; any location
    and scale that move with the values may stand for m and s).
    """
    if min(values) <= 0 or min(values) == max(values):
        return None
    with mp.workdps(16):
        logs = [mpmath.log(number(v)) for v in values]
        n = len(logs)
        middle = mpmath.fsum(logs) / n
        spread = mpmath.sqrt(mpmath.fsum((y - middle) ** 2 for y in logs) / (n - 1))
        a = [(y - middle) / spread for y in logs]
        beyond = -mpmath.log(mpf(content))

        def power_sum(z: mpf) -> mpf:
            return mpmath.fsum(mpmath.exp(z * distance) for distance in a)

        def density(z: mpf) -> mpf:  # Σ a_i is 0
            return z ** (n - 2) / (power_sum(z) / n) ** n

        points = [mpf(0), *_around_peak(density)]
        whole = mpmath.quad(density, points)

        def reached(t: mpf) -> mpf:
            def integrand(z: mpf) -> mpf:
                x = mpmath.exp(t * z) * beyond * power_sum(z)
                return density(z) * mpmath.gammainc(n, 0, x, regularized=True)

            return mpmath.quad(integrand, points) / whole

        high = mpf(2)
        while reached(high) < confidence:
            high *= 2
        t = root(lambda t: reached(t) - confidence, mpf(0), high, 1e-14)
        return mpmath.exp(middle - t * spread)


def _around_peak(density: Callable[[mpf], mpf]) -> list[mpf]:
    """Places at which an integral over z > 0 is parted: about the peak of the density, and to where it is nothing."""
    step = mpf(1) / 8
    peak = max((step * i for i in range(1, 400)), key=density)
    far = peak
    while density(far) > mpf(10) ** -18 * density(peak):
        far *= mpf(5) / 4
    return [peak / 2, peak, (peak + far) / 2, far]


def share_below(quality: mpf, n: int) -> mpf:
    """Estimated share [%] of a normal population below the limit, from Q = (mean - limit) / sd.

    The incomplete beta function I(x; n/2 - 1, n/2 - 1) at x = 1/2 - Q √n / (2 (n - 1)) (Lieberman and Resnikoff 1955;
    MIL-STD-414, section B, form 2).
    """
    x = min(max(mpf(1) / 2 - quality * mpmath.sqrt(n) / (2 * (n - 1)), mpf(0)), mpf(1))
    a = mpf(n) / 2 - 1
    return 100 * mpmath.betainc(a, a, 0, x, regularized=True)
