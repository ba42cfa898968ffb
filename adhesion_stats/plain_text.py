"""What is printed is text: signs that command a terminal, or turn the order of what is read, are shown as escapes.

Every name and every text of a file may end up in a message; one place that all of them pass is safer than many.
Imports: the standard library.
"""

from __future__ import annotations

import re
from typing import TextIO, cast

__all__ = ["plain", "plain_stream"]

# Control characters but for line feed and tab (C0, DEL, C1), line and paragraph separators, marks of direction and
# other signs that are not seen.
_COMMANDS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\U000e0000-\U000e007f]"
)


def plain(text: str) -> str:
    r"""Return the text with every commanding sign as an escape; line feeds stay.

    >>> print(plain("Deck\x1b[2J\u202e"))
    Deck\x1b[2J\u202e
    """
    return _COMMANDS.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


class _Plain:
    """A text stream whose every write is plain."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        return self._stream.write(plain(text))

    def writelines(self, lines: list[str]) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> object:
        return getattr(self._stream, name)


def plain_stream(stream: TextIO) -> TextIO:
    """Return a stream that writes to ``stream``, all of it plain."""
    return cast("TextIO", _Plain(stream))
