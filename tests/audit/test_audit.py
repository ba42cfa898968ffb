"""An audit of a received record: whole and reproduced, or what differs, was altered, or could not be seen."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

import pytest

from adhesion_stats.audit import Audit, Outside, audit_record
from adhesion_stats.audit.command import exit_code
from adhesion_stats.errors import WrongUsage
from adhesion_stats.record import canonical_bytes, compare_results
from adhesion_stats.record.signatures import public_key_of, signed
from adhesion_stats.reporting.audit_document import audit_page, audit_text
from tests.audit.conftest import READINGS, remade


def codes(audit: Audit) -> set[str]:
    """Codes of what was found, but for what could not be compared."""
    return {m.code for m in audit.messages} - {"audit_nothing_from_outside", "audit_specification_not_compared"}


def edited(path: Path, old: str, new: str) -> None:
    """Replace the first occurrence of a text that is there."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_an_untouched_record_is_reproduced(record: Path) -> None:
    """Nothing is found, every entry agrees, and what could not be compared is said."""
    audit = audit_record(record)
    assert audit.outcome == "reproduced"
    assert exit_code(audit) == 0
    assert codes(audit) == set()
    assert {m.code for m in audit.messages} == {"audit_nothing_from_outside", "audit_specification_not_compared"}
    assert audit.comparison is not None
    assert audit.comparison.differences == ()
    assert audit.comparison.entries > 300


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("readings.csv", "1.82", "1.83"),
        ("terms.toml", "1.50 MPa", "1.40 MPa"),
        ("results.json", "undetermined", "conforms"),
        ("assessment.html", "undetermined", "conforms"),
        ("assessment.ipynb", "Deck", "Dock"),
    ],
)
def test_a_changed_file_is_named(record: Path, name: str, old: str, new: str) -> None:
    """A change that the manifest does not know of is damage, whichever file it is in."""
    edited(record / name, old, new)
    audit = audit_record(record)
    assert "audit_changed" in codes(audit)
    assert name in {m.place.file for m in audit.messages if m.code == "audit_changed"}
    assert exit_code(audit) == 5


def test_missing_and_extra_files_are_named(record: Path) -> None:
    """A page that is gone and a file that nobody listed."""
    (record / "assessment.html").unlink()
    (record / "notes.txt").write_text("x")
    audit = audit_record(record)
    assert {(m.code, m.place.file) for m in audit.record.problems} == {
        ("audit_missing", "assessment.html"),
        ("audit_extra", "notes.txt"),
        ("audit_unexpected", "notes.txt"),
    }
    assert exit_code(audit) == 5


def test_readings_changed_with_a_manifest_made_anew_give_other_numbers(record: Path) -> None:
    """Whoever changes a reading and the manifest, but not the results, is found by the recomputation."""
    edited(record / "readings.csv", "Ramp,4,1.20", "Ramp,4,0.90")
    remade(record)
    audit = audit_record(record)
    assert audit.comparison is not None
    paths = {d.path for d in audit.comparison.differences}
    assert "zones[1].outcome" in paths
    assert [(c.what, c.recorded, c.recomputed) for c in audit.changes] == [
        ("contract", "undetermined", "does not conform"),
        ("zone Ramp", "undetermined", "does not conform"),
    ]


def test_results_changed_with_a_manifest_made_anew_are_found(record: Path) -> None:
    """A decision turned in the results, canonical and with fitting hashes: the raw files say otherwise."""
    results = json.loads((record / "results.json").read_bytes())
    results["zones"][1]["outcome"] = "conforms"
    (record / "results.json").write_bytes(canonical_bytes(results))
    remade(record)
    audit = audit_record(record)
    assert exit_code(audit) in {4, 5}
    assert ("zone Ramp", "conforms", "undetermined") in {(c.what, c.recorded, c.recomputed) for c in audit.changes}


def test_a_limit_lowered_with_a_manifest_made_anew_is_found(record: Path) -> None:
    """The results name the hash of the specification that they were made from."""
    edited(record / "terms.toml", "1.50 MPa", "1.10 MPa")
    remade(record)
    audit = audit_record(record)
    assert "audit_input_changed" in codes(audit)
    assert exit_code(audit) == 5


def test_a_page_that_says_otherwise_is_found(record: Path) -> None:
    """The page is made again from the results and must be the same."""
    edited(record / "assessment.html", "undetermined", "conforms")
    remade(record)
    audit = audit_record(record)
    assert codes(audit) == {"audit_page_altered"}
    assert exit_code(audit) == 5


