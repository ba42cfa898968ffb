"""One table and its plan -> pulls, with the layout as it was understood."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts
from adhesion_stats.errors import UnknownUnit
from adhesion_stats.intake.areas import areas_of
from adhesion_stats.intake.checks import (
    bare_values,
    compare_parallel,
    compare_summaries,
    means_as_zones,
    named_apart,
    odd_labels,
)
from adhesion_stats.intake.extras import ages, conditions_of, dates_of, labels_of, lost_of
from adhesion_stats.intake.failures import read_failures
from adhesion_stats.intake.instruments import calibration_of, correct, gauges_of
from adhesion_stats.intake.markers import Meaning
from adhesion_stats.intake.numeric import Numbers, read_numbers
from adhesion_stats.intake.proof_loads import proof_loads
from adhesion_stats.intake.quantities import FIELD_QUANTITY, KNOWN, is_unit, to_inside
from adhesion_stats.intake.row_findings import say_hidden, say_unused, say_values, struck_out
from adhesion_stats.intake.strength import COLUMN_MPA, LOAD_N, Strength, assemble
from adhesion_stats.intake.zones import ids_of, zones_of
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import GLUE_CODES, Bound, Pulls
from adhesion_stats.terms.layout import Evidence, Layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.intake.heading_rows import HeadingRow
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.rows import Rows
    from adhesion_stats.intake.table import Column, Table


__all__ = ["heading_units", "layout_of_grid", "named_columns", "pulls_of"]


def pulls_of(
    full: Table,
    plan: Plan,
    heading: HeadingRow,
    rows: Rows,
    preamble: list[tuple[str, int, str]],
    layout: Layout,
    findings: Findings,
    *,
    many: bool,
    as_is: bool,
) -> tuple[Pulls, Layout, bool]:
    """Return the pulls of one table, the layout as it was understood, and whether it is sure that no id occurs twice in
    a zone; what is wrong goes to ``findings``.
    """
    ids = ids_of(full, plan, rows, findings)
    named = replace(full, names=ids)
    zones = zones_of(named, plan, rows, layout, findings, _lone_text(preamble))
    if many and "zone" not in plan.columns and not rows.zone_rows and layout.zone is None:
        zones = Coded.same(full.grid.sheet, len(ids))
    table = replace(full.select(rows.pulls), names=ids)
    units = {**_preamble_units(plan, preamble), **plan.units, **heading_units(plan, heading), **layout.units}
    units = {name: unit for name, unit in units.items() if name in FIELD_QUANTITY}
    for name in list(units):
        if not is_unit(units[name], FIELD_QUANTITY[name]):
            findings.add(
                "unit_unknown_layout",
                Severity.ERROR,
                facts={"key": f"units.{name}", "unit": units[name], "known": KNOWN[FIELD_QUANTITY[name]]},
            )
            del units[name]
    strength, load, columns = _measures(table, plan, units, layout, findings)
    area, sides = areas_of(table, plan, units, preamble, layout, findings, needed=strength is None)
    gauges = gauges_of(table, plan, layout, findings)
    joined = assemble(table, strength, load, area, columns, layout, findings, gauges)
    words = strength if strength is not None else load
    assert words is not None
    proofs = proof_loads(table, plan, units, words, joined, area, layout, findings)
    joined = proofs.strength
    # A word that nobody knows may hide any value, also a low one.
    joined.doubts["word_for_value"] = np.isnan(joined.mpa) & ~words.bad & ~words.given & words.meanings[Meaning.WORD]
    nothing = np.zeros(len(table), np.bool_)
    codes, shares = read_failures(table, plan, layout, findings, words.meanings.get(Meaning.GLUE, nothing))
    lost = lost_of(table, plan, findings, words.meanings.get(Meaning.LOST, nothing), np.isnan(joined.mpa))
    say_values(table, joined, words, lost, proofs.held | proofs.let_go, findings)
    bound = _bounds(table, plan, joined, findings)
    conditions = conditions_of(table, plan, units, layout, findings)
    dates = _dates(table, plan, layout, findings, conditions)
    if not np.isnan(sides).all():
        conditions["dolly_mm"] = sides
    calibration_of(table, plan, gauges, joined, dates, findings)
    true = correct(table, gauges, joined, bound, load, area, findings)
    say_hidden(table, findings)
    joined.doubts["struck_out"] = struck_out(table, findings)
    if rows.summaries:
        glue = [k for k, code in enumerate(codes) if code in GLUE_CODES]
        at_glue = shares.where(lambda known: bool(known) and any(known[k] > 0 for k in glue))
        compare_summaries(full, rows, plan, joined, zones, at_glue, findings)
    bare_values(table, plan, joined, zones, layout, findings)
    odd_labels(table, plan, joined, zones, layout, findings)
    means_as_zones(table, plan, joined, zones, layout, findings)
    say_unused(table, plan, heading, findings)
    step = true.strength.step
    if layout.recording_step is not None:
        step = _layout_step(layout, findings)
    unit = words.unit or (words.units_seen[0] if words.units_seen else "MPa")
    pulls = Pulls(
        file=findings.file,
        digest="",
        sheet=Coded.same(table.grid.sheet, len(table)),
        row=table.numbers,
        id=ids,
        zone=zones,
        strength_mpa=true.strength.mpa,
        bound=true.bound,
        load_n=true.load_n,
        indicated_mpa=true.indicated_mpa,
        indicated_load_n=true.indicated_load_n,
        area_mm2=area,
        failure_codes=codes,
        failures=shares,
        lost=lost,
        retest_of=_text(table, plan, "retest_of"),
        exclusion=_text(table, plan, "exclusion"),
        doubts=_doubts(true.strength, len(table)),
        date=dates,
        entered=proofs.entered,
        labels=labels_of(table, plan, findings)
        | ({"instrument": gauges.name} if gauges.name.where(bool).any() else {}),
        conditions=conditions,
        recording_step_mpa=step,
        entry_unit=unit,
    )
    apart = named_apart(zones, table.columns[plan.columns["id"]] if "id" in plan.columns else None)
    return pulls, _understood(full, plan, heading, units, words, layout, as_is=as_is), apart


def _doubts(joined: Strength, n: int) -> Coded[tuple[str, ...]]:
    """Codes of the doubts of each pull."""
    held = {name: mask for name, mask in joined.doubts.items() if mask.any()}
    if not held:
        return Coded.same((), n)
    which = np.zeros(n, np.int64)
    for k, mask in enumerate(held.values()):
        which[mask] |= 1 << k
    sets, codes = np.unique(which, return_inverse=True)
    said = (tuple(name for k, name in enumerate(held) if bits >> k & 1) for bits in sets.tolist())
    return Coded(codes.astype(np.int32), tuple(said))


def _lone_text(preamble: list[tuple[str, int, str]]) -> str:
    """The last line above the headings if it is one short text."""
    text = preamble[-1][2] if preamble else ""
    return text if text and "|" not in text and len(text) <= 40 else ""


def heading_units(plan: Plan, heading: HeadingRow) -> dict[str, str]:
    """Units that a row of units below the headings gives, by field."""
    return {
        name: heading.units[c]
        for name, c in plan.columns.items()
        if name in FIELD_QUANTITY and heading.units[c] and is_unit(heading.units[c], FIELD_QUANTITY[name])
    }


def _preamble_units(plan: Plan, preamble: list[tuple[str, int, str]]) -> dict[str, str]:
    """A unit that the lines above state for all values: "all values in MPa", "Unit: N/mm²"."""
    found: dict[str, str] = {}
    for _, _, text in preamble:
        match = re.search(
            r"(?:values?|strengths?|results?|stress(?:es)?|werte|festigkeiten|units?|einheit(?:en)?|unités?|unidad(?:es)?)[^.]*?(?:\bin\b|:|\||=|\ben\b)\s*([^\s|,;]+)",
            text,
            re.IGNORECASE,
        )
        for name in ("strength", "load"):
            if match and name in plan.columns and is_unit(match[1], FIELD_QUANTITY[name]):
                found[name] = match[1]
    return found


def _measures(
    table: Table, plan: Plan, units: dict[str, str], layout: Layout, findings: Findings
) -> tuple[Numbers | None, Numbers | None, tuple[Column | None, Column | None]]:
    unit_column = table.columns[plan.columns["unit"]] if "unit" in plan.columns else None
    found: dict[str, Numbers] = {}
    columns: dict[str, Column] = {}
    for name in ("strength", "load"):
        if name not in plan.columns:
            continue
        column = table.columns[plan.columns[name]]
        own = unit_column
        if (
            own is not None
            and not any(is_unit(text, FIELD_QUANTITY[name]) for text in own.texts)
            and (units.get(name) or name == "load")
        ):
            own = None
        window = COLUMN_MPA if name == "strength" else LOAD_N
        found[name] = read_numbers(
            table,
            column,
            name,
            unit=units.get(name, ""),
            row_units=own,
            layout=layout,
            findings=findings,
            plausible=window,
            must=True,
        )
        columns[name] = column
        compare_parallel(table, plan, name, found[name], column, layout, findings)
    return found.get("strength"), found.get("load"), (columns.get("strength"), columns.get("load"))


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
    findings.add_rows(
        "bound_unclear", Severity.ERROR, table.seen(unknown, column), sheet=table.grid.sheet, column=column.heading
    )
    has = ~np.isnan(joined.mpa)
    for words, value, code in ((least, Bound.AT_LEAST, "lower_bounds"), (most, Bound.AT_MOST, "upper_bounds")):
        rows = column.where([text in words for text in lowered]) & has
        bound[rows] = value
        findings.add_rows(
            code, Severity.WARNING, table.seen(rows, joined.column), sheet=table.grid.sheet, column=column.heading
        )
    return bound


def _dates(
    table: Table, plan: Plan, layout: Layout, findings: Findings, conditions: dict[str, NDArray[np.float64]]
) -> Texts:
    dates = table.blanks
    if "date" in plan.columns:
        dates = dates_of(table, table.columns[plan.columns["date"]], layout, findings)
    if "application_date" in plan.columns:
        applied = dates_of(table, table.columns[plan.columns["application_date"]], layout, findings)
        computed = ages(applied, dates)
        if "age_days" not in conditions and not np.isnan(computed).all():
            conditions["age_days"] = computed
    return dates


def _text(table: Table, plan: Plan, name: str) -> Texts:
    if name not in plan.columns:
        return table.blanks
    nothing = {"-", "–", "—", "no", "nein", "none", "n/a"}
    return table.columns[plan.columns[name]].cells.map(lambda text: "" if text.casefold() in nothing else text)


def _layout_step(layout: Layout, findings: Findings) -> float:
    assert layout.recording_step is not None
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(\S.*?)\s*", layout.recording_step)
    try:
        return float(found[1]) * to_inside(found[2], "strength")[0] if found else _bad_step(layout, findings)
    except UnknownUnit:
        return _bad_step(layout, findings)


def _bad_step(layout: Layout, findings: Findings) -> float:
    findings.add(
        "layout_wrong_value",
        Severity.ERROR,
        facts={
            "key": "recording_step",
            "expected": 'a step with its unit, such as "0.01 MPa"',
            "came": layout.recording_step,
        },
    )
    return math.nan


def named_columns(plan: Plan, heading: HeadingRow) -> dict[str, str]:
    """Columns of a plan by field: heading as written, or ``#3`` where that names none or more than one."""
    texts = heading.texts
    return {
        name: texts[c] if texts[c] and texts.count(texts[c]) == 1 else f"#{c + 1}" for name, c in plan.columns.items()
    }


