"""Maximum likelihood for samples in which some values are known within bounds only (censored).

A pull that broke elsewhere, or that ran to the end of the gauge, says: the bond is at least this strong. Left out, it
biases the mean low; taken as exact, too. The likelihood takes it as what it is.

When to use which
-----------------
``fit_trouble``     which samples of a stack can't be fitted, and why; look first.
``fit_bounded``     location, scale, log-likelihood and standard errors of each sample.
``fit_exponential`` mean of an exponential population (one parameter; for comparison with published examples).

Limits that hold for few values are in ``bounded_limits``; the standard errors here are for many. A bound has to have
come about without regard to the value behind it, given the value of the bound: ``competing_risks`` says what that means
where layers break each other off.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack, row_sum
from adhesion_stats.statistics.families import (
    Columns,
    Family,
    columns,
    deviate,
    log_between,
    log_density,
    mean_of,
    score,
)

__all__ = [
    "ALL_BOUNDED",
    "FITS",
    "ONE_EXACT_VALUE",
    "UNBOUNDED_LIKELIHOOD",
    "BoundedFit",
    "fit_bounded",
    "fit_exponential",
    "fit_trouble",
    "require_fits",
]

Values = NDArray[np.float64]

FITS, ALL_BOUNDED, ONE_EXACT_VALUE, UNBOUNDED_LIKELIHOOD = 0, 1, 2, 3
_WORDS = {
    ALL_BOUNDED: "no exact value: bounds alone fix neither mean nor spread",
    ONE_EXACT_VALUE: "fewer than two distinct exact values: the spread can't be estimated",
    UNBOUNDED_LIKELIHOOD: "one distinct exact value that no bound contradicts: the likelihood grows without end as the "
    "spread goes to zero",
}
_STEPS = 40


@dataclass(frozen=True, eq=False)
class BoundedFit:
    """Maximum-likelihood fits of g samples; arrays of shape (g,).

    Attributes
    ----------
    family : {"normal", "lognormal", "weibull"}
        Distribution; ``families`` says what location and scale mean.
    n, r : int
        Values per sample, and how many of them are known within bounds only [-].
    location, scale : (g,) float64
        In the unit of the values (normal) or of their logarithms [-].
    log_likelihood : (g,) float64
        Density for exact values, probability for bounded ones.
    var_location, var_log_scale, cov_location_log_scale : (g,) float64
        Inverse of the observed information in (location, ln scale).
    """

    family: Family
    n: int
    r: int
    location: Values
    scale: Values
    log_likelihood: Values
    var_location: Values
    var_log_scale: Values
    cov_location_log_scale: Values

    @property
    def mean(self) -> Values:
        """(g,): mean of the fitted distribution, in the unit of the values."""
        return mean_of(self.family, self.location, self.scale)

    @property
    def weibull_shape(self) -> Values:
        """(g,): shape parameter [-], Weibull only."""
        return 1.0 / self.scale

    @property
    def weibull_scale(self) -> Values:
        """(g,): scale parameter, in the unit of the values, Weibull only."""
        return np.exp(self.location)

    def fractile(self, share: float) -> Values:
        """(g,): the value that the given share of the fitted distribution lies below, in the unit of the values."""
        at = self.location + deviate(self.family, share) * self.scale
        return at if self.family == "normal" else np.exp(at)

    def standard_error(self, share: float) -> Values:
        """(g,): standard error of location + z scale at the fractile, in the unit of location; for many values only."""
        z = deviate(self.family, share) * self.scale
        return np.sqrt(self.var_location + z * z * self.var_log_scale + 2.0 * z * self.cov_location_log_scale)


def fit_trouble(stack: Stack) -> NDArray[np.int64]:
    """Why a sample can't be fitted with two parameters, row by row.

    Parameters
    ----------
    stack : Stack
        Samples of equal (n, r).

    Returns
    -------
    (g,) int64
        ``FITS``, ``ALL_BOUNDED``, ``ONE_EXACT_VALUE`` (fewer than two distinct exact values) or
        ``UNBOUNDED_LIKELIHOOD`` (one distinct exact value inside every bound) [-].

    Raises
    ------
    Nothing of its own: a stack that exists can be asked.

    Notes
    -----
    With two distinct exact values the likelihood falls as the spread goes to zero or to infinity, and has one highest
    point. Source: Burridge, Journal of the Royal Statistical Society B 43 (1981) 41-45.

    Examples
    --------
    >>> from adhesion_stats.statistics.blocks import stacks
    >>> stack, = stacks(np.array([0, 0]), np.array([1.0, 2.0]), np.array([np.inf, 2.0]))
    >>> int(fit_trouble(stack)[0]) == UNBOUNDED_LIKELIHOOD
    True
    """
    if stack.n == stack.r:
        return np.full(stack.g, ALL_BOUNDED, dtype=np.int64)
    exact = stack.exact_values
    one = exact[:, 0] == exact[:, -1]
    only = exact[:, :1]
    inside = ((stack.low <= only) & (only <= stack.high)).all(axis=-1)
    return np.where(one, np.where(inside, UNBOUNDED_LIKELIHOOD, ONE_EXACT_VALUE), FITS).astype(np.int64)


def require_fits(stack: Stack) -> None:
    """Raise ``InvalidSample``, in words and with counts, if a sample of the stack can't be fitted."""
    trouble = fit_trouble(stack)
    if not trouble.any():
        return
    said = []
    for code, words in _WORDS.items():
        rows = np.flatnonzero(trouble == code)
        if rows.size:
            said.append(f"{words} ({rows.size} of {stack.g} samples, the first is group {int(stack.group[rows[0]])})")
    raise InvalidSample("no fit: " + "; ".join(said) + ". fit_trouble says which, so that the others can be fitted")


