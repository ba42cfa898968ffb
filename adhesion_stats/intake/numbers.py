"""Text of a cell -> number, bound, unit and footnote mark. Nothing is guessed: what can be read twice is said to be so.

The decimal mark is decided for a whole column (:func:`decide_marks`) from every distinct text in it. No library parses
a number here. Must not know columns, files or what a number is about.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

__all__ = [
    "NUMBER",
    "Body",
    "Marks",
    "Parsed",
    "Problem",
    "decide_marks",
    "interpret",
    "parse",
    "plain_digits",
    "split",
]

BoundWord = Literal["", "at_least", "at_most"]
_LONGEST = 80  # a longer text is a sentence, no number
_GROUP_BLANKS = " \u00a0\u202f\u2009\u2007'’"


class Problem(StrEnum):
    """Why a text gives no number."""

    NONE = ""
    NO_DIGITS = "no_digits"  # words or marks
    UNREADABLE = "unreadable"  # digits, but no number of any known form
    AMBIGUOUS = "ambiguous"  # 1,234: one point two or one thousand
    SEVERAL = "several"  # two numbers or a range


@dataclass(frozen=True, slots=True)
class Body:
    """A cell taken apart: number as written, what stands before and after it."""

    number: str
    bound: BoundWord = ""
    strict: bool = False  # ">" rather than "≥"
    about: bool = False  # "ca.", "~"
    unit: str = ""
    mark: str = ""
    problem: Problem = Problem.NONE


@dataclass(frozen=True, slots=True)
class Parsed:
    """A number as read; ``decimals`` = digits after the decimal mark, None for numbers with exponent."""

    value: float
    decimals: int | None
    problem: Problem = Problem.NONE


@dataclass(frozen=True)
class Marks:
    """What the texts of one column say about their marks: as decimal mark, as thousands mark, and both-ways texts."""

    decimal: frozenset[str]
    thousands: frozenset[str]
    open: tuple[str, ...]


NUMBER = (
    rf"[-+−]?(?:\d[\d.,{_GROUP_BLANKS}]*\d|\d[.,]?|[.,]\d+)"
    r"(?:[eE][-+−]?\d{1,4}|\s*[x×*·]\s*10\s*\^?\s*[-+−]?\d{1,4})?"
)
_AT_LEAST = (
    r">=|=>|>|≥|⩾|≧|＞|at least|min\.?|minimum|more than|greater "
    r"than|over|above|mehr als|mindestens|mind\.?|größer als|über|"
    r"au moins|plus de|supérieure? à|al menos|más de|mayor que|"
    r"almeno|più di|pelo menos|mais de|acima de|co najmniej|powyżej"
)
_AT_MOST = (
    r"<=|=<|<|≤|⩽|≦|＜|at most|less than|below|under|max\.?|weniger als|höchstens|kleiner als|unter|au plus|moins de|"
    r"como máximo|menos de|menor que|al massimo|meno di|no máximo|abaixo de|co najwyżej|poniżej"
)
_ABOUT = r"~|≈|∼|ca\.?|approx\.?|about|circa|etwa|env\.?|environ|aprox\.?|około|ok\."


def _longest_first(words: str) -> str:
    return "|".join(sorted(words.split("|"), key=len, reverse=True))


_BEFORE = re.compile(
    rf"(?:(?P<least>{_longest_first(_AT_LEAST)})|(?P<most>{_longest_first(_AT_MOST)})|(?P<about>{_longest_first(_ABOUT)}))\s*",
    re.IGNORECASE,
)
_CELL = re.compile(rf"(?P<number>{NUMBER})(?P<plus>\s*\+)?(?P<rest>.*)", re.DOTALL)
_FOOT = re.compile(
    r"\s*(?P<mark>[*†‡§¶#]+|\(?[¹²³⁰⁴-⁹ᵃ-ᵿ]+\)?|\(?[a-z\d]\)|\([a-z\d*]\)|\[[a-z\d]\])\s*$", re.IGNORECASE
)
_STRICT = re.compile(
    r">|<|＞|＜|more|greater|over|above|less|below|under|mehr|größer|über|weniger|kleiner|unter|plus de|moins de"
)


def plain_digits(text: str) -> str:
    """Full-width and other decimal digits as 0-9; full-width point, comma, signs likewise; superscripts stay."""
    if text.isascii():
        return text
    out = []
    for character in text:
        if "０" <= character <= "９" or (not character.isascii() and unicodedata.category(character) == "Nd"):
            out.append(str(unicodedata.digit(character)))
        elif character in "．，－＋％＞＜":
            out.append(unicodedata.normalize("NFKC", character))
        elif character in "\u066b\u066c":  # Arabic decimal and thousands marks
            out.append("," if character == "\u066b" else "'")
        else:
            out.append(character)
    return "".join(out)


def split(text: str, is_unit: Callable[[str], bool]) -> Body:
    """Take a cell's text apart. ``is_unit`` tells which trailing words are units.

    >>> split(">= 3,5 MPa", lambda word: word == "MPa")
    Body(number='3,5', bound='at_least', strict=False, about=False, unit='MPa', mark='', problem=<Problem.NONE: ''>)
    """
    plain = plain_digits(text).strip().lstrip("'").strip()
    if not any(character.isdigit() and character.isascii() for character in plain):
        return Body("", problem=Problem.NO_DIGITS)
    if len(plain) > _LONGEST:
        return Body("", problem=Problem.UNREADABLE)
    bound: BoundWord = ""
    strict = about = False
    before = _BEFORE.match(plain)
    if before and before.end() < len(plain):
        bound = "at_least" if before["least"] else "at_most" if before["most"] else ""
        about = before["about"] is not None
        strict = bool(bound) and "=" not in before.group() and bool(_STRICT.match(before.group().lower()))
        plain = plain[before.end() :]
    cell = _CELL.match(plain)
    if cell is None:
        return Body("", problem=Problem.UNREADABLE)
    rest = cell["rest"].strip()
    mark = ""
    if cell["plus"]:
        if bound or not (rest == "" or is_unit(rest)):
            return Body("", problem=Problem.UNREADABLE)
        bound = "at_least"
    if rest and not is_unit(rest):
        foot = _FOOT.search(rest)
        if foot is not None and (foot.start() == 0 or is_unit(rest[: foot.start()])):
            mark, rest = foot["mark"], rest[: foot.start()].strip()
    if rest.endswith("+") and not bound and is_unit(rest[:-1]):
        bound, rest = "at_least", rest[:-1].strip()
    if rest and not is_unit(rest):
        several = re.search(r"\d", rest) is not None
        return Body(cell["number"], problem=Problem.SEVERAL if several else Problem.UNREADABLE, unit=rest)
    return Body(cell["number"].strip(), bound, strict, about, rest, mark)


_GROUPED = re.compile(rf"(\d{{1,3}})(?:([{_GROUP_BLANKS}])\d{{3}})(?:\2\d{{3}})*(?:[.,]\d+)?")
_EXPONENT = re.compile(r"(?:[eE]|\s*[x×*·]\s*10\s*\^?\s*)([-+−]?\d+)$")


def _without_blanks(digits: str) -> str | None:
    """Digits without thousands blanks or apostrophes; None where these don't part groups of three."""
    if not any(mark in digits for mark in _GROUP_BLANKS):
        return digits
    if _GROUPED.fullmatch(digits) is None or digits.startswith("0"):
        return None
    return "".join(c for c in digits if c not in _GROUP_BLANKS)


