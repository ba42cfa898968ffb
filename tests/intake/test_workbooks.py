"""Workbooks: what a spreadsheet shows is what is read, and what can't be trusted is refused by sheet and cell."""

from __future__ import annotations

import datetime as dt
import io
import zipfile

import openpyxl
import pytest

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import Reading, read_bytes
from adhesion_stats.terms.layout import Layout
from adhesion_stats.wording import say_with_place
from tests.intake.books import ods, replaced, xlsx

HEAD = ("zone", "id", "strength MPa")
ROWS = [HEAD, ("Z1", "p1", 1.62), ("Z1", "p2", 1.48)]


def read(content: bytes, file: str = "readings.xlsx", layout: Layout | None = None) -> Reading:
    """Read a workbook."""
    return read_bytes(content, file=file, layout=layout)


def refusal(content: bytes, layout: Layout | None = None) -> str:
    """Return what is said when a workbook is refused."""
    with pytest.raises(UnusableReadings) as caught:
        read(content, layout=layout)
    return str(caught.value)


def said(reading: Reading) -> str:
    """Return what is said about a reading."""
    return "\n".join(say_with_place(message) for message in reading.messages)


def test_numbers_and_texts_are_read() -> None:
    """A plain sheet gives its values, with sheet and row."""
    pulls = read(xlsx(ROWS, names=["Deck"])).pulls
    assert pulls.strength_mpa.tolist() == [1.62, 1.48]
    assert pulls.sheet == ("Deck", "Deck")
    assert pulls.row.tolist() == [2, 3]


def test_a_formula_without_stored_value_is_refused_by_its_cell() -> None:
    """Openpyxl stores no results, so its formulas have none."""
    text = refusal(xlsx([HEAD, ("Z1", "p1", "=1.5+0.12"), ("Z1", "p2", 1.48)]))
    assert "C2" in text
    assert "=1.5+0.12" in text
    assert 'sheet "Sheet1"' in text
    assert "strength MPa" in text


def test_an_error_cell_is_refused_by_its_cell() -> None:
    """A division by zero is no value."""
    text = refusal(xlsx([HEAD, ("Z1", "p1", "#DIV/0!"), ("Z1", "p2", 1.48)]))
    assert "C2" in text
    assert "#DIV/0!" in text


def test_names_are_shown_as_the_spreadsheet_shows_them() -> None:
    """12.10 with two decimals, 007 with a format of zeros, 7 as a plain number."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"]["B2"].number_format = "0.00"
        book["Sheet1"]["B3"].number_format = "000"

    pulls = read(xlsx([HEAD, (1, 12.1, 1.62), (1, 7, 1.48), (1, 7, 1.5), (1, 100000, 1.5)], edit=edit)).pulls
    assert pulls.id == ("12.10", "007", "7", "100000")
    assert pulls.zone == ("1",) * 4


def test_an_id_that_became_a_date_is_warned_of() -> None:
    """A spreadsheet makes a date of 5-3."""
    reading = read(xlsx([HEAD, ("Z1", dt.date(2024, 3, 5), 1.62), ("Z1", "p2", 1.48)]))
    assert "name_became_date" in {message.code for message in reading.messages}
    assert "2024-03-05" in said(reading)


def test_dates_of_cells_are_used() -> None:
    """Date cells need no order."""
    rows = [("zone", "id", "date", "strength MPa"), ("Z1", "p1", dt.date(2024, 4, 3), 1.62)]
    assert read(xlsx(rows)).pulls.date == ("2024-04-03",)


def test_dates_of_the_1904_system_are_used() -> None:
    """The same day, counted from 1904."""

    def edit(book: openpyxl.Workbook) -> None:
        book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904

    rows = [("zone", "id", "date", "strength MPa"), ("Z1", "p1", dt.date(2024, 4, 3), 1.62)]
    assert read(xlsx(rows, edit=edit)).pulls.date == ("2024-04-03",)


def test_a_value_that_became_a_date_is_refused() -> None:
    """1.5 typed under a locale with points in dates becomes the first of May."""
    text = refusal(xlsx([HEAD, ("Z1", "p1", dt.date(2024, 5, 1)), ("Z1", "p2", 1.48)]))
    assert "2024-05-01" in text
    assert "date where a number" in text


def test_percent_cells_are_shares() -> None:
    """80 % is stored as 0.8."""

    def edit(book: openpyxl.Workbook) -> None:
        for cell in ("D2", "E2"):
            book["Sheet1"][cell].number_format = "0%"

    reading = read(xlsx([(*HEAD, "A", "A/B"), ("Z1", "p1", 1.62, 0.8, 0.2)], edit=edit))
    assert reading.pulls.failure(0) == {"A": 80.0, "A/B": 20.0}


def test_hidden_rows_are_read_and_said() -> None:
    """A filter left on must not hide a pull from the decision."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"].row_dimensions[3].hidden = True

    reading = read(xlsx(ROWS, edit=edit))
    assert len(reading.pulls) == 2
    assert "hidden row" in said(reading)
    assert "3 (p2)" in said(reading)


