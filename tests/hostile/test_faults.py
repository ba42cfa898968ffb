"""A few of the faults of the large study: a kill, a crowd, a full disk.

The study (tests/benchmarks/study_faults.py) kills at hundreds of moments; its counts stand in results/faults.txt there.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.audit.conftest import READINGS, SPECIFICATION
from tests.benchmarks.study_faults import crowd, leftovers, once, state

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="sessions, tmpfs and kill -9 as Linux has them")


@pytest.fixture
def arguments(tmp_path: Path) -> list[str]:
    """An assessment of a small table."""
    (tmp_path / "readings.csv").write_text(READINGS)
    (tmp_path / "terms.toml").write_text(SPECIFICATION)
    return ["assess", str(tmp_path / "readings.csv"), "--specification", str(tmp_path / "terms.toml")]


def test_a_kill_while_files_are_written(tmp_path: Path, arguments: list[str]) -> None:
    """Killed as soon as the temporary folder is there: no record, and what is left is private."""
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    target = tmp_path / "new"
    process = subprocess.Popen(
        [sys.executable, "-m", "adhesion_stats", *arguments, "--output", str(target)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=os.environ | {"TMPDIR": str(temporary)},
    )  # fmt: skip
    begun = time.monotonic()
    while not list(tmp_path.glob(".new.*.unfinished/record/results.json")) and time.monotonic() < begun + 60:
        time.sleep(0.005)
    process.kill()
    process.wait()
    assert state(target) == "absent"
    found = leftovers(tmp_path, temporary)
    assert found["temporary"] >= 1
    assert found["open to others"] == 0


def test_two_at_once(tmp_path: Path, arguments: list[str]) -> None:
    """One wins, the other says that it did not, and the record is whole."""
    found = crowd(arguments, tmp_path / "new", temporary=tmp_path, runs=2)
    assert found == {"exit 0": 1, "exit 2": 1, "whole": 1}
    assert leftovers(tmp_path)["temporary"] == 0


def test_a_full_disk(tmp_path: Path, arguments: list[str]) -> None:
    """A file system that takes the first files and not the last: nothing is there afterwards."""
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(small)], check=False)
    if mounted.returncode:
        pytest.skip("no right to mount a small file system")
    try:
        assert once(arguments, small / "new", tmp_path) == "exit 2, absent"
        assert list(small.iterdir()) == []
    finally:
        subprocess.run(["umount", "-l", str(small)], check=True)
