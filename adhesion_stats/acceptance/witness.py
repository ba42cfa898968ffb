"""Completions that prove that several criteria, or one without known ends, can be met or failed.

Some conditions on the same values have no exact joint answer here: a fractile in logarithms beside a mean, a Weibull
bound. "Possible" then means that each can do it on its own. A completion in which all of them do it turns that into
"certain"; where none is found among those tried here, the question stays open and is said to be not resolved. Tried
are: every unknown value at a common level, as far as its bounds allow, and corners of the box (a value without upper
bound far above all others).

Imports: numpy, this room.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.alone import met_by
from adhesion_stats.acceptance.conditions import OfValues

__all__ = ["completions_to_try", "shown_together"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

_LEVELS = 64
_FAR = 30.0  # times the largest known number: where a value without upper bound is tried
_MOST_FREE = 5  # unknown values whose corners are all tried


def completions_to_try(low: Values, high: Values) -> Values:
    """(m, n) completions of one zone, each row ascending."""
    free = np.flatnonzero(high > low)
    known = max(float(low.max()), float(np.where(np.isfinite(high), high, 0.0).max()), 1e-3)
    tops = np.where(np.isinf(high), _FAR * known, high)
    levels = np.concatenate([np.linspace(0.0, 2.5 * known, _LEVELS), [low.min(), known, _FAR * known]])
    tried = [np.minimum(np.maximum(levels[:, np.newaxis], low), tops)]
    moved = free if free.size <= _MOST_FREE else free[:0]
    for ups in itertools.product((False, True), repeat=moved.size):
        corner = low.copy()
        corner[moved] = np.where(np.array(ups, dtype=np.bool_), tops[moved], low[moved])
        tried.append(corner[np.newaxis, :])
    for i in free:  # one value alone anywhere, the others low
        line = np.repeat(low[np.newaxis, :], levels.size, axis=0)
        line[:, i] = np.minimum(np.maximum(levels, low[i]), tops[i])
        tried.append(line)
    return np.sort(np.concatenate(tried), axis=1)


def shown_together(low: Values, high: Values, asks: Sequence[OfValues], *, meet: bool) -> Truth:
    """(g,) whether one of the completions tried meets (``meet``) or fails all conditions."""
    found = np.zeros(low.shape[0], dtype=np.bool_)
    for row in range(low.shape[0]):
        x = completions_to_try(low[row], high[row])
        together = np.ones(x.shape[0], dtype=np.bool_)
        for one in asks:
            rows = np.flatnonzero(together)
            if not rows.size:
                break
            together[rows] = met_by(one, np.ascontiguousarray(x[rows])) == meet
        found[row] = together.any()
    return found
