"""Strength of each layer and interface where pulls break in different places (competing risks).

A pull that breaks in one place says of every other place: at least this strong. Taken as bounds, such pulls answer what
the bond would be if the substrate had held. Two things have to be said with every such answer.

1. It assumes that the strengths of the places are independent from pull to pull. The same data fit with any dependence
   (Tsiatis, Proceedings of the National Academy of Sciences 72 (1975) 20-22), so that no test on them can tell. Where a
   good spot is good in all layers, the answer is too high, which is the unsafe side.
2. The plain mean of the pulls that broke in one place is no strength of that place: it is the mean of those that
   happened to be weakest there.

When to use which
-----------------
``as_bounds``                 pulls of one place exact, all others bounded from below: input for ``bounded``.
``share_below_whatever``      share below a limit with no assumption on dependence (Peterson's bounds).
``fit_dependent``             the fit of two places at one assumed correlation.
``sweep_correlation``         how the answer moves over correlations.
``mean_where_it_broke``       what averaging within one place gives, by formula: the size of the selection.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack
from adhesion_stats.statistics.bounded import fit_bounded
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive
from adhesion_stats.statistics.families import mean_of
from adhesion_stats.statistics.shares import share_interval_exact

__all__ = [
    "DependentFit",
    "ShareWhatever",
    "as_bounds",
    "fit_dependent",
    "mean_where_it_broke",
    "share_below_whatever",
    "sweep_correlation",
]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]
Pair = Literal["normal", "lognormal"]


def as_bounds(x: Values, place: Codes, *, of: int) -> tuple[Values, Values]:
    """Lower and upper bounds of the strength of one place: exact where it broke there, known from below elsewhere.

    Parameters
    ----------
    x : (N,) float64
        Strength at failure of each pull, any unit.
    place : (N,) int64
        Code of the place where it broke.
    of : int
        Code of the place asked about.

    Returns
    -------
    low, high : (N,) float64
        For ``stacks``; in the unit of the values.

    Raises
    ------
    InvalidSample
        If shapes differ.

    Notes
    -----
    Valid as input of a likelihood only if the strengths of the places are independent; the module says more. Source:
    Lawless, Statistical Models and Methods for Lifetime Data (2003), chapter 9.

    Examples
    --------
    >>> low, high = as_bounds(np.array([2.0, 3.0]), np.array([0, 1]), of=1)
    >>> (low.tolist(), high.tolist())
    ([2.0, 3.0], [inf, 3.0])
    """
    values, codes = np.asarray(x, dtype=np.float64), np.asarray(place)
    if values.ndim != 1 or codes.shape != values.shape:
        raise InvalidSample(f"expected one place per value; got shapes {values.shape} and {codes.shape}")
    return values, np.where(codes == of, values, np.inf)


@dataclass(frozen=True, eq=False)
class ShareWhatever:
    """Share of one place's strengths below a limit, whatever the dependence between places; arrays of shape (g,).

    Attributes
    ----------
    low, high : (g,) float64
        Estimates that no dependence can go beyond [-].
    low_limit, high_limit : (g,) float64
        Their confidence limits, each one-sided [-].
    """

    low: Values
    high: Values
    low_limit: Values
    high_limit: Values


def share_below_whatever(x: Values, here: NDArray[np.bool_], *, limit: float, confidence: float) -> ShareWhatever:
    r"""Share of one place's strengths below a limit, without any assumption on dependence or distribution.

    Parameters
    ----------
    x : (g, n) float64
        Strengths at failure, any unit.
    here : (g, n) bool
        Whether the pull broke in the place asked about.
    limit : float
        In the unit of the values.
    confidence : float
        Confidence level of each limit [-], above 0.5 and below 1.

    Returns
    -------
    ShareWhatever

    Raises
    ------
    InvalidSample
        If shapes differ or the level is none.

    Notes
    -----
    .. math::  P(X < L,\ \text{broke here}) \le P(\text{strength here} < L) \le P(X < L)

    A pull that broke elsewhere below the limit might have been as weak here. The bounds are sharp. Limits by Clopper
    and Pearson. Source: Peterson, Proceedings of the National Academy of Sciences 73 (1976) 11-13.

    Examples
    --------
    Ten pulls: two broke here below the limit, one elsewhere below it.

    >>> x = np.array([[1.0, 1.1, 1.2, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0]])
    >>> here = np.array([[True, True, False, False, False, False, False, False, False, False]])
    >>> found = share_below_whatever(x, here, limit=1.5, confidence=0.95)
    >>> (found.low.tolist(), found.high.tolist())
    ([0.2], [0.3])
    """
    values, broke = np.asarray(x, dtype=np.float64), np.asarray(here, dtype=np.bool_)
    if values.ndim != 2 or broke.shape != values.shape or values.shape[1] < 1:
        raise InvalidSample(f"expected values and places of one shape (g, n); got {values.shape} and {broke.shape}")
    level = check_level("confidence", confidence)
    if level <= 0.5:
        raise InvalidSample(f"expected a confidence above 0.5 for a one-sided limit; got {confidence!r}")
    n = int(values.shape[1])
    below = values < limit
    least = np.count_nonzero(below & broke, axis=-1).astype(np.int64)
    most = np.count_nonzero(below, axis=-1).astype(np.int64)
    low_limit, _ = share_interval_exact(least, n=n, confidence=2.0 * level - 1.0)
    _, high_limit = share_interval_exact(most, n=n, confidence=2.0 * level - 1.0)
    return ShareWhatever(least / n, most / n, low_limit, high_limit)


@dataclass(frozen=True)
class DependentFit:
    """Two places at one assumed correlation, by maximum likelihood.

    Attributes
    ----------
    family : {"normal", "lognormal"}
        Distribution of both.
    correlation : float
        Assumed, of the values (normal) or their logarithms [-].
    location, scale : (float, float)
        Of each place; see ``families``.
    mean : (float, float)
        Mean strength of each place, in the unit of the values.
    log_likelihood : float
        Says next to nothing about the correlation: it moves little between assumptions.
    """

    family: Pair
    correlation: float
    location: tuple[float, float]
    scale: tuple[float, float]
    mean: tuple[float, float]
    log_likelihood: float

    def share_below(self, limit: float, *, place: Literal[0, 1]) -> float:
        """Share of one place's strengths below a limit in the unit of the values [-]."""
        at = limit if self.family == "normal" else math.log(limit)
        return float(special.ndtr((at - self.location[place]) / self.scale[place]))


