"""``--write-layout`` and ``--layout``: written once, read back, part of the record, recomputed by the notebook."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from adhesion_stats import InvalidSpecification, UnusableReadings, read_readings, read_specification
from adhesion_stats.record import results_schema, schema_errors
from tests.end_to_end.helpers import command, contents

CERTIFICATE = """\
# An invented certificate.
instrument = "G1"
[instruments."G1"]
certificate = "K-2031"
unit = "MPa"
table = [[0.5, 0.49], [4.5, 4.29]]
"""


def test_a_refused_file_is_read_by_the_layout_that_was_written_and_decided(small: Path) -> None:
    """1,234 kPa: refused (3) with a layout written all the same; with one line decided it is read."""
    (small / "open.csv").write_text('id,zone,strength [kPa]\n1,A,"1,234"\n', encoding="utf-8")
    first = command("check", "open.csv", "--write-layout", "layout.toml", folder=small)
    assert first.returncode == 3
    text = (small / "layout.toml").read_text(encoding="utf-8")
    (small / "layout.toml").write_text(text.replace('#decimal = "."', 'decimal = "."'), encoding="utf-8")
    done = command("check", "open.csv", "--layout", "layout.toml", "--json", folder=small)
    assert done.returncode == 0, done.stderr
    (pull,) = json.loads(done.stdout)["pulls"]
    assert pull["strength_mpa"] == 1.234


def test_a_layout_is_never_overwritten(small: Path) -> None:
    """Exit 2, the file as it was."""
    (small / "layout.toml").write_text("# mine\n", encoding="utf-8")
    done = command("check", "conforms.csv", "--write-layout", "layout.toml", folder=small)
    assert done.returncode == 2
    assert "layout.toml exists already" in done.stderr
    assert (small / "layout.toml").read_text(encoding="utf-8") == "# mine\n"


def test_a_layout_in_a_missing_folder_is_refused(small: Path) -> None:
    """No traceback."""
    done = command("check", "conforms.csv", "--write-layout", "nowhere/layout.toml", folder=small)
    assert done.returncode == 2
    assert "can't be written" in done.stderr


def test_check_json_stays_one_object_beside_a_written_layout(small: Path) -> None:
    """Standard output holds the object alone."""
    done = command("check", "conforms.csv", "--json", "--write-layout", "layout.toml", folder=small)
    assert set(json.loads(done.stdout)) == {"pulls", "findings"}
    assert (small / "layout.toml").is_file()


def test_a_wrong_layout_is_refused_with_the_nearest_key(small: Path) -> None:
    """Exit 2; the file and the key are named."""
    (small / "l.toml").write_text("heading_rwo = 3\n", encoding="utf-8")
    for words in (
        ("check", "conforms.csv"),
        ("assess", "conforms.csv", "--specification", "terms.toml", "--output", "r"),
    ):
        done = command(*words, "--layout", "l.toml", folder=small)
        assert done.returncode == 2
        assert "l.toml" in done.stderr
        assert "heading_row" in done.stderr
    assert not (small / "r").exists()


@pytest.fixture(scope="module")
def corrected(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record made by a layout with a certificate."""
    folder = tmp_path_factory.mktemp("corrected")
    (folder / "terms.toml").write_text(
        '[contract]\ntitle = "t"\n[pulls]\nrequired = 2\n[[require]]\nmean_at_least = "1.90 MPa"\n', encoding="utf-8"
    )
    (folder / "r.csv").write_text("id,zone,strength [MPa]\n1,A,2.5\n2,A,1.5\n", encoding="utf-8")
    (folder / "gauge.toml").write_bytes(CERTIFICATE.replace("\n", "\r\n").encode())
    done = command(
        "assess", "r.csv", "--specification", "terms.toml", "--layout", "gauge.toml", "--output", "report",
        folder=folder,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder


def test_the_layout_is_part_of_the_record(corrected: Path) -> None:
    """Byte for byte, with its digest in the manifest and in the results, and named as a parameter."""
    files = contents(corrected / "report")
    assert files["gauge.toml"] == (corrected / "gauge.toml").read_bytes()
    digest = hashlib.sha256(files["gauge.toml"]).hexdigest()
    manifest, results = json.loads(files["manifest.json"]), json.loads(files["results.json"])
    assert manifest["files"]["gauge.toml"]["sha256"] == digest
    assert manifest["parameters"]["layout"] == "gauge.toml"
    assert results["inputs"]["layout"] == {"file": "gauge.toml", "sha256": digest}
    assert schema_errors(results) == []


def test_readings_as_indicated_and_corrected_stand_in_results_and_page(corrected: Path) -> None:
    """2.5 -> (0.49 + 4.29) / 2 = 2.39; 1.5 -> 0.49 + 3.80 / 4 = 1.44; mean 1.915."""
    files = contents(corrected / "report")
    results = json.loads(files["results.json"])
    assert [pull["strength"] for pull in results["pulls"]] == pytest.approx([2.39, 1.44])
    assert [pull["indicated_mpa"] for pull in results["pulls"]] == [2.5, 1.5]
    assert results["zones"][0]["summary"]["mean"] == pytest.approx(1.915)
    page = files["assessment.html"].decode()
    assert "As indicated" in page
    assert "gauge.toml" in page
    assert "K-2031" in page


def test_the_notebook_recomputes_with_the_layout(corrected: Path) -> None:
    """It was executed with the layout and found no difference; without it the numbers would differ."""
    notebook = json.loads((corrected / "report" / "assessment.ipynb").read_bytes())
    sources = ["".join(cell["source"]) for cell in notebook["cells"]]
    assert any('layout = "gauge.toml"' in source for source in sources)


def test_a_report_without_corrections_has_no_column_for_them(small: Path) -> None:
    """The appendix shows "As indicated" only where something was corrected; inputs name no layout."""
    done = command("assess", "conforms.csv", "--specification", "terms.toml", "--output", "report", folder=small)
    assert done.returncode == 0, done.stderr
    assert "As indicated" not in (small / "report" / "assessment.html").read_text(encoding="utf-8")
    results = json.loads((small / "report" / "results.json").read_bytes())
    assert results["inputs"]["layout"] is None
    assert results["pulls"][0]["indicated_mpa"] is None


def test_a_layout_of_the_name_of_an_input_is_refused(small: Path) -> None:
    """The record could not hold both."""
    (small / "sub").mkdir()
    (small / "sub" / "terms.toml").write_text("", encoding="utf-8")
    words = ("assess", "conforms.csv", "--specification", "terms.toml", "--layout", "sub/terms.toml", "--output", "r")
    done = command(*words, folder=small)
    assert done.returncode == 2
    assert "must differ" in done.stderr


def test_the_layout_beats_the_specification_and_that_is_said(small: Path) -> None:
    """Both give the unit: the layout's is used; the decimal mark, given by the contract alone, stays in force."""
    (small / "both.toml").write_text(
        (small / "terms.toml").read_text(encoding="utf-8")
        + '[readings]\ndecimal = "."\n[readings.units]\nstrength = "kPa"\n[readings.columns]\nid = "id"\n',
        encoding="utf-8",
    )  # fmt: skip
    (small / "r.csv").write_text('id,zone,strength\n1,A,"1,620"\n', encoding="utf-8")
    (small / "l.toml").write_text('[units]\nstrength = "psi"\n[columns]\nid = "id"\n', encoding="utf-8")
    terms = read_specification(small / "both.toml")
    contract = read_readings(small / "r.csv", terms)
    assert contract.pulls.strength_mpa.tolist() == pytest.approx([1.62])
    reading = read_readings(small / "r.csv", terms, small / "l.toml")
    assert reading.pulls.strength_mpa.tolist() == pytest.approx([1620 * 0.006894757293168361])
    (said,) = [message for message in reading.messages if message.code == "layout_over_specification"]
    assert said.facts["keys"] == ("units.strength",)
    assert said.place.file == "l.toml"


def test_a_refusal_names_the_layout_too(small: Path) -> None:
    """Unusable readings under both still say which layout was in force."""
    (small / "both.toml").write_text(
        (small / "terms.toml").read_text(encoding="utf-8") + '[readings.units]\nstrength = "kPa"\n', encoding="utf-8"
    )
    (small / "r.csv").write_text("id,zone,strength\n1,A,x9\n", encoding="utf-8")
    (small / "l.toml").write_text('[units]\nstrength = "psi"\n', encoding="utf-8")
    with pytest.raises(UnusableReadings, match="used before the table"):
        read_readings(small / "r.csv", read_specification(small / "both.toml"), small / "l.toml")


def test_layouts_that_can_not_be_read_are_refused(small: Path) -> None:
    """A missing file and bytes that are no text: said with the file's name, not as a traceback."""
    (small / "bad.toml").write_bytes(b'sheet = "\xff"')
    for name, told in (("bad.toml", "no text in UTF-8"), ("nowhere.toml", "can't be read")):
        with pytest.raises(InvalidSpecification, match=told):
            read_readings(small / "conforms.csv", None, small / name)
    assert read_readings(small / "conforms.csv", None, "").layout_source is None


def test_the_schema_asks_for_the_layout() -> None:
    """Results without the entry are not results."""
    inputs = results_schema()["properties"]["inputs"]  # type: ignore[index]
    assert "layout" in inputs["required"]