def _take_apart(number: str) -> tuple[str, str, int | None] | None:
    """Sign, digits with marks, exponent."""
    sign = "-" if number[:1] in "-−" else ""
    digits = number.lstrip("-+−")
    exponent = _EXPONENT.search(digits)
    power = int(exponent[1].replace("−", "-")) if exponent else None
    if exponent:
        digits = digits[: exponent.start()]
    bare = _without_blanks(digits)
    return None if bare is None else (sign, bare, power)


def _roles(digits: str) -> tuple[str, str, bool] | None:
    """(decimal mark, thousands mark, open) of digits with points and commas; None where no rule fits."""
    points, commas = digits.count("."), digits.count(",")
    if not points and not commas:
        return "", "", False
    if points and commas:
        last = max(digits.rfind("."), digits.rfind(","))
        decimal, other = digits[last], "," if digits[last] == "." else "."
        groups = re.fullmatch(rf"[1-9]\d{{0,2}}(?:{re.escape(other)}\d{{3}})+", digits[:last])
        return (decimal, other, False) if digits.count(decimal) == 1 and groups else None
    mark = "." if points else ","
    if points + commas > 1:
        return ("", mark, False) if re.fullmatch(rf"[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+", digits) else None
    whole, _, fraction = digits.partition(mark)
    if len(fraction) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0"):
        return "", mark, True
    return mark, "", False


