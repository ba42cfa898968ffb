"""Polygons: area, inside, distances, crossings, and the part nearer to one point."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.plane import area, crossing_edges, distance_to_edges, inside, nearer_part, overlap

RECTANGLE = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]])
ELL = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 2.0], [2.0, 2.0], [2.0, 5.0], [0.0, 5.0]])


def test_area_of_an_ell_by_its_two_rectangles() -> None:
    """6 × 2 + 2 × 3 = 18, in both directions of the corners."""
    assert area(ELL) == 18.0
    assert area(ELL[::-1]) == 18.0


def test_area_far_from_the_origin() -> None:
    """Site coordinates of millions of metres lose no digits that matter."""
    assert area(ELL + np.array([4_512_345.0, 5_398_765.0])) == 18.0


def test_inside_an_ell() -> None:
    """The notch of an L is outside."""
    points = np.array([[1.0, 1.0], [5.0, 1.0], [1.0, 4.0], [3.0, 3.0], [7.0, 1.0], [-0.1, 1.0], [1.0, 2.0]])
    assert inside(points, ELL).tolist() == [True, True, True, False, False, False, True]


def test_distance_to_edges_and_corners() -> None:
    """By hand: 1 m from the lower edge; 5 m from the corner (6, 4) by 3-4-5; on the edge itself 0."""
    points = np.array([[3.0, 1.0], [9.0, 8.0], [6.0, 2.0]])
    assert distance_to_edges(points, RECTANGLE).tolist() == [1.0, 5.0, 0.0]


@pytest.mark.parametrize(
    ("corners", "crossing"),
    [
        ([[0, 0], [4, 0], [4, 4], [0, 4]], None),
        ([[0, 0], [4, 4], [4, 0], [0, 4]], (0, 2)),  # a bow tie
        ([[0, 0], [4, 0], [2, 0], [2, 3]], (0, 1)),  # runs back upon itself
        ([[0, 0], [0, 0], [4, 0], [4, 4]], (3, 0)),  # a corner twice
        ([[0, 0], [4, 0], [4, 4], [2, 0], [0, 4]], (0, 2)),  # a corner touches another edge
        ([[0, 0], [2, 0], [4, 0], [4, 4]], None),  # a corner on a straight edge is harmless
    ],
)
def test_crossing_edges(corners: list[list[float]], crossing: tuple[int, int] | None) -> None:
    """Edges that meet where they should not are found."""
    assert crossing_edges(np.array(corners, dtype=np.float64)) == crossing


def test_nearer_part_by_hand() -> None:
    """In a rectangle 6 × 4 the bisector of (1, 2) and (3, 2) is x = 2: 2 × 4 = 8 lie nearer to the first."""
    part = nearer_part(RECTANGLE, np.array([1.0, 2.0]), np.array([[3.0, 2.0]]))
    assert area(part) == pytest.approx(8.0, abs=1e-12)


def test_nearer_parts_share_out_a_polygon_that_is_not_convex() -> None:
    """The parts of all points add up to the polygon, and each agrees with counting a fine grid of places."""
    rng = np.random.default_rng(7)
    points = np.array([[1.0, 0.5], [5.0, 1.0], [1.0, 4.0], [3.0, 1.5]])
    parts = [area(nearer_part(ELL, p, np.delete(points, i, axis=0))) for i, p in enumerate(points)]
    assert sum(parts) == pytest.approx(18.0, abs=1e-9)
    places = rng.random((200_000, 2)) * [6.0, 5.0]
    places = places[inside(places, ELL)]
    nearest = np.argmin(((places[:, None] - points) ** 2).sum(axis=2), axis=1)
    counted = np.bincount(nearest, minlength=4) / len(places) * 18.0
    error = 18.0 * 0.5 / np.sqrt(len(places))
    assert np.abs(counted - parts).max() < 4 * error


def test_overlap_of_a_strip_without_corners_inside() -> None:
    """A strip across the whole zone shares no corner with it and still lies in it; one beside it does not."""
    strip = np.array([[-5.0, 1.0], [20.0, 1.0], [20.0, 1.1], [-5.0, 1.1]])
    assert overlap(RECTANGLE, strip)
    assert overlap(strip, RECTANGLE)
    assert not overlap(RECTANGLE, strip + np.array([0.0, 5.0]))
    assert overlap(RECTANGLE, np.array([[1.0, 1.0], [2.0, 1.0], [2.0, 2.0]]))
