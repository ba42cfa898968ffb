"""A column of numbers -> values in the unit used inside, bounds, recording steps, and what the other cells say.

Each distinct text is parsed once; rows only look the result up. Decimal mark and unit are decided for the whole column.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.intake.grid import Detail, Kind
from adhesion_stats.intake.heading_units import split_unit
from adhesion_stats.intake.markers import Meaning, meaning
from adhesion_stats.intake.marks import decided_marks
from adhesion_stats.intake.numbers import Body, Marks, Parsed, Problem, both_readings, decide_marks, interpret, split
from adhesion_stats.intake.proof import BELOW, Held, proof_cell
from adhesion_stats.intake.quantities import FIELD_QUANTITY, is_unit, to_inside
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["Numbers", "read_numbers"]

_ERROR_WORDS = (
    "#DIV/0!",
    "#VALUE!",
    "#REF!",
    "#NAME?",
    "#NUM!",
    "#NULL!",
    "#SPILL!",
    "#CALC!",
    "#WERT!",
    "#BEZUG!",
    "#ZAHL!",
)


@dataclass
class Numbers:
    """One entry per row. ``value`` nan where the cell holds no number; ``meaning`` says then what it holds.

    ``half`` is half the last place written (0 for computed cells and numbers with exponent).
    """

    value: NDArray[np.float64]
    bound: NDArray[np.int8]
    halves: tuple[NDArray[np.float64], NDArray[np.int32] | None]  # by code, and the code of each row (None: by row)
    step: float
    meanings: dict[Meaning, NDArray[np.bool_]]
    about: NDArray[np.bool_]
    bad: NDArray[np.bool_]
    unit: str = ""
    units_seen: tuple[str, ...] = ()
    decimal: str = ""
    disputed: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, np.bool_))  # given twice and differently
    held: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, np.bool_))  # a proof load that held
    let_go: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, np.bool_))  # a proof load that did not

    @functools.cached_property
    def half(self) -> NDArray[np.float64]:
        """(n,) half the last place written, in the unit used inside."""
        by_code, codes = self.halves
        return by_code if codes is None else by_code[codes]

    @property
    def given(self) -> NDArray[np.bool_]:
        """(n,) whether a number was read."""
        return ~np.isnan(self.value)


@dataclass
class _Cell:
    body: Body
    parsed: Parsed
    what: Meaning | None = None
    problem: str = ""
    proof: Held | None = None

    @property
    def holds_number(self) -> bool:
        """Whether a number can be had from the cell; words about the glue may stand beside it."""
        return not self.problem and (self.what is None or bool(self.body.number))


def _is_error(text: str, detail: Detail | None) -> bool:
    if text.upper() in {"#N/A", "#NV"}:
        return False
    return (detail is not None and detail.kind is Kind.ERROR) or text.upper() in _ERROR_WORDS


def _value_before_words(text: str, field: str) -> Body | None:
    """The number of a cell such as "0.5 (glue)" or "1,10 MPa glue failure": what stands before words about the glue."""
    for at in (i for i, sign in enumerate(text) if sign in " ([,;/-" and i):
        words = text[at:].strip(" ()[],;:/-")
        if any(sign.isdigit() for sign in words) or meaning(words.rstrip("?!. "), frozenset()) is not Meaning.GLUE:
            continue
        body = split(text[:at], lambda word: is_unit(word, FIELD_QUANTITY[field]))
        if body.number and body.problem is Problem.NONE:
            return body
    return None


def _read_proof(text: str, field: str, layout: Layout) -> _Cell | None:
    """A cell such as "held at 1.5"; None where it is none. The layout may say what one without a result means."""
    found = proof_cell(text, lambda word: is_unit(word, FIELD_QUANTITY[field]))
    if found is None:
        return None
    empty = Parsed(float("nan"), None)
    if found.held is Held.UNCLEAR and layout.proof_held is None:
        return _Cell(Body(found.number, unit=found.unit), empty, problem="proof_unclear")
    if found.held is Held.UNCLEAR and layout.proof_held is False:
        return _Cell(Body(found.number, unit=found.unit), empty)
    let_go = found.held is Held.LET_GO
    body = Body(found.number, bound="at_most" if let_go else "at_least", unit=found.unit)
    return _Cell(body, empty, proof=Held.LET_GO if let_go else Held.HELD)


def _read_cell(text: str, detail: Detail | None, field: str, layout: Layout) -> _Cell:
    empty = Parsed(float("nan"), None)
    if detail is not None and detail.kind is Kind.UNCOMPUTED:
        return _Cell(Body(""), empty, problem="formula_without_value")
    if _is_error(text, detail):
        return _Cell(Body(""), empty, problem="error_cell")
    if detail is not None and detail.kind is Kind.NUMBER and detail.value is not None:
        decimals = len(text.partition(".")[2]) if "e" not in text.lower() else None
        unit = detail.unit if is_unit(detail.unit, FIELD_QUANTITY[field]) else ""
        return _Cell(Body(text, unit=unit), Parsed(detail.value, None if detail.formula else decimals))
    if detail is not None and detail.kind is Kind.DATE:
        return _Cell(Body(""), empty, problem="value_is_date")
    if text.casefold() in {m.casefold() for m in layout.missing}:
        return _Cell(Body(""), empty, what=Meaning.MISSING)
    body = split(text, lambda word: is_unit(word, FIELD_QUANTITY[field]))
    if body.problem is Problem.NO_DIGITS:
        return _Cell(body, empty, what=meaning(text, frozenset(layout.missing)))
    if body.problem is not Problem.NONE:
        what = meaning(text, frozenset(layout.missing))
        if what is Meaning.GLUE and (value := _value_before_words(text, field)) is not None:
            return _Cell(value, empty, what=what)
        if what in {Meaning.LOST, Meaning.GLUE, Meaning.MISSING}:
            return _Cell(Body(""), empty, what=what)
        if field in {"strength", "load"} and (proof := _read_proof(text, field, layout)) is not None:
            return proof
        return _Cell(body, empty, problem="two_numbers" if body.problem is Problem.SEVERAL else "not_a_number")
    return _Cell(body, empty)


def read_numbers(
    table: Table,
    column: Column,
    name: str,
    *,
    unit: str,
    row_units: Column | None,
    layout: Layout,
    findings: Findings,
    plausible: tuple[float, float] | None,
    must: bool,
) -> Numbers:
    """Read one column (``name`` is its field). ``must``: problems are errors, else warnings and the value is not
    used.
    """
    sheet, severity = table.grid.sheet, Severity.ERROR if must else Severity.WARNING
    cells = [_read_cell(text, detail, name, layout) for text, detail in zip(column.texts, column.details, strict=True)]
    text_cells = [k for k, cell in enumerate(cells) if cell.holds_number and not _stored_number(column.details[k])]
    marks = decide_marks(cells[k].body.number for k in text_cells)
    window = _raw_window(plausible, unit, name)
    decimal, thousands = decided_marks(marks, layout, window)
    for k in text_cells:
        parsed = interpret(cells[k].body.number, decimal, thousands)
        cells[k].parsed = parsed
        if parsed.problem is Problem.AMBIGUOUS:
            cells[k].problem = "ambiguous_number"
        elif parsed.problem is Problem.SEVERAL:
            cells[k].problem = "two_numbers"
        elif parsed.problem is not Problem.NONE:
            cells[k].problem = "not_a_number"
    factors, offsets, missing_unit = _factors(cells, name, unit)
    raw = np.array([cell.parsed.value if not cell.problem else np.nan for cell in cells])
    raw *= np.array([BELOW if cell.proof is Held.LET_GO else 1.0 for cell in cells])
    value = raw * factors + offsets
    halves = np.array([_half(cell.parsed) for cell in cells]) * np.abs(factors)
    bounds = np.array([_bound(cell, raw[k]) for k, cell in enumerate(cells)], np.int8)
    codes = column.codes
    per_row, bound_rows = value[codes], bounds[codes]
    half_by: tuple[NDArray[np.float64], NDArray[np.int32] | None] = (halves, codes)
    if row_units is not None:
        per_row, half_rows, unmatched = _by_row_units(
            table, column, row_units, cells, name, unit, (raw, per_row, halves[codes]), findings
        )
        half_by = (half_rows, None)
        missing_unit = [False] * len(cells)
        _say(table, column, unmatched, "unit_missing", severity, name, findings)
    _say_cells(table, column, cells, severity, name, findings)
    unit_rows = column.where(missing_unit)
    _say(table, column, unit_rows, "unit_missing", severity, name, findings)
    _say_text_numbers(table, column, cells, marks, decimal, findings, must=must)
    marked = column.where([bool(cell.body.mark) and not cell.problem for cell in cells])
    findings.add_rows("footnote_mark", Severity.NOTE, table.seen(marked, column), sheet=sheet, column=column.heading)
    bad = column.where([bool(cell.problem) for cell in cells]) | unit_rows  # their values are nan already
    bound_rows[np.isnan(per_row)] = Bound.NOTHING
    steps = [
        _half(cell.parsed) * 2 * abs(f)
        for cell, f in zip(cells, factors, strict=True)
        if not cell.problem and _half(cell.parsed) > 0
    ]
    seen_units = tuple(dict.fromkeys(cell.body.unit for cell in cells if cell.body.unit and not cell.problem))
    return Numbers(
        value=per_row,
        bound=bound_rows,
        halves=half_by,
        step=min(steps) if steps else float("nan"),
        meanings={what: column.where([cell.what is what for cell in cells]) for what in Meaning},
        about=column.where([cell.body.about and not cell.problem for cell in cells]),
        bad=bad,
        unit=unit or (seen_units[0] if len(seen_units) == 1 else ""),
        units_seen=seen_units,
        decimal=next(iter(decimal)) if len(decimal) == 1 else "",
        disputed=np.zeros(len(codes), np.bool_),
        held=column.where([cell.proof is Held.HELD and not cell.problem for cell in cells]),
        let_go=column.where([cell.proof is Held.LET_GO and not cell.problem for cell in cells]),
    )


def _stored_number(detail: Detail | None) -> bool:
    return detail is not None and detail.kind is Kind.NUMBER


def _raw_window(plausible: tuple[float, float] | None, unit: str, name: str) -> tuple[float, float] | None:
    """Plausible values in the unit of the column."""
    if plausible is None or not unit:
        return None
    try:
        factor, _ = to_inside(unit, name)
    except UnknownUnit:
        return None
    return plausible[0] / factor, plausible[1] / factor


def _half(parsed: Parsed) -> float:
    return 0.0 if parsed.decimals is None else 0.5 * 10.0 ** (-parsed.decimals)


def _bound(cell: _Cell, value: float) -> int:
    if np.isnan(value):
        return Bound.NOTHING
    return {"": Bound.EXACT, "at_least": Bound.AT_LEAST, "at_most": Bound.AT_MOST}[cell.body.bound]


def _factors(cells: list[_Cell], name: str, unit: str) -> tuple[NDArray[np.float64], NDArray[np.float64], list[bool]]:
    factors, offsets, missing = np.full(len(cells), np.nan), np.zeros(len(cells)), [False] * len(cells)
    known: dict[str, tuple[float, float]] = {}
    for k, cell in enumerate(cells):
        word = cell.body.unit or unit
        if word and cell.holds_number:
            if word not in known:
                known[word] = to_inside(word, name)
            factors[k], offsets[k] = known[word]
        elif cell.holds_number:
            missing[k] = True
    return factors, offsets, missing


def _by_row_units(
    table: Table,
    column: Column,
    row_units: Column,
    cells: list[_Cell],
    name: str,
    unit: str,
    arrays: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    findings: Findings,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Values and half steps with the unit that stands in each row; rows that have none at all."""
    raw, per_row, half_rows = arrays
    dimension = FIELD_QUANTITY[name]
    known = [is_unit(text, dimension) for text in row_units.texts]
    words = [text if ok else unit for text, ok in zip(row_units.texts, known, strict=True)]
    factor = np.array([to_inside(word, name)[0] if word else np.nan for word in words])[row_units.codes]
    own = column.where([bool(cell.body.unit) for cell in cells])
    number = column.where([cell.holds_number for cell in cells])
    strange = row_units.where([not ok and bool(text) for text, ok in zip(row_units.texts, known, strict=True)]) & number
    _say(table, row_units, strange, "unit_unknown", Severity.ERROR, name, findings)
    half_raw = np.array([_half(cell.parsed) for cell in cells])[column.codes]
    values = np.where(own, per_row, raw[column.codes] * factor)
    halves = np.where(own, half_rows, half_raw * factor)
    return values, halves, number & ~own & np.isnan(factor) & ~strange


