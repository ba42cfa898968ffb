"""Numbers as people read them: values of the results become ``Number`` parts, rounded once by
``adhesion_stats.quantities``.

Only unit and decimal places are chosen here; digits come from ``decimal_text`` alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from adhesion_stats.quantities import decimal_text, probability_text, shown, shown_against, shown_percent
from adhesion_stats.reporting.model import Number
from adhesion_stats.reporting.results import Limit
from adhesion_stats.units import factor

__all__ = ["MINUS", "Scale", "chance", "count", "measure", "percent", "probability", "signed"]

MINUS = "\N{MINUS SIGN}"
_MOST_PLACES = 9


def _digits(text: str) -> str:
    """The number of a text such as "1.50 MPa", with a true minus sign."""
    return text.split(" ", 1)[0].replace("-", MINUS)


def measure(value: float, places: int, unit: str = "") -> Number:
    """A value that is no strength, to so many places."""
    return Number(value, _digits(decimal_text(value, places)), unit)


def count(value: int) -> Number:
    """A whole number."""
    return Number(value, str(value))


def percent(value: float, *, unit: str = "%", against: float | None = None) -> Number:
    """A share in percent; a share that is no whole number shows one, and more where it would read as its limit."""
    places = 0 if abs(value - round(value)) < 1e-9 else 1
    return Number(value, _digits(shown_percent(value, places, against=against)), unit)


def probability(value: float) -> Number:
    """A probability to three places; below 0.001 only that it is below."""
    return Number(value, "<\N{NO-BREAK SPACE}0.001") if value < 0.001 else measure(value, 3)


def chance(value: float, asked: float | None) -> Number:
    """A probability of conformity, beside the one that is asked for where one is."""
    return Number(value, probability_text(value, asked))


def signed(value: float, places: int, unit: str, *, lead: str = "") -> Number:
    """A margin with its sign; a margin that is not zero is never printed as zero."""
    text = decimal_text(value, places)
    while abs(value) > 10.0**-_MOST_PLACES and not text.strip("-0."):
        places += 1
        text = decimal_text(value, places)
    return Number(value, ("+" if value > 0 and text.strip("0.") else "") + _digits(text), unit, lead)


@dataclass(frozen=True, slots=True)
class Scale:
    """The unit and the decimal places in which strengths are printed."""

    unit: str
    places: int

    def converted(self, mpa: float) -> float:
        """The strength in the unit of the report, unrounded (for the axes of figures)."""
        return mpa / factor(self.unit, "strength")

    def strength(self, mpa: float, *, unit: bool = False, lead: str = "", more: int = 0) -> Number:
        """A strength, with its unit where the heading does not name it."""
        text = shown(mpa, self.unit, self.places + more)
        return Number(mpa, _digits(text), self.unit if unit else "", lead)

    def compared(self, mpa: float, limit: Limit | None, *, unit: bool = False, lead: str = "") -> Number:
        """A strength beside its limit: with more places where the usual ones would print it as the limit."""
        if limit is None:
            return self.strength(mpa, unit=unit, lead=lead)
        return self.apart(mpa, limit["mpa"], unit=unit, lead=lead)

    def apart(self, mpa: float, other: float, *, unit: bool = False, lead: str = "", more: int = 0) -> Number:
        """A strength beside another one [MPa]: with more places where the usual ones would print both alike."""
        equal = abs(mpa - other) < 1e-9
        text, _ = shown_against(mpa, other, self.unit, self.places + more, at_limit=equal)
        return Number(mpa, _digits(text), self.unit if unit else "", lead)

    def spread(self, mpa: float, *, unit: bool = False) -> Number:
        """A standard deviation: one place more than strengths, so that a reader can follow the arithmetic."""
        return self.strength(mpa, unit=unit, more=0 if mpa == 0 else 1)
