"""What is said of a table's rows and columns once its pulls are known: values that are none, what is hidden, struck out
or not used. Nothing is changed here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.markers import Meaning
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import Bound

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.heading_rows import HeadingRow
    from adhesion_stats.intake.numeric import Numbers
    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.strength import Strength
    from adhesion_stats.intake.table import Table

__all__ = ["say_hidden", "say_unused", "say_values", "struck_out"]


# Words over a column that says which pulls count, folded.
_COUNTS = (
    *(
        "valid",
        "invalid",
        "outlier",
        "discard",
        "reject",
        "accepted",
        "usable",
        "used in",
        "use in",
        "counts",
        "do not use",
    ),
    *(
        "gultig",
        "ungultig",
        "ausreisser",
        "verworfen",
        "verwertbar",
        "gewertet",
        "valide",
        "aberrant",
        "retenu",
        "rejete",
    ),
    *("valido", "valida", "atipico", "rechazad", "anomalo", "scartat", "aberrante", "rejeitad", "wazny", "odrzucon"),
)


def _says_which_count(heading: str) -> bool:
    folded = f" {fold(heading)}"
    return any(f" {word}" in folded for word in _COUNTS)


def say_unused(table: Table, plan: Plan, heading: HeadingRow, findings: Findings) -> None:
    """Cells under no heading, and columns that nothing was made of; of these one that says which pulls count is named
    by its cells: nobody may take it as heeded.
    """
    nameless = [
        column
        for column in table.columns
        if not column.heading and column.index not in plan.columns.values() and column.filled.any()
    ]
    for column in nameless:
        findings.add_rows(
            "cells_without_heading",
            Severity.WARNING,
            table.seen(column.filled, column),
            sheet=table.grid.sheet,
            column=f"#{column.index + 1}",
        )
    judged = [c for c in plan.unused if _says_which_count(heading.texts[c])]
    for c in judged:
        column = table.columns[c]
        findings.add_rows(
            "column_of_valid_pulls",
            Severity.WARNING,
            table.seen(column.filled, column),
            sheet=table.grid.sheet,
            column=column.heading,
        )
    unused = tuple(heading.texts[c] for c in plan.unused if c not in judged)
    if unused:
        findings.add(
            "columns_not_used",
            Severity.NOTE,
            sheet=table.grid.sheet,
            row=table.grid.numbers[heading.index],
            facts={"headings": unused},
        )


def say_values(
    table: Table,
    joined: Strength,
    words: Numbers,
    lost: NDArray[np.bool_],
    proofs: NDArray[np.bool_],
    findings: Findings,
) -> None:
    """Pulls without a value, each by what is known of it: lost, glue failure, another word, nothing. Bounds, without
    those of proof loads, of which more is said.
    """
    sheet, column = table.grid.sheet, joined.column
    none = np.isnan(joined.mpa) & ~words.bad & ~words.given
    facts = {"measured": int(np.count_nonzero(~np.isnan(joined.mpa))), "total": len(table)}
    glue, word = words.meanings[Meaning.GLUE] & ~lost, words.meanings[Meaning.WORD] & ~lost
    lacking = none & ~(glue | word | lost)
    said = words.meanings[Meaning.LOST]  # pulls lost by a column or a remark are named by lost_of
    seen = table.seen(lacking, column, [text or "(blank)" for text in column.texts])
    findings.add_rows("value_missing", Severity.WARNING, seen, sheet=sheet, column=column.heading, facts=facts)
    for which, code in ((glue, "glue_without_value"), (word, "word_for_value"), (said, "lost_without_value")):
        findings.add_rows(
            code,
            Severity.WARNING,
            table.seen(none & which, column),
            sheet=sheet,
            column=column.heading,
            facts=facts,
        )
    for bound, code in ((Bound.AT_LEAST, "lower_bounds"), (Bound.AT_MOST, "upper_bounds")):
        findings.add_rows(
            code,
            Severity.WARNING,
            table.seen((joined.bound == bound) & ~proofs, column),
            sheet=sheet,
            column=column.heading,
        )


def say_hidden(table: Table, findings: Findings) -> None:
    """Hidden rows and columns, which are read like the others."""
    grid = table.grid
    if grid.hidden_rows:
        mask = np.isin(table.index, np.array(sorted(grid.hidden_rows), np.intp))
        findings.add_rows("hidden_rows_read", Severity.WARNING, table.seen(mask), sheet=grid.sheet)
    hidden = tuple(column.heading for column in table.columns if column.index in grid.hidden_columns and column.heading)
    if hidden:
        findings.add("hidden_columns_read", Severity.NOTE, sheet=grid.sheet, facts={"headings": hidden})


def struck_out(table: Table, findings: Findings) -> NDArray[np.bool_]:
    """Rows with a struck-out cell: somebody took something back, and did not say what for."""
    mask = np.zeros(len(table), np.bool_)
    if table.grid.struck:
        mask[:] = [table.grid.numbers[i] in table.grid.struck for i in table.index.tolist()]
    findings.add_rows("struck_out", Severity.WARNING, table.seen(mask), sheet=table.grid.sheet)
    return mask
