"""Factors for the 5 % fractile as ISO 12491 tabulates them.

Imports: this room and ``adhesion_stats.errors``. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from typing import Literal

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.characteristic import k_one_sided
from adhesion_stats.statistics.checks import check_choice
from adhesion_stats.statistics.tolerance import k_known_sd

__all__ = ["ISO12491_CONFIDENCES", "k_iso12491"]

ISO12491_CONFIDENCES = (0.75, 0.90, 0.95)
"""Confidence levels that ISO 12491 tabulates [-]."""


def k_iso12491(*, n: int, confidence: float, spread: Literal["known", "unknown"]) -> float:
    """Factor for the 5 % fractile by the coverage method of ISO 12491.

    Parameters
    ----------
    n : int
        Values in the sample [-]: 2 or greater, with known spread 1 or greater.
    confidence : float
        One of the levels that the standard tabulates [-]: 0.75, 0.90, 0.95.
    spread : {"known", "unknown"}
        Whether the standard deviation is known beforehand.

    Returns
    -------
    float
        k [-].

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    By formula: ``k_one_sided`` or ``k_known_sd`` with content 0.95. The standard prints two decimals. Source: ISO 12491
    (statistical methods for quality control of building materials and components), estimate of fractiles, coverage
    method, normal distribution without skewness.

    Examples
    --------
    >>> k_iso12491(n=10, confidence=0.75, spread="known")
    1.86
    """
    check_choice("spread", spread, among=("known", "unknown"))
    if confidence not in ISO12491_CONFIDENCES:
        raise InvalidSample(f"ISO 12491 has factors for confidence 0.75, 0.90 and 0.95; got {confidence!r}")
    if spread == "known":
        return k_known_sd(n=n, content=0.95, confidence=confidence)
    return k_one_sided(n=n, content=0.95, confidence=confidence)
