r"""How many values: for a half-width of the mean's interval, for showing a characteristic value, for a test's power.

Exact, by the distributions themselves and a search for the smallest n, not by tables or normal approximations. Every
answer rests on an assumed coefficient of variation or distance: what comes out is a plan, not a promise.

When to use which
-----------------
``n_for_half_width``           the interval of the mean, at the assumed spread.
``n_for_half_width_assured``   the same, reached with a stated probability although the sample's own spread varies.
``n_for_tolerance_bound``      a one-sided tolerance bound that clears a limit (``power_of_tolerance_bound``).
``n_for_t_test``               a one-sided t test of the mean against a limit (``power_of_t_test``).

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.characteristic import k_one_sided
from adhesion_stats.statistics.checks import check_level, check_positive, check_size

__all__ = [
    "n_for_half_width",
    "n_for_half_width_assured",
    "n_for_t_test",
    "n_for_tolerance_bound",
    "power_of_t_test",
    "power_of_tolerance_bound",
]

_LARGEST_N = 100_000  # beyond this no plan is meant


def n_for_half_width(*, cov: float, half_width: float, confidence: float) -> int:
    r"""Smallest n at which the two-sided interval of the mean is no wider than asked, at the assumed spread.

    Parameters
    ----------
    cov : float
        Assumed coefficient of variation [-] (or any standard deviation, with the half-width in its unit).
    half_width : float
        Half-width asked for, as a share of the mean [-].
    confidence : float
        Confidence level of the two-sided interval [-].

    Returns
    -------
    int
        n [-], 2 or greater.

    Raises
    ------
    InvalidSample
        Outside these ranges, or if more than 100,000 values would be needed.

    Notes
    -----
    Smallest n with :math:`t_{(1+\gamma)/2,\,n-1}\; v/\sqrt n \le e`. A sample's own spread is larger than assumed in
    about half of the cases: ``n_for_half_width_assured``.

    Source: ISO 2602 (interval of the mean, sd unknown), solved for n.

    Examples
    --------
    A coefficient of variation of 20 % and 10 % half-width, 95 %: 18 values.

    >>> n_for_half_width(cov=0.20, half_width=0.10, confidence=0.95)
    18
    """
    v = check_positive("cov", cov, zero_allowed=False)
    e = check_positive("half_width", half_width, zero_allowed=False)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    return _smallest(lambda n: -float(special.stdtrit(n - 1, tail)) * v / math.sqrt(n) <= e)


def n_for_half_width_assured(*, cov: float, half_width: float, confidence: float, assurance: float) -> int:
    r"""Smallest n at which the interval of the mean turns out no wider than asked with a stated probability.

    Parameters
    ----------
    cov, half_width, confidence
        As in ``n_for_half_width``; ``cov`` is the true one, the half-width is a share of the true mean.
    assurance : float
        Probability that the half-width stays within what is asked [-].

    Returns
    -------
    int
        n [-], 2 or greater.

    Raises
    ------
    InvalidSample
        Outside these ranges, or if more than 100,000 values would be needed.

    Notes
    -----
    .. math::  P\left(\chi^2_{n-1} \le \frac{(n-1)\, n\, e^2}{t^2 v^2}\right) \ge \text{assurance}

    Source: Hahn & Meeker, Statistical Intervals (1991), chapter 8 (sample size for the interval of a normal mean).

    Examples
    --------
    >>> n_for_half_width_assured(cov=0.20, half_width=0.10, confidence=0.95, assurance=0.90)
    24
    """
    v = check_positive("cov", cov, zero_allowed=False)
    e = check_positive("half_width", half_width, zero_allowed=False)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    wanted = check_level("assurance", assurance)

    def reached(n: int) -> bool:
        t = float(special.stdtrit(n - 1, tail))
        return float(special.chdtr(n - 1, (n - 1) * n * (e / (t * v)) ** 2)) >= wanted

    return _smallest(reached)


def power_of_tolerance_bound(*, n: int, distance: float, content: float, confidence: float) -> float:
    r"""Probability that mean - k sd of a normal sample reaches a limit.

    Parameters
    ----------
    n : int
        Values in the sample [-], 2 or greater.
    distance : float
        True mean less limit, over true standard deviation [-].
    content, confidence : float
        Of the tolerance factor k [-], as in ``k_one_sided``.

    Returns
    -------
    float
        Probability [-]; absolute error below 1e-12.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    :math:`\sqrt n\,(m - L)/s` is non-central t with n - 1 degrees of freedom, so that

    .. math::  P(m - k s \ge L) = P\big(t'_{n-1}(\sqrt n\,\delta) \ge k \sqrt n\big)

    If exactly the share ``content`` lies above the limit, this is one minus the confidence.

    Source: ISO 16269-6 (the factor); definition of the non-central t distribution.

    Examples
    --------
    At the limit of what may be passed, the 5 % fractile itself, with confidence 0.75:

    >>> power_of_tolerance_bound(n=10, distance=1.6448536269514722, content=0.95, confidence=0.75)
    0.25
    """
    size = check_size(n, at_least=2)
    k = k_one_sided(n=size, content=content, confidence=confidence)
    return _beyond(k * math.sqrt(size), size - 1, math.sqrt(size) * _finite("distance", distance))


def n_for_tolerance_bound(*, distance: float, content: float, confidence: float, power: float) -> int:
    """Smallest n at which a normal population shows, with the stated power, that its fractile lies above a limit.

    Parameters
    ----------
    distance : float
        True mean less limit, over true standard deviation [-]; must exceed the normal quantile of ``content``.
    content, confidence : float
        Of the tolerance bound [-], as in ``k_one_sided``.
    power : float
        Probability with which the bound is to clear the limit [-].

    Returns
    -------
    int
        n [-], 2 or greater.

    Raises
    ------
    InvalidSample
        If the fractile does not lie above the limit, outside these ranges, or above 100,000 values.

    Notes
    -----
    Source: as ``power_of_tolerance_bound``.

    Examples
    --------
    Mean 2.5, sd 0.4, limit 1.5: 5 % fractile at confidence 0.75, shown in nine cases of ten.

    >>> n_for_tolerance_bound(distance=2.5, content=0.95, confidence=0.75, power=0.90)
    17
    """
    share = check_level("content", content)
    wanted = check_level("power", power)
    quantile = float(special.ndtri(share))
    if not _finite("distance", distance) > quantile:
        raise InvalidSample(
            f"expected a distance above {quantile:.6g}, the normal quantile of {share!r}; got {distance!r}: "
            "the fractile lies at the limit or below, and no number of values shows the contrary"
        )
    check_level("confidence", confidence)
    return _smallest(
        lambda n: power_of_tolerance_bound(n=n, distance=distance, content=share, confidence=confidence) >= wanted
    )


def power_of_t_test(*, n: int, distance: float, alpha: float) -> float:
    r"""Probability that a one-sided t test shows the mean to lie above a limit.

    Parameters
    ----------
    n : int
        Values in the sample [-], 2 or greater.
    distance : float
        True mean less limit, over true standard deviation [-].
    alpha : float
        Level of the test [-].

    Returns
    -------
    float
        Probability [-]; absolute error below 1e-12.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  P\big(t'_{n-1}(\sqrt n\,\delta) > t_{1-\alpha,\,n-1}\big)

    Source: ISO 2854 (comparison of a mean with a given value); definition of the non-central t distribution.

    Examples
    --------
    At no distance the power is the level:

    >>> power_of_t_test(n=8, distance=0.0, alpha=0.05)
    0.05
    """
    size = check_size(n, at_least=2)
    t = -float(special.stdtrit(size - 1, check_level("alpha", alpha)))
    return _beyond(t, size - 1, math.sqrt(size) * _finite("distance", distance))


def n_for_t_test(*, distance: float, alpha: float, power: float) -> int:
    """Smallest n at which a one-sided t test shows the mean to lie above a limit with the stated power.

    Parameters
    ----------
    distance : float
        True mean less limit, over true standard deviation [-]; positive.
    alpha : float
        Level of the test [-], below ``power``.
    power : float
        Probability with which the test is to succeed [-].

    Returns
    -------
    int
        n [-], 2 or greater.

    Raises
    ------
    InvalidSample
        Outside these ranges, or above 100,000 values.

    Notes
    -----
    Source: as ``power_of_t_test``.

    Examples
    --------
    One standard deviation above the limit, 5 %, power 0.90:

    >>> n_for_t_test(distance=1.0, alpha=0.05, power=0.90)
    11
    """
    check_positive("distance", distance, zero_allowed=False)
    level, wanted = check_level("alpha", alpha), check_level("power", power)
    return _smallest(lambda n: power_of_t_test(n=n, distance=distance, alpha=level) >= wanted)


def _finite(name: str, value: float) -> float:
    if not math.isfinite(value):
        raise InvalidSample(f"expected {name} to be a finite number; got {value!r}")
    return float(value)


def _beyond(t: float, df: int, noncentrality: float) -> float:
    """P(t' > t): by the mirror image, so that the smaller of both probabilities keeps its digits."""
    return float(special.nctdtr(df, -noncentrality, -t))


def _smallest(reached: Callable[[int], bool]) -> int:
    """Smallest n from 2 on that reaches what is asked; what is asked must stay reached from there on."""
    high = 2
    while not reached(high):
        if high >= _LARGEST_N:
            raise InvalidSample(f"more than {_LARGEST_N} values would be needed; ask for less, or a larger distance")
        high = min(2 * high, _LARGEST_N)
    low = high // 2 if high > 2 else 1  # not reached, or below what is asked about
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high
