"""Which rows below the heading are pulls. Every other row is named with its reason; none goes without a word."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.form_rows import example_rows, form_rows
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.quantities import dimensions
from adhesion_stats.intake.summary_rows import may_sum_up, summary_kind
from adhesion_stats.messages import Fact, Severity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.heading_rows import HeadingRow
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["Rows", "Summary", "sort_rows"]

_MEASURES = ("strength", "load")
_DESCRIBING = ("failure", "date", "diameter", "area", "retest_of")
_NUMERIC = {"strength", "load", "diameter", "dolly", "area"}
_FOOTNOTE = re.compile(
    r"^(?:[*†‡§¹²³]|\(?[a-z\d]\)\s|[a-z] ?=|note|remark|bemerk|anmerk|"
    r"remarque|nota|hinweis|legend|tested by|signature|\d\) |"
    r"(?:page|seite|pagina|página|pág\.?|strona|sheet|blatt|feuille|hoja) ?\d+(?: ?(?:of|/|von|de|sur|di|z) ?\d+)?$)"
    r"|=|:|.{36,}",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Summary:
    """A row that states a mean, sd, ...: its place in the table, kind and label."""

    at: int
    kind: str
    label: str


@dataclass(frozen=True)
class Rows:
    """Indices (into the table) of pulls; zone names standing alone in a row, by index of the row; summary rows."""

    pulls: NDArray[np.intp]
    zone_rows: dict[int, str]
    summaries: tuple[Summary, ...]
    notes: tuple[tuple[int, str], ...]  # row number and text of remark rows
    blank: NDArray[np.bool_]


def sort_rows(table: Table, plan: Plan, heading: HeadingRow, layout: Layout, findings: Findings) -> Rows:
    """Tell pulls from blank rows, repeated headings, unit rows, summary rows, zone rows and remarks."""
    n = len(table)
    filled = np.array([column.filled for column in table.columns]).reshape(len(table.columns), n)
    blank = ~_any(list(filled), n)
    measured = _any([table.columns[plan.columns[name]].filled for name in _MEASURES if name in plan.columns], n)
    left = blank.copy()
    if layout.leave_out_rows:
        asked = np.isin(table.numbers, np.array(layout.leave_out_rows, np.int64)) & ~blank
        _name_rows(table, asked, "rows_left_out_by_layout", findings)
        left |= asked
    units = _unit_rows(table, filled, measured, plan) & ~left
    _other_units(table, units, plan, findings)
    _name_rows(table, units, "unit_row_left_out", findings)
    left |= units
    headings = _heading_rows(table, plan, heading, left, findings)
    _name_rows(table, headings, "heading_repeated", findings)
    left |= headings
    kept = np.isin(table.numbers, np.array(layout.keep_rows, np.int64))
    drawn = form_rows(table, plan, left | kept)
    _name_rows(table, drawn, "form_rows_left_out", findings, Severity.WARNING)
    left |= drawn
    examples = example_rows(table, plan, left | kept)
    _name_rows(table, examples, "example_row", findings, Severity.ERROR, _measure(table, plan))
    summaries = _summaries(table, plan, left | kept, filled)
    at = np.array([summary.at for summary in summaries], np.intp)
    marked = np.zeros(n, np.bool_)
    marked[at] = True
    seen = [(int(table.numbers[s.at]), "", s.label) for s in summaries]
    findings.add_rows("summary_rows_left_out", Severity.WARNING, seen, sheet=table.grid.sheet)
    left |= marked
    zone_rows, notes = _lone_cells(table, plan, filled, blank, measured, left)
    zone_mask, note_mask = np.zeros(n, np.bool_), np.zeros(n, np.bool_)
    zone_mask[list(zone_rows)], note_mask[list(notes)] = True, True
    findings.add_rows(
        "zone_rows",
        Severity.NOTE,
        [(int(table.numbers[i]), "", text) for i, text in zone_rows.items()],
        sheet=table.grid.sheet,
    )
    findings.add_rows(
        "rows_of_remarks",
        Severity.NOTE,
        [(int(table.numbers[i]), "", text[:120]) for i, text in notes.items()],
        sheet=table.grid.sheet,
    )
    left |= zone_mask | note_mask
    return Rows(
        np.flatnonzero(~left),
        zone_rows,
        tuple(summaries),
        tuple((int(table.numbers[i]), text) for i, text in notes.items()),
        blank,
    )


def _any(masks: list[NDArray[np.bool_]], n: int) -> NDArray[np.bool_]:
    return functools.reduce(np.logical_or, masks) if masks else np.zeros(n, np.bool_)


def _name_rows(
    table: Table,
    mask: NDArray[np.bool_],
    code: str,
    findings: Findings,
    severity: Severity = Severity.NOTE,
    column: str | None = None,
) -> None:
    at = np.flatnonzero(mask)
    seen = [(int(table.numbers[i]), "", _row_text(table, int(i))) for i in at]
    facts: dict[str, Fact] = {"listed": ", ".join(str(number) for number in table.numbers[at].tolist()[:20])}
    findings.add_rows(code, severity, seen, sheet=table.grid.sheet, column=column, facts=facts)


def _measure(table: Table, plan: Plan) -> str:
    """Heading of the column of values."""
    return table.columns[next(plan.columns[name] for name in _MEASURES if name in plan.columns)].heading


def _row_text(table: Table, i: int) -> str:
    cells = (column.cells[i] for column in table.columns)
    return " | ".join(cell for cell in cells if cell)[:120]


def _heading_rows(
    table: Table, plan: Plan, heading: HeadingRow, left: NDArray[np.bool_], findings: Findings
) -> NDArray[np.bool_]:
    """Rows that repeat the heading; a row with other headings begins a second table, which is an error."""
    repeated = np.zeros(len(table), np.bool_)
    for name in _MEASURES:
        if name not in plan.columns:
            continue
        column = table.columns[plan.columns[name]]
        like = column.where([_like_heading(text) for text in column.texts])
        for i in np.flatnonzero(like & ~left):
            texts = [c.cells[i] for c in table.columns]
            if all(fold(text) == fold(known) for text, known in zip(texts, heading.texts, strict=True) if text):
                repeated[i] = True
            elif _many_headings(texts) or sum(bool(text) for text in texts) == 1:
                facts = {"headings": tuple(text for text in texts if text)}
                row = int(table.numbers[i])
                findings.add(
                    "second_table", Severity.ERROR, sheet=table.grid.sheet, row=row, column=column.heading, facts=facts
                )
                repeated[i] = True
    return repeated


def _like_heading(text: str) -> bool:
    """Whether a cell under strength or load reads like a heading: of a measure, or of a table that sums up."""
    if re.search(r"\d{2}|\d[.,]\d", text) or not text:
        return False
    said = understand(text)
    return said.field in _MEASURES or bool(said.unit) or said.rank == 10 or bool(summary_kind(text))


def _many_headings(texts: list[str]) -> bool:
    """Whether a row without numbers has several cells that read like headings."""
    filled = [text for text in texts if text]
    if any(text[0].isdigit() for text in filled):
        return False
    return sum(bool(understand(text).field) or _like_heading(text) for text in filled) >= 2


def _unit_rows(table: Table, filled: NDArray[np.bool_], measured: NDArray[np.bool_], plan: Plan) -> NDArray[np.bool_]:
    """Rows whose every cell is a unit word, one of them in a column of numbers."""
    proper = _any(
        [
            table.columns[plan.columns[name]].where(
                [dimensions(text)[:1] in {("strength",), ("load",)} for text in table.columns[plan.columns[name]].texts]
            )
            for name in _MEASURES
            if name in plan.columns
        ],
        len(table),
    )
    if not proper.any():
        return proper
    unit_like = np.ones(len(table), np.bool_)
    for column, is_filled in zip(table.columns, filled, strict=True):
        words = column.where([bool(dimensions(text)) or text in {"-", "–", "[-]"} for text in column.texts])
        unit_like &= words | ~is_filled
    return unit_like & measured & proper


def _other_units(table: Table, units: NDArray[np.bool_], plan: Plan, findings: Findings) -> None:
    """A unit row among the readings that names another unit than the headings changes the meaning of what follows:
    ask.
    """
    for name in _MEASURES:
        if name not in plan.columns:
            continue
        column = table.columns[plan.columns[name]]
        known = plan.units.get(name, "")
        other = column.where([bool(text) and fold(text) != fold(known) for text in column.texts]) & units
        findings.add_rows(
            "unit_changes",
            Severity.ERROR,
            table.seen(other, column),
            sheet=table.grid.sheet,
            column=column.heading,
            facts={"unit": known or "none"},
        )


def _summaries(table: Table, plan: Plan, left: NDArray[np.bool_], filled: NDArray[np.bool_]) -> list[Summary]:
    n = len(table)
    zone, ident = plan.columns.get("zone"), plan.columns.get("id")
    numeric = {plan.columns[name] for name in _NUMERIC if name in plan.columns} | set(plan.shares.values())
    zones = frozenset(fold(text) for text in table.columns[zone].texts if text) if zone is not None else frozenset()
    described = _any([filled[plan.columns[name]] for name in _DESCRIBING if name in plan.columns], n)
    named = filled[ident] if ident is not None else np.zeros(n, np.bool_)
    measure = _any([filled[plan.columns[name]] for name in _MEASURES if name in plan.columns], n)
    found: dict[int, Summary] = {}
    for column in table.columns:
        is_number = column.index in numeric
        is_id, is_zone = column.index == ident, column.index == zone
        kinds = _kinds(column, zones)
        if is_number:  # "Mean:" beside its value, in the column of loads
            kinds = {k: kind for k, kind in kinds.items() if len(fold(column.texts[k])) > 1}
        if not kinds:
            continue
        announcing = np.zeros(len(column.texts), np.bool_)
        announcing[list(kinds)] = True
        for i in np.flatnonzero(column.where(announcing) & ~left):
            text = column.cells[i]
            kind = kinds[int(column.codes[i])]
            lone = len(fold(text)) <= 2
            if is_zone:
                sure = (not named[i] or not measure[i]) and not (described[i] and measure[i])
                sure = sure and (len(fold(text)) > 1 or (i - 1) in found)  # "N" and "S" are zones too
            elif is_number:
                sure = not named[i] and (ident is not None or (zone is not None and not filled[zone][i]))
            elif is_id:
                sure = not described[i] and (not lone or (i - 1) in found)
            else:
                zone_blank = zone is None or not filled[zone][i]
                sure = not named[i] and (zone_blank or column.index < (zone or 0)) and not described[i]
            if sure and int(i) not in found:
                found[int(i)] = Summary(int(i), kind, text)
    for name in _MEASURES:  # a formula over the cells of its own column
        if name not in plan.columns or table.columns[plan.columns[name]].is_plain:
            continue
        column = table.columns[plan.columns[name]]
        sums = [detail.sums if detail is not None else "" for detail in column.details]
        for row in np.flatnonzero(column.where([bool(kind) for kind in sums]) & ~left).tolist():
            found.setdefault(row, Summary(row, sums[int(column.codes[row])], f"{column.cells[row]} (formula)"))
    return [found[i] for i in sorted(found)]


def _kinds(column: Column, zones: frozenset[str]) -> dict[int, str]:
    """Kind of summary that a distinct text of a column announces, by its code; no entry where it announces none."""
    maybe: Iterable[int] = range(len(column.texts))
    if column.shapes is not None:
        maybe = np.flatnonzero(column.by_shape(may_sum_up)).tolist()
    return {k: kind for k in maybe if (kind := summary_kind(column.texts[k], zones))}


def _lone_cells(
    table: Table,
    plan: Plan,
    filled: NDArray[np.bool_],
    blank: NDArray[np.bool_],
    measured: NDArray[np.bool_],
    left: NDArray[np.bool_],
) -> tuple[dict[int, str], dict[int, str]]:
    """Rows without a value that are no pulls: a zone name over its pulls, or a remark."""
    zone_rows: dict[int, str] = {}
    notes: dict[int, str] = {}
    candidates = np.flatnonzero(~left & ~measured)
    if not len(candidates):
        return zone_rows, notes
    with_value = np.flatnonzero(~left & measured)
    last = int(with_value[-1]) if len(with_value) else -1
    zone, ident = plan.columns.get("zone"), plan.columns.get("id")
    shapes: set[str] = set()
    if ident is not None and zone is None and len(candidates):
        shapes = {
            _shape(table.columns[ident].texts[code]) for code in np.unique(table.columns[ident].codes[with_value])
        }
    for i in candidates:
        at = [c for c in range(len(table.columns)) if filled[c][i]]
        texts = [table.columns[c].cells[i] for c in at]
        text = " | ".join(texts)
        if (
            len(at) == 1
            and zone is None
            and at[0] == ident
            and i < last
            and not _is_footnote(text)
            and _shape(text) not in shapes
        ):
            zone_rows[int(i)] = text
        elif len(at) == 1 and (at[0] not in {zone, ident} or _is_footnote(text)):
            if zone is None and i < last and not _is_footnote(text):
                zone_rows[int(i)] = text
            else:
                notes[int(i)] = text
        elif len(at) == 1 and at[0] == zone:
            after = int(i) + 1
            if i > last:
                notes[int(i)] = text
            elif after < len(table) and not filled[zone][after] and not blank[after]:
                zone_rows[int(i)] = text
        elif (
            i > last
            and _after_gap(int(i), last, blank)
            and not (ident is not None and filled[ident][i] and (zone is None or filled[zone][i]))
        ) or (i > last and _FOOTNOTE.search(texts[0]) and not (ident is not None and filled[ident][i])):
            notes[int(i)] = text
    return zone_rows, notes


def _is_footnote(text: str) -> bool:
    """Whether a lone text is a remark; "Zone: North" is not."""
    zone = understand(re.split(r"[:\s]", text)[0]).field == "zone" and len(text) < 40 and "=" not in text
    return bool(_FOOTNOTE.search(text)) and not zone


def _shape(text: str) -> str:
    """Pattern of a name: runs of letters and digits ("P-07" -> "a-9")."""
    return re.sub(r"\d+", "9", re.sub(r"[^\W\d_]+", "a", text))


def _after_gap(i: int, last: int, blank: NDArray[np.bool_]) -> bool:
    return bool(blank[last + 1 : i].any())


def heading_of(column: Column) -> str:
    """Heading for a message; a column without one is named by its number."""
    return column.heading or f"#{column.index + 1}"
