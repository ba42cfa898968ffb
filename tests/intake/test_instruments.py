"""Instrument corrections, worked by hand. The certificates are invented."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.intake import Reading, read_bytes
from adhesion_stats.pulls import Bound
from adhesion_stats.terms.layout import Layout
from adhesion_stats.wording import say_with_place

# Invented certificate: shows 2 % too little at 2 kN, 1.25 % at 8 kN, 0.625 % at 16 kN.
TABLE = """
[instruments."G1"]
certificate = "K-2031"
unit = "kN"
table = [[2, 2.04], [8, 8.10], [16, 16.10]]
"""
ALL_G1 = 'instrument = "G1"\n'


def read(text: str, layout: str) -> Reading:
    """Read a text by a layout written in TOML."""
    return read_bytes(text.encode(), file="readings.csv", layout=Layout.from_toml(layout))


def said(reading: Reading) -> dict[str, str]:
    """What is said, by code."""
    return {message.code: say_with_place(message) for message in reading.messages}


def test_a_strength_made_from_the_corrected_load_is_not_corrected_again() -> None:
    """5 kN, written to 1 kN, allows both; 5070 N / 2500 mm² = 2.028 MPa stands there as it is; 2.000 is corrected."""
    head = "zone,id,load kN,size,strength MPa\n"
    pulls = read(head + "Z,p1,5,50 x 50 mm,2.028\nZ,p2,5,50 x 50 mm,2.000\n", ALL_G1 + TABLE).pulls
    assert pulls.strength_mpa.tolist() == pytest.approx([2.028, 2.028], rel=1e-12)


def test_a_load_is_interpolated_in_the_table() -> None:
    """5 kN lies halfway from 2 to 8: (2.04 + 8.10) / 2 = 5.07 kN; on 50 x 50 mm 5070 N / 2500 mm² = 2.028 MPa."""
    pulls = read("zone,id,load kN,size\nZ,p1,5,50 x 50 mm\n", ALL_G1 + TABLE).pulls
    assert pulls.load_n.tolist() == pytest.approx([5070.0], rel=1e-14)
    assert pulls.strength_mpa.tolist() == pytest.approx([2.028], rel=1e-14)


def test_what_was_shown_is_kept() -> None:
    """As indicated: 5000 N and 5000 / 2500 = 2.000 MPa."""
    reading = read("zone,id,load kN,size\nZ,p1,5,50 x 50 mm\n", ALL_G1 + TABLE)
    assert reading.pulls.indicated_load_n.tolist() == [5000.0]
    assert reading.pulls.indicated_mpa.tolist() == [2.0]
    assert reading.pulls.entered == ("5",)
    assert reading.pulls.labels["instrument"] == ("G1",)
    assert (
        '1 reading of instrument "G1" was corrected by certificate K-2031 (a table of 3 pairs): row 2 (p1): "5"'
        in said(reading)["instrument_corrected"]
    )


def test_ends_of_the_range_are_inside_also_in_another_unit() -> None:
    """A table in lbf, readings in N: the ends are inside, whatever the last bit of the conversion."""
    table = '[instruments.G1]\nunit = "lbf"\ntable = [[30, 31], [70, 72]]\n'
    lbf = 4.4482216152605
    rows = "".join(f"Z,p{k},{end * lbf:.17g},20 x 20 mm\n" for k, end in enumerate((30, 70)))
    pulls = read("zone,id,load N,size\n" + rows, ALL_G1 + table).pulls
    assert pulls.load_n.tolist() == pytest.approx([31 * lbf, 72 * lbf], rel=1e-12)
    assert pulls.doubts == ((), ())
    # One ulp beyond the end, as a conversion may leave it.
    gauge = Layout.from_toml(table).instruments["G1"]
    assert gauge.true_of(np.array([np.nextafter(70, 71), np.nextafter(30, 29)])).tolist() == [72.0, 31.0]


def test_outside_the_certified_range_nothing_is_extrapolated() -> None:
    """1.9 kN is below 2 kN: shown as indicated, 1900 / 2500 = 0.76 MPa, and doubted; so is 16.1 kN."""
    reading = read(
        "zone,id,load kN,size\nZ,p1,1.9,50 x 50 mm\nZ,p2,16.1,50 x 50 mm\nZ,p3,8,50 x 50 mm\n", ALL_G1 + TABLE
    )
    assert reading.pulls.strength_mpa.tolist() == pytest.approx([0.76, 6.44, 3.24], rel=1e-14)
    assert reading.pulls.doubts == (("outside_certified_range",), ("outside_certified_range",), ())
    text = said(reading)["outside_certified_range"]
    assert "2 to 16 kN" in text
    assert 'rows 2 (p1): "1.9", 3 (p2): "16.1"' in text


def test_the_range_used_may_be_narrower_than_the_table() -> None:
    """With range = [4, 16] a reading of 3 kN is doubted, though the table begins at 2."""
    pulls = read("zone,id,load kN,size\nZ,p1,3,50 x 50 mm\n", ALL_G1 + TABLE + "range = [4, 16]\n").pulls
    assert pulls.doubts == (("outside_certified_range",),)


def test_the_zero_reading_is_taken_off_first() -> None:
    """Shows 0.05 kN unloaded: 5.05 - 0.05 = 5 kN, true 5.07 kN as above."""
    pulls = read("zone,id,load kN,size\nZ,p1,5.05,50 x 50 mm\n", ALL_G1 + TABLE + 'zero = "50 N"\n').pulls
    assert pulls.load_n.tolist() == pytest.approx([5070.0], rel=1e-12)
    assert pulls.indicated_load_n.tolist() == [5050.0]


def test_a_polynomial() -> None:
    """True = 0.1 + 1.01 x - 0.001 x²: at 10 kN 0.1 + 10.1 - 0.1 = 10.1 kN; 10100 / 2500 = 4.04 MPa."""
    layout = ALL_G1 + '[instruments.G1]\nunit = "kN"\npolynomial = [0.1, 1.01, -0.001]\nrange = [1, 20]\n'
    pulls = read("zone,id,load kN,size\nZ,p1,10,50 x 50 mm\n", layout).pulls
    assert pulls.strength_mpa.tolist() == pytest.approx([4.04], rel=1e-14)


def test_a_reading_at_capacity_is_a_lower_bound() -> None:
    """At 16 kN the true load is at least 16.10 kN: 6.44 MPa; a display of 16.3 says no more than that."""
    layout = ALL_G1 + TABLE + 'capacity = "16 kN"\n'
    reading = read("zone,id,load kN,size\nZ,p1,16,50 x 50 mm\nZ,p2,16.3,50 x 50 mm\nZ,p3,8,50 x 50 mm\n", layout)
    assert reading.pulls.bound.tolist() == [Bound.AT_LEAST, Bound.AT_LEAST, Bound.EXACT]
    assert reading.pulls.strength_mpa.tolist() == pytest.approx([6.44, 6.44, 3.24], rel=1e-12)
    assert reading.pulls.doubts == ((), (), ())
    assert "2 readings reach the capacity (16 kN)" in said(reading)["at_capacity"]


def test_capacity_alone_needs_no_table() -> None:
    """An instrument may be stated for its capacity: values stay, the one at 12.5 kN (5.00 MPa) is a bound."""
    layout = ALL_G1 + '[instruments.G1]\nunit = "kN"\ncapacity = "12.5 kN"\n'
    pulls = read("zone,id,load kN,size\nZ,p1,12.5,50 x 50 mm\nZ,p2,5,50 x 50 mm\n", layout).pulls
    assert pulls.strength_mpa.tolist() == [5.0, 2.0]
    assert pulls.bound.tolist() == [Bound.AT_LEAST, Bound.EXACT]
    assert all(map(math.isnan, pulls.indicated_mpa))


def test_a_bound_that_was_written_is_corrected_and_stays_a_bound() -> None:
    """> 5 kN means more than 5.07 kN."""
    pulls = read("zone,id,load kN,size\nZ,p1,> 5,50 x 50 mm\n", ALL_G1 + TABLE).pulls
    assert pulls.load_n.tolist() == pytest.approx([5070.0], rel=1e-14)
    assert pulls.bound.tolist() == [Bound.AT_LEAST]


STRESS = """
[instruments."P7"]
unit = "MPa"
table = [[0.5, 0.49], [4.5, 4.29]]
"""


def test_a_gauge_that_shows_stress() -> None:
    """2.5 lies halfway: (0.49 + 4.29) / 2 = 2.39 MPa; the reading in psi goes through the same table."""
    pulls = read("zone,id,strength MPa\nZ,p1,2.5\n", 'instrument = "P7"\n' + STRESS).pulls
    assert pulls.strength_mpa.tolist() == pytest.approx([2.39], rel=1e-14)
    assert pulls.indicated_mpa.tolist() == [2.5]
    psi = 2.5 / 0.006894757293168361
    other = read(f"zone,id,strength psi\nZ,p1,{psi!r}\n", 'instrument = "P7"\n' + STRESS).pulls
    assert other.strength_mpa.tolist() == pytest.approx([2.39], rel=1e-12)


def test_a_stress_shown_for_one_dolly_is_converted_only_if_the_layout_says_so() -> None:
    """Shown for 50 mm, pulled on 20 mm: 2.39 x 50² / 20² = 2.39 x 6.25 = 14.9375 MPa; else 2.39 and a warning."""
    text = "zone,id,strength MPa,diameter mm\nZ,p1,2.5,20\n"
    plain = read(text, 'instrument = "P7"\nplausible = false\n' + STRESS)
    assert plain.pulls.strength_mpa.tolist() == pytest.approx([2.39], rel=1e-14)
    assert "314.2 mm²" in said(plain)["instrument_size_not_used"]
    scaled = read(text, 'instrument = "P7"\nplausible = false\n' + STRESS + 'reads_for = "50 mm"\n')
    assert scaled.pulls.strength_mpa.tolist() == pytest.approx([14.9375], rel=1e-14)
    assert "dolly of 50 mm" in said(scaled)["instrument_size_scaled"]
    assert "instrument_size_not_used" not in said(scaled)


def test_a_stress_for_the_dolly_that_was_used_is_not_converted() -> None:
    """Same size: 2.39 MPa and nothing said about sizes; so without any size in the file."""
    layout = 'instrument = "P7"\n' + STRESS + 'reads_for = "50 mm"\n'
    for text in ("zone,id,strength MPa,diameter mm\nZ,p1,2.5,50\n", "zone,id,strength MPa\nZ,p1,2.5\n"):
        reading = read(text, layout)
        assert reading.pulls.strength_mpa.tolist() == pytest.approx([2.39], rel=1e-14)
        assert not {"instrument_size_scaled", "instrument_size_not_used"} & set(said(reading))


def test_load_and_strength_of_a_nominal_dolly_agree_by_its_area() -> None:
    """2.00 MPa shown for 50 mm is 3927 N, whatever was pulled: no disagreement with the tested 49 mm."""
    layout = 'instrument = "P7"\n[instruments.P7]\nunit = "MPa"\nreads_for = "50 mm"\n'
    reading = read("zone,id,strength MPa,load N,diameter mm\nZ,p1,2.00,3927,49\n", layout)
    assert reading.pulls.doubts == ((),)
    # 2.00 x 50² / 49² = 2.0824656...
    assert reading.pulls.strength_mpa.tolist() == pytest.approx([2.0 * 2500 / 2401], rel=1e-14)


def test_strength_beside_its_load_is_corrected_in_the_same_ratio() -> None:
    """2.00 MPa beside 5 kN on 50 x 50 mm: 2.00 x 5.07 / 5 = 2.028 MPa."""
    pulls = read("zone,id,strength MPa,load kN,size\nZ,p1,2.00,5,50 x 50 mm\n", ALL_G1 + TABLE).pulls
    assert pulls.strength_mpa.tolist() == pytest.approx([2.028], rel=1e-14)
    assert pulls.doubts == ((),)


def test_a_strength_that_was_corrected_by_hand_is_taken_as_corrected() -> None:
    """2.028 MPa beside 5 kN agrees with 5.07 kN, not with 5: it stays, and that is said."""
    reading = read("zone,id,strength MPa,load kN,size\nZ,p1,2.028,5.000,50 x 50 mm\n", ALL_G1 + TABLE)
    assert reading.pulls.strength_mpa.tolist() == [2.028]
    assert reading.pulls.load_n.tolist() == pytest.approx([5070.0], rel=1e-14)
    assert reading.pulls.doubts == ((),)
    assert "taken as corrected already" in said(reading)["strength_already_corrected"]


def test_a_strength_that_agrees_with_neither_is_doubted() -> None:
    """2.10 MPa is neither 2.000 nor 2.028."""
    pulls = read("zone,id,strength MPa,load kN,size\nZ,p1,2.100,5.000,50 x 50 mm\n", ALL_G1 + TABLE).pulls
    assert pulls.doubts == (("load_strength_disagree",),)


def test_an_instrument_of_loads_needs_loads() -> None:
    """Strengths alone can't be corrected by a table in kN: refused with row and mend."""
    with pytest.raises(UnusableReadings, match=r'"G1" shows loads \(kN\), and the file gives no loads.*"1.62"'):
        read("zone,id,strength MPa\nZ,p1,1.62\n", ALL_G1 + TABLE)


