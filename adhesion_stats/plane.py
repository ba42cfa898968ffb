"""Polygons in the plane: area, points inside, distances to edges, the part nearer to one point than to another.

Plain numpy, for zones of a plan: few corners, many points. Coordinates of any one unit; a polygon is given by its
corners (m, 2), in either direction, not repeated at the end. Must not import anything of the project.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["area", "crossing_edges", "distance_to_edges", "inside", "nearer_part", "overlap"]

Points = NDArray[np.float64]


def area(polygon: Points) -> float:
    """Area of a simple polygon (m, 2) by the shoelace formula, never negative.

    >>> area(np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]]))
    24.0
    """
    x, y = polygon[:, 0] - polygon[0, 0], polygon[:, 1] - polygon[0, 1]
    return float(abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2)


def inside(points: Points, polygon: Points) -> NDArray[np.bool_]:
    """Whether points (..., 2) lie inside a simple polygon (m, 2): a ray to the right meets its edges an odd number of
    times. For points on an edge either answer may come.
    """
    x, y = points[..., 0, None], points[..., 1, None]
    x1, y1 = polygon[:, 0], polygon[:, 1]
    x2, y2 = np.roll(x1, -1), np.roll(y1, -1)
    spans = (y1 > y) != (y2 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x1 + (y - y1) * (x2 - x1) / (y2 - y1)  # unused where the edge is level: such an edge spans nothing
    return np.asarray(np.logical_and(spans, x < at).sum(axis=-1) % 2 == 1)


def distance_to_edges(points: Points, polygon: Points) -> NDArray[np.float64]:
    """Distance (...) from points (..., 2) to the nearest edge of a polygon (m, 2)."""
    start = polygon
    along = np.roll(polygon, -1, axis=0) - start
    length = np.sum(along**2, axis=1)
    from_start = points[..., None, :] - start
    share = np.clip(np.sum(from_start * along, axis=-1) / np.where(length > 0, length, 1.0), 0.0, 1.0)
    away = from_start - share[..., None] * along
    return np.asarray(np.sqrt(np.sum(away**2, axis=-1)).min(axis=-1))


def crossing_edges(polygon: Points) -> tuple[int, int] | None:
    """Numbers (from 0) of two edges of a polygon that meet where they should not, None where it is simple.

    Edge i goes from corner i to the next. Neighbours may share their corner only; an edge without length counts as
    meeting the one before it.
    """
    m = len(polygon)
    for i in range(m):
        a, b = polygon[i], polygon[(i + 1) % m]
        if np.array_equal(a, b):
            return (i - 1) % m, i
        for j in range(i + 1, m):
            c, d = polygon[j], polygon[(j + 1) % m]
            if j == i + 1 or (i == 0 and j == m - 1):
                shared, before, after = (b, a, d) if j == i + 1 else (a, b, c)
                if _turn(before, shared, after) == 0 and float(np.dot(before - shared, after - shared)) > 0:
                    return i, j  # the edge runs back upon its neighbour
            elif _meet(a, b, c, d):
                return i, j
    return None


def _turn(a: Points, b: Points, c: Points) -> float:
    """Sign of the turn from a over b to c, 0 on a line (within rounding)."""
    cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    scale = float(np.abs([*(b - a), *(c - b)]).max()) ** 2
    return 0.0 if abs(cross) <= 1e-12 * scale else float(np.sign(cross))


def _meet(a: Points, b: Points, c: Points, d: Points) -> bool:
    """Whether the segments ab and cd have a point in common."""
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    pairs = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(
        turn == 0 and bool(((np.minimum(p, q) <= r) & (r <= np.maximum(p, q))).all())
        for turn, (p, q, r) in zip(turns, pairs, strict=True)
    )


def overlap(one: Points, other: Points) -> bool:
    """Whether two simple polygons have a point in common: a corner of one in the other, or edges that meet."""
    if inside(one, other).any() or inside(other, one).any():
        return True
    ends = [(p, np.roll(p, -1, axis=0)) for p in (one, other)]
    return any(_meet(a, b, c, d) for a, b in zip(*ends[0], strict=True) for c, d in zip(*ends[1], strict=True))


def nearer_part(polygon: Points, to: Points, than: Points) -> Points:
    """The part (k, 2) of a polygon (m, 2) that lies nearer to the point ``to`` (2,) than to each of ``than`` (p, 2).

    Cut by one perpendicular bisector after another. Where the part falls into pieces, they hang together by edges
    without width, so that its area is right. Empty (0, 2) where nothing is nearer.
    """
    part = np.asarray(polygon, dtype=np.float64)
    for other in np.atleast_2d(than).reshape(-1, 2):
        normal = other - to
        behind = (to + other) / 2
        if not len(part) or not normal.any():
            continue
        height = (part - behind) @ normal  # up to 0 on the near side
        following, next_height = np.roll(part, -1, axis=0), np.roll(height, -1)
        kept: list[Points] = []
        for p, h, q, k in zip(part, height, following, next_height, strict=True):
            if h <= 0:
                kept.append(p)
            if (h < 0 < k) or (k < 0 < h):
                kept.append(p + (q - p) * (h / (h - k)))
        part = np.array(kept).reshape(-1, 2)
    return part
