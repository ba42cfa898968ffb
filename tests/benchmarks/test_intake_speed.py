"""How fast a million rows are read; off by default, run with ``pytest -m benchmark``. Times are printed, not judged."""

from __future__ import annotations

import pytest

from adhesion_stats.intake import read_bytes
from tests.benchmarks.bench_intake import build, measure, parse_only, report


@pytest.mark.parametrize("own_ids", [False, True])
def test_the_table_of_the_benchmark_is_read_without_a_word(own_ids: bool) -> None:
    """What is timed is a plain table: every row a pull, nothing to remark, as many rows as pyarrow counts."""
    content = build(rows=30_000, own_ids=own_ids, seed=2)
    reading = read_bytes(content, file="readings.csv")
    assert len(reading.pulls) == parse_only(content) == 30_000
    assert reading.messages == ()
    assert reading.pulls.strength_mpa.mean() == pytest.approx(2.2, abs=0.02)


@pytest.mark.benchmark
@pytest.mark.parametrize("own_ids", [False, True])
def test_a_million_rows(own_ids: bool) -> None:
    """Prints the ratio to a parse alone, and peak memory."""
    result = measure(rows=1_000_000, own_ids=own_ids, repeats=5)
    print("\n" + report("an id of its own in each row" if own_ids else "ids of a zone", result))
    assert result.rows == 1_000_000
