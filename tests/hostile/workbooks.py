"""Workbooks made to do harm: each function returns the bytes of one; none of them is valid input for anything else."""

from __future__ import annotations

import io
import re
import struct
import zipfile
from collections.abc import Callable, Mapping

import xlsxwriter

from tests.intake.books import ods, replaced

__all__ = ["WORKBOOKS"]

_SHEET, _STRINGS, _STYLES, _BOOK = (
    "xl/worksheets/sheet1.xml",
    "xl/sharedStrings.xml",
    "xl/styles.xml",
    "xl/workbook.xml",
)
_ROWS: list[list[object]] = [
    ["zone", "id", "strength MPa", "failure"],
    ["Deck", "1", 1.82, "A"],
    ["Deck", "2", 1.61, "A"],
]
_BILLION = b'<!DOCTYPE x [<!ENTITY a0 "ha">%s]>' % b"".join(
    b'<!ENTITY a%d "%s">' % (i, b"&a%d;" % (i - 1) * 10) for i in range(1, 10)
)
_OUTSIDE = b'<!DOCTYPE x [<!ENTITY secret SYSTEM "file:///etc/passwd">]>'
_DECLARATION = re.compile(rb"^<\?xml[^>]*\?>\s*")


def _plain() -> bytes:
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as book:
        sheet = book.add_worksheet()
        for r, cells in enumerate(_ROWS):
            sheet.write_row(r, 0, cells)
    return target.getvalue()


def _with(part: str, change: Callable[[bytes], bytes] | bytes) -> bytes:
    return replaced(_plain(), {part: change})


def _declared(doctype: bytes, entity: bytes) -> Callable[[bytes], bytes]:
    """A document type before the root, its entity used where a zone's name stands (in a shared string)."""

    def change(body: bytes) -> bytes:
        return doctype + _DECLARATION.sub(b"", body).replace(b"Deck", entity)

    return change


def _before_end(tag: bytes, text: bytes) -> Callable[[bytes], bytes]:
    return lambda body: body.replace(b"</" + tag + b">", text + b"</" + tag + b">")


def _after_end(tag: bytes, text: bytes) -> Callable[[bytes], bytes]:
    return lambda body: body.replace(b"</" + tag + b">", b"</" + tag + b">" + text)


def _bomb(*, honest: bool) -> bytes:
    """A part that unpacks to 160 MB; if not honest, its headers say 1 kB."""
    content = replaced(_plain(), {"xl/media/zeros.xml": b"\0" * (160 * 2**20)} if honest else {_STRINGS: _zeros})
    return content if honest else _lied(content, _STRINGS, 1000)


def _zeros(body: bytes) -> bytes:
    return body.replace(b"</sst>", b"<si><t>" + b"0" * (20 * 2**20) + b"</t></si></sst>")


def _lied(content: bytes, name: str, size: int) -> bytes:
    """The sizes of a part, in both headers, said to be ``size``."""
    changed = bytearray(content)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        local = archive.getinfo(name).header_offset
    struct.pack_into("<L", changed, local + 22, size)
    at = content.index(b"PK\x01\x02")
    while content[at + 46 : at + 46 + len(name)] != name.encode():
        at = content.index(b"PK\x01\x02", at + 4)
    struct.pack_into("<L", changed, at + 24, size)
    return bytes(changed)


def _overlapping() -> bytes:
    """A thousand entries of the directory that all unpack the same 100 kB."""
    content = _with("xl/media/one.xml", b"\0" * 100_000)
    at = content.index(b"PK\x01\x02")
    end = content.index(b"PK\x05\x06")
    start = content.rindex(b"PK\x01\x02", at, end)
    entry = content[start:end]
    name = b"xl/media/one.xml"
    more = b"".join(entry.replace(name, b"xl/media/%03d.xml" % (i % 1000)) for i in range(3000))
    tail = bytearray(content[end:])
    count = struct.unpack_from("<H", tail, 10)[0] + 3000
    struct.pack_into("<HHL", tail, 8, count, count, end - at + len(more))
    return content[:end] + more + bytes(tail)


def _nested() -> bytes:
    """Containers in containers, the innermost a bomb."""
    inner = b"\0" * 2**24
    for level in range(6):
        target = io.BytesIO()
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
            for k in range(8):
                archive.writestr(f"{level}-{k}.zip", inner)
        inner = target.getvalue()
    return _with("xl/embeddings/inner.zip", inner)


def _named(*names: str) -> bytes:
    return replaced(_plain(), dict.fromkeys(names, b"<x/>"))


