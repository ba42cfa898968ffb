"""Numbers as a reader sees them: the one place where a value is rounded for display.

``shown``          a strength with its unit, to a number of decimal places
``shown_against``  a strength beside the limit it was compared with, with more places where rounding would make them
look equal
``shown_percent``  a share of area or of pulls
``number_against`` and ``decimal_text`` are the same without unit

A number that must be reached is rounded up, one that must not be passed is rounded down. Else rounding is half to
even, the decimal reading of the number: a float that misses a decimal tie in its last bits is a tie.
Nothing here decides anything. Imports: floor 0 only.
"""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import Literal

from adhesion_stats.units import factor

__all__ = ["Towards", "decimal_text", "number_against", "probability_text", "shown", "shown_against", "shown_percent"]

_SURE_DIGITS = 13  # significant digits of a computed double that are taken at their word
_MOST_MORE_PLACES = 12
_SAME_PROBABILITY = 1e-9

Towards = Literal["nearest", "up", "down"]
_ROUNDING = {"nearest": ROUND_HALF_EVEN, "up": ROUND_CEILING, "down": ROUND_FLOOR}


def decimal_text(value: float, places: int, towards: Towards = "nearest") -> str:
    """Return ``value`` with ``places`` decimals, ties to even; a result of zero carries no sign.

    Raises ``ValueError`` for a value that is not finite: "without end" is said in words, not as a number.

    >>> decimal_text(1.4999999999999998, 2), decimal_text(2.345, 2), decimal_text(-0.001, 2)
    ('1.50', '2.34', '0.00')
    """
    if not math.isfinite(value):
        raise ValueError(f"expected a finite number to show; got {value!r}")
    rounded = Decimal(f"{value:.{_SURE_DIGITS - 1}e}").quantize(Decimal(1).scaleb(-places), rounding=_ROUNDING[towards])
    return f"{abs(rounded) if rounded == 0 else rounded:f}"


def shown(value_mpa: float, unit: str, places: int, towards: Towards = "nearest") -> str:
    """Return a strength [MPa] as text in ``unit`` with ``places`` decimals, such as ``"1.38 MPa"``.

    Raises ``ValueError`` for a value that is not finite and ``UnknownUnit`` for an unknown unit.

    >>> shown(1.3789514586, "psi", 0)
    '200 psi'
    """
    return f"{decimal_text(value_mpa / factor(unit, 'strength'), places, towards)} {unit}"


def shown_against(value_mpa: float, limit_mpa: float, unit: str, places: int, *, at_limit: bool) -> tuple[str, str]:
    """Return a strength and its limit [MPa] as two texts that don't contradict the comparison.

    Where the two differ (``at_limit`` false) but would read the same, the value gets more decimals until it reads
    differently; the limit keeps ``places``, the decimals in which it was written.

    >>> shown_against(1.498, 1.5, "MPa", 2, at_limit=False)
    ('1.498 MPa', '1.50 MPa')
    >>> shown_against(1.4999999999999998, 1.5, "MPa", 2, at_limit=True)
    ('1.50 MPa', '1.50 MPa')
    """
    value = value_mpa / factor(unit, "strength")
    limit = limit_mpa / factor(unit, "strength")
    return f"{number_against(value, limit, places, at_limit=at_limit)} {unit}", f"{decimal_text(limit, places)} {unit}"


def shown_percent(
    percent: float, places: int = 0, *, against: float | None = None, towards: Towards = "nearest"
) -> str:
    """Return a share [%] as text such as ``"80 %"``; more decimals where it would read like ``against`` without
    being it.

    >>> shown_percent(59.6, against=60.0)
    '59.6 %'
    """
    digits = places if against is None or percent == against else _places_apart(percent, against, places)
    return f"{decimal_text(percent, digits, towards)} %"


def number_against(value: float, limit: float, places: int, *, at_limit: bool) -> str:
    """Return ``value`` as text beside ``limit`` (same unit): with more decimals where it would read like the limit
    without being it.

    >>> number_against(1.4996, 1.5, 2, at_limit=False)
    '1.4996'
    """
    return decimal_text(value, places if at_limit else _places_apart(value, limit, places))


def probability_text(value: float, asked: float | None = None) -> str:
    """A probability to three places; more where it would read as the one asked for without being it.

    >>> probability_text(0.94996, 0.95)
    '0.94996'
    >>> probability_text(0.99999)
    'more than 0.999'
    """
    least, most = 0.001, 0.999
    if asked is not None and least <= value <= most:
        return number_against(value, asked, 3, at_limit=abs(value - asked) <= _SAME_PROBABILITY)
    if value > most:
        return f"more than {most}"
    return f"less than {least}" if value < least else decimal_text(value, 3)


def _places_apart(value: float, limit: float, places: int) -> int:
    """Fewest decimals, from ``places`` up, at which the two numbers read differently."""
    for digits in range(places, places + _MOST_MORE_PLACES):
        if Decimal(decimal_text(value, digits)) != Decimal(decimal_text(limit, digits)):
            return digits
    return places
