"""Workbook bytes -> grids, one a sheet. XLSX and XLSM by openpyxl; damaged ones and ODS by python-calamine.

Values are those stored in the file: formulas are never computed, macros never run, links never followed, and
``guard`` looks at the container before a reader does.
"""

from __future__ import annotations

import datetime as dt
import io
import math
import re
import warnings
import zipfile
from dataclasses import replace
from typing import TYPE_CHECKING

from adhesion_stats.intake.grid import Detail, Grid, Kind
from adhesion_stats.intake.guard import Refused, check_areas, check_reach, check_span, parts_of
from adhesion_stats.intake.opendocument import hidden_of
from adhesion_stats.intake.rich_text import bound_shown, plain_text, sums_up, unit_shown
from adhesion_stats.messages import Severity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from openpyxl.cell import Cell
    from openpyxl.cell.rich_text import CellRichText
    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from adhesion_stats.intake.findings import Findings

__all__ = ["is_zip", "read_workbook"]

_EPOCH = dt.datetime(1899, 12, 30)  # noqa: DTZ001 - a spreadsheet knows no time zone


def is_zip(content: bytes) -> bool:
    """Whether the bytes are a zip container (XLSX, XLSM, ODS, ...)."""
    return content[:4] == b"PK\x03\x04"


def read_workbook(content: bytes, file: str, findings: Findings) -> list[Grid]:
    """Return the sheets of a workbook; what can't be read is said in ``findings`` (then the list is empty)."""
    try:
        parts = parts_of(content)
        return _read(content, parts, file, findings)
    except zipfile.BadZipFile as problem:
        findings.add("workbook_damaged", Severity.ERROR, facts={"problem": str(problem)})
    except Refused as refused:
        findings.add(refused.code, Severity.ERROR, facts=refused.facts)
    return []


def _read(content: bytes, parts: Mapping[str, bytes], file: str, findings: Findings) -> list[Grid]:
    if (
        "xl/workbook.xml" not in parts
        and "content.xml" not in parts
        and not any(n.endswith("workbook.bin") for n in parts)
    ):
        findings.add("not_a_table_file", Severity.ERROR, facts={"what": "zip"})
        return []
    if "xl/vbaProject.bin" in parts:
        findings.add("macros_not_run", Severity.NOTE)
    if any(name.startswith("xl/externalLinks/") for name in parts):
        findings.add("links_not_followed", Severity.NOTE)
    if "xl/workbook.xml" not in parts:
        return _by_calamine(content, parts, file, findings, why="")
    check_areas(parts)
    try:
        return _by_openpyxl(content, file)
    except Refused:
        raise
    except Exception as problem:  # noqa: BLE001 - openpyxl raises anything on damaged parts; what remains is tried below
        return _repaired(content, parts, file, findings, str(problem))


# ------------------------------------------------------------------------------------------ openpyxl
def _by_openpyxl(content: bytes, file: str) -> list[Grid]:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # styles and extensions that don't concern the values
        values = openpyxl.load_workbook(io.BytesIO(content), data_only=True, keep_links=False, rich_text=True)
        formulas = openpyxl.load_workbook(io.BytesIO(content), data_only=False, keep_links=False)
    return [_sheet(sheet, formulas[sheet.title], file, values) for sheet in values.worksheets]


def _sheet(sheet: Worksheet, formulas: Worksheet, file: str, book: Workbook) -> Grid:
    from openpyxl.cell.rich_text import CellRichText

    found: dict[tuple[int, int], tuple[str, Detail | None]] = {}
    asked = {key: cell for key, cell in formulas._cells.items() if cell.data_type == "f"}  # noqa: SLF001 - the sparse map of cells
    lines = frozenset(i for i, font in enumerate(book._fonts) if font.strike)  # noqa: SLF001 - fonts by their number
    struck: set[int] = set()
    for key, cell in sheet._cells.items():  # noqa: SLF001
        value = cell.value
        if isinstance(value, CellRichText):
            value, gone = plain_text(_parts(value))
            if gone:
                struck.add(key[0])
        text, detail = _shown(value, cell.data_type, cell.number_format, book)
        if key in asked:
            detail = Detail(Kind.UNCOMPUTED, formula=True) if value is None else _as_formula(detail, asked[key])
            text = str(asked[key].value) if value is None else text
        if text or detail is not None:
            found[key] = (text, detail)
            if lines and cell._style.fontId in lines:  # noqa: SLF001 - cell.font makes an object for each cell
                struck.add(key[0])
    if not found:
        return Grid(file, sheet.title, [], [], hidden=sheet.sheet_state != "visible")
    first_row, last_row = min(r for r, _ in found), max(r for r, _ in found)
    first_column, last_column = min(c for _, c in found), max(c for _, c in found)
    check_span(sheet.title, (first_row, first_column), (last_row, last_column))
    width = last_column - first_column + 1
    rows = [[""] * width for _ in range(last_row - first_row + 1)]
    details: dict[tuple[int, int], Detail] = {}
    for (r, c), (text, detail) in found.items():
        rows[r - first_row][c - first_column] = text
        if detail is not None:
            details[r - first_row, c - first_column] = detail
    merged = tuple(
        (
            max(m.min_row - first_row, 0),
            max(m.min_col - first_column, 0),
            m.max_row - first_row,
            m.max_col - first_column,
        )
        for m in sheet.merged_cells.ranges
        if m.max_row >= first_row and m.max_col >= first_column
    )
    hidden_rows = frozenset(
        r - first_row for r, d in sheet.row_dimensions.items() if d.hidden and first_row <= r <= last_row
    )
    return Grid(
        file,
        sheet.title,
        rows,
        list(range(first_row, last_row + 1)),
        details,
        first_column - 1,
        tuple(sorted(merged)),
        hidden_rows,
        _hidden_columns(sheet, first_column),
        sheet.sheet_state != "visible",
        struck=frozenset(struck),
    )


