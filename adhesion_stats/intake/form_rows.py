"""Rows that belong to a form and not to the readings: columns numbered below their headings, rules drawn of signs, and
the row that shows how to fill the form in.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.folding import fold

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from adhesion_stats.intake.proposal import Plan
    from adhesion_stats.intake.table import Table

__all__ = ["example_rows", "form_rows"]

_RULE = re.compile(r"[-=_:+|~.*–—]{3,}|:?-+:?")
_NUMBERED = re.compile(r"[\[(]?\s*(\d{1,2}|[a-z])\s*[\])]?\s*(?:=.*)?", re.IGNORECASE)
_FEWEST = 3  # cells of a row that numbers its columns
_EXAMPLE = re.compile(
    r"(?:e g|eg|z b|zb|p ex|por ej|p ej|ad es|np|example|beispiel|exemple|ejemplo|esempio|exemplo|przyklad|voorbeeld|"
    r"exempel|sample row|musterzeile|for example|zum beispiel|par exemple)(?: .*|\d*)"
)


def form_rows(table: Table, plan: Plan, left: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows drawn of signs, and a first row that numbers or letters the columns (1, 2, 3 or a, b, c) from the left.

    A first row of 1, 2, 3 is a pull where other rows belong to the same zone.
    """
    found = np.zeros(len(table), np.bool_)
    ruled = np.zeros(len(table), np.bool_)
    for column in table.columns:
        flags = column.by_shape(lambda text: bool(_RULE.fullmatch(text)))
        if flags.any():
            ruled |= column.where(flags)
    for i in np.flatnonzero(ruled & ~left).tolist():
        cells = [column.cells[i] for column in table.columns if column.cells[i]]
        found[i] = all(_RULE.fullmatch(cell) for cell in cells) and max(map(len, cells)) > 2
    rest = ~(left | found)
    first = int(rest.argmax()) if len(rest) else 0
    if not len(rest) or not rest[first]:
        return found
    cells = [column.cells[first] for column in table.columns if column.cells[first]]
    said = [_NUMBERED.fullmatch(cell) for cell in cells]
    marks = [part[1].casefold() if part else "" for part in said]
    count = len(marks)
    lettered = marks == [chr(97 + k) for k in range(count)] and count <= 26
    if count >= _FEWEST and (lettered or marks == [str(k + 1) for k in range(count)]):
        zone = table.columns[plan.columns["zone"]] if "zone" in plan.columns else None
        alone = zone is None or int(np.count_nonzero((zone.codes == zone.codes[first]) & rest)) == 1
        found[first] = alone and (zone is not None or count > _FEWEST or lettered)
    return found


def example_rows(table: Table, plan: Plan, left: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows whose zone or id says that they are an example."""
    found = np.zeros(len(table), np.bool_)
    for name in ("zone", "id"):
        column = table.columns[plan.columns[name]] if name in plan.columns else None
        if column is not None:
            found |= column.where(column.by_shape(lambda text: bool(text) and bool(_EXAMPLE.fullmatch(fold(text)))))
    return found & ~left
