"""Alterations of records: is every one found, and does an untouched record ever raise an alarm?

``python -m tests.benchmarks.study_alterations alterations [number] [seed]``
    makes records of four contracts (a small table, a demo of psi, a demo whose readings are a workbook, a revision),
    alters copies at random, as it is or with the manifest made to fit again, audits each and prints counts by kind.

``python -m tests.benchmarks.study_alterations untouched [number] [seed]``
    makes records by the command line under other locales, time zones, hash seeds, numbers of threads, working folders,
    user names, umasks and places for temporary files, audits each and prints how many raised an alarm, and how many
    different bytes came out.

``python -m tests.benchmarks.study_alterations anew [number] [seed]``
    changes a digit of the raw file and makes everything anew: found by the hash of the manifest or by a signature only.

The audit is the real one; what is the same for many copies is computed once, in this process: the recomputation by the
bytes of the raw files, the page and the run notebook of results that are known. Of results that are not known neither
is made: they are taken as received, so that a finding never rests on them. Outcomes: docs/audit-proof.md.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import numpy as np

import adhesion_stats.audit as room
from adhesion_stats.assessment import assess
from adhesion_stats.audit import Audit, Outside, audit_record
from adhesion_stats.audit.documents import check_page
from adhesion_stats.audit.recompute import Recomputation
from adhesion_stats.entrance import readings_from, specification_from
from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.locate import packaged
from adhesion_stats.messages import Message
from adhesion_stats.record import canonical_bytes, read_results
from adhesion_stats.record.signatures import public_key_of, signed
from adhesion_stats.reporting.assess_folder import write_assessment
from tests.audit.conftest import READINGS, SPECIFICATION
from tests.audit.mutations import KINDS, Files, covered

__all__ = ["how_found", "make_bases"]

File = tuple[str, bytes]
_PAGES: dict[str, bytes] = {}  # digest of results (and revision) -> the page that they give
_NOTEBOOKS: dict[str, bytes] = {}  # digest of results -> the notebook as run


@functools.cache
def _recompute_once(readings: File, specification: File, layout: File | None) -> Recomputation:
    try:
        terms = specification_from(specification[1], file=specification[0])
        reading = readings_from(readings[1], file=readings[0], specification=terms, layout=layout)
        results = read_results(canonical_bytes(assess(reading, terms).as_dict()))
    except (UnusableReadings, InvalidSpecification) as error:
        kind = "readings" if isinstance(error, UnusableReadings) else "specification"
        return Recomputation(None, kind, [message.as_dict() for message in error.messages])
    return Recomputation(results, None, [], reading.layout.to_toml())


def _recompute(*, readings: File, specification: File, layout: File | None) -> Recomputation:
    return _recompute_once(readings, specification, layout)


def _key(results: Mapping[str, object], revision: object = None) -> str:
    return hashlib.sha256(canonical_bytes({"results": results, "revision": revision})).hexdigest()


def _checked_page(
    name: str,
    content: bytes,
    results: Mapping[str, object],
    revision: Mapping[str, object] | None,
    *,
    same_versions: bool,
) -> list[Message]:
    """The page against the one that is known for these results; nothing where none is."""
    known = _PAGES.get(_key(results, revision))
    if known is None or known == content:
        return []
    return check_page(name, content, results, revision, same_versions=same_versions)


_run = room._executed


def _executed(results: Mapping[str, object], files: Mapping[str, File]) -> bytes:
    key = _key(results)
    if key not in _NOTEBOOKS:
        _NOTEBOOKS[key] = _run(results, files)
    return _NOTEBOOKS[key]


def use_what_is_known() -> None:
    """Let audits of this process compute once what is the same for many."""
    setattr(room, "recompute", _recompute)  # noqa: B010 - a function in place of another
    setattr(room, "check_page", _checked_page)  # noqa: B010 - likewise
    setattr(room, "_executed", _executed)  # noqa: B010 - likewise


def make_bases(folder: Path) -> dict[str, Path]:
    """Records of four contracts, by name; every one is reproduced by the whole audit, nothing taken as known."""
    small = folder / "small"
    small.mkdir()
    (small / "readings.csv").write_text(READINGS)
    (small / "terms.toml").write_text(SPECIFICATION)
    demo = packaged("data", "demo")
    inputs = {
        "small": (small / "readings.csv", small / "terms.toml"),
        "psi": (demo / "psi-contract" / "readings.csv", demo / "psi-contract" / "specification.toml"),
        "workbook": (
            demo / "repair-contract" / "readings-as-received.xlsx",
            demo / "repair-contract" / "specification.toml",
        ),
    }
    made = {
        name: write_assessment(*files, folder / f"record-{name}", progress=_silent).folder
        for name, files in inputs.items()
    }
    revised = (made["small"], "a reading was corrected")
    (small / "readings.csv").write_text(READINGS.replace("1.61", "1.66"))
    made["revision"] = write_assessment(
        *inputs["small"], folder / "record-revision", revises=revised, progress=_silent
    ).folder
    for name, record in made.items():
        found = audit_record(record)
        assert found.outcome == "reproduced", (name, found.messages)
        results = read_results((record / "results.json").read_bytes())
        revision = record / "revision.json"
        named = read_results(revision.read_bytes()) if revision.exists() else None
        _PAGES[_key(results, named)] = (record / "assessment.html").read_bytes()
    return made


def _silent(_: str) -> None:
    """Say nothing of the progress."""


def how_found(audit: Audit) -> str:
    """How an audit says that a record is not as its maker left it; "not found" where it does not."""
    if audit.outcome != "reproduced":
        return audit.outcome
    if audit.versions:
        return "other versions"
    if audit.comparison is not None and audit.comparison.inexact:
        return "last digits"
    return "not found"


def _write(files: Files, folder: Path) -> None:
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)


def alterations(number: int, seed: int) -> None:
    """Alter records at random and print how each kind is found."""
    rng = np.random.default_rng(seed)
    outcomes: dict[str, Counter[str]] = {}
    unchanged = 0
    with tempfile.TemporaryDirectory(prefix="alterations-") as name:
        place = Path(name)
        bases = {
            base: {path.name: path.read_bytes() for path in folder.iterdir()}
            for base, folder in make_bases(place).items()
        }
        use_what_is_known()
        todo = [(kind, base, cover) for kind in KINDS for base in bases for cover in (False, True)]
        for i in range(number):
            kind, base, cover = todo[i % len(todo)]
            files = KINDS[kind](bases[base], rng)
            files = covered(files) if cover else files
            if files == bases[base]:
                unchanged += 1
                continue
            _write(files, place / "altered")
            how = how_found(audit_record(place / "altered"))
            outcomes.setdefault(f"{kind}{', covered' if cover else ''}", Counter())[how] += 1
            if how == "not found":
                shutil.copytree(place / "altered", Path(tempfile.gettempdir()) / f"not-found-{seed}-{i}")
            shutil.rmtree(place / "altered")
    for kind, found in sorted(outcomes.items()):
        print(f"{kind:32} {dict(found)}")
    total: Counter[str] = sum(outcomes.values(), Counter())
    print(f"altered {total.total()} (and {unchanged} that came out as they were): {dict(total)}", flush=True)


def _surroundings(rng: random.Random, place: Path) -> dict[str, str]:
    """An environment as another person may have it."""
    home = place / "home"
    home.mkdir()
    locale = rng.choice(["C", "C.UTF-8", "POSIX", "de_DE.UTF-8", "tr_TR.UTF-8", "ar_EG.UTF-8", "ja_JP.UTF-8", "de_DE"])
    user = rng.choice(["anna", "root", "Jürgen", "o'neil", "x y"])
    # What is not set is not there: neither OMP_NUM_THREADS nor a time zone of the machine.
    kept = {key: os.environ[key] for key in ("PATH", "PYTHONPATH", "LOCPATH") if key in os.environ}
    return kept | {
        "LC_ALL": locale,
        "LANG": locale,
        "TZ": rng.choice(["UTC", "Asia/Kathmandu", "America/St_Johns", "Pacific/Kiritimati", "nonsense"]),
        "PYTHONHASHSEED": rng.choice(["random", str(rng.randrange(2**32))]),
        "OMP_NUM_THREADS": (threads := rng.choice(["1", "2"])),
        "OPENBLAS_NUM_THREADS": threads,
        "USER": user,
        "LOGNAME": user,
        "HOME": str(home),
        "TMPDIR": str(home),
        "COLUMNS": rng.choice(["20", "80", "400"]),
        "PYTHONDONTWRITEBYTECODE": "1",
        "MPLBACKEND": rng.choice(["agg", "svg"]),
    }


def untouched(number: int, seed: int) -> None:
    """Make records under other surroundings, and print alarms and how many different bytes came out."""
    rng = random.Random(seed)  # noqa: S311 - surroundings, not secrets
    bytes_of: dict[str, Counter[str]] = {}
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="untouched-") as name:
        place = Path(name)
        make_bases(place)
        use_what_is_known()
        for i in range(number):
            work = place / rng.choice(["plain", "with blank", "Größe", "deep/er/still"]) / str(i)
            work.mkdir(parents=True)
            (work / "readings.csv").write_text(READINGS)
            (work / "terms.toml").write_text(SPECIFICATION)
            command = [sys.executable, "-m", "adhesion_stats", "assess", "readings.csv"]
            command += ["--specification", "terms.toml", "--output", "record"]
            around, umask = _surroundings(rng, work), rng.choice([0o022, 0o077])
            subprocess.run(command, cwd=work, env=around, umask=umask, check=True, capture_output=True)
            audit = audit_record(work / "record")
            alarm = how_found(audit)
            found["no alarm" if alarm == "not found" else f"alarm: {alarm}"] += 1
            for path in (work / "record").iterdir():
                bytes_of.setdefault(path.name, Counter())[hashlib.sha256(path.read_bytes()).hexdigest()] += 1
            shutil.rmtree(work)
    print(f"untouched {number}: {dict(found)}")
    print("different bytes: " + ", ".join(f"{file} {len(seen)}" for file, seen in sorted(bytes_of.items())), flush=True)


def anew(number: int, seed: int) -> None:
    """Make everything anew from altered readings: what tells, and what does not."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat

    private = Ed25519PrivateKey.generate()
    pem = private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    public = public_key_of(private.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo))
    rng = np.random.default_rng(seed)
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="anew-") as name:
        place = Path(name)
        base = make_bases(place)["small"]
        manifest = (base / "manifest.json").read_bytes()
        original = hashlib.sha256(manifest).hexdigest()
        signature = signed(manifest, signer="tester", private_key_pem=pem)
        files = {path.name: path.read_bytes() for path in base.iterdir()}
        for i in range(number):
            work = place / str(i)
            work.mkdir()
            changed = KINDS["digit in readings"](files, rng)
            (work / "readings.csv").write_bytes(changed["readings.csv"])
            (work / "terms.toml").write_text(SPECIFICATION)
            try:
                record = write_assessment(
                    work / "readings.csv", work / "terms.toml", work / "record", progress=_silent
                ).folder
            except UnusableReadings:
                counts["no record came of it"] += 1
                continue
            counts[f"alone: {how_found(audit_record(record))}"] += 1
            counts[f"hash: {how_found(audit_record(record, outside=Outside(manifest_sha256=original)))}"] += 1
            (record / "manifest.tester.sig").write_bytes(signature)
            known = Outside(public_keys={"tester": public})
            counts[f"signature: {how_found(audit_record(record, outside=known))}"] += 1
    print(f"made anew {number}: {json.dumps(counts)}", flush=True)


if __name__ == "__main__":
    {"alterations": alterations, "untouched": untouched, "anew": anew}[sys.argv[1]](
        *map(int, [*sys.argv[2:], *["2016", "1"][len(sys.argv) - 2 :]][:2])
    )
