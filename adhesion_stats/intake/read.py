"""The strict read: a grid and its layout -> pulls. Everything that is not sure is a message; errors come all at
once.
"""

from __future__ import annotations

import gc
import hashlib
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake.checks import duplicates
from adhesion_stats.intake.failures import check_legend
from adhesion_stats.intake.findings import Findings
from adhesion_stats.intake.heading_rows import HeadingRow, find_heading, first_table
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.join import join
from adhesion_stats.intake.no_heading import cells_parted_by_blanks, say_no_heading
from adhesion_stats.intake.open_file import open_bytes
from adhesion_stats.intake.proposal import Plan, plan_columns
from adhesion_stats.intake.pulls_of import heading_units, layout_of_grid, named_columns, pulls_of
from adhesion_stats.intake.reshape import tables_of, unfold_groups, unfold_rows
from adhesion_stats.intake.rows import sort_rows
from adhesion_stats.intake.table import build, fill_merged, without_ditto
from adhesion_stats.messages import Message, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.pulls import Pulls
    from adhesion_stats.terms.layout import Layout

__all__ = ["Reading", "read", "understand_file"]


@dataclass(frozen=True)
class Reading:
    """Pulls of a file, what a reader must know about them, and the layout by which they were read.

    ``layout_source`` is name and SHA-256 (hex) of the layout file that a person gave, None where there was none.
    """

    pulls: Pulls
    messages: tuple[Message, ...]
    layout: Layout
    layout_source: tuple[str, str] | None = None


def read(content: bytes, *, file: str, layout: Layout) -> Reading:
    """Read a whole file. Raises ``UnusableReadings`` with every problem that was found."""
    with _uncollected():
        return _read(content, file, layout)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Hold the collector of circular garbage: a large file makes millions of cells and none of it."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _read(content: bytes, file: str, layout: Layout) -> Reading:
    findings = Findings(file)
    grids = open_bytes(content, file, layout, findings)
    with ThreadPoolExecutor(1) as aside:  # opening keeps all processors busy, what follows only one
        digest = aside.submit(hashlib.sha256, content)
        parts = _parts(grids, layout, findings)
    if findings.failed or not parts:
        raise UnusableReadings(findings.messages)
    pulls = join([part[0] for part in parts], digest.result().hexdigest())
    if len(parts) > 1 or not parts[0][2]:
        duplicates(pulls, findings)
    return Reading(pulls, findings.messages, parts[0][1])


def understand_file(content: bytes, *, file: str, layout: Layout) -> tuple[Layout, tuple[Message, ...]]:
    """Return the layout of a file as far as it can be understood, and what is said about the file.

    Never refuses: of a file that can't be used, the layout holds what was found out before (separator, encoding, sheet,
    headings), and the messages hold the errors.
    """
    try:
        reading = read(content, file=file, layout=layout)
    except UnusableReadings as refused:
        messages = refused.messages
    else:
        return reading.layout, reading.messages
    unsaid = Findings(file)
    with _uncollected():
        grids = open_bytes(content, file, layout, unsaid)
        parts = _parts(grids, layout, unsaid)
        return parts[0][1] if parts else _as_far_as(grids, layout, file), messages


def _as_far_as(grids: list[Grid], layout: Layout, file: str) -> Layout:
    """What can be said of the layout of a file none of whose tables could be read."""
    unsaid = Findings(file)
    sheets = _choose_sheets(grids, layout, unsaid) if grids else []
    if not sheets:
        return layout
    grid = sheets[0]
    found = replace(layout_of_grid(grid), sheet=grid.sheet if grid.is_workbook and len(grids) > 1 else None)
    heading = find_heading(fill_merged(grid), layout)
    if heading is not None and len(heading.rows) == 1 and layout.heading_row is None:
        plan = plan_columns(grid, heading, layout, unsaid)
        found = replace(
            found,
            heading_row=grid.numbers[heading.index],
            columns=MappingProxyType(named_columns(plan, heading)),
            evidence=MappingProxyType(dict(plan.evidence)),
        )
    return replace(layout, evidence=found.evidence).with_defaults_of(found)


def _parts(grids: list[Grid], layout: Layout, findings: Findings) -> list[tuple[Pulls, Layout, bool]]:
    """The pulls of each table that could be read, with its layout."""
    if not grids:
        return []
    chosen = _choose_sheets(grids, layout, findings)
    parts = []
    for sheet in chosen:
        tables = _tables(sheet, layout)
        for grid in tables:
            part = _read_grid(grid, grids, layout, findings, sheets=len(chosen), tables=len(tables))
            if part is not None:
                parts.append(part)
    return parts


