"""The strict read: a grid and its layout -> pulls. Everything that is not sure is a message; errors come all at once."""

from __future__ import annotations

import hashlib
import math
import re
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.errors import UnknownUnit, UnusableReadings
from adhesion_stats.intake.extras import ages, conditions_of, dates_of, labels_of, lost_of
from adhesion_stats.intake.failures import check_legend, read_failures
from adhesion_stats.intake.findings import Findings
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.markers import Meaning
from adhesion_stats.intake.numeric import Numbers, read_numbers
from adhesion_stats.intake.open_file import open_bytes
from adhesion_stats.intake.proposal import HeadingRow, Plan, find_heading, plan_columns
from adhesion_stats.intake.quantities import FIELD_QUANTITY, KNOWN, is_unit, to_inside
from adhesion_stats.intake.reshape import tables_of, unfold_groups, unfold_rows
from adhesion_stats.intake.rows import Rows, sort_rows
from adhesion_stats.intake.sizes import Size, parse_size
from adhesion_stats.intake.strength import COLUMN_MPA, Strength, assemble, read_sizes
from adhesion_stats.intake.summary_rows import expected
from adhesion_stats.intake.table import Column, Table, build, fill_merged
from adhesion_stats.intake.zones import ids_of, zones_of
from adhesion_stats.messages import Message, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.terms.layout import Evidence, Layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.grid import Grid

__all__ = ["Reading", "read"]

_SIZE_WORDS = re.compile(r"(?:disc|disk|dolly|dollies|diameter|Ø|stempel|durchmesser|pastille|disco|krazek|stud|fixture)", re.IGNORECASE)
_SIZE = re.compile(r"(?:Ø|⌀)?\s*(\d+(?:[.,]\d+)?(?:\s*[x×]\s*\d+(?:[.,]\d+)?)?\s*(?:mm|cm|inch(?:es)?|in\.?|\"|″|'')(?![a-z]))", re.IGNORECASE)


@dataclass(frozen=True)
class Reading:
    """Pulls of a file, what a reader must know about them, and the layout by which they were read."""

    pulls: Pulls
    messages: tuple[Message, ...]
    layout: Layout


def read(content: bytes, *, file: str, layout: Layout) -> Reading:
    """Read a whole file. Raises ``UnusableReadings`` with every problem that was found."""
    findings = Findings(file)
    digest = hashlib.sha256(content).hexdigest()
    grids = open_bytes(content, file, layout, findings)
    if not grids:
        raise UnusableReadings(findings.messages)
    chosen = _choose_sheets(grids, layout, findings)
    parts = []
    for sheet in chosen:
        tables = _tables(sheet, layout)
        for k, grid in enumerate(tables):
            part = _read_grid(grid, grids, layout, findings, sheets=len(chosen), tables=len(tables), first=k == 0)
            if part is not None:
                parts.append(part)
    if findings.failed or not parts:
        raise UnusableReadings(findings.messages)
    pulls = _join([pulls for pulls, _ in parts], digest)
    _duplicates(pulls, findings)
    return Reading(pulls, findings.messages, parts[0][1])


def _choose_sheets(grids: list[Grid], layout: Layout, findings: Findings) -> list[Grid]:
    """The sheets to read: the one that has a table of readings, or those that a layout names."""
    filled = [grid for grid in grids if any(not grid.is_blank(i) for i in range(len(grid.rows)))]
    names = tuple(grid.sheet for grid in grids)
    if not filled:
        findings.add("file_empty", Severity.ERROR)
        return []
    if len(grids) == 1:
        return filled
    if layout.sheet not in {None, "all"}:
        wanted = [grid for grid in filled if grid.sheet == layout.sheet]
        if not wanted:
            findings.add("sheet_missing", Severity.ERROR, facts={"wanted": layout.sheet, "sheets": names})
        return wanted
    tables = [grid for grid in filled if _is_table(grid, layout)]
    visible = [grid for grid in tables if not grid.hidden]
    hidden = tuple(grid.sheet for grid in tables if grid.hidden)
    if hidden and visible:
        findings.add("hidden_sheet_not_read", Severity.WARNING, facts={"sheets": hidden})
    if layout.sheet == "all":
        return visible
    if len(visible) > 1:
        findings.add("several_sheets", Severity.ERROR, sheet=visible[0].sheet, facts={"sheets": tuple(grid.sheet for grid in visible)})
        return []
    if not visible and hidden:
        findings.add("only_hidden_sheet", Severity.ERROR, sheet=hidden[0], facts={"sheets": hidden})
        return []
    if not visible:
        return filled[:1]
    others = tuple(grid.sheet for grid in filled if grid is not visible[0] and not grid.hidden)
    if others:
        findings.add("sheets_not_read", Severity.NOTE, facts={"sheets": others})
    return visible