def layout_of_grid(grid: Grid) -> Layout:
    """What the cells themselves say: sheet, separator and encoding."""
    return Layout(sheet=grid.sheet or None, separator=grid.separator or None, encoding=grid.encoding or None)


def _understood(
    full: Table,
    plan: Plan,
    heading: HeadingRow,
    units: dict[str, str],
    words: Numbers,
    layout: Layout,
    *,
    as_is: bool,
) -> Layout:
    """The layout as understood, with its evidence.

    Heading row and columns can be named only where the table stands in the file as it was read (``as_is``: not put
    together from groups side by side or several tables) under headings of one row.
    """
    texts = heading.texts
    row = full.grid.rows[heading.index]
    named = as_is and all(c < len(row) and row[c].strip() == text for c, text in enumerate(texts) if text)
    evidence: dict[str, Evidence] = dict(plan.evidence)
    grid = full.grid
    if named:
        evidence["heading_row"] = Evidence("the row that names most columns")
    for name in units:
        if name in plan.columns:
            evidence[f"units.{name}"] = Evidence(f'stated in the heading "{texts[plan.columns[name]]}" or near it')
    if words.decimal:
        evidence["decimal"] = Evidence(f'"{words.decimal}", from all numbers of the value\'s column')
    found = replace(
        layout_of_grid(grid),
        heading_row=grid.numbers[heading.index] if named else None,
        columns=MappingProxyType(named_columns(plan, heading) if named else {}),
        units=MappingProxyType({name: unit for name, unit in units.items() if name in plan.columns} if named else {}),
        evidence=MappingProxyType(evidence),
    )
    return replace(layout, evidence=found.evidence).with_defaults_of(found)
