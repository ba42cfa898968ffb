"""A large separated text of regular rows -> cells by column, by pyarrow. Whatever is not regular is left to ``scan``.

Regular: as many cells in every row as in the first, no line break in a cell, quotes only around whole cells and none
doubled. Here that is proven, never assumed: the answer is None, or exactly the rows that ``scan`` gives.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, PackedTexts
from adhesion_stats.intake.cells import Cells, ColumnRows
from adhesion_stats.intake.scan import NO_SEPARATOR, plain_rows

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

__all__ = ["HEAD_LINES", "LEAST_BYTES", "encoded", "head_end", "scan_columns"]

LEAST_BYTES = 2**18  # below, line by line is as quick as the start of pyarrow
HEAD_LINES = 300  # kept as lines: titles, headings, and what is looked at to tell the separator
_SAMPLE = 2**14  # rows from which it is told whether nearly every row has a text of its own
_MANY = 200  # distinct texts from which shapes pay
_STEP = 2**20
_QUOTE, _LINE_FEED, _RETURN = b'"\n\r'
_PLAIN = np.array([ord(" ") < byte < 0x7F and byte != ord("=") for byte in range(256)])
_ZERO, _NINE = np.frombuffer(b"09", np.uint8)


def head_end(content: bytes, start: int) -> int | None:
    """Where the lines end that are kept as lines, in a text that begins at ``start``; None for a text too short, or
    with lines ended in two ways.
    """
    if len(content) < LEAST_BYTES or (b"\r" in content and content.count(b"\r") != content.count(b"\r\n")):
        return None
    for _ in range(HEAD_LINES):
        start = content.find(b"\n", start) + 1
        if not start:
            return None
    return start if start < len(content) else None


def scan_columns(head: list[str], content: bytes, start: int, separator: str) -> ColumnRows | None:
    """Rows of the lines in ``head`` and of the UTF-8 bytes of ``content`` from ``start`` on, or None if irregular."""
    if separator == NO_SEPARATOR or len(separator) != 1 or separator in '"\r\n' or not separator.isascii():
        return None
    first = plain_rows(head, separator)
    if first is None:
        return None
    line_end = content.find(b"\n", start)
    width = _width(content[start : line_end if line_end >= 0 else len(content)], separator)
    if width < 2:
        return None
    body = np.frombuffer(content, np.uint8, offset=start)
    quoted = content.find(b'"', start) >= 0
    with ThreadPoolExecutor(1) as aside:  # looked at while pyarrow parses
        regular = aside.submit(_quotes_regular, body, ord(separator)) if quoted else None
        lines = aside.submit(_count, body, _LINE_FEED)
        columns = _parse(memoryview(content)[start:], separator, width, quoted=quoted)
        if columns is None or (regular is not None and not regular.result()):
            return None
        rows = lines.result() + int(body[-1] != _LINE_FEED)
    if any(len(column) != rows for column in columns):
        return None
    with ThreadPoolExecutor(2) as pool:
        return ColumnRows(first, list(pool.map(encoded, columns)))


def _width(line: bytes, separator: str) -> int:
    rows = plain_rows([line.decode().removesuffix("\r")], separator)
    return len(rows[0]) if rows else 0


def _count(body: NDArray[np.uint8], byte: int) -> int:
    """How often a byte occurs; by pieces that stay in the processor's cache."""
    return sum(int(np.count_nonzero(body[at : at + _STEP] == byte)) for at in range(0, len(body), _STEP))


def _quotes_regular(body: NDArray[np.uint8], separator: int) -> bool:
    """Whether every quote opens a cell or closes it, in turn."""
    at = np.concatenate([_places(body[k : k + _STEP], _QUOTE) + k for k in range(0, len(body), _STEP)])
    if len(at) % 2:
        return False
    opens, closes = at[::2], at[1::2]
    before = body[np.maximum(opens - 1, 0)]
    after = body[np.minimum(closes + 1, len(body) - 1)]
    begins = (before == separator) | (before == _LINE_FEED) | (opens == 0)
    ends = (after == separator) | (after == _LINE_FEED) | (after == _RETURN) | (closes == len(body) - 1)
    return bool(begins.all() and ends.all())


