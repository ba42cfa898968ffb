"""What must hold for every sample: row order, company and powers of two change nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from adhesion_stats.statistics import (
    blocks,
    confidence_interval_mean,
    describe,
    dixon,
    dixon_p_value,
    dixon_ratio,
    en1990_unknown,
    grubbs,
    grubbs_p_value,
    grubbs_statistic,
    stacks,
    tolerance_bound_lower,
)

Values = NDArray[np.float64]

# Readings as they come: recorded to 0.1 or 0.01, or any float of a sensible size; ties and equal values are frequent.
readings = st.one_of(
    st.integers(0, 60).map(lambda tenths: tenths / 10),
    st.integers(0, 600).map(lambda hundredths: hundredths / 100),
    st.floats(0.0, 1e4, allow_subnormal=False).map(lambda value: value if value > 1e-6 else 0.0),
)
bounds = st.sampled_from(["exact", "exact", "exact", "from below", "ceiling"])
tables = st.lists(st.tuples(st.integers(0, 5), readings, bounds), min_size=1, max_size=60)


def _arrays(table: list[tuple[int, float, str]]) -> tuple[NDArray[np.int64], Values, Values]:
    codes = np.array([code for code, _, _ in table], dtype=np.int64)
    low = np.array([value for _, value, _ in table])
    kinds = [kind for _, _, kind in table]
    high = np.array(
        [{"exact": x, "from below": np.inf, "ceiling": x + 1.0}[k] for x, k in zip(low, kinds, strict=True)]
    )
    return codes, low, high


def _everything(x: Values) -> list[NDArray[Any]]:
    """All that the room computes of a block, as arrays with one entry per row."""
    d = describe(x)
    n = x.shape[1]
    found: list[NDArray[Any]] = [d.mean, d.sd, d.cov, d.smallest, d.largest, d.median]
    if n >= 2:
        found += confidence_interval_mean(x, confidence=0.95)
        found += [tolerance_bound_lower(x, content=0.95, confidence=0.75), en1990_unknown(x, factors="formula")]
    if 3 <= n <= 30:
        g, high = grubbs_statistic(x, sides="two")
        found += [g, high, grubbs_p_value(g, n=n, sides="two"), grubbs_p_value(g, n=n, sides="low")]
        found.append(grubbs(x, alpha=0.1, sides="two", recording_step=0.1).flagged)
        screen = dixon(x, alpha=0.1, sides="two", convention="E178", recording_step=0.1)
        r10, _ = dixon_ratio(x, ratio="r10", sides="low")
        found += [screen.statistic, screen.flagged, r10, dixon_p_value(r10, ratio="r10", n=n, sides="low")]
    return found


def _bits(table: tuple[NDArray[np.int64], Values, Values]) -> dict[int, list[bytes]]:
    """Everything about every group, as bytes."""
    codes, low, high = table
    found: dict[int, list[bytes]] = {}
    for stack in stacks(codes, low, high):
        columns = _everything(stack.low)
        if stack.n > stack.r:
            columns += _everything(stack.exact_values)
        for row, code in enumerate(stack.group.tolist()):
            parts = [stack.low[row].tobytes(), stack.high[row].tobytes()]
            found[code] = parts + [column[row : row + 1].tobytes() for column in columns]
    return found


@given(tables, st.randoms(use_true_random=False))
def test_row_order_does_not_change_a_bit(table: list[tuple[int, float, str]], random: Any) -> None:
    """The same rows in another order give the same bytes for every group."""
    shuffled = list(table)
    random.shuffle(shuffled)
    assert _bits(_arrays(table)) == _bits(_arrays(shuffled))


@given(tables)
def test_a_lone_group_has_the_bits_it_has_in_a_crowd(table: list[tuple[int, float, str]]) -> None:
    """Every group, cut out and computed alone, gives the bytes it gives among the others."""
    crowd = _bits(_arrays(table))
    for code in crowd:
        alone = _bits(_arrays([row for row in table if row[0] == code]))
        assert alone == {code: crowd[code]}


@given(tables, st.integers(-20, 20))
def test_powers_of_two_scale_exactly(table: list[tuple[int, float, str]], power: int) -> None:
    """Another unit that is a power of two scales mean and sd without rounding, and leaves ratios and flags alone."""
    codes, x, _ = _arrays(table)
    factor = 2.0**power
    for (n, _, block), (_, _, scaled) in zip(blocks(codes, x), blocks(codes, x * factor), strict=True):
        before, after = describe(block), describe(scaled)
        assert (before.mean * factor).tobytes() == after.mean.tobytes()
        assert (before.sd * factor).tobytes() == after.sd.tobytes()
        assert (before.median * factor).tobytes() == after.median.tobytes()
        assert before.cov.tobytes() == after.cov.tobytes()
        if 3 <= n <= 30:
            assert (
                grubbs_statistic(block, sides="two")[0].tobytes() == grubbs_statistic(scaled, sides="two")[0].tobytes()
            )
            one = dixon(block, alpha=0.05, sides="two", convention="E178", recording_step=0.125)
            other = dixon(scaled, alpha=0.05, sides="two", convention="E178", recording_step=0.125 * factor)
            assert one.statistic.tobytes() == other.statistic.tobytes()
            assert one.flagged.tobytes() == other.flagged.tobytes()


@given(tables)
def test_every_value_ends_up_in_one_row(table: list[tuple[int, float, str]]) -> None:
    """Nothing is dropped and nothing is made up: each group has one row, as long as its values are many."""
    codes, low, high = _arrays(table)
    sizes = {code: stack.n for stack in stacks(codes, low, high) for code in stack.group.tolist()}
    assert sizes == {code: int(np.count_nonzero(codes == code)) for code in np.unique(codes).tolist()}


@given(st.lists(readings, min_size=2, max_size=30))
def test_mean_and_median_lie_between_smallest_and_largest(values: list[float]) -> None:
    """Within one rounding of the last place."""
    d = describe(np.sort(np.array([values])))
    room = np.spacing(d.largest)
    assert d.smallest[0] - room[0] <= d.mean[0] <= d.largest[0] + room[0]
    assert d.smallest[0] <= d.median[0] <= d.largest[0]
    assert d.sd[0] >= 0.0
