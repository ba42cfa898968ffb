"""The 28 example files, one pattern each, with the outcomes that are right for them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from adhesion_stats.intake import read_file
from tests.cases.judge import Case, judge

FOLDER = Path(__file__).parent / "messy"
EXPECTED = json.loads((FOLDER / "expected.json").read_text(encoding="utf-8"))

# What "must say" asks of this room, as texts; what belongs to later rooms (counts of valid readings) is tested there.
SAYS: dict[str, tuple[str, ...]] = {
    "17": ("Disc | 50 mm", "tested size 50 mm"),
    "18": ("carried down", "p2", "p9"),
    "19": ("left out", '"Mittelwert"', '"Std."', '"min"', '"Mean"', '"SD"', '"Total"'),
    "28": ("millimetres", 'p1): "50"'),
    "30": ("p3", "17.1", "1.711", "p5", "1.55", "1.599", "the entered strength is used"),
    "32": ("5 values are lower bounds", "plain mean", "p2", "p6"),
    "34": ("p3", "glue failure"),
    "35": ("3 of 13", '"n/a"', '"-"', '"–"', '"—"', "(blank)", '"not tested"', '"a"', '"ND"', '"nt"', '"?"'),
    "42": ("= 90 %", "= 120 %", "p1", "p2"),
    "57": ('"Mean"', "left out"),
    "60": ("3 cells hold text that was read as numbers",),
    "77": ("slipped",),
}
REFUSAL: dict[str, tuple[str, ...]] = {
    "14": ("row 3", "remark", '"2 in disc'),
    "24": ("kN/mm²", "1500 MPa", "1,5", "row 2"),
    "71": ("strength_MPa", "columns 3, 4"),
}


def case_of(name: str) -> Case:
    """The case of one file."""
    right = EXPECTED[name]
    return Case(right["outcome"], right["readings"], SAYS.get(name[:2], ()), REFUSAL.get(name[:2], ()))


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_messy_file_is_read_rightly_or_refused_with_its_place(name: str) -> None:
    """Each file has its right outcome."""
    assert judge(case_of(name), lambda: read_file(FOLDER / name), name) == []


def test_every_file_has_an_expected_outcome() -> None:
    """No file of the folder goes unjudged."""
    files = {path.name for path in FOLDER.iterdir()} - {"expected.json"}
    assert files == set(EXPECTED)
    assert len(files) == 28


@pytest.mark.parametrize("change", ["value", "zone", "outcome", "fewer"])
def test_the_judge_finds_what_is_wrong(change: str) -> None:
    """A judge that passes everything would prove nothing."""
    name = "01_semicolon_decimal_comma.csv"
    right = json.loads(json.dumps(EXPECTED[name]))
    if change == "value":
        right["readings"][0]["strength_MPa"] = 1.621
    elif change == "zone":
        right["readings"][0]["zone"] = "zone 1"
    elif change == "outcome":
        right["outcome"] = "REFUSE"
    else:
        del right["readings"][0]
    case = Case(right["outcome"], right["readings"])
    assert judge(case, lambda: read_file(FOLDER / name), name) != []
