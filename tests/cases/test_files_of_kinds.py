"""Small files of many kinds, languages and offices, each with its right outcome (``kinds/expected.json``).

The numbers are invented. ``must_say`` lists texts that must be shown: of the reading, or of the refusal.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from adhesion_stats.intake import read_file
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