def test_a_row_without_the_reading_is_doubted() -> None:
    """The second row has a strength and no load."""
    pulls = read(
        "zone,id,strength MPa,load kN,size\nZ,p1,2.0,5,50 x 50 mm\nZ,p2,1.9,,50 x 50 mm\n", ALL_G1 + TABLE
    ).pulls
    assert pulls.doubts == ((), ("instrument_not_applied",))


def test_two_instruments_by_their_column() -> None:
    """G1 is corrected (5.07 kN), G2 has no table; a blank cell means the layout's instrument."""
    layout = ALL_G1 + TABLE + '[instruments.G2]\nunit = "kN"\ndue = "2026-01-01"\n'
    pulls = read(
        "zone,id,load kN,size,instrument\nZ,p1,5,50 x 50 mm,G1\nZ,p2,5,50 x 50 mm,G2\nZ,p3,5,50 x 50 mm,\n", layout
    ).pulls
    assert pulls.load_n.tolist() == pytest.approx([5070.0, 5000.0, 5070.0], rel=1e-14)
    assert pulls.labels["instrument"] == ("G1", "G2", "G1")
    assert math.isnan(pulls.indicated_load_n[1])


def test_an_instrument_that_is_not_stated_is_refused_with_its_place() -> None:
    """Row, pull and name; and the names that are stated."""
    with pytest.raises(UnusableReadings, match=r'row 3.*it states: G1.*3 \(p2\): "G3"'):
        read("zone,id,load kN,size,gauge\nZ,p1,5,50 x 50 mm,G1\nZ,p2,5,50 x 50 mm,G3\n", TABLE)


