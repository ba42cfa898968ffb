"""Two outliers in one tail and one at either end: against the plain twin, simulation and the recording step."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    grubbs_ends,
    grubbs_ends_critical,
    grubbs_ends_p_value,
    grubbs_ends_statistic,
    grubbs_pair,
    grubbs_pair_critical,
    grubbs_pair_p_value,
    grubbs_pair_statistic,
)
from adhesion_stats.statistics.grubbs_pair_distribution import _distribution
from adhesion_stats.statistics.screening import SIDES, Sides
from tests import oracle_outliers as oracle
from tests import oracle_statistics as plain

SIZES = [4, 5, 6, 9, 12, 20]


def _samples(seed: int, n: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    x = rng.normal(2.5, 0.6, (60, n))
    x[:40] = x[:40].round(1)  # ties
    x[0] = 1.1
    return np.sort(x, axis=-1)


@pytest.mark.parametrize("n", SIZES)
def test_pair_ratio_agrees_with_the_plain_twin(n: int) -> None:
    """Ratio at either end, and the end that stands out more; 1 where all values are equal."""
    x = _samples(n, n)
    low, high = grubbs_pair_statistic(x, sides="low")[0], grubbs_pair_statistic(x, sides="high")[0]
    two, which = grubbs_pair_statistic(x, sides="two")
    for row, values in enumerate(x.tolist()):
        assert low[row] == pytest.approx(oracle.pair_ratio(values, high=False), rel=1e-12, abs=1e-15)
        assert high[row] == pytest.approx(oracle.pair_ratio(values, high=True), rel=1e-12, abs=1e-15)
        assert two[row] == min(low[row], high[row])
        assert which[row] == (high[row] < low[row])
    assert low[0] == 1.0


@pytest.mark.parametrize("n", [4, 5, 6, 7])
@pytest.mark.parametrize("level", [0.001, 0.05, 0.4])
def test_pair_p_value_agrees_with_nested_integrals(n: int, level: float) -> None:
    """The exact one-sided p-value, to 1e-12."""
    critical = grubbs_pair_critical(n=n, alpha=level, sides="low")
    assert oracle.pair_below(critical, n, points=12) == pytest.approx(level, abs=1e-12)


@pytest.mark.parametrize("n", [4, 5, 6, 7, 8, 10, 15, 30, 60, 100])
def test_pair_total_probability_is_one(n: int) -> None:
    """Nothing was lost between the pieces."""
    largest = float(_distribution(n).ends[-1]) ** 2
    assert grubbs_pair_p_value(np.array([largest]), n=n, sides="low")[0] == pytest.approx(1.0, abs=1e-12)
    from numpy.polynomial import chebyshev

    assert float(chebyshev.chebval(1.0, _distribution(n).series[:, -1])) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("n", [4, 7, 8, 15, 40, 100])
def test_pair_critical_value_has_its_level_as_p_value(n: int) -> None:
    """P(ratio <= critical) = alpha, for small levels in relative terms too."""
    for alpha in (1e-8, 0.001, 0.05, 0.4):
        for sides in SIDES:
            critical = grubbs_pair_critical(n=n, alpha=alpha, sides=sides)
            assert grubbs_pair_p_value(np.array([critical]), n=n, sides=sides)[0] == pytest.approx(alpha, rel=1e-10)


def test_pair_p_values_at_the_ends() -> None:
    """Nothing left of the spread can't happen; all of it left always does."""
    for sides in SIDES:
        p = grubbs_pair_p_value(np.array([0.0, 1.0]), n=9, sides=sides)
        assert p.tolist() == [0.0, 1.0]
    with pytest.raises(InvalidSample, match="ratios from 0 to 1"):
        grubbs_pair_p_value(np.array([1.2]), n=9, sides="low")


def test_a_pair_hidden_from_the_single_test_is_seen() -> None:
    """Two high values hide each other from Grubbs' single test, not from this one."""
    from adhesion_stats.statistics import grubbs

    x = np.array([[2.0, 2.1, 2.2, 2.3, 2.4, 5.0, 5.1]])
    assert not grubbs(x, alpha=0.05, sides="high", recording_step=0.0).flagged[0]
    assert grubbs_pair(x, alpha=0.05, sides="high", recording_step=0.0).flagged[0]


@pytest.mark.parametrize("n", [4, 5, 6])
@pytest.mark.parametrize("side", SIDES[:2])
def test_pair_flag_survives_every_set_of_true_values(n: int, side: Sides) -> None:
    """No corner of the recording intervals and no point inside brings a flagged ratio up to the critical value."""
    rng = np.random.default_rng(n)
    step, alpha = 0.1, 0.3
    x = np.sort(rng.normal(2.5, 0.6, (300, n)).round(1), axis=-1)
    screen = grubbs_pair(x, alpha=alpha, sides=side, recording_step=step)
    assert screen.within_step.any()
    assert screen.flagged.any()
    high = side == "high"
    taken_off = 0
    for row in np.flatnonzero(screen.flagged | screen.within_step):
        values = x[row].tolist()
        suspects = [n - 2, n - 1] if high else [0, 1]
        worst = 0.0
        for corner in plain.corners(values, step):
            rest = [value for at, value in enumerate(corner) if at not in suspects]
            whole = oracle.squares(corner)
            worst = max(worst, float(oracle.squares(rest) / whole) if whole else 1.0)
        if screen.flagged[row]:
            assert worst < screen.critical
        elif worst < screen.critical:
            taken_off += 1
    # The bound is careful, not blind: few rows lose their flag without need.
    assert taken_off <= 0.1 * np.count_nonzero(screen.flagged | screen.within_step)