def test_hidden_rows_and_columns_of_readings_side_by_side_are_said() -> None:
    """Which readings came from a hidden row or column is still known after each has a row of its own."""
    rows = [("zone", "1 MPa", "2 MPa", "3 MPa"), ("Z1", 1.62, 1.48, 1.55), ("Z2", 2.02, 1.98, 2.1)]

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"].row_dimensions[3].hidden = True
        book["Sheet1"].column_dimensions["C"].hidden = True

    reading = read(xlsx(rows, edit=edit))
    assert len(reading.pulls) == 6
    (hidden,) = (message for message in reading.messages if message.code == "hidden_rows_read")
    assert hidden.facts["count"] == 4  # three of the hidden row, one more of the hidden column


def test_hidden_rows_and_columns_of_an_open_document_are_said() -> None:
    """Rows that a filter took away or that are collapsed; one element stands for several columns."""

    def hide(xml: bytes) -> bytes:
        head, *rows = xml.split(b"<table:table-row>")
        columns = (
            b'<table:table-column/><table:table-column table:number-columns-repeated="2" table:visibility="collapse"/>'
        )
        states = (b"", b"", b"", b' table:visibility="filter"', b' table:visibility="collapse"')
        return (
            head
            + columns
            + b"".join(b"<table:table-row" + state + b">" + row for state, row in zip(states, rows, strict=True))
        )

    rows = [*ROWS, ("Z1", "p3", 1.7), ("Z1", "p4", 1.8)]
    reading = read(replaced(ods(rows), {"content.xml": hide}))
    assert len(reading.pulls) == 4
    text = said(reading)
    assert "4 (p3)" in text
    assert "5 (p4)" in text
    assert "3 (p2)" not in text
    assert "Hidden columns" in text


