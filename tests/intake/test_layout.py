"""The layout of a readings file: written, read back, strict about its keys, and deciding what the file leaves open."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.intake import Reading, read_bytes
from adhesion_stats.terms.layout import Layout
from adhesion_stats.wording import say_with_place
from tests.cases.test_kinds import ALL, Kind

FULL = """
sheet = "Deck"
heading_row = 6
separator = ";"
encoding = "cp1250"
decimal = ","
date_order = "DMY"
failure_letters = "C1583"
diameter = "50 x 50 mm"
recording_step = "0.01 MPa"
zone = "Deck"
plausible = false
carry_zone_down = true
missing = ["x", "say \\"no\\""]
leave_out_rows = [17, 18]

[columns]
strength = "résultat"

[units]
strength = "MPa"

[failure_words]
wire = "B"
"in glue" = "Y"

[zones]
North = ["north", "NORTH "]
"""


def read(text: str, layout: str = "", **more: object) -> Reading:
    """Read a text by a layout written in TOML."""
    return read_bytes(text.encode(), file="readings.csv", layout=Layout.from_toml(layout))


def said(reading: Reading) -> str:
    """Return what is said about a reading."""
    return "\n".join(say_with_place(message) for message in reading.messages)


def test_a_layout_comes_back_from_its_text() -> None:
    """Everything that can be written can be read again."""
    layout = Layout.from_toml(FULL)
    assert Layout.from_toml(layout.to_toml()) == layout
    assert layout.zones == {"North": ("north", "NORTH ")}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("heading_rwo = 3", "heading_row"),
        ('[columns]\nstrenght = "x"', "strength"),
        ('[units]\nlaod = "kN"', "load"),
        ('decimal = ";"', "','"),
        ("heading_row = 0", "row number"),
        ("plausible = 1", "true or false"),
        ('date_order = "dmy"', "DMY"),
        ("sheet = 3", "a text"),
        ('[zones]\nNorth = "north"', "lists"),
        ("missing = 3", "list of texts"),
        ("a = [", "not a readable TOML"),
        ("wholly_unknown_thing = 1", "known: "),
        ("[columns]\nzone = 3", "table of texts"),
        ('leave_out_rows = ["a"]', "row numbers"),
    ],
)
def test_a_wrong_key_or_value_is_told_what_was_expected(text: str, told: str) -> None:
    """Typos name the nearest key, wrong values what was expected."""
    with pytest.raises(InvalidSpecification, match=told):
        Layout.from_toml(text)


def test_all_problems_of_a_layout_come_at_once() -> None:
    """Two typos, two messages."""
    with pytest.raises(InvalidSpecification) as caught:
        Layout.from_toml("shet = 'x'\nheading_row = 'y'")
    assert len(caught.value.messages) == 2


def test_evidence_stands_as_comments() -> None:
    """The written layout says why."""
    text = read("zone;id;strength MPa\nZ1;p1;1,62\n").layout.to_toml()
    assert '# heading "strength MPa"\nstrength = "strength MPa"' in text
    assert '# decimal: ",", from all numbers of the value\'s column' in text


@pytest.mark.parametrize(("decimal", "value"), [(",", 1.234), (".", 1234.0)])
def test_the_decimal_mark_decides_an_ambiguous_number(decimal: str, value: float) -> None:
    """1,234 is what the layout says."""
    reading = read("zone;id;strength kPa\nZ1;p1;1,234\n", f'decimal = "{decimal}"\nplausible = false')
    assert reading.pulls.strength_mpa[0] == pytest.approx(value / 1000)


def test_columns_and_units_can_be_named() -> None:
    """A heading that says nothing is named by the layout."""
    reading = read(
        "wo,wer,was\nZ1,p1,1.62\n", '[columns]\nzone = "wo"\nid = "wer"\nstrength = "was"\n[units]\nstrength = "MPa"'
    )
    pulls = reading.pulls
    assert (tuple(pulls.zone), tuple(pulls.id), pulls.strength_mpa.tolist()) == (("Z1",), ("p1",), [1.62])


def test_a_column_can_be_named_by_its_number() -> None:
    """The same heading twice needs a number."""
    text = "zone,id,strength MPa,strength MPa\nZ1,p1,1.62,1.10\n"
    assert read(text, '[columns]\nstrength = "#4"').pulls.strength_mpa.tolist() == [1.10]


def test_a_column_that_is_not_there_is_told() -> None:
    """The headings that exist are named."""
    with pytest.raises(UnusableReadings, match="Headings: zone, id, strength MPa"):
        read("zone,id,strength MPa\nZ1,p1,1.62\n", '[columns]\nstrength = "result"')


def test_a_diameter_can_be_given_for_all() -> None:
    """Load without size becomes strength."""
    assert read("zone,id,load N\nZ1,p1,4000\n", 'diameter = "50 x 50 mm"').pulls.strength_mpa.tolist() == [1.6]


def test_a_diameter_without_unit_is_refused() -> None:
    """50 of what?"""
    with pytest.raises(UnusableReadings, match="size with its unit"):
        read("zone,id,load N\nZ1,p1,4000\n", 'diameter = "50"')


def test_the_plausibility_gate_can_be_switched_off() -> None:
    """Other materials are stronger."""
    assert read("zone,id,strength MPa\nZ1,p1,162\n", "plausible = false").pulls.strength_mpa.tolist() == [162.0]


def test_spellings_of_a_zone_can_be_joined() -> None:
    """The layout says that both are one."""
    text = "zone,id,strength MPa\nDeck,p1,1.62\ndeck,p2,1.48\n"
    assert read(text, '[zones]\nDeck = ["deck"]').pulls.zone == ("Deck", "Deck")
    assert read(text, '[zones]\ndeck = ["deck"]\nDeck = ["Deck"]').pulls.zone == ("Deck", "deck")


def test_letters_of_astm_c1583_are_read_when_the_layout_says_so() -> None:
    """(b) is the bond line, A/B."""
    reading = read("zone,id,strength MPa,failure mode\nZ1,p1,1.62,(a)\nZ1,p2,1.48,b\n", 'failure_letters = "C1583"')
    assert [reading.pulls.failure(i) for i in range(2)] == [{"A": 100.0}, {"A/B": 100.0}]


def test_words_of_the_file_can_be_explained() -> None:
    """A wire break is a break in the first layer here."""
    reading = read("zone,id,strength MPa,failure\nZ1,p1,1.62,wire\n", '[failure_words]\nwire = "B"')
    assert reading.pulls.failure(0) == {"B": 100.0}


def test_dates_are_read_in_the_order_given() -> None:
    """What the column leaves open the layout decides."""
    text = "zone,id,date,strength MPa\nZ1,p1,03/04/2024,1.62\n"
    assert read(text, 'date_order = "MDY"').pulls.date == ("2024-03-04",)
    assert read(text.replace("03/04/2024", "45385"), 'date_order = "serial"').pulls.date == ("2024-04-03",)
    assert read(text.replace("03/04/2024", "43923"), 'date_order = "serial 1904"').pulls.date == ("2024-04-03",)


def test_rows_can_be_left_out_and_are_named() -> None:
    """Rows of the layout's list are no pulls."""
    reading = read("zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,1.48\n", "leave_out_rows = [3]")
    assert len(reading.pulls) == 1
    assert "3" in said(reading)
    assert "layout says so" in said(reading)


