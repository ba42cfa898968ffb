"""The twin's own reading of raw cells: exact numbers, units, bounds, merged cells; what it does not know it says."""

from __future__ import annotations

import io
import zipfile
from fractions import Fraction

import openpyxl
import pytest

from adhesion_stats.intake import table
from adhesion_stats.twin import readings
from adhesion_stats.twin.failures import composition
from adhesion_stats.twin.model import NotKnown, Pull
from adhesion_stats.twin.quantities import PI, limit_of, measure
from adhesion_stats.twin.readings import read_pulls


def read(text: str, **layout: object) -> list[Pull]:
    """The pulls of a CSV text."""
    return read_pulls(text.encode(), "r.csv", layout, {})[0]


def test_it_knows_every_sign_for_as_above() -> None:
    """The list is the twin's own; one that lacks a sign would raise false alarms."""
    assert readings._DITTO == table._DITTO


def test_numbers_are_exact() -> None:
    """1.10 MPa is 11/10; 200 psi by NIST SP 811: 200 * 4.4482216152605 N / (25.4 mm)²."""
    (mpa,) = read("zone,strength [MPa]\nD,1.10\n")
    assert mpa.value == Fraction(11, 10)
    (psi,) = read("zone,strength [psi]\nD,200\n")
    assert psi.value == 200 * Fraction("4.4482216152605") / Fraction("25.4") ** 2


def test_load_over_area() -> None:
    """3 kN on 50 mm: 3000 / (π 50² / 4) = 1.5279 MPa; on a square of 50 mm: 3000 / 2500 = 1.2 MPa."""
    round_, square = read('zone,load [kN],diameter [mm]\nD,3,50\nD,3,"50 x 50"\n')
    assert round_.value == 3000 / (PI * 2500 / 4)
    assert float(round_.value) == pytest.approx(1.5279, abs=5e-5)
    assert square.value == Fraction(12, 10)


def test_bounds_words_and_decimal_commas() -> None:
    """A value beyond the gauge, one from above, a lost core, a glue failure, a missing one; "," as decimal mark."""
    pulls = read("zone;id;strength [N/mm²]\nD;1;> 2,5\nD;2;< 0,4\nD;3;core broke while drilling\nD;4;glue\nD;5;n/a\n")
    assert [(p.value, p.bound) for p in pulls[:2]] == [(Fraction("2.5"), "at least"), (Fraction("0.4"), "at most")]
    assert pulls[2].lost
    assert pulls[3].shares == {"Y": Fraction(100)}
    assert (pulls[4].value, pulls[4].bound, pulls[4].unread) == (None, "nothing", ())


def test_a_number_that_reads_two_ways_is_refused() -> None:
    """1,234 in every cell: one point two or one thousand; a layout decides."""
    with pytest.raises(NotKnown) as refused:
        read("zone;strength [MPa]\nD;1,234\nD;1,567\n")
    assert refused.value.code == "decimal"
    assert read("zone;strength [MPa]\nD;1,234\n", decimal=",")[0].value == Fraction("1.234")


def test_what_stands_in_a_cell_and_is_no_number_is_kept() -> None:
    """A range is not guessed: the row says that it could not be read."""
    (pull,) = read("zone,strength [MPa]\nD,1.2 to 1.4\n")
    assert pull.value is None
    assert [(one.what, one.code, one.detail) for one in pull.unread] == [("row 2", "cell", "1.2 to 1.4")]


def test_proof_loads_are_not_taken_for_strengths() -> None:
    """A column that says what was held changes what the values mean; the twin does not read such a file."""
    with pytest.raises(NotKnown) as refused:
        read("zone,strength [MPa],held\nD,1.5,yes\n")
    assert refused.value.code == "proof"


def test_the_layout_decides() -> None:
    """Columns, zones, rows that are no pulls, words for letters, a size for all."""
    text = "a,b,c\nnorth,3,wire\nNorth,3,A\nsum,6,\n"
    layout: dict[str, object] = {
        "heading_row": 1,
        "columns": {"zone": "a", "load": "b", "failure": "c"},
        "units": {"load": "kN"},
        "diameter": "50 mm",
        "leave_out_rows": [4],
        "zones": {"North": ["north"]},
        "failure_words": {"wire": "B"},
    }
    pulls = read(text, **layout)
    assert [(p.zone, p.shares) for p in pulls] == [("North", {"B": Fraction(100)}), ("North", {"A": Fraction(100)})]
    with pytest.raises(NotKnown) as refused:
        read(text, instruments={})
    assert (refused.value.code, refused.value.detail) == ("layout_key", "instruments")


@pytest.mark.parametrize(
    ("text", "shares"),
    [
        ("A 80 %, A/B 20 %", {"A": 80, "A/B": 20}),
        ("80A+20 a/b", {"A": 80, "A/B": 20}),
        ("30% -/Y, 70% Y", {"-/Y": 30, "Y": 70}),
        ("C/Y", {"-/Y": 100}),
        ("A 0.8 B 0.2", {"A": 80, "B": 20}),
        ("A 8 B 2", {"A": 80, "B": 20}),
        ("A, B", None),
        ("A 80, B 30", None),
        ("-", None),
    ],
)
def test_compositions(text: str, shares: dict[str, int] | None) -> None:
    """Notations of the trade; several codes without shares, and sums that are not the whole, are no composition."""
    assert composition(text, {}) == shares


def test_limits_as_written() -> None:
    """75 % of 2.00 MPa is 1.5 MPa; of two units the one that governs; a guard band is added in the limit's unit."""
    assert measure("75 % of 2.00 MPa", "strength").value == Fraction(3, 2)
    two = limit_of({"x": "200 psi (1.4 MPa)", "governs": "MPa"}, "x")
    assert (two.value, two.unit) == (Fraction(14, 10), "MPa")
    assert limit_of({"x": "1.50 MPa", "guard": "80 kPa"}, "x").value == Fraction("1.58")


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Site"], ["Zone", "No.", "Strength"], [None, None, "[MPa]"], ["Deck", "1", 2.14], [None, "2", "1,5"]):
        sheet.append(row)
    sheet.append([None, "Mean", 1.82])
    sheet.merge_cells("A4:A5")
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook() -> None:
    """Units below the headings, a merged zone, numbers and texts, a row that sums up others."""
    pulls, _ = read_pulls(_workbook(), "r.xlsx", {}, {})
    assert [(p.row, p.zone, p.id, p.value) for p in pulls] == [
        (4, "Deck", "1", Fraction("2.14")),
        (5, "Deck", "2", Fraction("1.5")),
    ]


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml"])
def test_a_workbook_with_entities_is_refused(part: str) -> None:
    """A document type in any part: how a few bytes of XML become gigabytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(_workbook())) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, b'<!DOCTYPE x [<!ENTITY a "b">]>' + content if name == part else content)
    with pytest.raises(NotKnown) as refused:
        read_pulls(out.getvalue(), "r.xlsx", {}, {})
    assert refused.value.code == "form"
