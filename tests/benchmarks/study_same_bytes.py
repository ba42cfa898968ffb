"""The same bytes under other Pythons, hash seeds and numbers of threads?

``python -m tests.benchmarks.study_same_bytes PYTHON [PYTHON ...]``: each an interpreter of an environment that was made
from the lock, such as::

    uv venv --python 3.13 /tmp/v313 && uv pip install --python /tmp/v313/bin/python --require-hashes -r requirements.txt

Assesses two demo contracts with each, under two hash seeds, with one and two threads, and prints for every file of the
record whether its bytes are those of the first run; for one that differs, where. Outcome: docs/audit-proof.md.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from adhesion_stats.locate import packaged
from adhesion_stats.record import compare_results, read_results

__all__ = ["places_that_differ", "record_under"]

_ROOT = Path(__file__).resolve().parents[2]
_CONTRACTS = {
    "psi": ("psi-contract", "readings.csv"),
    "repair": ("repair-contract", "readings-as-received.xlsx"),
}


def record_under(python: str, contract: str, folder: Path, *, seed: str, threads: str) -> dict[str, bytes]:
    """Files of the record that an interpreter makes of a demo contract in the new ``folder``."""
    name, readings = _CONTRACTS[contract]
    demo = packaged("data", "demo", name)
    numbers = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), threads)
    environment = os.environ | numbers | {
        "PYTHONHASHSEED": seed, "PYTHONPATH": str(_ROOT), "SOURCE_DATE_EPOCH": "1767225600",
    }  # fmt: skip
    command = [python, "-m", "adhesion_stats", "assess", str(demo / readings)]
    command += ["--specification", str(demo / "specification.toml"), "--output", str(folder)]
    subprocess.run(command, env=environment, check=True, capture_output=True)
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def places_that_differ(first: object, second: object, path: str = "") -> Iterator[str]:
    """Paths of entries of two parsed JSON files that are not the same; steps of lists left out."""
    if isinstance(first, dict) and isinstance(second, dict):
        for key in dict.fromkeys([*first, *second]):
            yield from places_that_differ(first.get(key), second.get(key), f"{path}.{key}" if path else key)
    elif isinstance(first, list) and isinstance(second, list) and len(first) == len(second):
        for a, b in zip(first, second, strict=True):
            yield from places_that_differ(a, b, f"{path}[]")
    elif first != second:
        yield path


def main(pythons: list[str]) -> None:
    """Print what is the same and what is not."""
    runs = list(itertools.product(pythons, ("0", "4711"), ("1", "2")))
    for contract in _CONTRACTS:
        first: dict[str, bytes] = {}
        counts: Counter[str] = Counter()
        where: dict[str, Counter[str]] = {}
        inexact = 0
        for python, seed, threads in runs:
            with tempfile.TemporaryDirectory(prefix="bytes-") as name:
                files = record_under(python, contract, Path(name) / "record", seed=seed, threads=threads)
            first = first or files
            for file in sorted(first.keys() | files.keys()):
                same = first.get(file) == files.get(file)
                counts[file] += int(same)
                if not same and file.endswith((".json", ".ipynb")):
                    found = places_that_differ(json.loads(first[file]), json.loads(files[file]))
                    where.setdefault(file, Counter()).update(set(found))
            compared = compare_results(read_results(first["results.json"]), read_results(files["results.json"]))
            assert compared.differences == (), compared.differences[:3]
            inexact += compared.inexact
            digest = hashlib.sha256(files["results.json"]).hexdigest()[:12]
            print(f"{contract}: {python} seed {seed} threads {threads}: results {digest}", flush=True)
        for file, often in counts.items():
            print(f"{contract}: {file}: same bytes in {often} of {len(runs)} runs", dict(where.get(file, {})) or "")
        print(f"{contract}: numbers that agree but not to the last bit: {inexact}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
