"""How long an assessment of many zones takes, and that it grows with the pulls alone.

Run it: ``python -m tests.benchmarks.bench_zones`` (prints a table), or ``pytest -m benchmark tests/benchmarks``. Five
pulls a zone with the same ids in every zone; a fifth of them are retests, some broke in the glue or were lost. Seconds
of the processor for the assessment and for its plain values, without figures and notebook; best of three.
"""

from __future__ import annotations

import time

from adhesion_stats.assessment import assess
from tests.assessment.test_many_zones import TERMS, readings
from tests.building import specification

__all__ = ["report", "seconds"]


def seconds(zones: int) -> float:
    """Seconds of the processor for ``zones`` zones."""
    reading, terms, found = readings(zones), specification(TERMS), []
    for _ in range(3):
        start = time.process_time()
        assess(reading, terms).as_dict()
        found.append(time.process_time() - start)
    return min(found)


def report(numbers: tuple[int, ...]) -> str:
    """The table as lines of text."""
    return "\n".join(
        f"{zones:6} zones, {5 * zones:6} pulls: {(used := seconds(zones)):6.2f} s, {1000 * used / zones:5.2f} ms a zone"
        for zones in numbers
    )


if __name__ == "__main__":
    print(report((75, 300, 1200, 4800)))
