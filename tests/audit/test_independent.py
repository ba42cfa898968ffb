"""``audit --independent``: the second opinion beside the recomputation, on the command line, the page and in JSON."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

import adhesion_stats.audit as audit_room
from adhesion_stats.audit import audit_named, audit_record
from adhesion_stats.audit.command import exit_code
from adhesion_stats.audit.independent import independent_opinion
from adhesion_stats.audit.recompute import Recomputation
from adhesion_stats.cli import main
from adhesion_stats.errors import WrongUsage
from adhesion_stats.record import canonical_bytes
from adhesion_stats.reporting.audit_document import audit_page, audit_text
from adhesion_stats.reporting.second_opinion_words import SECOND_OPINION_WORDS
from tests.audit.conftest import READINGS, SPECIFICATION, _recompute_once, remade


@pytest.fixture
def _no_notebook(monkeypatch: pytest.MonkeyPatch) -> None:
    """The notebook of the record is other tests' business."""
    monkeypatch.setattr(audit_room, "_notebook", lambda *_, **__: ([], []))


@pytest.mark.usefixtures("_no_notebook")
def test_both_sides_are_shown(record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command prints record and twin side by side; page and JSON hold every number of both."""
    assert main(["audit", str(record), "--independent", "--output", str(tmp_path / "audit")]) == 0
    said = capsys.readouterr().out
    assert "numbers and words of the record agree with the twin’s" in said
    lines = said.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("Ramp"))
    assert lines[at].split()[1:3] == ["Record", "undetermined"]
    assert lines[at + 1].split()[:2] == ["Twin", "undetermined"]
    data = json.loads((tmp_path / "audit" / "audit.json").read_bytes())["second_opinion"]
    assert data["outcome"] == "agrees"
    mean = next(pair for pair in data["pairs"] if (pair["zone"], pair["what"]) == ("Deck", "mean"))
    assert mean["recorded"] == pytest.approx(5.17 / 3)
    assert mean["twin"] == pytest.approx(5.17 / 3)
    page = (tmp_path / "audit" / "audit.html").read_text(encoding="utf-8")
    assert page.count("1.72333") >= 2
    assert "Deck: record and twin" in page


@pytest.mark.usefixtures("_no_notebook")
def test_without_the_option_nothing_is_claimed(record: Path) -> None:
    """No second opinion is none: JSON holds null, and the page says so."""
    audit = audit_record(record)
    assert audit.second is None
    assert audit.as_dict()["second_opinion"] is None
    assert "No second opinion was asked for" in audit_page(audit.as_dict())


def _with_other_mean(results: Mapping[str, object]) -> dict[str, Any]:
    """Results as a library with a wrong mean would give them."""
    found: dict[str, Any] = json.loads(canonical_bytes(results))
    summary = found["zones"][0]["summary"]
    summary["mean"] = summary["mean"] + 0.01
    return found


def test_a_library_that_is_wrong_is_found(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The record was made by a library with a fault, and the same fault recomputes it: the twin alone finds it."""
    path = record / "results.json"
    wrong = _with_other_mean(json.loads(path.read_bytes()))
    path.write_bytes(canonical_bytes(wrong))
    remade(record)

    def faulty(**files: Any) -> Recomputation:
        answer = _recompute_once(**files)
        return Recomputation(wrong, None, answer.messages, answer.layout)

    monkeypatch.setattr(audit_room, "recompute", faulty)
    monkeypatch.setattr(audit_room, "_page", lambda *_, **__: [])  # a faulty library makes these with the same fault
    monkeypatch.setattr(audit_room, "_notebook", lambda *_, **__: ([], []))
    audit = audit_record(record, independent=True)
    assert audit.outcome == "second opinion differs"
    assert exit_code(audit) == 4
    assert audit.second is not None
    said = audit_text(audit.as_dict())
    assert "Reproduced, but the second opinion differs" in said
    assert "Deck, mean: record 1.73333333333 MPa, twin 1.72333333333 MPa" in said
    assert "Where the record and the twin differ" in audit_page(audit.as_dict())


def test_results_that_were_changed_are_found_by_both(record: Path) -> None:
    """An altered number differs from the recomputation and from the twin."""
    path = record / "results.json"
    path.write_bytes(canonical_bytes(_with_other_mean(json.loads(path.read_bytes()))))
    remade(record)
    audit = audit_record(record, independent=True)
    assert audit.comparison is not None
    assert audit.comparison.differences
    assert audit.second is not None
    assert audit.second["outcome"] == "differs"


@pytest.mark.usefixtures("_no_notebook")
def test_a_file_that_the_twin_can_not_read_is_said(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked for and not to be had: exit code 3, never a quiet pass."""
    unread = {"format_version": 1, "outcome": "not made", "pulls": 0, "pairs": []}
    unread["unchecked"] = [{"what": "", "code": "form", "detail": "ods"}]
    monkeypatch.setattr(audit_room, "independent_opinion", lambda *_: unread)
    audit = audit_record(record, independent=True)
    assert audit.outcome == "reproduced"
    assert exit_code(audit) == 3
    assert "it checked nothing: it reads CSV and XLSX, not ods" in " ".join(audit_text(audit.as_dict()).split())
    assert "it checked nothing: it reads CSV and XLSX, not ods" in audit_page(audit.as_dict())


@pytest.mark.parametrize(
    ("name", "code"), [("results.json", "no_results"), ("readings.csv", "no_files"), ("terms.toml", "no_files")]
)
@pytest.mark.usefixtures("_no_notebook")
def test_without_results_or_raw_files_it_says_why(record: Path, name: str, code: str) -> None:
    """Asked for, and there is nothing to compare: that is said, and never that it was not asked for."""
    (record / name).unlink()
    audit = audit_record(record, independent=True)
    assert audit.second is not None
    assert (audit.second["outcome"], audit.second["unchecked"]) == (
        "not made",
        [{"what": "", "code": code, "detail": ""}],
    )
    assert exit_code(audit) == 5
    assert "it checked nothing" in " ".join(audit_text(audit.as_dict()).split())


@pytest.mark.usefixtures("_no_notebook")
def test_a_record_of_an_older_form_has_its_second_opinion() -> None:
    """What the older form holds is compared, and what it lacks is said."""
    audit = audit_record(Path(__file__).parent / "data" / "form-1", independent=True)
    assert audit.second is not None
    assert (audit.second["outcome"], audit.second["unchecked"]) == (
        "agrees",
        [{"what": "", "code": "older_limits", "detail": ""}],
    )


def test_it_is_refused_beside_against(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is recomputed there, so no second opinion could be had."""
    assert main(["audit", str(record), "--against", str(record), "--independent"]) == 2
    assert "--independent" in capsys.readouterr().err


def test_one_that_takes_too_long_is_said(made: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A contract of very many zones: the rest of the audit stands."""
    monkeypatch.setattr(sys.modules["adhesion_stats.audit.recompute"], "LONGEST", 0.01)
    files = {"readings": ("r.csv", READINGS.encode()), "specification": ("t.toml", SPECIFICATION.encode())}
    found = independent_opinion(files, json.loads((made / "results.json").read_bytes()), "")
    assert (found["outcome"], found["unchecked"]) == ("not made", [{"what": "", "code": "too_long", "detail": ""}])


def test_a_fault_of_the_twin_is_said(made: Path) -> None:
    """What ends the twin's process does not end the audit."""
    files = {"readings": ("r.csv", READINGS.encode()), "specification": ("t.toml", b"no [ TOML")}
    found = independent_opinion(files, json.loads((made / "results.json").read_bytes()), "")
    assert found["outcome"] == "not made"
    assert "TOMLDecodeError" in str(found["unchecked"])


@pytest.mark.usefixtures("_no_notebook")
def test_the_notebook_s_word_for_it(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The word "yes" asks for it, nothing and "no" don't, another one is refused."""
    asked: list[str] = []
    monkeypatch.setattr(audit_room, "independent_opinion", lambda *_: asked.append("x"))
    audit_named(str(record), independent="no")
    audit_named(str(record))
    assert asked == []
    audit_named(str(record), independent=" yes ")
    assert asked == ["x"]
    with pytest.raises(WrongUsage, match="perhaps"):
        audit_named(str(record), independent="perhaps")


def test_the_twin_s_process_loads_nothing_of_the_library() -> None:
    """Beside the package itself and the twin, no module of the library and no library for numbers is imported."""
    code = (
        "import sys, adhesion_stats.twin.compare; "
        "print(sorted(n for n in sys.modules if n.startswith(('adhesion_stats', 'numpy', 'scipy', 'pandas'))))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names = [name for name in json.loads(done.stdout.replace("'", '"')) if not name.startswith("adhesion_stats.twin")]
    assert names == ["adhesion_stats"]


def test_every_code_has_its_words() -> None:
    """Whatever the twin names or leaves out can be said."""
    folder = Path(audit_room.__file__).parents[1] / "twin"
    source = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    left_out = set(re.findall(r'NotKnown\(\s*"(\w+)"', source)) | set(
        re.findall(r'Unchecked\([^()]*?(?:\([^()]*\))?[^()]*?, "(\w+)"', source)
    )
    assert left_out >= {"form", "kind", "method", "joint", "corners", "doubt_taken"}
    assert {f"u_{code}" for code in left_out} <= SECOND_OPINION_WORDS.keys()
    named = set(re.findall(r'pair\(\s*(?:zone\.name|pull\.zone|name|""|str\([^)]*\)\)?),\s*"(\w+)"', source))
    named |= {"mean", "sd", "smallest", "interval_low", "interval_high", "value", "value_low"}
    named |= {f"{test}_{what}" for test in ("grubbs", "dixon") for what in ("statistic", "p", "flag")}
    assert named >= {"decision", "counted", "contract", "pull", "limit"}
    assert {f"q_{code}" for code in named} <= SECOND_OPINION_WORDS.keys()


def test_it_takes_the_layout_of_the_folder(made: Path) -> None:
    """Columns that only a layout names are read by it."""
    content = READINGS.replace("strength MPa", "result").encode()
    layout = b'heading_row = 1\n[columns]\nstrength = "result"\n[units]\nstrength = "MPa"\n'
    files = {
        "readings": ("r.csv", content),
        "specification": ("t.toml", SPECIFICATION.encode()),
        "layout": ("l.toml", layout),
    }
    results = json.loads((made / "results.json").read_bytes())
    assert independent_opinion(files, results, "")["outcome"] == "agrees"
    del files["layout"]
    assert independent_opinion(files, results, "")["outcome"] == "not made"
