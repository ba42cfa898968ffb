"""The costs named in docs/statistics.md, measured in one run; result committed as results/costs.txt.

python -m tests.benchmarks.study_costs        # a few minutes, one thread
"""

from __future__ import annotations

import platform
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import scipy

from tests.benchmarks import bench_bounds, bench_outliers

RESULT = Path(__file__).parent / "results" / "costs.txt"


def machine() -> str:
    """Processor, system and versions."""
    info = Path("/proc/cpuinfo")
    names = [
        line.partition(":")[2].strip()
        for line in (info.read_text(encoding="utf-8").splitlines() if info.is_file() else [])
        if line.startswith("model name")
    ]
    processor = f"{len(names)} x {names[0]}" if names else platform.processor()
    return (
        f"{processor}, {platform.system()} {platform.machine()}, Python {platform.python_version()}, "
        f"numpy {np.__version__}, scipy {scipy.__version__}; one thread"
    )


def lines() -> Iterator[str]:
    """The table: what, ours, the loop over scipy carried on from a share of the samples, ratio, agreement."""
    yield machine()
    yield ""
    yield f"{'what':<42}{'samples':>10}{'ours, s':>10}{'scipy one by one, s':>21}{'ratio':>9}  largest difference"
    samples = 1_000_000
    for one in bench_outliers.measure(samples=samples, grubbs_loop=5000, dixon_loop=3):
        yield (
            f"{one.name + ', samples of 10':<42}{samples:>10}{one.blocks:>10.2f}{one.loop:>21.1f}{one.ratio:>9.0f}"
            f"  {one.largest_difference:.0e}"
        )
    for line in bench_bounds.measure(1.0):
        yield (
            f"{line.name:<42}{line.samples:>10}{line.ours:>10.2f}{line.theirs:>21.1f}{line.ratio:>9.0f}"
            f"  {line.apart:.0e}"
        )


if __name__ == "__main__":
    RESULT.parent.mkdir(exist_ok=True)
    text = "\n".join(lines()) + "\n"
    RESULT.write_text(text, encoding="utf-8")
    print(text)