def test_an_open_document_that_is_cut_off_is_refused() -> None:
    """The reader would never end on it."""
    assert "can't be opened" in refusal(replaced(ods(ROWS), {"content.xml": lambda xml: xml[: len(xml) // 2]}))


def test_a_hidden_column_is_said() -> None:
    """The column is read like the others."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"].column_dimensions["B"].hidden = True

    assert "Hidden columns" in said(read(xlsx(ROWS, edit=edit)))


def test_a_hidden_sheet_is_not_read_and_said() -> None:
    """The visible sheet counts."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Old"].sheet_state = "hidden"

    reading = read(xlsx(ROWS, ROWS, names=["New", "Old"], edit=edit))
    assert set(reading.pulls.sheet) == {"New"}
    assert "Old" in said(reading)


def test_only_a_hidden_sheet_is_refused() -> None:
    """Somebody hid the readings; ask."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Old"].sheet_state = "hidden"

    assert "hidden sheet" in refusal(xlsx([("cover",)], ROWS, names=["Cover", "Old"], edit=edit))


def test_several_sheets_are_asked_about() -> None:
    """Both hold readings: which one?"""
    content = xlsx(ROWS, ROWS, names=["North", "South"])
    text = refusal(content)
    assert "North, South" in text
    assert len(read(content, layout=Layout(sheet="South")).pulls) == 2


def test_all_sheets_are_read_when_the_layout_says_so() -> None:
    """Without a zone column, the sheet is the zone."""
    rows = [("id", "strength MPa"), ("p1", 1.62)]
    pulls = read(xlsx(rows, rows, names=["North", "South"]), layout=Layout(sheet="all")).pulls
    assert pulls.zone == ("North", "South")
    assert pulls.sheet == ("North", "South")


def test_a_missing_sheet_is_told_the_names() -> None:
    """A typo in the layout names what there is."""
    assert "North, South" in refusal(xlsx(ROWS, ROWS, names=["North", "South"]), Layout(sheet="Noth"))


def test_another_sheet_without_readings_is_named() -> None:
    """A cover sheet is not read and said."""
    assert "Cover" in said(read(xlsx([("Report of a test",)], ROWS, names=["Cover", "Data"])))


def test_a_wrong_dimension_record_changes_nothing() -> None:
    """Some programs write A1:A1 whatever the sheet holds."""
    broken = replaced(
        xlsx(ROWS), {"xl/worksheets/sheet1.xml": lambda body: body.replace(b'ref="A1:C3"', b'ref="A1:A1"')}
    )
    assert len(read(broken).pulls) == 2


def test_damaged_styles_are_survived_and_said() -> None:
    """Values don't depend on styles."""
    reading = read(replaced(xlsx(ROWS), {"xl/styles.xml": b"<broken"}))
    assert reading.pulls.strength_mpa.tolist() == [1.62, 1.48]
    assert "damaged" in said(reading)


def test_a_damaged_container_is_refused() -> None:
    """Half a file is no file."""
    content = xlsx(ROWS)
    assert "can't be opened" in refusal(content[: len(content) // 2])


def test_macros_are_not_run_and_said() -> None:
    """The part is never looked into."""
    assert "macros" in said(read(replaced(xlsx(ROWS), {"xl/vbaProject.bin": b"\x00" * 64})))


def test_a_workbook_under_a_wrong_name_is_read() -> None:
    """Bytes decide, not the ending of the name."""
    assert len(read(xlsx(ROWS), file="readings.csv").pulls) == 2
    assert len(read(b"zone,id,strength MPa\nZ1,p1,1.62\n", file="readings.xlsx").pulls) == 1


def test_a_protected_workbook_is_refused() -> None:
    """An encrypted workbook is a compound file with a named stream."""
    content = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500) + "EncryptedPackage".encode("utf-16-le") + bytes(500)
    assert "password" in refusal(content)


def test_the_old_binary_format_is_refused() -> None:
    """Save it as XLSX."""
    assert ".xls" in refusal(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000))


def test_a_workbook_compressed_beyond_reason_is_refused_before_unpacking() -> None:
    """Two hundred megabytes of nothing in a small file."""
    bomb = replaced(xlsx(ROWS), {"xl/worksheets/sheet9.xml": b"0" * (210 * 2**20)})
    assert len(bomb) < 2**20
    assert "unpacks" in refusal(bomb)


@pytest.mark.parametrize("content", [b"%PDF-1.7 zone", b"\x89PNG\r\n", b"<html><table>", b"\xff\xd8\xff\xe0"])
def test_another_kind_of_file_is_refused(content: bytes) -> None:
    """Pictures and pages hold no table."""
    assert "not a table" in refusal(content)


def test_another_zip_is_refused() -> None:
    """A zip is not always a workbook."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("readings.csv", "zone,id,strength MPa\nZ1,p1,1.62\n")
    assert "zip" in refusal(target.getvalue())


def test_an_empty_workbook_is_refused() -> None:
    """Nothing to read."""
    assert "holds nothing" in refusal(xlsx([]))


def test_open_document_sheets_give_the_same_as_workbooks() -> None:
    """Values and remarks don't depend on the format."""
    rows = [*ROWS, ("Z1", "p3", "> 3.5"), ("Z1", "Mean", 1.55)]
    one, two = read(xlsx(rows)), read(ods(rows))
    assert two.pulls.strength_mpa.tolist() == one.pulls.strength_mpa.tolist()
    assert two.pulls.id == one.pulls.id
    assert two.pulls.bound.tolist() == one.pulls.bound.tolist()
    assert [m.code for m in two.messages] == [m.code for m in one.messages]


def test_a_value_over_merged_rows_is_no_value_of_each() -> None:
    """A mean written over three rows must not become three readings."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"].merge_cells("C2:C4")

    content = xlsx([HEAD, ("Z1", "p1", 1.62), ("Z1", "p2", None), ("Z1", "p3", None)], edit=edit)
    assert "merged" in refusal(content)


def test_a_unit_shown_by_the_number_format_counts() -> None:
    """The cell holds 235 and shows 235 psi."""

    def edit(book: openpyxl.Workbook) -> None:
        book["Sheet1"]["C2"].number_format = '0" psi"'

    reading = read(xlsx([("zone", "id", "strength"), ("Z1", "p1", 235)], edit=edit))
    assert reading.pulls.strength_mpa[0] == pytest.approx(1.6203, abs=1e-4)


def test_a_sheet_of_another_name_is_not_taken_for_the_one_asked_for() -> None:
    """One sheet only, but not the one that the layout names."""
    assert "Deck" in refusal(xlsx(ROWS, names=["Deck"]), Layout(sheet="Wall"))


def test_links_to_other_files_are_not_followed() -> None:
    """The stored values count."""
    assert "links were not followed" in said(
        read(replaced(xlsx(ROWS), {"xl/externalLinks/externalLink1.xml": b"<x/>"}))
    )


def test_a_struck_out_reading_is_not_used_until_somebody_decides() -> None:
    """Its value is shown, in doubt; an empty cell with a line through it says nothing."""

    def edit(book: openpyxl.Workbook) -> None:
        sheet = book.worksheets[0]
        sheet["C3"].font = openpyxl.styles.Font(strike=True)
        sheet["D2"].font = openpyxl.styles.Font(strike=True)

    reading = read(xlsx(ROWS, edit=edit))
    assert list(reading.pulls.strength_mpa) == [1.62, 1.48]
    assert list(reading.pulls.doubts) == [(), ("struck_out",)]
    assert "1 row holds a struck-out cell: row 3" in said(reading)


def test_struck_out_readings_side_by_side_are_found() -> None:
    """Also where one row holds several pulls: then all of its pulls are in doubt."""

    def edit(book: openpyxl.Workbook) -> None:
        book.worksheets[0]["C2"].font = openpyxl.styles.Font(strike=True)

    wide = [("zone", "1 [MPa]", "2 [MPa]"), ("Z1", 1.62, 1.48), ("Z2", 1.70, 1.80)]
    reading = read(xlsx(wide, edit=edit))
    assert [bool(doubt) for doubt in reading.pulls.doubts] == [
        pull.startswith("2") for pull in map(str, reading.pulls.row)
    ]