def fit_bounded(stack: Stack, *, family: Family) -> BoundedFit:
    r"""Maximum-likelihood location and scale of each sample, values exact or within bounds.

    Parameters
    ----------
    stack : Stack
        Samples of equal (n, r): exact, bounded from below (high = inf), within an interval, or from above (low = 0 for
        positive families; low = -inf in a stack made by hand).
    family : {"normal", "lognormal", "weibull"}
        Distribution.

    Returns
    -------
    BoundedFit

    Raises
    ------
    InvalidSample
        If a sample can't be fitted (see ``fit_trouble``), or a value is not above zero where logarithms are taken.

    Notes
    -----
    .. math::  \ell = \sum_\text{exact} \ln\frac{f(z_i)}{\sigma} + \sum_\text{bounded}
               \ln\big(F(z_i^\text{high}) - F(z_i^\text{low})\big), \qquad z = (y - \mu)/\sigma

    In (mu / sigma, 1 / sigma) this is concave for the three families, so that Newton's method, shortened to
    1 / (1 + decrement) of the step while far away, finds the one highest point; 40 steps for every sample, of which
    most need ten. Source: Lawless, Statistical Models and Methods for Lifetime Data (2003), chapter 5; Burridge (1981).

    Examples
    --------
    NIST/SEMATECH e-Handbook 8.4.1.3: ten failures and ten units still running at 500 h; Weibull shape 1.72563, scale
    606.005.

    >>> from adhesion_stats.statistics.blocks import stacks
    >>> hours = np.array([55.0, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500.0] * 10)
    >>> upper = np.where(hours < 500, hours, np.inf)
    >>> stack, = stacks(np.zeros(20, dtype=int), hours, upper)
    >>> fit = fit_bounded(stack, family="weibull")
    >>> (float(fit.weibull_shape[0]), float(fit.weibull_scale[0]))
    (1.72563, 606.005)
    """
    parts = columns(stack, family=family)
    require_fits(stack)
    m = stack.n - stack.r
    centre = row_sum(parts.exact) / m
    away = parts.exact - centre[:, np.newaxis]
    # Bounds count for the unit, too: two exact values close together are no measure of how far the others lie.
    near = np.where(np.isfinite(parts.low), parts.low, parts.high) - centre[:, np.newaxis]
    near[~np.isfinite(near)] = 0.0
    unit = np.sqrt((row_sum(away * away) + row_sum(near * near)) / stack.n)
    scaled = Columns(
        away / unit[:, np.newaxis],
        (parts.low - centre[:, np.newaxis]) / unit[:, np.newaxis],
        (parts.high - centre[:, np.newaxis]) / unit[:, np.newaxis],
        parts.log_jacobian,
    )
    alpha = np.full(stack.g, 0.57721566 if family == "weibull" else 0.0)
    tau = np.full(stack.g, 1.28254983 if family == "weibull" else 1.0)
    for _ in range(_STEPS):
        slope, bend, _ = _derivatives(scaled, family, alpha, tau)
        step_alpha, step_tau, decrement = _newton(slope, bend)
        short = np.where(decrement > 0.25, 1.0 / (1.0 + decrement), 1.0)
        alpha, tau = alpha + short * step_alpha, tau + short * step_tau
    _, bend, height = _derivatives(scaled, family, alpha, tau)
    var_u, var_v, cov_uv = _covariance(bend, alpha, tau)
    return BoundedFit(
        family=family,
        n=stack.n,
        r=stack.r,
        location=centre + unit * alpha / tau,
        scale=unit / tau,
        log_likelihood=height - m * np.log(unit) - parts.log_jacobian,
        var_location=var_u * unit * unit,
        var_log_scale=var_v,
        cov_location_log_scale=cov_uv * unit,
    )


