"""Numbers and units as people write them, read exactly: "1.50 MPa" is the fraction 3/2.

Factors: NIST Special Publication 811 (2008), appendix B.8 (exact definitions of inch, pound and standard gravity).
Imports: the standard library and this package.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from adhesion_stats.twin.model import NotKnown

__all__ = ["PI", "Limit", "bounded_number", "limit_of", "measure", "percent", "size_mm2", "unit_factor"]

PI = Fraction(31415926535897932384626433832795028841971693993751, 10**49)  # 50 digits
_POUND = Fraction(45359237, 10**8) * Fraction(980665, 10**5)  # N
_INCH = Fraction(254, 10)  # mm
_KGF = Fraction(980665, 10**5)  # N

_MPA: dict[str, Fraction] = {
    "mpa": Fraction(1),
    "n/mm2": Fraction(1),
    "mn/m2": Fraction(1),
    "kpa": Fraction(1, 1000),
    "kn/m2": Fraction(1, 1000),
    "pa": Fraction(1, 10**6),
    "n/cm2": Fraction(1, 100),
    "kn/cm2": Fraction(10),
    "bar": Fraction(1, 10),
    "psi": _POUND / _INCH**2,
    "ksi": 1000 * _POUND / _INCH**2,
    "kgf/cm2": _KGF / 100,
    "kg/cm2": _KGF / 100,
    "kp/cm2": _KGF / 100,
}
_NEWTON: dict[str, Fraction] = {
    "n": Fraction(1),
    "kn": Fraction(1000),
    "dan": Fraction(10),
    "lbf": _POUND,
    "lb": _POUND,
    "kip": 1000 * _POUND,
    "kgf": _KGF,
    "kp": _KGF,
    "kg": _KGF,
}
_MM: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": _INCH,
    "inch": _INCH,
    '"': _INCH,
}
_MM2: dict[str, Fraction] = {"mm2": Fraction(1), "cm2": Fraction(100), "in2": _INCH**2}
_TABLES = {"strength": _MPA, "load": _NEWTON, "length": _MM, "area": _MM2}

_PLAIN = r"[-+]?\d+(?:[.,]\d+)*"
_MEASURE = re.compile(r"(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s].*)")
_SHARE_OF = re.compile(r"(?P<share>\d+(?:\.\d+)?)\s*%\s*of\s+(?P<rest>.+)")
_PERCENT = re.compile(r"(?P<number>\d+(?:\.\d+)?)\s*%")
_TWO_UNITS = re.compile(r"(?P<first>.+?)\s*(?:\band\b|\(|/|,|;)\s*(?P<second>\d[^()]*?)\)?")
_BOUNDED = re.compile(rf"(?P<sign>>=|=>|>|≥|<=|=<|<|≤)?\s*(?P<number>{_PLAIN})\s*(?P<unit>[^\d\s.,].*)?")
_SIGNS = {">": "at least", ">=": "at least", "=>": "at least", "≥": "at least"}


def unit_factor(unit: str, quantity: str) -> Fraction:
    """What one unit is in MPa, N, mm or mm², exactly. Raises ``NotKnown``."""
    plain = re.sub(r"\s+", "", unit.strip("[]() ")).lower().replace("²", "2").replace("^2", "2")
    if plain not in _TABLES[quantity]:
        raise NotKnown("unit", unit)
    return _TABLES[quantity][plain]


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in its own unit, with the decimal places as written and what one unit is in MPa (1 for shares)."""

    value: Fraction
    places: int
    unit: str
    mpa: Fraction


def measure(text: str, quantity: str) -> Limit:
    """A number and its unit, such as "1.50 MPa" or "75 % of 2.00 MPa"."""
    share = _SHARE_OF.fullmatch(text.strip())
    found = _MEASURE.fullmatch(share["rest"].strip() if share else text.strip())
    if found is None:
        raise NotKnown("limit", text)
    value, places = Fraction(found["number"]), _places(found["number"])
    if share:
        value = value * Fraction(share["share"]) / 100
        while (value * 10**places).denominator != 1 and places < 12:
            places += 1
    return Limit(value, places, found["unit"].strip(), unit_factor(found["unit"], quantity))


def _places(digits: str) -> int:
    return len(digits.partition(".")[2])


def limit_of(table: dict[str, object], key: str) -> Limit:
    """A limit on strength with what ``governs`` and ``guard`` say of it (guarded acceptance: JCGM 106:2012, 8.3.2)."""
    text = str(table[key])
    two = _TWO_UNITS.fullmatch(text.strip())
    if "governs" in table and two is not None:
        both = [measure(two[name], "strength") for name in ("first", "second")]
        (limit,) = [one for one in both if one.unit == table["governs"]]
    else:
        limit = measure(text, "strength")
    if "guard" not in table:
        return limit
    guard = measure(str(table["guard"]), "strength")
    more = guard.value * guard.mpa / limit.mpa
    return Limit(limit.value + more, max(limit.places, guard.places), limit.unit, limit.mpa)


def percent(text: str) -> tuple[Fraction, int]:
    """A share such as "75 %" [%], and its decimal places."""
    found = _PERCENT.fullmatch(str(text).strip())
    if found is None:
        raise NotKnown("share", str(text))
    return Fraction(found["number"]), _places(found["number"])


def _decimal(digits: str, mark: str) -> Fraction:
    """Digits with a decimal mark ("": the last sign); the other of "." and "," parts thousands, before three digits."""
    if not mark:  # every number of the column reads one way only
        mark = max(".,", key=digits.rfind)
    other = "," if mark == "." else "."
    whole, _, fraction = digits.partition(mark)
    if mark in fraction or other in fraction or not re.fullmatch(rf"[-+]?\d+|[-+]?\d{{1,3}}(\{other}\d{{3}})+", whole):
        raise NotKnown("number", digits)
    return Fraction(f"{whole.replace(other, '')}.{fraction or '0'}")


def bounded_number(text: str, mark: str) -> tuple[Fraction, str, str] | None:
    """Number, bound and unit ("" for none) of a cell such as "2.14", "> 3.5" or "1.9 MPa"; None for something else."""
    found = _BOUNDED.fullmatch(text.strip().replace("\u00a0", " ").replace("−", "-"))
    if found is None:
        return None
    value = _decimal(found["number"], mark)
    sign = found["sign"] or ""
    return value, _SIGNS.get(sign, "at most" if sign else "exact"), (found["unit"] or "").strip()


def size_mm2(text: str, unit: str, mark: str) -> Fraction:
    """Tested area [mm²] of a size: a diameter such as "50", "50 mm" or a square such as "50 x 50 mm"."""
    plain = text.strip().lower().replace("ø", "").replace("×", "x").strip()
    square = re.fullmatch(rf"({_PLAIN})\s*x\s*({_PLAIN})\s*(\D*)", plain)
    if square is not None:
        factor = unit_factor(square[3] or unit or "mm", "length")
        return _decimal(square[1], mark) * _decimal(square[2], mark) * factor**2
    found = bounded_number(plain, mark)
    if found is None or found[1] != "exact":
        raise NotKnown("size", text)
    diameter = found[0] * unit_factor(found[2] or unit or "mm", "length")
    return PI * diameter**2 / 4
