"""Random positions: inside, apart, uniform over the area, the same for the same seed."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from adhesion_stats.plane import distance_to_edges, inside
from adhesion_stats.planning.ground import Ground, most_that_fit, parts_of_equal_area
from adhesion_stats.planning.positions import NoRoom, draw_positions, generator_for

ELL = np.array([[0.0, 0.0], [12.0, 0.0], [12.0, 4.0], [4.0, 4.0], [4.0, 10.0], [0.0, 10.0]])
DRAIN = np.array([[1.0, 1.0], [3.0, 1.0], [3.0, 3.0], [1.0, 3.0]])
GROUND = Ground(ELL, (DRAIN,), 0.15)


def rng(seed: int, zone: str = "zone") -> np.random.Generator:
    """The generator of a zone."""
    return generator_for(seed, zone)


def allowed_by_hand(points: NDArray[np.float64], edge: float) -> NDArray[np.bool_]:
    """Inside the L, outside the drain, and so far from every edge: written out coordinate by coordinate."""
    x, y = points[..., 0], points[..., 1]
    low_arm = (x >= edge) & (x <= 12 - edge) & (y >= edge) & (y <= 4 - edge)
    high_arm = (x >= edge) & (x <= 4 - edge) & (y >= edge) & (y <= 10 - edge)
    corner = (x >= 4 - edge) & (y >= 4 - edge) & (x <= 4) & (y <= 4) & (np.hypot(4 - x, 4 - y) >= edge)
    dx, dy = np.maximum(np.maximum(1 - x, x - 3), 0), np.maximum(np.maximum(1 - y, y - 3), 0)
    return (low_arm | high_arm | corner) & (np.hypot(dx, dy) >= edge)


def test_allowed_places_are_those_written_out_by_hand() -> None:
    """Edge distances hold along every edge, round the inner corner and round the keep-out."""
    places = np.random.default_rng(1).random((50_000, 2)) * [13.0, 11.0] - 0.5
    assert np.array_equal(GROUND.allows(places), allowed_by_hand(places, 0.15))


@pytest.mark.parametrize("stratified", [True, False])
@pytest.mark.parametrize("seed", range(6))
def test_every_distance_is_kept_by_the_printed_coordinates(seed: int, stratified: bool) -> None:
    """Pulls and retests lie inside, off the edges and apart; each coordinate is whole centimetres."""
    found = draw_positions(ground=GROUND, n=14, spacing_m=0.4, stratified=stratified, retests=2, rng=rng(seed))
    every = np.concatenate([found.pulls, found.retests.reshape(-1, 2)])
    assert len(every) == 14 * 3
    assert allowed_by_hand(every, 0.15 - 1e-9).all()
    apart = np.hypot(*(every[:, None] - every).transpose(2, 0, 1))[np.triu_indices(len(every), 1)]
    assert apart.min() >= 0.4 - 1e-9
    assert np.array_equal(every, np.round(every, 2))
    assert inside(every, ELL).all()
    assert distance_to_edges(every, DRAIN).min() >= 0.15 - 1e-9


def test_retests_lie_beside_their_pull_and_do_not_move_it() -> None:
    """Where there is room a retest is within two spacings; another number of them leaves the pulls where they were."""
    with_two = draw_positions(ground=GROUND, n=8, spacing_m=0.3, stratified=True, retests=2, rng=rng(3))
    without = draw_positions(ground=GROUND, n=8, spacing_m=0.3, stratified=True, retests=0, rng=rng(3))
    assert np.array_equal(with_two.pulls, without.pulls)
    away = np.hypot(*(with_two.retests - with_two.pulls[:, None]).transpose(2, 0, 1))
    assert away.max() <= 0.6 + 0.01  # rounding to a centimetre
    assert (np.diff(away, axis=1) >= 0).all()


def test_same_seed_same_positions_and_zones_do_not_share_them() -> None:
    """The draw is a function of seed and name."""
    draws = [
        draw_positions(ground=GROUND, n=6, spacing_m=0.3, stratified=True, retests=1, rng=rng(*key)).pulls
        for key in ((5, "Deck"), (5, "Deck"), (6, "Deck"), (5, "Ramp"))
    ]
    assert np.array_equal(draws[0], draws[1])
    assert not np.array_equal(draws[0], draws[2])
    assert not np.array_equal(draws[0], draws[3])


def test_the_draw_of_a_seed_is_pinned() -> None:
    """The very numbers of one draw, so that a change of the generator is noticed."""
    found = draw_positions(ground=GROUND, n=4, spacing_m=0.3, stratified=True, retests=0, rng=rng(20260504, "Deck"))
    assert found.pulls.tolist() == [[0.25, 4.93], [7.43, 0.58], [11.59, 3.27], [1.4, 7.88]]


def bins(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Counts in squares of 2 m."""
    counts, _, _ = np.histogram2d(points[:, 0], points[:, 1], bins=(np.arange(0, 13, 2), np.arange(0, 11, 2)))
    return counts.ravel()