def _places(piece: NDArray[np.uint8], byte: int) -> NDArray[np.intp]:
    """Where a byte stands; eight bytes are looked at together, since most hold none."""
    found = piece == byte
    if len(found) % 8:
        return np.flatnonzero(found)
    eights = found.view(np.uint64)
    some = np.flatnonzero(eights != 0)
    within = np.flatnonzero(eights[some].view(np.bool_))
    return np.asarray(some[within >> 3] * 8 + (within & 7), np.intp)


def _parse(body: memoryview, separator: str, width: int, *, quoted: bool) -> list[pa.ChunkedArray] | None:
    """Columns of text; None where a row has more or fewer cells."""
    import pyarrow as pa
    from pyarrow import csv

    names = [str(k) for k in range(width)]
    try:
        table = csv.read_csv(
            pa.BufferReader(pa.py_buffer(body)),
            read_options=csv.ReadOptions(column_names=names),
            parse_options=csv.ParseOptions(
                delimiter=separator,
                quote_char='"' if quoted else False,
                double_quote=False,
                escape_char=False,
                newlines_in_values=False,
                ignore_empty_lines=False,
            ),
            convert_options=csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()),
                strings_can_be_null=False,
                include_columns=names,
                check_utf8=False,  # the bytes are known to be UTF-8
            ),
        )
    except pa.ArrowInvalid:
        return None
    return [table.column(k) for k in range(width)]


def encoded(column: pa.ChunkedArray) -> Cells:
    """Cells of a column of text without nulls: each distinct text once, unless nearly every row has its own."""
    import pyarrow as pa

    n = len(column)
    sample = column.slice(0, _SAMPLE)
    if n > 1000 and len(sample.unique()) > 0.5 * len(sample):
        texts = pa.concat_arrays(column.chunks)
        offsets, data = _parts(texts)
        cells = Coded[str](np.arange(n, dtype=np.int32), PackedTexts(offsets, data.tobytes()))
    else:
        chosen = column.dictionary_encode().combine_chunks()
        texts = chosen.dictionary
        cells = Coded(_codes(chosen), tuple(texts.to_pylist()))
    shapes = _shapes(texts)
    if shapes is None:
        return Cells(cells, None, None, _is_clean(texts))
    # A text is as clean as its shape: all digits are plain signs.
    return Cells(cells, None, Coded(_codes(shapes), tuple(shapes.dictionary.to_pylist())), _is_clean(shapes.dictionary))


def _codes(chosen: pa.DictionaryArray) -> NDArray[np.int32]:
    codes: NDArray[np.int32] = chosen.indices.to_numpy(zero_copy_only=False).astype(np.int32, copy=False)
    return codes


def _parts(texts: pa.StringArray) -> tuple[NDArray[np.int32], NDArray[np.uint8]]:
    """Offsets and bytes of an array of text."""
    _, offsets, data = texts.buffers()
    at = np.frombuffer(offsets, np.int32, count=len(texts) + 1, offset=4 * texts.offset)
    return at, np.frombuffer(data, np.uint8) if data is not None and data.size else np.zeros(0, np.uint8)


def _is_clean(texts: pa.StringArray) -> bool:
    """Whether no text begins or ends with anything but a plain sign (white space and "=" are none)."""
    offsets, data = _parts(texts)
    starts, ends = offsets[:-1], offsets[1:]
    some = ends > starts
    if not some.all():
        starts, ends = starts[some], ends[some]
    return bool(_PLAIN[data[starts]].all() and _PLAIN[data[ends - 1]].all())


def _shapes(texts: pa.StringArray) -> pa.DictionaryArray | None:
    """The shapes of many texts; None for few texts, or where there are nearly as many shapes."""
    import pyarrow as pa

    if len(texts) < _MANY:
        return None
    offsets, data = _parts(texts)
    changed = pa.py_buffer(np.where(data - _ZERO < _NINE - _ZERO, _NINE, data))  # below "0" wraps round
    plain = pa.StringArray.from_buffers(len(texts), pa.py_buffer(offsets), changed)
    if len(plain.slice(0, _MANY).unique()) > 0.1 * _MANY:
        return None
    return plain.dictionary_encode()
