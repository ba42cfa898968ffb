"""Unit words of every column that carries a number: which words are units, and their factors to the unit used inside.

Strength, load, length and rate come from ``adhesion_stats.units``; areas are squared lengths; the rest are small
tables.
"""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING, Literal

from adhesion_stats import units

if TYPE_CHECKING:
    from adhesion_stats.units import Quantity

__all__ = ["FIELD_QUANTITY", "KNOWN", "Dimension", "dimensions", "to_inside"]

Dimension = Literal["strength", "load", "length", "rate", "area", "time", "age", "temperature", "percent"]

# Column -> dimension. Units inside: MPa, N, mm, MPa/s, mm², s, d, °C, %; thickness is in µm and positions in m.
FIELD_QUANTITY: dict[str, Dimension] = {
    "strength": "strength", "load": "load", "proof": "strength", "proof_load": "load",
    "diameter": "length", "dolly": "length", "area": "area",
    "cut_depth_mm": "length", "failure_depth_mm": "length",
    "coating_thickness_um": "length", "rate_mpa_per_s": "rate", "time_to_failure_s": "time", "age_days": "age",
    "glue_age_days": "age",
    "temperature_c": "temperature", "moisture_percent": "percent", "x_m": "length", "y_m": "length",
}  # fmt: skip
KNOWN: dict[Dimension, tuple[str, ...]] = {
    **units.KNOWN_UNITS,  # type: ignore[dict-item]
    "area": ("mm²", "cm²", "in²"),
    "time": ("s", "min"),
    "age": ("d", "weeks"),
    "temperature": ("°C", "°F"),
    "percent": ("%",),
}
_TIME = {"s": 1.0, "sec": 1.0, "sek": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "min": 60.0, "minutes": 60.0}
_AGE = {
    "d": 1.0, "day": 1.0, "days": 1.0, "tage": 1.0, "tag": 1.0, "jours": 1.0, "jour": 1.0, "j": 1.0, "dias": 1.0,
    "giorni": 1.0,
    "gg": 1.0, "dni": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0, "wochen": 7.0, "h": 1.0 / 24.0, "hours": 1.0 / 24.0,
}  # fmt: skip
_TEMPERATURE = {"°c", "c", "degc", "deg c", "celsius", "°f", "f", "degf", "deg f", "fahrenheit"}
_PERCENT = {"%", "percent", "prozent", "pct", "m%", "m.-%", "vol%", "cm%", "cm-%", "% cm"}
_SHARED: tuple[Quantity, ...] = ("strength", "load", "length", "rate")
_LONGEST = 30  # a longer text is no unit word
_PER = re.compile(r"[\s_]*\bper\b[\s_]*|_per_", re.IGNORECASE)


def _plain(text: str) -> str:
    return text.strip().strip("[](){}<>").strip().removeprefix("in ").strip()


def _spelled(text: str) -> str:
    """Unit word in a form that the shared tables know: ``kgf_per_cm2`` -> ``kgf/cm2``, ``N mm⁻²`` -> ``N/mm2``."""
    plain = _PER.sub("/", _plain(text))
    plain = plain.replace("⁻²", "-2").replace("㎜", "mm").replace("㎝", "cm").replace("㎫", "MPa").replace("㎪", "kPa")
    plain = re.sub(r"[\s·*]+(mm|cm|m|in)\s*\^?-2$", r"/\g<1>2", plain)
    plain = re.sub(r"(?<=\b[a-z])\.(?=[a-z]\b)\.?", "", plain, flags=re.IGNORECASE).rstrip(".")  # p.s.i.
    return re.sub(r"\bsquare (mm|cm|m|in)(?:ch)?\b", r"\g<1>2", plain).replace("inch2", "in2").replace("in.2", "in2")


def _area_root(text: str) -> str | None:
    plain = re.sub(r"\bsq\.?\s*", "", _spelled(text).replace("²", "2").replace("^2", "2"), flags=re.IGNORECASE)
    plain = plain.rstrip(".")
    if plain.endswith("2") and units.is_unit(plain[:-1], "length"):
        return plain[:-1]
    if plain != _spelled(text).rstrip(".") and units.is_unit(plain, "length"):
        return plain
    return None


def is_unit(text: str, dimension: Dimension) -> bool:
    """Whether ``text`` is a unit word of this dimension."""
    plain = _spelled(text)
    if not plain:
        return False
    match dimension:
        case "strength" | "load" | "length" | "rate":
            return units.is_unit(plain, dimension)
        case "area":
            return _area_root(text) is not None
        case "time":
            return plain.casefold() in _TIME
        case "age":
            return plain.casefold() in _AGE
        case "temperature":
            return plain.casefold() in _TEMPERATURE
        case "percent":
            return plain.casefold() in _PERCENT


@functools.lru_cache(maxsize=4096)
def dimensions(text: str) -> tuple[Dimension, ...]:
    """Every dimension that ``text`` is a unit word of, strength first."""
    if len(text) > _LONGEST or text[:1].isdigit():
        return ()
    return tuple(dimension for dimension in KNOWN if is_unit(text, dimension))


def to_inside(text: str, field: str) -> tuple[float, float]:
    """(factor, offset) such that factor * number + offset is in the unit used inside for this column.

    Raises ``UnknownUnit``. Source of the factors: NIST SP 811 (2008), appendix B.8.

    >>> to_inside("cm²", "area")
    (100.0, 0.0)
    """
    dimension = FIELD_QUANTITY[field]
    plain = _spelled(text)
    if is_unit(text, dimension):
        if dimension in _SHARED:
            inside = units.factor(plain, dimension)
            scale = {"coating_thickness_um": 1000.0, "x_m": 1e-3, "y_m": 1e-3}.get(field, 1.0)
            return inside * scale, 0.0
        if dimension == "area":
            root = _area_root(text)
            assert root is not None
            return units.factor(root, "length") ** 2, 0.0
        if dimension == "temperature":
            return (5.0 / 9.0, -160.0 / 9.0) if "f" in plain.casefold() else (1.0, 0.0)
        table = {"time": _TIME, "age": _AGE}.get(dimension, {})
        return table.get(plain.casefold(), 1.0), 0.0
    from adhesion_stats.errors import UnknownUnit

    raise UnknownUnit(text, dimension, KNOWN[dimension])
