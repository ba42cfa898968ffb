"""Repeatability, reproducibility, Mandel's statistics and nested spread against their plain twins."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    Cells,
    cells,
    mandel,
    mandel_h,
    mandel_h_critical,
    mandel_k,
    mandel_k_critical,
    mean_and_sd,
    nested_spread,
    precision,
    precision_cells,
)
from tests import oracle_outliers as oracle


def _unbalanced(seed: int, groups: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Values, levels, laboratories in mixed order; cells of one to five results."""
    rng = np.random.default_rng(seed)
    level, laboratory, values = [], [], []
    for g in range(groups):
        for lab in range(int(rng.integers(2, 7))):
            shift = rng.normal(0.0, 0.4)
            for _ in range(int(rng.integers(1, 6)) if lab else 3):
                level.append(10 * g)
                laboratory.append(lab + 3)
                values.append(round(5.0 + g + shift + rng.normal(0.0, 0.2), 2))
    order = rng.permutation(len(values))
    return np.array(values)[order], np.array(level)[order], np.array(laboratory)[order]


def test_unbalanced_precision_agrees_with_exact_fractions() -> None:
    """Many levels in one call, mixed order, cells of one result among them."""
    values, level, laboratory = _unbalanced(1, 40)
    found = precision(values, level=level, laboratory=laboratory)
    assert found.level.tolist() == [10 * g for g in range(40)]
    for at, code in enumerate(found.level):
        mine = level == code
        by_lab = [values[mine & (laboratory == lab)].tolist() for lab in np.unique(laboratory[mine])]
        expected = oracle.precision(by_lab)
        assert found.laboratories[at] == len(by_lab)
        assert found.results[at] == int(mine.sum())
        assert found.mean[at] == pytest.approx(expected.mean, rel=1e-13)
        assert found.repeatability_sd[at] == pytest.approx(expected.repeatability, rel=1e-11)
        assert found.between_variance[at] == pytest.approx(expected.between_variance, rel=1e-9, abs=1e-13)
        assert found.reproducibility_sd[at] == pytest.approx(expected.reproducibility, rel=1e-11)


def test_one_level_alone_gives_the_same_bits() -> None:
    """A level is the same in a crowd and alone, in whatever order its results were entered."""
    values, level, laboratory = _unbalanced(2, 30)
    crowd = precision(values, level=level, laboratory=laboratory)
    for at, code in enumerate(crowd.level):
        mine = np.flatnonzero(level == code)[::-1]
        alone = precision(values[mine], level=level[mine], laboratory=laboratory[mine])
        assert alone.repeatability_sd[0] == crowd.repeatability_sd[at]
        assert alone.reproducibility_sd[0] == crowd.reproducibility_sd[at]
        assert alone.mean[0] == crowd.mean[at]


def test_balanced_short_form() -> None:
    """s_R^2 = s_x^2 + s_r^2 (n - 1)/n, not less than s_r^2."""
    x = np.random.default_rng(3).normal(10.0, 0.3, (50, 6, 4)) + np.random.default_rng(4).normal(0, 0.2, (50, 6, 1))
    level, laboratory = np.repeat(np.arange(50), 24), np.tile(np.repeat(np.arange(6), 4), 50)
    found = precision(x.ravel(), level=level, laboratory=laboratory)
    within = x.var(axis=2, ddof=1).mean(axis=1)
    means = x.mean(axis=2).var(axis=1, ddof=1)
    assert found.sd_of_means**2 == pytest.approx(means, rel=1e-11)
    assert found.reproducibility_sd**2 == pytest.approx(np.maximum(means + within * 0.75, within), rel=1e-11)
    assert (found.between_variance < 0.0).any()  # else the cut was not tried


def test_what_can_not_be_told_is_nan() -> None:
    """Cells of one result: no repeatability; one laboratory: nothing between."""
    singles = precision(np.array([1.0, 2.0, 4.0]), level=np.zeros(3, int), laboratory=np.arange(3))
    assert np.isnan(singles.repeatability_sd[0])
    assert np.isnan(singles.reproducibility_sd[0])
    assert singles.sd_of_means[0] == pytest.approx(np.std([1.0, 2.0, 4.0], ddof=1))
    alone = precision(np.array([1.0, 2.0, 4.0]), level=np.zeros(3, int), laboratory=np.zeros(3, int))
    assert alone.repeatability_sd[0] == pytest.approx(np.std([1.0, 2.0, 4.0], ddof=1))
    assert np.isnan(alone.between_sd[0])