def _is_table(grid: Grid, layout: Layout) -> bool:
    """Whether a sheet has headings of readings with something below: two known columns, or numbers under one."""
    heading = find_heading(fill_merged(grid), layout)
    if heading is None:
        return False
    known = {said.field for text in heading.texts if (said := understand(text)).field}
    return len(known) > 1 or len(grid.rows) > heading.first


def _tables(sheet: Grid, layout: Layout) -> list[Grid]:
    """The tables of a sheet, cut where further headings begin (not where a layout names the heading row)."""
    heading = find_heading(fill_merged(sheet), layout)
    return [sheet] if heading is None or layout.heading_row is not None else tables_of(sheet, heading)


def _plain(raw: Grid, layout: Layout, findings: Findings) -> tuple[Grid, HeadingRow] | None:
    """The grid as one plain table and its heading; groups side by side are put below each other, which is said."""
    heading = find_heading(fill_merged(raw), layout)
    if layout.columns:
        return None if heading is None else (raw, heading)
    unfolded = unfold_groups(raw, heading) if heading is not None else None
    code = "groups_side_by_side"
    if unfolded is None and (heading is None or not _has_measure_below(raw, heading)):
        unfolded = unfold_rows(raw, layout.units.get("strength", ""))
        code = "readings_side_by_side"
    if unfolded is None:
        return None if heading is None else (raw, heading)
    row = unfolded.grid.numbers[unfolded.heading]
    findings.add(code, Severity.NOTE, sheet=raw.sheet, row=row, facts={"names": unfolded.names or ("each with its own zone",)})
    findings.add_rows("blank_in_group", Severity.NOTE, unfolded.blanks, sheet=raw.sheet)
    texts = tuple(text.strip() for text in unfolded.grid.rows[unfolded.heading])
    return unfolded.grid, HeadingRow(unfolded.heading, unfolded.heading + 1, texts, ("",) * len(texts), (unfolded.heading,))


def _has_measure_below(grid: Grid, heading: HeadingRow) -> bool:
    """Whether a column of strength or load has a number below its heading (a title that names a strength has none)."""
    at = [c for c, text in enumerate(heading.texts) if understand(text).field in {"strength", "load"}]
    rows = grid.rows[heading.first : heading.first + 50]
    return any(c < len(row) and any(ch.isdigit() for ch in row[c]) for row in rows for c in at) and len(set(heading.texts) - {""}) > 1


