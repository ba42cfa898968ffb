"""What broke: "A 80 %, A/B 20 %", "80A+20A/B" or "A" as shares of the area by letter (ISO 4624, EN 1542).

Shares that sum to 99 to 101 % count, as do shares of one and tenths; every other sum is no composition.
Words are not read here: a layout gives them letters (``failure_words``).
Imports: the standard library and this package.
"""

from __future__ import annotations

import re
from fractions import Fraction

from adhesion_stats.twin.model import NotKnown

__all__ = ["code_of", "composition", "settled"]

_CODE = r"-\s?/\s?[A-Za-z]|[A-Za-z]\s?/\s?[A-Za-z]|[A-Za-z]"
_NUMBER = r"\d+(?:[.,]\d+)?"
_TOKEN = re.compile(rf"(?P<code>(?:{_CODE})(?![A-Za-z]))|(?P<number>{_NUMBER})|[%\s,;:+&=()\[\].·/–-]")
_NOTHING = {"", "-", "–", "—", "n/a", "na", "n.a.", "none", "not recorded", "?"}


def code_of(text: str) -> str | None:
    """A letter or an interface in its standard spelling; last layer to adhesive is "-/Y"; None: no such code."""
    plain = re.sub(r"\s", "", text).upper().replace("–", "-")
    if plain in {"-/Y", "Y", "Y/Z", "Z"} or re.fullmatch(r"[A-H]", plain):
        return plain
    if re.fullmatch(r"[A-H]/Y", plain):
        return "-/Y"
    pair = re.fullmatch(r"([A-H])/([A-H])", plain)
    if pair and abs(ord(pair[1]) - ord(pair[2])) == 1:
        return "/".join(sorted(pair.groups()))
    return None


def composition(text: str, words: dict[str, str]) -> dict[str, Fraction] | None:
    """Shares [%] by code; None where nothing (or no sum of 100) is recorded. Raises ``NotKnown`` for words."""
    plain = text.replace("\u00a0", " ").strip()
    if plain.lower() in _NOTHING:
        return None
    for word, code in words.items():
        if plain.lower() == word.lower():
            return {code: Fraction(100)}
    codes, numbers, order = _tokens(plain, text, words)
    if not codes:
        raise NotKnown("failure", text)
    if not numbers:
        return {codes[0]: Fraction(100)} if len(set(codes)) == 1 else None
    if order not in {"cn" * len(codes), "nc" * len(codes)}:
        raise NotKnown("failure", text)
    shares: dict[str, Fraction] = {}
    for code, number in zip(codes, numbers, strict=True):
        shares[code] = shares.get(code, Fraction(0)) + number
    return settled(shares)


def _tokens(plain: str, text: str, words: dict[str, str]) -> tuple[list[str], list[Fraction], str]:
    """Codes, numbers, and their order ("c" and "n") in a text."""
    codes: list[str] = []
    numbers: list[Fraction] = []
    order = ""
    at = 0
    while at < len(plain):
        found = _TOKEN.match(plain, at)
        if found is None:
            raise NotKnown("failure", text)
        at = found.end()
        if found["code"]:
            known = words.get(found["code"]) or code_of(found["code"])
            if known is None:
                raise NotKnown("failure", text)
            codes.append(known)
            order += "c"
        elif found["number"]:
            numbers.append(Fraction(found["number"].replace(",", ".")))
            order += "n"
    return codes, numbers, order


def settled(shares: dict[str, Fraction]) -> dict[str, Fraction] | None:
    """Shares in percent, from percent, tenths or shares of one; None where they don't sum to the whole."""
    total = sum(shares.values(), Fraction(0))
    scale = Fraction(1)
    if abs(total - 1) <= Fraction(11, 1000) and (len(shares) > 1 or total != 1):
        scale = Fraction(100)
    elif total == 10:
        scale = Fraction(10)
    if not 99 <= total * scale <= 101:
        return None
    return {code: share * scale for code, share in shares.items() if share}
