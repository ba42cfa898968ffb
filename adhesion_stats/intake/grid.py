"""A grid of cells: what stands where in a file, before anybody asks what it means.

Text files give text cells only. Workbooks also give, for the cells that are more than text, a :class:`Detail`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Detail", "Grid", "Kind"]


class Kind(IntEnum):
    """Kind of a workbook cell that is more than text."""

    NUMBER = 1
    DATE = 2
    BOOLEAN = 3
    ERROR = 4
    UNCOMPUTED = 5  # a formula without stored value


@dataclass(frozen=True, slots=True)
class Detail:
    """What a workbook cell holds beyond the text shown."""

    kind: Kind
    value: float | None = None  # number as stored, not as shown
    iso: str = ""  # of a date
    percent: bool = False
    unit: str = ""  # that the number format shows behind the number
    formula: bool = False
    sums: str = ""  # kind of summary that its formula makes of others in its column


@dataclass(frozen=True)
class Grid:
    """Rows of cells, as shown.

    Attributes
    ----------
    rows
        Text of each cell (white space kept); rows may differ in length; empty rows are kept. A large regular file
        keeps them by column (``cells.ColumnRows``).
    numbers
        Row number of each row in the file (first row or line = 1).
    details
        (index of row, index of column) -> what else the cell holds.
    first_column
        Number of columns left of the first one in ``rows`` (workbooks).
    merged
        (first row, first column, last row, last column) of merged cells, as indices into ``rows``.
    struck
        Numbers (as in ``numbers``) of the rows in which a cell is struck out.
    records
        Whether the rows come from a file whose columns have a kind each (Parquet); no cells of a sheet then.
    """

    file: str
    sheet: str
    rows: Sequence[list[str]]
    numbers: Sequence[int]
    details: dict[tuple[int, int], Detail] = field(default_factory=dict)
    first_column: int = 0
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    hidden: bool = False
    separator: str = ""
    encoding: str = ""
    records: bool = False
    struck: frozenset[int] = frozenset()

    @property
    def is_workbook(self) -> bool:
        """Whether the cells come from a workbook."""
        return not self.separator and not self.encoding and not self.records

    def is_blank(self, index: int) -> bool:
        """Whether a row holds nothing but white space."""
        return not any(cell.strip() for cell in self.rows[index])

    def address(self, index: int, column: int) -> str:
        """Cell address such as ``C7``."""
        number, letters = self.first_column + column + 1, ""
        while number:
            number, rest = divmod(number - 1, 26)
            letters = chr(65 + rest) + letters
        return f"{letters}{self.numbers[index]}"
