"""What ``check`` prints: a preview, pulls by zone, findings by kind."""

from __future__ import annotations

import pytest

from adhesion_stats.assessment.check import check
from adhesion_stats.intake import read_bytes
from adhesion_stats.messages import Message, Place, Severity, worst_first
from adhesion_stats.reporting.check_text import check_text
from adhesion_stats.reporting.results import results_from
from adhesion_stats.reporting.terminal import WIDTH, display_width
from tests.reporting.conftest import results_named


def of_file(text: str) -> str:
    """What is printed about a file."""
    result = check(read_bytes(text.encode(), file="deck.csv"))
    return check_text("deck.csv", result.facts, worst_first(result.messages), unit=result.pulls.entry_unit)


def shares(row: int, pull: str = "7") -> Message:
    """A finding about one pull."""
    return Message("example_shares", Severity.WARNING, Place("deck.csv", None, row), {"pull": pull, "sum": 95})


def test_preview_shows_what_was_written_and_what_was_understood() -> None:
    """Row, zone, id, text as written under its unit, MPa, failure, status: 235 psi = 1.620 MPa, > 200 psi >= 1.379."""
    text = of_file("zone,id,strength psi,failure\nN 1,p1,235,80% A + 20% A/B\nN 1,p2,> 200,Y\nN 1,p3,,\n")
    lines = text.splitlines()
    head = next(i for i, line in enumerate(lines) if line.lstrip().startswith("row "))
    assert lines[head].split() == ["row", "zone", "id", "written,", "psi", "MPa", "failure", "status"]
    assert lines[head + 2].split() == [
        "2",
        "N",
        "1",
        "p1",
        "235",
        "1.620",
        "A",
        "80",
        "%,",
        "A/B",
        "20",
        "%",
        "counted",
    ]
    assert lines[head + 3].split() == ["3", "N", "1", "p2", ">", "200", ">=", "1.379", "Y", "100", "%", "invalid"]
    assert lines[head + 4].split() == ["4", "N", "1", "p3", "-", "-", "-", "invalid"]


def test_preview_of_many_pulls_says_how_many_more() -> None:
    """The first ten of twelve, and two more."""
    text = of_file("zone,id,strength MPa\n" + "".join(f"Z,p{k},1.{k}1\n" for k in range(12)))
    assert " p9 " in text
    assert " p10 " not in text
    assert "... and 2 more." in text


def test_zones_are_counted_by_standing() -> None:
    """Pulls, counted, invalid, excluded, replaced, lost."""
    pulls = [dict(pull) for pull in results_from(results_named("demo"))["pulls"]]
    text = check_text("deck.csv", pulls, [shares(12, "\x1b7")], unit="MPa")
    assert text.startswith(f"deck.csv: {len(pulls)} pulls in 14 zones.")
    assert "  deck.csv, row 12: The shares of pull \\x1b7 add up to 95 %, not 100 %." in text
    (row,) = [line.split() for line in text.splitlines() if line.startswith("Pier 3 crosshead")]
    assert row[3:] == ["6", "4", "1", "1", "0", "0"]


def test_findings_are_grouped_by_kind_with_their_rows_the_worst_first() -> None:
    """An error before warnings before notes; a kind says its rows: 2 + 3 = 5, one row, the file."""
    found = [
        Message("lower_bounds", Severity.WARNING, Place("d.csv", row=4), {"count": 2, "found": ("4", "5")}),
        Message("file_empty", Severity.NOTE, Place("d.csv")),
        Message("zone_without_counted", Severity.NOTE, Place("d.csv"), {"zone": "A", "made": 1}),
        Message("zone_without_counted", Severity.NOTE, Place("d.csv"), {"zone": "B", "made": 1}),
        Message("lower_bounds", Severity.WARNING, Place("d.csv", row=9), {"count": 3, "found": ("9-11",)}),
        Message("not_a_number", Severity.ERROR, Place("d.csv", row=3), {"count": 1, "found": ("3",)}),
    ]
    lines = check_text("d.csv", [], found, unit="MPa").splitlines()
    assert [line for line in lines if line.endswith("]")] == [
        "error, 1 row [not_a_number]",
        "warning, 5 rows [lower_bounds]",
        "note, the file [file_empty]",
        "note, 2 zones [zone_without_counted]",
    ]
    assert any(line.startswith("Findings: 1 error, 2 warnings, 3 notes;") for line in lines)


def test_of_many_alike_the_first_stand_in_full_and_all_places_are_named() -> None:
    """Eight findings of one kind: five sentences, and the rows of the other three."""
    text = check_text("d.csv", [], [shares(row) for row in range(2, 10)], unit="MPa")
    assert "warning, 8 rows [example_shares]" in text
    assert text.count("add up to 95 %") == 5
    assert "... and 3 more like these: 7, 8, 9." in text


def test_nothing_found_is_said() -> None:
    """No finding, no list."""
    assert check_text("d.csv", [], [], unit="MPa").endswith("gave no finding.")


@pytest.mark.parametrize("zone", ["Nord", "橋面" * 20, "a" * 70, "e\u0301" * 30, "\x1b[31mred"])
def test_no_line_is_wider_than_the_terminal(zone: str) -> None:
    """Long names, wide characters, combining marks and control characters: at most a hundred columns, text only."""
    rows = "".join(f'"{zone}",{"p" * k},"{k}.5 MPa","A 33 % A/B 33 % B 34 %","{zone}"\n' for k in range(1, 14))
    text = of_file("zone,id,strength MPa,failure,lost\n" + rows + f'"{zone}",x,core lost,,yes\n')
    assert max(map(display_width, text.splitlines())) <= WIDTH
    assert all(c.isprintable() or c == "\n" for c in text)