def decide_marks(numbers: Iterable[str]) -> Marks:
    """Collect what the numbers of one column (as written) show about decimal and thousands marks.

    >>> decide_marks(["3,141.6", "981.7"])
    Marks(decimal=frozenset({'.'}), thousands=frozenset({','}), open=())
    """
    decimal: set[str] = set()
    thousands: set[str] = set()
    unsure: list[str] = []
    for number in numbers:
        apart = _take_apart(number)
        roles = apart and _roles(apart[1])
        if not apart or not roles:
            continue
        if roles[2] and apart[2] is None and not any(blank in number for blank in _GROUP_BLANKS):
            unsure.append(number)
            continue
        if roles[2]:  # with thousands blanks or an exponent, a single mark is the decimal mark
            decimal.add(roles[1])
            continue
        decimal |= {roles[0]} - {""}
        thousands |= {roles[1]} - {""}
    return Marks(frozenset(decimal), frozenset(thousands), tuple(unsure))


def both_readings(number: str) -> tuple[float, float]:
    """A number that can be read twice: (with a decimal mark, with a thousands mark)."""
    return float(number.replace(",", ".").replace("−", "-")), float(re.sub(r"[.,]", "", number).replace("−", "-"))


def interpret(number: str, decimal_marks: frozenset[str], thousands_marks: frozenset[str]) -> Parsed:
    """Return the value of a number as written, given the marks of its column.

    A text with one mark before exactly three digits needs its mark in exactly one of the two sets; every other text
    stands for itself, unless its mark is known to be the other one.
    """
    nothing = float("nan")
    apart = _take_apart(number)
    if apart is None:
        return Parsed(nothing, None, Problem.SEVERAL)
    sign, digits, power = apart
    roles = _roles(digits)
    if roles is None:
        return Parsed(nothing, None, Problem.UNREADABLE)
    decimal, thousands, is_open = roles
    if is_open:
        mark = thousands
        forced = power is not None or any(blank in number for blank in _GROUP_BLANKS)
        if forced or (mark in decimal_marks and mark not in thousands_marks):
            decimal, thousands = mark, ""
        elif mark not in thousands_marks or mark in decimal_marks:
            return Parsed(nothing, None, Problem.AMBIGUOUS)
    plain = digits.replace(thousands, "") if thousands else digits
    plain = plain.replace(decimal, ".") if decimal else plain
    value = float(f"{sign}{plain}e{power}" if power is not None else f"{sign}{plain}")
    if not math.isfinite(value):
        return Parsed(nothing, None, Problem.UNREADABLE)
    return Parsed(value, None if power is not None else len(plain.partition(".")[2]))


def parse(text: str, is_unit: Callable[[str], bool] = lambda _: False) -> tuple[Body, Parsed]:
    """Read one text that stands alone (a point is the decimal mark; ``1,234`` is ambiguous)."""
    body = split(text, is_unit)
    if body.problem is not Problem.NONE:
        return body, Parsed(float("nan"), None, body.problem)
    marks = decide_marks([body.number])
    return body, interpret(body.number, marks.decimal | {"."}, marks.thousands)