def _say(
    table: Table, column: Column, mask: NDArray[np.bool_], code: str, severity: Severity, name: str, findings: Findings
) -> None:
    dimension = FIELD_QUANTITY[name]
    example = {
        "strength": "MPa",
        "load": "kN",
        "length": "mm",
        "area": "mm²",
        "rate": "MPa/s",
        "time": "s",
        "age": "d",
        "temperature": "°C",
        "percent": "%",
    }
    said = re.fullmatch(r"(.*\S)\s*[\[(]([^\])]{1,12})[\])]", column.heading)
    remark = f' ("{said[2]}" is no unit of a {name} that is known here)' if said else ""
    if split_unit(column.heading)[1]:  # a unit is stated, and not plainly
        remark = " (it states a factor or a second unit, so that the size of its numbers is not sure)"
    facts = {"name": said[1] if said else column.heading, "remark": remark} | {
        "field": name,
        "heading": column.heading,
        "key": f"units.{name}",
        "example": example[dimension],
    }
    findings.add_rows(
        code, severity, table.seen(mask, column), sheet=table.grid.sheet, column=column.heading, facts=facts
    )


def _say_cells(
    table: Table, column: Column, cells: list[_Cell], severity: Severity, name: str, findings: Findings
) -> None:
    for code in dict.fromkeys(cell.problem for cell in cells if cell.problem):
        mask = column.where([cell.problem == code for cell in cells])
        seen = table.seen(mask, column)
        facts: dict[str, str | int] = {"field": name}
        if code == "ambiguous_number":
            text = next(cell.body.number for cell in cells if cell.problem == code)
            with_decimal, with_thousands = both_readings(text)
            mark = "," if "," in text else "."
            facts |= {
                "text": text,
                "as_decimal": f"{with_decimal:g}",
                "as_thousands": f"{with_thousands:.0f}",
                "mark": mark,
                "other": "." if mark == "," else ",",
            }
        if code in {"formula_without_value", "error_cell"} and table.grid.is_workbook:
            addresses = [table.grid.address(int(table.index[i]), column.index) for i in np.flatnonzero(mask)]
            by_address = [(row, address, text) for (row, _, text), address in zip(seen, addresses, strict=True)]
            findings.add_rows(code, severity, by_address, sheet=table.grid.sheet, column=column.heading, facts=facts)
            continue
        findings.add_rows(code, severity, seen, sheet=table.grid.sheet, column=column.heading, facts=facts)


