"""Cells by column, as coded text. Also seen as rows, made one at a time when asked for.

A large regular file is never cut into a list a row. Must not know separators, headings or what a column means.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, overload

import numpy as np

from adhesion_stats.coded import Texts

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from adhesion_stats.intake.grid import Detail, Grid

__all__ = ["Cells", "ColumnRows", "as_lists", "cells_of", "rows_where"]


@dataclass(frozen=True)
class Cells:
    """One column as it stands in the file.

    Attributes
    ----------
    text
        Text of every row.
    details
        What else each of ``text.values`` holds; None where no cell is more than text.
    shapes
        Where there are many texts: each of ``text.values`` with every digit 0-9 replaced by 9. What depends on the
        letters and marks of a text only is asked once a shape, not once a text.
    clean
        No text has white space or an equals sign at an end.
    """

    text: Texts
    details: Sequence[Detail | None] | None = None
    shapes: Texts | None = None
    clean: bool = False

    def __len__(self) -> int:
        return len(self.text)


@dataclass(frozen=True)
class ColumnRows(Sequence[list[str]]):
    """Rows of a file: the first ones as lists of any length, then regular ones kept by column."""

    head: list[list[str]]
    body: list[Cells]
    _length: int = field(default=0, init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_length", len(self.head) + (len(self.body[0]) if self.body else 0))

    def __len__(self) -> int:
        return self._length

    @overload
    def __getitem__(self, at: int) -> list[str]: ...

    @overload
    def __getitem__(self, at: slice) -> list[list[str]]: ...

    def __getitem__(self, at: int | slice) -> list[str] | list[list[str]]:
        if isinstance(at, slice):
            return self._rows(*at.indices(len(self)))
        index = at + len(self) if at < 0 else at
        if not 0 <= index < len(self):
            raise IndexError(at)
        if index < len(self.head):
            return self.head[index]
        return [cells.text[index - len(self.head)] for cells in self.body]

    def _rows(self, start: int, stop: int, step: int) -> list[list[str]]:
        if step != 1:
            return [self[i] for i in range(start, stop, step)]
        edge = len(self.head)
        first, last = max(start - edge, 0), max(stop - edge, 0)
        columns = [cells.text[first:last] for cells in self.body]
        return self.head[start:stop] + [list(row) for row in zip(*columns, strict=True)]


def as_lists(grid: Grid) -> Grid:
    """The same grid with a list a row, for what puts rows together anew."""
    rows = grid.rows
    if not isinstance(rows, ColumnRows):
        return grid
    details = dict(grid.details)
    for c, cells in enumerate(rows.body):
        if cells.details is not None:
            for r, code in enumerate(cells.text.codes.tolist(), len(rows.head)):
                detail = cells.details[code]
                if detail is not None:
                    details[r, c] = detail
    return replace(grid, rows=rows[:], details=details)


def cells_of(rows: Sequence[list[str]], column: int, first: int) -> tuple[list[str], NDArray[np.int64]]:
    """Texts of a column from row ``first`` on, and how often each occurs; rows that end before it have none."""
    if not isinstance(rows, ColumnRows):
        counts: dict[str, int] = {}
        for row in rows[first:]:
            if column < len(row):
                counts[row[column]] = counts.get(row[column], 0) + 1
        return list(counts), np.array(list(counts.values()), np.int64)
    texts, many = cells_of(rows.head, column, first)
    if column >= len(rows.body):
        return texts, many
    body = rows.body[column].text
    found = np.bincount(body.codes[max(first - len(rows.head), 0) :], minlength=len(body.values))
    return texts + [body.values[k] for k in np.flatnonzero(found).tolist()], np.concatenate([many, found[found > 0]])


def rows_where(rows: Sequence[list[str]], column: int, first: int, test: Callable[[str], bool]) -> list[int]:
    """Indices from ``first`` on of rows whose cell in ``column`` passes the test; a row that ends before it has ""."""
    if not isinstance(rows, ColumnRows):
        return [i for i in range(first, len(rows)) if test(rows[i][column] if column < len(rows[i]) else "")]
    found = rows_where(rows.head, column, first, test)
    edge, start = len(rows.head), max(first - len(rows.head), 0)
    if column >= len(rows.body):
        return found + (list(range(edge + start, len(rows))) if test("") else [])
    flags = rows.body[column].text.where(test)[start:]
    return found + (np.flatnonzero(flags) + edge + start).tolist()
