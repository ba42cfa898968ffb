"""What mean - k sd can reach when each value may lie anywhere between its bounds.

Each row is a box: value i between ``low[i]`` and ``high[i]`` (equal: exact; ``inf``: no upper bound). Write F = m -
k s for the mean m and the standard deviation s of the n values (k = 0: the mean itself).

1. s is a norm of the deviations, so F is concave in the values for k >= 0. dF/dx_i = 1/n - k (x_i - m) / ((n - 1)
s), and
   (x_i - m)/s never exceeds (n - 1)/sqrt(n): for k <= 1/sqrt(n), F never falls as a value grows, and two completions
   (all low, all high) bound it. The same holds for -1/sqrt(n) <= k < 0.
2. Highest F for k > 1/sqrt(n): by the gradient above there is one level t with x_i = min(max(t, low_i), high_i) at
the optimum. More
   than that: among all points of the box with a given mean, the one of this form has the least sd (same argument
   with SS in place of F). Along t the mean never falls, and as a function of that mean the least sd is convex; so
   every F with k >= 0 first rises and then falls along the family, and any set of conditions m - k_c s >= L_c that
   can be met together is met by a member of the family.
3. Between neighbouring bounds j values lie at the level, the others stay. With m0 and SS0 of these others, u = t -
m0 and
   a = j (n - j)/n the sum of squares is SS0 + a u², and dF/du = 0 gives u² = (j/n)² (n-1) SS0 / (a (k² a - (j/n)²
   (n-1))); where the denominator is not positive F grows to the end of the piece.
4. Lowest F: at a corner of the box, since F is concave. Without an upper bound, k > 1/sqrt(n) sends it to minus
infinity.
   Among points with a given mean the largest sd lies on an edge of the box (all values but one at a bound): so
   conditions m - k_c s < L_c that can hold together hold together on an edge.

Corners are enumerated up to ``MOST_CORNERS`` per row, boxes that are alike taken together; beyond, a proven bound is
returned and marked as such.

Imports: numpy and statistics.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics.describe import mean_and_sd

__all__ = [
    "MOST_CORNERS",
    "at_level",
    "interval_of_levels",
    "interval_of_share",
    "level_of_mean",
    "lowest",
    "peak",
    "split_free",
    "spread",
    "spread_at_top",
]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

MOST_CORNERS = 4096
_BISECTIONS = 120


def spread(x: Values, k: float | Values) -> Values:
    """Mean - k sd of each row (g, n); finite values. ``k`` for all rows, or one a row."""
    mean, sd = mean_and_sd(np.ascontiguousarray(x))
    return mean if isinstance(k, float) and k == 0.0 else mean - k * sd


def _of_rows(k: float | Values, rows: NDArray[np.intp] | Truth) -> float | Values:
    """The factors of some rows."""
    return k if isinstance(k, float) else k[rows]


def spread_at_top(high: Values, k: float) -> Values:
    """Mean - k sd of each row with every value at its upper bound; ``inf`` where there is none (k <= 1/sqrt(n))."""
    endless = np.isinf(high)
    value = spread(np.where(endless, 0.0, high), k)
    value[endless.any(axis=1)] = np.inf
    return value


def at_level(low: Values, high: Values, level: Values) -> Values:
    """The completion (g, n) in which every unknown value lies at the common level, as far as its bounds allow."""
    completed: Values = np.minimum(np.maximum(level[:, np.newaxis], low), high)
    return completed


def peak(low: Values, high: Values, k: float | Values) -> tuple[Values, Values]:
    """Highest mean - k sd over each box, and the common level at which it is reached (see 2 and 3 above).

    Parameters
    ----------
    low, high : (g, n)
        Bounds; any order of values.
    k : float or (g,)
        Factor [-], 0 or greater.

    Returns
    -------
    value, level : (g,)
        ``inf`` where it grows without end.
    """
    n = low.shape[1]
    free = high > low
    points = np.sort(np.concatenate([np.where(free, low, np.inf), np.where(free, high, np.inf)], axis=1), axis=1)
    width = int(np.isfinite(points).sum(axis=1).max(initial=0))
    level = np.where(np.isfinite(points[:, 0]), points[:, 0], low[:, 0])
    value = spread(at_level(low, high, level), k)
    for p in range(width):
        start = points[:, p]
        stop = points[:, p + 1] if p + 1 < 2 * n else np.full_like(start, np.inf)
        active = free & (low <= start[:, np.newaxis]) & (high >= stop[:, np.newaxis])
        rows = np.flatnonzero(np.isfinite(start) & (stop > start) & active.any(axis=1))
        if not rows.size:
            continue
        whole = rows.size == start.size
        lows, highs = (low, high) if whole else (low[rows], high[rows])
        factor = _of_rows(k, rows)
        t = _best_level(lows, highs, active[rows], start[rows], stop[rows], factor)
        grows = np.isinf(t)
        reached = spread(at_level(lows, highs, np.where(grows, start[rows], t)), factor)
        reached[grows] = np.inf
        better = reached > value[rows]
        value[rows[better]], level[rows[better]] = reached[better], t[better]
    return value, level


def _best_level(low: Values, high: Values, active: Truth, start: Values, stop: Values, k: float | Values) -> Values:
    """Where in [start, stop] F is highest while the active values move together; ``inf`` where it grows without end."""
    n = low.shape[1]
    j = active.sum(axis=1).astype(np.float64)
    others = n - j
    rest = np.where(active, 0.0, at_level(low, high, start))
    m0 = np.divide(rest.sum(axis=1), others, out=np.zeros_like(j), where=others > 0)
    away = np.where(active, 0.0, rest - m0[:, np.newaxis])
    ss0 = np.square(away).sum(axis=1)
    a = j * others / n
    slope = (j / n) ** 2 * (n - 1)
    steep = a * (k * k * a - slope)
    turns = steep > 0
    u = np.sqrt(np.divide(slope * ss0, steep, out=np.zeros_like(j), where=turns))
    best: Values = np.where(turns, np.clip(m0 + u, start, stop), stop)
    return best


def level_of_mean(low: Values, high: Values, mean: float) -> Values:
    """Least common level (g,) at which the mean reaches ``mean``; ``-inf`` where it always does, ``inf`` where it
    never does.

    The mean of a completion at a common level is piecewise linear in that level.
    """
    n = low.shape[1]
    free = high > low
    points = np.sort(np.concatenate([np.where(free, low, np.inf), np.where(free, high, np.inf)], axis=1), axis=1)
    found = np.full(low.shape[0], np.inf)
    found[spread(low, 0.0) >= mean] = -np.inf
    for p in range(int(np.isfinite(points).sum(axis=1).max(initial=0))):
        start = points[:, p]
        stop = points[:, p + 1] if p + 1 < 2 * n else np.full_like(start, np.inf)
        active = free & (low <= start[:, np.newaxis]) & (high >= stop[:, np.newaxis])
        rows = np.flatnonzero(np.isinf(found) & (found > 0) & np.isfinite(start) & active.any(axis=1))
        if not rows.size:
            continue
        begin = spread(at_level(low[rows], high[rows], start[rows]), 0.0)
        level = np.maximum(start[rows] + (mean - begin) * n / active[rows].sum(axis=1), start[rows])
        inside = level <= stop[rows]
        found[rows[inside]] = level[inside]
    return found


def interval_of_levels(low: Values, high: Values, k: float, at: float, slack: Values) -> tuple[Values, Values]:
    """Common levels at which mean - k sd >= ``at``: from the first (g,) to the second (g,); empty where first > second.

    ``-inf`` and ``inf`` where the interval has no end. By 2 above it is one interval. ``slack`` (g,) counts as no
    difference.
    The ends come from bisection, to the last bits of a double, and lie within the interval (``slack`` included).
    """
    if k == 0.0:
        first = level_of_mean(low, high, at)
        met_at_top = spread_at_top(high, 0.0) >= at - slack
        tops = np.where(np.isfinite(high), high, low).max(axis=1)
        return np.where(np.isinf(first) & (first > 0) & met_at_top, tops, first), np.full(low.shape[0], np.inf)
    free = high > low
    wanted = at - slack
    best, top = peak(low, high, k)
    bottom = np.where(free, low, np.inf).min(axis=1)
    bottom = np.where(np.isinf(bottom), low[:, 0], bottom)
    reach = np.where(np.isfinite(high), high, low).max(axis=1)
    met_low = spread(at_level(low, high, bottom), k) >= wanted
    inner = np.where(np.isinf(top), _high_enough(low, high, k, wanted, reach, best), top)
    first = np.where(met_low, -np.inf, _bisect(low, high, k, wanted, inner, bottom))
    endless = (free & np.isinf(high)).any(axis=1)
    met_at_end = np.where(endless, np.isinf(top), spread(at_level(low, high, reach), k) >= wanted)
    outer = _too_high(low, high, k, wanted, inner, reach, np.asarray(~met_at_end & endless))
    last = np.where(met_at_end, np.inf, _bisect(low, high, k, wanted, inner, outer))
    empty = best < wanted
    return np.where(empty, np.inf, first), np.where(empty, -np.inf, last)


def interval_of_share(low: Values, high: Values, share: float, tolerance: float) -> tuple[Values, Values]:
    """Common levels at which smallest >= share * mean (share below 1), as in ``interval_of_levels``.

    Up to the least upper bound c the smallest value grows with the level, beyond it stays: smallest - share * mean
    rises to its greatest value at c and falls from there on, as far as it moves at all.
    """

    def met(level: Values) -> Truth:
        x = at_level(low, high, level)
        reached: Truth = np.greater_equal(x.min(axis=1), share * (1.0 - tolerance) * spread(x, 0.0))
        return reached

    cap = high.min(axis=1)
    finite = np.where(np.isfinite(high), high, low).max(axis=1)
    best = np.where(np.isinf(cap), finite / (1.0 - share) + 1.0, cap)
    bottom = np.where(high > low, low, np.inf).min(axis=1)
    bottom = np.where(np.isinf(bottom), low[:, 0], np.minimum(bottom, low.min(axis=1)))
    endless = np.isinf(high).any(axis=1)
    some = met(best)
    first = np.where(met(bottom), -np.inf, _halved(met, best, bottom))
    far = np.where(endless, np.maximum(best, finite) * low.shape[1] / share + 1.0, finite)
    last = np.where(met(np.maximum(far, best)), np.inf, _halved(met, best, np.maximum(far, best)))
    return np.where(some, first, np.inf), np.where(some, last, -np.inf)


def _halved(met: Callable[[Values], Truth], inside: Values, outside: Values) -> Values:
    """The last level that meets between one that does and one that does not."""
    inside, outside = inside.copy(), outside.copy()
    for _ in range(_BISECTIONS):
        middle = 0.5 * (inside + outside)
        good = met(middle)
        inside, outside = np.where(good, middle, inside), np.where(good, outside, middle)
    return inside


def _high_enough(low: Values, high: Values, k: float, wanted: Values, start: Values, best: Values) -> Values:
    """A level at which F, where it grows without end, reaches what is wanted."""
    level = np.maximum(start, 1.0)
    for _ in range(_BISECTIONS):
        short = np.isinf(best) & (spread(at_level(low, high, level), k) < wanted)
        if not short.any():
            break
        level = np.where(short, 2.0 * level, level)
    return level


def _too_high(
    low: Values, high: Values, k: float, wanted: Values, inner: Values, reach: Values, falls: Truth
) -> Values:
    """A level beyond which F, where it falls without end, stays below what is wanted."""
    level = np.maximum(np.maximum(reach, inner), 1.0)
    for _ in range(_BISECTIONS):
        met = falls & (spread(at_level(low, high, level), k) >= wanted)
        if not met.any():
            break
        level = np.where(met, 2.0 * level, level)
    return level


def _bisect(low: Values, high: Values, k: float, wanted: Values, inside: Values, outside: Values) -> Values:
    """The level between one where F meets and one where it doesn't at which that changes; the meeting side of it."""
    inside, outside = inside.copy(), outside.copy()
    for _ in range(_BISECTIONS):
        middle = 0.5 * (inside + outside)
        met = spread(at_level(low, high, middle), k) >= wanted
        inside, outside = np.where(met, middle, inside), np.where(met, outside, middle)
    return inside


