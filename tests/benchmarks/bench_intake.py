"""A million rows of readings through ``read_bytes``, as a ratio to pyarrow parsing the same bytes to columns of text.

Run it: ``python -m tests.benchmarks.bench_intake`` (prints a table), or ``pytest -m benchmark tests/benchmarks``.

The table: 1 million rows, 2000 zones, six columns (zone, id, strength, failure mode, date, instrument), quotes around a
failure mode that holds a comma. Ids are those of a zone (P1, P2, ...: a few hundred different ones), or, as the harder
case, a million different ones. Both ways run in turns in one process; times are the best of five. Peak memory is
measured in a fresh process that holds the bytes too.
"""

from __future__ import annotations

import multiprocessing
import multiprocessing.queues
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

__all__ = ["Result", "build", "measure", "parse_only", "report"]

_FAILURES = ("A", "B", "A/B", "80% A, 20% A/B", "B 60 / B/C 40", "A 50 / A/B 50", "-/Y 100", "Y", "A/B 70, B 30")
_ZONES = 2000


def build(*, rows: int, own_ids: bool, seed: int) -> bytes:
    """Bytes of the table described above."""
    rng = np.random.default_rng(seed)
    zone = np.sort(rng.integers(0, _ZONES, rows))
    within = np.arange(rows) - np.searchsorted(zone, np.arange(_ZONES))[zone] + 1
    strength = np.maximum(rng.normal(2.2, 0.45, rows), 0.3).round(2)
    failure = rng.integers(0, len(_FAILURES), rows)
    quoted = [f'"{text}"' if "," in text else text for text in _FAILURES]
    days = (np.datetime64("2024-01-01") + np.arange(500)).astype(str)
    day, gauge = rng.integers(0, 500, rows), rng.integers(1, 4, rows)
    lines = [
        f"Deck {zone[i]:04d},{f'P{i:07d}' if own_ids else f'P{within[i]}'},{strength[i]:.2f},"
        f"{quoted[failure[i]]},{days[day[i]]},G-{gauge[i]}\n"
        for i in range(rows)
    ]
    return ("zone,id,strength [MPa],failure mode,date,instrument\n" + "".join(lines)).encode()


def parse_only(content: bytes) -> int:
    """Parse to columns of text with pyarrow, and nothing else; the number of rows."""
    import pyarrow as pa
    from pyarrow import csv

    names = content[: content.index(b"\n")].decode().split(",")
    options = csv.ConvertOptions(column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False)
    return int(csv.read_csv(pa.BufferReader(content), convert_options=options).num_rows)


def _read(content: bytes) -> int:
    from adhesion_stats.intake import read_bytes

    return len(read_bytes(content, file="readings.csv").pulls)


def _timed(work: Callable[[bytes], int], content: bytes) -> tuple[float, float]:
    start, used = time.perf_counter(), time.process_time()
    work(content)
    return time.perf_counter() - start, time.process_time() - used


def _peak(content: bytes, back: multiprocessing.queues.SimpleQueue[tuple[float, float]]) -> None:
    import adhesion_stats.intake

    before = _most_memory()
    adhesion_stats.intake.read_bytes(content, file="readings.csv")
    back.put((before, _most_memory()))


def _most_memory() -> float:
    """Largest resident memory of this process so far, MB; nan where the system does not tell."""
    status = Path("/proc/self/status")
    found = re.search(r"VmHWM:\s*(\d+) kB", status.read_text(encoding="utf-8")) if status.exists() else None
    return int(found[1]) * 1024 / 1e6 if found else float("nan")


@dataclass(frozen=True)
class Result:
    """Best times [s] by the clock and of the processor, and the largest resident memory before and after [MB]."""

    rows: int
    megabytes: float
    ours: tuple[float, float]
    pyarrow: tuple[float, float]
    memory_mb: tuple[float, float]

    @property
    def ratios(self) -> tuple[float, float]:
        """By the clock, and of processor time (all threads)."""
        return self.ours[0] / self.pyarrow[0], self.ours[1] / self.pyarrow[1]


def measure(*, rows: int, own_ids: bool, repeats: int) -> Result:
    """Time both ways in turns."""
    content = build(rows=rows, own_ids=own_ids, seed=1)
    ours, base = [], []
    for _ in range(repeats):
        base.append(_timed(parse_only, content))
        ours.append(_timed(_read, content))
    context = multiprocessing.get_context("spawn")
    back: multiprocessing.queues.SimpleQueue[tuple[float, float]] = context.SimpleQueue()
    process = context.Process(target=_peak, args=(content, back))
    process.start()
    process.join()
    if process.exitcode != 0:
        raise RuntimeError(f"the measured process ended with {process.exitcode}")

    def best(times: list[tuple[float, float]]) -> tuple[float, float]:
        return min(clock for clock, _ in times), min(used for _, used in times)

    return Result(rows, len(content) / 1e6, best(ours), best(base), back.get())


def report(title: str, result: Result) -> str:
    """The result as lines of text."""
    clock, used = result.ratios
    return "\n".join(
        [
            f"{title}: {result.rows} rows, {result.megabytes:.0f} MB",
            f"  read_bytes  {result.ours[0]:6.2f} s by the clock, {result.ours[1]:6.2f} s of the processor",
            f"  pyarrow     {result.pyarrow[0]:6.2f} s by the clock, {result.pyarrow[1]:6.2f} s of the processor",
            f"  ratio       {clock:6.1f}   by the clock, {used:6.1f}   of the processor (aim: at most 4)",
            f"  memory      {result.memory_mb[0]:6.0f} MB before, {result.memory_mb[1]:.0f} MB at most",
        ]
    )


if __name__ == "__main__":
    for words, own in (("ids of a zone", False), ("an id of its own in each row", True)):
        print(report(words, measure(rows=1_000_000, own_ids=own, repeats=5)))