def _cells(*references: str) -> bytes:
    rows = b"".join(
        b'<row r="%s"><c r="%s"><v>1.5</v></c></row>'
        % (reference.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ").encode(), reference.encode())
        for reference in references
    )
    return _with(_SHEET, lambda body: body.replace(b"</sheetData>", rows + b"</sheetData>"))


def _ods(change: Callable[[bytes], bytes]) -> bytes:
    return replaced(ods(_ROWS), {"content.xml": change})


def _repeated(rows: int, columns: int, *, blank: bool) -> bytes:
    cell = (
        f'<table:table-cell table:number-columns-repeated="{columns}"/>'
        if blank
        else f'<table:table-cell table:number-columns-repeated="{columns}" office:value-type="float" office:value="1">'
        "<text:p>1</text:p></table:table-cell>"
    )
    row = f'<table:table-row table:number-rows-repeated="{rows}">{cell}</table:table-row>'
    last = '<table:table-row><table:table-cell office:value-type="float" office:value="1"/></table:table-row>'
    return _ods(lambda body: body.replace(b"</table:table>", (row + last).encode() + b"</table:table>"))


def _xlsb(*cells: tuple[int, int]) -> bytes:
    """A binary workbook with numbers in the given cells (row, column)."""

    def record(kind: int, data: bytes = b"") -> bytes:
        head = bytes([kind]) if kind < 128 else bytes([kind & 127 | 128, kind >> 7])
        return head + bytes([len(data)]) + data

    def text(value: str) -> bytes:
        return struct.pack("<L", len(value)) + value.encode("utf-16-le")

    book = record(131) + record(143) + record(156, struct.pack("<LL", 0, 1) + text("rId1") + text("S")) + record(144)
    book += record(132)
    sheet = record(129) + record(148, struct.pack("<LLLL", 0, 3, 0, 3)) + record(145)
    for row, column in cells:
        sheet += record(0, struct.pack("<LLHBB", row, 0, 0, 0, 0) + struct.pack("<L", 0))
        sheet += record(5, struct.pack("<LL", column, 0) + struct.pack("<d", 1.5))
    sheet += record(146) + record(130)
    relations = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" '
        'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" '
        'Target="worksheets/sheet1.bin"/></Relationships>'
    )
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.bin", book)
        archive.writestr("xl/_rels/workbook.bin.rels", relations)
        archive.writestr("xl/worksheets/sheet1.bin", sheet)
    return target.getvalue()


_WIDE = b'"A1:XFD1048576"'
_LINK = b'<hyperlinks><hyperlink ref="A1:XFD1048576" location="x"/></hyperlinks>'

