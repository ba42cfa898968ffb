"""Unit words at the door: strength in MPa, load in N, length in mm, area of a zone in m² inside.

pint turns a unit word into a factor, once per distinct word; it is loaded on first use and never sees a number.
"""

from __future__ import annotations

import functools
import re
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from adhesion_stats.errors import UnknownUnit

if TYPE_CHECKING:
    import pint

__all__ = ["KNOWN_UNITS", "Quantity", "factor", "is_unit"]

Quantity = Literal["strength", "load", "length", "rate", "area", "time", "temperature"]

# Spelling as people write it (lower case, blanks removed) -> pint expression.
_STRENGTH = {
    "mpa": "MPa", "n/mm2": "N/mm**2", "n/mm^2": "N/mm**2", "nmm-2": "N/mm**2", "mn/m2": "MN/m**2", "mn/m^2": "MN/m**2",
    "kpa": "kPa", "kn/m2": "kN/m**2", "kn/m^2": "kN/m**2", "pa": "Pa", "n/m2": "N/m**2", "gpa": "GPa", "hpa": "hPa",
    "kn/mm2": "kN/mm**2", "kn/mm^2": "kN/mm**2", "kn/cm2": "kN/cm**2", "kn/cm^2": "kN/cm**2",
    "n/cm2": "N/cm**2", "n/cm^2": "N/cm**2", "bar": "bar", "mbar": "mbar", "atm": "atm",
    "psi": "psi", "lbf/in2": "psi", "lbf/in^2": "psi", "lb/in2": "psi", "lb/in^2": "psi", "lbs/in2": "psi",
    "dan/cm2": "daN/cm**2", "dan/cm^2": "daN/cm**2", "ksi": "ksi",
    "kgf/cm2": "kgf/cm**2", "kgf/cm^2": "kgf/cm**2", "kg/cm2": "kgf/cm**2", "kg/cm^2": "kgf/cm**2",
    "kp/cm2": "kgf/cm**2", "kp/cm^2": "kgf/cm**2", "kgf/mm2": "kgf/mm**2", "kgf/mm^2": "kgf/mm**2",
    "kp/mm2": "kgf/mm**2",
}  # fmt: skip
_LOAD = {
    "n": "N", "kn": "kN", "mn": "MN", "dan": "daN", "lbf": "lbf", "lb": "lbf", "lbs": "lbf",
    "kip": "kip", "kips": "kip", "kgf": "kgf", "kg": "kgf", "kp": "kgf", "tf": "metric_ton_force",
}  # fmt: skip
_LENGTH = {
    "mm": "mm", "cm": "cm", "m": "m", "µm": "um", "um": "um", "micron": "um", "microns": "um", "mil": "thou",
    "mils": "thou", "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in", "ft": "ft", "zoll": "in",
}  # fmt: skip
_AREA = {"m2": "m**2", "m^2": "m**2", "ft2": "ft**2", "ft^2": "ft**2", "sqft": "ft**2", "sqm": "m**2"}
_TABLES: dict[Quantity, dict[str, str]] = {
    "strength": _STRENGTH,
    "load": _LOAD,
    "length": _LENGTH,
    "area": _AREA,
    "rate": {f"{unit}/s": f"({expression})/s" for unit, expression in _STRENGTH.items()}
    | {f"{unit}/min": f"({expression})/min" for unit, expression in _STRENGTH.items()},
    "time": {"s": "s", "sec": "s", "min": "min"},
    "temperature": {"°c": "°C", "degc": "°C"},  # one scale only: another has another zero, which no factor tells
}
# already what is used inside
_ONE = {"MPa", "N/mm**2", "MN/m**2", "N", "mm", "m**2", "(MPa)/s", "(N/mm**2)/s", "s", "°C"}
_INSIDE: dict[Quantity, str] = {
    "strength": "MPa",
    "load": "N",
    "length": "mm",
    "rate": "MPa/s",
    "area": "m**2",
    "time": "s",
    "temperature": "°C",
}

KNOWN_UNITS: dict[Quantity, tuple[str, ...]] = {
    "strength": ("MPa", "N/mm²", "kPa", "bar", "psi", "ksi", "kgf/cm²"),
    "load": ("N", "kN", "lbf", "kgf"),
    "length": ("mm", "cm", "m", "µm", "mil", "in"),
    "rate": ("MPa/s", "N/mm²/s", "psi/s"),
    "area": ("m²", "ft²"),
    "time": ("s", "min"),
    "temperature": ("°C",),
}


def _spelling(text: str) -> str:
    plain = text.strip().strip("[]()").replace("²", "2").replace("μ", "µ").replace("·", "").replace("″", '"')
    plain = plain.replace("”", '"').replace("“", '"').replace("**", "^")
    plain = re.sub(r"\bsq\.?\s*(mm|cm|m|in)\b", r"\g<1>2", plain, flags=re.IGNORECASE)
    return re.sub(r"\s+", "", plain).rstrip(".").lower()


# What pint is told: exact definitions only (NIST SP 811, 2008, appendix B.8).
# Its own list of a thousand units takes half a second to load; a test compares the factors with it.
_DEFINITIONS = (
    "micro- = 1/1000000 = u-",
    "milli- = 1/1000 = m-",
    "centi- = 1/100 = c-",
    "deca- = 10 = da-",
    "hecto- = 100 = h-",
    "kilo- = 1000 = k-",
    "mega- = 1000000 = M-",
    "giga- = 1000000000 = G-",
    "meter = [length] = m",
    "gram = [mass] = g",
    "second = [time] = s",
    "minute = 60 * second = min",
    "inch = 254/10000 * meter = in",
    "foot = 12 * inch = ft",
    "thou = 1/1000 * inch",
    "newton = kilogram * meter / second ** 2 = N",
    "standard_gravity = 980665/100000 * meter / second ** 2",
    "kilogram_force = kilogram * standard_gravity = kgf",
    "metric_ton_force = 1000 * kilogram_force",
    "pound = 45359237/100000 * gram",
    "pound_force = pound * standard_gravity = lbf",
    "kip = 1000 * pound_force",
    "pascal = newton / meter ** 2 = Pa",
    "bar = 100000 * pascal",
    "atmosphere = 101325 * pascal = atm",
    "psi = pound_force / inch ** 2",
    "ksi = kip / inch ** 2",
)


@functools.cache
def _registry() -> pint.UnitRegistry[Fraction]:
    import pint

    # Fractions: a factor is exact and rounded once (with floats one bar comes out as 0.09999999999999999 MPa).
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions(list(_DEFINITIONS))
    return registry


@functools.cache
def factor(text: str, quantity: Quantity) -> float:
    """Return what one ``text`` is in the unit used inside: MPa, N, mm, MPa/s or m².

    Raises ``UnknownUnit``. ``lb``, ``kg`` and ``kp`` as a load mean the force of that mass.
    Source: NIST SP 811 (2008), appendix B.8, by way of pint's definitions.

    >>> factor("N/mm²", "strength")
    1.0
    >>> round(factor("psi", "strength"), 12)
    0.006894757293
    """
    expression = _TABLES[quantity].get(_spelling(text))
    if expression is None:
        raise UnknownUnit(text, quantity, KNOWN_UNITS[quantity])
    if expression in _ONE:
        return 1.0
    return float(_registry().Quantity(Fraction(1), expression).to(_INSIDE[quantity]).magnitude)


def is_unit(text: str, quantity: Quantity) -> bool:
    """Tell whether ``text`` is a unit word of this quantity, without loading pint."""
    return _spelling(text) in _TABLES[quantity]