_Two = tuple[Values, Values]
_Three = tuple[Values, Values, Values]


def _derivatives(parts: Columns, family: Family, alpha: Values, tau: Values) -> tuple[_Two, _Three, Values]:
    """Slope (alpha, tau), bend (alpha alpha, alpha tau, tau tau), height of the log-likelihood; z = tau y - alpha."""
    y = parts.exact
    z = tau[:, np.newaxis] * y - alpha[:, np.newaxis]
    first, second = score(family, z)
    m = y.shape[1]
    height = m * np.log(tau) + row_sum(log_density(family, z))
    d_alpha, d_tau = -row_sum(first), m / tau + row_sum(first * y)
    aa, at, tt = row_sum(second), -row_sum(second * y), row_sum(second * y * y) - m / (tau * tau)
    if parts.low.shape[1]:
        low = tau[:, np.newaxis] * parts.low - alpha[:, np.newaxis]
        high = tau[:, np.newaxis] * parts.high - alpha[:, np.newaxis]
        inside = log_between(family, low, high)
        height = height + row_sum(inside)
        # Density at either bound over the probability between them; nothing at a bound that is none.
        at_low, low_score, y_low = _edge(family, low, parts.low, inside)
        at_high, high_score, y_high = _edge(family, high, parts.high, inside)
        slope_low, slope_high = -at_low, at_high
        low_low = -low_score * at_low - at_low * at_low
        high_high = high_score * at_high - at_high * at_high
        both = at_low * at_high
        d_alpha = d_alpha - row_sum(slope_low + slope_high)
        d_tau = d_tau + row_sum(slope_low * y_low + slope_high * y_high)
        aa = aa + row_sum(low_low + 2.0 * both + high_high)
        at = at - row_sum(low_low * y_low + both * (y_low + y_high) + high_high * y_high)
        tt = tt + row_sum(low_low * y_low * y_low + 2.0 * both * y_low * y_high + high_high * y_high * y_high)
    return (d_alpha, d_tau), (aa, at, tt), height


def _edge(family: Family, z: Values, y: Values, inside: Values) -> tuple[Values, Values, Values]:
    there = np.isfinite(y)
    at, value = np.where(there, z, 0.0), np.where(there, y, 0.0)
    weight = np.where(there, np.exp(np.minimum(log_density(family, at) - inside, 690.0)), 0.0)
    return weight, score(family, at)[0], value


def _newton(slope: _Two, bend: _Three) -> tuple[Values, Values, Values]:
    """Step in alpha and tau, and its decrement: the root of slope times step."""
    (d_alpha, d_tau), (aa, at, tt) = slope, bend
    area = aa * tt - at * at
    step_alpha = -(tt * d_alpha - at * d_tau) / area
    step_tau = -(aa * d_tau - at * d_alpha) / area
    return step_alpha, step_tau, np.sqrt(np.maximum(d_alpha * step_alpha + d_tau * step_tau, 0.0))


def _covariance(bend: _Three, alpha: Values, tau: Values) -> tuple[Values, Values, Values]:
    """Of (location, ln scale) from the bend in (alpha, tau): location = alpha / tau, ln scale = -ln tau."""
    aa, at, tt = bend
    area = aa * tt - at * at
    var_a, var_t, cov = -tt / area, -aa / area, at / area
    u = alpha / tau
    var_u = (var_a - 2.0 * u * cov + u * u * var_t) / (tau * tau)
    return var_u, var_t / (tau * tau), -(cov - u * var_t) / (tau * tau)


def fit_exponential(stack: Stack) -> Values:
    """Maximum-likelihood mean of an exponential population: sum of all values and bounds over the exact ones' count.

    Parameters
    ----------
    stack : Stack
        Samples of equal (n, r), values exact or bounded from below.

    Returns
    -------
    (g,) float64
        Mean, in the unit of the values.

    Raises
    ------
    InvalidSample
        If a value is bounded from above, or none is exact.

    Notes
    -----
    Source: Lawless, Statistical Models and Methods for Lifetime Data (2003), section 4.1.

    Examples
    --------
    >>> from adhesion_stats.statistics.blocks import stacks
    >>> stack, = stacks(np.zeros(3, dtype=int), np.array([1.0, 2.0, 3.0]), np.array([1.0, 2.0, np.inf]))
    >>> fit_exponential(stack).tolist()
    [3.0]
    """
    if stack.n == stack.r:
        raise InvalidSample(f"no fit: {_WORDS[ALL_BOUNDED]}")
    if bool((~stack.exact & np.isfinite(stack.high)).any()):
        raise InvalidSample("expected values that are exact or bounded from below only")
    return row_sum(stack.low) / (stack.n - stack.r)
