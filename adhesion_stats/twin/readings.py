"""From raw cells to pulls, row by row, by the layout: every number is a fraction, exact as written.

What a row holds and the twin can't read is kept with the row; a value is never guessed.
Imports: the standard library and this package.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction

from adhesion_stats.twin.cells import NumberText, Sheet, sheets_of
from adhesion_stats.twin.failures import composition, settled
from adhesion_stats.twin.headings import VALUE_HEADINGS, Columns, bare_heading, columns_of
from adhesion_stats.twin.model import NotKnown, Pull, Unchecked
from adhesion_stats.twin.quantities import bounded_number, size_mm2, unit_factor

__all__ = ["UNNAMED", "read_pulls"]

UNNAMED = "(unnamed)"  # zone of a file without zones
_KNOWN_KEYS = {
    "sheet", "heading_row", "separator", "encoding", "decimal", "date_order", "diameter", "recording_step", "plausible",
    "carry_zone_down", "zone", "missing", "leave_out_rows", "keep_rows", "columns", "units", "failure_words", "zones",
}  # fmt: skip
_YES = {"yes", "y", "ja", "j", "oui", "si", "sí", "sim", "tak", "true", "x", "1"}
_NO = {"", "no", "n", "nein", "non", "nao", "não", "nie", "false", "0", "-", "–"}
_MISSING = {"", "-", "--", "–", "—", "n/a", "na", "n.a.", "nd", "n.d.", "x", "?", "not tested", "no value", "*", "."}
_SUMMARY = {
    "mean", "average", "avg", "mean value", "mittelwert", "mittel", "minimum", "min", "min.", "maximum", "max", "max.",
    "standard deviation", "std", "sd", "cov", "sum", "total", "limit", "requirement", "required", "median", "range",
}  # fmt: skip
_DITTO = {
    *('"', "''", "〃", "″", "”", "„", '-"-', '- " -', "↓", "|", "="),
    *("do.", "dto.", "dito", "ditto", "idem", "ídem", "id.", "ibid.", "j.w.", "jw.", "s.o."),
    *("as above", "same", "same as above", "wie oben", "siehe oben", "ebenso", "lo mismo", "come sopra"),
    *("jak wyżej", "o mesmo", "comme ci-dessus"),
}
_GLUE = ("glue", "kleber", "klebstoff", "epoxy fail", "dolly adhesive", "colle", "adhesive fail")
_LOST = ("lost", "core broke", "broke while", "fell off", "before loading", "verloren", "abgefallen", "debonded")


def read_pulls(
    content: bytes, file: str, layout: Mapping[str, object], understood: Mapping[str, object]
) -> tuple[list[Pull], tuple[Unchecked, ...]]:
    """The pulls of a file, and what was taken over. Raises ``NotKnown`` where the twin can't read the file at all."""
    strange = sorted(key for key in layout if key not in _KNOWN_KEYS)
    if strange:
        raise NotKnown("layout_key", strange[0])
    plain = {**{k: understood[k] for k in ("separator", "encoding") if k in understood}, **layout}
    found: list[Pull] = []
    said: list[Unchecked] = []
    for sheet in _chosen(sheets_of(content, file, plain), layout, understood):
        columns = columns_of(sheet, layout, understood)
        said += columns.taken_over
        found += _Rows(_filled(sheet, columns, layout), columns, layout).pulls()
    return found, tuple(said)


def _chosen(sheets: list[Sheet], layout: Mapping[str, object], understood: Mapping[str, object]) -> list[Sheet]:
    wanted = layout.get("sheet") or understood.get("sheet")
    visible = [sheet for sheet in sheets if not sheet.hidden and any(any(row) for row in sheet.rows.values())]
    if wanted == "all":
        return visible
    if wanted:
        return [sheet for sheet in sheets if sheet.name == wanted]
    if len(visible) != 1:
        raise NotKnown("sheets", ", ".join(sheet.name for sheet in visible))
    return visible


def _filled(sheet: Sheet, columns: Columns, layout: Mapping[str, object]) -> Sheet:
    """The sheet with the zone in every row of a merged cell, and carried down where the layout says so."""
    at = columns.at.get("zone")
    if at is None:
        return sheet
    for number in sorted(sheet.rows):
        line = sheet.rows[number]
        if (
            number > columns.row
            and line != sheet.rows[columns.row]
            and {bare_heading(text) for text in line} & VALUE_HEADINGS
        ):
            raise NotKnown("tables")
    rows = {number: list(line) for number, line in sheet.rows.items()}
    for first, left, last, right in sheet.merged:
        if left == right == at:
            text = _cell(rows.get(first, []), at)
            for number in range(first, last + 1):
                line = rows.setdefault(number, [])
                line += [""] * (at + 1 - len(line))
                line[at] = text
    for before, number in itertools.pairwise(sorted(rows)):
        if _cell(rows[number], at).casefold() in _DITTO:
            rows[number][at] = _cell(rows[before], at)
    if layout.get("carry_zone_down"):
        text = ""
        for number in sorted(rows):
            line = rows[number]
            if number >= columns.row + columns.height and any(line):
                text = _cell(line, at) or text
                line += [""] * (at + 1 - len(line))
                line[at] = text
    return Sheet(sheet.name, rows, sheet.merged, sheet.hidden)