WORKBOOKS: Mapping[str, Callable[[], bytes]] = {
    "bomb.xlsx": lambda: _bomb(honest=True),
    "bomb-that-lies.xlsx": lambda: _bomb(honest=False),
    "overlapping.xlsx": _overlapping,
    "nested.xlsx": _nested,
    "billion-strings.xlsx": lambda: _with(_STRINGS, _declared(_BILLION, b"&a9;")),
    "billion-sheet.xlsx": lambda: _with(_SHEET, lambda b: _BILLION + b.replace(b"<v>1.82</v>", b"<v>&a9;</v>")),
    "billion-styles.xlsx": lambda: _with(_STYLES, lambda b: _BILLION + b.replace(b"Calibri", b"&a9;")),
    "billion-utf16.xlsx": lambda: _with(_STRINGS, lambda b: _declared(_BILLION, b"&a9;")(b).decode().encode("utf-16")),
    "billion.ods": lambda: _ods(_declared(_BILLION, b"&a9;")),
    "entity-strings.xlsx": lambda: _with(_STRINGS, _declared(_OUTSIDE, b"&secret;")),
    "entity-sheet.xlsx": lambda: _with(_SHEET, lambda b: _OUTSIDE + b.replace(b"<v>1.82</v>", b"<v>&secret;</v>")),
    "entity.ods": lambda: _ods(_declared(_OUTSIDE, b"&secret;")),
    "dtd-outside.xlsx": lambda: _with(_BOOK, lambda b: b'<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">' + b),
    "dimension.xlsx": lambda: _with(_SHEET, lambda b: re.sub(rb'(<dimension ref=)"[^"]*"', rb"\1" + _WIDE, b)),
    "far-cell.xlsx": lambda: _cells("XFD1048576"),
    "farther-cell.xlsx": lambda: _cells("ZZZZZZ99999999999"),
    "far-away-row.xlsx": lambda: _cells("A100000"),
    "far-row.xlsx": lambda: _cells("A4294967295"),
    "merged.xlsx": lambda: _with(
        _SHEET, _after_end(b"sheetData", b"<mergeCells><mergeCell ref=%s/></mergeCells>" % _WIDE)
    ),
    "merged-damaged.xlsx": lambda: replaced(
        _with(_SHEET, _after_end(b"sheetData", b"<mergeCells><mergeCell ref=%s/></mergeCells>" % _WIDE)),
        {_STYLES: b"<damaged"},
    ),
    "hyperlink.xlsx": lambda: _with(_SHEET, _after_end(b"sheetData", _LINK)),
    "array-formula.xlsx": lambda: _with(
        _SHEET, lambda b: b.replace(b"<v>1.82</v>", b'<f t="array" ref=%s>A1:A9</f><v>1.82</v>' % _WIDE)
    ),
    "validation.xlsx": lambda: _with(
        _SHEET,
        _after_end(
            b"sheetData",
            b'<dataValidations count="1"><dataValidation sqref=%s/></dataValidations>'
            % (b'"' + b"A1:XFD1048576 " * 50_000 + b'"'),
        ),
    ),
    "columns.xlsx": lambda: _with(
        _SHEET,
        lambda b: b.replace(b"<sheetData>", b'<cols><col min="1" max="2000000000" hidden="1"/></cols><sheetData>'),
    ),
    "many-columns.xlsx": lambda: _with(
        _SHEET,
        lambda b: b.replace(
            b"<sheetData>", b"<cols>" + b'<col min="1" max="16384" hidden="1"/>' * 20_000 + b"</cols><sheetData>"
        ),
    ),
    "shared-strings.xlsx": lambda: _with(
        _STRINGS,
        lambda b: b.replace(b"<sst ", b'<sst x="4294967295" ').replace(
            b"</sst>", b"<si><t>" + bytes(range(97, 123)) * 800_000 + b"</t></si></sst>"
        ),
    ),
    "many-strings.xlsx": lambda: _with(_STRINGS, _before_end(b"sst", b"<si><t>a</t></si>" * 400_000)),
    "string-index.xlsx": lambda: _with(
        _SHEET, lambda b: b.replace(b'<c r="A2" t="s"><v>', b'<c r="A2" t="s"><v>99999999999')
    ),
    "string-negative.xlsx": lambda: _with(
        _SHEET, lambda b: b.replace(b'<c r="A2" t="s"><v>', b'<c r="A2" t="s"><v>-1')
    ),
    "digits.xlsx": lambda: _with(_SHEET, lambda b: b.replace(b"<v>1.82</v>", b"<v>" + b"9" * 100_000 + b"</v>")),
    "infinite.xlsx": lambda: _with(_SHEET, lambda b: b.replace(b"<v>1.82</v>", b"<v>1e999</v>")),
    "not-a-number.xlsx": lambda: _with(_SHEET, lambda b: b.replace(b"<v>1.82</v>", b"<v>1.0e+nan</v>")),
    "unclosed.xlsx": lambda: _with(_SHEET, lambda _: b"<c " * 300_000),
    "deep.xlsx": lambda: _with(_SHEET, lambda b: b.replace(b"<v>1.82</v>", b"<v>" * 200_000 + b"</v>" * 200_000)),
    "deep-string.xlsx": lambda: _with(
        _STRINGS, _before_end(b"sst", b"<si>" + b"<r>" * 100_000 + b"</r>" * 100_000 + b"</si>")
    ),
    "attributes.xlsx": lambda: _with(
        _SHEET,
        lambda b: b.replace(b"<sheetData>", b"<sheetData " + b" ".join(b'a%d="1"' % i for i in range(200_000)) + b">"),
    ),
    "number-format.xlsx": lambda: _with(
        _STYLES,
        lambda b: re.sub(
            rb"<numFmts.*?/>|(?=<fonts)",
            b'<numFmts count="1"><numFmt numFmtId="170" formatCode="' + b"[&quot;" * 20_000 + b'"/></numFmts>',
            b,
            count=1,
        ),
    ),
    "names-outside.xlsx": lambda: _named(
        "../outside.xml", "/etc/absolute.xml", "xl/../../outside.xml", "C:\\outside.xml"
    ),
    "names-collide.xlsx": lambda: _named("XL/WORKBOOK.XML", "xl/WORKSHEETS/sheet1.xml"),
    "relation-outside.xlsx": lambda: _with(
        "xl/_rels/workbook.xml.rels", lambda b: b.replace(b"worksheets/sheet1.xml", b"../../../../../etc/passwd")
    ),
    "relation-network.xlsx": lambda: _with(
        "xl/_rels/workbook.xml.rels",
        lambda b: b.replace(b'Target="worksheets/sheet1.xml"', b'Target="http://127.0.0.1:9/x" TargetMode="External"'),
    ),
    "repeated.ods": lambda: _repeated(2**30, 2**30, blank=False),
    "repeated-rows.ods": lambda: _repeated(2**31 - 1, 3, blank=False),
    "repeated-blank.ods": lambda: _repeated(2**30, 2**30, blank=True),
    "repeated-legal.ods": lambda: _repeated(200_000, 16_384, blank=True),
    "repeated-huge.ods": lambda: _repeated(10**30, 10**30, blank=False),
    "far-cell.xlsb": lambda: _xlsb((0, 0), (1_048_575, 16_383)),
    "farthest-cell.xlsb": lambda: _xlsb((0, 0), (2**32 - 1, 2**32 - 1)),
}