def test_the_recording_step_can_be_given() -> None:
    """1 psi in MPa."""
    reading = read("zone,id,strength psi\nZ1,p1,235.0\n", 'recording_step = "1 psi"')
    assert reading.pulls.recording_step_mpa == pytest.approx(0.006894757293168)


def test_the_recording_step_comes_from_the_digits_written() -> None:
    """The finest place in the column."""
    assert read("zone,id,strength MPa\nZ1,p1,1.6\nZ1,p2,1.55\n").pulls.recording_step_mpa == pytest.approx(0.01)


def test_a_spelling_can_be_kept_apart() -> None:
    """Named as its own only spelling, a zone stays; two others that are alike are still asked about."""
    text = "zone,id,strength MPa\nDeck 1,p1,1.62\nDeck1,p2,1.48\n"
    apart = Layout(zones={"Deck1": ("Deck1",)})
    assert tuple(read_bytes(text.encode(), file="f.csv", layout=apart).pulls.zone) == ("Deck 1", "Deck1")
    with pytest.raises(UnusableReadings, match="deck 1"):
        read_bytes((text + "deck 1,p3,1.5\n").encode(), file="f.csv", layout=apart)


def test_the_zone_of_all_pulls_can_be_given() -> None:
    """A file about one place."""
    assert read("id,strength MPa\np1,1.62\n", 'zone = "Deck"').pulls.zone == ("Deck",)