def _read_grid(raw: Grid, grids: list[Grid], layout: Layout, findings: Findings, *, sheets: int, tables: int, first: bool) -> tuple[Pulls, Layout] | None:
    found = _plain(raw, layout, findings)
    if found is None:
        _say_no_heading(raw, layout, findings)
        return None
    grid, heading = found
    if not first:
        begin = (grid.numbers[heading.index], "", " | ".join(text for text in heading.texts if text)[:120])
        findings.add_rows("further_tables", Severity.NOTE, [begin], sheet=grid.sheet)
    plan = plan_columns(grid, heading, layout, findings)
    if "strength" not in plan.columns and "load" not in plan.columns:
        if not findings.failed:
            _say_no_heading(raw, layout, findings)
        return None
    measures = {plan.columns[name] for name in ("strength", "load") if name in plan.columns}
    _merged_values(grid, heading, measures, findings)
    grid = fill_merged(grid, set(range(len(heading.texts))) - measures)
    table, beyond = build(grid, heading.first, heading.texts)
    findings.add_rows("too_many_cells", Severity.ERROR, [(row, "", text[:120]) for row, text in beyond], sheet=grid.sheet, column=heading.texts[-1], facts={"expected": len(heading.texts), "heading_row": grid.numbers[heading.index]})
    plan.units |= _heading_units(plan, heading)
    rows = sort_rows(table, plan, heading, layout, findings)
    if not len(rows.pulls):
        findings.add("no_readings", Severity.ERROR, sheet=grid.sheet, row=grid.numbers[heading.index], column=_measure_heading(plan, heading))
        return None
    preamble = [(grid.sheet, grid.numbers[i], " | ".join(c.strip() for c in grid.rows[i] if c.strip())) for i in range(heading.rows[0]) if not grid.is_blank(i)]
    findings.add_rows("lines_above_heading", Severity.NOTE, [(row, "", text[:120]) for _, row, text in preamble], sheet=grid.sheet)
    outside = [*preamble, *((grid.sheet, grid.numbers[heading.index], text) for text in heading.texts), *((grid.sheet, 0, note) for note in rows.notes)]
    outside += [(g.sheet, g.numbers[i], " | ".join(c.strip() for c in row if c.strip())) for g in grids if g.sheet != raw.sheet and not g.hidden for i, row in enumerate(g.rows[:200])]
    at = plan.columns.get("failure", next(iter(plan.shares.values()), 0))
    check_legend(outside, heading.texts[at], plan, layout, findings)
    if tables > 1 and "zone" not in plan.columns and layout.zone is None and not rows.zone_rows:
        findings.add("tables_without_zone", Severity.ERROR, sheet=grid.sheet, row=grid.numbers[heading.index], column=_measure_heading(plan, heading), facts={"tables": tables})
    pulls, understood = _read_pulls(table, plan, heading, rows, preamble, layout, findings, many=sheets > 1)
    if beyond and not findings.failed:
        return None
    return pulls, understood


def _merged_values(grid: Grid, heading: HeadingRow, measures: set[int], findings: Findings) -> None:
    """A value over several merged rows is a mean of them or belongs to one: ask."""
    for top, left, bottom, _ in grid.merged:
        if left in measures and top >= heading.first and bottom > top and grid.rows[top][left].strip():
            facts = {"cells": f"{grid.address(top, left)}-{grid.address(bottom, left)}", "text": grid.rows[top][left]}
            findings.add("merged_value", Severity.ERROR, sheet=grid.sheet, row=grid.numbers[top], column=heading.texts[left], facts=facts)


def _measure_heading(plan: Plan, heading: HeadingRow) -> str:
    return heading.texts[plan.columns["strength" if "strength" in plan.columns else "load"]]


def _say_no_heading(grid: Grid, layout: Layout, findings: Findings) -> None:
    filled = [i for i in range(len(grid.rows)) if not grid.is_blank(i)]
    widest = max(filled[:50], key=lambda i: sum(bool(cell.strip()) for cell in grid.rows[i])) if filled else 0
    cells = tuple(cell.strip()[:40] for cell in (grid.rows[widest] if filled else []) if cell.strip())[:30]
    row = grid.numbers[widest] if filled else 1
    if layout.heading_row is not None and layout.heading_row not in grid.numbers:
        findings.add("heading_row_missing", Severity.ERROR, sheet=grid.sheet, row=layout.heading_row, facts={"rows": len(grid.rows)})
        return
    findings.add("no_heading", Severity.ERROR, sheet=grid.sheet, row=row, column=cells[0] if cells else "", facts={"cells": cells})


