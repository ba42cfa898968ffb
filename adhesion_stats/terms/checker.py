"""Typed look-ups in a parsed TOML table that collect every problem instead of stopping at the first.

Each method returns the value, or None where the key is absent or wrong (then a problem with the key's path is kept).
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.terms.criteria import PULL_OFF, Limit
from adhesion_stats.units import Quantity, factor

__all__ = ["FAILURE_CODE", "Checker", "parse_limit"]

FAILURE_CODE = re.compile(r"(?:-/[A-Z]|[A-Z](?:/[A-Z])?)")
_NUMBER = r"(?P<number>\d+(?:\.\d+)?)"
_MEASURE = re.compile(_NUMBER + r"\s*(?P<unit>(?!e[+-]?\d)[^\s\d.,].*)")  # "1,5" and "1e3" are no number and unit
_PERCENT = re.compile(_NUMBER + r"\s*%")
_MOST_HINTS = 100  # typos that are told the nearest known key: looking for it takes a while
_MOST_COUNT = 1_000_000  # more than any contract has pulls
_SHARE_OF = re.compile(r"(?P<share>\d+(?:\.\d+)?)\s*%\s*of\s+(?P<rest>.+)")


def parse_limit(text: str) -> Limit:
    """Return the limit written as ``"1.50 MPa"`` or ``"75 % of 2.00 MPa"``.

    Raises ``ValueError`` when the text is not of that form and ``UnknownUnit`` when its unit is not one of strength.

    >>> parse_limit("75 % of 2.00 MPa").value
    1.5
    """
    share: Decimal | None = None
    rest = text.strip()
    if part := _SHARE_OF.fullmatch(rest):
        share, rest = Decimal(part["share"]) / 100, part["rest"]
    found = _MEASURE.fullmatch(rest)
    if found is None:
        raise ValueError(text)
    number, unit = Decimal(found["number"]), found["unit"].strip()
    value = number if share is None else number * share
    places = max(-int(number.as_tuple().exponent), -int(value.normalize().as_tuple().exponent))
    return Limit(
        text=text.strip(),
        value=float(value),
        unit=unit,
        places=places,
        mpa=float(value) * factor(unit, "strength"),
        share=None if share is None else float(share),
    )


class Checker:
    """Look-ups with a list of ``problems`` (messages of severity error)."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Message] = []

    def problem(self, code: str, path: str, **facts: Fact) -> None:
        """Keep a problem about the key at ``path``."""
        self.problems.append(Message(code, Severity.ERROR, Place(self.file), {"path": path, **facts}))

    def keys(self, table: Mapping[str, object], path: str, known: Sequence[str]) -> None:
        """Every key of ``table`` must be known; a typo is told the nearest known key."""
        for key in table:
            if key not in known:
                hint = len(self.problems) < _MOST_HINTS
                near = difflib.get_close_matches(key, known, n=1) if hint else []
                where = f"{path}.{key}" if path else key
                if near:
                    self.problem("spec_unknown_key_near", where, near=near[0])
                else:
                    self.problem("spec_unknown_key", where, known=tuple(known))

    def _typed(self, table: Mapping[str, object], key: str, path: str, kind: type, expected: str) -> object | None:
        value = table.get(key)
        if value is None:
            return None
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.problem("spec_wrong_type", path, expected=expected, came=_shown(value))
            return None
        return value

    def table(self, table: Mapping[str, object], key: str, path: str, *, needed: bool = False) -> Mapping[str, object]:
        """A sub-table; empty when absent."""
        if needed and key not in table:
            self.problem("spec_missing_key", path, what="a table")
        value = self._typed(table, key, path, dict, "a table")
        return value if isinstance(value, dict) else {}

    def tables(self, table: Mapping[str, object], key: str, path: str) -> list[Mapping[str, object]]:
        """A list of tables; empty when absent."""
        value = self._typed(table, key, path, list, "a list of tables")
        found: list[Mapping[str, object]] = []
        for i, entry in enumerate(value if isinstance(value, list) else [], 1):
            if isinstance(entry, dict):
                found.append(entry)
            else:
                self.problem("spec_wrong_type", f"{path}[{i}]", expected="a table", came=_shown(entry))
        return found

    def text(self, table: Mapping[str, object], key: str, path: str) -> str | None:
        """A text."""
        value = self._typed(table, key, path, str, "a text in quotes")
        return value.strip() if isinstance(value, str) else None

    def texts(self, table: Mapping[str, object], key: str, path: str) -> tuple[str, ...] | None:
        """A list of texts."""
        value = self._typed(table, key, path, list, "a list of texts")
        if not isinstance(value, list):
            return None
        for i, entry in enumerate(value, 1):
            if not isinstance(entry, str):
                self.problem("spec_wrong_type", f"{path}[{i}]", expected="a text in quotes", came=_shown(entry))
        return tuple(entry for entry in value if isinstance(entry, str))

    def zones(self, table: Mapping[str, object], key: str, path: str) -> tuple[str, ...] | None:
        """A list of zone names, without the blanks around them; neither the list nor a name may be empty."""
        names = self.texts(table, key, path)
        if names is None:
            return None
        if not names and not table[key]:
            self.problem("spec_empty", path)
        for i, name in enumerate(names, 1):
            if not name.strip():
                self.problem("spec_empty", f"{path}[{i}]")
        return tuple(name.strip() for name in names)

    def flag(self, table: Mapping[str, object], key: str, path: str) -> bool | None:
        """True or false."""
        value = self._typed(table, key, path, bool, "true or false")
        return value if isinstance(value, bool) else None

    def count(
        self, table: Mapping[str, object], key: str, path: str, *, at_least: int, at_most: int = _MOST_COUNT
    ) -> int | None:
        """A whole number; of pulls no more than any contract has."""
        value = self._typed(table, key, path, int, "a whole number")
        if isinstance(value, int) and value < at_least:
            self.problem("spec_out_of_range", path, expected=f"a whole number from {at_least} up", came=str(value))
            return None
        if isinstance(value, int) and value > at_most:
            self.problem("spec_out_of_range", path, expected=f"a whole number up to {at_most}", came=str(value))
            return None
        return value if isinstance(value, int) else None

    def number(self, table: Mapping[str, object], key: str, path: str, *, above_zero: bool = False) -> float | None:
        """A number."""
        value = table.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            self.problem("spec_wrong_type", path, expected="a number", came=_shown(value))
            return None
        if value < 0 or (above_zero and value == 0):
            self.problem("spec_out_of_range", path, expected="a number above 0", came=str(value))
            return None
        return float(value)

    def level(self, table: Mapping[str, object], key: str, path: str) -> float | None:
        """A share strictly between 0 and 1."""
        value = self.number(table, key, path)
        if value is not None and not 0 < value < 1:
            self.problem("spec_out_of_range", path, expected="a number between 0 and 1", came=str(value))
            return None
        return value

    def percent(self, table: Mapping[str, object], key: str, path: str, *, above_zero: bool = False) -> float | None:
        """A share written as ``"50 %"``."""
        value = self._typed(table, key, path, str, 'a share such as "50 %"')
        if not isinstance(value, str):
            return None
        found = _PERCENT.fullmatch(value.strip())
        number = float(found["number"]) if found else None
        if number is None or number > 100 or (above_zero and number == 0):
            self.problem("spec_wrong_type", path, expected='a share such as "50 %"', came=_shown(value))
            return None
        return number

    def percent_places(self, table: Mapping[str, object], key: str) -> int | None:
        """Decimal places of a share as written; None where there is none."""
        value = table.get(key)
        found = _PERCENT.fullmatch(value.strip()) if isinstance(value, str) else None
        return None if found is None else max(0, -int(Decimal(found["number"]).as_tuple().exponent))

    def strength(self, table: Mapping[str, object], key: str, path: str) -> Limit | None:
        """A strength as written: number and unit."""
        value = self._typed(table, key, path, str, 'number and unit as text, such as "1.50 MPa"')
        if not isinstance(value, str):
            return None
        try:
            limit = parse_limit(value)
        except UnknownUnit as error:
            self.problem("spec_unknown_unit", path, unit=error.text, known=error.known)
            return None
        except ValueError:
            self.problem("spec_wrong_type", path, expected='number and unit, such as "1.50 MPa"', came=_shown(value))
            return None
        if limit.value <= 0:
            self.problem("spec_out_of_range", path, expected="a strength above 0", came=value)
            return None
        return limit

    def unit_known(self, unit: str, path: str) -> bool:
        """Tell whether ``unit`` is one of strength."""
        try:
            factor(unit, "strength")
        except UnknownUnit as error:
            self.problem("spec_unknown_unit", path, unit=unit, known=error.known)
            return False
        return True

    def measure(self, table: Mapping[str, object], key: str, path: str, quantity: Quantity) -> float | None:
        """A quantity written with its unit, in the unit used inside."""
        value = self._typed(table, key, path, str, "number and unit as text")
        return self._measure(value, path, quantity) if isinstance(value, str) else None

    def _measure(self, value: str, path: str, quantity: Quantity) -> float | None:
        found = _MEASURE.fullmatch(value.strip())
        try:
            if found is not None:
                return float(found["number"]) * factor(found["unit"], quantity)
            self.problem("spec_wrong_type", path, expected="number and unit as text", came=_shown(value))
        except UnknownUnit as error:
            self.problem("spec_unknown_unit", path, unit=error.text, known=error.known)
        return None

    def span(self, table: Mapping[str, object], key: str, path: str, quantity: Quantity) -> tuple[float, float] | None:
        """Two quantities ``["10 mm", "20 mm"]``, smaller first; an end that is not bounded is written "any"."""
        texts = self.texts(table, key, path)
        if texts is None:
            return None
        if len(texts) != 2 or texts == ("any", "any"):
            expected = 'two quantities, such as ["10 mm", "20 mm"], of which one may be "any"'
            self.problem("spec_wrong_type", path, expected=expected, came=_shown(texts))
            return None
        ends = [
            unbounded if text.strip() == "any" else self._measure(text, path, quantity)
            for text, unbounded in zip(texts, (-math.inf, math.inf), strict=True)
        ]
        low, high = ends
        if low is None or high is None:
            return None
        if low > high:
            self.problem("spec_out_of_range", path, expected="the smaller one first", came=_shown(texts))
            return None
        return low, high

    def choice(self, table: Mapping[str, object], key: str, path: str, known: Sequence[str]) -> str | None:
        """One of the known words."""
        value = self.text(table, key, path)
        return value if value is not None and self.one_of(value, path, known) else None

    def one_of(self, value: str, path: str, known: Sequence[str]) -> bool:
        """Tell whether ``value`` is one of the known words."""
        if value in known:
            return True
        self.problem("spec_out_of_range", path, expected="one of: " + ", ".join(known), came=_shown(value))
        return False

    def codes(self, table: Mapping[str, object], key: str, path: str) -> tuple[str, ...] | None:
        """Failure codes such as ``["A", "A/B"]``."""
        texts = self.texts(table, key, path)
        if texts is None:
            return None
        for text in texts:
            if not FAILURE_CODE.fullmatch(text):
                self.problem("spec_out_of_range", path, expected="a code such as A, A/B, -/Y, Y/Z", came=_shown(text))
        if not texts:
            self.problem("spec_empty", path)
        return texts

    def question(self, table: Mapping[str, object], key: str, path: str) -> str | None:
        """The word "pull-off", or the code of an interface or layer."""
        text = self.text(table, key, path)
        if text is not None and text != PULL_OFF and not FAILURE_CODE.fullmatch(text):
            expected = f'"{PULL_OFF}", an interface such as A/B or a layer such as A'
            self.problem("spec_out_of_range", path, expected=expected, came=_shown(text))
            return None
        return text


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_shown(entry) for entry in value) + "]"
    return str(value)