def test_no_instrument_named_is_refused_with_the_line_that_names_it() -> None:
    """Nothing is assumed, even if only one is stated."""
    with pytest.raises(UnusableReadings, match='instrument = "G1"'):
        read("zone,id,load kN,size\nZ,p1,5,50 x 50 mm\n", TABLE)


def test_calibration_past_due_at_the_date_of_test() -> None:
    """Due 2025-06-01: the pull of that day is in time, the next day's is not."""
    layout = ALL_G1 + TABLE + 'calibrated = "2024-06-01"\ndue = "2025-06-01"\n'
    reading = read(
        "zone,id,load kN,size,date\nZ,p1,5,50 x 50 mm,2025-06-01\nZ,p2,5,50 x 50 mm,2025-06-02\nZ,p3,5,50 x 50 mm,\n"
        "Z,p4,5,50 x 50 mm,2024-05-31\n",
        layout,
    )
    told = said(reading)
    assert '(2025-06-01): row 3 (p2): "2025-06-02".' in told["calibration_past_due"]
    assert '(2024-06-01): row 5 (p4): "2024-05-31".' in told["calibration_after_test"]
    assert "4 (p3)" in told["calibration_not_checked"]
    assert reading.pulls.doubts == ((),) * 4


def test_another_certificate_in_the_file_is_said() -> None:
    """The layout's is used, the file's is named."""
    reading = read(
        "zone,id,load kN,size,certificate\nZ,p1,5,50 x 50 mm,K-1999\nZ,p2,5,50 x 50 mm,K-2031\n", ALL_G1 + TABLE
    )
    assert 'row 2 (p1): "K-1999".' in said(reading)["certificate_differs"]


