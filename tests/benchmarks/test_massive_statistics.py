"""The budget of a million samples; off by default, run with ``pytest -m benchmark``."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_massive import build, measure, report, run
from tests.benchmarks.decisions import decide_stack


def test_a_small_table_runs_through_every_step() -> None:
    """The benchmark itself works: every step is timed, and flags are about as many as chance brings."""
    table = build(groups=20_000, seed=1)
    seconds, flags = run(table, decide=None)
    assert set(seconds) == {"cut", "describe", "tolerance bound", "grubbs", "dixon", "decide"}
    # Two tests at 5 % in about 20 000 groups; those that keep fewer than three exact values are not tested.
    assert 1_600 < flags < 2_100


def test_the_decisions_step_sees_every_stack() -> None:
    """The hook for decisions is called once per stack, with as many rows as there are groups in all."""
    seen: list[int] = []
    run(build(groups=500, seed=2), decide=lambda _, description: seen.append(description.mean.size))
    assert sum(seen) == 500


@pytest.mark.benchmark
def test_a_million_samples_within_three_times_a_general_library() -> None:
    """Cut, describe, bound, Grubbs, Dixon, decisions on 7.5 million values: at most 3 times polars, 1.5 GB."""
    result = measure(groups=1_000_000, decide=decide_stack)
    print(report(result))
    assert result.ratio <= 3.0
    assert result.memory_gb <= 1.5
