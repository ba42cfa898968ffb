"""Grubbs' test against its plain twin, and the recording step."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from mpmath import mp

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import grubbs, grubbs_critical, grubbs_p_value, grubbs_statistic
from adhesion_stats.statistics.screening import Sides
from tests import oracle_statistics as oracle

SIZES = [3, 4, 5, 6, 9, 12, 20]
SIDES: tuple[Sides, ...] = ("low", "high", "two")


def _samples(seed: int, n: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    x = rng.normal(2.5, 0.6, (60, n))
    x[:40] = x[:40].round(1)  # ties
    x[0] = 1.1
    x[1, :-1] = 1.1  # all equal but one
    return np.sort(x, axis=-1)


@pytest.mark.parametrize("n", SIZES)
def test_statistic_agrees_with_the_plain_twin(n: int) -> None:
    """G at either end, and the end that stands out more."""
    x = _samples(n, n)
    low, high = grubbs_statistic(x, sides="low")[0], grubbs_statistic(x, sides="high")[0]
    two, which = grubbs_statistic(x, sides="two")
    for row, values in enumerate(x.tolist()):
        expected_low = float(oracle.grubbs(values, high=False))
        expected_high = float(oracle.grubbs(values, high=True))
        assert low[row] == pytest.approx(expected_low, rel=1e-12)
        assert high[row] == pytest.approx(expected_high, rel=1e-12)
        assert two[row] == max(low[row], high[row])
        if abs(expected_high - expected_low) > 1e-12:
            assert which[row] == (expected_high > expected_low)


def test_the_low_end_is_the_suspect_where_both_lie_equally_far() -> None:
    """A symmetric sample points at its smallest value, the one that matters for safety."""
    g, high = grubbs_statistic(np.array([[1.0, 2.0, 3.0]]), sides="two")
    assert (g[0], bool(high[0])) == (1.0, False)


def test_equal_values_have_no_suspect() -> None:
    """All equal: the statistic is 0, the p-value 1, and nothing is flagged."""
    x = np.full((1, 5), 1.1)
    screen = grubbs(x, alpha=0.05, sides="two", recording_step=0.0)
    assert (screen.statistic[0], bool(screen.flagged[0]), bool(screen.within_step[0])) == (0.0, False, False)
    assert grubbs_p_value(screen.statistic, n=5, sides="two")[0] == 1.0
    assert grubbs_p_value(screen.statistic, n=5, sides="low")[0] == 1.0


@pytest.mark.parametrize("n", [3, 4, 5])
def test_p_value_agrees_with_nested_integrals(n: int) -> None:
    """The exact one-sided p-value, in the part with a closed form and in the part without."""
    least, largest = 1.0 / math.sqrt(n), (n - 1) / math.sqrt(n)
    shares = (0.02, 0.1, 0.2, 0.3, 0.4, 0.6, 0.9) if n < 5 else (0.12, 0.3, 0.6)  # nested twice, these take long
    points = [least + share * (largest - least) for share in shares]
    with mp.workdps(15):
        expected = [float(oracle.grubbs_survival(g, n)) for g in points]
    assert grubbs_p_value(np.array(points), n=n, sides="high") == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("n", [3, 4, 5, 8, 13, 20, 60, 150, 300])
def test_both_parts_of_the_distribution_meet(n: int) -> None:
    """Where the closed form begins, the recursion (which starts at the other end) has reached the same value."""
    joint = math.sqrt((n - 1) * (n - 2) / (2 * n))
    below, above = grubbs_p_value(np.array([joint * (1 - 1e-13), joint * (1 + 1e-13)]), n=n, sides="low")
    assert below == pytest.approx(above, abs=2e-12)


@pytest.mark.parametrize("n", [3, 4, 8, 14, 15, 25, 80])
@pytest.mark.parametrize("alpha", [0.001, 0.01, 0.05, 0.10, 0.4])
def test_critical_value_has_its_level_as_p_value(n: int, alpha: float) -> None:
    """P(G > critical) = alpha for each kind of sides."""
    for sides in SIDES:
        critical = grubbs_critical(n=n, alpha=alpha, sides=sides)
        assert grubbs_p_value(np.array([critical]), n=n, sides=sides)[0] == pytest.approx(alpha, abs=1e-12)


@pytest.mark.parametrize(("n", "alpha"), [(10, 0.1), (20, 0.5), (100, 0.05)])
def test_exact_critical_value_never_exceeds_the_t_formula(n: int, alpha: float) -> None:
    """The t formula counts samples with two values beyond twice, so it can only be too large."""
    from scipy import special

    t = special.stdtrit(n - 2, 1 - alpha / n)
    formula = (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))
    assert grubbs_critical(n=n, alpha=alpha, sides="low") <= formula + 1e-14


def test_statistic_cannot_pass_its_largest_value() -> None:
    """All equal but one gives (n - 1)/sqrt(n), p-value 0."""
    for n in (3, 5, 12):
        x = np.array([[1.1] * (n - 1) + [9.7]])
        g, _ = grubbs_statistic(x, sides="high")
        assert g[0] == pytest.approx((n - 1) / math.sqrt(n), rel=1e-14)
        assert grubbs_p_value(np.array([(n - 1) / math.sqrt(n)]), n=n, sides="high")[0] < 1e-7


# ------------------------------------------------------------------------------------------------ recording step


@pytest.mark.parametrize(
    ("values", "step", "flagged"),
    [
        ([1.5, 1.5, 1.6], 0.1, False),  # all three may be 1.55
        ([1.5, 1.5, 1.6], 0.0, True),  # taken at its word
        ([1.5, 1.5, 1.7], 0.1, False),  # 1.45, 1.55, 1.65 lie evenly
        ([1.5, 1.5, 9.9], 0.1, True),  # no rounding explains this
        ([2.0, 2.0, 2.0, 2.0, 2.1], 0.1, False),
        ([2.0, 2.1, 2.1, 2.2, 4.0], 0.1, True),
    ],
)
def test_a_spread_that_is_only_rounding_is_no_flag(values: list[float], step: float, flagged: bool) -> None:
    """Ties within the recording step raise no flag; real distance does."""
    high = grubbs(np.array([values]), alpha=0.05, sides="high", recording_step=step)
    mirrored = sorted(-value for value in values)
    low = grubbs(np.array([mirrored]), alpha=0.05, sides="low", recording_step=step)
    for screen in (high, low):
        assert (bool(screen.flagged[0]), bool(screen.within_step[0])) == (flagged, not flagged)
    assert (high.position[0], low.position[0]) == (len(values) - 1, 0)


@pytest.mark.parametrize("n", [3, 4, 5, 6])
@pytest.mark.parametrize("side", SIDES[:2])
def test_flag_survives_every_set_of_true_values_or_is_none(n: int, side: Sides) -> None:
    """The least statistic is that of brute force over all corners of the recording intervals, and no more."""
    rng = np.random.default_rng(n)
    step, alpha = 0.1, 0.25  # a liberal level, so that many rows reach the comparison
    x = np.sort(rng.normal(2.5, 0.2, (400, n)).round(1), axis=-1)
    screen = grubbs(x, alpha=alpha, sides=side, recording_step=step)
    assert screen.within_step.any()
    assert n == 3 or screen.flagged.any()
    for row in np.flatnonzero(screen.flagged | screen.within_step):
        values = x[row].tolist() if side == "high" else (-x[row, ::-1]).tolist()
        least = min(float(oracle.own_distance(corner, n - 1)) for corner in oracle.corners(values, step))
        if abs(least - screen.critical) > 1e-9:
            assert bool(screen.flagged[row]) == (least > screen.critical)
        inner = (np.array(values) + rng.uniform(-step / 2, step / 2, (200, n))).tolist()
        assert all(float(oracle.own_distance(point, n - 1)) >= least - 1e-12 for point in inner[:20])


def test_a_step_never_adds_a_flag() -> None:
    """Knowing the step can only take flags off, and more so the coarser it is."""
    x = np.sort(np.random.default_rng(9).normal(2.5, 0.3, (5000, 6)).round(1), axis=-1)
    flags = [grubbs(x, alpha=0.1, sides="two", recording_step=step).flagged for step in (0.0, 0.01, 0.1, 0.2)]
    for finer, coarser in itertools.pairwise(flags):
        assert not (coarser & ~finer).any()
    assert flags[0].sum() > flags[2].sum() > 0


@pytest.mark.parametrize("n", [0, 1, 2, 301])
def test_sizes_without_a_test_are_refused(n: int) -> None:
    """Below 3 values there is no test; above 300 the exact distribution was not checked."""
    with pytest.raises(InvalidSample, match="3 <= n <= 300"):
        grubbs_critical(n=n, alpha=0.05, sides="low")


def test_a_negative_step_is_refused() -> None:
    """A recording step is 0 or positive."""
    with pytest.raises(InvalidSample, match="recording_step"):
        grubbs(np.array([[1.0, 2.0, 3.0]]), alpha=0.05, sides="low", recording_step=-0.1)
