"""Is a workbook one that can be read? Looked at before any reader sees it, since no reader asks itself.

A few kilobytes can unpack to gigabytes, say in one entity what takes a million characters, or set a cell so far away
that the table between fills the memory. Found here:

- a part that unpacks to more than its directory says, or that is packed as no spreadsheet does;
- a document type, where entities are made (no spreadsheet writes one);
- more elements than the size of the file accounts for;
- cells, merged areas and links that together span more than ``MAX_CELLS`` cells.

Imports: ``zipfile``, ``zlib``, ``expat``. Knows nothing of what cells mean.
"""

from __future__ import annotations

import contextlib
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from adhesion_stats.messages import Fact

__all__ = ["MAX_CELLS", "MAX_UNPACKED", "Refused", "check_areas", "check_reach", "check_span", "parts_of"]

MAX_UNPACKED = 150 * 2**20
MAX_CELLS = 20_000_000  # of the rectangle around all cells of a sheet, blank ones too
_MAX_RATIO = 400  # a sheet of numbers packs about 10 to 30 times; coloured empty cells up to about 200 times
_FREE_TAGS, _TAGS_PER_BYTE = 1_000_000, 4  # a sheet of numbers has about one tag in each packed byte
_MOST_ROWS, _MOST_COLUMNS = 1_048_576, 16_384  # of a sheet, in every spreadsheet of today
_PICTURES = ("xl/media/", "Pictures/")  # a picture in SVG may well have a document type

_AREA = re.compile(rb"<(?:\w+:)?(?:mergeCell|hyperlink)\b[^<>]*?\bref=[\"']([^\"'<>]*)[\"']")
_CORNER = re.compile(r"\$?([A-Za-z]{0,9})\$?([0-9]{0,12})")
_REFERENCE = re.compile(rb"\br=[\"']([A-Za-z]*)([0-9]+)[\"']")


@dataclass
class Refused(Exception):
    """The workbook can't be read; a message's code and facts."""

    code: str
    facts: Mapping[str, Fact] = field(default_factory=dict)


def parts_of(content: bytes) -> dict[str, bytes]:
    """Unpack a container, each part once and to no more than its directory says.

    Parameters
    ----------
    content
        Bytes of a zip container.

    Returns
    -------
    dict
        Name -> bytes; of parts of one name the last. A part that is damaged is left out.

    Raises
    ------
    Refused
        For one that no spreadsheet would write, or that is too large.
    zipfile.BadZipFile
        When the bytes are no container.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        entries = archive.infolist()
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > MAX_UNPACKED or unpacked > _MAX_RATIO * max(len(content), 100_000):
        raise _too_large(content, unpacked)
    parts: dict[str, bytes] = {}
    for entry in entries:
        if entry.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
            raise Refused("workbook_damaged", {"problem": "a part is packed in a way that no spreadsheet uses"})
        body = _unpacked(content, entry)
        if body is not None and len(body) > entry.file_size:
            raise _too_large(content, unpacked - entry.file_size + len(body))
        if body is not None:
            parts[entry.filename] = body
    for name, body in parts.items():
        # Whatever the encoding (UTF-16 has a zero byte beside each of these letters), the word is the same.
        if not name.startswith(_PICTURES) and (b"<!DOCTYPE" in body or b"<!DOCTYPE" in body[:4096].replace(b"\0", b"")):
            raise Refused("workbook_entities", {"part": name})
    tags = sum(body.count(b"<") for name, body in parts.items() if not name.startswith(_PICTURES))
    if tags > _FREE_TAGS + _TAGS_PER_BYTE * len(content):
        raise _too_large(content, unpacked)
    return parts


def _too_large(content: bytes, unpacked: int) -> Refused:
    facts: dict[str, Fact] = {
        "packed_mb": round(len(content) / 2**20, 1),
        "unpacked_mb": round(unpacked / 2**20),
        "limit_mb": MAX_UNPACKED // 2**20,
    }
    return Refused("workbook_too_large", facts)


def _unpacked(content: bytes, entry: zipfile.ZipInfo) -> bytes | None:
    """The bytes of a part, one more than its size where there are more; None where they can't be unpacked."""
    head = content[entry.header_offset : entry.header_offset + 30]
    if len(head) < 30 or entry.flag_bits & 1:  # cut off, or encrypted
        return None
    name, extra = struct.unpack_from("<HH", head, 26)
    start = entry.header_offset + 30 + name + extra
    packed = content[start : start + entry.compress_size]
    if entry.compress_type == zipfile.ZIP_STORED:
        return packed[: entry.file_size + 1]
    try:
        return zlib.decompressobj(-zlib.MAX_WBITS).decompress(packed, entry.file_size + 1)
    except zlib.error:
        return None


def check_span(sheet: str, first: tuple[int, int], last: tuple[int, int]) -> None:
    """Refuse a rectangle of cells (row and column from 1, of its corners) that is larger than what is read."""
    cells = max(0, last[0] - first[0] + 1) * max(0, last[1] - first[1] + 1)
    if cells > MAX_CELLS:
        raise Refused(
            "sheet_too_large", {"name": sheet, "last": _shown(last), "cells": cells, "limit_cells": MAX_CELLS}
        )


