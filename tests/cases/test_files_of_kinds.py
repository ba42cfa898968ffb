"""Small files of many kinds, languages and offices, each with its right outcome (``kinds/expected.json``).

The numbers are invented. ``must_say`` lists texts that must be shown: of the reading, or of the refusal.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from adhesion_stats.intake import Reading, read_bytes, read_file
from adhesion_stats.reporting.layout_file import layout_text
from adhesion_stats.terms.layout import Layout
from tests.cases.judge import Case, judge

FOLDER = Path(__file__).parent / "kinds"
EXPECTED = json.loads((FOLDER / "expected.json").read_text(encoding="utf-8"))


def case_of(name: str) -> Case:
    """The case of one file."""
    right = EXPECTED[name]
    refused = right["outcome"] == "REFUSE"
    says = tuple(right["must_say"])
    return Case(right["outcome"], right["readings"], () if refused else says, says if refused else ())


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_file_is_read_rightly_or_refused_with_its_place(name: str) -> None:
    """Each file has its right outcome."""
    assert judge(case_of(name), lambda: read_file(FOLDER / name), name) == []


def test_every_file_is_judged() -> None:
    """No file of the folder goes unjudged, and a reading lists its pulls."""
    assert {path.name for path in FOLDER.iterdir()} - {"expected.json"} == set(EXPECTED)
    for name, right in EXPECTED.items():
        assert bool(right["readings"]) == (right["outcome"] != "REFUSE"), name


@pytest.mark.parametrize("name", sorted(name for name, right in EXPECTED.items() if right["outcome"] == "READ"))
def test_the_layout_that_is_written_changes_nothing(name: str) -> None:
    """A file that is read gives the same pulls and doubts by the layout written for it."""
    content = (FOLDER / name).read_bytes()
    first = read_bytes(content, file=name)
    second = read_bytes(content, file=name, layout=Layout.from_toml(layout_text(first.layout, first.messages)))
    for one, other in zip(_facts(first), _facts(second), strict=True):
        assert one == other


def _facts(reading: Reading) -> list[object]:
    """Each pull as plain values."""
    p = reading.pulls
    return [
        (p.zone[i], p.id[i], repr(float(p.strength_mpa[i])), int(p.bound[i]), p.failure(i), p.doubts[i], p.date[i])
        for i in range(len(p))
    ]