def _read_pulls(
    full: Table, plan: Plan, heading: HeadingRow, rows: Rows, preamble: list[tuple[str, int, str]], layout: Layout, findings: Findings, *, many: bool
) -> tuple[Pulls, Layout]:
    ids = ids_of(full, plan, rows, findings)
    named = replace(full, names=ids)
    zones = zones_of(named, plan, rows, layout, findings, _lone_text(preamble))
    if many and "zone" not in plan.columns and not rows.zone_rows and layout.zone is None:
        zones = [full.grid.sheet] * len(ids)
    table = replace(full.select(rows.pulls), names=ids)
    units = {**_preamble_units(plan, preamble), **plan.units, **_heading_units(plan, heading), **layout.units}
    units = {name: unit for name, unit in units.items() if name in FIELD_QUANTITY}
    for name in list(units):
        if not is_unit(units[name], FIELD_QUANTITY[name]):
            findings.add("unit_unknown_layout", Severity.ERROR, facts={"key": f"units.{name}", "unit": units[name], "known": KNOWN[FIELD_QUANTITY[name]]})
            del units[name]
    strength, load, columns = _measures(table, plan, units, layout, findings)
    area, sides = _areas(table, plan, units, preamble, layout, findings, needed=strength is None)
    joined = assemble(table, strength, load, area, columns, layout, findings)
    words = strength if strength is not None else load
    assert words is not None
    _say_values(table, joined, words, findings)
    nothing = np.zeros(len(table), np.bool_)
    codes, shares = read_failures(table, plan, layout, findings, words.meanings.get(Meaning.GLUE, nothing))
    lost = lost_of(table, plan, findings, words.meanings.get(Meaning.LOST, nothing))
    bound = _bounds(table, plan, joined, findings)
    conditions = conditions_of(table, plan, units, layout, findings)
    dates = _dates(table, plan, layout, findings, conditions)
    if not np.isnan(sides).all():
        conditions["dolly_mm"] = sides
    _hidden(table, findings)
    _compare_summaries(full, rows, plan, joined, zones, findings)
    _bare_values(table, plan, joined, zones, findings)
    nameless = [column for column in table.columns if not column.heading and column.index not in plan.columns.values() and column.filled.any()]
    for column in nameless:
        findings.add_rows("cells_without_heading", Severity.WARNING, table.seen(column.filled, column), sheet=table.grid.sheet, column=f"#{column.index + 1}")
    unused = tuple(heading.texts[c] for c in plan.unused)
    if unused:
        findings.add("columns_not_used", Severity.NOTE, sheet=table.grid.sheet, row=table.grid.numbers[heading.index], facts={"headings": unused})
    step = joined.step
    if layout.recording_step is not None:
        step = _layout_step(layout, findings)
    unit = words.unit or (words.units_seen[0] if words.units_seen else "MPa")
    doubts: list[tuple[str, ...]] = [()] * len(table)
    for code, mask in joined.doubts.items():
        for i in np.flatnonzero(mask):
            doubts[i] = (*doubts[i], code)
    pulls = Pulls(
        file=findings.file, digest="", sheet=(table.grid.sheet,) * len(table), row=table.numbers, id=ids, zone=tuple(zones),
        strength_mpa=joined.mpa, bound=bound, load_n=load.value if load is not None else np.full(len(table), np.nan), area_mm2=area,
        failure_codes=codes, failure_percent=shares, lost=lost, retest_of=_text(table, plan, "retest_of"), exclusion=_text(table, plan, "exclusion"),
        doubts=tuple(doubts), date=dates, entered=tuple(joined.column.cells), labels=labels_of(table, plan, findings),
        conditions=conditions, recording_step_mpa=step, entry_unit=unit,
    )  # fmt: skip
    return pulls, _understood(full, plan, heading, units, words, layout)


def _lone_text(preamble: list[tuple[str, int, str]]) -> str:
    """The last line above the headings if it is one short text."""
    text = preamble[-1][2] if preamble else ""
    return text if text and "|" not in text and len(text) <= 40 else ""


def _heading_units(plan: Plan, heading: HeadingRow) -> dict[str, str]:
    return {name: heading.units[c] for name, c in plan.columns.items() if name in FIELD_QUANTITY and heading.units[c] and is_unit(heading.units[c], FIELD_QUANTITY[name])}


def _preamble_units(plan: Plan, preamble: list[tuple[str, int, str]]) -> dict[str, str]:
    """A unit that the lines above state for all values: "all values in MPa", "Unit: N/mm²"."""
    found: dict[str, str] = {}
    for _, _, text in preamble:
        match = re.search(r"(?:values?|strengths?|results?|stress(?:es)?|werte|festigkeiten|units?|einheit(?:en)?|unités?|unidad(?:es)?)[^.]*?(?:\bin\b|:|\||=|\ben\b)\s*([^\s|,;]+)", text, re.IGNORECASE)
        for name in ("strength", "load"):
            if match and name in plan.columns and is_unit(match[1], FIELD_QUANTITY[name]):
                found[name] = match[1]
    return found


