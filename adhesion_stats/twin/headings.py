"""Which column is what, by the twin's own short list of headings, and the layout's word before it.

Headings that are not in the list are asked of the layout, or taken over from the record's reading of the headings and
named as taken over.
Imports: the standard library and this package.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from adhesion_stats.twin.cells import Sheet
from adhesion_stats.twin.failures import code_of
from adhesion_stats.twin.model import NotKnown, Unchecked

__all__ = ["VALUE_HEADINGS", "Columns", "bare_heading", "columns_of"]

# What the twin reads, and the headings that it knows for it (lower case, without unit).
_WORDS: dict[str, tuple[str, ...]] = {
    "zone": ("zone", "test zone", "zone no", "zona", "prüffläche", "prüfbereich"),
    "id": ("id", "no", "no.", "nr", "nr.", "pull", "pull id", "pull no", "test no"),
    "strength": ("strength", "stress", "pull-off strength", "bond strength", "adhesion", "haftzugfestigkeit"),
    "load": ("load", "force", "maximum load", "max load", "failure load", "last", "kraft"),
    "diameter": ("diameter", "tested diameter", "core diameter", "durchmesser"),
    "dolly": ("dolly", "dolly size", "dolly diameter", "nominal diameter"),
    "area": ("tested area", "loaded area"),
    "failure": ("failure", "failure mode", "mode of failure", "failure composition", "bruchbild"),
    "failure_depth_mm": ("failure depth", "depth of failure", "bruchtiefe"),
    "lost": ("lost", "lost before loading"),
    "retest_of": ("retest of", "retest", "repeat of"),
    "exclusion": ("exclusion", "exclusion reason", "reason for exclusion"),
    "measurement": ("measurement",),
    "stage": ("stage",),
    "round": ("round",),
    "bound": ("bound", "qualifier"),
    "unit": ("unit",),
}
NEEDED = frozenset(_WORDS)
# Columns that change what a value means and that the twin does not read: loads that were held, not pulled to failure.
_OTHERWISE = {"proof", "proof_load", "held", "proof load", "proof stress"}
_BRACKET = re.compile(r"\[([^\[\]]*)\]|\(([^()]*)\)")
_TRAILING = re.compile(r"(.*\S)\s+(MPa|N/mm²|N/mm2|kPa|psi|kN|N|lbf|mm|cm|in)")
_FIELD = {word: name for name, words in _WORDS.items() for word in words}
VALUE_HEADINGS = {*_WORDS["strength"], *_WORDS["load"]}
_ROUND = ("dia", "ø", "durchm", "dolly", "disc", "disk")
_SQUARE = ("square", "quadrat", "side", "plate", "kante", "seite", "carr", "cuadr", "cote", "côté", "lado", "lato")
_LOOK = 60  # rows in which the headings are looked for


@dataclass
class Columns:
    """Row of the headings, number of heading rows, column and unit by field, column by failure code."""

    row: int
    height: int
    at: dict[str, int]
    units: dict[str, str]
    shares: dict[str, int]
    taken_over: tuple[Unchecked, ...] = field(default=())


def _bare(text: str) -> tuple[str, str]:
    """Heading without its unit, and the unit."""
    found = _BRACKET.search(text)
    unit = next((part for part in found.groups() if part is not None), "") if found else ""
    trailing = None if found else _TRAILING.fullmatch(text.strip())
    if trailing is not None:
        return " ".join(trailing[1].split()).lower(), trailing[2]
    return " ".join(_BRACKET.sub(" ", text).split()).lower().strip(" :"), unit.strip()


def bare_heading(text: str) -> str:
    """A heading without its unit, in lower case."""
    return _bare(text)[0]


def _round(text: str) -> bool:
    """Whether a heading of a size speaks of a diameter and not of a square."""
    plain = text.lower()
    return any(word in plain for word in _ROUND) and not any(word in plain for word in _SQUARE)


def columns_of(sheet: Sheet, layout: Mapping[str, object], understood: Mapping[str, object]) -> Columns:
    """The columns of a sheet. Raises ``NotKnown`` where no headings are found.

    ``understood`` is the layout as the record's library understood the file, {} where there is none.
    """
    named = _texts(layout.get("columns"))
    row = layout.get("heading_row", understood.get("heading_row"))
    number = row if isinstance(row, int) else _heading_row(sheet, {**_texts(understood.get("columns")), **named})
    if number not in sheet.rows:
        raise NotKnown("headings")
    texts = list(sheet.rows[number])
    height = 1
    below = sheet.rows.get(number + 1, [])
    if any(below) and all(not cell or _BRACKET.fullmatch(cell) for cell in below):  # units below the headings
        width = max(len(texts), len(below))
        lines = [line + [""] * (width - len(line)) for line in (texts, below)]
        texts, height = [f"{a} {b}".strip() for a, b in zip(*lines, strict=True)], 2
    other = {*_texts(understood.get("columns")), *named} & _OTHERWISE
    if other or any(_bare(text)[0] in _OTHERWISE for text in texts):
        raise NotKnown("proof")
    found = Columns(number, height, {}, _texts(layout.get("units")), {})
    _by_layout(found, texts, named)
    _by_words(found, texts)
    _by_record(found, texts, understood)
    if "strength" not in found.at and "load" not in found.at:
        raise NotKnown("headings")
    return found


def _texts(table: object) -> dict[str, str]:
    return {str(k): str(v) for k, v in table.items()} if isinstance(table, Mapping) else {}


def _heading_row(sheet: Sheet, named: Mapping[str, str]) -> int:
    """The first row that names a value and something else."""
    for number in sorted(sheet.rows)[:_LOOK]:
        fields = {_FIELD.get(_bare(text)[0]) for text in sheet.rows[number]} - {None}
        fields |= {name for name, text in named.items() if text in sheet.rows[number]}
        if fields & {"strength", "load"} and len(fields) > 1:
            return number
    raise NotKnown("headings")


def _column(texts: list[str], wanted: str) -> int | None:
    if re.fullmatch(r"#\d+", wanted):
        return int(wanted[1:]) - 1
    same = [c for c, text in enumerate(texts) if text == wanted.strip()]
    alike = same or [c for c, text in enumerate(texts) if text and _bare(text) == _bare(wanted)]
    return alike[0] if len(alike) == 1 else None


def _by_layout(found: Columns, texts: list[str], named: Mapping[str, str]) -> None:
    for name, wanted in named.items():
        at = _column(texts, wanted)
        if name in NEEDED:
            if at is None:
                raise NotKnown("column", wanted)
            _put(found, name, at, _bare(texts[at])[1])


def _put(found: Columns, name: str, at: int, unit: str) -> None:
    found.at[name] = at
    if unit:
        found.units.setdefault(name, unit)


def _by_words(found: Columns, texts: list[str]) -> None:
    taken = set(found.at.values())
    codes: dict[str, list[int]] = {}
    for c, text in enumerate(texts):
        bare, unit = _bare(text)
        if c in taken or not bare:
            continue
        name = _FIELD.get(bare)
        if name is not None and name in found.at:
            if name in {"strength", "load", "zone"}:
                raise NotKnown("column_twice", text)
        elif name in {"diameter", "dolly"} and not _round(text):
            continue
        elif name is not None:
            _put(found, name, c, unit)
        elif (code := code_of(bare.upper().removesuffix("%").strip())) is not None and unit in {"", "%"}:
            codes.setdefault(code, []).append(c)
    said = [c for columns in codes.values() for c in columns]
    if len(codes) > 1 or any("%" in texts[c] for c in said):
        found.shares = {code: columns[0] for code, columns in codes.items()}


def _by_record(found: Columns, texts: list[str], understood: Mapping[str, object]) -> None:
    """What the twin's list does not hold, as the record's library read the headings; said so."""
    taken: list[Unchecked] = []
    units = _texts(understood.get("units"))
    for name, wanted in _texts(understood.get("columns")).items():
        at = _column(texts, wanted)
        if name not in NEEDED or at is None or at in found.at.values():
            continue
        if name in {"diameter", "dolly"} and not _round(wanted):
            continue
        if name not in found.at:
            _put(found, name, at, _bare(texts[at])[1])
            taken.append(Unchecked(wanted, "heading_taken", name))
    for name in found.at:
        if name in units and name not in found.units:
            found.units[name] = units[name]
            taken.append(Unchecked(units[name], "unit_taken", name))
    found.taken_over = tuple(taken)