def _say_text_numbers(
    table: Table,
    column: Column,
    cells: list[_Cell],
    marks: Marks,
    decimal: frozenset[str],
    findings: Findings,
    *,
    must: bool,
) -> None:
    """Numbers stored as text among numbers of a workbook; two decimal marks in one column; a layout's decimal mark."""
    numbers = [cell.holds_number for cell in cells]
    as_text = column.where([ok and not _stored_number(column.details[k]) for k, ok in enumerate(numbers)])
    if table.grid.is_workbook and must and bool(as_text.any()):
        plain = column.where(
            [
                ok and not _stored_number(column.details[k]) and not cells[k].body.unit and not cells[k].body.bound
                for k, ok in enumerate(numbers)
            ]
        )
        findings.add_rows(
            "number_stored_as_text",
            Severity.NOTE,
            table.seen(plain, column),
            sheet=table.grid.sheet,
            column=column.heading,
        )
    if {".", ","} <= marks.decimal and {".", ","} <= decimal:
        mixed = column.where(
            [
                ok and not _stored_number(column.details[k]) and "," in cells[k].body.number
                for k, ok in enumerate(numbers)
            ]
        )
        findings.add_rows(
            "two_decimal_marks", Severity.NOTE, table.seen(mixed, column), sheet=table.grid.sheet, column=column.heading
        )
