"""The share of a population below a limit, with confidence bounds.

When to use which
-----------------
``share_below_normal``          from measured values of a normal sample: estimate, and exact confidence limits.
``share_interval_exact``        from counts alone, any distribution (Clopper-Pearson): holds its level always.
``share_interval_wilson``       from counts alone (Wilson): shorter, and right on average rather than always.

Five values, none below the limit, say by count that up to 45 % may lie below it (95 %); by measured values much less,
if the population is normal.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_level, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.noncentral import noncentrality

__all__ = ["ShareBelow", "share_below_normal", "share_interval_exact", "share_interval_wilson"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ShareBelow:
    """Share of a population below a limit, from g samples; arrays of shape (g,).

    Attributes
    ----------
    estimate : (g,) float64
        Share by the sample's own mean and standard deviation [-].
    low, high : (g,) float64
        Lower and upper confidence limit, each one-sided at the stated confidence [-].
    """

    estimate: Values
    low: Values
    high: Values


def share_below_normal(x: Values, *, limit: float, confidence: float) -> ShareBelow:
    r"""Share of a normal population below a limit, exact confidence limits.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values of a normal sample, any unit; not all equal.
    limit : float
        Limit, in the unit of the values.
    confidence : float
        Confidence level of each limit by itself [-], strictly between 0 and 1; the two together are an interval of
        confidence 2 gamma - 1.

    Returns
    -------
    ShareBelow

    Raises
    ------
    InvalidSample
        If n < 2, the level is none, the limit is not finite or all values of a row are equal.

    Notes
    -----
    .. math::  t = \sqrt n\,(\bar x - L)/s \sim t'(n-1,\ \delta = \sqrt n\,(\mu - L)/\sigma), \qquad
               p = \Phi(-\delta/\sqrt n)

    so that limits of delta are limits of the share. The upper limit equals 1 - content where the tolerance bound of
    that content and confidence meets the limit. Source: Hahn & Meeker, Statistical Intervals (1991), chapter 4.

    Examples
    --------
    Ten values whose 95/95 tolerance bound is 2.268662: at most 5 % lie below it, with 95 % confidence.

    >>> x = np.array([[2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5, 3.6]])
    >>> float(share_below_normal(x, limit=2.2686620592, confidence=0.95).high[0])
    0.0500000
    """
    n = check_sample(x, at_least=2)
    level = check_level("confidence", confidence)
    if not math.isfinite(limit):
        raise InvalidSample(f"expected a finite limit; got {limit!r}")
    mean, sd = mean_and_sd(x)
    if bool((sd == 0.0).any()):
        raise InvalidSample(
            f"expected values that differ; row {int(np.argmax(sd == 0.0))} has equal ones only, no spread to judge by"
        )
    away = (mean - limit) / sd
    t, root_n = math.sqrt(n) * away, math.sqrt(n)
    # A large t speaks for a large delta and a small share: the upper limit of the share is the lower one of delta.
    low = noncentrality(t, degrees_of_freedom=n - 1, probability=1.0 - level)
    high = noncentrality(t, degrees_of_freedom=n - 1, probability=level)
    return ShareBelow(special.ndtr(-away), special.ndtr(-low / root_n), special.ndtr(-high / root_n))


def _counts(below: NDArray[np.int64], n: int) -> Values:
    size = check_size(n, at_least=1)
    counts = np.asarray(below)
    if not np.issubdtype(counts.dtype, np.integer) or bool(((counts < 0) | (counts > size)).any()):
        raise InvalidSample(f"expected whole numbers from 0 to n = {size}; got {counts!r}")
    return counts.astype(np.float64)


def share_interval_exact(below: NDArray[np.int64], *, n: int, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided confidence interval of a share from counts, Clopper and Pearson.

    Parameters
    ----------
    below : (g,) int
        How many of n lie below the limit [-], 0 to n.
    n : int
        Values in each sample [-], 1 or greater.
    confidence : float
        Confidence level of the interval [-]; each end by itself has (1 + confidence) / 2.

    Returns
    -------
    low, high : (g,) float64
        Limits [-].

    Raises
    ------
    InvalidSample
        If a count is none, n < 1 or the level is none.

    Notes
    -----
    Quantiles of beta(k, n - k + 1) and beta(k + 1, n - k). The level is held whatever the true share is. Source:
    Clopper & Pearson, Biometrika 26 (1934) 404-413; NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.

    Examples
    --------
    e-Handbook: 4 of 20 at 90 %, 0.0713 to 0.4010.

    >>> low, high = share_interval_exact(np.array([4]), n=20, confidence=0.90)
    >>> (float(low[0]), float(high[0]))
    (0.0713538843, 0.4010281173)
    """
    k = _counts(below, n)
    tail = 0.5 * (1.0 - check_level("confidence", confidence))
    # The shapes are kept above zero where the answer is 0 or 1 anyhow.
    low = np.where(k == 0, 0.0, special.betaincinv(np.maximum(k, 1.0), n - k + 1.0, tail))
    high = np.where(k == n, 1.0, special.betainccinv(k + 1.0, np.maximum(n - k, 1.0), tail))
    return low, high


def share_interval_wilson(below: NDArray[np.int64], *, n: int, confidence: float) -> tuple[Values, Values]:
    r"""Two-sided confidence interval of a share from counts, Wilson's score interval.

    Approximate: its level is right on average over the true share and can be missed for a given one (near 0 and 1 a
    nominal 95 % falls to 83 %). Use ``share_interval_exact`` where the level has to be held.

    Parameters
    ----------
    below : (g,) int
        How many of n lie below the limit [-], 0 to n.
    n : int
        Values in each sample [-], 1 or greater.
    confidence : float
        Confidence level of the interval [-].

    Returns
    -------
    low, high : (g,) float64
        Limits [-].

    Raises
    ------
    InvalidSample
        If a count is none, n < 1 or the level is none.

    Notes
    -----
    .. math::  \frac{\hat p + z^2/2n \pm z\sqrt{\hat p(1-\hat p)/n + z^2/4n^2}}{1 + z^2/n}

    Source: Wilson, Journal of the American Statistical Association 22 (1927) 209-212.

    Examples
    --------
    >>> low, high = share_interval_wilson(np.array([4]), n=20, confidence=0.90)
    >>> (float(low[0]), float(high[0]))
    (0.0931, 0.3784)
    """
    k = _counts(below, n)
    z = -float(special.ndtri(0.5 * (1.0 - check_level("confidence", confidence))))
    share, square = k / n, z * z / n
    half = z * np.sqrt(share * (1.0 - share) / n + square / (4.0 * n))
    low, high = (share + 0.5 * square - half) / (1.0 + square), (share + 0.5 * square + half) / (1.0 + square)
    return np.where(k == 0, 0.0, low), np.where(k == n, 1.0, high)