def test_the_heading_row_can_be_given() -> None:
    """And a row that isn't there is told."""
    text = "zone,id,strength MPa\nx,y,z\nzone,id,strength kPa\nZ1,p1,1620\n"
    assert read(text, "heading_row = 3").pulls.strength_mpa.tolist() == [1.62]
    with pytest.raises(UnusableReadings, match="headings stand in this row"):
        read(text, "heading_row = 33")


def test_an_unknown_encoding_or_unit_of_a_layout_is_told() -> None:
    """Both are errors that name what was written."""
    with pytest.raises(UnusableReadings, match="cp9999"):
        read("zone,id,strength MPa\nZ1,p1,1.62\n", 'encoding = "cp9999"')
    with pytest.raises(UnusableReadings, match="parsec"):
        read("zone,id,strength\nZ1,p1,1.62\n", '[units]\nstrength = "parsec"')


def test_an_encoding_can_be_given() -> None:
    """Polish in its old code page."""
    text = "Strefa;Nr;Wytrzymałość [MPa]\nŁąka;1;1,62\n"
    reading = read_bytes(text.encode("cp1250"), file="x.csv", layout=Layout(encoding="cp1250"))
    assert reading.pulls.zone == ("Łąka",)


def test_further_missing_marks_can_be_given() -> None:
    """A mark of this file's own."""
    reading = read("zone,id,strength MPa\nZ1,p1,1.62\nZ1,p2,77.7\n", 'missing = ["77.7"]')
    assert "value_missing" in {message.code for message in reading.messages}


def test_a_wrong_recording_step_is_told() -> None:
    """It needs a unit of strength."""
    with pytest.raises(UnusableReadings, match="recording_step"):
        read("zone,id,strength MPa\nZ1,p1,1.62\n", 'recording_step = "0.01 parsec"')


READABLE = [kind for kind in ALL if kind.outcome == "READ"]


@pytest.mark.parametrize("kind", READABLE, ids=[kind.name for kind in READABLE])
def test_the_layout_as_understood_reads_every_kind_the_same_again(kind: Kind) -> None:
    """What ``to_toml`` writes about a file, applied to the file, changes nothing."""
    content = kind.text.encode(kind.encoding)
    first = read_bytes(content, file="readings.csv")
    second = read_bytes(content, file="readings.csv", layout=Layout.from_toml(first.layout.to_toml()))
    one, two = first.pulls, second.pulls
    assert (one.zone, one.id, one.bound.tolist(), one.doubts) == (two.zone, two.id, two.bound.tolist(), two.doubts)
    assert one.strength_mpa.tobytes() == two.strength_mpa.tobytes()
    assert [one.failure(i) for i in range(len(one))] == [two.failure(i) for i in range(len(two))]


@pytest.mark.parametrize(
    "text",
    [
        "zone,id,strength MPa,lost\nZ1,p1,,yes\nZ1,p2,1.62,no\n",
        "zone,id,strength MPa,remark\nZ1,p1,,core broke during drilling\nZ1,p2,1.62,\n",
        "zone,id,strength MPa\nZ1,p1,lost\nZ1,p2,1.62\n",
        "zone,id,strength MPa,lost\nZ1,p1,n/a,yes\nZ1,p2,1.62,no\n",
    ],
)
def test_a_lost_pull_is_not_said_to_lack_a_value(text: str) -> None:
    """It is named as lost, with or without a mark for "no value" in its cell; only other blanks are missing values."""
    codes = {message.code for message in read(text).messages}
    assert "lost_before_loading" in codes
    assert not {"value_missing", "word_for_value"} & codes
    other = {message.code for message in read(text + "Z1,p3,\n").messages}
    assert "value_missing" in other
