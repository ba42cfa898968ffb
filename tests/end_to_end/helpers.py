"""Start the command as people do: in a process of its own, in a folder of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
REPAIR = ROOT / "data" / "demo" / "repair-contract"
TIME = "1767225600"  # SOURCE_DATE_EPOCH: 2026-01-01 00:00 UTC
FILES = {"assessment.ipynb", "assessment.html", "results.json", "manifest.json", "readings.csv", "specification.toml"}


def environment(**changes: str | None) -> dict[str, str]:
    """The variables of this process, with the clone importable and a time that is given; None takes one away."""
    path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))
    wanted: dict[str, str | None] = {**os.environ, "PYTHONPATH": path, "SOURCE_DATE_EPOCH": TIME, **changes}
    return {name: text for name, text in wanted.items() if text is not None}


def command(*words: str | Path, folder: Path, **changes: str | None) -> subprocess.CompletedProcess[str]:
    """Run ``adhesion-stats`` with these words in ``folder``; ``changes`` are environment variables."""
    return subprocess.run(
        [sys.executable, "-m", "adhesion_stats", *map(str, words)],
        cwd=folder,
        env=environment(**changes),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder and its bytes."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
