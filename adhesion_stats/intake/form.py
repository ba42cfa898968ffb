"""A readings form, blank or with the rows of a plan: one row a pull, units in the headings, choices where words are
expected. Same bytes every time.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

__all__ = ["FORM_COLUMNS", "FormColumn", "FormRow", "blank_form", "readings_form"]

FormRow = Mapping[str, str | float]  # heading -> what is written there already

_ROWS = 500  # rows prepared for entry
_CREATED = dt.datetime(2000, 1, 1)  # noqa: DTZ001 - a constant, so that the bytes never change


@dataclass(frozen=True, slots=True)
class FormColumn:
    """Heading, what to write, and how the cell is checked."""

    heading: str
    note: str
    check: Literal["", "text", "number", "percent", "date", "yes_no"] = ""
    width: int = 12


FORM_COLUMNS: tuple[FormColumn, ...] = (
    FormColumn("zone", "Needed. The area that one decision is about. Text, kept exactly as written.", "text", 16),
    FormColumn("id", "Name of the pull. Text: 007 and 7 are two names.", "text", 10),
    FormColumn(
        "strength [MPa]",
        "Needed, unless load and diameter are given. A value beyond "
        "the instrument's range: > 3.5. Nothing measured: leave blank.",
        "",
        14,
    ),
    FormColumn("load [N]", "Maximum force. Together with strength it is checked against load over area.", "", 12),
    FormColumn("diameter [mm]", "Of the surface really loaded. A square: 50 x 50.", "", 14),
    FormColumn("A [%]", "Share of the area that failed within the substrate.", "percent", 8),
    FormColumn("A/B [%]", "Between substrate and first layer.", "percent", 8),
    FormColumn("B [%]", "Within the first layer.", "percent", 8),
    FormColumn("B/C [%]", "Between first and second layer.", "percent", 8),
    FormColumn("C [%]", "Within the second layer.", "percent", 8),
    FormColumn("-/Y [%]", "Between last layer and dolly adhesive.", "percent", 8),
    FormColumn("Y [%]", "Within the dolly adhesive.", "percent", 8),
    FormColumn("Y/Z [%]", "Between dolly adhesive and dolly. The shares of a row sum to 100.", "percent", 8),
    FormColumn(
        "lost before loading",
        "yes where no value could be had: core broke while cutting, dolly fell off.",
        "yes_no",
        12,
    ),
    FormColumn("retest of", "Id of the pull that this one repeats.", "text", 10),
    FormColumn("exclusion reason", "Why the pull should not count. Blank where it counts.", "text", 18),
    FormColumn("date", "Day of the test.", "date", 12),
    FormColumn("application date", "Day on which the layer was applied.", "date", 14),
    FormColumn(
        "measurement", "Several pulls within a small patch that count as one value share a name here.", "text", 14
    ),
    FormColumn("panel", "Laboratory panel that carries several pulls.", "text", 10),
    FormColumn("system", "Coating or repair system.", "text", 12),
    FormColumn("primer", "Primer, where primers are compared.", "text", 12),
    FormColumn("cut", "yes if the layer was cut around the dolly before the pull.", "yes_no", 8),
    FormColumn("cut depth [mm]", "Depth of the cut into the substrate.", "number", 14),
    FormColumn("failure depth [mm]", "How deep below the face the pull broke, where the contract asks.", "number", 14),
    FormColumn("coating thickness [µm]", "", "number", 14),
    FormColumn("rate [MPa/s]", "Rate of loading.", "number", 12),
    FormColumn("time to failure [s]", "", "number", 12),
    FormColumn("glue cured [h]", "Hours from gluing the dolly to the pull.", "number", 12),
    FormColumn("temperature [°C]", "Of the surface, at test.", "number", 12),
    FormColumn("moisture [%]", "Of the substrate.", "number", 12),
    FormColumn("hollow", "yes where the place sounded hollow.", "yes_no", 8),
    FormColumn("instrument", "", "text", 14),
    FormColumn("certificate", "Calibration certificate and date due.", "text", 14),
    FormColumn("operator", "", "text", 12),
    FormColumn("party", "Contractor, engineer, ...", "text", 12),
    FormColumn("stage", "Bare substrate, trial, production, after remedy.", "text", 14),
    FormColumn("round", "1 for the first round of pulls, 2 for the round after a revision, and so on.", "text", 8),
    FormColumn("pour", "Concrete pour that the place belongs to.", "text", 10),
    FormColumn("span", "Span that the place belongs to.", "text", 10),
    FormColumn("x [m]", "Position on the plan.", "number", 8),
    FormColumn("y [m]", "Position on the plan.", "number", 8),
    FormColumn("photo", "", "text", 12),
    FormColumn("remark", "", "text", 30),
)
_NOTES = (
    (
        "One row a pull. Every pull made or meant to be made has a row, also those that were lost or failed at the"
        " dolly adhesive."
    ),
    (
        "Needed are a zone and a strength, or a load with its diameter. Everything else may stay blank; blank "
        "columns may be deleted."
    ),
    (
        "Change a unit in its heading if you record in another one, for example strength [psi]. Never mix units in"
        " a column without writing them in the cells."
    ),
    "Write no totals, means or empty headings among the readings.",
    (
        "Layer letters count from the substrate: the substrate first, then the first layer, the second layer, at "
        "last the dolly adhesive (Y) and the dolly (Z), as in ISO 4624 and EN 1542."
    ),
    "Shares of the area are estimated to the nearest 10 % (common practice).",
)


def blank_form(kind: Literal["xlsx", "csv"]) -> bytes:
    """Return the bytes of a blank form; the same bytes at every call with the same versions.

    The XLSX form has a note at every heading, drop-downs for yes and no, and checks of numbers, shares and dates; the
    CSV
    form (UTF-8 with mark, comma) has the headings only.
    """
    return readings_form(kind, ())


def readings_form(kind: Literal["xlsx", "csv"], rows: Sequence[FormRow], retests: Sequence[str] = ()) -> bytes:
    """Return the bytes of a form in which some cells are filled.

    Parameters
    ----------
    kind
        As for :func:`blank_form`.
    rows
        What is known of each pull, by heading of ``FORM_COLUMNS``.
    retests
        A line of text for each position kept for a retest: a sheet of its own in the XLSX form; the CSV form, which has
        one table only, leaves them out.

    Raises
    ------
    KeyError
        For a heading that the form does not have.
    """
    known = [column.heading for column in FORM_COLUMNS]
    for row in rows:
        for heading in row:
            if heading not in known:
                raise KeyError(heading)
    if kind == "xlsx":
        return _workbook(rows, retests)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(known)
    writer.writerows([row.get(heading, "") for heading in known] for row in rows)
    return b"\xef\xbb\xbf" + text.getvalue().encode()


def _workbook(rows: Sequence[FormRow], retests: Sequence[str]) -> bytes:
    import xlsxwriter

    target = io.BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True})
    book.set_properties({"title": "Pull-off readings", "created": _CREATED})
    sheet = book.add_worksheet("Readings")
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 2, "bg_color": "#E8EEF4"})
    text = book.add_format({"num_format": "@"})
    date = book.add_format({"num_format": "yyyy-mm-dd"})
    for c, column in enumerate(FORM_COLUMNS):
        sheet.set_column(c, c, column.width, {"text": text, "date": date}.get(column.check))
        sheet.write_string(0, c, column.heading, head)
        if column.note:
            sheet.write_comment(0, c, column.note, {"author": "", "x_scale": 1.6})
        rule = _rule(column)
        if rule:
            sheet.data_validation(1, c, max(_ROWS, len(rows) + _ROWS // 5), c, rule)
    _fill(sheet, [column.heading for column in FORM_COLUMNS], rows)
    sheet.set_row(0, 32)
    sheet.freeze_panes(1, 2)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)
    notes = book.add_worksheet("How to fill in")
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    notes.set_column(0, 0, 110)
    for r, line in enumerate(_NOTES):
        notes.write_string(r, 0, line, wrap)
    if retests:
        kept = book.add_worksheet("Retest positions")
        kept.set_column(0, 0, 110)
        for r, line in enumerate(retests):
            kept.write_string(r, 0, line)
    book.close()
    return target.getvalue()


def _fill(sheet: Worksheet, headings: Sequence[str], rows: Sequence[FormRow]) -> None:
    """Write the cells that are known; text stays text."""
    for r, row in enumerate(rows, 1):
        for c, heading in enumerate(headings):
            value = row.get(heading)
            if isinstance(value, str):
                sheet.write_string(r, c, value)
            elif value is not None:
                sheet.write_number(r, c, value)


def _rule(column: FormColumn) -> dict[str, object] | None:
    match column.check:
        case "yes_no":
            return {
                "validate": "list",
                "source": ["yes", "no"],
                "error_title": column.heading,
                "error_message": "yes, no or blank",
            }
        case "percent":
            return {
                "validate": "decimal",
                "criteria": "between",
                "minimum": 0,
                "maximum": 100,
                "error_title": column.heading,
                "error_message": "A share of the area from 0 to 100 %",
            }
        case "number":
            return {
                "validate": "decimal",
                "criteria": ">",
                "value": -1000,
                "error_title": column.heading,
                "error_message": "One number in the unit of the heading",
            }
        case "date":
            return {
                "validate": "date",
                "criteria": ">",
                "value": dt.date(1980, 1, 1),
                "error_title": column.heading,
                "error_message": "A date",
            }
        case _:
            return None