def _parts(cell: CellRichText) -> list[tuple[str, bool, bool]]:
    """(text, raised, struck out) of each part of a cell."""
    from openpyxl.cell.rich_text import TextBlock

    return [
        (part.text, part.font.vertAlign == "superscript", bool(part.font.strike))
        if isinstance(part, TextBlock)
        else (part, False, False)
        for part in cell
    ]


def _hidden_columns(sheet: Worksheet, first_column: int) -> frozenset[int]:
    hidden: set[int] = set()
    for dimension in sheet.column_dimensions.values():
        if dimension.hidden and dimension.min and dimension.max:
            hidden |= {c - first_column for c in range(dimension.min, min(dimension.max, dimension.min + 1000) + 1)}
    return frozenset(hidden)


def _as_formula(detail: Detail | None, cell: Cell) -> Detail | None:
    if detail is None:
        return None
    value = cell.value if isinstance(cell.value, str) else getattr(cell.value, "text", "")
    return replace(detail, formula=True, sums=sums_up(str(value), cell.column_letter, cell.row))


def _shown(value: object, data_type: str, number_format: str, book: Workbook) -> tuple[str, Detail | None]:
    """Text of a cell as a spreadsheet shows it, and what else it holds."""
    if value is None:
        return "", None
    if isinstance(value, bool):
        return str(value).upper(), Detail(Kind.BOOLEAN, float(value))
    if isinstance(value, int | float):
        if not math.isfinite(value):
            return str(value), None
        shown = shown_number(float(value), number_format)
        sign = bound_shown(number_format)
        if sign:  # "> 3.5" to whoever reads the sheet
            return f"{sign} {shown}", None
        return shown, Detail(Kind.NUMBER, float(value), percent="%" in number_format, unit=unit_shown(number_format))
    if isinstance(value, dt.datetime):
        iso = value.date().isoformat()
        shown = iso if value.time() == dt.time() else value.isoformat(sep=" ", timespec="seconds")
        epoch = book.epoch if isinstance(book.epoch, dt.datetime) else _EPOCH
        return shown, Detail(Kind.DATE, (value - epoch).total_seconds() / 86400.0, iso)
    if isinstance(value, dt.date):
        return value.isoformat(), Detail(Kind.DATE, None, value.isoformat())
    if isinstance(value, dt.time | dt.timedelta):
        return str(value), Detail(Kind.DATE)
    text = str(value)
    return text, Detail(Kind.ERROR) if data_type == "e" else None


_PLAIN_FORMAT = re.compile(r"(0+)(?:\.(0+))?")


def shown_number(value: float, number_format: str = "General") -> str:
    """A number as a spreadsheet shows it: General, ``0.00``, ``000``; other formats like General.

    >>> shown_number(12.1, "0.00"), shown_number(7.0, "000"), shown_number(1.62)
    ('12.10', '007', '1.62')
    """
    plain = _PLAIN_FORMAT.fullmatch(number_format)
    if plain and value >= 0:
        decimals = len(plain[2] or "")
        shown = f"{value:.{decimals}f}"
        whole, point, fraction = shown.partition(".")
        if float(shown) == value or len(plain[1]) > 1:
            return whole.zfill(len(plain[1])) + point + fraction
    if value == int(value) and abs(value) < 1e18:
        return str(int(value))
    return repr(value)