def test_large_offsets_lose_no_digits() -> None:
    """The same results a million higher: the same spread to the digits that the input still has."""
    values, level, laboratory = _unbalanced(5, 10)
    near = precision(np.round(values * 64) / 64, level=level, laboratory=laboratory)
    far = precision(np.round(values * 64) / 64 + 2.0**30, level=level, laboratory=laboratory)
    assert far.repeatability_sd == pytest.approx(near.repeatability_sd, rel=1e-12)
    assert far.reproducibility_sd == pytest.approx(near.reproducibility_sd, rel=1e-12)


def test_wrong_cells_are_refused() -> None:
    """Codes that are no whole numbers, values that are none, a cell of two without a spread."""
    with pytest.raises(InvalidSample, match="whole numbers"):
        cells(np.array([1.0]), level=np.array([0.5]), laboratory=np.array([1]))
    with pytest.raises(InvalidSample, match="value 1 is nan"):
        cells(np.array([1.0, np.nan]), level=np.array([0, 0]), laboratory=np.array([1, 1]))
    with pytest.raises(InvalidSample, match="one level and one laboratory"):
        cells(np.array([1.0, 2.0]), level=np.array([0]), laboratory=np.array([1, 1]))
    with pytest.raises(InvalidSample, match="an sd wherever"):
        precision_cells(Cells(np.array([0]), np.array([0]), np.array([2]), np.array([1.0]), np.array([np.nan])))


# ------------------------------------------------------------------------------------------------ Mandel


def test_mandel_statistics_from_their_definition() -> None:
    """H of each cell mean, k of each cell sd; 0 where there is nothing to compare."""
    rng = np.random.default_rng(1)
    means, sds = rng.normal(5.0, 0.3, (20, 7)), rng.uniform(0.1, 0.5, (20, 7))
    mean, sd = mean_and_sd(np.sort(means, axis=-1))
    assert mandel_h(means) == pytest.approx((means - mean[:, None]) / sd[:, None], rel=1e-10)
    assert mandel_k(sds) == pytest.approx(sds / np.sqrt((sds**2).mean(axis=1))[:, None], rel=1e-13)
    assert mandel_h(np.full((1, 4), 1.1)).tolist() == [[0.0] * 4]
    assert mandel_k(np.zeros((1, 4))).tolist() == [[0.0] * 4]


@pytest.mark.parametrize("p", [3, 5, 12, 40])
def test_mandel_critical_values_by_scipy(p: int) -> None:
    """T and F quantiles of scipy.stats."""
    t = float(stats.t.isf(0.0025, p - 2))
    assert mandel_h_critical(p=p, alpha=0.005) == pytest.approx((p - 1) * t / math.sqrt(p * (t * t + p - 2)), rel=1e-12)
    for n in (2, 3, 9):
        f = float(stats.f.isf(0.005, n - 1, (p - 1) * (n - 1)))
        assert mandel_k_critical(p=p, n=n, alpha=0.005) == pytest.approx(math.sqrt(p / (1 + (p - 1) / f)), rel=1e-11)


def test_mandel_flags_know_the_step() -> None:
    """Means and spreads that are only rounding raise no flag; real ones do."""
    means = np.array([[5.0, 5.0, 5.0, 5.0, 5.0, 5.1]])
    sds = np.array([[0.0, 0.0, 0.0, 0.0, 0.0, 0.06]])
    at_word = mandel(means, sds, n=3, alpha=0.01, recording_step=0.0)
    knowing = mandel(means, sds, n=3, alpha=0.01, recording_step=0.1)
    assert at_word.h_flagged[0, -1]
    assert at_word.k_flagged[0, -1]
    assert not knowing.h_flagged.any()
    assert not knowing.k_flagged.any()
    real = mandel(
        means + np.array([0.0] * 5 + [4.0]), sds + np.array([0.0] * 5 + [5.0]), n=3, alpha=0.01, recording_step=0.1
    )
    assert real.h_flagged[0].tolist() == real.k_flagged[0].tolist() == [False] * 5 + [True]


