"""Workbooks made for tests: sheets from rows of cells, and damage done to the parts inside."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping, Sequence
from xml.sax.saxutils import escape

import openpyxl

Cells = Sequence[Sequence[object]]


def xlsx(*sheets: Cells, names: Sequence[str] = (), edit: Callable[[openpyxl.Workbook], None] | None = None) -> bytes:
    """Return a workbook with the given sheets; ``edit`` changes it before it is saved."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for k, rows in enumerate(sheets):
        sheet = book.create_sheet(names[k] if names else f"Sheet{k + 1}")
        for row in rows:
            sheet.append(list(row))
    if edit is not None:
        edit(book)
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


def replaced(content: bytes, changes: Mapping[str, Callable[[bytes], bytes] | bytes]) -> bytes:
    """Return the container with parts changed (a function) or added (bytes)."""
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            change = changes.get(name)
            body = old.read(name)
            new.writestr(name, change(body) if callable(change) else change if change is not None else body)
        for name, change in changes.items():
            if name not in old.namelist() and isinstance(change, bytes):
                new.writestr(name, change)
    return target.getvalue()


def ods(rows: Cells, name: str = "Sheet1") -> bytes:
    """Return an OpenDocument spreadsheet with one sheet of texts and numbers."""
    lines = []
    for row in rows:
        cells = []
        for cell in row:
            if cell is None:
                cells.append("<table:table-cell/>")
            elif isinstance(cell, int | float):
                cells.append(
                    f'<table:table-cell office:value-type="float" '
                    f'office:value="{cell}"><text:p>{cell}</text:p></table:table-cell>'
                )
            else:
                cells.append(
                    f"<table:table-cell "
                    f'office:value-type="string"><text:p>{escape(str(cell))}</text:p></table:table-cell>'
                )
        lines.append(f"<table:table-row>{''.join(cells)}</table:table-row>")
    namespaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
        for short, long in (("office", "office"), ("table", "table"), ("text", "text"))
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content '
        f'{namespaces} office:version="1.2"><office:body><office:spreadsheet>'
        f"<table:table "
        f'table:name="{escape(name)}">{"".join(lines)}</table:table></office:spreadsheet></office:body></office:document-content>'
    )
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
        archive.writestr("content.xml", content, zipfile.ZIP_DEFLATED)
        archive.writestr(
            "META-INF/manifest.xml",
            '<?xml version="1.0"?><manifest:manifest '
            'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            '<manifest:file-entry manifest:full-path="/" '
            'manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/>'
            '<manifest:file-entry manifest:full-path="content.xml" '
            'manifest:media-type="text/xml"/></manifest:manifest>',
        )
    return target.getvalue()
