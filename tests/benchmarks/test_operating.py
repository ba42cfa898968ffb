"""Speed of operating characteristics; off by default, run with ``pytest -m benchmark``."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_operating import measure, report


def test_the_benchmark_compares_like_with_like() -> None:
    """On a few points: what is computed and what is simulated agree within the error of the latter."""
    found = measure(points=12, sets=4000, repeats=1)
    assert found.largest_difference < 4.0
    assert found.ratio > 0


@pytest.mark.benchmark
def test_two_hundred_points() -> None:
    """Prints the ratio; asserts that both agree, and nothing about time."""
    found = measure(points=200, sets=20_000, repeats=3)
    print(report(found))
    assert found.largest_difference < 5.0
