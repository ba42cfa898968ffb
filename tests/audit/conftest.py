"""A record of a small contract, made once; each test alters a copy of it."""

from __future__ import annotations

import functools
import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import adhesion_stats.audit as audit_room
from adhesion_stats.audit.recompute import Recomputation, recompute
from adhesion_stats.record import canonical_bytes
from adhesion_stats.record.manifest import manifest_seal
from adhesion_stats.reporting.assess_folder import write_assessment

READINGS = """zone,id,strength MPa,failure,x m,y m
Deck,1,1.82,A,0.5,0.5
Deck,2,1.61,80% A 20% A/B,1.5,0.5
Deck,3,1.74,A,0.5,1.5
Ramp,4,1.20,A/B,3.0,0.5
Ramp,5,> 1.40,Y,4.0,0.5
Ramp,6,1.75,A,3.0,1.5
"""
SPECIFICATION = """[contract]
title = "Invented deck"
invented = true
[pulls]
required = 3
[glue]
from = "50 %"
then = "at least"
[[require]]
all_of = [{ mean_at_least = "1.50 MPa" }, { smallest_at_least = "1.00 MPa" }]
"""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record as its maker left it."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "readings.csv").write_text(READINGS)
    (folder / "terms.toml").write_text(SPECIFICATION)
    write_assessment(folder / "readings.csv", folder / "terms.toml", folder / "record", progress=lambda _: None)
    return folder / "record"


@pytest.fixture
def record(made: Path, tmp_path: Path) -> Path:
    """A copy to alter."""
    return Path(shutil.copytree(made, tmp_path / "record"))


@pytest.fixture(autouse=True)
def _remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same raw files are recomputed once for all tests: what is computed depends on nothing else."""
    monkeypatch.setattr(audit_room, "recompute", _recompute_once)
    monkeypatch.setattr(audit_room, "_executed", _executed_once)


@functools.cache
def _once(
    readings: tuple[str, bytes], specification: tuple[str, bytes], layout: tuple[str, bytes] | None
) -> Recomputation:
    return recompute(readings=readings, specification=specification, layout=layout)


def _recompute_once(
    *, readings: tuple[str, bytes], specification: tuple[str, bytes], layout: tuple[str, bytes] | None
) -> Recomputation:
    return _once(readings, specification, layout)


_EXECUTED: dict[str, bytes] = {}
_execute = audit_room._executed


def _executed_once(results: dict[str, object], files: dict[str, tuple[str, bytes]]) -> bytes:
    key = hashlib.sha256(repr(sorted(files.items())).encode() + canonical_bytes(results)).hexdigest()
    if key not in _EXECUTED:
        _EXECUTED[key] = _execute(results, files)
    return _EXECUTED[key]


def remade(record: Path, change: Callable[[dict[str, object]], None] | None = None) -> None:
    """Make the manifest fit the files again, seal and all, as somebody who covers a change would."""
    path = record / "manifest.json"
    manifest = json.loads(path.read_bytes())
    for name in manifest["files"]:
        content = (record / name).read_bytes()
        manifest["files"][name] = {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    results = (record / "results.json").read_bytes()
    manifest["results_sha256"] = hashlib.sha256(results).hexdigest()
    if change is not None:
        change(manifest)
    path.write_bytes(canonical_bytes({**manifest, "seal": manifest_seal(manifest)}))
