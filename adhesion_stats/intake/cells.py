"""Cells by column: each distinct cell once, with a code per row. Also seen as rows, made one at a time when asked for.

A large regular file is never cut into a list a row. Must not know separators, headings or what a column means.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, overload

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from adhesion_stats.intake.grid import Detail, Grid

__all__ = ["Cells", "ColumnRows", "Shapes", "as_lists", "cells_of", "first_seen", "rows_where", "take"]


@dataclass(frozen=True)
class Shapes:
    """Texts with every digit 0-9 replaced by 9: ``codes`` point from each text into the few distinct ``texts``.

    What depends on the letters and marks of a text only is asked once a shape, not once a text.
    """

    codes: NDArray[np.int32]
    texts: list[str]


@dataclass(frozen=True)
class Cells:
    """One column as it stands in the file: row i holds ``texts[codes[i]]``.

    Where nearly every row has a text of its own, ``texts`` may hold one twice (``distinct`` is then false).
    ``details`` is None where no cell is more than text; ``clean`` says that no text has white space or an equals sign
    at an end.
    """

    codes: NDArray[np.int32]
    texts: list[str]
    details: list[Detail | None] | None = None
    shapes: Shapes | None = None
    clean: bool = False
    distinct: bool = True

    def __len__(self) -> int:
        return len(self.codes)

    def at(self, row: int) -> str:
        """Text of one row."""
        return self.texts[int(self.codes[row])]


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
        return [cells.at(index - len(self.head)) for cells in self.body]

    def _rows(self, start: int, stop: int, step: int) -> list[list[str]]:
        if step != 1:
            return [self[i] for i in range(start, stop, step)]
        edge = len(self.head)
        first, last = max(start - edge, 0), max(stop - edge, 0)
        columns = [take(cells.texts, cells.codes[first:last]) for cells in self.body]
        return self.head[start:stop] + [list(row) for row in zip(*columns, strict=True)]


def as_lists(grid: Grid) -> Grid:
    """The same grid with a list a row, for what puts rows together anew."""
    rows = grid.rows
    if not isinstance(rows, ColumnRows):
        return grid
    details = dict(grid.details)
    for c, cells in enumerate(rows.body):
        if cells.details is not None:
            for r, code in enumerate(cells.codes.tolist(), len(rows.head)):
                detail = cells.details[code]
                if detail is not None:
                    details[r, c] = detail
    return replace(grid, rows=rows[:], details=details)


def take(texts: Sequence[str], codes: NDArray[np.int32]) -> list[str]:
    """Text of each code."""
    if len(texts) == 1:
        return [texts[0]] * len(codes)
    if len(codes) < 1000:
        return [texts[code] for code in codes.tolist()]
    changes = np.flatnonzero(codes[1:] != codes[:-1]) + 1
    if len(changes) < len(codes) // 20:  # long runs, as of zones
        edges = [0, *changes.tolist(), len(codes)]
        found: list[str] = []
        for start, end in itertools.pairwise(edges):
            found += [texts[codes[start]]] * (end - start)
        return found
    words = np.empty(len(texts), dtype=object)
    words[:] = texts
    each: list[str] = words.take(codes).tolist()
    return each


def first_seen(codes: NDArray[np.int32], many: int) -> list[int]:
    """The codes (below ``many``) that occur, in the order of their first places."""
    first = np.full(many, -1, np.int64)
    first[codes[::-1]] = np.arange(len(codes) - 1, -1, -1)  # the last assignment stays
    here = np.flatnonzero(first >= 0)
    order: list[int] = here[np.argsort(first[here])].tolist()
    return order


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
    cells = rows.body[column]
    found = np.bincount(cells.codes[max(first - len(rows.head), 0) :], minlength=len(cells.texts))
    return texts + [cells.texts[k] for k in np.flatnonzero(found)], np.concatenate([many, found[found > 0]])


def rows_where(rows: Sequence[list[str]], column: int, first: int, test: Callable[[str], bool]) -> list[int]:
    """Indices from ``first`` on of rows whose cell in ``column`` passes the test; a row that ends before it has ""."""
    if not isinstance(rows, ColumnRows):
        return [i for i in range(first, len(rows)) if test(rows[i][column] if column < len(rows[i]) else "")]
    found = rows_where(rows.head, column, first, test)
    edge, start = len(rows.head), max(first - len(rows.head), 0)
    if column >= len(rows.body):
        return found + (list(range(edge + start, len(rows))) if test("") else [])
    cells = rows.body[column]
    flags = np.fromiter(map(test, cells.texts), np.bool_, len(cells.texts))
    if not flags.any():
        return found
    return found + (np.flatnonzero(flags[cells.codes[start:]]) + edge + start).tolist()
