"""The kernel contract, and how a long table is cut into the blocks that every kernel takes.

The kernel contract
-------------------
A **block** is an array ``x`` of shape ``(g, n)``: one sample per row, all of the same size ``n``; float64,
C-contiguous, finite, ascending along the last axis. A kernel reduces the last axis and returns arrays of shape
``(g,)``. Whatever depends on n or on a level is one scalar, looked up once per block. A kernel contains no loop over
rows, no mask and no test for missing values. What one row gives depends on the values of that row alone, to the last
bit: a lone sample is the same call with ``g = 1`` and gives the same bits as in a crowd. That holds because

- values are sorted first, so that the order in which they were entered can't matter;
- sums run along the contiguous last axis, where the order of additions depends on ``n`` only (over the other axis, or
  in Fortran order, the last bit changes);
- all else is elementwise arithmetic, or a special function that is called value by value.

A **stack** is a block with bounds: ``low`` and ``high`` of shape ``(g, n)`` say between which limits the true value
lies. ``high == low`` is an exact value, ``high = inf`` is known from below only. Stacks are keyed by ``(n, r)``, r the
number of values per row that are not exact, so that the exact ones of a stack form a block of their own
(``Stack.exact_values``).

When to use which
-----------------
``blocks``  all values exact: the usual case, and the faster one.
``stacks``  some values known within bounds only.

Imports: numpy, scipy.sparse and ``adhesion_stats.errors``. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample

__all__ = ["Stack", "blocks", "row_sum", "stacks"]

Codes = NDArray[np.int64]
Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Stack:
    """Samples of one size n, of which r values each are known within bounds only.

    Attributes
    ----------
    group : (g,) int64
        Group code of each row, ascending.
    low : (g, n) float64, ascending along the last axis, finite
        Lower bound of each value (the value itself where exact), in the unit of the input.
    high : (g, n) float64
        Upper bound, in the same order as ``low``; equal to ``low`` where exact, ``inf`` where there is no upper bound.
    """

    group: Codes
    low: Values
    high: Values

    @property
    def n(self) -> int:
        """Values per row."""
        return int(self.low.shape[1])

    @property
    def g(self) -> int:
        """Number of rows."""
        return int(self.low.shape[0])

    @property
    def exact(self) -> NDArray[np.bool_]:
        """(g, n): which values are exact."""
        return np.equal(self.low, self.high)

    @property
    def r(self) -> int:
        """How many values of each row are not exact (the same for every row of a stack)."""
        return 0 if self.low is self.high else int(np.count_nonzero(self.low[:1] != self.high[:1]))

    @property
    def exact_values(self) -> Values:
        """(g, n - r): the exact values of each row as a block of its own, ascending."""
        if self.r == 0:
            return self.low
        return self.low[self.exact].reshape(self.g, self.n - self.r)


def row_sum(x: Values) -> Values:
    """Sum along the last axis of a block, ``(g, n) -> (g,)``.

    The order of additions (pairwise, along contiguous memory) depends on n alone; see the kernel contract.
    """
    total: Values = np.add.reduce(np.ascontiguousarray(x), axis=-1)
    return total


def blocks(group_codes: NDArray[np.integer], x: Values) -> list[tuple[int, Codes, Values]]:
    """Cut exact values into blocks of equal sample size.

    Parameters
    ----------
    group_codes : (N,) int
        Group of each value, 0 or greater. Codes that do not occur give no row.
    x : (N,) float64
        Finite values, any unit.

    Returns
    -------
    list of (n, group (g,) int64, x (g, n) float64)
        By ascending n; rows by ascending group code; values ascending within the row.

    Raises
    ------
    InvalidSample
        If shapes differ, codes are negative, or a value is not finite.

    Notes
    -----
    Nothing is computed. Source: the kernel contract at the top of this module.

    Examples
    --------
    >>> for n, group, values in blocks(np.array([1, 0, 1]), np.array([3.0, 5.0, 2.0])):
    ...     print(n, group.tolist(), values.tolist())
    1 [0] [[5.0]]
    2 [1] [[2.0, 3.0]]
    """
    codes, values = _checked(group_codes, x, "x")
    order, sizes = _gather(codes)
    return [(n, group, _sorted(values[rows])) for n, group, rows in _cut(order, sizes, sizes)]


def stacks(group_codes: NDArray[np.integer], low: Values, high: Values) -> list[Stack]:
    """Cut values that are known exactly or within bounds into stacks of equal (n, r).

    Parameters
    ----------
    group_codes : (N,) int
        Group of each value, 0 or greater. Codes that do not occur give no row.
    low : (N,) float64
        Lower bound of each value, finite, any unit.
    high : (N,) float64
        Upper bound in the same unit, not below ``low``; equal to it where the value is exact, ``inf`` without one.

    Returns
    -------
    list of Stack
        By ascending (n, r); rows by ascending group code; within a row by ascending low, then high.

    Raises
    ------
    InvalidSample
        If shapes differ, codes are negative, a low is not finite, or a high is below its low or not a number.

    Notes
    -----
    Nothing is computed. Source: the kernel contract at the top of this module.

    Examples
    --------
    >>> stack, = stacks(np.array([0, 0, 0]), np.array([3.0, 1.0, 2.0]), np.array([np.inf, 1.0, 2.0]))
    >>> (stack.n, stack.r, stack.low.tolist(), stack.high.tolist(), stack.exact_values.tolist())
    (3, 1, [[1.0, 2.0, 3.0]], [[1.0, 2.0, inf]], [[1.0, 2.0]])
    """
    codes, lows = _checked(group_codes, low, "low")
    highs = np.asarray(high, dtype=np.float64)
    if highs.shape != lows.shape:
        raise InvalidSample(f"expected as many upper bounds as lower bounds, {lows.size}; got shape {highs.shape}")
    wrong = ~(highs >= lows)
    if wrong.any():
        at = int(np.argmax(wrong))
        raise InvalidSample(f"expected high >= low; value {at} has low = {lows[at]!r}, high = {highs[at]!r}")
    order, sizes = _gather(codes)
    bounded = np.bincount(codes[highs != lows], minlength=sizes.size)
    wide = int(bounded.max(initial=0)) + 1
    found = []
    for key, group, rows in _cut(order, sizes, sizes * wide + bounded):
        if key % wide == 0:
            block = _sorted(lows[rows])
            found.append(Stack(group, block, block))
        else:
            found.append(Stack(group, *_sorted_pairs(lows[rows], highs[rows])))
    return found


def _checked(group_codes: NDArray[np.integer], x: Values, name: str) -> tuple[Codes, Values]:
    codes = np.asarray(group_codes)
    values = np.asarray(x, dtype=np.float64)
    if codes.ndim != 1 or values.shape != codes.shape:
        raise InvalidSample(f"expected one group code per value; got shapes {codes.shape} and {values.shape}")
    if not np.issubdtype(codes.dtype, np.integer) and codes.size:
        raise InvalidSample(f"expected whole numbers as group codes; got {codes.dtype}")
    if codes.size and int(codes.min()) < 0:
        raise InvalidSample(f"expected group codes of 0 or greater; value {int(codes.argmin())} has {int(codes.min())}")
    finite = np.isfinite(values)
    if not finite.all():
        at = int(np.argmin(finite))
        raise InvalidSample(f"expected finite numbers in {name}; value {at} is {values[at]!r}")
    return codes.astype(np.int64, copy=False), values


def _gather(codes: Codes, *, large: int = 100_000) -> tuple[NDArray[np.integer] | None, Codes]:
    """Positions of the values with groups together (None: they already are), and the size of every group."""
    sizes = np.bincount(codes).astype(np.int64, copy=False)
    if codes.size == 0 or bool((codes[1:] >= codes[:-1]).all()):
        return None, sizes
    if codes.size < large:
        return np.argsort(codes, kind="stable"), sizes
    # Turning a matrix with one entry per column from columns to rows is a counting sort: the same order as the stable
    # argsort in a fifth of its time.
    from scipy import sparse

    entries = np.zeros(codes.size, dtype=np.int8)
    one_per_column = np.arange(codes.size + 1)
    matrix = sparse.csc_array((entries, codes, one_per_column), shape=(sizes.size, codes.size))
    return matrix.tocsr().indices, sizes


def _cut(order: NDArray[np.integer] | None, sizes: Codes, keys: Codes) -> list[tuple[int, Codes, NDArray[np.integer]]]:
    """(key, group codes, positions (g, n)) for every key among the groups that occur."""
    starts = np.cumsum(sizes) - sizes
    counts = np.bincount(keys, minlength=1)
    # Groups by key, ascending within: sixteen-bit keys are sorted in linear time.
    small = keys.astype(np.uint16) if counts.size <= 1 << 16 else keys
    by_key = np.argsort(small, kind="stable").astype(np.int64, copy=False)
    ends = np.cumsum(counts)
    cut = []
    for key in np.flatnonzero(counts).tolist():
        group = by_key[ends[key] - counts[key] : ends[key]]
        n = int(sizes[group[0]])
        if n > 0:
            places = starts[group][:, np.newaxis] + np.arange(n)
            cut.append((key, group, places if order is None else order[places]))
    return cut


def _sorted(block: Values) -> Values:
    block += 0.0  # makes -0.0 a plain 0.0, so that equal values are equal bits
    block.sort(axis=-1)
    return block


def _sorted_pairs(low: Values, high: Values) -> tuple[Values, Values]:
    """Both arrays, sorted within the row by low and then by high."""
    by_high = np.argsort(high, axis=-1, kind="stable")
    low, high = np.take_along_axis(low, by_high, axis=-1), np.take_along_axis(high, by_high, axis=-1)
    by_low = np.argsort(low, axis=-1, kind="stable")
    return np.take_along_axis(low, by_low, axis=-1) + 0.0, np.take_along_axis(high, by_low, axis=-1) + 0.0
