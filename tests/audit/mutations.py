"""Random alterations of a record, as somebody might make them by accident or on purpose.

Each kind of alteration takes the files of a record (name -> bytes) and a generator, and returns the files altered. With
``covered`` the manifest is made to fit again afterwards, as somebody who hides a change would. Used by a small test and
by the study in tests/benchmarks.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping

import numpy as np

from adhesion_stats.record import canonical_bytes
from adhesion_stats.record.manifest import manifest_seal

__all__ = ["KINDS", "Files", "covered"]

Files = dict[str, bytes]
Alteration = Callable[[Files, np.random.Generator], Files]
_DIGIT = re.compile(rb"[0-9]")


def _roles(files: Mapping[str, bytes]) -> dict[str, str]:
    found = json.loads(files["manifest.json"])["parameters"]
    assert isinstance(found, dict)
    return found


def _another_digit(content: bytes, at: int, rng: np.random.Generator) -> bytes:
    old = content[at : at + 1]
    new = rng.choice([d for d in b"0123456789" if bytes([d]) != old])
    return content[:at] + bytes([int(new)]) + content[at + 1 :]


def _digit_in(files: Files, name: str, rng: np.random.Generator, start: int = 0) -> Files:
    places = [m.start() for m in _DIGIT.finditer(files[name]) if m.start() >= start]
    return {**files, name: _another_digit(files[name], int(rng.choice(places)), rng)}


def digit_in_readings(files: Files, rng: np.random.Generator) -> Files:
    """One digit of the raw file, below its heading."""
    name = _roles(files)["readings"]
    return _digit_in(files, name, rng, start=files[name].index(b"\n"))


def dropped_pull(files: Files, rng: np.random.Generator) -> Files:
    """One row of the raw file is gone."""
    name = _roles(files)["readings"]
    rows = files[name].splitlines(keepends=True)
    filled = [i for i, row in enumerate(rows) if i and row.strip(b",; \r\n")]
    gone = int(rng.choice(filled))
    return {**files, name: b"".join(rows[:gone] + rows[gone + 1 :])}


def limit(files: Files, rng: np.random.Generator) -> Files:
    """One digit of a limit of the specification."""
    name = _roles(files)["specification"]
    places = [m.start() for m in re.finditer(rb'(?<=at_least = ")[0-9]|(?<=at_least = "[0-9]\.)[0-9]', files[name])]
    return {**files, name: _another_digit(files[name], int(rng.choice(places)), rng)}


def digit_in_results(files: Files, rng: np.random.Generator) -> Files:
    """One digit of the results, the file kept in its form."""
    return _digit_in(files, "results.json", rng)


def outcome_in_results(files: Files, rng: np.random.Generator) -> Files:
    """The decision of one zone turned."""
    results = json.loads(files["results.json"])
    zone = results["zones"][int(rng.integers(len(results["zones"])))]
    words = ("conforms", "does not conform", "undetermined")
    zone["outcome"] = str(rng.choice([word for word in words if word != zone["outcome"]]))
    return {**files, "results.json": canonical_bytes(results)}


def digit_on_page(files: Files, rng: np.random.Generator) -> Files:
    """One digit of the page, in its text, its pictures or its style."""
    return _digit_in(files, "assessment.html", rng)


def word_on_page(files: Files, rng: np.random.Generator) -> Files:
    """One decision on the page turned into another."""
    page = files["assessment.html"]
    places = [m.start() for m in re.finditer(b"does not conform", page)] or [page.index(b"conforms")]
    at = int(rng.choice(places))
    old = b"does not conform" if page.startswith(b"does not conform", at) else b"conforms"
    return {**files, "assessment.html": page[:at] + b"undetermined" + page[at + len(old) :]}


def source_of_cell(files: Files, rng: np.random.Generator) -> Files:
    """A line put into one cell of the notebook."""
    notebook = json.loads(files["assessment.ipynb"])
    cell = notebook["cells"][int(rng.integers(len(notebook["cells"])))]
    cell["source"] = "".join(cell["source"]) + "\nassessment = None"
    return _notebook(files, notebook)


def output_of_cell(files: Files, rng: np.random.Generator) -> Files:
    """One digit of what a cell shows."""
    notebook = json.loads(files["assessment.ipynb"])
    shown = [o["data"] for c in notebook["cells"] for o in c.get("outputs", []) if "text/html" in o.get("data", {})]
    data = shown[int(rng.integers(len(shown)))]
    html = data["text/html"].encode()
    places = [m.start() for m in _DIGIT.finditer(html)]
    data["text/html"] = _another_digit(html, int(rng.choice(places)), rng).decode()
    return _notebook(files, notebook)


def _notebook(files: Files, notebook: object) -> Files:
    text = json.dumps(notebook, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    return {**files, "assessment.ipynb": text.encode()}


def missing_file(files: Files, rng: np.random.Generator) -> Files:
    """One file is gone."""
    gone = str(rng.choice(sorted(files)))
    return {name: content for name, content in files.items() if name != gone}


def extra_file(files: Files, rng: np.random.Generator) -> Files:
    """One file more."""
    return {**files, f"extra-{int(rng.integers(1000))}.txt": b"x"}


def cut_file(files: Files, rng: np.random.Generator) -> Files:
    """One file ends early."""
    name = str(rng.choice(sorted(files)))
    return {**files, name: files[name][: int(rng.integers(len(files[name])))]}


def swapped_files(files: Files, rng: np.random.Generator) -> Files:
    """Two files under each other's names."""
    first, second = (str(name) for name in rng.choice(sorted(set(files) - {"manifest.json"}), 2, replace=False))
    return {**files, first: files[second], second: files[first]}


def version(files: Files, rng: np.random.Generator) -> Files:
    """One version in the manifest is another one."""
    manifest = json.loads(files["manifest.json"])
    name = str(rng.choice(sorted(manifest["versions"])))
    manifest["versions"][name] = f"{manifest['versions'][name]}1"
    return {**files, "manifest.json": canonical_bytes(manifest)}


KINDS: dict[str, Alteration] = {
    "digit in readings": digit_in_readings,
    "dropped pull": dropped_pull,
    "limit": limit,
    "digit in results": digit_in_results,
    "outcome in results": outcome_in_results,
    "digit on page": digit_on_page,
    "word on page": word_on_page,
    "source of a cell": source_of_cell,
    "output of a cell": output_of_cell,
    "missing file": missing_file,
    "extra file": extra_file,
    "cut file": cut_file,
    "swapped files": swapped_files,
    "version": version,
}


def covered(files: Files) -> Files:
    """The manifest made to fit the files again, seal and all; as it is where it can't be read."""
    try:
        manifest = json.loads(files["manifest.json"])
        listed = dict(manifest["files"])
    except (KeyError, ValueError):
        return files
    for name in list(listed):
        if name not in files:
            del listed[name]
    for name in files:
        if name != "manifest.json":
            listed[name] = {"bytes": len(files[name]), "sha256": hashlib.sha256(files[name]).hexdigest()}
    manifest["files"] = listed
    if "results.json" in files:
        manifest["results_sha256"] = hashlib.sha256(files["results.json"]).hexdigest()
    return {**files, "manifest.json": canonical_bytes({**manifest, "seal": manifest_seal(manifest)})}