def test_pair_positions() -> None:
    """The two smallest or the two largest columns."""
    x = np.array([[0.1, 0.2, 2.4, 2.4, 2.5, 2.5], [2.4, 2.4, 2.5, 2.5, 9.1, 9.2]])
    assert grubbs_pair(x, alpha=0.05, sides="two", recording_step=0.1).position.tolist() == [[0, 1], [4, 5]]


@pytest.mark.parametrize("n", [3, 101])
def test_pair_sizes_without_a_test_are_refused(n: int) -> None:
    """Below 4 values nothing is left; above 100 the distribution was not checked."""
    with pytest.raises(InvalidSample, match="4 <= n <= 100"):
        grubbs_pair_critical(n=n, alpha=0.05, sides="low")


# ------------------------------------------------------------------------------------------------ one at either end


@pytest.mark.parametrize("n", SIZES)
def test_range_over_sd_agrees_with_the_plain_twin(n: int) -> None:
    """Range over sd; 0 where all values are equal."""
    x = _samples(n, n)
    found = grubbs_ends_statistic(x)
    for row, values in enumerate(x.tolist()):
        spread = plain.sd(values)
        expected = float((max(values) - min(values)) / spread) if spread else 0.0
        assert found[row] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("n", [4, 5, 7, 10, 15, 20, 30])
def test_ends_p_value_agrees_with_simulation(n: int) -> None:
    """At seven points from the middle to the far tail, within four errors of 200,000 samples of its own."""
    x = np.sort(np.random.default_rng(n).standard_normal((200_000, n)), axis=-1)
    statistic = grubbs_ends_statistic(x)
    for level in (0.9, 0.7, 0.5, 0.2, 0.1, 0.05, 0.01):
        share = float(np.mean(statistic > grubbs_ends_critical(n=n, alpha=level)))
        assert abs(share - level) < 4.0 * math.sqrt(level * (1.0 - level) / 200_000 + 0.0004**2)


@pytest.mark.parametrize("n", [4, 5, 8, 10, 13, 20, 30])
def test_ends_table_meets_the_closed_form(n: int) -> None:
    """From sqrt(3 (n - 1)/2) on one pair's chance times n (n - 1) is exact; the table ends on that value."""
    joint = math.sqrt(1.5 * (n - 1))
    below, at, above = grubbs_ends_p_value(np.array([joint * (1 - 1e-9), joint, joint * 1.001]), n=n)
    assert below == pytest.approx(at, rel=1e-5)
    assert above < at
    share = joint**2 / (2 * (n - 1))
    closed = n * (n - 1) * special.stdtr(n - 2, -math.sqrt((n - 2) * share / (1 - share)))
    assert at == pytest.approx(closed, rel=1e-12)


@pytest.mark.parametrize("n", [4, 9, 14, 30])
def test_ends_critical_value_has_its_level_as_p_value(n: int) -> None:
    """P(w/s > critical) = alpha."""
    for alpha in (0.0001, 0.01, 0.05, 0.3, 0.9):
        critical = grubbs_ends_critical(n=n, alpha=alpha)
        assert grubbs_ends_p_value(np.array([critical]), n=n)[0] == pytest.approx(alpha, abs=1e-12)


def test_ends_beyond_what_is_possible() -> None:
    """Nothing exceeds sqrt(2 (n - 1)); everything reaches the least range."""
    p = grubbs_ends_p_value(np.array([0.0, 1.0, 4.3, 5.0]), n=10)  # sqrt(18) is 4.243
    assert p.tolist() == [1.0, 1.0, 0.0, 0.0]


@pytest.mark.parametrize("n", [4, 5, 6])
def test_ends_flag_survives_every_set_of_true_values_or_is_none(n: int) -> None:
    """The least statistic is that of brute force over all corners, and no more."""
    step = 0.1
    x = np.sort(np.random.default_rng(n).normal(2.5, 0.4, (300, n)).round(1), axis=-1)
    screen = grubbs_ends(x, alpha=0.3, recording_step=step)
    assert screen.within_step.any()
    assert screen.flagged.any()
    for row in np.flatnonzero(screen.flagged | screen.within_step):
        least = math.inf
        for corner in plain.corners(x[row].tolist(), step):
            spread = plain.sd(corner)
            width = max(corner[-1] - corner[0], 0.0)
            least = min(least, float(width / spread) if spread else 0.0)
        if abs(least - screen.critical) > 1e-9:
            assert bool(screen.flagged[row]) == (least > screen.critical)


def test_a_coarser_step_never_adds_a_flag() -> None:
    """Knowing the step can only take flags off."""
    x = np.sort(np.random.default_rng(9).normal(2.5, 0.4, (3000, 7)).round(1), axis=-1)
    steps = (0.0, 0.01, 0.1)
    for flags in (
        [grubbs_ends(x, alpha=0.2, recording_step=step).flagged for step in steps],
        [grubbs_pair(x, alpha=0.2, sides="two", recording_step=step).flagged for step in steps],
    ):
        for finer, coarser in itertools.pairwise(flags):
            assert not (coarser & ~finer).any()
        assert flags[0].sum() > flags[2].sum() > 0
