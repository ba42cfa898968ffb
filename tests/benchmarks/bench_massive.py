"""A million samples through the statistics, as a ratio to a general library computing mean, sd, smallest by group.

Run it: ``python -m tests.benchmarks.bench_massive`` (prints a table), or ``pytest -m benchmark tests/benchmarks``.

The table: 1 million groups of 3 to 12 values, 7.5 million in all, in shuffled order, recorded to 0.01; in 20 % of the
groups one or two values are known from below only. The reference (polars, all its threads) gets the same table in the
same run. Peak memory is measured in a process of its own that imports no other library and holds the table too.

``decide`` is the place for the decisions step: a callable that is given every stack with its description.
"""

from __future__ import annotations

import multiprocessing
import multiprocessing.queues
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics import Description, Stack, describe, dixon, grubbs, stacks, tolerance_bound_lower

Decide = Callable[[Stack, Description], object]


@dataclass(frozen=True)
class Table:
    """Readings of many groups: code, lower and upper bound of each value."""

    codes: NDArray[np.int64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def build(*, groups: int, seed: int) -> Table:
    """The table described above, for so many groups."""
    rng = np.random.default_rng(seed)
    sizes = rng.integers(3, 13, groups)
    codes = np.repeat(np.arange(groups), sizes)
    low = np.maximum(rng.normal(2.5, 0.5, codes.size), 0.0).round(2)
    high = low.copy()
    chosen = rng.choice(groups, groups // 5, replace=False)
    first = np.cumsum(sizes) - sizes
    high[first[chosen]] = np.inf
    twice = chosen[: chosen.size // 2]
    high[first[twice] + 1] = np.inf
    order = rng.permutation(codes.size)
    return Table(codes[order], low[order], high[order])


def run(table: Table, *, decide: Decide | None) -> tuple[dict[str, float], int]:
    """Seconds per step, and the number of flags; every step on every stack."""
    seconds = dict.fromkeys(("cut", "describe", "tolerance bound", "grubbs", "dixon", "decide"), 0.0)
    flags = 0
    start = time.perf_counter()
    found = stacks(table.codes, table.low, table.high)
    seconds["cut"] = time.perf_counter() - start
    for stack in found:
        marks = [time.perf_counter()]
        description = describe(stack.low)
        marks.append(time.perf_counter())
        tolerance_bound_lower(stack.low, content=0.95, confidence=0.75)
        marks.append(time.perf_counter())
        exact = stack.exact_values
        enough = exact.shape[1] >= 3
        if enough:
            flags += int(np.count_nonzero(grubbs(exact, alpha=0.05, sides="low", recording_step=0.01).flagged))
        marks.append(time.perf_counter())
        if enough:
            screen = dixon(exact, alpha=0.05, sides="low", convention="E178", recording_step=0.01)
            flags += int(np.count_nonzero(screen.flagged))
        marks.append(time.perf_counter())
        if decide is not None:
            decide(stack, description)
        marks.append(time.perf_counter())
        for name, spent in zip(list(seconds)[1:], np.diff(marks), strict=True):
            seconds[name] += float(spent)
    return seconds, flags


def reference(table: Table) -> float:
    """Seconds that polars takes for mean, sd and smallest by group (best of three)."""
    import polars as pl

    frame = pl.DataFrame({"group": table.codes, "x": table.low})
    column = pl.col("x")
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        frame.group_by("group").agg(
            column.mean().alias("mean"), column.std().alias("sd"), column.min().alias("smallest")
        )
        best = min(best, time.perf_counter() - start)
    return best


def _measure(groups: int, decide: Decide | None, back: multiprocessing.queues.SimpleQueue[float]) -> None:
    import resource  # not on Windows, where the rest of this module serves all the same

    run(build(groups=groups, seed=1), decide=decide)
    unit = 1 if sys.platform == "darwin" else 1024
    back.put(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e9)


def peak_memory(*, groups: int, decide: Decide | None) -> float:
    """Largest resident memory of a fresh process that builds the table and runs every step, GB."""
    context = multiprocessing.get_context("spawn")
    back: multiprocessing.queues.SimpleQueue[float] = context.SimpleQueue()
    process = context.Process(target=_measure, args=(groups, decide, back))
    process.start()
    process.join()
    if process.exitcode != 0:
        raise RuntimeError(f"the measured process ended with {process.exitcode}")
    return back.get()


@dataclass(frozen=True)
class Result:
    """What one run of the benchmark says."""

    values: int
    seconds: dict[str, float]
    total: float
    reference: float
    ratio: float
    memory_gb: float


def measure(*, groups: int, decide: Decide | None) -> Result:
    """Best of three runs against the best of three of the reference, alternating with it, and peak memory."""
    table = build(groups=groups, seed=1)
    runs = []
    base = float("inf")
    for _ in range(3):
        runs.append(run(table, decide=decide)[0])
        base = min(base, reference(table))
    seconds = min(runs, key=lambda one: sum(one.values()))
    total = sum(seconds.values())
    return Result(
        values=table.codes.size,
        seconds=seconds,
        total=total,
        reference=base,
        ratio=total / base,
        memory_gb=peak_memory(groups=groups, decide=decide),
    )


def report(result: Result) -> str:
    """The result as lines of text."""
    lines = [f"{name:<18}{spent:7.2f} s" for name, spent in result.seconds.items()]
    lines += [
        f"{'all':<18}{result.total:7.2f} s for {result.values / 1e6:.1f} million values",
        f"{'polars':<18}{result.reference:7.2f} s for mean, sd, smallest",
        f"{'ratio':<18}{result.ratio:7.2f}",
        f"{'peak memory':<18}{result.memory_gb:7.2f} GB",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    from tests.benchmarks.decisions import decide_stack

    print(report(measure(groups=1_000_000, decide=decide_stack)))
