"""Bytes of any file -> grids: tells text from workbook by the bytes, never by the name alone. Sizes are checked
first.
"""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from adhesion_stats.intake.bounds import too_many_columns, within_bounds
from adhesion_stats.intake.columnar import head_end, scan_columns
from adhesion_stats.intake.encoding import decode, mend_double_encoding
from adhesion_stats.intake.grid import Grid
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.parquet import is_parquet, read_parquet
from adhesion_stats.intake.scan import NO_SEPARATOR, SEPARATORS, Scanned, lines_of, plain_rows, scan
from adhesion_stats.intake.workbook import is_zip, read_workbook
from adhesion_stats.messages import Severity

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.terms.layout import Layout

__all__ = ["MAX_BYTES", "open_bytes"]

MAX_BYTES = 1024 * 2**20
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SAMPLE = 300
_OTHER = (
    (b"%PDF", "PDF"),
    (b"\x89PNG", "PNG picture"),
    (b"\xff\xd8\xff", "JPEG picture"),
    (b"{\\rtf", "RTF document"),
    (b"\x1f\x8b", "gzip"),
)


def open_bytes(content: bytes, file: str, layout: Layout, findings: Findings) -> list[Grid]:
    """Return the grids of a file (none when ``findings`` says why not)."""
    grids = _grids(content, file, layout, findings)
    return grids if all(within_bounds(grid, findings) for grid in grids) else []


