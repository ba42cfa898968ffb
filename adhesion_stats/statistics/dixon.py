"""Dixon's ratios: does the largest or the smallest value of a normal sample stand out by its gap to its neighbours?

Critical values and p-values are computed, not tabulated: tables in print are good to about 0.003, in places worse.

When to use which
-----------------
``dixon``                       flags for whole blocks by a named convention, at a level, aware of the recording step.
``dixon_ratio``                 one ratio of each row.
``dixon_critical``              critical value, one scalar per (ratio, n, alpha, sides).
``dixon_p_value``               p-values of ratios.
``CONVENTIONS``, ``ratio_for``  which ratio at which n.

Only exact values may be passed: a value known within bounds has no gap.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive, check_sample, check_size
from adhesion_stats.statistics.dixon_distribution import LARGEST_N, NEIGHBOUR, Ratio, survival, upper_point
from adhesion_stats.statistics.screening import SIDES, OutlierScreen, Sides

__all__ = [
    "CONVENTIONS",
    "LARGEST_N",
    "TRUE_LEVEL_TWO_SIDED",
    "Convention",
    "Ratio",
    "dixon",
    "dixon_critical",
    "dixon_p_value",
    "dixon_ratio",
    "ratio_for",
]

Values = NDArray[np.float64]

# True level of the two-sided test at nominal 10, 5 and 1 %, by 4 million simulated samples (n, levels); r10 is exact
# for n = 3 to 7. For every n to 30: data/studies/false_alarms.csv (5 and 1 %, 100,000 samples each).
TRUE_LEVEL_TWO_SIDED: Mapping[tuple[Ratio, int], tuple[float, float, float]] = MappingProxyType(
    {
        ("r11", 8): (0.0905, 0.0461, 0.0093),
        ("r11", 10): (0.0923, 0.0469, 0.0096),
        ("r21", 11): (0.0962, 0.0489, 0.0099),
        ("r22", 14): (0.0913, 0.0466, 0.0095),
        ("r22", 20): (0.0936, 0.0477, 0.0097),
        ("r22", 30): (0.0952, 0.0485, 0.0100),
    }
)


@dataclass(frozen=True)
class Convention:
    """Which ratio a document uses at which sample size.

    Attributes
    ----------
    name : str
        Key in ``CONVENTIONS``.
    ranges : tuple of (first n, last n, ratio)
        Sample sizes [-] and their ratio.
    printed_sides : {"one", "two"}
        How the confidence in the heading of its printed tables is meant: of two tables headed "95 %" one may hold
        one-sided 5 % points (n = 3: 0.941) and the other two-sided ones (n = 3: 0.970). Functions here take alpha and
        sides as said.
    source : str
        Where the convention is written.
    """

    name: str
    ranges: tuple[tuple[int, int, Ratio], ...]
    printed_sides: Literal["one", "two"]
    source: str


CONVENTIONS: Mapping[str, Convention] = MappingProxyType(
    {
        "E178": Convention(
            name="E178",
            ranges=((3, 7, "r10"), (8, 10, "r11"), (11, 13, "r21"), (14, 30, "r22")),
            printed_sides="one",
            source="ASTM E178; Annals of Mathematical Statistics 22 (1951) 68-78; Biometrics 9 (1953) 74-89",
        ),
        "E178 to 100": Convention(
            name="E178 to 100",
            ranges=((3, 7, "r10"), (8, 10, "r11"), (11, 13, "r21"), (14, LARGEST_N, "r22")),
            printed_sides="one",
            source="as E178; r22 continued beyond n = 30 by this project",
        ),
        "Q": Convention(
            name="Q",
            ranges=((3, LARGEST_N, "r10"),),
            printed_sides="two",
            source="common practice in analytical chemistry (Q test)",
        ),
    }
)


def ratio_for(*, n: int, convention: str) -> Ratio:
    """The ratio that a convention uses for n values.

    Parameters
    ----------
    n : int
        Values in the sample [-].
    convention : str
        Key of ``CONVENTIONS``.

    Returns
    -------
    str
        Name of the ratio, r10 to r22.

    Raises
    ------
    InvalidSample
        If there is no such convention, or it says nothing for n.

    Notes
    -----
    Source: that of the convention, ``CONVENTIONS[convention].source``.

    Examples
    --------
    >>> ratio_for(n=9, convention="E178")
    'r11'
    """
    check_choice("convention", convention, among=tuple(CONVENTIONS))
    for first, last, ratio in CONVENTIONS[convention].ranges:
        if first <= n <= last:
            return ratio
    ranges = CONVENTIONS[convention].ranges
    raise InvalidSample(f"convention {convention} covers n = {ranges[0][0]} to {ranges[-1][1]}; got n = {n}")


def dixon_ratio(x: Values, *, ratio: Ratio, sides: Sides) -> tuple[Values, NDArray[np.bool_]]:
    r"""One of Dixon's ratios of each row, and whether its suspect is the largest value.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis
        Exact values, any unit; n >= 3 for r10, 4 for r11 and r20, 5 for r12 and r21, 6 for r22.
    ratio : {"r10", "r11", "r12", "r20", "r21", "r22"}
    sides : {"low", "high", "two"}
        ``two`` takes the end with the larger ratio (the low one if both are equal).

    Returns
    -------
    statistic : (g,) float64
        Ratio, 0 to 1 [-]; 0 where its denominator is 0 (all values that enter are equal).
    high : (g,) bool
        True where the suspect is the largest value.

    Raises
    ------
    InvalidSample
        If n is too small for the ratio.

    Notes
    -----
    .. math::  r_{j,i-1} = \frac{x_n - x_{n-j}}{x_n - x_i}, \qquad\text{at the low end}\qquad
               \frac{x_{1+j} - x_1}{x_{n-i+1} - x_1}

    Source: Annals of Mathematical Statistics 22 (1951) 68-78; ASTM E178.

    Examples
    --------
    ASTM E178 example 1: r11 = 12/26.

    >>> wire = np.array([[568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596]])
    >>> dixon_ratio(wire, ratio="r11", sides="high")[0]
    array([0.4615])
    """
    gap, span, high = _gap_and_span(x, ratio, sides)
    return _divided(gap, span), high


def dixon_critical(*, ratio: Ratio, n: int, alpha: float, sides: Sides) -> float:
    """Critical value of one of Dixon's ratios.

    Parameters
    ----------
    ratio : {"r10", "r11", "r12", "r20", "r21", "r22"}
    n : int
        Values in the sample [-], to 100; at least 3 for r10, 4 for r11 and r20, 5 for r12 and r21, 6 for r22.
    alpha : float
        Level [-], strictly between 0 and 1.
    sides : {"low", "high", "two"}
        One-sided values are exact. The two-sided one is the one-sided point at alpha / 2, to be compared with the
        larger of both ratios: exact for r10 where it exceeds 1/2, otherwise too large, so that the true level lies
        below alpha (``TRUE_LEVEL_TWO_SIDED``: 4.6 to 4.9 % of 5 %).

    Returns
    -------
    float
        Critical ratio [-]; flagged is what exceeds it. Absolute error below 1e-11.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Root of ``P(R > r) = alpha`` with the double integral of ``dixon_p_value``.

    Source: Annals of Mathematical Statistics 22 (1951) 68-78 (tables, about 3 digits); ASTM E178.

    Examples
    --------
    ASTM E178, r10, n = 3, one-sided 5 %:

    >>> dixon_critical(ratio="r10", n=3, alpha=0.05, sides="high")
    0.941
    """
    size = _check(ratio, n)
    level = check_level("alpha", alpha)
    check_choice("sides", sides, among=SIDES)
    return upper_point(ratio=ratio, n=size, level=0.5 * level if sides == "two" else level)


def dixon_p_value(statistic: Values, *, ratio: Ratio, n: int, sides: Sides) -> Values:
    r"""Probability of a ratio at least as large in a normal sample.

    Parameters
    ----------
    statistic : (g,) float64
        Ratios [-], each from 0 to 1, of samples of n values each.
    ratio : {"r10", "r11", "r12", "r20", "r21", "r22"}
    n : int
        Values per sample [-], as in ``dixon_critical``.
    sides : {"low", "high", "two"}
        One-sided probabilities are exact (absolute error below 1e-11). The two-sided one is twice that of the larger
        ratio, at most 1: exact for r10 above 1/2, an upper bound otherwise.

    Returns
    -------
    (g,) float64
        p-value [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    With x the suspect and x - v the i-th value from the other end,

    .. math::  P(R > r) = \frac{n!}{(i-1)!\,(n-i-1)!} \iint_{v > 0} \Phi(x-v)^{i-1} \varphi(x-v)\, \varphi(x)
               \sum_{m=0}^{j-1} \binom{n-i-1}{m} [\Phi(x) - \Phi(x-rv)]^m\, [\Phi(x-rv) - \Phi(x-v)]^{n-i-1-m}\, dv\, dx

    by Gauss-Legendre quadrature; for arrays an interpolant in r is built once per (ratio, n). n = 3 has the closed form
    :math:`1/2 - (3/\pi)\arctan((2r-1)/\sqrt 3)`.

    Source: Annals of Mathematical Statistics 22 (1951) 68-78 (joint densities of order statistics).

    Examples
    --------
    ASTM E178 example 1, r11 = 12/26 of 10 values:

    >>> dixon_p_value(np.array([12 / 26]), ratio="r11", n=10, sides="high")
    array([0.059817])
    """
    size = _check(ratio, n)
    check_choice("sides", sides, among=SIDES)
    r = np.asarray(statistic, dtype=np.float64)
    if not bool(((r >= 0.0) & (r <= 1.0)).all()):
        raise InvalidSample("expected ratios from 0 to 1")
    p = survival(r, ratio=ratio, n=size)
    return np.minimum(1.0, 2.0 * p) if sides == "two" else p


def dixon(x: Values, *, alpha: float, sides: Sides, convention: str, recording_step: float) -> OutlierScreen:
    r"""Dixon's test of each row for one outlier, with the ratio that a convention names for n.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis
        Exact values, any unit; n as the convention covers.
    alpha : float
        Level of the test [-].
    sides : {"low", "high", "two"}
        Which end is looked at.
    convention : str
        Key of ``CONVENTIONS``.
    recording_step : float
        Step in which the values were recorded, in the unit of the values (0.1 for readings to one decimal); 0 where
        they were not.

    Returns
    -------
    OutlierScreen

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    A value recorded in steps of w stands for any true value within w/2 of it. A row is flagged only if its ratio
    exceeds the critical value for **every** set of such true values. The least ratio has the suspect half a step
    nearer, its neighbour half a step towards it and the far value half a step towards the neighbour's side away from
    it, so that the gap loses w and the span keeps its length:

    .. math::  r_{least} = \max(0,\ x_n - x_{n-j} - w)\,/\,(x_n - x_i)

    Source: as ``dixon_critical``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[1.5, 1.5, 1.6], [1.5, 1.5, 9.9]])
    >>> dixon(x, alpha=0.05, sides="high", convention="E178", recording_step=0.1).flagged
    array([False,  True])
    """
    n = check_sample(x, at_least=3)
    ratio = ratio_for(n=n, convention=convention)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    gap, span, high = _gap_and_span(x, ratio, sides)
    statistic = _divided(gap, span)
    critical = dixon_critical(ratio=ratio, n=n, alpha=alpha, sides=sides)
    least = _divided(gap - step, span) if step > 0.0 else statistic
    exceeds = statistic > critical
    flagged = exceeds & (least > critical)
    return OutlierScreen(
        n=n,
        sides=sides,
        critical=critical,
        statistic=statistic,
        high=high,
        least=least,
        flagged=flagged,
        within_step=exceeds & ~flagged,
    )


def _check(ratio: str, n: int) -> int:
    check_choice("ratio", ratio, among=tuple(NEIGHBOUR))
    return check_size(n, at_least=sum(NEIGHBOUR[ratio]) + 1, at_most=LARGEST_N)


def _gap_and_span(x: Values, ratio: Ratio, sides: Sides) -> tuple[Values, Values, NDArray[np.bool_]]:
    """Gap to the j-th neighbour, distance to the i-th value from the other end, and which end is the suspect's."""
    n = _check(ratio, check_sample(x, at_least=3))
    check_choice("sides", sides, among=SIDES)
    j, i = NEIGHBOUR[ratio]
    if sides == "high":
        return x[:, n - 1] - x[:, n - 1 - j], x[:, n - 1] - x[:, i - 1], np.ones(x.shape[0], dtype=np.bool_)
    low_gap, low_span = x[:, j] - x[:, 0], x[:, n - i] - x[:, 0]
    if sides == "low":
        return low_gap, low_span, np.zeros(x.shape[0], dtype=np.bool_)
    high_gap, high_span = x[:, n - 1] - x[:, n - 1 - j], x[:, n - 1] - x[:, i - 1]
    high = _divided(high_gap, high_span) > _divided(low_gap, low_span)
    return np.where(high, high_gap, low_gap), np.where(high, high_span, low_span), high


def _divided(gap: Values, span: Values) -> Values:
    return np.divide(gap, span, out=np.zeros_like(gap), where=(span > 0.0) & (gap > 0.0))
