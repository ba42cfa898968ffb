"""Speed of outlier tests for a million samples; off by default, run with ``pytest -m benchmark``."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_outliers import measure, report


def test_the_benchmark_compares_like_with_like() -> None:
    """On a few samples: blocks and loop give the same p-values."""
    grubbs, dixon = measure(samples=200, grubbs_loop=50, dixon_loop=1)
    assert grubbs.largest_difference < 1e-12
    assert dixon.largest_difference < 1e-7


@pytest.mark.benchmark
def test_a_million_samples() -> None:
    """Prints the ratios; asserts that both agree, and nothing about time."""
    results = measure(samples=1_000_000, grubbs_loop=5000, dixon_loop=3)
    print(report(results))
    assert all(one.largest_difference < 1e-7 for one in results)