@pytest.mark.parametrize("stratified", [True, False])
def test_positions_are_uniform_over_the_area(stratified: bool) -> None:
    """Counts of 4000 positions in squares against their allowed areas: chi-square at fixed seeds, not too large."""
    draws = [
        draw_positions(ground=GROUND, n=50, spacing_m=0.05, stratified=stratified, retests=0, rng=rng(seed)).pulls
        for seed in range(80)
    ]
    counts = bins(np.concatenate(draws))
    places = np.random.default_rng(2).random((400_000, 2)) * [12.0, 10.0]
    areas = bins(places[allowed_by_hand(places, 0.15)])
    there = areas > 0
    assert counts[~there].sum() == 0
    expected = areas[there] / areas.sum() * counts.sum()
    assert stats.chisquare(counts[there], expected).pvalue > 0.01


def test_one_coordinate_follows_the_distribution_of_the_area() -> None:
    """Kolmogorov-Smirnov on x: the wide lower arm has its share, the keep-out its gap."""
    found = np.concatenate(
        [
            draw_positions(ground=GROUND, n=25, spacing_m=0.05, stratified=False, retests=0, rng=rng(seed)).pulls
            for seed in range(1000, 1100)
        ]
    )
    places = np.random.default_rng(4).random((400_000, 2)) * [12.0, 10.0]
    xs = np.sort(places[allowed_by_hand(places, 0.15)][:, 0])
    assert stats.kstest(found[:, 0], lambda x: np.searchsorted(xs, x) / len(xs)).pvalue > 0.01


@pytest.mark.parametrize("n", [1, 2, 3, 5, 7, 12, 40])
def test_parts_hold_equal_areas_and_one_pull_each(n: int) -> None:
    """Each part holds its n-th of the allowed area to 2 %, and its pull lies in it."""
    parts = parts_of_equal_area(GROUND, n)
    places = np.random.default_rng(3).random((400_000, 2)) * [12.0, 10.0]
    places = places[allowed_by_hand(places, 0.15)]
    within = [float(((places >= p[:2]) & (places < p[2:])).all(axis=1).sum()) / len(places) * n for p in parts]
    assert np.abs(np.array(within) - 1).max() < 0.02 + 4 * np.sqrt(n / len(places))
    found = draw_positions(ground=GROUND, n=n, spacing_m=0.1, stratified=True, retests=0, rng=rng(9))
    assert found.parts is not None
    step = 0.005  # a coordinate may be rounded over the border of its part
    for pull, part in zip(found.pulls, found.parts, strict=True):
        assert (pull >= np.array(part[:2]) - step - 1e-9).all()
        assert (pull <= np.array(part[2:]) + step + 1e-9).all()


def test_too_many_are_refused_with_the_number_that_fits() -> None:
    """A square of 1 m with 100 mm to its edges leaves 0.8 m: at 0.4 m spacing a row holds 3, so 9 fit in rows."""
    square = Ground(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]), (), 0.1)
    with pytest.raises(NoRoom) as caught:
        draw_positions(ground=square, n=30, spacing_m=0.4, stratified=False, retests=0, rng=rng(1))
    assert caught.value.fit == 9


def test_no_room_at_all() -> None:
    """A strip narrower than twice the edge distance holds none."""
    strip = Ground(np.array([[0.0, 0.0], [5.0, 0.0], [5.0, 0.2], [0.0, 0.2]]), (), 0.15)
    with pytest.raises(NoRoom) as caught:
        draw_positions(ground=strip, n=1, spacing_m=0.4, stratified=True, retests=0, rng=rng(1))
    assert caught.value.fit == 0


def test_most_that_fit_stops_when_it_has_enough() -> None:
    """The count is a lower bound, and no more work is done than was asked."""
    assert most_that_fit(GROUND, 0.5, enough=7) == 7
