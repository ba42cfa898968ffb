r"""Conformity with limits in view of measurement uncertainty: probability of conformity, guard bands.

These functions speak of **one true value behind one result**, normal knowledge of it. They do not speak of a population
of which a few values were sampled (``characteristic``), and no decision of the package uses them of its own accord.

When to use which
-----------------
``conformity_probability``    how likely the true value meets the limits.
``guard_band``                width of the band, from a multiple of the expanded uncertainty or from a probability.
``acceptance_limits``         the limits that results have to meet, moved in or out by the guard band.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_choice, check_level, check_positive

__all__ = [
    "GuardedFor",
    "acceptance_limits",
    "conformity_probability",
    "guard_band",
    "guard_band_for_probability",
]

Values = NDArray[np.float64]
GuardedFor = Literal["acceptance", "rejection"]


def conformity_probability(values: Values, *, standard_uncertainty: float, lower: float, upper: float) -> Values:
    r"""Probability that the true value lies within the limits, given the result.

    Parameters
    ----------
    values : (g,) float64
        Results, any unit.
    standard_uncertainty : float
        Of each result, in the same unit; positive.
    lower, upper : float
        Limits in the same unit; -inf or inf where there is none.

    Returns
    -------
    (g,) float64
        Probability [-].

    Raises
    ------
    InvalidSample
        If the uncertainty is not positive, the limits do not ascend, or a result is not finite.

    Notes
    -----
    .. math::  p_c = \Phi\!\left(\frac{T_U - y}{u}\right) - \Phi\!\left(\frac{T_L - y}{u}\right)

    with little knowledge beforehand and a normal distribution of what is known afterwards.

    Source: JCGM 106:2012, 7.2 to 7.4 (clause from memory, unverified).

    Examples
    --------
    JCGM 106:2012, 7.4 (clause from memory, unverified): kinematic viscosity of oil, limits 12.5 and 16.3, result 13.6,
    u = 1.8: 0.66.

    >>> conformity_probability(np.array([13.6]), standard_uncertainty=1.8, lower=12.5, upper=16.3)
    array([0.66])
    """
    y = np.asarray(values, dtype=np.float64)
    if y.ndim != 1 or not bool(np.isfinite(y).all()):
        raise InvalidSample("expected a list of finite results")
    u = check_positive("standard_uncertainty", standard_uncertainty, zero_allowed=False)
    _check_limits(lower, upper)
    above, below = (upper - y) / u, (lower - y) / u
    # The difference is taken in that tail in which both probabilities are small.
    turned = below > 0.0
    first = special.ndtr(np.where(turned, -below, above))
    second = special.ndtr(np.where(turned, -above, below))
    found: Values = np.asarray(first - second, dtype=np.float64)
    return found


def guard_band(*, expanded_uncertainty: float, multiple: float) -> float:
    r"""Width of a guard band as a multiple of the expanded uncertainty.

    Parameters
    ----------
    expanded_uncertainty : float
        U, zero or positive, any unit.
    multiple : float
        r [-], zero or positive; 1 is the common choice, 0 is simple acceptance.

    Returns
    -------
    float
        w = r U, in the same unit.

    Raises
    ------
    InvalidSample
        If a number is negative or not finite.

    Notes
    -----
    Source: JCGM 106:2012, 8.3.2 (clause from memory, unverified).

    Examples
    --------
    >>> guard_band(expanded_uncertainty=0.2, multiple=1.0)
    0.2
    """
    return check_positive("multiple", multiple, zero_allowed=True) * check_positive(
        "expanded_uncertainty", expanded_uncertainty, zero_allowed=True
    )


def guard_band_for_probability(*, standard_uncertainty: float, probability: float) -> float:
    r"""Width of the guard band at whose edge the probability of conformity with a single limit is as stated.

    Parameters
    ----------
    standard_uncertainty : float
        Zero or positive, any unit.
    probability : float
        Probability of conformity at the acceptance limit [-], 0.5 to below 1.

    Returns
    -------
    float
        w = z u, in the same unit.

    Raises
    ------
    InvalidSample
        Outside these ranges.

    Notes
    -----
    Source: JCGM 106:2012, 8.3.2 and 8.3.3 (clause from memory, unverified).

    Examples
    --------
    >>> guard_band_for_probability(standard_uncertainty=1.0, probability=0.95)
    1.645
    """
    p = check_level("probability", probability)
    if p < 0.5:
        raise InvalidSample(f"expected a probability of at least 0.5 at the acceptance limit; got {probability!r}")
    u = check_positive("standard_uncertainty", standard_uncertainty, zero_allowed=True)
    return -float(special.ndtri(1.0 - p)) * u if p > 0.5 else 0.0


def acceptance_limits(*, lower: float, upper: float, width: float, guarded_for: GuardedFor) -> tuple[float, float]:
    """Limits that results have to meet, so that the guard band lies between them and the tolerance limits.

    Parameters
    ----------
    lower, upper : float
        Tolerance limits, any unit; -inf or inf where there is none.
    width : float
        Width of the guard band, zero or positive, in the same unit.
    guarded_for : {"acceptance", "rejection"}
        ``acceptance`` moves the limits inwards: what is accepted conforms with high probability. ``rejection`` moves
        them outwards: what is rejected fails to conform with high probability.

    Returns
    -------
    lower, upper : float
        Acceptance limits, in the same unit.

    Raises
    ------
    InvalidSample
        If limits do not ascend, the width is negative, or the guard bands leave no room between the limits.

    Notes
    -----
    Source: JCGM 106:2012, 8.3.2 (guarded acceptance), 8.3.3 (guarded rejection) (clause from memory, unverified).

    Examples
    --------
    >>> acceptance_limits(lower=1.5, upper=math.inf, width=0.2, guarded_for="acceptance")
    (1.7, inf)
    """
    _check_limits(lower, upper)
    check_choice("guarded_for", guarded_for, among=get_args(GuardedFor))
    w = check_positive("width", width, zero_allowed=True)
    inward = w if guarded_for == "acceptance" else -w
    low, high = lower + inward, upper - inward
    if not low < high:
        raise InvalidSample(f"expected guard bands that leave room between {lower!r} and {upper!r}; got width {w!r}")
    return low, high


def _check_limits(lower: float, upper: float) -> None:
    if math.isnan(lower) or math.isnan(upper) or not lower < upper or (math.isinf(lower) and math.isinf(upper)):
        raise InvalidSample(f"expected lower < upper, at least one of them finite; got {lower!r} and {upper!r}")
