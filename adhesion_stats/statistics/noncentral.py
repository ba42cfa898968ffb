"""The non-central t distribution, by quadrature, for whole columns of values; what exact bounds on shares, on the
coefficient of variation and on fractiles are made of.

When to use which
-----------------
``noncentral_t_below``  P(T <= t): the distribution function.
``noncentrality``       the delta at which a given t has a given probability: its inverse in delta.
``chi_nodes``           nodes and weights over the distribution of a standard deviation.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.checks import check_level, check_size

__all__ = ["NODES", "WEIGHTS", "chi_nodes", "noncentral_t_below", "noncentrality"]

Values = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.legendre.leggauss(160)
"""Gauss-Legendre on -1 to 1."""

_REACH = 9.5  # standard deviations beyond which the normal density adds less than 1e-20
_ROWS = 4096  # rows worked on at a time: 160 nodes each fit the cache
_STEPS = 40  # Newton steps, with halving where a step leaves the bounds; most roots need six
_SMOOTH_FROM = 3  # degrees of freedom
_POLISHING = 4  # Newton steps after the series
_TERMS = 160  # Chebyshev terms of delta over t


@lru_cache(maxsize=512)
def chi_nodes(degrees_of_freedom: int) -> tuple[Values, Values]:
    r"""Nodes s and weights such that sum(weight * f(s)) is the mean of f(S), S = chi / sqrt(df).

    S is the standard deviation of a normal sample in units of the true one.

    Parameters
    ----------
    degrees_of_freedom : int
        nu [-], 1 or greater.

    Returns
    -------
    nodes, weights : (160,) float64
        Read-only [-].

    Notes
    -----
    .. math::  f_S(s) = \frac{2 (\nu/2)^{\nu/2}}{\Gamma(\nu/2)}\, s^{\nu-1} e^{-\nu s^2/2}

    over the range that leaves 1e-22 at either end.

    Examples
    --------
    >>> s, weight = chi_nodes(4)
    >>> float(np.sum(weight * s * s))  # the variance is unbiased
    1.000000000
    """
    df = check_size(degrees_of_freedom, at_least=1)
    half_df = 0.5 * df
    low = math.sqrt(float(special.gammaincinv(half_df, 1e-22)) / half_df)
    high = math.sqrt(float(special.gammainccinv(half_df, 1e-22)) / half_df)
    s = low + 0.5 * (high - low) * (1.0 + NODES)
    log_density = (
        half_df * math.log(half_df) + math.log(2.0) - math.lgamma(half_df) + (df - 1) * np.log(s) - half_df * s * s
    )
    weight = 0.5 * (high - low) * WEIGHTS * np.exp(log_density)
    s.flags.writeable = False
    weight.flags.writeable = False
    return s, weight


def noncentral_t_below(t: Values, *, degrees_of_freedom: int, noncentrality: Values) -> Values:
    r"""P(T <= t) of Student's non-central t distribution, value by value.

    Parameters
    ----------
    t : (g,) float64
        Values of (Z + delta) / S [-], finite.
    degrees_of_freedom : int
        nu [-], 1 or greater.
    noncentrality : (g,) float64
        delta [-], finite.

    Returns
    -------
    (g,) float64
        Probability [-], absolute error below 1e-12.

    Raises
    ------
    InvalidSample
        If degrees of freedom are none.

    Notes
    -----
    .. math::  P(T \le t) = \int f_S(s)\, \Phi(t s - \delta)\, ds
               = \Phi(-\delta) + \int_{-\delta}^\infty \varphi(z)\, P\big(\nu S^2 > \nu (z + \delta)^2/t^2\big)\, dz

    by Gauss-Legendre quadrature with 160 nodes; the first for small t, the second for large ones, where the Phi of
    the first is too steep in s. Source: Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions, volume 2,
    chapter 31.

    Examples
    --------
    The tolerance factor 2.911 of ten values (95 % content) has 95 % confidence.

    >>> root = np.sqrt(10.0)
    >>> t, delta = np.array([2.911 * root]), np.array([1.644854 * root])
    >>> p = noncentral_t_below(t, degrees_of_freedom=9, noncentrality=delta)
    >>> float(p[0])
    0.9500
    """
    df = check_size(degrees_of_freedom, at_least=1)
    below, _ = _below_and_slope(np.asarray(t, dtype=np.float64), df, np.asarray(noncentrality, dtype=np.float64))
    return below


def noncentrality(t: Values, *, degrees_of_freedom: int, probability: float) -> Values:
    r"""The delta at which P(T <= t) is the given probability, value by value.

    Parameters
    ----------
    t : (g,) float64
        Observed values [-], finite.
    degrees_of_freedom : int
        nu [-], 1 or greater.
    probability : float
        P(T <= t) wanted [-], strictly between 0 and 1. A small one gives the upper confidence limit of delta.

    Returns
    -------
    (g,) float64
        delta [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    delta / sqrt(1 + t^2 / (2 nu)) is smooth in t / sqrt(t^2 + 2 nu), on to the ends -1 and 1. Its Chebyshev series is
    worked out once per level, from roots found by Newton's method kept between bounds, and serves every value
    (with 1 or 2 degrees of freedom, where the series is slow, four Newton steps for each value follow). Error of the
    probability below 1e-10. Source: definition of the non-central t distribution.

    Examples
    --------
    >>> t = np.array([2.911 * np.sqrt(10.0)])
    >>> float(noncentrality(t, degrees_of_freedom=9, probability=0.95)[0] / np.sqrt(10.0))
    1.645
    """
    df = check_size(degrees_of_freedom, at_least=1)
    level = check_level("probability", probability)
    values = np.asarray(t, dtype=np.float64)
    at = values / np.sqrt(values * values + 2.0 * df)
    scaled = np.asarray(chebyshev.chebval(at, _series(df, level)), dtype=np.float64)
    delta = scaled * np.sqrt(1.0 + values * values / (2.0 * df))
    if df < _SMOOTH_FROM:
        for _ in range(_POLISHING):
            step = _newton(values, df, level, delta)
            delta = delta + np.clip(step, -0.5 - 0.1 * np.abs(delta), 0.5 + 0.1 * np.abs(delta))
    return delta


@lru_cache(maxsize=512)
def _series(df: int, level: float) -> Values:
    angles = np.pi * (np.arange(_TERMS) + 0.5) / _TERMS
    x = np.cos(angles)
    t = x * np.sqrt(2.0 * df / (1.0 - x * x))
    scaled = _root(t, df, level) / np.sqrt(1.0 + t * t / (2.0 * df))
    series: Values = 2.0 / _TERMS * np.cos(np.outer(np.arange(_TERMS), angles)) @ scaled
    series[0] *= 0.5
    series.flags.writeable = False
    return series


def _root(t: Values, df: int, level: float) -> Values:
    delta = t - float(special.ndtri(level)) * np.sqrt(1.0 + t * t / (2.0 * df))
    low, high = np.minimum(-10.0, t - 10.0) * 4.0, np.maximum(10.0, t + 10.0) * 4.0
    for _ in range(_STEPS):
        below, _ = _below_and_slope(t, df, delta)
        low, high = np.where(below > level, delta, low), np.where(below > level, high, delta)
        trial = delta + _newton(t, df, level, delta)
        inside = (trial > low) & (trial < high)
        # A step too small to matter is taken even where rounding puts it beyond a bound.
        done = np.abs(trial - delta) < 1e-11 * (1.0 + np.abs(delta))
        delta = np.where(inside | done, trial, 0.5 * (low + high))
    return delta


def _newton(t: Values, df: int, level: float, delta: Values) -> Values:
    """Newton's step on the normal score of P(T <= t), which is nearly straight in delta."""
    below, slope = _below_and_slope(t, df, delta)
    at = special.ndtri(np.clip(below, 1e-15, 1.0 - 1e-15))
    density = np.exp(-0.5 * at * at) / math.sqrt(2.0 * math.pi)
    step: Values = -(at - float(special.ndtri(level))) * density / np.minimum(slope, -1e-300)
    return step


def _below_and_slope(t: Values, df: int, delta: Values) -> tuple[Values, Values]:
    """P(T <= t) and its derivative in delta (negative), in portions of rows."""
    t, delta = np.broadcast_arrays(t, delta)
    below, slope = np.empty(t.shape), np.empty(t.shape)
    for start in range(0, t.size, _ROWS):
        part = slice(start, start + _ROWS)
        below[part], slope[part] = _part(t[part], df, delta[part])
    return below, slope


def _part(t: Values, df: int, delta: Values) -> tuple[Values, Values]:
    s, s_weight = chi_nodes(df)
    # Negative t by symmetry: P(T <= t; delta) = 1 - P(T <= -t; -delta), and the slope in delta is the same.
    sign = np.where(t < 0.0, -1.0, 1.0)
    size, shift = np.abs(t), delta * sign
    steep = size * float(s[-1] - s[0]) > 30.0  # Phi rises within a thirtieth of the range
    below, slope = np.empty(t.shape), np.empty(t.shape)
    if not steep.all():
        score = size[~steep, np.newaxis] * s - shift[~steep, np.newaxis]
        below[~steep] = np.sum(s_weight * special.ndtr(score), axis=-1)
        slope[~steep] = -np.sum(s_weight * np.exp(-0.5 * score * score), axis=-1) / math.sqrt(2.0 * math.pi)
    if steep.any():
        below[steep], slope[steep] = _over_the_mean(size[steep], df, shift[steep])
    return np.where(sign < 0.0, 1.0 - below, below), slope


def _over_the_mean(t: Values, df: int, delta: Values) -> tuple[Values, Values]:
    start = np.clip(-delta, -_REACH, _REACH)[:, np.newaxis]
    half = 0.5 * (_REACH - start)
    z = start + half * (1.0 + NODES)
    weight = half * WEIGHTS * np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    wide = special.gammaincc(0.5 * df, 0.5 * df * ((z + delta[:, np.newaxis]) / t[:, np.newaxis]) ** 2)
    below = special.ndtr(-delta) + np.sum(weight * wide, axis=-1)
    slope = np.sum(weight * z * wide, axis=-1) - np.exp(-0.5 * delta * delta) / math.sqrt(2.0 * math.pi)
    return below, slope
