"""What a calibration certificate says of an instrument: from the reading it shows to the true load or stress.

Written in a layout, one table per instrument, named as the readings file names it::

    [instruments."G1"]
    certificate = "K-2031"
    unit = "kN"                                   # of table, polynomial and range: of a load, or of a stress
    table = [[2, 2.04], [8, 8.10], [16, 16.10]]   # indicated, true; between two pairs: a straight line
    polynomial = [0.02, 1.003]                    # instead of a table: true = 0.02 + 1.003 indicated + ...
    range = [2, 16]                               # certified, of the indicated value (with a table: its ends)
    zero = "0.05 kN"                              # shown without load; taken off before table or polynomial
    capacity = "16 kN"                            # a reading that shows this much is a lower bound
    calibrated = "2025-03-01"
    due = "2026-03-01"
    reads_for = "50 mm"                           # of a stress: the dolly for which it is shown

Numbers only: no file is read and nothing is judged here.
"""

from __future__ import annotations

import datetime as dt
import difflib
import itertools
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal, cast

from adhesion_stats import units

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from adhesion_stats.messages import Fact

__all__ = ["Instrument", "Problem", "instrument_of"]

Problem = tuple[str, dict[str, "Fact"]]  # a message's code and facts
_QUANTITY = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)\s*(\S.*?)\s*")
_SLACK = 1e-9  # relative: a reading at the end of the range, converted from another unit, is still inside


@dataclass(frozen=True)
class Instrument:
    """One instrument; numbers of ``table``, ``polynomial`` and ``range`` in ``unit``."""

    unit: str
    certificate: str = ""
    table: tuple[tuple[float, float], ...] = ()
    polynomial: tuple[float, ...] = ()
    range: tuple[float, float] | None = None
    zero: str = ""
    capacity: str = ""
    calibrated: str = ""
    due: str = ""
    reads_for: str = ""

    @property
    def quantity(self) -> Literal["load", "strength"]:
        """What it shows: a load or a stress (the dimension of ``unit``)."""
        return "load" if units.is_unit(self.unit, "load") else "strength"

    @property
    def factor(self) -> float:
        """One ``unit`` in N or MPa."""
        return units.factor(self.unit, self.quantity)

    @property
    def corrects(self) -> bool:
        """Whether it changes readings (an instrument may be named for its certificate's date or capacity alone)."""
        return bool(self.table or self.polynomial or self.zero or self.reads_for)

    @property
    def certified(self) -> tuple[float, float]:
        """Ends of the certified range of the indicated value [``unit``]; without any, all values."""
        if self.range is not None:
            return self.range
        return (self.table[0][0], self.table[-1][0]) if self.table else (-math.inf, math.inf)

    def amount(self, text: str) -> float:
        """``"0.05 kN"`` in ``unit``."""
        found = _QUANTITY.fullmatch(text)
        assert found is not None  # checked by instrument_of
        return float(found[1]) * units.factor(found[2], self.quantity) / self.factor

    def true_of(self, indicated: NDArray[np.float64]) -> NDArray[np.float64]:
        """True values of readings, by certificate.

        Parameters
        ----------
        indicated
            (n,) readings as shown [``unit``].

        Returns
        -------
        (n,) float64
            zero taken off, then the table with linear interpolation, or the polynomial; nan outside the certified
            range [``unit``]. An increasing function, so a bound stays a bound.
        """
        import numpy as np

        shown = indicated - (self.amount(self.zero) if self.zero else 0.0)
        low, high = self.certified
        slack = np.abs(shown) * _SLACK
        inside = (shown >= low - slack) & (shown <= high + slack)
        within = np.clip(shown, low, high)
        if self.table:
            true = np.interp(within, [pair[0] for pair in self.table], [pair[1] for pair in self.table])
        elif self.polynomial:
            true = np.polynomial.polynomial.polyval(within, np.array(self.polynomial))
        else:
            true = within
        return np.where(inside, true, np.nan)


def instrument_of(name: str, table: object) -> tuple[Instrument | None, list[Problem]]:
    """Return the instrument that a TOML table states, or None with everything that is wrong with it."""
    at = f"instruments.{name}"
    if not isinstance(table, Mapping):
        return None, [_wrong(at, "a table with unit, table or polynomial, ...", table)]
    known = [f.name for f in fields(Instrument)]
    problems: list[Problem] = [_unknown(at, key, known) for key in table if key not in known]
    unit = table.get("unit")
    if not isinstance(unit, str) or not (units.is_unit(unit, "load") or units.is_unit(unit, "strength")):
        units_known = (*units.KNOWN_UNITS["load"], *units.KNOWN_UNITS["strength"])
        problems.append(_wrong(f"{at}.unit", "a unit of load or stress: " + ", ".join(units_known), unit))
        return None, problems
    quantity = Instrument(unit).quantity
    for key, value in table.items():
        expected = _expected(key, value, quantity)
        if expected:
            problems.append(_wrong(f"{at}.{key}", expected, value))
    if problems:
        return None, problems
    found = Instrument(
        unit=unit,
        certificate=str(table.get("certificate", "")),
        table=tuple((float(pair[0]), float(pair[1])) for pair in table.get("table", ())),
        polynomial=tuple(float(c) for c in table.get("polynomial", ())),
        range=cast("tuple[float, float]", tuple(map(float, table["range"]))) if "range" in table else None,
        zero=str(table.get("zero", "")),
        capacity=str(table.get("capacity", "")),
        calibrated=str(table.get("calibrated", "")),
        due=str(table.get("due", "")),
        reads_for=str(table.get("reads_for", "")),
    )
    problems = _together(at, found)
    return (None, problems) if problems else (found, [])


