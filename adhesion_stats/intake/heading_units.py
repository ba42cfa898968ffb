"""The unit that a heading states, and whether it states one that can be used: a factor beside it, or a second unit of
another size, says that the numbers below are not simply in that unit. No columns, no files.
"""

from __future__ import annotations

import re

from adhesion_stats.intake.quantities import FIELD_QUANTITY, dimensions, to_inside

__all__ = ["BRACKET", "split_unit", "unit_is_plain"]

BRACKET = re.compile(r"\[([^\[\]]*)\]|\(([^()]*)\)|\{([^{}]*)\}")
_TEN = r"(?:10|100|1 ?000|1/10+|0[.,]0*1)"
_SIZE = r"(?!\s*(?:mm|cm|in)\b)(?![\d.,])"
_FACTOR = re.compile(
    rf"(?<![\w\d])(?:x|×|\*|·|∙)\s*{_TEN}{_SIZE}"  # "x 10 N", "MPa ×10⁻¹"
    r"|\b10\s*(?:\^|\*\*)\s*\(?\s*[-−+]?\s*\d|\b10\s*[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+|\b1?e[-+]\d\b"  # 10^-1, 10⁻¹, 1e-1
    rf"|[\[({{]\s*{_TEN}\s+[^\d\s]"  # "[10 lbf]"
    rf"|[a-zA-Z²]\s*[x×*]\s*{_TEN}{_SIZE}",  # "MPa x10"
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\s,;|]+")
_NO_UNIT = frozenset({"at", "t", "in", "p", "f", "n", "m", "g", "k", "max", "min"})  # words that are units elsewhere


def split_unit(text: str) -> tuple[str, str]:
    """(heading without its unit, unit or "").

    >>> split_unit("load [kN]"), split_unit("strength")
    (('load', 'kN'), ('strength', ''))
    """
    clean = " ".join(text.split())
    for match in reversed(list(BRACKET.finditer(clean))):
        inner = next(part for part in match.groups() if part is not None).strip()
        if inner and dimensions(inner):
            return (clean[: match.start()] + " " + clean[match.end() :]).strip(), inner
    spread = re.sub(r"_per_|\s+per\s+", "/", clean, flags=re.IGNORECASE)
    spread = re.sub(r"\s*/\s*(mm|cm|m|in)\s*([2²])$", r"/\1\2", spread)
    parts = [part for part in re.split(r"([\s_,;:]+|(?<=\s)/(?=\s))", spread) if part]
    for start in range(max(0, len(parts) - 5), len(parts)):
        tail = "".join(parts[start:]).strip(" _,;:")
        if not tail or re.fullmatch(r"[\s_,;:/]+", parts[start]):
            continue
        if dimensions(tail):
            tail = re.sub(r"^in\s+", "", tail, flags=re.IGNORECASE)
            name = re.sub(r"[\s_,;:/]+(?:in|en|w|em)?$", "", "".join(parts[:start]), flags=re.IGNORECASE)
            name = re.sub(r"\s+(?:in|en|em)$", "", name)
            return name.strip(" _,;:/"), tail
    glued = re.fullmatch(r"(.*[a-z])(MPa|kPa|kN|psi|N/mm²|N/mm2)", clean)
    return (glued[1], glued[2]) if glued else (clean, "")


def unit_is_plain(text: str, unit: str) -> bool:
    """Whether the numbers under a heading are in its ``unit``: no factor, and no second unit of another size.

    >>> unit_is_plain("load [kN]", "kN"), unit_is_plain("load [x 10 N]", "N"), unit_is_plain("fh psi (MPa)", "MPa")
    (True, False, False)
    """
    field = next((field for field in ("strength", "load") if FIELD_QUANTITY[field] in dimensions(unit)[:1]), "")
    if not field:
        return True
    if _FACTOR.search(text):
        return False
    size = to_inside(unit, field)
    words = {found.strip("[](){}=/.:") for found in _WORD.findall(BRACKET.sub(lambda m: f" {m.group()} ", text))}
    words |= {part for word in words if word != unit and not dimensions(word) for part in word.split("/")}
    return all(
        to_inside(word, field) == size
        for word in words
        if word.casefold() not in _NO_UNIT and dimensions(word)[:1] == dimensions(unit)[:1]
    )
