"""Raw cells of a readings file: text files by ``csv``, workbooks by ``zipfile`` and ``xml.etree``. Nothing is judged.

A workbook is a ZIP archive of XML parts (ECMA-376, part 1, clause 18): ``xl/workbook.xml`` names the sheets,
``xl/sharedStrings.xml`` holds the texts, ``xl/worksheets/*.xml`` the cells. A part with a document type is refused: an
honest workbook has none, and entities are how XML is made to explode.
Imports: the standard library and this package.
"""

from __future__ import annotations

import csv
import io
import re
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import dataclass

from adhesion_stats.twin.model import NotKnown

__all__ = ["NumberText", "Sheet", "sheets_of"]

_LARGEST = 64_000_000  # bytes of one part of a workbook, unpacked
_MOST_CELLS = 2_000_000
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


class NumberText(str):
    """Text of a cell that holds a number and not a text: its mark is the point, whatever the texts use."""

    __slots__ = ()


@dataclass(frozen=True)
class Sheet:
    """A sheet: rows by their number (first row 1), each a list of texts; where rows were left out there is no entry.

    ``merged`` holds the areas of merged cells as (first row, first column, last row, last column), columns from 0.
    """

    name: str
    rows: dict[int, list[str]]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden: bool = False


def sheets_of(content: bytes, file: str, layout: dict[str, object]) -> list[Sheet]:
    """The sheets of a readings file. Raises ``NotKnown`` for a form that the twin does not read."""
    ending = file.lower().rpartition(".")[2]
    if ending in {"xlsx", "xlsm"}:
        return _workbook(content)
    if ending in {"csv", "txt", "tsv"}:
        return [_text(content, layout)]
    raise NotKnown("form", ending)


def _text(content: bytes, layout: dict[str, object]) -> Sheet:
    encoding = str(layout.get("encoding") or "utf-8-sig")
    try:
        text = content.decode("utf-8-sig" if encoding.lower() in {"utf-8", "utf8"} else encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise NotKnown("encoding", encoding) from error
    separator = str(layout.get("separator") or "")
    separator = {"tab": "\t", "": _separator(text)}.get(separator, separator)
    if len(separator) != 1:
        raise NotKnown("form", f"a text without columns ({separator})")
    rows = {}
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    before = 0
    try:
        for cells in reader:
            rows[before + 1] = [cell.strip() for cell in cells]
            before = reader.line_num  # a cell may hold line ends: a row is numbered by its first line
    except csv.Error as error:
        raise NotKnown("form", str(error)) from error
    return Sheet("", rows)


def _separator(text: str) -> str:
    """The sign that stands most often in the first line that has any."""
    for line in text.splitlines():
        counts = {sign: line.count(sign) for sign in (";", "\t", ",", "|")}
        if max(counts.values()):
            return max(counts, key=lambda sign: counts[sign])
    return ","


def _workbook(content: bytes) -> list[Sheet]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return _sheets(archive)
    except (zipfile.BadZipFile, KeyError, ET.ParseError, ValueError) as error:
        raise NotKnown("form", f"{type(error).__name__}") from error


def _part(archive: zipfile.ZipFile, name: str) -> ET.Element:
    if archive.getinfo(name).file_size > _LARGEST:
        raise NotKnown("form", name)
    with archive.open(name) as part:
        content = part.read(_LARGEST + 1)
    if len(content) > _LARGEST or b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise NotKnown("form", name)
    return ET.fromstring(content)  # noqa: S314 - no document type, see the module


def _sheets(archive: zipfile.ZipFile) -> list[Sheet]:
    texts: list[str] = []
    if "xl/sharedStrings.xml" in archive.namelist():
        texts = [_texts_in(item) for item in _part(archive, "xl/sharedStrings.xml").iter(f"{_MAIN}si")]
    targets = {
        relation.get("Id"): str(relation.get("Target")) for relation in _part(archive, "xl/_rels/workbook.xml.rels")
    }
    found = []
    for sheet in _part(archive, "xl/workbook.xml").iter(f"{_MAIN}sheet"):
        target = targets[sheet.get(_RELATION)]
        path = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        hidden = sheet.get("state", "visible") != "visible"
        found.append(_sheet(str(sheet.get("name")), _part(archive, path), texts, hidden=hidden))
    return found


def _texts_in(item: ET.Element) -> str:
    """Text of a cell's parts, without the readings that phonetic runs add."""
    runs = [run for run in item if run.tag in {f"{_MAIN}t", f"{_MAIN}r"}]
    return "".join(text.text or "" for run in runs for text in run.iter(f"{_MAIN}t"))


def _sheet(name: str, root: ET.Element, texts: list[str], *, hidden: bool) -> Sheet:
    rows: dict[int, list[str]] = {}
    number = cells = 0
    for row in root.iter(f"{_MAIN}row"):
        number = int(row.get("r") or number + 1)
        line: list[str] = []
        for cell in row.iter(f"{_MAIN}c"):
            cells += 1
            at = _column(str(cell.get("r"))) if cell.get("r") else len(line)
            if cells > _MOST_CELLS or at > 16384:
                raise NotKnown("form", name)
            line += [""] * (at + 1 - len(line))
            line[at] = _cell(cell, texts)
        rows[number] = line
    areas = tuple(_area(str(area.get("ref"))) for area in root.iter(f"{_MAIN}mergeCell"))
    return Sheet(name, rows, areas, hidden)


def _cell(cell: ET.Element, texts: list[str]) -> str:
    kind, value = cell.get("t", "n"), cell.find(f"{_MAIN}v")
    if kind == "inlineStr":
        inside = cell.find(f"{_MAIN}is")
        return "" if inside is None else _texts_in(inside).strip()
    if value is None or value.text is None:
        return ""
    if kind == "s":
        return texts[int(value.text)].strip()
    if kind == "n":  # a number is stored as binary: 2.1400000000000001 is 2.14
        return NumberText(repr(float(value.text)).removesuffix(".0"))
    return value.text.strip()


def _column(reference: str) -> int:
    """Column from 0 of a reference such as "AB12"."""
    at = 0
    for letter in re.sub(r"[^A-Z]", "", reference.upper()):
        at = 26 * at + ord(letter) - ord("A") + 1
    return at - 1


def _area(reference: str) -> tuple[int, int, int, int]:
    first, _, last = reference.partition(":")
    ends = [(int(re.sub(r"\D", "", one)), _column(one)) for one in (first, last or first)]
    return ends[0][0], ends[0][1], ends[1][0], ends[1][1]
