"""Proof loads of a table: which pulls held a stress and were not pulled to failure, from cells and from columns.

================================ =====================================================================================
the file has                     a pull that held, and one that did not
================================ =====================================================================================
"held at 1.5" in the value       at least 1.5; "not held at 1.5": below 1.5
a proof stress and "held"        the same, by the word in the column
a strength and "held"            held: at least the strength entered; not held: the strength entered
strength, proof stress, "held"   with a strength above the proof stress: that strength, whether held or not. With none:
                                 by the proof stress. A strength that goes against what is said of the proof load is
                                 doubted
"no failure" as the failure      at least the strength entered
================================ =====================================================================================

Imports: this room, pulls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts
from adhesion_stats.intake.numeric import read_numbers
from adhesion_stats.intake.proof import BELOW, Held, held_at, held_by_column, held_in_words
from adhesion_stats.intake.quantities import to_inside
from adhesion_stats.intake.strength import COLUMN_MPA, LOAD_N
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound, not_given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.numeric import Numbers
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.strength import Strength
    from adhesion_stats.intake.table import Column, Table
    from adhesion_stats.terms.layout import Layout

__all__ = ["ProofLoads", "proof_loads"]

_SAME = 1e-9  # relative difference of two entered stresses that counts as none


@dataclass(frozen=True)
class ProofLoads:
    """Strengths with what proof loads say of them; rows that held and that let go; the raw text of each value."""

    strength: Strength
    held: NDArray[np.bool_]
    let_go: NDArray[np.bool_]
    entered: Texts


def proof_loads(
    table: Table,
    plan: Plan,
    units: dict[str, str],
    numbers: Numbers,
    joined: Strength,
    area_mm2: NDArray[np.float64],
    layout: Layout,
    findings: Findings,
) -> ProofLoads:
    """Put what the file says of proof loads into the strengths; say it once, and ask where it is not plain."""
    columns = plan.columns
    measure = next(columns[name] for name in ("strength", "load") if name in columns)
    own = measure in {columns.get("proof"), columns.get("proof_load")}  # nothing but proof loads was measured
    in_failure = (
        _in_words(table.columns[columns["failure"]]) if "failure" in columns else np.zeros(len(table), np.bool_)
    )
    if (
        not own
        and _COLUMNS.isdisjoint(columns)
        and not any(m.any() for m in (numbers.held, numbers.let_go, in_failure))
    ):
        return ProofLoads(joined, numbers.held, numbers.let_go, joined.column.cells)  # the file tells of none
    mpa, bound = joined.mpa.copy(), joined.bound.copy()
    here = ~np.isnan(mpa)
    held, let_go = numbers.held & here, numbers.let_go & here
    open_rows = here & (bound == Bound.EXACT)
    entered = joined.column.cells
    said = _said(table, plan, layout, open_rows, findings, own=own)
    doubt = np.zeros(len(table), np.bool_)
    if own:
        held |= said.held & open_rows
        let_go |= said.let_go & open_rows
        mpa = np.where(said.let_go & open_rows, mpa * BELOW, mpa)
        if said.column is not None and said.column.index != measure:
            entered = _beside(entered, said.column.cells, (said.held | said.let_go) & open_rows)
    elif not _COLUMNS.isdisjoint(columns):
        proof, column = _proof_mpa(table, plan, units, area_mm2, layout, findings)
        near = np.abs(mpa - proof) <= _SAME * np.abs(proof)
        above, under = (mpa > proof) & ~near, (mpa < proof) & ~near
        doubt = open_rows & ((said.held & under) | (said.let_go & (above | near)))
        held |= open_rows & said.held & (near | np.isnan(proof))
        blank = ~here & ~np.isnan(proof)
        words = _in_words(joined.column) if blank.any() else here
        by_proof = blank & (said.held | (words & ~said.let_go))
        below_proof = blank & said.let_go & ~words
        mpa = np.where(by_proof, proof, np.where(below_proof, proof * BELOW, mpa))
        held, let_go = held | by_proof, let_go | below_proof
        if column is not None:
            entered = _beside(entered, column.cells, by_proof | below_proof)
        if said.column is not None:
            entered = _beside(entered, said.column.cells, held & said.held | let_go & said.let_go)
    held |= in_failure & open_rows & ~doubt
    bound[held], bound[let_go] = Bound.AT_LEAST, Bound.AT_MOST
    sheet, heading = table.grid.sheet, joined.column.heading
    seen = replace(table.seen(held), cells=entered)
    findings.add_rows("proof_loads_held", Severity.WARNING, seen, sheet=sheet, column=heading)
    seen = replace(table.seen(let_go), cells=entered)
    findings.add_rows("proof_loads_let_go", Severity.WARNING, seen, sheet=sheet, column=heading)
    findings.add_rows(
        "proof_load_disagrees", Severity.WARNING, table.seen(doubt, joined.column), sheet=sheet, column=heading
    )
    doubts = {**joined.doubts, "proof_load_disagrees": doubt}
    return ProofLoads(replace(joined, mpa=mpa, bound=bound, doubts=doubts), held, let_go, entered)


_COLUMNS = frozenset({"proof", "proof_load", "held"})


@dataclass(frozen=True)
class _Said:
    """What the column for "held" says of each row."""

    held: NDArray[np.bool_]
    let_go: NDArray[np.bool_]
    column: Column | None


def _said(
    table: Table, plan: Plan, layout: Layout, valued: NDArray[np.bool_], findings: Findings, *, own: bool
) -> _Said:
    none = np.zeros(len(table), np.bool_)
    measure = next(plan.columns[name] for name in ("strength", "load") if name in plan.columns)
    if "held" in plan.columns and plan.columns["held"] == measure:  # "stress held [MPa]"
        return _Said(~none, none, table.columns[measure])
    if "held" not in plan.columns:
        if own and layout.proof_held is None and valued.any():
            column = table.columns[measure]
            findings.add_rows(
                "proof_without_result",
                Severity.ERROR,
                table.seen(valued, column),
                sheet=table.grid.sheet,
                column=column.heading,
            )
        return _Said(~none if own and layout.proof_held else none, none, None)
    column = table.columns[plan.columns["held"]]
    answers = [held_by_column(text) for text in column.texts]
    told = {answer for answer in answers if answer is not None}
    blank = column.where([answer is None for answer in answers])
    unclear = column.where([answer is Held.UNCLEAR for answer in answers])
    # Where only those that held are marked, a blank says that a pull did not; where both are marked it says nothing.
    marked_only = Held.LET_GO not in told and Held.HELD in told and not own
    unclear = valued & (unclear | (blank & (not marked_only)))
    held = column.where([answer is Held.HELD for answer in answers])
    let_go = column.where([answer is Held.LET_GO for answer in answers])
    if layout.proof_held is None:
        findings.add_rows(
            "proof_unclear",
            Severity.ERROR,
            table.seen(unclear, column, [text or "(blank)" for text in column.texts]),
            sheet=table.grid.sheet,
            column=column.heading,
            facts={"field": "held"},
        )
    elif layout.proof_held:
        held |= unclear
    return _Said(held, let_go, column)


def _proof_mpa(
    table: Table,
    plan: Plan,
    units: dict[str, str],
    area_mm2: NDArray[np.float64],
    layout: Layout,
    findings: Findings,
) -> tuple[NDArray[np.float64], Column | None]:
    """Proof stress of each pull [MPa] from its column, or from a proof load over the tested area."""
    for name, window in (("proof", COLUMN_MPA), ("proof_load", LOAD_N)):
        if name in plan.columns:
            column = table.columns[plan.columns[name]]
            found = read_numbers(
                table, column, name, unit=units.get(name, ""), row_units=None, layout=layout, findings=findings,
                plausible=window, must=False,
            )  # fmt: skip
            return found.value if name == "proof" else found.value / area_mm2, column
    at = None if "held" not in plan.columns else held_at(table.columns[plan.columns["held"]].heading)
    if at is not None and (unit := at[1] or units.get("strength", "")):
        return np.full(len(table), at[0] * to_inside(unit, "strength")[0]), None
    return not_given(len(table)), None


def _beside(texts: Texts, others: Texts, rows: NDArray[np.bool_]) -> Texts:
    """The texts, in some rows with those of another column behind them."""
    if not rows.any():
        return texts
    both = texts.beside(others).map(lambda pair: " | ".join(text for text in pair if text))
    return Coded(np.where(rows, both.codes + np.int32(len(texts.values)), texts.codes), (*texts.values, *both.values))


def _in_words(column: Column) -> NDArray[np.bool_]:
    """Rows whose cell says without a number that a pull held."""
    return column.where([_no_digit(text) and held_in_words(text) is Held.HELD for text in column.texts])


def _no_digit(text: str) -> bool:
    return bool(text) and not any(c.isdigit() for c in text)