def _choose_sheets(grids: list[Grid], layout: Layout, findings: Findings) -> list[Grid]:
    """The sheets to read: the one that has a table of readings, or those that a layout names."""
    filled = [grid for grid in grids if any(not grid.is_blank(i) for i in range(len(grid.rows)))]
    names = tuple(grid.sheet for grid in grids)
    if not filled:
        findings.add("file_empty", Severity.ERROR)
        return []
    if len(grids) == 1 and (layout.sheet in {None, "all", grids[0].sheet} or not grids[0].is_workbook):
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
        _ask_sheet("several_sheets", visible, layout, findings)
        return []
    if not visible and hidden:
        _ask_sheet("only_hidden_sheet", tables, layout, findings)
        return []
    if not visible:
        return filled[:1]
    others = tuple(grid.sheet for grid in filled if grid is not visible[0] and not grid.hidden)
    if others:
        findings.add("sheets_not_read", Severity.NOTE, facts={"sheets": others})
    return visible


def _ask_sheet(code: str, sheets: list[Grid], layout: Layout, findings: Findings) -> None:
    """Ask which sheet is meant, at the headings of the first."""
    heading = find_heading(fill_merged(sheets[0]), layout)
    assert heading is not None
    measured = next((text for text in heading.texts if understand(text).field in {"strength", "load"}), "")
    findings.add(
        code,
        Severity.ERROR,
        sheet=sheets[0].sheet,
        row=sheets[0].numbers[heading.index],
        column=measured,
        facts={"sheets": tuple(grid.sheet for grid in sheets)},
    )


def _is_table(grid: Grid, layout: Layout) -> bool:
    """Whether a sheet has headings of readings with something below: two known columns, or numbers under one."""
    heading = find_heading(fill_merged(grid), layout)
    if heading is None:
        return False
    known = {said.field for text in heading.texts if (said := understand(text)).field}
    return len(known) > 1 or len(grid.rows) > heading.first


def _tables(sheet: Grid, layout: Layout) -> list[Grid]:
    """The tables of a sheet, cut where further headings begin (not where a layout names the heading row)."""
    filled = fill_merged(sheet)
    heading = find_heading(filled, layout)
    if heading is None or layout.heading_row is not None:
        return [sheet]
    return tables_of(sheet, first_table(filled, heading, layout))


def _plain(raw: Grid, layout: Layout, findings: Findings) -> tuple[Grid, HeadingRow] | None:
    """The grid as one plain table and its heading; groups side by side are put below each other, which is said."""
    heading = find_heading(fill_merged(raw), layout)
    if layout.columns:
        return None if heading is None else (raw, heading)
    unfolded = unfold_groups(raw, heading) if heading is not None else None
    code = "groups_side_by_side"
    if unfolded is None and (heading is None or not _has_measure_below(raw, heading) or _measures_alike(heading)):
        unfolded = unfold_rows(raw, layout.units.get("strength", ""))
        code = "readings_side_by_side"
    if unfolded is None:
        return None if heading is None else (raw, heading)
    row = unfolded.grid.numbers[unfolded.heading]
    findings.add(
        code, Severity.NOTE, sheet=raw.sheet, row=row, facts={"names": unfolded.names or ("each with its own zone",)}
    )
    findings.add_rows("blank_in_group", Severity.NOTE, unfolded.blanks, sheet=raw.sheet)
    findings.add_rows("rows_of_remarks", Severity.NOTE, unfolded.left, sheet=raw.sheet)
    texts = tuple(text.strip() for text in unfolded.grid.rows[unfolded.heading])
    return unfolded.grid, HeadingRow(
        unfolded.heading, unfolded.heading + 1, texts, ("",) * len(texts), (unfolded.heading,)
    )


def _measures_alike(heading: HeadingRow) -> bool:
    """Whether several columns could be the strength, in one unit: perhaps readings side by side."""
    said = [understand(text) for text in heading.texts]
    return sum(h.field == "strength" for h in said) > 1 and "id" not in {h.field for h in said}


def _has_measure_below(grid: Grid, heading: HeadingRow) -> bool:
    """Whether a column of strength or load has a number below its heading (a title that names a strength has none)."""
    at = [c for c, text in enumerate(heading.texts) if understand(text).field in {"strength", "load"}]
    rows = grid.rows[heading.first : heading.first + 50]
    return (
        any(c < len(row) and any(ch.isdigit() for ch in row[c]) for row in rows for c in at)
        and len(set(heading.texts) - {""}) > 1
    )


