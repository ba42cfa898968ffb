"""Text of a failure cell -> shares by layer letter, in the notations of the trade. What is not sure is not accepted.

``80% A, 20% A/B`` · ``A 80 / A/B 20`` · ``A90/B10`` · ``80A+20A/B`` · ``A`` · ``-/Y 100`` · words of seven languages ·
fractions (``1/2 A 1/2 B``), shares of one (``0.8 A 0.2 B``) and tenths (``A8 B2``). Codes as in EN 1542 and ISO 4624.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from adhesion_stats.intake.failure_words import FILLERS, denies, replace_words
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.numbers import plain_digits

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["C1583", "Composition", "FailureProblem", "canonical", "order_of", "parse_failure", "settle"]

# ASTM C1583/C1583M-20, 11.4: (a) substrate, (b) bond line to the overlay, (c) overlay, (d) bond line overlay / epoxy.
C1583 = {"a": "A", "b": "A/B", "c": "B", "d": "-/Y"}


class FailureProblem(StrEnum):
    """Why a text gives no composition."""

    NONE = ""
    BLANK = "blank"
    UNCLEAR = "unclear"  # words or an order of signs that are not known
    NO_SHARES = "no_shares"  # several codes, not how much of each
    SUM = "sum"  # shares that don't sum to 100
    LETTERS = "letters"  # single letters, some of which are none of EN 1542
    SCHEME = "scheme"  # lower-case letters in brackets: another scheme


@dataclass(frozen=True, slots=True)
class Composition:
    """Shares in percent by code; ``scaled`` tells that they were written as tenths, fractions or shares of one."""

    shares: tuple[tuple[str, float], ...] = ()
    problem: FailureProblem = FailureProblem.NONE
    total: float = 100.0
    words: bool = False
    scaled: bool = False


_LONGEST = 160  # a longer text is a story, no composition
_TOKEN = re.compile(
    r"\s*(?:(?P<word><[^>]+>)|(?P<code>-\s?/\s?[A-Za-z](?![A-Za-z])|[A-Za-z]\s?/\s?[A-Za-z](?![A-Za-z])|[A-Za-z](?![A-Za-z]))"
    r"|(?P<number>\d+\s?/\s?\d+(?=\s*%?\s*(?:[A-Za-z<]|of\b))|\d+(?:[.,]\d+)?)|(?P<percent>%)|(?P<mark>[-–—−:;,+/&=()\[\]|.·\n]))"
)
_SCHEME = re.compile(r"\(?\s*(?:mode|type|modus|typ)?\s*\(\s*[a-d]\s*\)|mode\s+[a-d]|type\s+[a-d]", re.IGNORECASE)
_ORDER = {"-/Y": 1000, "Y": 1001, "Y/Z": 1002, "Z": 1003}


def order_of(code: str) -> tuple[int, str]:
    """Sort key: from the substrate up to the dolly."""
    if code in _ORDER:
        return _ORDER[code], code
    first, _, second = code.partition("/")
    return 2 * ord(first) + bool(second), code


def canonical(code: str) -> str | None:
    """Code in its standard spelling (``a/b`` -> ``A/B``; last layer to glue -> ``-/Y``), None if there is none such."""
    plain = re.sub(r"\s", "", code).upper().replace("–", "-").replace("—", "-")
    if plain in {"-/Y", "Y", "Y/Z", "Z"}:
        return plain
    if re.fullmatch(r"[A-H]", plain):
        return plain
    if re.fullmatch(r"[A-H]/Y", plain):
        return "-/Y"
    found = re.fullmatch(r"([A-H])/([A-H])", plain)
    if found and abs(ord(found[1]) - ord(found[2])) == 1:
        return "/".join(sorted(found.groups()))
    return None


def parse_failure(text: str, own_words: Mapping[str, str], *, c1583: bool = False) -> Composition:
    """Return the composition that ``text`` states; ``own_words`` are the file's words or letters -> code (a layout).

    >>> parse_failure("A90/B10", {}).shares
    (('A', 90.0), ('B', 10.0))
    """
    plain = plain_digits(text).replace("\u00a0", " ").strip()
    if not plain:
        return Composition(problem=FailureProblem.BLANK)
    if len(plain) > _LONGEST:
        return Composition(problem=FailureProblem.UNCLEAR)
    for word, code in own_words.items():
        if fold(plain) == fold(word) or plain == word:
            return Composition(((code, 100.0),), words=True)
    if c1583:
        return _by_c1583(plain)
    if _SCHEME.fullmatch(plain):
        return Composition(problem=FailureProblem.SCHEME)
    plain = plain.replace("—/", "-/").replace("–/", "-/").replace("−/", "-/")
    if "<" in plain or ">" in plain:  # stand for a phrase below, and say nothing in a composition
        return Composition(problem=FailureProblem.UNCLEAR)
    tokens = _tokens(plain, own_words)
    used_words = False
    if tokens is None and not re.search(r"[?~≈≥≤]", plain) and not denies(plain):
        tokens = _tokens(_words_as_codes(plain), own_words)
        used_words = True
    if tokens is None:
        return Composition(problem=FailureProblem.UNCLEAR)
    return _pairs(tokens, used_words)


def _by_c1583(text: str) -> Composition:
    found = re.fullmatch(r"(?:mode|type)?\s*\(?\s*([a-d])\s*\)?", text, re.IGNORECASE)
    if found is None:
        return Composition(problem=FailureProblem.UNCLEAR)
    return Composition(((C1583[found[1].lower()], 100.0),), words=True)


def _words_as_codes(text: str) -> str:
    """Text with phrases replaced by codes; numbers, percent and the marks between them stay."""
    parts = re.split(r"([\d.,]*\d\s*%?|[;+\n()&:,=]|\s-\s)", text)
    return " ".join(replace_words(fold(part)) if re.search(r"[^\W\d_]", part) else part for part in parts)


def _tokens(text: str, own_words: Mapping[str, str]) -> list[tuple[str, str]] | None:
    """(kind, text) of codes and numbers; None where something else stands in between."""
    found: list[tuple[str, str]] = []
    at, text = 0, text.strip()
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.end() == at:
            word = re.match(r"\s*([^\W\d_]+)", text[at:])
            if word and fold(word[1]) in FILLERS and "<" in text:
                at += word.end()
                continue
            return None
        at = match.end()
        if match["word"]:
            found.append(("code", match["word"][1:-1]))
        elif match["code"]:
            own = own_words.get(match["code"].strip())
            code = own or canonical(match["code"])
            if code is None:
                return None
            found.append(("code", code))
        elif match["number"]:
            found.append(("number", match["number"]))
    return found


def _number(text: str) -> float:
    if "/" in text:
        top, bottom = text.split("/")
        return float(top) / float(bottom) if float(bottom) else float("nan")
    return float(text.replace(",", "."))


def _pairs(tokens: list[tuple[str, str]], used_words: bool) -> Composition:
    codes = [text for kind, text in tokens if kind == "code"]
    numbers = [_number(text) for kind, text in tokens if kind == "number"]
    if not codes:
        return Composition(problem=FailureProblem.UNCLEAR)
    if not numbers:
        if len(set(codes)) == 1:
            return Composition(((codes[0], 100.0),), words=used_words)
        return Composition(problem=FailureProblem.NO_SHARES)
    kinds = [kind for kind, _ in tokens]
    pattern = ["number", "code"] if kinds[0] == "number" else ["code", "number"]
    if kinds != pattern * (len(kinds) // 2) or len(kinds) % 2:
        return Composition(problem=FailureProblem.UNCLEAR)
    shares: dict[str, float] = {}
    for code, number in zip(codes, numbers, strict=True):
        shares[code] = shares.get(code, 0.0) + number
    parts = [text.split("/") for kind, text in tokens if kind == "number" and "/" in text]
    if any(int(top) >= int(bottom) for top, bottom in parts):  # "50/50 A/B" is two shares
        return Composition(problem=FailureProblem.UNCLEAR)
    fractions = bool(parts)
    return settle(shares, words=used_words, fractions=fractions)


def settle(shares: Mapping[str, float], *, words: bool = False, fractions: bool = False) -> Composition:
    """Accept shares that sum to 99..101 %, to 1 (shares of one) or to 10 (tenths); refuse every other sum."""
    total = round(sum(shares.values()), 9)
    factor = 100.0 if abs(total - 1.0) <= 0.011 else 10.0 if abs(total - 10.0) <= 1e-9 else 1.0
    if fractions and factor != 100.0:
        return Composition(problem=FailureProblem.SUM, total=total * 100.0)
    if not 99.0 <= total * factor <= 101.0 or any(share < 0 for share in shares.values()):
        return Composition(problem=FailureProblem.SUM, total=total)
    if factor == 100.0 and len(shares) == 1 and not fractions and total == 1.0:
        return Composition(problem=FailureProblem.SUM, total=total)  # "A1": one percent, one of one, or a skin of A?
    kept = tuple(
        (code, round(share * factor, 9))
        for code, share in sorted(shares.items(), key=lambda item: order_of(item[0]))
        if share
    )
    return Composition(kept, total=total * factor, words=words, scaled=factor != 1.0)