# ------------------------------------------------------------------------------------------ damaged
_PLAIN_STYLES = (
    b'<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><fonts '
    b'count="1"><font/></fonts><fills count="1">'
    b'<fill><patternFill/></fill></fills><borders count="1"><border/></borders><cellStyleXfs '
    b'count="1"><xf/></cellStyleXfs><cellXfs count="1"><xf/></cellXfs>'
    b"</styleSheet>"
)


def _repaired(content: bytes, parts: Mapping[str, bytes], file: str, findings: Findings, why: str) -> list[Grid]:
    """A workbook with damaged parts: first without its styles, then by the second reader."""
    try:
        grids = _by_openpyxl(_without_styles(content), file)
    except Refused:
        raise
    except Exception:  # noqa: BLE001 - whatever is damaged besides styles, the second reader has the last word
        return _by_calamine(content, parts, file, findings, why=why)
    findings.add("workbook_repaired", Severity.WARNING, facts={"problem": why})
    return grids


def _without_styles(content: bytes) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            if name == "xl/styles.xml":
                new.writestr(name, _PLAIN_STYLES)
            elif name.startswith("xl/worksheets/sheet"):
                new.writestr(name, re.sub(rb'(<(?:c|row|col)\b[^<>]*?) (?:s|style)="\d+"', rb"\1", old.read(name)))
            else:
                new.writestr(name, old.read(name))
    return target.getvalue()


# ------------------------------------------------------------------------------------------ calamine
def _by_calamine(content: bytes, parts: Mapping[str, bytes], file: str, findings: Findings, *, why: str) -> list[Grid]:
    import python_calamine

    check_reach(parts)
    try:
        gone = hidden_of(parts)
        book = python_calamine.CalamineWorkbook.from_object(io.BytesIO(content))
        sheets = [(meta, book.get_sheet_by_name(meta.name)) for meta in book.sheets_metadata]
        tables = [(meta, sheet, sheet.to_python(skip_empty_area=False)) for meta, sheet in sheets]
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as problem:  # noqa: BLE001 - told to the user; a fault inside the reader is no Exception
        if "password" in f"{problem}".casefold() or "encrypt" in f"{problem}".casefold():
            findings.add("workbook_protected", Severity.ERROR)
        else:
            findings.add("workbook_damaged", Severity.ERROR, facts={"problem": f"{problem}" or why})
        return []
    if why:
        findings.add("workbook_repaired", Severity.WARNING, facts={"problem": why})
    grids = []
    for k, (meta, sheet, table) in enumerate(tables):
        rows: list[list[str]] = []
        details: dict[tuple[int, int], Detail] = {}
        for r, cells in enumerate(table):
            if cells == [""] * len(cells):  # a million blank rows before a stray cell
                rows.append([""] * len(cells))
                continue
            row = []
            for c, cell in enumerate(cells):
                text, detail = _calamine_cell(cell)
                row.append(text)
                if detail is not None:
                    details[r, c] = detail
            rows.append(row)
        merged = tuple(sorted((a[0], a[1], b[0], b[1]) for a, b in (sheet.merged_cell_ranges or ())))
        hidden = "visible" not in str(meta.visible).casefold()
        hidden_rows, hidden_columns = gone[k] if len(gone) == len(tables) else ([], [])
        grids.append(
            Grid(
                file,
                meta.name,
                rows,
                list(range(1, len(rows) + 1)),
                details,
                0,
                merged,
                _within(hidden_rows, len(rows)),
                _within(hidden_columns, max(map(len, rows), default=0)),
                hidden=hidden,
            )
        )
    return grids


def _within(runs: list[tuple[int, int]], end: int) -> frozenset[int]:
    """Indices below ``end`` of runs of (first, how many)."""
    return frozenset(i for first, many in runs for i in range(first, min(first + many, end)))


def _calamine_cell(cell: object) -> tuple[str, Detail | None]:
    if isinstance(cell, bool):
        return str(cell).upper(), Detail(Kind.BOOLEAN, float(cell))
    if isinstance(cell, int | float):
        if not math.isfinite(cell):
            return str(cell), None
        return shown_number(float(cell)), Detail(Kind.NUMBER, float(cell))
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat(), Detail(Kind.DATE, None, cell.date().isoformat())
    if isinstance(cell, dt.date):
        return cell.isoformat(), Detail(Kind.DATE, None, cell.isoformat())
    if isinstance(cell, dt.time | dt.timedelta):
        return str(cell), Detail(Kind.DATE)
    text = str(cell) if cell is not None else ""
    return text, Detail(Kind.ERROR) if text.startswith("#") and text.rstrip("!?").isupper() else None