def _read_grid(
    raw: Grid, grids: list[Grid], layout: Layout, findings: Findings, *, sheets: int, tables: int
) -> tuple[Pulls, Layout, bool] | None:
    found = _plain(raw, layout, findings)
    if found is None:
        say_no_heading(raw, layout, findings)
        return None
    grid, heading = found
    if cells_parted_by_blanks(grid, heading, findings):
        return None
    if len(heading.rows) > 1:
        seen = [
            (grid.numbers[i], "", " | ".join(c.strip() for c in grid.rows[i] if c.strip())[:120]) for i in heading.rows
        ]
        findings.add_rows("headings_over_rows", Severity.NOTE, seen, sheet=grid.sheet)
    as_is = grid is raw and tables == 1 and sheets == 1
    if tables > 1:
        begin = (grid.numbers[heading.index], "", " | ".join(text for text in heading.texts if text)[:120])
        findings.add_rows("further_tables", Severity.NOTE, [begin], sheet=grid.sheet)
    plan = plan_columns(grid, heading, layout, findings)
    if "strength" not in plan.columns and "load" not in plan.columns:
        if not findings.failed:
            say_no_heading(raw, layout, findings)
        return None
    measures = {plan.columns[name] for name in ("strength", "load") if name in plan.columns}
    _merged_values(grid, heading, measures, findings)
    grid = fill_merged(grid, set(range(len(heading.texts))) - measures)
    grid = without_ditto(grid, plan.columns.get("zone"), heading.first)
    table, beyond = build(grid, heading.first, heading.texts)
    findings.add_rows(
        "too_many_cells",
        Severity.ERROR,
        [(row, "", text[:120]) for row, text in beyond],
        sheet=grid.sheet,
        column=heading.texts[-1],
        facts={"expected": len(heading.texts), "heading_row": grid.numbers[heading.index]},
    )
    plan.units |= heading_units(plan, heading)
    rows = sort_rows(table, plan, heading, layout, findings)
    if not len(rows.pulls):
        findings.add(
            "no_readings",
            Severity.ERROR,
            sheet=grid.sheet,
            row=grid.numbers[heading.index],
            column=_measure_heading(plan, heading),
        )
        return None
    preamble = [
        (grid.sheet, grid.numbers[i], " | ".join(c.strip() for c in grid.rows[i] if c.strip()))
        for i in range(heading.rows[0])
        if not grid.is_blank(i)
    ]
    findings.add_rows(
        "lines_above_heading", Severity.NOTE, [(row, "", text[:120]) for _, row, text in preamble], sheet=grid.sheet
    )
    outside = [
        *preamble,
        *((grid.sheet, grid.numbers[heading.index], text) for text in heading.texts),
        *((grid.sheet, row, note) for row, note in rows.notes),
    ]
    outside += [
        (g.sheet, g.numbers[i], " | ".join(c.strip() for c in row if c.strip()))
        for g in grids
        if g.sheet != raw.sheet and not g.hidden
        for i, row in enumerate(g.rows[:200])
    ]
    at = plan.columns.get("failure", next(iter(plan.shares.values()), 0))
    check_legend(outside, heading.texts[at], plan, layout, findings)
    if tables > 1 and "zone" not in plan.columns and layout.zone is None and not rows.zone_rows:
        findings.add(
            "tables_without_zone",
            Severity.ERROR,
            sheet=grid.sheet,
            row=grid.numbers[heading.index],
            column=_measure_heading(plan, heading),
            facts={"tables": tables},
        )
    part = pulls_of(table, plan, heading, rows, preamble, layout, findings, many=sheets > 1, as_is=as_is)
    return None if beyond and not findings.failed else part


def _merged_values(grid: Grid, heading: HeadingRow, measures: set[int], findings: Findings) -> None:
    """A value over several merged rows is a mean of them or belongs to one: ask."""
    for top, left, bottom, _ in grid.merged:
        if left in measures and top >= heading.first and bottom > top and grid.rows[top][left].strip():
            facts = {"cells": f"{grid.address(top, left)}-{grid.address(bottom, left)}", "text": grid.rows[top][left]}
            findings.add(
                "merged_value",
                Severity.ERROR,
                sheet=grid.sheet,
                row=grid.numbers[top],
                column=heading.texts[left],
                facts=facts,
            )


def _measure_heading(plan: Plan, heading: HeadingRow) -> str:
    return heading.texts[plan.columns["strength" if "strength" in plan.columns else "load"]]
