"""Nothing that comes in a file, a name or a folder executes, commands the terminal, becomes markup, stalls or gets out.

Each case is one hostile input to one command, in a box that notes what is written, started and reached for, with ten
seconds of the processor and three gigabytes. What the command says of it is not looked at here, but that it says
something, with the exit code of a refusal or of an answer, and never that it is a fault of the program.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from tests.audit.conftest import READINGS, SPECIFICATION
from tests.hostile.box import Outcome, run
from tests.hostile.records import RECORDS
from tests.hostile.texts import LAYOUTS, SPECIFICATIONS, TABLES
from tests.hostile.workbooks import WORKBOOKS

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="limits and /proc as Linux has them")

COMMANDING = "\x1b\x9b\x07\x00\u202e\u2028"
MARKUP = ("<script>alert", "<img src=x", "<script>fetch")
_READINGS = (2, 3)
_ANSWERS = (0, *_READINGS)
_PLANNED = (
    "deep-list.toml",
    "dotted.toml",
    "large-number.toml",
    "milliard-pulls.toml",
    "limit-digits.toml",
    "many-rules.toml",
    "one-thousand-of.toml",
    "escapes.toml",
    "title.toml",
    "code.toml",
)
_OF_FOLDERS = (
    "link of the manifest",
    "link to itself",
    "pipe of the manifest",
    "folder of the results",
    "names that command",
    "names that are no text",
    "manifest names files above",
    "manifest nan",
    "manifest half a pair",
    "manifest deep",
    "role above",
    "role of no text",
    "results infinite",
    "results half a pair",
    "results command",
    "results with a code",
    "results of no zones",
    "results deep",
    "cells that command",
    "signature deep",
)


def harmless(found: Outcome, folder: Path, codes: tuple[int, ...], *, outputs: tuple[str, ...] = ()) -> None:
    """The command ended in time with one of the codes, and did nothing but read and write what it was asked to."""
    assert found.code is not None, f"still running after {found.seconds:.0f} s"
    assert found.code in codes, found.err[-1500:]
    assert "fault of adhesion-stats" not in found.said
    assert found.said.strip()
    assert not [sign for sign in COMMANDING if sign in found.said]
    allowed = (f"{folder}/box/", *(f"{folder}/{name}" for name in outputs))
    beside = tuple(f"{folder}/.{name}" for name in outputs)  # where a new folder is made before it gets its name
    assert [path for path in found.written if not path.startswith((*allowed, *beside, "/dev/null", "/tmp/as-"))] == []  # noqa: S108
    assert {path for path in found.started if path != sys.executable} == set()
    assert found.reached == ()
    assert not list(folder.rglob("trap"))
    for page in folder.rglob("audit.html"):
        text = page.read_text(encoding="utf-8")
        assert not [sign for sign in COMMANDING if sign in text]
        assert not [part for part in MARKUP if part in text]


@pytest.mark.parametrize("name", [*WORKBOOKS, *TABLES])
def test_readings(tmp_path: Path, name: str) -> None:
    """A table or workbook made to do harm, checked."""
    made: Mapping[str, Callable[[], bytes]] = {**WORKBOOKS, **TABLES}
    (tmp_path / name).write_bytes(made[name]())
    harmless(run(["check", name], tmp_path), tmp_path, _ANSWERS)


@pytest.mark.parametrize(
    ("name", "command"),
    [(name, "check") for name in SPECIFICATIONS]
    + [(name, command) for name in _PLANNED for command in ("risk", "plan")],
)
def test_specifications(tmp_path: Path, name: str, command: str) -> None:
    """A specification made to do harm, used for a check, for risks and for a plan."""
    (tmp_path / name).write_bytes(SPECIFICATIONS[name]())
    (tmp_path / "readings.csv").write_text(READINGS)
    arguments = {
        "check": ["check", "readings.csv", "--specification", name],
        "risk": ["risk", name],
        "plan": ["plan", name, "--output", "new"],
    }
    harmless(run(arguments[command], tmp_path), tmp_path, _ANSWERS)


@pytest.mark.parametrize("name", LAYOUTS)
def test_layouts(tmp_path: Path, name: str) -> None:
    """A layout made to do harm."""
    (tmp_path / name).write_bytes(LAYOUTS[name]())
    (tmp_path / "readings.csv").write_text(READINGS)
    harmless(run(["check", "readings.csv", "--layout", name], tmp_path), tmp_path, _ANSWERS)


@pytest.mark.parametrize("name", RECORDS)
def test_audit(tmp_path: Path, pristine: Path, name: str) -> None:
    """A record made to do harm, audited."""
    shutil.copytree(pristine, tmp_path / "record")
    RECORDS[name](tmp_path / "record")
    found = run(["audit", "record", "--output", "new"], tmp_path, known=pristine)
    # The notebook is not run in the box, so that even the untouched record differs in what it shows.
    harmless(found, tmp_path, (2, 3, 4, 5), outputs=("new",))


@pytest.mark.parametrize("command", ["against", "sign", "crate"])
@pytest.mark.parametrize("name", _OF_FOLDERS)
def test_folders(tmp_path: Path, pristine: Path, key: Path, name: str, command: str) -> None:
    """A record made to do harm, compared with a good one, signed, or put into a crate."""
    shutil.copytree(pristine, tmp_path / "record")
    RECORDS[name](tmp_path / "record")
    arguments = {
        "against": ["audit", str(pristine), "--against", "record"],
        "sign": ["sign", "record", "--key", str(key), "--signer", "tester"],
        "crate": ["crate", "record", "--output", "new", "--date", "2026-05-04"],
    }
    found = run(arguments[command], tmp_path)
    outputs = {"against": (), "sign": ("record/manifest.tester.sig",), "crate": ("new",)}
    harmless(found, tmp_path, (0, 2, 4, 5), outputs=outputs[command])


@pytest.mark.parametrize(
    "name", ["pipe of the manifest", "link of the manifest", "role of no text", "results of a list"]
)
def test_revised(tmp_path: Path, pristine: Path, name: str) -> None:
    """A record that can't be revised is refused before anything is begun."""
    shutil.copytree(pristine, tmp_path / "record")
    RECORDS[name](tmp_path / "record")
    terms = tmp_path / "terms.toml"
    terms.write_text(SPECIFICATION)
    shutil.copy(pristine / "readings.csv", tmp_path)
    arguments = ["assess", "readings.csv", "--specification", str(terms), "--output", "new"]
    found = run([*arguments, "--revises", "record", "--reason", "because"], tmp_path)
    harmless(found, tmp_path, (2,), outputs=("new",))
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("path", ["/dev/zero", "/dev/full", "pipe", "folder", "/proc/self/mem", "loop"])
@pytest.mark.parametrize("role", ["readings", "specification", "layout", "own readings", "key"])
def test_what_is_no_file(tmp_path: Path, pristine: Path, path: str, role: str) -> None:
    """A device, a pipe, a folder or a circle of links in place of a file, in every role."""
    import os

    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "loop").symlink_to("loop")
    (tmp_path / "readings.csv").write_text(READINGS)
    shutil.copytree(pristine, tmp_path / "record")
    arguments = {
        "readings": ["check", path],
        "specification": ["check", "readings.csv", "--specification", path],
        "layout": ["check", "readings.csv", "--layout", path],
        "own readings": ["audit", "record", "--readings", path],
        "key": ["sign", "record", "--signer", "tester", "--key", path],
    }
    harmless(run(arguments[role], tmp_path), tmp_path, _READINGS)


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "{x}"],
        ["check", "readings.csv", "--write-layout", "{x}/{x}"],
        ["assess", "{x}", "--specification", "{x}", "--output", "new"],
        ["assess", "readings.csv", "--specification", "terms.toml", "--output", "{x}"],
        ["audit", "{x}"],
        ["audit", "record", "--manifest-sha256", "{x}"],
        ["audit", "record", "--signed-by", "{x}={x}"],
        ["audit", "record", "--against", "{x}"],
        ["sign", "record", "--key", "{x}", "--signer", "tester"],
        ["sign", "record", "--key", "key.pem", "--signer", "../{x}"],
        ["sign", "{x}", "--key", "key.pem", "--signer", "tester"],
        ["crate", "{x}", "--output", "new"],
        ["crate", "record", "--output", "new", "--date", "{x}"],
        ["plan", "{x}", "--output", "new"],
        ["risk", "terms.toml", "--zone", "{x}"],
        ["risk", "terms.toml", "--broke", "{x}"],
        ["risk", "terms.toml", "--seed", "9" * 5000],
        ["risk", "terms.toml", "--pulls", "9" * 5000],
        ["rules", "{x}"],
        ["form", "{x}"],
        ["{x}"],
    ],
    ids=lambda arguments: " ".join(arguments)[:50],
)
def test_arguments(tmp_path: Path, pristine: Path, key: Path, arguments: list[str]) -> None:
    """Names and values given on the command line: said as text, never obeyed by the terminal."""
    hostile = "\x1b]0;owned\x07\x9b31m\u202e<script>alert(1)</script>{0.__class__}%s\n$(touch trap)"
    (tmp_path / "readings.csv").write_text(READINGS)
    (tmp_path / "terms.toml").write_text(SPECIFICATION)
    shutil.copytree(pristine, tmp_path / "record")
    shutil.copy(key, tmp_path / "key.pem")
    (tmp_path / hostile.replace("/", "_")).mkdir()  # is there already
    given = [
        text.replace("{x}", hostile if "--output" not in arguments[-2:] else hostile.replace("/", "_"))
        for text in arguments
    ]
    harmless(run(given, tmp_path, known=pristine), tmp_path, (0, 2, 3, 5), outputs=(hostile[:5],))
