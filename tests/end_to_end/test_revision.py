"""A revision: a new folder that names the old one and shows what changed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from adhesion_stats import cli
from adhesion_stats.audit import audit_record
from adhesion_stats.reporting.page import render_page

READINGS = "zone,id,strength MPa,failure\nDeck,1,1.82,A\nDeck,2,1.61,A\nDeck,3,1.10,A/B\n"
TERMS = '[contract]\ntitle = "t"\n[pulls]\nrequired = 3\n[[require]]\nmean_at_least = "1.50 MPa"\n'
EXCLUDED = TERMS + '[[exclude]]\nzone = "Deck"\nid = "3"\nreason = "dolly struck a nail"\nwho = "E"\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An assessment, and its revision under other terms."""
    here = tmp_path_factory.mktemp("revision")
    (here / "r.csv").write_text(READINGS)
    (here / "s.toml").write_text(TERMS)
    (here / "s2.toml").write_text(EXCLUDED)
    assert (
        cli.main(
            ["assess", str(here / "r.csv"), "--specification", str(here / "s.toml"), "--output", str(here / "old")]
        )
        == 0
    )
    assert cli.main([*_again(here), "--revises", str(here / "old"), "--reason", "A <b>nail</b> was found"]) == 0
    return here


def _again(here: Path) -> list[str]:
    return ["assess", str(here / "r.csv"), "--specification", str(here / "s2.toml"), "--output", str(here / "new")]


def test_the_new_record_names_the_old_one_and_what_changed(folder: Path) -> None:
    """4.53 / 3 = 1.51 conforms; without the third, one is missing: undetermined."""
    revision = json.loads((folder / "new" / "revision.json").read_bytes())
    assert revision["revises"] == hashlib.sha256((folder / "old" / "manifest.json").read_bytes()).hexdigest()
    assert revision["reason"] == "A <b>nail</b> was found"
    assert {(c["what"], c["before"], c["now"]) for c in revision["changes"]} == {
        ("contract", "conforms", "undetermined"),
        ("zone Deck", "conforms", "undetermined"),
        ("pull 3 (row 4)", "counted", "excluded"),
    }
    assert [entry["what"] for entry in revision["inputs"]] == ["specification"]


def test_the_page_shows_it_as_text(folder: Path) -> None:
    """The reason stands on the page, escaped."""
    page = (folder / "new" / "assessment.html").read_text(encoding="utf-8")
    assert 'id="revision"' in page
    assert "A &lt;b&gt;nail&lt;/b&gt; was found" in page
    assert 'id="revision"' not in (folder / "old" / "assessment.html").read_text(encoding="utf-8")


def test_the_notebook_shows_it(folder: Path) -> None:
    """The notebook of a revision says what it takes the place of, and why; that of another record has no such cell."""

    def cells(name: str) -> dict[str, dict[str, object]]:
        return {cell["id"]: cell for cell in json.loads((folder / name / "assessment.ipynb").read_bytes())["cells"]}

    shown = json.dumps(cells("new")["c06-revision-shown"]["outputs"])
    assert hashlib.sha256((folder / "old" / "manifest.json").read_bytes()).hexdigest() in shown
    assert "A &lt;b&gt;nail&lt;/b&gt; was found" in shown
    assert "undetermined" in shown
    assert "c06-revision-shown" not in cells("old")


def test_an_audit_reproduces_a_revision(folder: Path) -> None:
    """The page of a revision is made from results and revision."""
    audit = audit_record(folder / "new")
    assert audit.outcome == "reproduced"
    assert "audit_revision" in {m.code for m in audit.messages}


@pytest.mark.parametrize("words", [["--reason", "why"], ["--revises", "old"], ["--revises", "old", "--reason", " "]])
def test_a_revision_needs_record_and_reason(folder: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """One without the other is refused, and nothing is written."""
    assert cli.main([*_again(folder)[:-1], str(folder / "never"), *words]) == cli.USAGE
    assert "needs both" in capsys.readouterr().err
    assert not (folder / "never").exists()


def test_a_changed_record_is_not_revised(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What stands in a revision about the old record must be what its manifest says."""
    (folder / "bad").mkdir()
    for path in (folder / "old").iterdir():
        (folder / "bad" / path.name).write_bytes(path.read_bytes())
    (folder / "bad" / "results.json").write_bytes((folder / "new" / "results.json").read_bytes())
    words = ["--revises", str(folder / "bad"), "--reason", "why"]
    assert cli.main([*_again(folder)[:-1], str(folder / "never"), *words]) == cli.USAGE
    assert "was changed after it was made" in capsys.readouterr().err


MOVED = "zone,id,strength MPa\nNorth,1,1.9\nNorth,2,1.8\n{third},3,0.9\nSouth,4,2.1\nSouth,5,2.0\nSouth,6,1.9\n"
BY_MEAN = '[contract]\ntitle = "t"\n[[require]]\nmean_at_least = "1.60 MPa"\n'


@pytest.fixture(scope="module")
def moved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record, and its revision with pull 3 in another zone: North (4.6 / 3 = 1.53) no longer falls short."""
    here = tmp_path_factory.mktemp("moved")
    (here / "s.toml").write_text(BY_MEAN)
    for name, third in (("old", "North"), ("new", "South")):
        (here / f"{name}.csv").write_text(MOVED.format(third=third))
        words = ["assess", str(here / f"{name}.csv"), "--specification", str(here / "s.toml"), "--output"]
        revises = [] if name == "old" else ["--revises", str(here / "old"), "--reason", "zones drawn anew"]
        assert cli.main([*words, str(here / name), *revises]) == 0
    return here


def test_a_revision_names_the_pulls_that_changed_zones(moved: Path) -> None:
    """With the decision by both zonings, in revision.json and on the page."""
    revision = json.loads((moved / "new" / "revision.json").read_bytes())
    rezoned = revision["rezoned"]
    assert rezoned["moved"] == [{"pull": 2, "name": "3", "before": "North", "now": "South"}]
    assert rezoned["contract"] == {"before": "does not conform", "now": "conforms"}
    page = (moved / "new" / "assessment.html").read_text(encoding="utf-8")
    assert "Some pulls stand in another zone than in the earlier record." in page
    assert page == render_page(json.loads((moved / "new" / "results.json").read_bytes()), revision)


def test_two_records_are_compared_by_the_zones_of_their_pulls(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Audit --against names what moved, and what the zoning decides."""
    assert cli.main(["audit", str(moved / "old"), "--against", str(moved / "new")]) == 4
    said = capsys.readouterr().out
    assert "  North -> South: 3\n" in said
    assert "  North: By the earlier zones: does not conform. By the zones of now: conforms." in said
    assert cli.main(["audit", str(moved / "old"), "--against", str(moved / "old")]) == 0
    assert "another zone" not in capsys.readouterr().out
