"""The committed demo report is what the command makes from the demo data today.

On the same versions and kind of machine: byte for byte. Elsewhere: numbers within the tolerance of ``record.compare``,
decisions and texts exactly.
"""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from adhesion_stats.record import compare_results, read_results
from tests.end_to_end.helpers import FILES, REPAIR, ROOT, command, contents

COMMITTED = ROOT / "reports" / "repair-contract"


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo assessed once more, at the time that the committed manifest names."""
    folder = tmp_path_factory.mktemp("again")
    created = json.loads((COMMITTED / "manifest.json").read_bytes()).get("created")
    seconds = None if created is None else str(int(datetime.fromisoformat(created).timestamp()))
    done = command(
        "assess", REPAIR / "readings.csv", "--specification", REPAIR / "specification.toml", "--output", "report",
        folder=folder, SOURCE_DATE_EPOCH=seconds,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder / "report"


def test_committed_report_is_whole() -> None:
    """The six files, and the two inputs are the demo's."""
    assert set(contents(COMMITTED)) == FILES
    for name in ("readings.csv", "specification.toml"):
        assert (COMMITTED / name).read_bytes() == (REPAIR / name).read_bytes()


def test_numbers_agree_and_decisions_are_the_same(again: Path) -> None:
    """results.json, entry by entry."""
    committed = read_results((COMMITTED / "results.json").read_bytes())
    comparison = compare_results(committed, read_results((again / "results.json").read_bytes()))
    assert comparison.entries > 1000
    assert comparison.differences == ()


def test_same_bytes_on_the_same_versions(again: Path) -> None:
    """Every file is the same where versions and machine are those of the committed manifest."""
    made_with, here = (json.loads((folder / "manifest.json").read_bytes()) for folder in (COMMITTED, again))
    if any(made_with[key] != here[key] for key in ("versions", "machine")):
        pytest.skip("other versions or another machine than the committed report: the numbers are compared instead")
    first, second = contents(COMMITTED), contents(again)
    assert [name for name in first if first[name] != second.get(name)] == []
