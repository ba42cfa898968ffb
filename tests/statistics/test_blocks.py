"""Cutting long tables into blocks and stacks."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import blocks, describe, stacks
from adhesion_stats.statistics.blocks import _gather, row_sum
from tests import oracle_statistics as oracle


def _table(seed: int, groups: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    codes = rng.integers(0, groups, 6 * groups)
    low = rng.integers(10, 40, codes.size) / 10.0
    high = np.where(rng.random(codes.size) < 0.2, np.where(rng.random(codes.size) < 0.5, np.inf, low + 0.5), low)
    return codes, low, high


@pytest.mark.parametrize("seed", range(20))
def test_stacks_hold_what_a_dictionary_of_lists_holds(seed: int) -> None:
    """Groups, sizes, bounds and their order are those of the plain twin, ties and lone values included."""
    codes, low, high = _table(seed, 12)
    expected = oracle.groups(codes.tolist(), list(zip(low.tolist(), high.tolist(), strict=True)))
    actual = {}
    for stack in stacks(codes, low, high):
        assert stack.r == int(np.count_nonzero(stack.low[0] != stack.high[0]))
        assert (np.count_nonzero(~stack.exact, axis=1) == stack.r).all()
        assert (np.diff(stack.group) > 0).all()
        for row in range(stack.g):
            pairs = zip(stack.low[row].tolist(), stack.high[row].tolist(), strict=True)
            actual[int(stack.group[row])] = list(pairs)
    assert expected == dict(sorted(actual.items()))


@pytest.mark.parametrize("seed", range(5))
def test_blocks_are_the_stacks_of_exact_values(seed: int) -> None:
    """The fast way for exact values gives the same rows."""
    codes, low, _ = _table(seed, 12)
    cut = blocks(codes, low)
    assert [(n, group.tolist(), x.tolist()) for n, group, x in cut] == [
        (stack.n, stack.group.tolist(), stack.low.tolist()) for stack in stacks(codes, low, low)
    ]


def test_exact_values_of_a_stack_are_a_block() -> None:
    """Rows of one stack have equally many exact values; they come ascending and contiguous."""
    codes, low, high = _table(3, 40)
    for stack in stacks(codes, low, high):
        exact = stack.exact_values
        assert exact.shape == (stack.g, stack.n - stack.r)
        assert exact.flags.c_contiguous
        for row in range(stack.g):
            assert exact[row].tolist() == stack.low[row][stack.low[row] == stack.high[row]].tolist()


def test_blocks_keep_the_contract() -> None:
    """Blocks are float64, C-contiguous and ascending, and come by ascending size."""
    codes, low, _ = _table(5, 30)
    cut = blocks(codes, low)
    assert [n for n, _, _ in cut] == sorted({n for n, _, _ in cut})
    for n, group, x in cut:
        assert x.dtype == np.float64
        assert x.flags.c_contiguous
        assert x.shape == (group.size, n)
        assert (np.diff(x, axis=-1) >= 0).all()


def test_ordered_codes_give_the_same_blocks_as_shuffled_ones() -> None:
    """Whether the table comes grouped already changes the time and nothing else."""
    codes, low, high = _table(6, 25)
    order = np.argsort(codes, kind="stable")
    shuffled, grouped = stacks(codes, low, high), stacks(codes[order], low[order], high[order])
    assert [(s.group.tobytes(), s.low.tobytes(), s.high.tobytes()) for s in shuffled] == [
        (s.group.tobytes(), s.low.tobytes(), s.high.tobytes()) for s in grouped
    ]


def test_large_tables_are_gathered_in_the_same_order() -> None:
    """The fast way for large tables gives the order of the stable sort, gaps among the codes included."""
    codes = 3 * np.random.default_rng(1).integers(0, 500, 4000)
    fast, sizes = _gather(codes, large=0)
    plain, _ = _gather(codes, large=codes.size + 1)
    assert fast is not None
    assert plain is not None
    assert fast.tolist() == plain.tolist()
    assert sizes.tolist() == np.bincount(codes).tolist()


def test_groups_of_very_different_sizes_are_cut() -> None:
    """Keys that do not fit into sixteen bits are sorted another way to the same rows."""
    codes = np.repeat([0, 1, 2], [70_000, 3, 1])
    low = np.arange(codes.size, dtype=np.float64)
    assert [(s.n, s.r, s.group.tolist()) for s in stacks(codes, low, low)] == [
        (1, 0, [2]),
        (3, 0, [1]),
        (70_000, 0, [0]),
    ]


def test_minus_zero_is_zero() -> None:
    """0.0 and -0.0 are equal values and leave equal bits."""
    ((_, _, one),) = blocks(np.array([0, 0]), np.array([-0.0, 0.0]))
    ((_, _, other),) = blocks(np.array([0, 0]), np.array([0.0, -0.0]))
    assert one.tobytes() == other.tobytes()


def test_an_empty_table_has_no_blocks() -> None:
    """No values, no rows."""
    assert blocks(np.array([], dtype=np.int64), np.array([])) == []


@pytest.mark.parametrize(
    ("codes", "low", "high", "words"),
    [
        ([0, 1], [1.0], [1.0], "one group code per value"),
        ([0], [1.0], [1.0, 2.0], "as many upper bounds"),
        ([0, -1], [1.0, 2.0], [1.0, 2.0], "value 1 has -1"),
        ([0, 0], [1.0, np.nan], [1.0, 2.0], "value 1 is"),
        ([0, 0], [1.0, np.inf], [1.0, np.inf], "value 1 is"),
        ([0, 0], [1.0, 2.0], [1.0, 1.5], "value 1 has low = "),
        ([0, 0], [1.0, 2.0], [np.nan, 2.0], "value 0 has low = "),
        ([0.5, 1.0], [1.0, 2.0], [1.0, 2.0], "whole numbers as group codes"),
    ],
)
def test_wrong_tables_are_refused(codes: list[int], low: list[float], high: list[float], words: str) -> None:
    """What is no table of values within bounds is refused, with the place."""
    with pytest.raises(InvalidSample, match=words):
        stacks(np.array(codes), np.array(low), np.array(high))


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 7, 8, 9, 12, 15, 16, 17, 31, 64, 127, 128, 129, 200, 300, 1000])
def test_a_row_sums_to_the_same_bits_alone_and_in_a_crowd(n: int) -> None:
    """The order of additions depends on n alone, whatever the number of rows and wherever the row stands."""
    rng = np.random.default_rng(n)
    for g in (1, 2, 3, 5, 8, 16, 33, 100, 257):
        x = rng.normal(3.0, 1.0, (g, n)) * 10.0 ** rng.integers(-3, 4, (g, n))
        crowd = row_sum(x)
        alone = np.array([row_sum(x[row : row + 1].copy())[0] for row in range(g)])
        assert crowd.tobytes() == alone.tobytes()


def test_column_order_would_change_bits() -> None:
    """Why the contract asks for C order: the same sums over the other axis differ in the last bit."""
    x = np.random.default_rng(1).normal(3.0, 1.0, (5000, 9))
    assert (row_sum(x) != np.add.reduce(np.ascontiguousarray(x.T), axis=0)).any()
    assert row_sum(np.asfortranarray(x)).tobytes() == row_sum(x).tobytes()


def test_kernels_refuse_what_is_no_block() -> None:
    """Another type, another shape or another memory order is an error, not a slightly different result."""
    wrongs: list[NDArray[Any]] = [np.zeros((2, 3), np.float32), np.zeros(3), np.asfortranarray(np.zeros((2, 3)))]
    for wrong in wrongs:
        with pytest.raises(InvalidSample):
            describe(wrong)
