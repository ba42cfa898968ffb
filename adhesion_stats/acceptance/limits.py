"""The one place where a number is compared with its limit.

A comparison is made in the limit's own unit. Equal meets. Two methods (ASTM E29 names both and prefers neither):

- unrounded: the value as computed against the limit as written;
- rounded: the value is first rounded to the last place of the limit as written, ties to even or up (away from zero).

Rounding never turns an order around, so "the rounded value meets the limit" is itself a comparison of the unrounded
value with a threshold half a place away, which belongs to the meeting side or not by the tie rule. A ``Threshold``
holds that number and whether it belongs; both methods and all reasoning about unknown values then share one comparison.

Floats are not decimals: a mean that is 1.50 on paper may come out as 1.4999999999999998. A value within a tolerance
of the threshold counts as equal to it. The tolerance is relative to the largest number that went into the value and
stated per estimator:

========== ======== =================================================================================
``ENTERED``   1e-12   values as entered, through unit conversions
``MEAN``      1e-12   sums and means of them
``SPREAD``    1e-10   values with a standard deviation in them (square root of a difference)
``SHARE``     1e-9    failure shares [%], which people write with two or three digits
========== ======== =================================================================================

Imports: numpy, floor 0 and terms.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.terms.criteria import Limit
from adhesion_stats.terms.specification import Rounding
from adhesion_stats.units import factor

__all__ = [
    "ENTERED",
    "MEAN",
    "SHARE",
    "SPREAD",
    "Threshold",
    "at_limit",
    "meets",
    "percent_threshold",
    "record",
    "threshold",
]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

ENTERED = 1e-12
MEAN = 1e-12
SPREAD = 1e-10
SHARE = 1e-9


@dataclass(frozen=True, slots=True)
class Threshold:
    """From where on a value meets a limit.

    Attributes
    ----------
    limit
        The limit as written, in its unit.
    at, closed
        The number that parts meeting from not meeting, and whether it meets itself.
    far, far_closed
        The same for the next number beyond the limit (rounded method: one place further); values between are at the
        limit.
        Unrounded: equal to ``at``.
    at_most
        True where smaller values meet.
    unit_mpa
        What one unit of the limit is in MPa; 1 for shares.
    places
        Decimal places of the limit as written.
    """

    limit: float
    at: float
    closed: bool
    far: float
    far_closed: bool
    at_most: bool
    unit_mpa: float
    places: int


def threshold(limit: Limit, rounding: Rounding) -> Threshold:
    """Return the threshold of a strength limit (a lower limit) under the rounding method."""
    return _threshold(limit.value, limit.places, rounding, at_most=False, unit_mpa=factor(limit.unit, "strength"))


def percent_threshold(percent: float, rounding: Rounding, *, at_most: bool, places: int | None = None) -> Threshold:
    """Return the threshold of a limit on a share [%]; ``places`` as written, None: without needless zeros."""
    if places is None:
        places = max(0, -int(Decimal(repr(float(percent))).normalize().as_tuple().exponent))
    return _threshold(percent, places, rounding, at_most=at_most, unit_mpa=1.0)


def _threshold(value: float, places: int, rounding: Rounding, *, at_most: bool, unit_mpa: float) -> Threshold:
    if rounding.method == "unrounded":
        return Threshold(value, value, True, value, True, at_most, unit_mpa, places)
    ten = 10**places
    last = round(value * ten)  # the limit counted in its last place: a whole number
    below, above = (2 * last - 1) / (2 * ten), (2 * last + 1) / (2 * ten)
    up_to_limit = rounding.ties == "up" or last % 2 == 0  # where a tie half a place below goes to the limit itself
    up_beyond = rounding.ties == "up" or (last + 1) % 2 == 0
    if at_most:
        return Threshold(value, above, not up_beyond, below, not up_to_limit, at_most, unit_mpa, places)
    return Threshold(value, below, up_to_limit, above, up_beyond, at_most, unit_mpa, places)


def meets(value: Values, limit: Threshold, *, slack: Values | float) -> Truth:
    """Tell where a value meets the limit.

    Parameters
    ----------
    value : (g,)
        In the limit's unit; may be infinite, not nan.
    slack : (g,) or float
        Difference that counts as none, in the limit's unit: the estimator's tolerance times the largest number
        involved.
    """
    return _beyond(value, limit.at, limit.closed, slack, limit.at_most)


def at_limit(value: Values, limit: Threshold, *, slack: Values | float) -> Truth:
    """Tell where a value lies on the limit itself (rounded method: rounds to it). Arguments as in ``meets``."""
    if limit.far == limit.at:
        return np.less_equal(np.abs(value - limit.at), slack)
    return meets(value, limit, slack=slack) & ~_beyond(value, limit.far, limit.far_closed, slack, limit.at_most)


def _beyond(value: Values, at: float, closed: bool, slack: Values | float, at_most: bool) -> Truth:
    if closed:
        return np.less_equal(value, at + slack) if at_most else np.greater_equal(value, at - slack)
    return np.less(value, at - slack) if at_most else np.greater(value, at + slack)


def record(strength_mpa: Values, step: Limit, ties: str) -> Values:
    """Round strengths to a standard's recording step, as written: "0.01 MPa", "1 psi".

    Parameters
    ----------
    strength_mpa : (m,) [MPa]
        Infinite values stay as they are.
    step
        The step, in whose unit the rounding is done.
    ties : {"even", "up"}
        "up" means away from zero. A float that is a decimal tie within ``ENTERED`` is a tie.

    Returns
    -------
    (m,) [MPa]
    """
    unit = factor(step.unit, "strength")
    ten = 10**step.places
    stride = round(step.value * ten)
    counted = strength_mpa / unit * ten / stride
    finite = np.isfinite(counted)
    steps = np.where(finite, counted, 0.0)
    floor = np.floor(steps)
    tie = np.abs(steps - floor - 0.5) <= ENTERED * np.maximum(1.0, np.abs(steps)) * 4
    to_even = floor + np.mod(floor, 2.0)
    away = np.where(steps < 0, floor, floor + 1.0)
    whole = np.where(tie, to_even if ties == "even" else away, np.floor(steps + 0.5))
    return np.where(finite, whole * stride / ten * unit, strength_mpa)
