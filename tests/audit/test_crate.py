"""A record as an RO-Crate with a data package.

The validators of both standards were run once, with nothing required left open: tests/benchmarks/validate_crate.py and
its result. Here: every file is described, the table fits its schema, and the record inside still audits.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from pathlib import Path
from urllib.parse import unquote

import pytest

from adhesion_stats import cli
from adhesion_stats.record.crate import CRATE, PACKAGE, PULLS


@pytest.fixture(scope="module")
def crate(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The crate of the record."""
    folder = tmp_path_factory.mktemp("crate") / "crate"
    assert (
        cli.main(["crate", str(made), "--output", str(folder), "--date", "2026-05-04", "--license", "CC-BY-4.0"]) == 0
    )
    return folder


def entities(crate: Path) -> dict[str, dict[str, object]]:
    """The entities of the crate by their identifiers."""
    content = json.loads((crate / CRATE).read_bytes())
    assert content["@context"] == "https://w3id.org/ro/crate/1.1/context"
    return {entity["@id"]: entity for entity in content["@graph"]}


def test_every_file_is_part_of_the_crate(crate: Path) -> None:
    """Root, parts and file entities name the same files, which are there; the descriptor describes the root."""
    found = entities(crate)
    parts = found["./"]["hasPart"]
    assert isinstance(parts, list)
    named = {unquote(part["@id"]) for part in parts}
    assert named == {path.name for path in crate.iterdir()} - {CRATE}
    assert named == {str(entity["name"]) for entity in found.values() if entity["@type"] == "File"}
    assert found[CRATE]["about"] == {"@id": "./"}
    assert found["./"]["datePublished"] == "2026-05-04"


def test_the_run_names_its_inputs_and_results(crate: Path) -> None:
    """The action takes the raw files and gives the rest."""
    run = entities(crate)["#assessment"]
    inputs, results = run["object"], run["result"]
    assert isinstance(inputs, list)
    assert isinstance(results, list)
    assert {entry["@id"] for entry in inputs} == {"readings.csv", "terms.toml"}
    assert {entry["@id"] for entry in results} >= {"results.json", "assessment.html", PULLS}
    assert run["instrument"] == {"@id": "#adhesion-stats"}


def test_people_are_those_that_were_given(made: Path, crate: Path, tmp_path: Path) -> None:
    """Author, publisher and agent as written, each once; nobody where nobody was given; the manifest by its hash."""
    plain = entities(crate)
    assert not {"author", "publisher"} & plain["./"].keys()
    assert "agent" not in plain["#assessment"]
    assert plain["#manifest-sha256"]["value"] == hashlib.sha256((made / "manifest.json").read_bytes()).hexdigest()
    words = ["crate", str(made), "--output", str(tmp_path / "c"), "--date", "2026-05-04"]
    who = "A. Tester <https://orcid.org/0000-0000-0000-0000>"
    assert cli.main([*words, "--author", who, "--agent", who, "--publisher", "Archive (invented)"]) == 0
    found = entities(tmp_path / "c")
    assert found["./"]["author"] == found["#assessment"]["agent"] == {"@id": "https://orcid.org/0000-0000-0000-0000"}
    assert found["https://orcid.org/0000-0000-0000-0000"] == {
        "@id": "https://orcid.org/0000-0000-0000-0000",
        "@type": "Person",
        "name": "A. Tester",
    }
    assert found["./"]["publisher"] == {"@id": "#publisher"}
    assert found["#publisher"] == {"@id": "#publisher", "@type": "Organization", "name": "Archive (invented)"}


def test_a_person_written_otherwise_is_refused(made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An address that is none is a slip."""
    words = ["crate", str(made), "--output", str(tmp_path / "c"), "--date", "2026-05-04"]
    assert cli.main([*words, "--author", "A. Tester <javascript:x>"]) == cli.USAGE
    assert "--author takes a name" in capsys.readouterr().err
    assert not (tmp_path / "c").exists()


def test_every_reference_leads_somewhere(crate: Path) -> None:
    """Each reference within the crate names an entity that is there."""
    found = entities(crate)
    for entity in found.values():
        for value in entity.values():
            for entry in value if isinstance(value, list) else [value]:
                if isinstance(entry, dict):
                    assert entry["@id"] in found or str(entry["@id"]).startswith("https://w3id.org/ro/crate")


def test_the_table_fits_its_schema(made: Path, crate: Path) -> None:
    """Columns as described; every number reads back as the one of the results, bit for bit."""
    schema = json.loads((crate / PACKAGE).read_bytes())["resources"][0]["schema"]
    rows = list(csv.DictReader(io.StringIO((crate / PULLS).read_text(encoding="utf-8"))))
    assert [field["name"] for field in schema["fields"]] == list(rows[0])
    pulls = json.loads((made / "results.json").read_bytes())["pulls"]
    assert [float(row["strength_mpa"]) for row in rows] == [pull["strength"] for pull in pulls]
    assert [row["zone"] for row in rows] == [pull["zone"] for pull in pulls]
    assert [row["bound"] for row in rows] == [pull["bound"] or "" for pull in pulls]
    assert float(rows[1]["failure A/B"]) == 20.0


def test_a_crate_needs_a_day(made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """RO-Crate asks for a day of publication; a record without a time names none."""
    assert cli.main(["crate", str(made), "--output", str(tmp_path / "c")]) == cli.USAGE
    assert "--date" in capsys.readouterr().err
    assert cli.main(["crate", str(made), "--output", str(tmp_path / "c"), "--date", "4 May"]) == cli.USAGE
    assert not (tmp_path / "c").exists()


def test_an_altered_record_makes_no_crate(record: Path, tmp_path: Path) -> None:
    """What does not fit its manifest is not passed on."""
    (record / "readings.csv").write_bytes(b"zone\n")
    assert cli.main(["crate", str(record), "--output", str(tmp_path / "c"), "--date", "2026-05-04"]) == 5
