"""What the twin's steps hand to each other: a pull as read, and what could not be checked.

Imports: the standard library. Nothing of the product.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

__all__ = ["GLUE_CODES", "INFINITE", "NotKnown", "Pull", "Unchecked", "number_text"]

GLUE_CODES = ("-/Y", "Y", "Y/Z")  # at or in the dolly adhesive: letters of ISO 4624 and EN 1542
INFINITE = float("inf")


class NotKnown(Exception):
    """Something that the twin does not know; ``code`` names the sentence, ``detail`` what it is about."""

    def __init__(self, code: str, detail: str = "") -> None:
        super().__init__(code, detail)
        self.code, self.detail = code, detail


@dataclass(frozen=True, slots=True)
class Unchecked:
    """Something that the twin did not check: about what, why (a code), and the text it is about."""

    what: str
    code: str
    detail: str = ""


@dataclass(frozen=True)
class Pull:
    """One row of the readings as the twin reads it.

    ``value`` [MPa] is exact as written (a fraction); ``bound`` is "exact", "at least", "at most" or "nothing".
    ``shares`` [% of area] is None where no composition is recorded. ``unread`` holds what the twin could not read in
    this row.
    """

    row: int
    sheet: str
    zone: str
    id: str = ""
    value: Fraction | None = None
    bound: str = "nothing"
    shares: dict[str, Fraction] | None = None
    depth_mm: Fraction | None = None
    lost: bool = False
    retest_of: str = ""
    exclusion: str = ""
    measurement: str = ""
    stage: str = ""
    round: str = ""
    in_doubt: bool = False
    against_method: bool = False
    unread: tuple[Unchecked, ...] = field(default=())
    texts: tuple[str, ...] = field(default=())  # of all cells of the row, to tell a pull from a row about others
    zone_unnamed: bool = False  # no zone stands in the row or in the file

    @property
    def name(self) -> str:
        """The id, else the row."""
        return self.id or f"row {self.row}"

    def share(self, codes: tuple[str, ...]) -> Fraction | None:
        """Share of the area [%] that failed by any of the codes; None where nothing is recorded."""
        if self.shares is None:
            return None
        return sum((share for code, share in self.shares.items() if code in codes), Fraction(0))


def number_text(value: object) -> str:
    """A number for people who compare: 12 significant digits."""
    return f"{float(value):.12g}" if isinstance(value, int | float | Fraction) else str(value)
