"""Rows below a heading as columns: each distinct cell once, with a code per row. Which rows are pulls and which are
not.

Rows that are no pulls (blank, repeated heading, total or mean, remark) keep their place and their kind, so that nothing
is left out without being named.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.grid import Detail, Grid, Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from adhesion_stats.intake.findings import Seen

__all__ = ["Column", "Table", "build", "fill_merged"]


@dataclass(frozen=True)
class Column:
    """One column: ``codes`` (n,) point into the distinct cells ``texts`` (white space at the ends removed)."""

    index: int
    heading: str
    codes: NDArray[np.int32]
    texts: list[str]
    details: list[Detail | None]
    trimmed: frozenset[str] = frozenset()  # texts that occur with and without white space at the ends

    def select(self, rows: NDArray[np.intp]) -> Column:
        """The same column with the given rows only; distinct cells that no longer occur go."""
        used, codes = np.unique(self.codes[rows], return_inverse=True)
        return Column(
            self.index,
            self.heading,
            codes.astype(np.int32),
            [self.texts[k] for k in used],
            [self.details[k] for k in used],
            self.trimmed,
        )

    @property
    def cells(self) -> list[str]:
        """Text of every row."""
        return [self.texts[code] for code in self.codes]

    def where(self, flags: Sequence[bool]) -> NDArray[np.bool_]:
        """(n,) whether the distinct cell of each row is flagged."""
        return np.asarray(flags, dtype=np.bool_)[self.codes] if len(self.texts) else np.zeros(len(self.codes), np.bool_)

    @property
    def filled(self) -> NDArray[np.bool_]:
        """(n,) whether the cell holds anything."""
        return self.where(
            [bool(text) or detail is not None for text, detail in zip(self.texts, self.details, strict=True)]
        )


@dataclass(frozen=True)
class Table:
    """Columns of equal length with the row number of each row; ``names`` are set once the ids are known."""

    grid: Grid
    columns: list[Column]
    index: NDArray[np.intp]  # into grid.rows
    numbers: NDArray[np.int64]
    names: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.numbers)

    def select(self, rows: NDArray[np.intp]) -> Table:
        """The table with the given rows only."""
        names = tuple(self.names[i] for i in rows) if self.names else ()
        return Table(self.grid, [c.select(rows) for c in self.columns], self.index[rows], self.numbers[rows], names)

    def seen(self, mask: NDArray[np.bool_], column: Column | None = None) -> list[Seen]:
        """(row, id, text of the cell) of the rows in ``mask``, for a message."""
        return [
            (int(self.numbers[i]), self.names[i] if self.names else "", column.texts[column.codes[i]] if column else "")
            for i in np.flatnonzero(mask)
        ]


def _encode(index: int, heading: str, cells: Sequence[str], details: Sequence[Detail | None] | None) -> Column:
    if details is None:
        raw = list(dict.fromkeys(cells))
        known = {text: k for k, text in enumerate(raw)}
        codes = np.fromiter(map(known.__getitem__, cells), np.int32, len(cells))
        if all(text == _clean(text) for text in raw):
            return Column(index, heading, codes, raw, [None] * len(raw))
        stripped: dict[str, int] = {}
        to = np.array([stripped.setdefault(_clean(text), len(stripped)) for text in raw], np.int32)
        plain = list(stripped)
        return Column(index, heading, to[codes] if raw else codes, plain, [None] * len(plain), _trimmed(raw))
    both: dict[tuple[str, Detail | None], int] = {}
    pairs = zip(cells, details, strict=True)
    codes = np.fromiter(
        (both.setdefault((cell.strip(), detail), len(both)) for cell, detail in pairs), np.int32, len(cells)
    )
    return Column(
        index,
        heading,
        codes,
        [text for text, _ in both],
        [detail for _, detail in both],
        _trimmed(dict.fromkeys(cells)),
    )


def _clean(text: str) -> str:
    """Text without white space at its ends, and without the ``="..."`` that keeps a spreadsheet from guessing."""
    plain = text.strip()
    return plain[2:-1].strip() if plain.startswith('="') and plain.endswith('"') and len(plain) > 2 else plain


def _trimmed(raw: Iterable[str]) -> frozenset[str]:
    """Texts that several of the raw cells share once the white space at their ends is gone."""
    counts: dict[str, int] = {}
    for text in raw:
        counts[_clean(text)] = counts.get(_clean(text), 0) + 1
    return frozenset(text for text, count in counts.items() if count > 1 and text)


def build(grid: Grid, first: int, headings: Sequence[str]) -> tuple[Table, list[tuple[int, str]]]:
    """Return the rows from index ``first`` on as a table, and (row number, text) of cells beyond the last heading."""
    width = len(headings)
    rows = grid.rows[first:]
    beyond: list[tuple[int, str]] = []
    if set(map(len, rows)) - {width}:
        padded = []
        for number, row in zip(grid.numbers[first:], rows, strict=True):
            extra = [cell.strip() for cell in row[width:] if cell.strip()]
            if extra:
                beyond.append((number, grid.separator.join(cell.strip() for cell in row)))
            padded.append(row[:width] if len(row) >= width else row + [""] * (width - len(row)))
        rows = padded
    index = np.arange(first, first + len(rows), dtype=np.intp)
    numbers = np.array(grid.numbers[first:], np.int64)
    by_column = list(zip(*rows, strict=True)) if rows else [()] * width
    columns = []
    for c in range(width):
        details = [grid.details.get((int(r), c)) for r in index] if grid.details else None
        columns.append(_encode(c, headings[c], by_column[c], details))
    return Table(grid, columns, index, numbers), beyond


def fill_merged(grid: Grid, columns: set[int] | None = None) -> Grid:
    """Return the grid with merged cells filled down their first column (in ``columns`` only, if given)."""
    if not grid.merged:
        return grid
    rows = [list(row) for row in grid.rows]
    details = dict(grid.details)
    for top, left, bottom, _ in grid.merged:
        if columns is not None and left not in columns:
            continue
        for r in range(top + 1, min(bottom + 1, len(rows))):
            if left < len(rows[r]) and top < len(rows) and left < len(rows[top]):
                rows[r][left] = rows[top][left]
                if (top, left) in details:
                    details[r, left] = details[top, left]
    return Grid(
        grid.file,
        grid.sheet,
        rows,
        grid.numbers,
        details,
        grid.first_column,
        grid.merged,
        grid.hidden_rows,
        grid.hidden_columns,
        grid.hidden,
        grid.separator,
        grid.encoding,
    )


def is_number_cell(detail: Detail | None) -> bool:
    """Whether a workbook cell holds a number."""
    return detail is not None and detail.kind is Kind.NUMBER
