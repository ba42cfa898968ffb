"""Folded text for comparing words of several languages: lower case, no accents, no punctuation. Nothing is shown
folded.
"""

from __future__ import annotations

import functools
import re
import unicodedata

__all__ = ["fold", "spelling_key"]

_PLAIN = {code: " " for code in range(128) if not (chr(code).isalnum() or chr(code) in "%/")}
_SINGLE = str.maketrans({"ß": "ss", "ł": "l", "Ł": "l", "đ": "d", "ø": "o", "æ": "ae", "œ": "oe", "ı": "i"})


@functools.lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Return ``text`` in lower case without accents; everything but letters, digits, Ø, %, / and ° becomes one blank.

    >>> fold("Haftzug-Festigkeit_(Größe)")
    'haftzug festigkeit grosse'
    """
    if text.isascii():
        return " ".join(text.lower().translate(_PLAIN).split())
    plain = text.replace("⌀", "Ø").replace("∅", "Ø").replace("Ø", "\ue000").casefold().translate(_SINGLE)
    plain = "".join(c for c in unicodedata.normalize("NFKD", plain) if not unicodedata.combining(c))
    plain = plain.replace("\ue000", "Ø")
    return " ".join("".join(c if c.isalnum() or c in "Ø%/°" else " " for c in plain).split())


# Capitals and small letters of other scripts that look like Latin ones.
_ALIKE = str.maketrans("АВЕКМНОРСТУХаеорсухіΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEKMHOPCTYXaeopcyxiABEZHIKMNOPTYX")
_GOES_ON = re.compile(
    r"(?<=\S)\s*[(\[]\s*(?:cont|contd|cont'd|continued|forts|fortsetzung|suite|segue|continua\w*|cd|ciąg dalszy)"
    r"\.?\s*[)\]]\s*$"
    r"|(?<=\S)[\s,–-]+(?:cont\.|cont'd|contd\.?|continued|forts\.|fortsetzung)\s*$",
    re.IGNORECASE,
)


@functools.lru_cache(maxsize=65536)
def spelling_key(text: str) -> str:
    """What two spellings of one name share when they differ by case, blanks, accents, signs without width, letters of
    another script that look alike, a hyphen for a blank, an umlaut written out, a mark at the end, or "continued" only.

    >>> spelling_key("Deck-North (cont.)") == spelling_key("deck north"), spelling_key("1-1") == spelling_key("11")
    (True, False)
    """
    named = _GOES_ON.sub("", text).rstrip(" .,;:*†‡¹²³") or text
    plain = "".join(
        c
        for c in unicodedata.normalize("NFKD", named.translate(_ALIKE).casefold().translate(_SINGLE))
        if not unicodedata.combining(c) and unicodedata.category(c) != "Cf"
    )
    plain = re.sub(r"(?<!\d)[-_‐‑–]|[-_‐‑–](?!\d)", "", "".join(plain.split()))
    return plain.replace("ae", "a").replace("oe", "o").replace("ue", "u")