def _measures(table: Table, plan: Plan, units: dict[str, str], layout: Layout, findings: Findings) -> tuple[Numbers | None, Numbers | None, tuple[Column | None, Column | None]]:
    unit_column = table.columns[plan.columns["unit"]] if "unit" in plan.columns else None
    found: dict[str, Numbers] = {}
    columns: dict[str, Column] = {}
    for name in ("strength", "load"):
        if name not in plan.columns:
            continue
        column = table.columns[plan.columns[name]]
        own = unit_column
        if own is not None and not any(is_unit(text, FIELD_QUANTITY[name]) for text in own.texts) and (units.get(name) or name == "load"):
            own = None
        window = COLUMN_MPA if name == "strength" else None
        found[name] = read_numbers(table, column, name, unit=units.get(name, ""), row_units=own, layout=layout, findings=findings, plausible=window, must=True)
        columns[name] = column
        _compare_parallel(table, plan, name, found[name], column, layout, findings)
    return found.get("strength"), found.get("load"), (columns.get("strength"), columns.get("load"))


def _compare_parallel(table: Table, plan: Plan, name: str, first: Numbers, column: Column, layout: Layout, findings: Findings) -> None:
    """Compare further columns of one quantity in other units with the first; rows that differ are doubted."""
    for at, unit in plan.parallel.get(name, ()):
        other = table.columns[at]
        numbers = read_numbers(table, other, name, unit=unit, row_units=None, layout=layout, findings=findings, plausible=None, must=True)
        gap = np.abs(first.value - numbers.value)
        wrong = first.given & numbers.given & (gap > (first.half + numbers.half) * 1.001 + 1e-9 * np.abs(first.value))
        lone = first.given != numbers.given
        seen = [(row, who, f"{column.texts[column.codes[i]] or '(blank)'} and {other.texts[other.codes[i]] or '(blank)'}") for (row, who, _), i in zip(table.seen(wrong | lone), np.flatnonzero(wrong | lone), strict=True)]
        findings.add_rows("columns_disagree", Severity.WARNING, seen, sheet=table.grid.sheet, column=other.heading, facts={"field": name})
        first.disputed |= wrong | lone
        findings.add("columns_agree", Severity.NOTE, sheet=table.grid.sheet, column=column.heading, facts={"field": name, "headings": (column.heading, other.heading)})