def split_free(low: Values, high: Values) -> Iterator[tuple[NDArray[np.intp], Values, Values, Values]]:
    """Rows by their number r of free values: (rows (q,), exact (q, n - r), low (q, r), high (q, r))."""
    free = high > low
    order = np.argsort(~free, axis=1, kind="stable")
    lows, highs = np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
    number = free.sum(axis=1)
    for r in np.flatnonzero(np.bincount(number)).tolist():
        rows = np.flatnonzero(number == r)
        yield rows, lows[rows, r:], lows[rows, :r], highs[rows, :r]


def lowest(low: Values, high: Values, k: float | Values) -> tuple[Values, Truth]:
    """Lowest mean - k sd over each box, k > 1/sqrt(n), and whether it is exact (else a proven lower bound)."""
    g, n = low.shape
    value, exact = np.full(g, np.inf), np.ones(g, dtype=np.bool_)
    endless = np.isinf(high).any(axis=1)
    value[endless] = -np.inf
    bounded = np.flatnonzero(~endless)
    for found, fixed, lows, highs in split_free(low[bounded], high[bounded]):
        rows = bounded[found]
        if 2 ** lows.shape[1] <= MOST_CORNERS:
            value[rows] = _lowest_corner(fixed, lows, highs, _of_rows(k, rows))
            continue
        for row, e, a, b in zip(rows.tolist(), fixed, lows, highs, strict=True):
            corners = alike_corners(a, b)
            own = k if isinstance(k, float) else float(k[row])
            if corners is None:
                value[row], exact[row] = _bound_below(low[row], high[row], own, n), False
            else:
                x = np.concatenate([np.broadcast_to(e, (len(corners), e.size)), corners], axis=1)
                value[row] = spread(np.ascontiguousarray(np.sort(x, axis=1)), own).min()
    return value, exact


