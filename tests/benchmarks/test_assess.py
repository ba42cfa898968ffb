"""How long the whole command takes; off by default, run with ``pytest -m benchmark -s``."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_assess import measure, report


@pytest.mark.benchmark
def test_the_command_against_papermill_on_an_empty_notebook() -> None:
    """Print the ratio; a clock on a shared machine is nobody's proof, so only that both ran is asserted."""
    seconds = measure(rounds=3)
    print(report(seconds))
    assert min(*seconds.empty, *seconds.assess) > 0
