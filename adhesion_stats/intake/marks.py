"""Which mark parts decimals in a column and which thousands: by the layout, by clear cells, by what is plausible.

Knows numbers as texts; must not know tables or fields.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from adhesion_stats.intake.numbers import Marks, both_readings

if TYPE_CHECKING:
    from adhesion_stats.terms.layout import Layout

__all__ = ["decided_marks"]


def decided_marks(
    marks: Marks, layout: Layout, plausible: tuple[float, float] | None
) -> tuple[frozenset[str], frozenset[str]]:
    """Decimal marks and thousands marks of a column.

    Order: a layout; what clear cells show. A point before three digits with no other evidence is a decimal point only
    where the other reading is beyond anything plausible; a comma is then never guessed.
    """
    if layout.decimal is not None:
        return frozenset({layout.decimal}), frozenset({"." if layout.decimal == "," else ","})
    if not marks.open:
        return marks.decimal, marks.thousands
    if {".", ","} <= marks.decimal:  # both are decimal marks here, so a text that can be read twice stays open
        return marks.decimal, frozenset({".", ","})
    decimal, thousands = set(marks.decimal), set(marks.thousands)
    for mark, other in ((".", ","), (",", ".")):
        unsure = [text for text in marks.open if mark in text]
        if not unsure or mark in decimal or mark in thousands:
            continue
        pairs = [both_readings(text) for text in unsure]
        if (
            other in decimal
            and other not in thousands
            and plausible
            and _all_within([p[1] for p in pairs], plausible)
            and not _any_within([p[0] for p in pairs], plausible)
        ):
            thousands.add(mark)
        elif (
            mark == "."
            and other not in decimal
            and plausible
            and _all_within([p[0] for p in pairs], plausible)
            and not _any_within([p[1] for p in pairs], plausible)
        ):
            decimal.add(mark)
    return frozenset(decimal), frozenset(thousands)


def _all_within(values: list[float], limits: tuple[float, float]) -> bool:
    return all(limits[0] <= value <= limits[1] for value in values)


def _any_within(values: list[float], limits: tuple[float, float]) -> bool:
    return any(limits[0] <= value <= limits[1] for value in values)
