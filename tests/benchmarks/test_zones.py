"""How long many zones take; off by default, run with ``pytest -m benchmark -s``. That the work grows with the pulls
alone is proven without a clock in ``tests/assessment/test_many_zones.py``.
"""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_zones import report


@pytest.mark.benchmark
def test_many_zones() -> None:
    """Prints the table."""
    table = report((75, 300, 1200))
    print("\n" + table)
    assert table.count("zones") == 3
