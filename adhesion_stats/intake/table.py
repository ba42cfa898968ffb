"""Rows below a heading as columns of coded text. Which rows are pulls and which are not.

Rows that are no pulls (blank, repeated heading, total or mean, remark) keep their place and their kind, so that nothing
is left out without being named.
"""

from __future__ import annotations

import functools
import operator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, PackedTexts, Texts, filled
from adhesion_stats.intake.cells import Cells, ColumnRows, as_lists, rows_where
from adhesion_stats.intake.findings import Marked
from adhesion_stats.intake.grid import Detail, Grid, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray


__all__ = ["Column", "Table", "build", "fill_merged", "without_ditto"]

_DITTO = frozenset(
    {
        '"',
        "''",
        "〃",
        "″",
        "”",
        "„",
        '-"-',
        '- " -',
        "do.",
        "dto.",
        "dito",
        "ditto",
        "idem",
        "id.",
        "ibid.",
        "j.w.",
        "jw.",
        "↓",
        "|",
        "=",
        "s.o.",
        "as above",
        "same",
        "same as above",
        "wie oben",
        "siehe oben",
        "ebenso",
        "ídem",
        "lo mismo",
        "come sopra",
        "jak wyżej",
        "o mesmo",
        "comme ci-dessus",
    }
)


@dataclass(frozen=True)
class Column:
    """One column below its heading.

    Attributes
    ----------
    cells : (n,)
        Text of every row, white space at the ends removed.
    details
        What else each of the distinct cells (``texts``) holds.
    trimmed
        Texts that occur with and without white space at the ends.
    shapes
        Of many texts, see ``cells.Cells``.
    """

    index: int
    heading: str
    cells: Texts
    details: Sequence[Detail | None]
    trimmed: frozenset[str] = frozenset()
    shapes: Texts | None = None

    @property
    def codes(self) -> NDArray[np.int32]:
        """(n,) index of each row's cell in ``texts``."""
        return self.cells.codes

    @property
    def texts(self) -> Sequence[str]:
        """The distinct cells."""
        return self.cells.values

    def select(self, rows: NDArray[np.intp]) -> Column:
        """The same column with the given rows only; distinct cells that no longer occur go."""
        cells, used = self.cells.take(rows).only_used()
        if len(used) == len(self.texts):
            return replace(self, cells=cells)
        details = [self.details[k] for k in used.tolist()] if not self.is_plain else _no_details(len(used))
        shapes = self.shapes.take(used) if self.shapes is not None else None
        return replace(self, cells=cells, details=details, shapes=shapes)

    def where(self, flags: Sequence[bool] | NDArray[np.bool_]) -> NDArray[np.bool_]:
        """(n,) whether the distinct cell of each row is flagged."""
        return self.cells.flagged(flags)

    def by_shape(self, test: Callable[[str], bool]) -> NDArray[np.bool_]:
        """(distinct,) answers of a test to which all digits are alike."""
        if self.shapes is None:
            return np.fromiter(map(test, self.texts), np.bool_, len(self.texts))
        return self.shapes.where(test)

    @functools.cached_property
    def is_plain(self) -> bool:
        """Whether no cell is more than text."""
        return not any(detail is not None for detail in _once_each(self.details))

    @functools.cached_property
    def filled_text(self) -> NDArray[np.bool_]:
        """(n,) whether the cell holds a text."""
        return self.where(filled(self.texts))

    @functools.cached_property
    def filled(self) -> NDArray[np.bool_]:
        """(n,) whether the cell holds anything."""
        if self.is_plain:
            return self.filled_text
        return self.where(filled(self.texts) | np.array([detail is not None for detail in self.details], np.bool_))


@dataclass(frozen=True)
class Table:
    """Columns of equal length with the row number of each row; ``names`` are set once the ids are known."""

    grid: Grid
    columns: list[Column]
    index: NDArray[np.intp]  # into grid.rows
    numbers: NDArray[np.int64]
    names: Texts | None = None

    def __len__(self) -> int:
        return len(self.numbers)

    @functools.cached_property
    def blanks(self) -> Texts:
        """(n,) "" for every row: a column that the file does not have."""
        return Coded.same("", len(self))

    def select(self, rows: NDArray[np.intp]) -> Table:
        """The table with the given rows only."""
        if len(rows) == len(self):  # ``rows`` rise
            return self
        names = None if self.names is None else self.names.take(rows)
        return Table(self.grid, [c.select(rows) for c in self.columns], self.index[rows], self.numbers[rows], names)

    def seen(self, mask: NDArray[np.bool_], column: Column | None = None, texts: Sequence[str] | None = None) -> Marked:
        """(row, id, text of the cell) of the rows in ``mask``, for a message; ``texts`` stand in for those of the
        column.
        """
        at = np.flatnonzero(mask)
        cells = None if column is None else column.cells if texts is None else Coded(column.codes, texts)
        return Marked(self.numbers[at], at, self.names, cells)