def test_a_corrected_value_has_no_recording_step() -> None:
    """Steps of the display are no steps of the true value."""
    assert math.isnan(
        read("zone,id,strength MPa\nZ,p1,2.50\n", 'instrument = "P7"\n' + STRESS).pulls.recording_step_mpa
    )


def test_summaries_are_compared_with_what_was_shown() -> None:
    """A mean written below the readings as indicated is no contradiction."""
    reading = read("zone,id,strength MPa\nZ,p1,2.5\nZ,p2,1.5\nZ,Mean,2.0\n", 'instrument = "P7"\n' + STRESS)
    assert "summary_differs" not in said(reading)
    assert len(reading.pulls) == 2


def test_two_sheets_keep_what_was_shown() -> None:
    """Tables that are joined keep their columns of readings as indicated."""
    text = "zone,id,load kN,size\nZ,p1,5,50 x 50 mm\n\nzone,id,load N,size\nY,p2,5000,50 x 50 mm\n"
    pulls = read(text, ALL_G1 + TABLE).pulls
    assert pulls.indicated_load_n.tolist() == [5000.0, 5000.0]
    assert pulls.load_n.tolist() == pytest.approx([5070.0, 5070.0])


def test_instruments_come_back_from_the_text_of_a_layout() -> None:
    """Everything that can be stated can be written and read again."""
    layout = Layout.from_toml(
        ALL_G1 + TABLE + 'range = [2, 15.5]\nzero = "0.05 kN"\ncapacity = "16 kN"\n'
        + 'calibrated = 2025-03-01\ndue = "2026-03-01"\n'
        + STRESS + 'reads_for = "50 mm"\n[instruments."a b"]\nunit = "kN"\npolynomial = [0.1, 1.01]\nrange = [1, 2]\n'
    )  # fmt: skip
    assert Layout.from_toml(layout.to_toml()) == layout
    assert layout.instruments["G1"].calibrated == "2025-03-01"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("instruments = 3", "a table per instrument"),
        ("[instruments]\nG1 = 3", "a table with unit"),
        ("[instruments.G1]\ncertificate = 'x'", "unit of load or stress"),
        ("[instruments.G1]\nunit = 'mm'", "unit of load or stress"),
        ("[instruments.G1]\nunit = 'kN'\ntabel = [[1, 1], [2, 2]]", 'did you mean "table"'),
        ("[instruments.G1]\nunit = 'kN'\nzzz = 1", "known: unit, certificate"),
        ("[instruments.G1]\nunit = 'kN'\ntable = [[1, 1]]", "two or more pairs"),
        ("[instruments.G1]\nunit = 'kN'\ntable = [[2, 2], [1, 1]]", "indicated values that increase"),
        ("[instruments.G1]\nunit = 'kN'\ntable = [[1, 2], [2, 2]]", "true values that increase"),
        ("[instruments.G1]\nunit = 'kN'\ntable = [[1, 1], [2, 2]]\npolynomial = [0, 1]\nrange = [1, 2]", "not both"),
        ("[instruments.G1]\nunit = 'kN'\ntable = [[1, 1], [2, 2]]\nrange = [0, 2]", "within the table, 1 to 2"),
        ("[instruments.G1]\nunit = 'kN'\npolynomial = [0, 1]", "certified range of the polynomial"),
        ("[instruments.G1]\nunit = 'kN'\npolynomial = [0, 1, -0.1]\nrange = [0, 6]", "increases over the range"),
        ("[instruments.G1]\nunit = 'kN'\npolynomial = []\nrange = [0, 6]", "coefficients"),
        ("[instruments.G1]\nunit = 'kN'\nrange = [6, 0]", "smallest, largest"),
        ("[instruments.G1]\nunit = 'kN'\nzero = '0.1'", "a load with its unit"),
        ("[instruments.G1]\nunit = 'kN'\ncapacity = '5 MPa'", "a load with its unit"),
        ("[instruments.G1]\nunit = 'MPa'\ncapacity = '0 MPa'", "a stress with its unit"),
        ("[instruments.G1]\nunit = 'kN'\ndue = '1.3.2025'", "a date such as"),
        ("[instruments.G1]\nunit = 'kN'\ncalibrated = '2025-03-01'\ndue = '2025-02-01'", "after the calibration"),
        ("[instruments.G1]\nunit = 'kN'\nreads_for = '50 mm'", "for no dolly"),
    ],
)
def test_a_certificate_that_can_not_be_is_told_what_was_expected(text: str, told: str) -> None:
    """Each wrong entry names its key and what was expected."""
    with pytest.raises(InvalidSpecification, match=told):
        Layout.from_toml(text)


@pytest.mark.parametrize(
    ("layout", "told"),
    [
        ('instrument = "G2"\n' + TABLE, "one of G1"),
        ('instrument = "G2"\n', "name of a table"),
        ('instrument = "P7"\n' + STRESS + 'reads_for = "50"\n', "size with its unit"),
    ],
)
def test_a_layout_that_names_what_is_not_there_is_told(layout: str, told: str) -> None:
    """Names and sizes are checked when the file is read."""
    with pytest.raises(UnusableReadings, match=told):
        read("zone,id,strength MPa\nZ,p1,2.5\n", layout)
