r"""Operating characteristics in closed form: the probability that a rule accepts, against the true quality.

When to use which
-----------------
``accepts_count``      at least z of n values at or above a limit: binomial.
``accepts_mean``       the mean at or above a limit: normal values.
``accepts_mean_less_pooled_sd``  the same for one or several zones with one spread pooled over zones.
``accepts_variables``  mean - k sd at or above a limit, against the share below it: spread unknown (non-central t) or
                       known. The sampling plans of ISO 3951 and MIL-STD-414 in their k form.
``whole_contract``     several zones that must all be accepted.
``tries``              a rule that may be tried again from the start.
``quality_at``         the quality at which a rule accepts with a wanted probability.

Rules that look at mean and single values together: ``operating_joint``.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_positive, check_size
from adhesion_stats.statistics.noncentral import NODES, WEIGHTS, chi_nodes, noncentral_t_below

__all__ = [
    "ThreeWay",
    "accepts_count",
    "accepts_mean",
    "accepts_mean_less_pooled_sd",
    "accepts_mean_less_sd",
    "accepts_variables",
    "quality_at",
    "tries",
    "whole_contract",
]

Values = NDArray[np.float64]

_REFINEMENTS = 60
_POINTS = 9
_LEAST_SCORE, _SCORES = -12.0, 9.5  # beyond: less than 1e-20, of the lowest of 1e12 normal values too


@dataclass(frozen=True, eq=False)
class ThreeWay:
    """Probabilities of the three outcomes; they sum to 1.

    Attributes
    ----------
    conforms, does_not_conform, undetermined : (g,) float64
        Probability [-].
    """

    conforms: Values
    does_not_conform: Values
    undetermined: Values


def accepts_count(share_above: Values, *, z: int, n: int) -> Values:
    r"""Probability that at least z of n values lie at or above a limit.

    Parameters
    ----------
    share_above : (g,) float64
        True share of values at or above the limit [-], 0 to 1.
    z, n : int
        1 <= z <= n.

    Returns
    -------
    (g,) float64
        Probability of acceptance [-].

    Raises
    ------
    InvalidSample
        If z or n is out of range, or a share is no share.

    Notes
    -----
    .. math::  P = \sum_{i=z}^{n} \binom{n}{i} p^i (1-p)^{n-i} = I_p(z, n - z + 1)

    Source: binomial distribution.

    Examples
    --------
    Eight of twelve pulls, where 60, 75 and 80 % of the area would reach the limit.

    >>> [round(float(p), 3) for p in accepts_count(np.array([0.60, 0.75, 0.80]), z=8, n=12)]
    [0.438, 0.842, 0.927]
    """
    n = check_size(n, at_least=1)
    z = check_size(z, at_least=1, at_most=n)
    share = _shares(share_above)
    return np.asarray(special.betainc(float(z), float(n - z + 1), share))


def accepts_mean(mean: Values, *, limit: float, sd: Values, n: int) -> Values:
    r"""Probability that the mean of n normal values is at or above a limit.

    Parameters
    ----------
    mean, sd : (g,) float64
        True mean and standard deviation, in the unit of the limit.
    limit : float
    n : int
        1 or greater.

    Returns
    -------
    (g,) float64
        Probability of acceptance [-].

    Raises
    ------
    InvalidSample
        If n is below 1 or a standard deviation is not positive.

    Notes
    -----
    .. math::  P = \Phi\big(\sqrt n (\mu - L)/\sigma\big)

    Source: normal distribution of a mean.

    Examples
    --------
    A zone whose true mean is the limit is accepted every other time, whatever n.

    >>> float(accepts_mean(np.array([1.5]), limit=1.5, sd=np.array([0.3]), n=5)[0])
    0.5
    """
    n = check_size(n, at_least=1)
    spread = _positive(sd)
    return np.asarray(special.ndtr(math.sqrt(n) * (np.asarray(mean, dtype=np.float64) - limit) / spread))


def accepts_mean_less_sd(mean: Values, *, limit: float, sd: Values, n: int, k: float) -> Values:
    r"""Probability that mean - k sd of n normal values is at or above a limit, the spread taken from the same values.

    Parameters
    ----------
    mean, sd : (g,) float64
        True mean and standard deviation, in the unit of the limit.
    limit : float
    n : int
        2 or greater.
    k : float
        Acceptance factor [-], finite.

    Returns
    -------
    (g,) float64
        Probability of acceptance [-], absolute error below 1e-12.

    Raises
    ------
    InvalidSample
        If n is below 2, or k or a standard deviation is out of range.

    Notes
    -----
    .. math::  P = P\big(T'_{n-1}(\sqrt n (\mu - L)/\sigma) \ge k \sqrt n\big)

    with Student's non-central t. Source: Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions, volume 2,
    chapter 31; the k form of ISO 3951.

    Examples
    --------
    Five values, k = 1.53, in a population of which 1 % lies below the limit (2.3263 sd below the mean).

    >>> float(accepts_mean_less_sd(np.array([2.3263]), limit=0.0, sd=np.array([1.0]), n=5, k=1.53)[0])
    0.8983
    """
    n = check_size(n, at_least=2)
    if not math.isfinite(k):
        raise InvalidSample(f"expected a finite factor k; got {k!r}")
    root = math.sqrt(n)
    delta = root * (np.asarray(mean, dtype=np.float64) - limit) / _positive(sd)
    below = noncentral_t_below(np.full(delta.shape, k * root), degrees_of_freedom=n - 1, noncentrality=delta)
    return 1.0 - below


def accepts_mean_less_pooled_sd(
    mean: Values, *, limit: float, sd: Values, n: int, k: float, degrees_of_freedom: int, zones: int
) -> Values:
    r"""Probability that mean - k sd of each of several zones is at or above a limit, the spread pooled over zones.

    Parameters
    ----------
    mean, sd : (g,) float64
        True mean and standard deviation, the same in all zones, in the unit of the limit.
    limit : float
    n : int
        Values of each zone, 1 or greater.
    k : float
        Acceptance factor [-], finite.
    degrees_of_freedom : int
        Of the pooled standard deviation [-], 1 or greater; zones that only lend their spread included.
    zones : int
        Zones that all have to be accepted, 1 or greater.

    Returns
    -------
    (g,) float64
        Probability that all of them are [-], absolute error below 1e-12.

    Raises
    ------
    InvalidSample
        If a number is too small, or k or a standard deviation is out of range.

    Notes
    -----
    .. math::  P = \int f_S(s)\, \Phi\big(\sqrt n ((\mu - L)/\sigma - k s)\big)^g\, ds
               = \int f_M(z)\, P\big(S \le (z + \delta)/(k \sqrt n)\big)\, dz, \quad \delta = \sqrt n (\mu - L)/\sigma

    with S the pooled standard deviation in units of the true one, of which means of normal samples are independent, and
    M the lowest of g standard normal values; whichever is less steep is integrated, with 160 nodes. One
    zone is Student's non-central t with these degrees of freedom. Source: Johnson, Kotz & Balakrishnan, Continuous
    Univariate Distributions, volume 2, chapter 31; for several zones the same conditional on S.

    Examples
    --------
    Eight zones of three values, k = 2.0: one is accepted 96.5 % of the time, all of them 79.8 % and not 0.965^8, since
    they share their spread.

    >>> one = {"limit": 0.0, "sd": np.array([1.0]), "n": 3, "k": 2.0, "degrees_of_freedom": 16}
    >>> float(accepts_mean_less_pooled_sd(np.array([3.2]), zones=1, **one)[0])
    0.9650
    >>> float(accepts_mean_less_pooled_sd(np.array([3.2]), zones=8, **one)[0])
    0.7982
    """
    n = check_size(n, at_least=1)
    df = check_size(degrees_of_freedom, at_least=1)
    g = check_size(zones, at_least=1)
    if not math.isfinite(k):
        raise InvalidSample(f"expected a finite factor k; got {k!r}")
    root = math.sqrt(n)
    delta = root * (np.asarray(mean, dtype=np.float64) - limit) / _positive(sd)
    if g == 1:
        below = noncentral_t_below(np.full(delta.shape, k * root), degrees_of_freedom=df, noncentrality=delta)
        return 1.0 - below
    if k * root < math.sqrt(2.0 * df):
        s, weight = chi_nodes(df)
        return np.asarray(special.ndtr(delta[:, np.newaxis] - k * root * s) ** g @ weight)
    start = np.clip(-delta, _LEAST_SCORE, _SCORES)[:, np.newaxis]  # a lower mean would need a spread below 0
    half = 0.5 * (_SCORES - start)
    z = start + half * (1.0 + NODES)  # of the lowest of g standardised means
    density = g * np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi) * special.ndtr(-z) ** (g - 1)
    reach = (z + delta[:, np.newaxis]) / (k * root)
    within = special.gammainc(0.5 * df, 0.5 * df * np.square(np.maximum(reach, 0.0)))
    return np.asarray((within * density * half) @ WEIGHTS)


def accepts_variables(share_below: Values, *, k: float, n: int, known_sd: bool) -> Values:
    r"""Probability that a sampling plan by variables, mean - k sd >= L, accepts; one limit, normal values.

    Parameters
    ----------
    share_below : (g,) float64
        True share below the limit [-], strictly between 0 and 1.
    k : float
        Acceptance factor [-].
    n : int
        Sample size; 2 or greater where the spread is unknown.
    known_sd : bool
        Whether the true standard deviation stands in the rule instead of that of the sample.

    Returns
    -------
    (g,) float64
        Probability of acceptance [-].

    Raises
    ------
    InvalidSample
        If n is too small or a share is not strictly between 0 and 1.

    Notes
    -----
    .. math::  P = P\big(T'_{n-1}(\sqrt n z_{1-p}) \ge k \sqrt n\big)
               \quad\text{or}\quad \Phi\big(\sqrt n (z_{1-p} - k)\big)

    Source: operating characteristics of ISO 3951 and MIL-STD-414, s method and sigma method.

    Examples
    --------
    ISO 3951, code letter J at an acceptable quality of 1 % (n = 35, k = 1.89).

    >>> float(accepts_variables(np.array([0.01]), k=1.89, n=35, known_sd=False)[0])
    0.94167
    """
    n = check_size(n, at_least=1 if known_sd else 2)
    share = _shares(share_below)
    if bool(((share <= 0.0) | (share >= 1.0)).any()):
        raise InvalidSample("expected shares below the limit strictly between 0 and 1 (5 % is 0.05)")
    quality = -special.ndtri(share)
    if known_sd:
        return np.asarray(special.ndtr(math.sqrt(n) * (quality - k)))
    return accepts_mean_less_sd(quality, limit=0.0, sd=np.ones_like(quality), n=n, k=k)


def whole_contract(zone: ThreeWay, *, zones: int) -> ThreeWay:
    r"""Outcomes of a contract of several zones of equal quality, each decided on its own.

    The contract conforms if every zone does, does not conform if one doesn't, and is undetermined otherwise.

    Parameters
    ----------
    zone : ThreeWay
        Outcomes of one zone.
    zones : int
        Number of zones [-], 1 or greater; their pulls are independent.

    Returns
    -------
    ThreeWay

    Raises
    ------
    InvalidSample
        If there is no zone.

    Notes
    -----
    .. math::  P_c = p_c^g, \quad P_n = 1 - (1 - p_n)^g, \quad P_u = 1 - P_c - P_n

    Source: independent events.

    Examples
    --------
    Forty zones that each pass nine times out of ten.

    >>> one = ThreeWay(np.array([0.90]), np.array([0.10]), np.array([0.0]))
    >>> float(whole_contract(one, zones=40).conforms[0])
    0.0148
    """
    g = check_size(zones, at_least=1)
    conforms = zone.conforms**g
    fails = -np.expm1(g * np.log1p(-np.minimum(zone.does_not_conform, 1.0 - 1e-300)))
    fails = np.where(zone.does_not_conform >= 1.0, 1.0, fails)
    return ThreeWay(conforms, fails, np.maximum(0.0, 1.0 - conforms - fails))


def tries(accepted: Values, *, most: int) -> Values:
    r"""Probability that one of several tries is accepted, each with new values that replace the old ones.

    Parameters
    ----------
    accepted : (g,) float64
        Probability that one try is accepted [-].
    most : int
        Tries allowed in all, 1 or greater.

    Returns
    -------
    (g,) float64
        Probability that one of them is accepted [-].

    Raises
    ------
    InvalidSample
        If no try is allowed or a probability is none.

    Notes
    -----
    .. math::  P = 1 - (1 - p)^m

    Source: independent events.

    Examples
    --------
    A second try for nothing lifts 0.46 to 0.71.

    >>> float(tries(np.array([0.46]), most=2)[0])
    0.7084
    """
    m = check_size(most, at_least=1)
    return np.asarray(1.0 - (1.0 - _shares(accepted)) ** m)


def quality_at(
    accepted: Callable[[Values], Values], probabilities: Values, *, low: float, high: float, relative: float
) -> Values:
    """The quality at which a rule accepts with each wanted probability, where the probability never falls.

    Parameters
    ----------
    accepted
        Probability of acceptance [-] at each quality, (g,) to (g,); called with many qualities at a time.
    probabilities : (p,) float64
        Wanted, strictly between 0 and 1.
    low, high : float
        Qualities between which to look.
    relative : float
        Width at which the search ends, as a share of the quality.

    Returns
    -------
    (p,) float64
        ``nan`` where the rule never accepts with that probability between ``low`` and ``high``, or always does.

    Raises
    ------
    InvalidSample
        If the limits are not ascending or a probability is out of range.

    Notes
    -----
    By halving. Source: definition of a quantile of quality.

    Examples
    --------
    >>> accepted = lambda mean: accepts_mean(mean, limit=1.5, sd=0.2 * mean, n=4)
    >>> [round(float(q), 3) for q in quality_at(accepted, np.array([0.5, 0.95]), low=0.5, high=5.0, relative=1e-6)]
    [1.5, 1.795]
    """
    wanted = np.asarray(probabilities, dtype=np.float64)
    if bool(((wanted <= 0.0) | (wanted >= 1.0)).any()):
        raise InvalidSample("expected wanted probabilities strictly between 0 and 1 (5 % is 0.05)")
    if not low < high:
        raise InvalidSample(f"expected low below high; got {low!r} and {high!r}")
    check_positive("relative", relative, zero_allowed=False)
    left, right = np.full(wanted.size, low), np.full(wanted.size, high)
    ends = accepted(np.array([low, high]))
    found = (ends[0] < wanted) & (wanted <= ends[1])
    inner = np.arange(1, _POINTS + 1) / (_POINTS + 1)
    for _ in range(_REFINEMENTS):
        if not found.any() or bool(((right - left)[found] <= relative * np.abs(right[found])).all()):
            break
        points = left[:, np.newaxis] + (right - left)[:, np.newaxis] * inner
        reached = accepted(points.ravel()).reshape(points.shape) >= wanted[:, np.newaxis]
        edges = np.column_stack([left, points, right])
        first = np.where(reached.any(axis=1), reached.argmax(axis=1), _POINTS)
        rows = np.arange(wanted.size)
        left, right = edges[rows, first], edges[rows, first + 1]
    return np.where(found, 0.5 * (left + right), np.nan)


def _shares(values: Values) -> Values:
    shares = np.asarray(values, dtype=np.float64)
    if not bool(((shares >= 0.0) & (shares <= 1.0)).all()):
        raise InvalidSample("expected shares between 0 and 1 (60 % is 0.60)")
    return shares


def _positive(sd: Values) -> Values:
    spread = np.asarray(sd, dtype=np.float64)
    if not bool((spread > 0.0).all()):
        raise InvalidSample("expected standard deviations above zero")
    return spread
