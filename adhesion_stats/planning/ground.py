"""Where a zone may be pulled: inside its outline, away from its edges and keep-outs.

Imports: numpy, plane. No random numbers here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.plane import area, distance_to_edges, inside

__all__ = ["Ground", "most_that_fit", "parts_of_equal_area"]

Points = NDArray[np.float64]
Box = tuple[float, float, float, float]

_PLACES = 20_000  # places by which areas are compared
_PLASTIC = 1.3247179572447460  # g³ = g + 1
_SLACK = 1e-9  # m; a distance that misses its limit by less is kept
_COARSE_FROM_M = (
    2.0  # a zone whose shorter side is longer than this is marked out to a centimetre, else to a millimetre
)


@dataclass(frozen=True, eq=False)
class Ground:
    """A zone's outline (m, 2), keep-outs, and how far from their edges a centre must lie; all in metres.

    ``square_m``: what is placed is an upright square of that side, which must lie within as a whole. ``around``: the
    ground of the zone where this one is a part of it.
    """

    outline: Points
    keep_outs: tuple[Points, ...]
    edge_m: float
    square_m: float = 0.0
    around: Ground | None = None

    @property
    def box(self) -> Box:
        """The smallest upright rectangle round the outline: x from, y from, x to, y to."""
        low, high = self.outline.min(axis=0), self.outline.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    @property
    def step_m(self) -> float:
        """To what coordinates are rounded: a centimetre, a millimetre where the shorter side is 2 m or less."""
        if self.around is not None:
            return self.around.step_m
        x0, y0, x1, y1 = self.box
        return 0.01 if min(x1 - x0, y1 - y0) > _COARSE_FROM_M else 0.001

    @property
    def area_m2(self) -> float:
        """Area of the outline, keep-outs included."""
        return area(self.outline)

    def allows(self, points: Points) -> NDArray[np.bool_]:
        """Whether a pull (or the square) may be centred at points (..., 2)."""
        good = self._free(points, self.edge_m + 0.5 * self.square_m)
        if self.square_m:
            for corner in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)):
                good &= self._free(points + self.square_m * np.array(corner), self.edge_m)
        return good if self.around is None else good & self.around.allows(points)

    def _free(self, points: Points, away_m: float) -> NDArray[np.bool_]:
        """Whether points lie inside the outline, outside the keep-outs, and so far away from all edges."""
        good = inside(points, self.outline) & (distance_to_edges(points, self.outline) >= away_m - _SLACK)
        for keep_out in self.keep_outs:
            good &= ~inside(points, keep_out) & (distance_to_edges(points, keep_out) >= away_m - _SLACK)
        return good

    def square_at(self, centre: Points) -> Ground:
        """The ground of a pull in the square about a centre (2,)."""
        half = 0.5 * self.square_m
        corners = centre + half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        return Ground(corners, (), 0.0, around=Ground(self.outline, self.keep_outs, self.edge_m))

    def places(self) -> Points:
        """Places (k, 2) spread evenly over where a pull may be centred, no two at the same x or y.

        The additive recurrence with the plastic number: the fractions of i / g and i / g² for i = 1, 2, ...
        """
        x0, y0, x1, y1 = self.box
        turns = np.arange(1, _PLACES + 1)[:, None] * np.array([1 / _PLASTIC, 1 / _PLASTIC**2])
        places = np.array([x0, y0]) + (turns % 1.0) * np.array([x1 - x0, y1 - y0])
        return np.asarray(places[self.allows(places)])

    def packing(self, spacing_m: float, *, finer: int) -> Points:
        """Places (k, 2) of a grid that begins at the edge distance and cuts the spacing in up to ``finer`` parts."""
        x0, y0, x1, y1 = self.box
        finest = np.sqrt((x1 - x0) * (y1 - y0) / _PLACES)
        pitch = spacing_m / min(finer, max(1, int(spacing_m / finest)))
        xs, ys = (np.arange(a + self.edge_m, b - self.edge_m + _SLACK, pitch) for a, b in ((x0, x1), (y0, y1)))
        places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        return np.asarray(places[self.allows(places)])


def parts_of_equal_area(ground: Ground, n: int) -> list[Box]:
    """Cut the box of a zone into ``n`` upright rectangles that hold about equal allowed areas (as 20 000 evenly spread
    places count them): in two across the longer side, in the ratio of the numbers to come, and each half again.

    Empty where there is hardly any room.
    """
    places = ground.places()
    return _parts(places, ground.box, n) if len(places) >= 2 * n else []


def _parts(places: Points, box: Box, n: int) -> list[Box]:
    if n == 1:
        return [box]
    extent = np.ptp(places, axis=0)
    axis = 0 if extent[0] >= extent[1] else 1
    first = n // 2
    order = np.argsort(places[:, axis], kind="stable")
    k = round(len(places) * first / n)
    cut = float(places[order[k - 1 : k + 1], axis].mean())
    low, high = list(box), list(box)
    low[axis + 2] = high[axis] = cut
    return [*_parts(places[order[:k]], _box(low), first), *_parts(places[order[k:]], _box(high), n - first)]


def _box(sides: list[float]) -> Box:
    return sides[0], sides[1], sides[2], sides[3]


def most_that_fit(ground: Ground, spacing_m: float, *, enough: int) -> int:
    """How many centres, at least, have room at this spacing: the larger of what stands in plain rows and columns, and
    of what a fine grid holds when each place is taken that is far enough from those before. At most ``enough``.
    """
    straight = len(ground.packing(spacing_m, finer=1))
    taken = np.empty((0, 2))
    for place in ground.packing(spacing_m, finer=12):
        if len(taken) and float(((taken - place) ** 2).sum(axis=1).min()) < (spacing_m - _SLACK) ** 2:
            continue
        taken = np.vstack([taken, place])
        if len(taken) >= enough:
            break
    return min(max(straight, len(taken)), enough)