def _cell(line: list[str], at: int | None) -> str:
    if at is None or at >= len(line):
        return ""
    return line[at] if isinstance(line[at], NumberText) else line[at].strip()


def _numbers(layout: Mapping[str, object], key: str) -> set[int]:
    rows = layout.get(key)
    return {int(row) for row in rows} if isinstance(rows, list | tuple) else set()


class _Rows:
    """The rows of one sheet, with what is the same for all of them."""

    def __init__(self, sheet: Sheet, columns: Columns, layout: Mapping[str, object]) -> None:
        self.sheet, self.columns, self.layout = sheet, columns, layout
        missing = layout.get("missing")
        self.missing = _MISSING | ({str(m).lower() for m in missing} if isinstance(missing, list | tuple) else set())
        words = layout.get("failure_words")
        self.words = {str(k): str(v) for k, v in words.items()} if isinstance(words, Mapping) else {}
        self.spellings: dict[str, str] = {}
        zones = layout.get("zones")
        if isinstance(zones, Mapping):
            self.spellings = {str(s): str(zone) for zone, spelt in zones.items() for s in spelt}
        self.numbers = [number for number in sorted(sheet.rows) if self._is_pull(number)]
        self.mark = str(layout.get("decimal") or self._decimal())

    def _is_pull(self, number: int) -> bool:
        """Whether a row below the headings holds a pull: not blank, not left out, no mean or limit of others."""
        line = self.sheet.rows[number]
        if number < self.columns.row + self.columns.height or not any(line):
            return False
        if line == self.sheet.rows[self.columns.row]:  # headings again, on a further page
            return False
        if number in _numbers(self.layout, "leave_out_rows"):
            return False
        if number in _numbers(self.layout, "keep_rows"):
            return True
        filled = [cell for c, cell in enumerate(line) if cell and c != self.columns.at.get("zone")]
        if not filled:
            return False
        names = (_cell(line, self.columns.at.get(name)) for name in ("zone", "id"))
        return not any(name.lower().strip(" :") in _SUMMARY for name in (*names, filled[0]))

    def _texts(self, *fields: str) -> Iterable[str]:
        for name in fields:
            if name in self.columns.at:
                yield from (_cell(self.sheet.rows[number], self.columns.at[name]) for number in self.numbers)

    def _decimal(self) -> str:
        """The decimal mark: the sign that stands last in a number with both, or before other than three digits.

        Nothing where both signs stand so and every number reads one way only.
        """
        marks = set()
        texts = [text for text in self._texts("strength", "load") if not isinstance(text, NumberText)]
        for text in texts:
            for digits in re.findall(r"\d+(?:[.,]\d+)+", text):
                signs = re.findall(r"[.,]", digits)
                if len(set(signs)) == 2 or len(digits.rpartition(signs[-1])[2]) != 3:
                    marks.add(signs[-1])
        open_ = [text for text in texts if re.search(r"(?<![\d.,])\d{1,3}[.,]\d{3}(?![\d.,])", text)]
        if len(marks) == 1:
            return str(marks.pop())
        if marks and not open_:
            return ""  # both signs, and every number reads one way only
        if marks or any("," in text for text in texts):
            raise NotKnown("decimal")
        return "."

    def _number(self, text: str) -> tuple[Fraction, str, str] | None:
        """Number, bound and unit of a cell."""
        return (Fraction(text), "exact", "") if isinstance(text, NumberText) else bounded_number(text, self.mark)

    def pulls(self) -> list[Pull]:
        """The pulls in the order of the file."""
        return [self._pull(number) for number in self.numbers]

    def _pull(self, number: int) -> Pull:
        line = self.sheet.rows[number]

        def text(name: str) -> str:
            return _cell(line, self.columns.at.get(name))

        unread: list[Unchecked] = []
        value, bound, word = self._value(number, line, unread)
        shares = self._shares(number, line, unread)
        if word == "glue" and shares is None:
            shares = {"Y": Fraction(100)}
        said = text("lost").lower()
        if said not in _YES | _NO:
            unread.append(Unchecked(f"row {number}", "cell", text("lost")))
        depth = None
        if text("failure_depth_mm"):
            found = self._number(text("failure_depth_mm"))
            if found is None:
                unread.append(Unchecked(f"row {number}", "cell", text("failure_depth_mm")))
            else:
                unit = found[2] or self.columns.units.get("failure_depth_mm", "mm")
                depth = found[0] * unit_factor(unit, "length")
        zone = str(self.layout.get("zone") or "") or " ".join(text("zone").split())
        if not zone and "zone" in self.columns.at:
            unread.append(Unchecked(f"row {number}", "zone_blank"))
        return Pull(
            row=number,
            sheet=self.sheet.name,
            zone=self.spellings.get(zone, zone) or UNNAMED,
            id=text("id"),
            value=value,
            bound=bound,
            shares=shares,
            depth_mm=depth,
            lost=said in _YES or word == "lost",
            retest_of=text("retest_of"),
            exclusion="" if text("exclusion").lower() in _NO else text("exclusion"),
            measurement=" ".join(text("measurement").split()),
            stage=" ".join(text("stage").lower().split()),
            round=text("round"),
            unread=tuple(unread),
            texts=tuple(cell for cell in line if cell),
            zone_unnamed=not zone,
        )

    def _value(self, number: int, line: list[str], unread: list[Unchecked]) -> tuple[Fraction | None, str, str]:
        """Strength [MPa], what is known of it, and what a word in its place says ("glue", "lost" or "")."""
        measured = "strength" if "strength" in self.columns.at else "load"
        entered = _cell(line, self.columns.at[measured])
        try:
            if measured == "strength" and entered:
                return self._quantity(entered, "strength", line)
            entered = _cell(line, self.columns.at.get("load"))
            if not entered:
                return None, "nothing", ""
            load, bound, word = self._quantity(entered, "load", line)
            return (None if load is None else load / self._area(line)), bound, word
        except NotKnown as problem:
            unread.append(Unchecked(f"row {number}", problem.code if problem.code == "size" else "cell", entered))
            return None, "nothing", ""

    def _quantity(self, text: str, name: str, line: list[str]) -> tuple[Fraction | None, str, str]:
        plain = text.lower()
        if plain in self.missing:
            return None, "nothing", ""
        found = self._number(text)
        if found is None:
            if any(word in plain for word in _LOST):
                return None, "nothing", "lost"
            if any(word in plain for word in _GLUE):
                return None, "nothing", "glue"
            raise NotKnown("number", text)
        unit = found[2] or _cell(line, self.columns.at.get("unit")) or self.columns.units.get(name, "")
        if not unit:
            raise NotKnown("unit", text)
        bound = found[1]
        sign = _cell(line, self.columns.at.get("bound")).lower()
        if sign:
            bound = {">": "at least", "≥": "at least", ">=": "at least", "at least": "at least", "=": bound}.get(
                sign, ""
            )
            if not bound:
                raise NotKnown("bound", sign)
        return found[0] * unit_factor(unit, name), bound, ""

    def _area(self, line: list[str]) -> Fraction:
        """Tested area [mm²]: measured area or diameter before the dolly's size, before the layout's."""
        units = self.columns.units
        area = _cell(line, self.columns.at.get("area"))
        if area:
            found = self._number(area)
            if found is None:
                raise NotKnown("size", area)
            return found[0] * unit_factor(found[2] or units.get("area", "mm²"), "area")
        for name in ("diameter", "dolly"):
            text = _cell(line, self.columns.at.get(name))
            if text:
                mark = "." if isinstance(text, NumberText) else self.mark
                return size_mm2(text, units.get(name, "mm"), mark)
        if self.layout.get("diameter"):
            return size_mm2(str(self.layout["diameter"]), "mm", ".")
        raise NotKnown("size", "")

    def _shares(self, number: int, line: list[str], unread: list[Unchecked]) -> dict[str, Fraction] | None:
        """Failure composition [%] from the columns of letters, or from the text."""
        try:
            from_columns = self._from_columns(line)
            from_text = composition(_cell(line, self.columns.at.get("failure")), self.words)
        except NotKnown as problem:
            unread.append(Unchecked(f"row {number}", "failure", problem.detail))
            return None
        if not from_columns:
            return from_text
        shares = settled(from_columns)
        if shares is not None and from_text is not None and shares != from_text:
            return None  # two records that differ: neither counts
        return shares or from_text

    def _from_columns(self, line: list[str]) -> dict[str, Fraction]:
        """Shares as written in the columns of letters."""
        found: dict[str, Fraction] = {}
        for code, at in self.columns.shares.items():
            text = _cell(line, at)
            text = text if isinstance(text, NumberText) else text.removesuffix("%").strip()
            if text and text.lower() not in self.missing:
                number = self._number(text)
                if number is None or number[1] != "exact":
                    raise NotKnown("number", text)
                found[code] = number[0]
        return found