def _areas(table: Table, plan: Plan, units: dict[str, str], preamble: list[tuple[str, int, str]], layout: Layout, findings: Findings, *, needed: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Tested area [mm²] and side or diameter [mm] of each pull."""
    n = len(table)
    area, side = np.full(n, np.nan), np.full(n, np.nan)
    if "diameter" in plan.columns:
        column = table.columns[plan.columns["diameter"]]
        sizes = read_sizes(table, column, units.get("diameter", ""), layout, findings)
        area = np.array([size.area_mm2 for size in sizes])[column.codes]
        side = np.array([size.side_mm for size in sizes])[column.codes]
    if "area" in plan.columns:
        column = table.columns[plan.columns["area"]]
        numbers = read_numbers(table, column, "area", unit=units.get("area", ""), row_units=None, layout=layout, findings=findings, plausible=None, must=needed)
        stated = np.where(numbers.value > 0, numbers.value, np.nan)
        wrong = numbers.given & np.isnan(stated)
        findings.add_rows("size_unreadable", Severity.ERROR, table.seen(wrong, column), sheet=table.grid.sheet, column=column.heading)
        both = ~np.isnan(area) & ~np.isnan(stated) & (np.abs(area - stated) > 0.02 * stated)
        findings.add_rows("area_and_size_disagree", Severity.WARNING, table.seen(both, column), sheet=table.grid.sheet, column=column.heading)
        area = np.where(np.isnan(stated), area, stated)
    if "dolly" in plan.columns:
        column = table.columns[plan.columns["dolly"]]
        sizes = read_sizes(table, column, units.get("dolly", ""), layout, findings)
        side = np.array([size.side_mm for size in sizes])[column.codes]
        nominal = np.array([size.area_mm2 for size in sizes])[column.codes]
        instead = np.isnan(area) & ~np.isnan(nominal)
        area = np.where(instead, nominal, area)
        facts = {"tested": table.columns[plan.columns["diameter"]].heading if "diameter" in plan.columns else "area"}
        findings.add("tested_size_used", Severity.NOTE, sheet=table.grid.sheet, column=column.heading, facts=facts)
    if needed or "load" in plan.columns:
        area, side = _size_elsewhere(table, area, side, preamble, layout, findings, needed=needed)
    return area, side


def _size_elsewhere(
    table: Table, area: NDArray[np.float64], side: NDArray[np.float64], preamble: list[tuple[str, int, str]], layout: Layout, findings: Findings, *, needed: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Size from a layout, else from the lines above the heading when they state exactly one."""
    lacking = np.isnan(area)
    if not lacking.any():
        return area, side
    size: Size | None = None
    if layout.diameter is not None:
        size = parse_size(layout.diameter, unit="")
        if size.problem or size.bare:
            findings.add("layout_wrong_value", Severity.ERROR, facts={"key": "diameter", "expected": 'a size with its unit, such as "50 mm"', "came": layout.diameter})
            return area, side
    elif needed:
        stated = [(row, match[1], text) for _, row, text in preamble if _SIZE_WORDS.search(text) for match in _SIZE.finditer(text)]
        sizes = {parse_size(text, unit="").area_mm2 for _, text, _ in stated}
        if len(sizes) == 1:
            size = parse_size(stated[0][1], unit="")
            findings.add("size_from_above", Severity.WARNING, sheet=table.grid.sheet, row=stated[0][0], facts={"text": stated[0][2], "size": stated[0][1]})
    if size is None:
        return area, side
    return np.where(lacking, size.area_mm2, area), np.where(lacking & np.isnan(side), size.side_mm, side)


def _say_values(table: Table, joined: Strength, words: Numbers, findings: Findings) -> None:
    sheet, column = table.grid.sheet, joined.column
    none = np.isnan(joined.mpa) & ~words.bad & ~words.given
    facts = {"measured": int((~np.isnan(joined.mpa)).sum()), "total": len(table)}
    lacking = none & ~(words.meanings[Meaning.GLUE] | words.meanings[Meaning.LOST] | words.meanings[Meaning.WORD])
    seen = [(row, name, text or "(blank)") for row, name, text in table.seen(lacking, column)]
    findings.add_rows("value_missing", Severity.WARNING, seen, sheet=sheet, column=column.heading, facts=facts)
    for meaning, code in ((Meaning.GLUE, "glue_without_value"), (Meaning.WORD, "word_for_value"), (Meaning.LOST, "lost_without_value")):
        findings.add_rows(code, Severity.WARNING, table.seen(none & words.meanings[meaning], column), sheet=sheet, column=column.heading, facts=facts)
    for bound, code in ((Bound.AT_LEAST, "lower_bounds"), (Bound.AT_MOST, "upper_bounds")):
        findings.add_rows(code, Severity.WARNING, table.seen(joined.bound == bound, column), sheet=sheet, column=column.heading)


def _bounds(table: Table, plan: Plan, joined: Strength, findings: Findings) -> NDArray[np.int8]:
    """Bounds from the value's cell, and from a column of signs if there is one."""
    bound = joined.bound.copy()
    if "bound" not in plan.columns:
        return bound
    column = table.columns[plan.columns["bound"]]
    least = {">", ">=", "≥", "at least", "at_least", "min", "mind.", "right", "gt", "ge", "+"}
    most = {"<", "<=", "≤", "at most", "at_most", "max", "left", "lt", "le"}
    exact = {"", "=", "exact", "==", "-"}
    lowered = [text.casefold() for text in column.texts]
    unknown = column.where([text not in least | most | exact for text in lowered])
    findings.add_rows("bound_unclear", Severity.ERROR, table.seen(unknown, column), sheet=table.grid.sheet, column=column.heading)
    has = ~np.isnan(joined.mpa)
    for words, value, code in ((least, Bound.AT_LEAST, "lower_bounds"), (most, Bound.AT_MOST, "upper_bounds")):
        rows = column.where([text in words for text in lowered]) & has
        bound[rows] = value
        findings.add_rows(code, Severity.WARNING, table.seen(rows, joined.column), sheet=table.grid.sheet, column=column.heading)
    return bound


def _dates(table: Table, plan: Plan, layout: Layout, findings: Findings, conditions: dict[str, NDArray[np.float64]]) -> tuple[str, ...]:
    dates: tuple[str, ...] = ("",) * len(table)
    if "date" in plan.columns:
        dates = dates_of(table, table.columns[plan.columns["date"]], layout, findings)
    if "application_date" in plan.columns:
        applied = dates_of(table, table.columns[plan.columns["application_date"]], layout, findings)
        computed = ages(applied, dates)
        if "age_days" not in conditions and not np.isnan(computed).all():
            conditions["age_days"] = computed
    return dates


def _text(table: Table, plan: Plan, name: str) -> tuple[str, ...]:
    if name not in plan.columns:
        return ("",) * len(table)
    column = table.columns[plan.columns[name]]
    texts = ["" if text.casefold() in {"-", "–", "—", "no", "nein", "none", "n/a"} else text for text in column.texts]
    return tuple(texts[code] for code in column.codes)


def _hidden(table: Table, findings: Findings) -> None:
    grid = table.grid
    if grid.hidden_rows:
        mask = np.isin(table.index, np.array(sorted(grid.hidden_rows), np.intp))
        findings.add_rows("hidden_rows_read", Severity.WARNING, table.seen(mask), sheet=grid.sheet)
    hidden = tuple(column.heading for column in table.columns if column.index in grid.hidden_columns and column.heading)
    if hidden:
        findings.add("hidden_columns_read", Severity.NOTE, sheet=grid.sheet, facts={"headings": hidden})


def _layout_step(layout: Layout, findings: Findings) -> float:
    assert layout.recording_step is not None
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(\S.*?)\s*", layout.recording_step)
    try:
        return float(found[1]) * to_inside(found[2], "strength")[0] if found else _bad_step(layout, findings)
    except UnknownUnit:
        return _bad_step(layout, findings)


def _bad_step(layout: Layout, findings: Findings) -> float:
    findings.add("layout_wrong_value", Severity.ERROR, facts={"key": "recording_step", "expected": 'a step with its unit, such as "0.01 MPa"', "came": layout.recording_step})
    return math.nan


def _compare_summaries(full: Table, rows: Rows, plan: Plan, joined: Strength, zones: list[str], findings: Findings) -> None:
    """Compare what summary rows state with the pulls above them, zone by zone and over all."""
    at = plan.columns.get("strength")
    if at is None or not rows.summaries:
        return
    from adhesion_stats.intake.numbers import parse

    column = full.columns[at]
    factor = 1.0
    exact = joined.bound == Bound.EXACT
    zone_array = np.array(zones, dtype=object)
    odd = []
    for summary in rows.summaries:
        code = column.codes[summary.at]
        detail = column.details[code]
        body, parsed = parse(column.texts[code].replace(",", ".")) if detail is None else (None, None)
        stated = detail.value if detail is not None else parsed.value if parsed is not None and not parsed.problem else None
        if stated is None or math.isnan(stated) or (body is not None and body.unit):
            continue
        half = 0.0051 if detail is not None else 0.5 * 10.0 ** -(parsed.decimals or 0) if parsed is not None else 0.0
        above = rows.pulls < summary.at
        if not above.any():
            continue
        zone = zones[int(np.flatnonzero(above)[-1])]
        sets = [exact & (zone_array == zone), exact & above & (zone_array == zone), exact & above, exact]
        candidates = [value for mask in sets for value in expected(summary.kind, joined.mpa[mask])]
        if candidates and not any(abs(stated * factor - value) <= half + 1e-9 + 0.0005 * abs(value) for value in candidates) and joined.step == joined.step:
            odd.append((int(full.numbers[summary.at]), summary.label, f"{column.texts[code]}; computed {candidates[0]:.4g}"))
    if all(unit in {"", "MPa", "N/mm²", "N/mm2"} for unit in [plan.units.get("strength", "")]):
        findings.add_rows("summary_differs", Severity.WARNING, odd, sheet=full.grid.sheet, column=column.heading)


def _bare_values(table: Table, plan: Plan, joined: Strength, zones: list[str], findings: Findings) -> None:
    """Values without an id among pulls with ids: one that equals the mean of its zone may be a mean without a label: ask."""
    if "id" not in plan.columns:
        return
    known = ~np.isnan(joined.mpa)
    bare = np.array([not name for name in table.names], np.bool_) & known
    if not bare.any() or bare.sum() > 0.5 * known.sum():
        return
    zone_array = np.array(zones, dtype=object)
    half = 0.5 * (joined.step if not math.isnan(joined.step) else 0.01)
    odd = np.zeros(len(table), np.bool_)
    for i in np.flatnonzero(bare):
        others = joined.mpa[known & ~bare & (zone_array == zones[i])]
        odd[i] = len(others) > 1 and abs(joined.mpa[i] - float(np.mean(others))) <= half * 1.001
    column = joined.column
    findings.add_rows("unlabelled_mean", Severity.ERROR, table.seen(odd, column), sheet=table.grid.sheet, column=column.heading)
    findings.add_rows("id_missing", Severity.NOTE, table.seen(bare & ~odd, column), sheet=table.grid.sheet, column=column.heading)


def _duplicates(pulls: Pulls, findings: Findings) -> None:
    """Ids that occur twice within one zone."""
    if len(set(zip(pulls.zone, pulls.id, strict=True))) == len(pulls):
        return
    seen: dict[tuple[str, str], list[int]] = {}
    for i, key in enumerate(zip(pulls.zone, pulls.id, strict=True)):
        if key[1]:
            seen.setdefault(key, []).append(i)
    twice = [(int(pulls.row[i]), name, zone) for (zone, name), at in seen.items() if len(at) > 1 for i in at]
    findings.add_rows("duplicate_id", Severity.WARNING, twice, sheet=pulls.sheet[0] if pulls.sheet else "")


def _understood(full: Table, plan: Plan, heading: HeadingRow, units: dict[str, str], words: Numbers, layout: Layout) -> Layout:
    """The layout as understood, with its evidence."""
    texts = heading.texts
    evidence: dict[str, Evidence] = dict(plan.evidence)
    columns = {}
    for name, c in plan.columns.items():
        same = [k for k, text in enumerate(texts) if text == texts[c]]
        columns[name] = texts[c] if len(same) == 1 and texts[c] else f"#{c + 1}"
    grid = full.grid
    evidence["heading_row"] = Evidence("the row that names most columns")
    for name, unit in units.items():
        if name in plan.columns:
            evidence[f"units.{name}"] = Evidence(f'stated in the heading "{texts[plan.columns[name]]}" or near it')
    if words.decimal:
        evidence["decimal"] = Evidence("from all numbers of the value's column")
    found = Layout(
        sheet=grid.sheet or None,
        heading_row=grid.numbers[heading.index],
        separator=grid.separator or None,
        encoding=grid.encoding or None,
        columns=MappingProxyType(columns),
        units=MappingProxyType({name: unit for name, unit in units.items() if name in plan.columns}),
        evidence=MappingProxyType(evidence),
    )
    return replace(layout, evidence=found.evidence).with_defaults_of(found)


def _join(parts: list[Pulls], digest: str) -> Pulls:
    """One table of pulls from those of several sheets."""
    if len(parts) == 1:
        return replace(parts[0], digest=digest)
    n = [len(part) for part in parts]
    codes = tuple(dict.fromkeys(code for part in parts for code in part.failure_codes))
    shares = np.full((sum(n), len(codes)), np.nan)
    start = 0
    for part, size in zip(parts, n, strict=True):
        known = part.recorded
        block = np.where(known[:, None], 0.0, np.nan) * np.ones((size, len(codes)))
        for k, code in enumerate(part.failure_codes):
            block[:, codes.index(code)] = part.failure_percent[:, k]
        shares[start : start + size] = block
        start += size
    labels = {name: sum((p.labels.get(name, ("",) * len(p)) for p in parts), ()) for p0 in parts for name in p0.labels}
    conditions = {name: np.concatenate([p.conditions.get(name, np.full(len(p), np.nan)) for p in parts]) for p0 in parts for name in p0.conditions}

    def glue(name: str) -> tuple[str, ...]:
        return sum((getattr(part, name) for part in parts), ())

    def stack(name: str) -> NDArray[np.float64]:
        return np.concatenate([getattr(part, name) for part in parts])

    return Pulls(
        file=parts[0].file, digest=digest, sheet=glue("sheet"), row=np.concatenate([p.row for p in parts]), id=glue("id"), zone=glue("zone"),
        strength_mpa=stack("strength_mpa"), bound=np.concatenate([p.bound for p in parts]), load_n=stack("load_n"), area_mm2=stack("area_mm2"),
        failure_codes=codes, failure_percent=shares, lost=np.concatenate([p.lost for p in parts]), retest_of=glue("retest_of"),
        exclusion=glue("exclusion"), doubts=sum((p.doubts for p in parts), ()), date=glue("date"), entered=glue("entered"), labels=labels,
        conditions=conditions, recording_step_mpa=min((p.recording_step_mpa for p in parts), key=lambda s: math.inf if math.isnan(s) else s),
        entry_unit=parts[0].entry_unit,
    )  # fmt: skip
