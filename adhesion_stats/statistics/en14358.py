"""Characteristic value (5 % fractile at 75 % confidence) by EN 14358, a standard for timber, borrowed.

Nothing in it is about adhesion: it is here because specifications name it. The method is the usual tolerance bound
with a floor under the coefficient of variation, which keeps a small sample of much alike values from being taken at
its word.

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.characteristic import k_one_sided
from adhesion_stats.statistics.checks import check_choice, check_sample, check_size
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.statistics.tolerance import logarithms

__all__ = ["EN14358_SOURCE", "EN14358_TABLE_1", "en14358_lognormal", "en14358_normal", "k_en14358"]

Values = NDArray[np.float64]
Factors = Literal["exact", "formula", "printed"]
_FACTORS: tuple[Factors, ...] = ("exact", "formula", "printed")

EN14358_SOURCE = "EN 14358:2016 (timber structures), borrowed: not written for adhesion"
EN14358_TABLE_1: tuple[tuple[int, float], ...] = (
    (3, 3.15), (5, 2.46), (10, 2.10), (15, 1.99), (20, 1.93), (30, 1.87), (50, 1.81), (100, 1.76), (500, 1.69),
)  # fmt: skip
"""k_s by number of results, table 1 as printed (seen in a public transcript, not in the document)."""

_LEAST_SPREAD = 0.05


def k_en14358(*, n: int, factors: Factors) -> float:
    r"""Factor k_s for the 5 % fractile at 75 % confidence.

    Parameters
    ----------
    n : int
        Number of results [-], 3 or greater.
    factors : {"exact", "formula", "printed"}
        The non-central t value that table 1 rounds; the fitted formula (10); or the cell of table 1.

    Returns
    -------
    float
        k_s [-].

    Raises
    ------
    InvalidSample
        If n < 3, or table 1 has no cell for n. Nothing is interpolated.

    Notes
    -----
    .. math::  k_s = \frac{6.5\,n + 6}{3.7\,n - 3} \qquad (10)

    Formula (10) lies 0.8 to 1 % below the exact value around n = 10 to 20 and 4 % above it at n = 500. Source: EN
    14358:2016, formula (10) and table 1.

    Examples
    --------
    >>> (k_en14358(n=10, factors="printed"), k_en14358(n=10, factors="formula"), k_en14358(n=10, factors="exact"))
    (2.10, 2.0882, 2.1037)
    """
    check_choice("factors", factors, among=_FACTORS)
    size = check_size(n, at_least=3)
    if factors == "exact":
        return k_one_sided(n=size, content=0.95, confidence=0.75)
    if factors == "formula":
        return (6.5 * size + 6.0) / (3.7 * size - 3.0)
    table = dict(EN14358_TABLE_1)
    if size not in table:
        listed = ", ".join(str(cell) for cell in table)
        raise InvalidSample(f"EN 14358:2016, table 1 prints k_s for n = {listed}; got n = {size}; use the formula")
    return table[size]


def en14358_lognormal(x: Values, *, factors: Factors) -> Values:
    r"""Characteristic value of a lognormal sample by EN 14358 (borrowed from timber).

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Values above zero, any unit.
    factors : {"exact", "formula", "printed"}
        See ``k_en14358``.

    Returns
    -------
    (g,) float64
        m_k, in the unit of the values.

    Raises
    ------
    InvalidSample
        If n < 3, a value is not above zero, or table 1 has no cell for n.

    Notes
    -----
    .. math::  m_k = \exp(\bar y - k_s s_y), \qquad s_y \ge 0.05, \quad y = \ln m

    Source: EN 14358:2016, formulas (1) to (4).

    Examples
    --------
    Equal values: the floor under the spread decides.

    >>> float(en14358_lognormal(np.full((1, 10), 2.0), factors="printed")[0])
    1.80065
    """
    n = check_sample(x, at_least=3)
    mean, sd = mean_and_sd(logarithms(x))
    return np.exp(mean - k_en14358(n=n, factors=factors) * np.maximum(sd, _LEAST_SPREAD))


def en14358_normal(x: Values, *, factors: Factors) -> Values:
    r"""Characteristic value of a normal sample by EN 14358 (borrowed from timber).

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Values, any unit.
    factors : {"exact", "formula", "printed"}
        See ``k_en14358``.

    Returns
    -------
    (g,) float64
        m_k, in the unit of the values; may be negative.

    Raises
    ------
    InvalidSample
        If n < 3 or table 1 has no cell for n.

    Notes
    -----
    .. math::  m_k = \bar y - k_s s_y, \qquad s_y \ge 0.05\,\bar y

    Source: EN 14358:2016, formulas (5) and (6).

    Examples
    --------
    >>> float(en14358_normal(np.full((1, 10), 2.0), factors="printed")[0])
    1.79
    """
    n = check_sample(x, at_least=3)
    mean, sd = mean_and_sd(x)
    return mean - k_en14358(n=n, factors=factors) * np.maximum(sd, _LEAST_SPREAD * mean)
