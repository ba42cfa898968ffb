"""Bytes of a text file -> text, and which encoding that took. No tables here.

UTF-8 with or without mark, UTF-16 and UTF-32 with mark or by their zero bytes, and Windows-1252 when the bytes are no
UTF-8.
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

__all__ = ["Decoded", "decode", "mend_double_encoding"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
# Codecs for addresses and program texts, not for tables: they read backslashes and hyphens as commands.
_NO_ALPHABET = frozenset({"idna", "punycode", "raw-unicode-escape", "undefined", "unicode-escape"})
_FALLBACK = "cp1252"
# Two to four characters that are the Windows-1252 look of one UTF-8 character: "Â²", "Ã¼", "â‰¥".
_TWICE = re.compile("[ÂÃâÅÄ][\u0080-\u00bf€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]")
_TWICE_RUN = re.compile("[\u00c2-\u00f4][\u0080-\u00bf€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]{1,3}")


@dataclass(frozen=True)
class Decoded:
    """Text of a file; ``encoding`` is what it was read as, ``line`` where it can't be (text is then empty)."""

    text: str
    encoding: str
    assumed: bool = False
    line: int | None = None


def _by_zero_bytes(content: bytes) -> str | None:
    """UTF-16 without a mark: every other byte of the first kilobyte is mostly zero."""
    head = content[:1024]
    if len(head) < 4 or 0 not in head:
        return None
    even, odd = head[0::2], head[1::2]
    if odd.count(0) > 0.6 * len(odd) and even.count(0) < 0.1 * len(even):
        return "utf-16-le"
    if even.count(0) > 0.6 * len(even) and odd.count(0) < 0.1 * len(odd):
        return "utf-16-be"
    return None


def decode(content: bytes, wanted: str | None = None) -> Decoded:
    """Return the text of ``content``; ``wanted`` is the encoding that a layout names, if any.

    Bytes that are no UTF-8 are read as Windows-1252 (``assumed`` is then true). Bytes that fit neither give the line
    where that shows.
    """
    if wanted is not None:
        if codecs.lookup(wanted).name in _NO_ALPHABET:
            raise LookupError(wanted)
        return _try(content, wanted)
    for mark, name in _MARKS:
        if content.startswith(mark):
            return _try(content[len(mark) :], name)
    guessed = _by_zero_bytes(content)
    if guessed is not None:
        return _try(content, guessed)
    first = _try(content, "utf-8")
    if first.line is None:
        return first
    second = _try(content, _FALLBACK)
    return Decoded(second.text, second.encoding, assumed=True, line=second.line)


def _try(content: bytes, encoding: str) -> Decoded:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as problem:
        return Decoded("", encoding, line=content[: problem.start].count(b"\n") + 1)
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        return Decoded("", encoding, line=text[: text.index("\x00")].count("\n") + 1)
    return Decoded(text, encoding)


def mend_double_encoding(text: str) -> str:
    """Undo a second UTF-8 encoding (``N/mmÂ²`` -> ``N/mm²``); other text comes back as it is."""
    if text.isascii() or not _TWICE.search(text):
        return text

    def once(match: re.Match[str]) -> str:
        run = match.group()
        for length in range(len(run), 1, -1):
            try:
                raw = b"".join(_byte(character) for character in run[:length])
                return raw.decode("utf-8") + run[length:]
            except (UnicodeDecodeError, UnicodeEncodeError):
                continue
        return run

    return _TWICE_RUN.sub(once, text)


def _byte(character: str) -> bytes:
    # The five codes that Windows-1252 leaves open are passed through by many programs as they are.
    return bytes([ord(character)]) if ord(character) < 0x100 else character.encode(_FALLBACK)