def _wrong(key: str, expected: str, came: object) -> Problem:
    shown = "nothing" if came is None else str(came) if isinstance(came, dt.date) else repr(came)
    return "layout_wrong_value", {"key": key, "expected": expected, "came": shown}


def _unknown(at: str, key: str, known: list[str]) -> Problem:
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    if near:
        return "layout_unknown_key_near", {"key": f"{at}.{key}", "near": near[0]}
    return "layout_unknown_key", {"key": f"{at}.{key}", "known": tuple(known)}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _is_numbers(value: object, least: int, most: float = math.inf) -> bool:
    return isinstance(value, list | tuple) and least <= len(value) <= most and all(map(_is_number, value))


def _expected(key: str, value: object, quantity: Literal["load", "strength"]) -> str:
    """What was expected where the value of one key is wrong by itself, else ""."""
    match key:
        case "certificate":
            return "" if isinstance(value, str) and value else "a text"
        case "reads_for":
            if quantity == "load":
                return "nothing: a load is shown for no dolly; leave the key out"
            return "" if isinstance(value, str) and value else 'a size with its unit, such as "50 mm"'
        case "table":
            pairs = (
                isinstance(value, list | tuple) and len(value) >= 2 and all(_is_numbers(pair, 2, 2) for pair in value)
            )
            return "" if pairs else "two or more pairs [indicated, true]"
        case "polynomial":
            return "" if _is_numbers(value, 1) else "coefficients [a0, a1, ...] of true = a0 + a1 indicated + ..."
        case "range":
            good = _is_numbers(value, 2, 2) and cast("list[float]", value)[0] < cast("list[float]", value)[1]
            return "" if good else "[smallest, largest] certified reading"
        case "zero" | "capacity":
            found = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
            good = found is not None and units.is_unit(found[2], quantity) and (key == "zero" or float(found[1]) > 0)
            return "" if good else f"a {'load' if quantity == 'load' else 'stress'} with its unit"
        case "calibrated" | "due":
            return "" if _is_date(value) else "a date such as 2025-03-01"
        case _:
            return ""


def _is_date(value: object) -> bool:
    if isinstance(value, dt.date):
        return not isinstance(value, dt.datetime)
    try:
        return isinstance(value, str) and dt.date.fromisoformat(value).isoformat() == value
    except ValueError:
        return False


def _together(at: str, found: Instrument) -> list[Problem]:
    """What is wrong with the keys taken together."""
    problems: list[Problem] = []
    if found.table and found.polynomial:
        problems.append(_wrong(at, "a table or a polynomial, not both", "both"))
    indicated, true = [pair[0] for pair in found.table], [pair[1] for pair in found.table]
    for values, which in ((indicated, "indicated"), (true, "true")):
        if any(later <= earlier for earlier, later in itertools.pairwise(values)):
            problems.append(_wrong(f"{at}.table", f"{which} values that increase from pair to pair", values))
    if found.polynomial and found.range is None:
        problems.append(_wrong(f"{at}.range", "the certified range of the polynomial, [smallest, largest]", None))
    elif found.polynomial and not _increases(found):
        problems.append(_wrong(f"{at}.polynomial", "a polynomial that increases over the range", found.polynomial))
    if found.table and found.range and not (indicated[0] <= found.range[0] and found.range[1] <= indicated[-1]):
        problems.append(
            _wrong(f"{at}.range", f"a range within the table, {indicated[0]:g} to {indicated[-1]:g}", found.range)
        )
    if found.calibrated and found.due and found.due < found.calibrated:
        problems.append(_wrong(f"{at}.due", f"a date after the calibration, {found.calibrated}", found.due))
    return problems


def _increases(found: Instrument) -> bool:
    """Whether the polynomial increases over its range: its slope is above zero at the ends and where it turns."""
    import numpy as np

    low, high = found.certified
    slope = np.polynomial.Polynomial(found.polynomial).deriv()
    turns = [float(root.real) for root in np.atleast_1d(slope.deriv().roots()) if abs(root.imag) < 1e-12]
    at = [low, high, *(root for root in turns if low < root < high)]
    return all(float(slope(x)) > 0 for x in at)
