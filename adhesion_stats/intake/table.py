"""Rows below a heading as columns: each distinct cell once, with a code per row. Which rows are pulls and which are
not.

Rows that are no pulls (blank, repeated heading, total or mean, remark) keep their place and their kind, so that nothing
is left out without being named.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.intake.cells import Cells, ColumnRows, Shapes, as_lists, first_seen, take
from adhesion_stats.intake.findings import Marked
from adhesion_stats.intake.grid import Detail, Grid, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray


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
    shapes: Shapes | None = None  # of many texts
    distinct: bool = True  # false where a text may stand twice in ``texts``

    def select(self, rows: NDArray[np.intp]) -> Column:
        """The same column with the given rows only; distinct cells that no longer occur go."""
        codes = self.codes[rows]
        here = np.bincount(codes, minlength=len(self.texts)) > 0
        if here.all():
            return replace(self, codes=codes)
        used = np.flatnonzero(here)
        to = np.cumsum(here, dtype=np.int32) - np.int32(1)
        return Column(
            self.index,
            self.heading,
            to[codes],
            [self.texts[k] for k in used],
            [self.details[k] for k in used],
            self.trimmed,
            Shapes(self.shapes.codes[used], self.shapes.texts) if self.shapes is not None else None,
            self.distinct,
        )

    @functools.cached_property
    def cells(self) -> tuple[str, ...]:
        """Text of every row."""
        if not self.distinct and len(self.texts) == len(self.codes) and bool((self.codes[1:] > self.codes[:-1]).all()):
            return tuple(self.texts)  # a text of its own for each row
        return tuple(take(self.texts, self.codes))

    def where(self, flags: Sequence[bool] | NDArray[np.bool_]) -> NDArray[np.bool_]:
        """(n,) whether the distinct cell of each row is flagged."""
        found = np.asarray(flags, dtype=np.bool_)
        return found[self.codes] if found.any() else np.zeros(len(self.codes), np.bool_)

    def by_shape(self, test: Callable[[str], bool]) -> NDArray[np.bool_]:
        """(distinct,) answers of a test to which all digits are alike."""
        if self.shapes is None:
            return np.fromiter(map(test, self.texts), np.bool_, len(self.texts))
        return np.fromiter(map(test, self.shapes.texts), np.bool_, len(self.shapes.texts))[self.shapes.codes]

    @functools.cached_property
    def is_plain(self) -> bool:
        """Whether no cell is more than text."""
        return self.details.count(None) == len(self.details)

    @functools.cached_property
    def filled_text(self) -> NDArray[np.bool_]:
        """(n,) whether the cell holds a text."""
        return np.ones(len(self.codes), np.bool_) if all(self.texts) else self.where([bool(t) for t in self.texts])

    @functools.cached_property
    def filled(self) -> NDArray[np.bool_]:
        """(n,) whether the cell holds anything."""
        if all(self.texts):
            return np.ones(len(self.codes), np.bool_)
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

    @functools.cached_property
    def blanks(self) -> tuple[str, ...]:
        """(n,) "" for every row; one tuple for all columns that the file does not have."""
        return ("",) * len(self)

    def select(self, rows: NDArray[np.intp]) -> Table:
        """The table with the given rows only."""
        if len(rows) == len(self):  # ``rows`` rise
            return self
        names = tuple(self.names[i] for i in rows) if self.names else ()
        return Table(self.grid, [c.select(rows) for c in self.columns], self.index[rows], self.numbers[rows], names)

    def seen(self, mask: NDArray[np.bool_], column: Column | None = None, texts: Sequence[str] | None = None) -> Marked:
        """(row, id, text of the cell) of the rows in ``mask``, for a message; ``texts`` stand in for those of the
        column.
        """
        at = np.flatnonzero(mask)
        if column is None:
            return Marked(self.numbers[at], at, self.names)
        return Marked(self.numbers[at], at, self.names, column.codes, column.texts if texts is None else texts)


def _column(index: int, heading: str, cells: Cells) -> Column:
    """Column of cells as they stand in the file: white space at the ends goes."""
    codes, raw = cells.codes, cells.texts
    if cells.details is None:
        if cells.clean or all(text == _clean(text) for text in raw):
            return Column(index, heading, codes, raw, [None] * len(raw), shapes=cells.shapes, distinct=cells.distinct)
        stripped: dict[str, int] = {}
        to = np.array([stripped.setdefault(_clean(text), len(stripped)) for text in raw], np.int32)
        plain = list(stripped)
        return Column(index, heading, to[codes], plain, [None] * len(plain), _trimmed(raw))
    both: dict[tuple[str, Detail | None], int] = {}
    pairs = zip(raw, cells.details, strict=True)
    to = np.array([both.setdefault((text.strip(), detail), len(both)) for text, detail in pairs], np.int32)
    texts, details = [text for text, _ in both], [detail for _, detail in both]
    return Column(index, heading, to[codes], texts, details, _trimmed(raw))


def _encode(cells: Sequence[str], details: Sequence[Detail | None] | None) -> Cells:
    """Each distinct cell once, in the order in which they first stand there."""
    if details is None:
        raw = list(dict.fromkeys(cells))
        known = {text: k for k, text in enumerate(raw)}
        return Cells(np.fromiter(map(known.__getitem__, cells), np.int32, len(cells)), raw)
    both: dict[tuple[str, Detail | None], int] = {}
    pairs = zip(cells, details, strict=True)
    codes = np.fromiter((both.setdefault(pair, len(both)) for pair in pairs), np.int32, len(cells))
    return Cells(codes, [text for text, _ in both], [detail for _, detail in both])


def _clean(text: str) -> str:
    """Text without white space at its ends, and without the ``="..."`` that keeps a spreadsheet from guessing."""
    plain = text.strip()
    return plain[2:-1].strip() if plain.startswith('="') and plain.endswith('"') and len(plain) > 2 else plain


def _trimmed(raw: Iterable[str]) -> frozenset[str]:
    """Texts that several of the raw cells share once the white space at their ends is gone."""
    counts: dict[str, int] = {}
    for text in dict.fromkeys(raw):
        counts[_clean(text)] = counts.get(_clean(text), 0) + 1
    return frozenset(text for text, count in counts.items() if count > 1 and text)


def build(grid: Grid, first: int, headings: Sequence[str]) -> tuple[Table, list[tuple[int, str]]]:
    """Return the rows from index ``first`` on as a table, and (row number, text) of cells beyond the last heading."""
    width = len(headings)
    regular = _regular(grid, first, width)
    if regular is None:
        grid = as_lists(grid)
    head = regular.head[first:] if regular is not None else grid.rows[first:]
    beyond: list[tuple[int, str]] = []
    if set(map(len, head)) - {width}:
        padded = []
        for number, row in zip(grid.numbers[first : first + len(head)], head, strict=True):
            extra = [cell.strip() for cell in row[width:] if cell.strip()]
            if extra:
                beyond.append((number, grid.separator.join(cell.strip() for cell in row)))
            padded.append(row[:width] if len(row) >= width else row + [""] * (width - len(row)))
        head = padded
    index = np.arange(first, len(grid.rows), dtype=np.intp)
    numbers = _numbers(grid.numbers)
    by_column = list(zip(*head, strict=True)) if head else [()] * width
    columns = []
    for c in range(width):
        if regular is not None:
            cells = _joined(by_column[c], _body(regular, c, max(first - len(regular.head), 0)))
        else:
            cells = _encode(by_column[c], [grid.details.get((int(r), c)) for r in index] if grid.details else None)
        columns.append(_column(c, headings[c], cells))
    return Table(grid, columns, index, numbers[first:]), beyond


def _numbers(numbers: Sequence[int]) -> NDArray[np.int64]:
    if isinstance(numbers, range):
        return np.arange(numbers.start, numbers.stop, numbers.step, dtype=np.int64)
    return np.array(numbers, np.int64)


def _regular(grid: Grid, first: int, width: int) -> ColumnRows | None:
    """The rows kept by column, unless cells beyond the last heading or kinds of cells ask for row by row."""
    rows = grid.rows
    if not isinstance(rows, ColumnRows):
        return None
    beyond = any(text.strip() for cells in rows.body[width:] for text in cells.texts)
    kinds = first < len(rows.head) and any(cells.details is not None for cells in rows.body)
    return None if beyond or kinds else rows


def _body(rows: ColumnRows, column: int, start: int) -> Cells:
    """Cells of a column below the rows that are kept as lists, without the first ``start``; blank beyond the last."""
    if column >= len(rows.body):
        return Cells(np.zeros(len(rows) - len(rows.head) - start, np.int32), [""])
    cells = rows.body[column]
    if start == 0:
        return cells
    texts: dict[tuple[str, Detail | None], int] = {}
    details = cells.details or [None] * len(cells.texts)
    to = np.zeros(len(cells.texts), np.int32)
    for code in first_seen(cells.codes[start:], len(cells.texts)):
        to[code] = texts.setdefault((cells.texts[code], details[code]), len(texts))
    kinds = [detail for _, detail in texts] if cells.details is not None else None
    return Cells(to[cells.codes[start:]], [text for text, _ in texts], kinds)


def _joined(head: Sequence[str], body: Cells) -> Cells:
    """Cells above and below as one column, each distinct text once, in the order in which they first stand there."""
    if not head:
        return body
    known: dict[str, int] = {}
    above = np.fromiter((known.setdefault(text, len(known)) for text in head), np.int32, len(head))
    if len(body.texts) > len(body.codes) // 2:  # nearly every row has a text of its own: one more may stand there twice
        texts = [*known, *body.texts]
        codes = np.concatenate([above, body.codes + np.int32(len(known))])
        shapes = _joined_shapes(list(known), body.shapes)
        clean = body.clean and all(text == _clean(text) for text in known)
        return Cells(codes, texts, None, shapes, clean, distinct=False)
    more = len(known)
    to = np.array([known.setdefault(text, len(known)) for text in body.texts], np.int32)
    clean = body.clean and all(text == _clean(text) for text in list(known)[:more])
    shapes = _joined_shapes(list(known)[:more], body.shapes) if len(known) == more + len(body.texts) else None
    codes = np.empty(len(above) + len(body), np.int32)
    codes[: len(above)] = above
    np.take(to, body.codes, out=codes[len(above) :], mode="clip")  # no code lies outside
    return Cells(codes, list(known), None, shapes, clean)


_DIGITS = str.maketrans("012345678", "9" * 9)


def _joined_shapes(above: list[str], below: Shapes | None) -> Shapes | None:
    if below is None:
        return None
    known = {shape: k for k, shape in enumerate(below.texts)}
    first = [known.setdefault(text.translate(_DIGITS), len(known)) for text in above]
    return Shapes(np.concatenate([np.array(first, np.int32), below.codes]), list(known))


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