def fit_dependent(x: Values, first: NDArray[np.bool_], *, family: Pair, correlation: float) -> DependentFit:
    r"""Strength of two places whose strengths are assumed to be correlated, by maximum likelihood.

    Parameters
    ----------
    x : (n,) float64
        Strength at failure of each pull, any unit.
    first : (n,) bool
        True where it broke in place 0, False where in place 1.
    family : {"normal", "lognormal"}
        Distribution of both places.
    correlation : float
        Assumed correlation [-], above -1 and below 1. Only through the shape of the normal distribution could data of
        this kind tell it, and tens of pulls do not.

    Returns
    -------
    DependentFit

    Raises
    ------
    InvalidSample
        If either place has fewer than two distinct exact values, or the correlation lies outside its range.

    Notes
    -----
    A pull that broke in place 0 at y contributes, with z = (y - mu) / sigma of each place,

    .. math::  \frac{\varphi(z_0)}{\sigma_0}\, \Phi\!\left(\frac{\rho z_0 - z_1}{\sqrt{1-\rho^2}}\right)

    At correlation 0 this is the fit of each place with the others as bounds. Source: by the definition of the bivariate
    normal distribution; Nadas, Technometrics 13 (1971) 201-202 (the identified minimum of a normal pair).

    Examples
    --------
    >>> x = np.array([1.0, 2.0, 3.0, 4.0, 2.5, 3.5])
    >>> first = np.array([True, False, True, False, True, False])
    >>> fit = fit_dependent(x, first, family="normal", correlation=0.0)
    >>> fit.mean
    (3.3308, 3.3779)
    """
    check_choice("family", family, among=("normal", "lognormal"))
    rho = _correlation(correlation)
    values, mask = np.asarray(x, dtype=np.float64), np.asarray(first, dtype=np.bool_)
    if values.ndim != 1 or mask.shape != values.shape:
        raise InvalidSample(f"expected one place per value; got shapes {values.shape} and {mask.shape}")
    start = _independent(values, mask, family)
    y = values if family == "normal" else np.log(values)
    centre, unit = start[0][0], start[0][1]
    scaled = (y - centre) / unit
    guess = [v for location, scale in start for v in ((location - centre) / unit, math.log(scale / unit))]
    best, height = _climb(scaled, mask, guess, rho)
    location = (centre + unit * best[0], centre + unit * best[2])
    scale = (unit * math.exp(best[1]), unit * math.exp(best[3]))
    mean = mean_of(family, np.array(location), np.array(scale))
    jacobian = 0.0 if family == "normal" else float(np.sum(y))
    return DependentFit(
        family, rho, location, scale, (float(mean[0]), float(mean[1])), height - y.size * math.log(unit) - jacobian
    )


def sweep_correlation(
    x: Values, first: NDArray[np.bool_], *, family: Pair, correlations: Sequence[float]
) -> tuple[DependentFit, ...]:
    """The fit of two places at each of several assumed correlations.

    Parameters
    ----------
    x, first, family
        As in ``fit_dependent``.
    correlations : sequence of float
        Assumed correlations [-].

    Returns
    -------
    tuple of DependentFit
        One for each correlation. The spread between them is what the data leave open.

    Raises
    ------
    InvalidSample
        As ``fit_dependent``.

    Notes
    -----
    Such data can't tell one correlation from another. Source: Tsiatis, Proceedings of the National Academy of Sciences
    72 (1975) 20-22; the fit as ``fit_dependent``.

    Examples
    --------
    >>> x = np.array([1.0, 2.0, 3.0, 4.0, 2.5, 3.5])
    >>> first = np.array([True, False, True, False, True, False])
    >>> [round(fit.mean[0], 2) for fit in sweep_correlation(x, first, family="normal", correlations=(0.0, 0.7))]
    [3.33, 3.04]
    """
    return tuple(fit_dependent(x, first, family=family, correlation=rho) for rho in correlations)


