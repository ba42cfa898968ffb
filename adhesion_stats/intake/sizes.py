"""Text of a size cell -> tested area: ``50``, ``50 mm``, ``2"``, ``Ø 50,8 mm``, ``50 x 50 mm``, ``40 mm square``.

A size is round unless its text says otherwise.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from adhesion_stats.intake.numbers import Body, Marks, Problem, decide_marks, interpret, plain_digits, split
from adhesion_stats.intake.quantities import is_unit, to_inside

__all__ = ["Size", "numbers_in", "parse_size", "says_square"]


@dataclass(frozen=True, slots=True)
class Size:
    """``side_mm`` = diameter of a circle or side of a square (nan for other rectangles); ``bare`` = no unit
    anywhere.
    """

    area_mm2: float
    side_mm: float
    square: bool = False
    bare: bool = False
    number: float = math.nan
    problem: Problem = Problem.NONE


_SQUARE = re.compile(
    r"\b(?:square|quadratisch|quadrat|sq\.?|carr[ée]e?|cuadrad[oa]|quadrat[oa]|quadrad[oa]|kwadrat\w*)(?=\s|$|\.)|[□■◻]",
    re.IGNORECASE,
)
_ROUND = re.compile(
    r"[Ø⌀∅ø]|\b(?:dia(?:m(?:eter)?)?\.?|round|rund|circular|durchmesser|d\s*=)(?=[\s\d=:]|$)\s*[:=]?", re.IGNORECASE
)
_CROSS = re.compile(r"\s*(?:[x×✕*]|\bby\b)\s*", re.IGNORECASE)


_SIDE = re.compile(r"\b(?:side|seitenl[äa]nge|kantenl[äa]nge|kante|c[ôo]t[ée]|lado|lato|bok)\b", re.IGNORECASE)


def says_square(text: str) -> bool:
    """Whether a heading, or a line above it, says that sizes are sides of squares."""
    return (_SQUARE.search(text.replace("(", " ").replace("[", " ")) or _SIDE.search(text)) is not None


def _is_length(text: str) -> bool:
    return is_unit(text, "length")


def _pieces(text: str) -> tuple[list[str], bool]:
    plain = plain_digits(text).strip().replace("''", '"').replace("“", '"').replace("”", '"').replace("″", '"')
    square = _SQUARE.search(plain) is not None
    plain = _ROUND.sub(" ", _SQUARE.sub(" ", plain)).strip()
    return [piece.strip() for piece in _CROSS.split(plain)], square


def numbers_in(text: str) -> list[str]:
    """Numbers as written in a size text, for deciding the decimal mark of the column."""
    bodies = [split(piece, _is_length) for piece in _pieces(text)[0]]
    return [body.number for body in bodies if body.problem is Problem.NONE]


def parse_size(
    text: str, *, unit: str, marks: Marks | None = None, value: float | None = None, square: bool = False
) -> Size:
    """Return the size written in ``text``; ``unit`` is that of the heading ("" for none: a bare number is millimetres).

    ``value`` is the stored number of a workbook cell; ``square``: a lone number is a side, unless the text says round.
    A text that is no size has a ``problem``.

    >>> round(parse_size("2 in", unit="").area_mm2, 2)
    2026.83
    """
    pieces, said = _pieces(text)
    square = said or (square and _ROUND.search(text) is None)
    if len(pieces) > 2:
        return Size(math.nan, math.nan, problem=Problem.UNREADABLE)
    bodies = [split(piece, _is_length) for piece in pieces]
    unreadable = next((body.problem for body in bodies if body.problem is not Problem.NONE), None)
    if unreadable is not None:
        return Size(math.nan, math.nan, problem=unreadable)
    written = next((body.unit for body in reversed(bodies) if body.unit), "")
    sides: list[float] = []
    first = math.nan
    for body in bodies:
        number = _value(body, marks, value if len(bodies) == 1 else None)
        if isinstance(number, Problem):
            return Size(math.nan, math.nan, problem=number)
        first = number if math.isnan(first) else first
        factor, _ = to_inside(body.unit or written or unit or "mm", "diameter")
        sides.append(number * factor)
    bare = not (written or unit)
    if len(sides) == 2:
        side = sides[0] if sides[0] == sides[1] else math.nan
        return Size(sides[0] * sides[1], side, square=True, bare=bare, number=first)
    if square:
        return Size(sides[0] ** 2, sides[0], square=True, bare=bare, number=first)
    return Size(math.pi * sides[0] ** 2 / 4.0, sides[0], bare=bare, number=first)


def _value(body: Body, marks: Marks | None, stored: float | None) -> float | Problem:
    if body.bound or body.about:
        return Problem.UNREADABLE
    if stored is not None:
        return stored if stored > 0 else Problem.UNREADABLE
    known = marks or decide_marks([body.number])
    parsed = interpret(body.number, known.decimal, known.thousands)
    if parsed.problem is not Problem.NONE:
        return parsed.problem
    return parsed.value if parsed.value > 0 else Problem.UNREADABLE