def check_areas(parts: Mapping[str, bytes]) -> None:
    """Refuse merged areas and links that span too many cells: a reader makes each of their cells."""
    for name, body in parts.items():
        if b"mergeCell" not in body and b"hyperlink" not in body:
            continue
        cells = 0
        for found in _AREA.finditer(body):
            for part in found[1].decode("utf-8", "replace").split():
                first, _, second = part.partition(":")
                low, high = _corner(first, (1, 1)), _corner(second or first, (_MOST_ROWS, _MOST_COLUMNS))
                cells += (abs(high[0] - low[0]) + 1) * (abs(high[1] - low[1]) + 1)
                if cells > MAX_CELLS // 10:  # each becomes an object of its own
                    facts: dict[str, Fact] = {"name": name, "last": part[:60], "cells": cells}
                    raise Refused("sheet_too_large", {**facts, "limit_cells": MAX_CELLS // 10})


def check_reach(parts: Mapping[str, bytes]) -> None:
    """Refuse sheets whose cells reach too far, for a reader that makes the whole rectangle before anyone can ask."""
    binary = any(name.endswith("workbook.bin") for name in parts)
    for name, body in parts.items():
        if name == "content.xml":
            check_span(name, (1, 1), _open_document(body))
        elif binary and name.endswith(".bin"):
            check_span(name, (1, 1), _binary(body))
        elif not name.startswith(_PICTURES):
            check_span(name, (1, 1), _spreadsheet(body))


def _spreadsheet(body: bytes) -> tuple[int, int]:
    """The farthest row and column that a sheet names."""
    row = column = 1
    for letters, digits in set(_REFERENCE.findall(body)):
        row = max(row, int(digits[:12]) if len(digits) <= 12 else 10**12)
        column = max(column, _column(letters[:9].decode()))
    return row, column


def _binary(body: bytes) -> tuple[int, int]:
    """The farthest row and column of a binary sheet: record 0 begins a row, records 1 to 11 are its cells."""
    row = column = 0
    for kind, start, size in _records(body):
        if kind == 0 and size >= 4:
            row = max(row, struct.unpack_from("<L", body, start)[0])
        elif 1 <= kind <= 11 and size >= 4:
            column = max(column, struct.unpack_from("<L", body, start)[0])
    return row + 1, column + 1


def _records(body: bytes) -> Iterator[tuple[int, int, int]]:
    """Kind, start and size of each record; kind and size have seven bits a byte, the eighth says that more come."""
    at = 0
    while at < len(body):
        kind, at = _seven_bits(body, at, 2)
        size, at = _seven_bits(body, at, 4)
        if at + size > len(body):
            return
        yield kind, at, size
        at += size


def _seven_bits(body: bytes, at: int, most: int) -> tuple[int, int]:
    value = 0
    for k in range(most):
        if at >= len(body):
            return value, at
        value |= (body[at] & 127) << (7 * k)
        at += 1
        if body[at - 1] < 128:
            break
    return value, at


def _open_document(body: bytes) -> tuple[int, int]:
    """The farthest row and column with something in it; blank ones behind the last are not made by the reader."""
    farthest, row, column, times = [1, 1], 0, 0, 1

    def repeated(attributes: Mapping[str, str], name: str, most: int) -> int:
        text = attributes.get(f"table:number-{name}-repeated", "1").strip()
        found = int(text) if text.isascii() and text.isdigit() and len(text) < 12 else 10**12
        if found > most:
            raise Refused(
                "sheet_too_large", {"name": "content.xml", "last": text[:40], "cells": found, "limit_cells": most}
            )
        return found

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal row, column, times
        if tag == "table:table":
            row = 0
        elif tag == "table:table-row":
            times = repeated(attributes, "rows", _MOST_ROWS)
            row, column = row + times, 0
        elif tag in {"table:table-cell", "table:covered-table-cell"}:
            column += repeated(attributes, "columns", _MOST_COLUMNS)
            if any(name.startswith("office:") or name == "table:formula" for name in attributes):
                farthest[0], farthest[1] = max(farthest[0], row), max(farthest[1], column)

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    with contextlib.suppress(expat.ExpatError):  # damaged: the reader will say so; up to here it was looked at
        parser.Parse(body, True)
    return farthest[0], farthest[1]


def _corner(text: str, absent: tuple[int, int]) -> tuple[int, int]:
    found = _CORNER.fullmatch(text)
    if found is None:
        return absent
    return (int(found[2]) if found[2] else absent[0]), (_column(found[1]) if found[1] else absent[1])


def _column(letters: str) -> int:
    """Number of a column from its letters: A is 1, XFD is 16384."""
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def _shown(cell: tuple[int, int]) -> str:
    """A cell as a spreadsheet names it.

    >>> _shown((7, 28))
    'AB7'
    """
    letters, left = "", cell[1]
    while left > 0:
        left, rest = divmod(left - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{cell[0]}"
