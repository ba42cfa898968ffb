"""The benchmark of bounds and fits; the full run is off by default: ``pytest -m benchmark``."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_bounds import measure, report


def test_a_small_run_agrees_with_the_loops() -> None:
    """Same bounds, p-values and heights of the likelihood as scipy's; nothing is said of time."""
    tolerance, shapiro, fits = measure(0.01)
    assert tolerance.apart < 1e-11
    assert shapiro.apart < 1e-8
    assert -1e-8 < fits.apart < 1e-3
    assert len(report([tolerance, shapiro, fits]).splitlines()) == 3


@pytest.mark.benchmark
def test_full_run(capsys: pytest.CaptureFixture[str]) -> None:
    """Prints the ratios."""
    with capsys.disabled():
        print()
        print(report(measure(1.0)))
