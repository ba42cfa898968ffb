"""The whole command on the demo contract, as a ratio to papermill executing an empty notebook, in the same run.

Run it: ``python -m tests.benchmarks.bench_assess`` (prints a table), or ``pytest -m benchmark tests/benchmarks``. Both
sides are commands in processes of their own, taken in turns; the ratio is that of their medians. Aim: at most 4.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_notebook

__all__ = ["Seconds", "measure", "report"]

ROOT = Path(__file__).parents[2]
CONTRACT = ROOT / "data" / "demo" / "repair-contract"


@dataclass(frozen=True)
class Seconds:
    """Wall-clock seconds of each round: papermill on an empty notebook, and ``assess`` on the demo."""

    empty: tuple[float, ...]
    assess: tuple[float, ...]

    @property
    def ratio(self) -> float:
        """Median of assess over median of papermill."""
        return statistics.median(self.assess) / statistics.median(self.empty)


def _seconds(command: list[str]) -> float:
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    subprocess.run(command, env=environment, cwd=ROOT, capture_output=True, check=True)
    return time.perf_counter() - start


def measure(*, rounds: int) -> Seconds:
    """Run both in turns."""
    empty: list[float] = []
    assess: list[float] = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
        notebook = new_notebook(cells=[new_code_cell("")], metadata={"kernelspec": kernel})
        nbformat.write(notebook, folder / "empty.ipynb")
        for i in range(rounds):
            source, target = str(folder / "empty.ipynb"), str(folder / "executed.ipynb")
            empty.append(_seconds([sys.executable, "-m", "papermill", source, target, "--no-progress-bar"]))
            files = [str(CONTRACT / "readings.csv"), "--specification", str(CONTRACT / "specification.toml")]
            output = ["--output", str(folder / f"report-{i}")]
            assess.append(_seconds([sys.executable, "-m", "adhesion_stats", "assess", *files, *output]))
    return Seconds(tuple(empty), tuple(assess))


def report(seconds: Seconds) -> str:
    """Return the table in words."""
    lines = [
        f"{'':24}{'median':>9}{'least':>9}  s",
        *(
            f"{name:24}{statistics.median(values):9.2f}{min(values):9.2f}"
            for name, values in (("papermill, empty", seconds.empty), ("assess, demo contract", seconds.assess))
        ),
        f"ratio {seconds.ratio:.2f} (aim: at most 4)",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(report(measure(rounds=5)))