def test_a_changed_cell_is_shown_and_not_run(record: Path, tmp_path: Path) -> None:
    """Code in the received notebook is text to the auditor."""
    notebook = json.loads((record / "assessment.ipynb").read_bytes())
    trap = tmp_path / "trap"
    code = next(cell for cell in notebook["cells"] if cell["cell_type"] == "code" and "assess(" in cell["source"])
    code["source"] = f"open({str(trap)!r}, 'w').close()\n" + code["source"]
    (record / "assessment.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    remade(record)
    audit = audit_record(record)
    assert codes(audit) == {"audit_cells_changed"}
    assert not trap.exists()
    (cell,) = audit.cells
    assert cell.what == "changed"
    assert any(line.startswith("+open(") for line in cell.lines)
    assert str(trap) in audit_page(audit.as_dict())


def test_outputs_that_say_otherwise_are_found(record: Path) -> None:
    """Cells as shipped, but another text in what they show."""
    edited(record / "assessment.ipynb", "undetermined", "conforms")
    remade(record)
    assert codes(audit_record(record)) == {"audit_outputs_altered"}


def test_code_in_the_metadata_is_found(record: Path) -> None:
    """What surrounds the cells must be as shipped as well."""
    notebook = json.loads((record / "assessment.ipynb").read_bytes())
    notebook["metadata"]["kernelspec"]["argv"] = ["sh", "-c", "id"]
    (record / "assessment.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    remade(record)
    assert codes(audit_record(record)) == {"audit_notebook_altered"}


def test_a_changed_version_breaks_the_seal(record: Path) -> None:
    """A version turned by hand; and with a new seal it is said to be another than here."""
    edited(record / "manifest.json", '"scipy": "', '"scipy": "9')
    assert "audit_seal_broken" in codes(audit_record(record))
    remade(record)
    audit = audit_record(record)
    assert codes(audit) == {"audit_versions_differ"}
    assert audit.outcome == "reproduced"
    assert list(audit.versions) == ["scipy"]


def test_a_record_made_anew_is_seen_only_from_outside(record: Path) -> None:
    """The manifest's hash that came another way tells; without it the audit says that it had nothing."""
    original = hashlib.sha256((record / "manifest.json").read_bytes()).hexdigest()
    remade(record, lambda manifest: manifest.update(created="2026-01-01T00:00:00Z"))
    audit = audit_record(record)
    assert audit.outcome == "reproduced"
    assert "audit_nothing_from_outside" in {m.code for m in audit.messages}
    told = audit_record(record, outside=Outside(manifest_sha256=original))
    assert codes(told) == {"audit_manifest_hash_differs"}
    assert exit_code(told) == 5
    now = hashlib.sha256((record / "manifest.json").read_bytes()).hexdigest()
    assert codes(audit_record(record, outside=Outside(manifest_sha256=now.upper()))) == {"audit_manifest_hash_agrees"}


def test_the_specification_is_compared_with_the_contract(record: Path) -> None:
    """A hash of the specification from the contract, right and wrong."""
    right = hashlib.sha256((record / "terms.toml").read_bytes()).hexdigest()
    assert codes(audit_record(record, outside=Outside(specification_sha256=right))) == {
        "audit_specification_hash_agrees"
    }
    wrong = audit_record(record, outside=Outside(specification_sha256="0" * 64))
    assert codes(wrong) == {"audit_specification_hash_differs"}


def test_own_readings_are_used_and_compared(record: Path, tmp_path: Path) -> None:
    """The auditor's copy beats the one in the folder; another content is said."""
    own = tmp_path / "own.csv"
    own.write_text(READINGS)
    assert codes(audit_record(record, readings=own)) == set()
    own.write_text(READINGS.replace("1.20", "0.80"))
    audit = audit_record(record, readings=own)
    assert "audit_other_readings" in codes(audit)
    assert ("zone Ramp", "undetermined", "does not conform") in {
        (c.what, c.recorded, c.recomputed) for c in audit.changes
    }


def test_unusable_readings_have_their_own_exit_code(record: Path) -> None:
    """A whole record whose readings this version can't use: 3, with the reasons."""
    own = record.parent / "own.csv"
    own.write_text("nothing\n")
    audit = audit_record(record, readings=own)
    assert audit.unusable == "readings"
    assert exit_code(audit) == 3
    assert "audit_unusable_readings" in codes(audit)


def _key() -> tuple[bytes, bytes]:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat

    key = Ed25519PrivateKey.generate()
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return private, key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def test_signatures_of_several_signers(record: Path) -> None:
    """Known, unknown, with another key, missing and broken signatures are told apart."""
    keys = {name: _key() for name in ("tester", "engineer", "auditor")}
    manifest = (record / "manifest.json").read_bytes()
    for name in ("tester", "engineer"):
        content = signed(manifest, signer=name, private_key_pem=keys[name][0])
        (record / f"manifest.{name}.sig").write_bytes(content)

    def found(**public: bytes) -> set[str]:
        known = {name: public_key_of(pem) for name, pem in public.items()}
        return codes(audit_record(record, outside=Outside(public_keys=known)))

    assert found() == {"audit_signature_unknown_key"}
    assert found(tester=keys["tester"][1], engineer=keys["engineer"][1]) == {"audit_signature_known"}
    assert "audit_signature_other_key" in found(tester=keys["engineer"][1])
    assert "audit_signature_missing" in found(auditor=keys["auditor"][1])
    remade(record, lambda manifest: manifest.update(created="2026-01-01T00:00:00Z"))
    assert "audit_signature_broken" in found(tester=keys["tester"][1])


def test_a_signature_that_is_none_is_named(record: Path) -> None:
    """A file of that name with other contents, and one that names another signer."""
    (record / "manifest.tester.sig").write_text("{}")
    assert codes(audit_record(record)) == {"audit_not_a_signature"}
    private, _ = _key()
    other = signed((record / "manifest.json").read_bytes(), signer="engineer", private_key_pem=private)
    (record / "manifest.tester.sig").write_bytes(other)
    assert codes(audit_record(record)) == {"audit_not_a_signature"}


def test_links_and_folders_are_not_followed(record: Path, tmp_path: Path) -> None:
    """A link in place of the readings, to the very same bytes, is no part of a record."""
    away = tmp_path / "away.csv"
    away.write_bytes((record / "readings.csv").read_bytes())
    (record / "readings.csv").unlink()
    (record / "readings.csv").symlink_to(away)
    (record / "more").mkdir()
    audit = audit_record(record)
    assert {"audit_not_a_file", "audit_missing"} == codes(audit)
    assert exit_code(audit) == 5


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_does_not_hang_the_audit(record: Path) -> None:
    """A named pipe in place of a file is refused at once."""
    (record / "assessment.html").unlink()
    os.mkfifo(record / "assessment.html")
    assert "audit_not_a_file" in codes(audit_record(record))


@pytest.mark.parametrize("name", ["../outside.csv", "/etc/hostname", "sub/readings.csv", "manifest.json"])
def test_a_manifest_that_names_files_elsewhere_opens_none(record: Path, name: str) -> None:
    """Parameters name files of the folder; another name is a missing file, not a path."""

    def elsewhere(manifest: dict[str, object]) -> None:
        parameters = manifest["parameters"]
        assert isinstance(parameters, dict)
        parameters["readings"] = name

    remade(record, elsewhere)
    audit = audit_record(record)
    assert codes(audit) & {"audit_missing", "audit_role_shared"}
    assert exit_code(audit) == 5


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{",
        b'{"a": NaN}',
        b"\xff\xfe",
        b'{"a":' * 5000 + b"1" + b"}" * 5000,
        b'{"files": 3, "parameters": 4}',
    ],
)
def test_a_manifest_that_is_none_is_said(record: Path, content: bytes) -> None:
    """No manifest, no claim: damaged, and no traceback."""
    (record / "manifest.json").write_bytes(content)
    assert exit_code(audit_record(record)) == 5


def test_what_is_no_folder_is_refused(tmp_path: Path) -> None:
    """A file, or nothing, can't be audited."""
    for path in (tmp_path / "nothing", tmp_path / "file"):
        if path.name == "file":
            path.write_text("x")
        with pytest.raises(WrongUsage, match="is no folder"):
            audit_record(path)


def test_text_of_a_record_is_text_in_the_report(record: Path) -> None:
    """Markup in a file's name or in a result reaches the page escaped and the terminal without escapes."""
    name = "<img src=x onerror=alert(1)>\x1b[31m.csv"
    (record / name).write_text("x")
    found = audit_record(record).as_dict()
    page = audit_page(found)
    assert "<img" not in page
    assert "\x1b" not in page
    assert "\x1b" not in audit_text(found)
    assert "&lt;img src=x" in page


def test_two_audits_give_the_same_bytes(record: Path) -> None:
    """audit.json and audit.html depend on the record and the versions alone."""
    first, second = (audit_record(record).as_dict() for _ in range(2))
    assert canonical_bytes(first) == canonical_bytes(second)
    assert audit_page(first) == audit_page(second)


def test_a_record_of_an_older_form_still_audits() -> None:
    """A committed record of the first form: everything that it holds is reproduced, and its form is said."""
    audit = audit_record(Path(__file__).parent / "data" / "form-1")
    assert audit.outcome == "reproduced"
    assert "audit_older_form" in codes(audit)
    assert audit.comparison is not None
    assert audit.comparison.entries > 3000


def test_what_an_older_record_says_must_still_be_said() -> None:
    """More messages than the record has are no difference; fewer are."""
    said = {"code": "a", "facts": {"n": 1}}
    more = {"code": "b", "facts": {}}
    assert compare_results({"next": [said]}, {"next": [more, said]}, recorded_only=True).differences == ()
    (missing,) = compare_results({"next": [said]}, {"next": [more]}, recorded_only=True).differences
    assert missing.path == "next[0]"
    assert compare_results({"next": [said]}, {"next": [said, more]}).differences != ()


def test_a_manifest_without_its_seal_is_damaged(record: Path) -> None:
    """Taking the seal away would let a time or a version be changed by hand without a word."""
    manifest = json.loads((record / "manifest.json").read_bytes())
    del manifest["seal"]
    (record / "manifest.json").write_bytes(canonical_bytes({**manifest, "created": "2026-01-01T00:00:00Z"}))
    audit = audit_record(record)
    assert codes(audit) == {"audit_seal_broken"}
    assert exit_code(audit) == 5


def test_another_record_comes_before_unusable_readings(record: Path) -> None:
    """Where the manifest is not the one that was named, that is the answer, also if nothing can be recomputed."""
    own = record.parent / "own.csv"
    own.write_text("nothing\n")
    assert exit_code(audit_record(record, readings=own, outside=Outside(manifest_sha256="0" * 64))) == 5