def _grids(content: bytes, file: str, layout: Layout, findings: Findings) -> list[Grid]:
    if not content or content.isspace():
        findings.add("file_empty", Severity.ERROR)
        return []
    if len(content) > MAX_BYTES:
        findings.add(
            "file_too_large", Severity.ERROR, facts={"mb": len(content) // 2**20, "limit_mb": MAX_BYTES // 2**20}
        )
        return []
    if is_zip(content):
        return read_workbook(content, file, findings)
    if is_parquet(content):
        return read_parquet(content, file, findings)
    if content.startswith(_OLE):
        protected = b"E\x00n\x00c\x00r\x00y\x00p\x00t\x00" in content
        findings.add("workbook_protected" if protected else "workbook_legacy", Severity.ERROR)
        return []
    for start, what in _OTHER:
        if content.startswith(start):
            findings.add("not_a_table_file", Severity.ERROR, facts={"what": what})
            return []
    if content.lstrip()[:20].lower().startswith((b"<!doctype html", b"<html", b"<table", b"<?xml")):
        findings.add("not_a_table_file", Severity.ERROR, facts={"what": "HTML or XML"})
        return []
    return _text(content, file, layout, findings)


def _text(content: bytes, file: str, layout: Layout, findings: Findings) -> list[Grid]:
    if layout.encoding is None and content.isascii() and b"\0" not in content:
        return _lines(_Text(None, content, 0, "utf-8"), file, layout, findings)
    try:
        decoded = decode(content, layout.encoding)
    except LookupError:
        findings.add("encoding_unknown", Severity.ERROR, facts={"encoding": layout.encoding})
        return []
    if decoded.line is not None:
        findings.add("encoding_unreadable", Severity.ERROR, row=decoded.line, facts={"encoding": decoded.encoding})
        return []
    text = mend_double_encoding(decoded.text)
    if text is not decoded.text and text != decoded.text:
        pairs = zip(lines_of(decoded.text), lines_of(text), strict=True)
        changed = [(n, "", before.strip()[:80]) for n, (before, after) in enumerate(pairs, 1) if before != after]
        findings.add_rows("double_encoding_mended", Severity.NOTE, changed)
    if decoded.assumed:
        findings.add("encoding_assumed", Severity.NOTE, facts={"encoding": "Windows-1252"})
    if not text or text.isspace():
        findings.add("file_empty", Severity.ERROR)
        return []
    mark = len(codecs.BOM_UTF8) if content.startswith(codecs.BOM_UTF8) else 0
    as_is = text is decoded.text and codecs.lookup(decoded.encoding).name == "utf-8"
    if as_is and not content.startswith(codecs.BOM_UTF8, mark):
        return _lines(_Text(text, content, mark, decoded.encoding), file, layout, findings)
    return _lines(_Text(text, text.encode(), 0, decoded.encoding), file, layout, findings)


@dataclass(frozen=True)
class _Text:
    """Text of a file (None: to be had from its bytes), the same as UTF-8 from ``start`` on, and how it was written."""

    text: str | None
    utf8: bytes
    start: int
    encoding: str

    @property
    def lines(self) -> list[str]:
        """All lines."""
        return lines_of(self.utf8[self.start :].decode() if self.text is None else self.text)


def _lines(text: _Text, file: str, layout: Layout, findings: Findings) -> list[Grid]:
    end = head_end(text.utf8, text.start)
    lines = text.lines if end is None else lines_of(text.utf8[text.start : end].decode())
    named = lines[0].casefold().removeprefix("sep=") if lines and lines[0].casefold().startswith("sep=") else ""
    named = named if len(named) == 1 else ""
    if named:
        lines[0] = ""
    if too_many_columns(lines, SEPARATORS, findings):
        return []
    separator, heading = (layout.separator or named, None) if layout.separator or named else _separator(lines)
    if end is not None and heading is not None and separator != NO_SEPARATOR:
        lines, end = _above(lines, text, end, separator, heading)
    rows = None if end is None else scan_columns(lines, text.utf8, end, separator)
    if rows is not None:
        return [Grid(file, "", rows, range(1, len(rows) + 1), separator=separator, encoding=text.encoding)]
    if end is not None:
        lines = text.lines
        if named:
            lines[0] = ""
    scanned = scan(lines, separator)
    for quote, above in zip(scanned.bad_quotes, _headings_above(scanned), strict=True):
        column = above[quote.column].strip() if quote.column < len(above) else f"#{quote.column + 1}"
        findings.add("quote_open", Severity.ERROR, row=quote.line, column=column, facts={"text": quote.text[:80]})
    return [Grid(file, "", scanned.rows, scanned.numbers, separator=separator, encoding=text.encoding)]


def _above(lines: list[str], text: _Text, end: int, separator: str, heading: int) -> tuple[list[str], int]:
    """The lines down to the heading, and where they end; all lines where not all below are cut into as many cells."""
    rows = plain_rows(lines, separator)
    if rows is None or len(set(map(len, rows[heading + 1 :]))) != 1:
        return lines, end
    end = text.start
    for _ in range(heading + 1):
        end = text.utf8.index(b"\n", end) + 1
    return lines[: heading + 1], end


def _headings_above(scanned: Scanned) -> Iterator[list[str]]:
    """For each open quote, in their order, the last row above it that reads like a heading; an empty one if none."""
    rows = zip(scanned.numbers, scanned.rows, strict=True)
    heading: list[str] = []
    number, row = next(rows, (0, heading))
    for quote in scanned.bad_quotes:
        while 0 < number < quote.line:
            heading = row if _known(row)[0] else heading
            number, row = next(rows, (0, heading))
        yield heading


def _known(row: list[str]) -> tuple[bool, int]:
    """Whether a row has a column of strength or load, and how many different columns are known in it."""
    fields = {(heading.field, heading.code) for cell in row if (heading := understand(cell.strip())).field}
    return bool({("strength", ""), ("load", "")} & fields), len(fields)


def _separator(lines: list[str]) -> tuple[str, int]:
    """The separator under which one row names most columns, and the other rows fit that row best; index of that row."""
    best, best_score = (NO_SEPARATOR, 0), (False, 0, 0.0, 0)
    sample = lines[:_SAMPLE]
    for separator in (*SEPARATORS, NO_SEPARATOR):
        if separator != NO_SEPARATOR and not any(separator in line for line in sample):
            continue
        rows = scan(sample, separator).rows
        known = [_known(row) for row in rows]
        heading = max(range(len(rows)), key=lambda i: (known[i], -i))
        width = len(rows[heading])
        body = [row for row in rows[heading + 1 :] if any(cell.strip() for cell in row)]
        fitting = sum(len(row) == width or (len(row) > width and not any(row[width:])) for row in body) / max(
            1, len(body)
        )
        score = (*known[heading], round(fitting, 3), width)
        if score > best_score:
            best, best_score = (separator, heading), score
    return best