def _lowest_corner(fixed: Values, lows: Values, highs: Values, k: float | Values) -> Values:
    r = lows.shape[1]
    x = np.concatenate([lows, fixed], axis=1)
    value = spread(x, k)
    for pattern in itertools.islice(itertools.product((False, True), repeat=r), 1, None):
        x[:, :r] = np.where(np.array(pattern), highs, lows)
        value = np.minimum(value, spread(x, k))
    return value


def alike_corners(low: Values, high: Values) -> Values | None:
    """The corners (q, r) of one box of r free values, those that differ only by an exchange of like values once;
    None if too many.
    """
    alike: dict[tuple[float, float], int] = {}
    for pair in zip(low.tolist(), high.tolist(), strict=True):
        alike[pair] = alike.get(pair, 0) + 1
    if math.prod(number + 1 for number in alike.values()) > MOST_CORNERS:
        return None
    kinds = list(alike.items())
    corners = [
        [end for ((a, b), size), up in zip(kinds, ups, strict=True) for end in [b] * up + [a] * (size - up)]
        for ups in itertools.product(*(range(size + 1) for _, size in kinds))
    ]
    return np.array(corners, dtype=np.float64).reshape(len(corners), low.size)


def _bound_below(low: Values, high: Values, k: float, n: int) -> float:
    """A value that mean - k sd can't fall below: the least mean less k times more than the largest sd.

    The sum of squares about the mean is at most that about any c, and each term of it is largest at a bound.
    """
    c = float(np.mean(0.5 * (low + high)))
    square = float(np.sum(np.maximum(np.square(low - c), np.square(high - c))))
    return float(np.mean(low)) - k * math.sqrt(square / (n - 1))