def _column(index: int, heading: str, cells: Cells) -> Column:
    """Column of cells as they stand in the file: white space at the ends goes."""
    codes, raw = cells.text.codes, cells.text.values
    if cells.details is None:
        if cells.clean or all(text == _clean(text) for text in raw):
            return Column(index, heading, cells.text, _no_details(len(raw)), shapes=cells.shapes)
        stripped: dict[str, int] = {}
        to = np.array([stripped.setdefault(_clean(text), len(stripped)) for text in raw], np.int32)
        plain = Coded(to[codes], tuple(stripped))
        return Column(index, heading, plain, _no_details(len(stripped)), _trimmed(raw))
    both: dict[tuple[str, Detail | None], int] = {}
    pairs = zip(raw, cells.details, strict=True)
    to = np.array([both.setdefault((text.strip(), detail), len(both)) for text, detail in pairs], np.int32)
    texts = Coded(to[codes], tuple(text for text, _ in both))
    return Column(index, heading, texts, [detail for _, detail in both], _trimmed(raw))


def _no_details(n: int) -> Coded[Detail | None]:
    """Of ``n`` cells that are text only; takes no memory."""
    return Coded[Detail | None].same(None, n)


def _once_each(details: Sequence[Detail | None]) -> Sequence[Detail | None]:
    return details.values if isinstance(details, Coded) else details


def _encode(cells: Sequence[str], details: Sequence[Detail | None] | None) -> Cells:
    """Each distinct cell once, in the order in which they first stand there."""
    if details is None:
        return Cells(Coded.of(cells))
    both: dict[tuple[str, Detail | None], int] = {}
    pairs = zip(cells, details, strict=True)
    codes = np.fromiter((both.setdefault(pair, len(both)) for pair in pairs), np.int32, len(cells))
    return Cells(Coded(codes, tuple(text for text, _ in both)), [detail for _, detail in both])


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


def without_ditto(grid: Grid, column: int | None, first: int) -> Grid:
    """Return the grid with marks for "as above" in a column of zones as blanks, carried down or asked about later."""
    at = (
        rows_where(grid.rows, column, first, lambda cell: cell.strip().casefold() in _DITTO)
        if column is not None
        else []
    )
    if column is None or not at:
        return grid
    grid = as_lists(grid)
    rows = list(grid.rows)
    for i in at:
        rows[i] = [*rows[i][:column], "", *rows[i][column + 1 :]]
    details = {place: detail for place, detail in grid.details.items() if place[1] != column or place[0] not in set(at)}
    return replace(grid, rows=rows, details=details)


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
    if regular is not None:
        bodies = [_body(regular, c, max(first - len(regular.head), 0)) for c in range(width)]
        with ThreadPoolExecutor(2) as pool:
            columns = list(pool.map(_column, range(width), headings, pool.map(_joined, by_column, bodies)))
    else:
        details = [[grid.details.get((int(r), c)) for r in index] if grid.details else None for c in range(width)]
        columns = list(map(_column, range(width), headings, map(_encode, by_column, details)))
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
    beyond = any(text.strip() for cells in rows.body[width:] for text in cells.text.values)
    kinds = first < len(rows.head) and any(cells.details is not None for cells in rows.body)
    return None if beyond or kinds else rows


def _body(rows: ColumnRows, column: int, start: int) -> Cells:
    """Cells of a column below the rows that are kept as lists, without the first ``start``; blank beyond the last."""
    if column >= len(rows.body):
        return Cells(Coded.same("", len(rows) - len(rows.head) - start))
    cells = rows.body[column]
    if start == 0:
        return cells
    rest = cells.text[start:]
    if cells.details is None:
        return Cells(rest.tidy)
    pairs = Coded(rest.codes, tuple(zip(rest.values, cells.details, strict=True))).tidy
    return Cells(pairs.map(operator.itemgetter(0)), [detail for _, detail in pairs.values])


def _joined(head: Sequence[str], body: Cells) -> Cells:
    """Cells above and below as one column, each distinct text once, in the order in which they first stand there.

    Where nearly every row has a text of its own, a text from above may stand there twice.
    """
    if not head:
        return body
    above = Coded.of(head)
    more = len(above.values)
    clean = body.clean and all(text == _clean(text) for text in above.values)
    texts, shapes = body.text.values, body.shapes
    codes = np.empty(len(above) + len(body), np.int32)
    codes[: len(above)] = above.codes
    if isinstance(texts, PackedTexts):
        values: Sequence[str] = texts.after(above.values)
        np.add(body.text.codes, np.int32(more), out=codes[len(above) :])
    else:
        known = {text: k for k, text in enumerate(above.values)}
        to = np.array([known.setdefault(text, len(known)) for text in texts], np.int32)
        values = tuple(known)
        np.take(to, body.text.codes, out=codes[len(above) :], mode="clip")  # no code lies outside
        shapes = shapes.take(to >= more) if shapes is not None else None
    if shapes is not None:
        shapes = Coded.joined([Coded.of(text.translate(_DIGITS) for text in above.values), shapes])
    return Cells(Coded(codes, values), None, shapes, clean)


_DIGITS = str.maketrans("012345678", "9" * 9)


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
    return replace(grid, rows=rows, details=details)


def is_number_cell(detail: Detail | None) -> bool:
    """Whether a workbook cell holds a number."""
    return detail is not None and detail.kind is Kind.NUMBER
