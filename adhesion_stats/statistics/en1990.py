"""Characteristic value (5 % fractile) by EN 1990 Annex D: the prediction method for a normal sample.

When to use which
-----------------
``en1990_unknown``    the spread is estimated from the sample itself.
``en1990_known_sd``   the standard deviation is known beforehand.
``en1990_known_cov``  the coefficient of variation is known beforehand.

Each takes k_n by formula or as table D1 prints it. Results come out as they are, below zero where the sample is small
or wide.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_choice, check_positive, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.intervals import t_quantile

__all__ = [
    "EN1990_TABLE_D1",
    "PrintedFactors",
    "en1990_known_cov",
    "en1990_known_sd",
    "en1990_unknown",
    "k_en1990_known",
    "k_en1990_printed",
    "k_en1990_unknown",
]

Values = NDArray[np.float64]
Factors = Literal["formula", "printed"]


def k_en1990_unknown(*, n: int) -> float:
    r"""Factor k_n for the 5 % fractile, coefficient of variation unknown, by formula.

    Parameters
    ----------
    n : int
        Number of results [-], 2 or greater.

    Returns
    -------
    float
        k_n [-].

    Raises
    ------
    InvalidSample
        If n < 2.

    Notes
    -----
    .. math::  k_n = t_{0.95,\,n-1} \sqrt{1 + 1/n}

    Source: EN 1990:2002, Annex D, D7.2 (clause from memory, unverified) (prediction method); the printed table D1
    differs in places, see
    ``EN1990_TABLE_D1``.

    Examples
    --------
    EN 1990:2002, table D1, V_X unknown, n = 3.

    >>> k_en1990_unknown(n=3)
    3.37
    """
    size = check_size(n, at_least=2)
    return t_quantile(probability=0.95, degrees_of_freedom=size - 1) * math.sqrt(1.0 + 1.0 / size)


def k_en1990_known(*, n: int) -> float:
    r"""Factor k_n for the 5 % fractile, coefficient of variation or standard deviation known, by formula.

    Parameters
    ----------
    n : int
        Number of results [-], 1 or greater.

    Returns
    -------
    float
        k_n [-].

    Raises
    ------
    InvalidSample
        If n < 1.

    Notes
    -----
    .. math::  k_n = z_{0.95} \sqrt{1 + 1/n}, \qquad z_{0.95} = 1.644853627

    Source: EN 1990:2002, Annex D, D7.2 (clause from memory, unverified); the printed table D1 differs, see
    ``EN1990_TABLE_D1``.

    Examples
    --------
    >>> k_en1990_known(n=4)
    1.8390
    """
    size = check_size(n, at_least=1)
    return float(special.ndtri(0.95)) * math.sqrt(1.0 + 1.0 / size)


@dataclass(frozen=True)
class PrintedFactors:
    """Factors as a table prints them, beside the formula that they come from.

    Attributes
    ----------
    source : str
        Document, edition, table.
    certainty : str
        ``verified`` (seen in the document), ``secondary`` (seen in a page that reports it) or ``unverified``.
    known, unknown : tuple of (n, k_n)
        Printed cells by number of results [-]; n = 0 stands for "infinite".
    note : str
        Where print and formula part.
    """

    source: str
    certainty: Literal["verified", "secondary", "unverified"]
    known: tuple[tuple[int, float], ...]
    unknown: tuple[tuple[int, float], ...]
    note: str


EN1990_TABLE_D1 = PrintedFactors(
    source="EN 1990:2002, Annex D, table D1",
    certainty="secondary",
    known=(
        (1, 2.31), (2, 2.01), (3, 1.89), (4, 1.83), (5, 1.80), (6, 1.77), (8, 1.74), (10, 1.72), (20, 1.68), (30, 1.67),
        (0, 1.64),
    ),
    unknown=((3, 3.37), (4, 2.63), (5, 2.33), (6, 2.18), (8, 2.00), (10, 1.92), (20, 1.76), (30, 1.73), (0, 1.64)),
    note=(
        "V_X known: 1.64 instead of 1.6449 was used, and n = 1 is cut, not rounded (2.31 for 2.319); up to 0.02 below "
        "the formula. V_X unknown: n = 5, 8 and 20 lie 0.005 to 0.012 below the formula."
    ),
)  # fmt: skip


def k_en1990_printed(*, n: int, spread: Literal["known", "unknown"]) -> float:
    """Factor k_n as printed in table D1; only for the n that the table lists.

    Parameters
    ----------
    n : int
        Number of results [-]: 3, 4, 5, 6, 8, 10, 20, 30; with known spread also 1 and 2.
    spread : {"known", "unknown"}
        Row of the table.

    Returns
    -------
    float
        k_n [-].

    Raises
    ------
    InvalidSample
        If the table has no cell for n. Nothing is interpolated: use the formula.

    Notes
    -----
    Source: EN 1990:2002, Annex D, table D1 (cells taken from a public transcript, not from the document).

    Examples
    --------
    >>> k_en1990_printed(n=8, spread="unknown")
    2.00
    """
    check_choice("spread", spread, among=("known", "unknown"))
    row = dict(EN1990_TABLE_D1.known if spread == "known" else EN1990_TABLE_D1.unknown)
    if n not in row or n == 0:
        listed = ", ".join(str(size) for size in row if size)
        raise InvalidSample(f"{EN1990_TABLE_D1.source} prints k_n for n = {listed}; got n = {n}; use the formula")
    return row[n]


def _k_en1990(n: int, spread: Literal["known", "unknown"], factors: Factors) -> float:
    check_choice("factors", factors, among=("formula", "printed"))
    if factors == "printed":
        return k_en1990_printed(n=n, spread=spread)
    return k_en1990_known(n=n) if spread == "known" else k_en1990_unknown(n=n)


def en1990_unknown(x: Values, *, factors: Factors) -> Values:
    """Characteristic value (5 % fractile, normal) with the coefficient of variation estimated from the sample.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 2
        Values, any unit.
    factors : {"formula", "printed"}
        k_n by its formula, or the cell of table D1.

    Returns
    -------
    (g,) float64
        Characteristic value, in the unit of the values; may be negative.

    Raises
    ------
    InvalidSample
        If n < 2, or the table has no cell for n.

    Notes
    -----
    .. math::  X_k = m_X (1 - k_n V_X) = m_X - k_n s_X

    Source: EN 1990:2002, Annex D, D7.2 (clause from memory, unverified), V_X unknown.

    Examples
    --------
    >>> float(en1990_unknown(np.array([[2.0, 3.0, 4.0]]), factors="printed")[0])
    -0.37
    """
    n = check_sample(x, at_least=2)
    mean, sd = mean_and_sd(x)
    return mean - _k_en1990(n, "unknown", factors) * sd


def en1990_known_sd(x: Values, *, sd: float, factors: Factors) -> Values:
    r"""Characteristic value (5 % fractile, normal) with a standard deviation known beforehand.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.
    sd : float
        Known standard deviation, in the unit of the values, 0 or greater.
    factors : {"formula", "printed"}
        k_n by its formula, or the cell of table D1.

    Returns
    -------
    (g,) float64
        Characteristic value, in the unit of the values.

    Raises
    ------
    InvalidSample
        If sd is negative or not finite, or the table has no cell for n.

    Notes
    -----
    .. math::  X_k = m_X - k_n \sigma_X

    Source: EN 1990:2002, Annex D, D7.2 (clause from memory, unverified), V_X known.

    Examples
    --------
    >>> float(en1990_known_sd(np.array([[2.0, 3.0, 4.0]]), sd=1.0, factors="printed")[0])
    1.11
    """
    n = check_sample(x, at_least=1)
    known = check_positive("sd", sd, zero_allowed=True)
    mean, _ = mean_and_sd(x)
    return mean - _k_en1990(n, "known", factors) * known


def en1990_known_cov(x: Values, *, cov: float, factors: Factors) -> Values:
    """Characteristic value (5 % fractile, normal) with a coefficient of variation known beforehand.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.
    cov : float
        Known coefficient of variation [-], 0 or greater (10 % is 0.10).
    factors : {"formula", "printed"}
        k_n by its formula, or the cell of table D1.

    Returns
    -------
    (g,) float64
        Characteristic value, in the unit of the values.

    Raises
    ------
    InvalidSample
        If cov is negative or not finite, or the table has no cell for n.

    Notes
    -----
    .. math::  X_k = m_X (1 - k_n V_X)

    Source: EN 1990:2002, Annex D, D7.2 (clause from memory, unverified), V_X known.

    Examples
    --------
    >>> float(en1990_known_cov(np.array([[2.0, 3.0, 4.0]]), cov=0.10, factors="printed")[0])
    2.433
    """
    n = check_sample(x, at_least=1)
    known = check_positive("cov", cov, zero_allowed=True)
    mean, _ = mean_and_sd(x)
    return mean * (1.0 - _k_en1990(n, "known", factors) * known)
