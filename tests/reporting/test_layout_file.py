"""The layout file that the command writes: readable, true to the file, and with every choice that a finding names."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping

import pytest

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import read_bytes, understand_bytes
from adhesion_stats.messages import Message, Place, Severity
from adhesion_stats.reporting.layout_file import DECIDED_BY, layout_text
from adhesion_stats.terms.layout import Evidence, Layout
from adhesion_stats.wording.intake import INTAKE
from tests.cases.test_kinds import ALL, Kind
from tests.intake.books import xlsx


def written(text: str | bytes, layout: str = "", file: str = "readings.csv") -> str:
    """The layout file of a readings file."""
    content = text if isinstance(text, bytes) else text.encode()
    found, messages = understand_bytes(content, file=file, layout=Layout.from_toml(layout))
    return layout_text(found, messages)


def with_choice(text: str, line: str) -> Layout:
    """The layout after somebody took the number sign away from ``line``."""
    assert text.count(f"\n#{line}\n") == 1, text
    return Layout.from_toml(text.replace(f"\n#{line}\n", f"\n{line}\n"))


HEAD = "zone,id,strength MPa"
# Text, the choice, and the strengths [MPa] that it decides.
CHOICES = (
    ('zone,id,strength kPa\nZ1,p1,"1,234"\n', 'decimal = "."', [1.234]),
    ("zone,id,strength\nZ1,p1,1.62\n", 'strength = "MPa"', [1.62]),
    ("zone,id,strength\nZ1,p1,235\n", 'strength = "psi"', [1.6202679639]),
    ("zone,id,load N\nZ1,p1,3180\n", 'diameter = "50 mm"', [3180 / (math.pi * 625)]),
    (f"{HEAD},strength MPa\nZ1,p1,1.62,1.10\n", 'strength = "#4"', [1.10]),
    (f"{HEAD}\nDeck,p1,1.62\ndeck,p2,1.48\nDeck,p3,1.5\n", 'Deck = ["deck"]', [1.62, 1.48, 1.5]),
    (f"{HEAD}\nZ1,p1,162\nZ1,p2,148\n", "plausible = false", [162.0, 148.0]),
)


@pytest.mark.parametrize(("text", "line", "strengths"), CHOICES, ids=[line for _, line, _ in CHOICES])
def test_an_open_question_is_decided_by_one_line(text: str, line: str, strengths: list[float]) -> None:
    """The file is refused or asked about; with one number sign less the layout decides and the file is read."""
    content = text.encode()
    layout = with_choice(written(text), line)
    assert read_bytes(content, file="readings.csv", layout=layout).pulls.strength_mpa.tolist() == pytest.approx(
        strengths
    )


def test_both_date_orders_stand_to_choose_from() -> None:
    """03/04/2024 is the third of April or the fourth of March."""
    text = f"{HEAD},date\nZ1,p1,1.62,03/04/2024\n"
    for line, iso in (('date_order = "DMY"', "2024-04-03"), ('date_order = "MDY"', "2024-03-04")):
        layout = with_choice(written(text), line)
        assert read_bytes(text.encode(), file="r.csv", layout=layout).pulls.date == (iso,)


def test_sheets_stand_to_choose_from() -> None:
    """Two sheets with readings: one of them, or all."""
    content = xlsx(
        [("zone", "id", "strength MPa"), ("Z1", "p1", 1.62)], [("zone", "id", "strength MPa"), ("Z2", "p2", 1.4)]
    )
    text = written(content, file="book.xlsx")
    for line, strengths in (('sheet = "Sheet2"', [1.4]), ('sheet = "all"', [1.62, 1.4])):
        layout = with_choice(text, line)
        assert read_bytes(content, file="book.xlsx", layout=layout).pulls.strength_mpa.tolist() == strengths


def test_rows_to_leave_out_are_named() -> None:
    """A row that may be a mean can be left out."""
    text = f"{HEAD}\nZ1,p1,1.62\nZ1,p2,1.48\nZ1,,1.55\n"
    layout = with_choice(written(text), "leave_out_rows = [4]")
    assert len(read_bytes(text.encode(), file="r.csv", layout=layout).pulls) == 2


def test_what_no_key_decides_stands_at_the_head() -> None:
    """A cell that is no number is to be mended in the file; the layout says so."""
    text = written(f"{HEAD}\nZ1,p1,1.x7\n")
    assert "# The file can't be used as it stands" in text
    assert "1.x7" in text
    assert "OPEN" not in text


def test_a_file_without_headings_has_a_layout_all_the_same() -> None:
    """Separator and encoding were found out; the errors stand as comments."""
    layout = Layout.from_toml(written("a;b\n1;2\n"))
    assert (layout.separator, layout.encoding) == (";", "utf-8")
    assert Layout.from_toml(written("")) == Layout()


def test_columns_are_named_also_where_one_is_open() -> None:
    """Two columns could be the strength: the others are understood."""
    text = written(f"{HEAD},strength MPa\nZ1,p1,1.62,1.10\n")
    layout = Layout.from_toml(text)
    assert dict(layout.columns) == {"zone": "zone", "id": "id"}
    assert '#strength = "#3"\n#strength = "#4"\n' in text


@pytest.mark.parametrize("kind", ALL, ids=[kind.name for kind in ALL])
def test_the_file_is_readable_and_changes_nothing(kind: Kind) -> None:
    """What is written about any file can be read back; a file that was read reads the same by it."""
    content = kind.text.encode(kind.encoding)
    found, messages = understand_bytes(content, file="readings.csv")
    layout = Layout.from_toml(layout_text(found, messages))
    if kind.outcome == "REFUSE":
        with pytest.raises(UnusableReadings) as refused:
            read_bytes(content, file="readings.csv", layout=layout)
        assert {message.code for message in refused.value.messages} & {message.code for message in messages}
        return
    first = read_bytes(content, file="readings.csv")
    second = read_bytes(content, file="readings.csv", layout=layout)
    assert first.messages == messages
    assert first.pulls.strength_mpa.tobytes() == second.pulls.strength_mpa.tobytes()
    assert (first.pulls.zone, first.pulls.id) == (second.pulls.zone, second.pulls.id)


def test_text_of_the_file_can_not_leave_its_comment() -> None:
    """Line breaks, quotes and control characters of cells stay in comments and texts."""
    evil = 'x\n[units]\nstrength = "psi"\r\x1b'
    message = Message("not_a_number", Severity.ERROR, Place("r.csv"), {"count": 1, "found": (evil,)})
    asked = Message(
        "zone_spellings",
        Severity.WARNING,
        Place("r.csv"),
        {"spellings": evil, "first": evil, "second": "y", "others": ("y",)},
    )
    text = layout_text(Layout(), [message, asked])
    assert tomllib.loads(text) == {"zones": {}}
    assert with_first_choice(text)["zones"] == {evil: ["y"]}


def with_first_choice(text: str) -> Mapping[str, object]:
    """The TOML after the first number sign before a choice was taken away."""
    return tomllib.loads(re.sub(r"^#(?=[^ \n])", "", text, count=1, flags=re.MULTILINE))


def test_every_code_that_a_key_decides_is_a_finding() -> None:
    """A code that intake does not know would never match."""
    assert set(DECIDED_BY) <= set(INTAKE)


def test_findings_that_say_decide_in_the_layout_have_their_line() -> None:
    """A sentence that points to the layout for a decision has a line there."""
    asking = {code for code, text in INTAKE.items() if "ecide in the layout" in text}
    assert len(asking) >= 6
    assert asking <= set(DECIDED_BY)


def test_evidence_with_control_characters_is_a_comment_still() -> None:
    """A heading with an escape sequence or a line break can be no line of its own, nor make the TOML unreadable."""
    evidence = {"columns.zone": Evidence('heading "\x1b[31m\nzone = 3\u2028x"', ("a\x00b",))}
    text = Layout(columns={"zone": "z"}, evidence=evidence).to_toml()
    assert tomllib.loads(text) == {"columns": {"zone": "z"}}
    assert "\\x1b[31m" in text


def test_words_that_were_not_understood_can_be_explained() -> None:
    """Each word has the codes to choose from; a composition with numbers is no word and is left to the file."""
    text = f"{HEAD},failure\nZ1,p1,1.62,in the screed\nZ1,p2,1.48,A 1 B 2 C\n"
    layout = with_choice(written(text), '"in the screed" = "B"')
    reading = read_bytes(text.encode(), file="r.csv", layout=layout)
    assert reading.pulls.failure(0) == {"B": 100.0}
    assert '#"A 1 B 2 C"' not in written(text)


@pytest.mark.parametrize(("line", "count"), [("leave_out_rows = [4]", 2), ("keep_rows = [4]", 3)])
def test_a_name_unlike_the_others_is_left_out_or_kept_by_one_line(line: str, count: int) -> None:
    """A label in a language that is not known is neither counted nor dropped until somebody decides."""
    text = f"{HEAD}\nZ1,1,1.62\nZ1,2,1.48\nZ1,Keskiarvo,1.55\n"
    with pytest.raises(UnusableReadings, match="Keskiarvo"):
        read_bytes(text.encode(), file="r.csv")
    assert len(read_bytes(text.encode(), file="r.csv", layout=with_choice(written(text), line)).pulls) == count


@pytest.mark.parametrize(
    ("line", "zones"), [('zone = "Bygning"', {"Hus A", "Hus B"}), ('zone = "(unnamed)"', {"(unnamed)"})]
)
def test_a_column_that_may_name_zones_is_decided_by_one_line(line: str, zones: set[str]) -> None:
    """An unknown heading over names that come again may be the zones."""
    text = "Bygning,id,strength MPa\nHus A,1,1.62\nHus A,2,1.48\nHus B,3,2.05\n"
    assert set(read_bytes(text.encode(), file="r.csv", layout=with_choice(written(text), line)).pulls.zone) == zones


def test_a_written_layout_does_not_silence_a_second_column_in_another_unit() -> None:
    """What is in doubt without the layout is in doubt with it."""
    text = "zone,id,strength MPa,strength psi\nA,1,1.62,235\nA,2,1.48,315\n"
    again = Layout.from_toml(written(text))
    assert read_bytes(text.encode(), file="r.csv", layout=again).pulls.doubts[1] == ("columns_disagree",)