def _correlation(value: float) -> float:
    if not -1.0 < value < 1.0:
        raise InvalidSample(f"expected a correlation above -1 and below 1; got {value!r}")
    return float(value)


def _independent(values: Values, first: NDArray[np.bool_], family: Pair) -> list[tuple[float, float]]:
    """Location and scale of each place at correlation 0; refuses what can't be fitted."""
    found = []
    for exact in (first, ~first):
        high = np.where(exact, values, np.inf)
        order = np.lexsort((high, values))
        stack = Stack(np.zeros(1, dtype=np.int64), values[order][np.newaxis], high[order][np.newaxis])
        fit = fit_bounded(stack, family=family)
        found.append((float(fit.location[0]), float(fit.scale[0])))
    return found


def _climb(y: Values, first: NDArray[np.bool_], guess: list[float], rho: float) -> tuple[Values, float]:
    from scipy import optimize  # loads as long as all else together

    steep = 1.0 / math.sqrt(1.0 - rho * rho)

    def downhill(p: Values) -> tuple[float, Values]:
        height, slope = 0.0, np.zeros(4)
        for mine, other, chosen in ((0, 2, first), (2, 0, ~first)):
            s, t = math.exp(p[mine + 1]), math.exp(p[other + 1])
            z, w = (y[chosen] - p[mine]) / s, (y[chosen] - p[other]) / t
            a = (rho * z - w) * steep
            log_p = special.log_ndtr(a)
            height += float(np.sum(-0.5 * z * z - p[mine + 1] + log_p)) - 0.5 * z.size * math.log(2.0 * math.pi)
            ratio = np.exp(-0.5 * a * a - log_p) / math.sqrt(2.0 * math.pi) * steep
            d_z, d_w = -z + rho * ratio, -ratio
            slope[mine] += float(np.sum(-d_z)) / s
            slope[mine + 1] += float(np.sum(-1.0 - d_z * z))
            slope[other] += float(np.sum(-d_w)) / t
            slope[other + 1] += float(np.sum(-d_w * w))
        return -height, -slope

    done = optimize.minimize(downhill, np.array(guess), jac=True, method="BFGS", options={"gtol": 1e-9, "maxiter": 500})
    if not bool(np.isfinite(done.x).all()) or float(np.max(np.abs(downhill(done.x)[1]))) > 1e-4 * y.size:
        raise InvalidSample(f"no fit at correlation {rho!r}: the likelihood has no highest point within reach")
    return np.asarray(done.x, dtype=np.float64), -float(done.fun)


def mean_where_it_broke(
    *, mean: float, sd: float, other_mean: float, other_sd: float, correlation: float
) -> tuple[float, float]:
    r"""Mean strength of the pulls that break in one of two places, and their share: what averaging within a place does.

    Parameters
    ----------
    mean, sd : float
        True mean and standard deviation of the place, any unit.
    other_mean, other_sd : float
        Those of the other place, in the same unit.
    correlation : float
        Between the two [-], above -1 and below 1.

    Returns
    -------
    mean : float
        Expected mean of the pulls that break in the place, in the unit of the values.
    share : float
        Share of all pulls that do [-].

    Raises
    ------
    InvalidSample
        If a standard deviation is not above zero or the correlation lies outside its range.

    Notes
    -----
    .. math::  E(X_1 \mid X_1 < X_2) = \mu_1 - \frac{\sigma_1^2 - \rho\sigma_1\sigma_2}{\delta}\,
               \frac{\varphi(a)}{\Phi(a)}, \qquad \delta^2 = \sigma_1^2 + \sigma_2^2 - 2\rho\sigma_1\sigma_2, \quad
               a = (\mu_2 - \mu_1)/\delta

    Both places normal. Source: Cain, The American Statistician 48 (1994) 124-125 (minimum of two normal variables).

    Examples
    --------
    Two layers of 2.0 +- 0.4 MPa each, independent: averaging within either gives 1.77, 11 % low.

    >>> mean_where_it_broke(mean=2.0, sd=0.4, other_mean=2.0, other_sd=0.4, correlation=0.0)
    (1.774, 0.5)
    """
    s, t = check_positive("sd", sd, zero_allowed=False), check_positive("other_sd", other_sd, zero_allowed=False)
    rho = _correlation(correlation)
    apart = math.sqrt(s * s + t * t - 2.0 * rho * s * t)
    a = (other_mean - mean) / apart
    share = float(special.ndtr(a))
    ratio = math.exp(-0.5 * a * a - float(special.log_ndtr(a))) / math.sqrt(2.0 * math.pi)
    return mean - (s * s - rho * s * t) / apart * ratio, share
