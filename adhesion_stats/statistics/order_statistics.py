"""Bounds from the order of the values alone, whatever the distribution.

When to use which
-----------------
``confidence_of_order_statistic``  the confidence that the j-th smallest of n really gives.
``n_for_order_statistic``          how many values the smallest (or j-th smallest) needs for a stated confidence.
``n_for_range``                    how many values smallest and largest need as limits on both sides.
``order_statistic_bound``          the bound of each sample, with the confidence reached; refused where n is too small.
``chance_next_all_above``          probability that all of the next m values exceed the j-th smallest.

The price of asking for no distribution is n: 95 % content at 95 % confidence takes 59 values.

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
from adhesion_stats.statistics.checks import check_level, check_sample, check_size

__all__ = [
    "OrderStatisticBound",
    "chance_next_all_above",
    "confidence_of_order_statistic",
    "n_for_order_statistic",
    "n_for_range",
    "order_statistic_bound",
]

Values = NDArray[np.float64]

_LARGEST = 1_000_000  # n searched up to


def confidence_of_order_statistic(*, n: int, rank: int, content: float) -> float:
    r"""Confidence that at least the share ``content`` of the population lies above the rank-th smallest of n values.

    Parameters
    ----------
    n : int
        Values in the sample [-], 1 or greater.
    rank : int
        1 for the smallest, to n [-].
    content : float
        Share of the population [-], strictly between 0 and 1.

    Returns
    -------
    float
        Confidence [-]; exact for continuous distributions, at least that much for others.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  P(\mathrm{Bin}(n, 1-p) \ge j) = I_{1-p}(j,\ n-j+1), \qquad j = 1:\ 1 - p^n

    Source: ISO 16269-6 (distribution-free statistical tolerance interval); Wilks, Annals of Mathematical Statistics 12
    (1941) 91-96.

    Examples
    --------
    >>> confidence_of_order_statistic(n=59, rank=1, content=0.95)
    0.9515
    """
    size = check_size(n, at_least=1)
    j = check_size(rank, at_least=1, at_most=size)
    return float(special.betainc(j, size - j + 1, 1.0 - check_level("content", content)))


def n_for_order_statistic(*, rank: int, content: float, confidence: float) -> int:
    """Smallest n for which the rank-th smallest value is a lower bound of stated content and confidence.

    Parameters
    ----------
    rank : int
        1 for the smallest [-].
    content, confidence : float
        Share above the bound and confidence [-], strictly between 0 and 1.

    Returns
    -------
    int
        n [-].

    Raises
    ------
    InvalidSample
        Outside these ranges, or where n would exceed a million.

    Notes
    -----
    Source: see ``confidence_of_order_statistic``.

    Examples
    --------
    >>> n_for_order_statistic(rank=1, content=0.95, confidence=0.95)
    59
    """
    level = check_level("confidence", confidence)
    j = check_size(rank, at_least=1)
    return _first(j, lambda n: confidence_of_order_statistic(n=n, rank=j, content=content) >= level)


def n_for_range(*, content: float, confidence: float) -> int:
    r"""Smallest n for which smallest and largest value enclose the stated share with the stated confidence.

    Parameters
    ----------
    content, confidence : float
        Share between the two and confidence [-], strictly between 0 and 1.

    Returns
    -------
    int
        n [-].

    Raises
    ------
    InvalidSample
        Outside these ranges, or where n would exceed a million.

    Notes
    -----
    .. math::  1 - n p^{n-1} + (n-1) p^n \ge \gamma

    Source: ISO 16269-6; Wilks, Annals of Mathematical Statistics 12 (1941) 91-96.

    Examples
    --------
    >>> n_for_range(content=0.95, confidence=0.95)
    93
    """
    share, level = check_level("content", content), check_level("confidence", confidence)
    return _first(2, lambda n: float(special.betainc(2, n - 1, 1.0 - share)) >= level)


def _first(start: int, enough: Callable[[int], bool]) -> int:
    """Smallest n from ``start`` on that is enough; more values are always as good."""
    low, high = start - 1, start
    while not enough(high):
        low, high = high, 2 * high
        if high > _LARGEST:
            raise InvalidSample(f"more than {_LARGEST} values would be needed; lower the content or the confidence")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


@dataclass(frozen=True, eq=False)
class OrderStatisticBound:
    """A bound that asks for no distribution.

    Attributes
    ----------
    rank : int
        Which value the bound is, 1 for the smallest [-].
    confidence : float
        Confidence really reached [-], at least the one asked for.
    value : (g,) float64
        Bound of each sample, in the unit of the values.
    """

    rank: int
    confidence: float
    value: Values


def order_statistic_bound(x: Values, *, content: float, confidence: float) -> OrderStatisticBound:
    """Lower tolerance bound for any distribution: the largest order statistic that keeps the confidence.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit. A value known from below only may stand with its lower bound: the bound stays valid.
    content, confidence : float
        Share above the bound and confidence [-], strictly between 0 and 1.

    Returns
    -------
    OrderStatisticBound

    Raises
    ------
    InvalidSample
        If even the smallest value does not reach the confidence; the message says how many values would.

    Notes
    -----
    Source: see ``confidence_of_order_statistic``.

    Examples
    --------
    >>> bound = order_statistic_bound(np.arange(100.0).reshape(1, 100), content=0.95, confidence=0.95)
    >>> (bound.rank, bound.confidence, bound.value.tolist())
    (2, 0.9629, [1.0])
    """
    n = check_sample(x, at_least=1)
    level = check_level("confidence", confidence)
    reached = confidence_of_order_statistic(n=n, rank=1, content=content)
    if reached < level:
        needed = n_for_order_statistic(rank=1, content=content, confidence=level)
        raise InvalidSample(
            f"the smallest of {n} values is a lower bound for {content:.6g} of the population with confidence "
            f"{reached:.3f} only; {level:.6g} needs {needed} values"
        )
    rank = 1
    while rank < n and confidence_of_order_statistic(n=n, rank=rank + 1, content=content) >= level:
        rank += 1
    reached = confidence_of_order_statistic(n=n, rank=rank, content=content)
    return OrderStatisticBound(rank=rank, confidence=reached, value=x[:, rank - 1].copy())


def chance_next_all_above(*, n: int, rank: int, m: int) -> float:
    r"""Probability that all of the next m values exceed the rank-th smallest of n, any continuous distribution.

    Parameters
    ----------
    n : int
        Values in the sample [-], 1 or greater.
    rank : int
        1 for the smallest, to n [-].
    m : int
        Values to come [-], 1 or greater.

    Returns
    -------
    float
        Probability [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    .. math::  \prod_{i=1}^{m} \frac{n - j + i}{n + i}, \qquad j = 1:\ \frac{n}{n+m}

    Source: Hahn & Meeker, Statistical Intervals (1991), chapter 5.

    Examples
    --------
    The next value exceeds the smallest of nine in nine cases of ten.

    >>> chance_next_all_above(n=9, rank=1, m=1)
    0.9
    """
    size = check_size(n, at_least=1)
    j = check_size(rank, at_least=1, at_most=size)
    return math.prod((size - j + i) / (size + i) for i in range(1, check_size(m, at_least=1) + 1))