def test_mandel_flag_survives_every_set_of_true_means() -> None:
    """H at every corner of the intervals of the means."""
    from tests import oracle_statistics as plain

    means = np.random.default_rng(8).normal(5.0, 0.25, (200, 5)).round(1)
    screen = mandel(means, np.ones((200, 5)), n=2, alpha=0.2, recording_step=0.1)
    assert screen.h_flagged.any()
    compared = 0
    for row, cell in np.argwhere(np.abs(screen.h) > screen.h_critical):
        sign = 1.0 if screen.h[row, cell] > 0 else -1.0
        corners = plain.corners((sign * means[row]).tolist(), 0.1)
        least = min(float(plain.own_distance(corner, int(cell))) for corner in corners)
        if abs(least - screen.h_critical) > 1e-9:
            assert bool(screen.h_flagged[row, cell]) == (least > screen.h_critical)
            compared += 1
    assert compared > 50


# ------------------------------------------------------------------------------------------------ nested


@pytest.mark.parametrize("seed", range(6))
def test_nested_components_agree_with_exact_expectations(seed: int) -> None:
    """Unbalanced in parts and results: the three equations solved in fractions."""
    rng = np.random.default_rng(seed)
    data = [
        [rng.normal(5.0 + g, 0.3, int(rng.integers(1, 5))).round(2).tolist() for _ in range(int(rng.integers(1, 5)))]
        for g in range(5)
    ]
    data[0] = [[1.0, 2.0, 4.0], [3.0, 3.5]]
    rows = [(x, g, j) for g, parts in enumerate(data) for j, part in enumerate(parts) for x in part]
    order = rng.permutation(len(rows))
    values, group, part = (np.array(column)[order] for column in zip(*rows, strict=True))
    found = nested_spread(values, group=group, part=part)
    assert found.raw == pytest.approx(oracle.nested(data), rel=1e-10)
    assert found.results == len(rows)


def test_nested_components_are_unbiased() -> None:
    """Unbalanced layout, components 4, 1, 0.25: the mean of 4000 estimates agrees within four errors."""
    rng = np.random.default_rng(9)
    sizes = [[3, 1], [2, 2, 4], [5], [1, 3], [2, 2]]
    group = np.array([g for g, parts in enumerate(sizes) for size in parts for _ in range(size)])
    part = np.array([j for parts in sizes for j, size in enumerate(parts) for _ in range(size)])
    estimates = []
    for _ in range(4000):
        values = np.array(
            [
                a + b + rng.normal(0.0, 0.5)
                for parts in sizes
                for a in [rng.normal(0.0, 2.0)]
                for size in parts
                for b in [rng.normal(0.0, 1.0)]
                for _ in range(size)
            ]
        )
        estimates.append(nested_spread(values, group=group, part=part).raw)
    table = np.array(estimates)
    error = table.std(axis=0) / math.sqrt(len(table))
    assert (np.abs(table.mean(axis=0) - [4.0, 1.0, 0.25]) < 4.0 * error).all()


def test_negative_components_are_shown_and_cut() -> None:
    """Groups closer together than their parts allow: the raw estimate is negative, the component 0."""
    values = np.array([1.0, 1.2, 9.0, 9.2, 1.1, 1.3, 8.9, 9.1])
    found = nested_spread(values, group=np.array([0, 0, 0, 0, 1, 1, 1, 1]), part=np.array([0, 0, 1, 1, 0, 0, 1, 1]))
    assert found.raw[0] < 0.0 == found.components[0] == found.sds[0]
    assert found.components[1] > 30.0


def test_nested_without_repeats_is_refused() -> None:
    """One result in every part: spread within parts can't be told; one group: none between groups."""
    with pytest.raises(InvalidSample, match="two results"):
        nested_spread(np.array([1.0, 2.0]), group=np.array([0, 0]), part=np.array([0, 1]))
    alone = nested_spread(np.array([1.0, 2.0, 5.0]), group=np.zeros(3, int), part=np.array([0, 0, 1]))
    assert math.isnan(alone.components[0])
    assert alone.components[2] == pytest.approx(0.5, rel=1e-14)
