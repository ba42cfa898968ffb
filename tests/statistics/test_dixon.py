"""Dixon's ratios against their plain twin, conventions, and the recording step."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import CONVENTIONS, dixon, dixon_critical, dixon_p_value, dixon_ratio, ratio_for
from adhesion_stats.statistics.dixon import Ratio
from adhesion_stats.statistics.screening import Sides
from tests import oracle_statistics as oracle

RATIOS: list[tuple[Ratio, int]] = [("r10", 3), ("r11", 4), ("r20", 4), ("r12", 5), ("r21", 5), ("r22", 6)]

SIDES: tuple[Sides, ...] = ("low", "high", "two")


@pytest.mark.parametrize(("ratio", "smallest"), RATIOS)
@pytest.mark.parametrize("more", [0, 1, 5])
def test_ratio_agrees_with_the_plain_twin(ratio: Ratio, smallest: int, more: int) -> None:
    """Every ratio at either end, with ties, equal values and a denominator of zero."""
    n = smallest + more
    x = np.random.default_rng(n).normal(2.5, 0.2, (60, n)).round(1)
    x[0] = 1.1
    x[1, :-1] = 1.1
    x[2, 1:] = 1.1
    x = np.sort(x, axis=-1)
    low, high = dixon_ratio(x, ratio=ratio, sides="low")[0], dixon_ratio(x, ratio=ratio, sides="high")[0]
    two, which = dixon_ratio(x, ratio=ratio, sides="two")
    for row, values in enumerate(x.tolist()):
        assert low[row] == pytest.approx(float(oracle.dixon(values, ratio=ratio, high=False)), rel=1e-14)
        assert high[row] == pytest.approx(float(oracle.dixon(values, ratio=ratio, high=True)), rel=1e-14)
        assert two[row] == max(low[row], high[row])
        assert which[row] == (high[row] > low[row])


@pytest.mark.parametrize(("ratio", "smallest"), RATIOS)
def test_p_value_agrees_with_plain_loops(ratio: Ratio, smallest: int) -> None:
    """P(R > r) is that of Simpson's rule written out, to the error of that rule."""
    n = smallest + 2
    for r in (0.15, 0.5, 0.8):
        expected = oracle.dixon_survival(r, n, ratio, steps=160)
        assert dixon_p_value(np.array([r]), ratio=ratio, n=n, sides="low")[0] == pytest.approx(expected, abs=2e-7)


@pytest.mark.parametrize(("ratio", "smallest"), RATIOS)
@pytest.mark.parametrize("more", [0, 4, 24, 90])
def test_critical_value_has_its_level_as_p_value(ratio: Ratio, smallest: int, more: int) -> None:
    """Root of the integral and interpolant of the integral agree."""
    n = smallest + more
    for alpha in (0.001, 0.01, 0.05, 0.3, 0.9):
        for sides in SIDES:
            critical = dixon_critical(ratio=ratio, n=n, alpha=alpha, sides=sides)
            p = dixon_p_value(np.array([critical]), ratio=ratio, n=n, sides=sides)
            assert p[0] == pytest.approx(alpha, abs=1e-12)


@pytest.mark.parametrize(("ratio", "smallest"), RATIOS)
def test_the_smallest_size_of_each_ratio(ratio: Ratio, smallest: int) -> None:
    """One value fewer and the gap would be the span."""
    assert 0.0 < dixon_critical(ratio=ratio, n=smallest, alpha=0.05, sides="low") < 1.0
    with pytest.raises(InvalidSample, match=f"{smallest} <= n <= 100"):
        dixon_critical(ratio=ratio, n=smallest - 1, alpha=0.05, sides="low")


def test_ratios_beyond_0_to_1_have_no_p_value() -> None:
    """A ratio is a share."""
    with pytest.raises(InvalidSample, match="ratios from 0 to 1"):
        dixon_p_value(np.array([1.2]), ratio="r10", n=5, sides="low")


def test_p_values_at_the_ends() -> None:
    """A gap of nothing is no surprise, a gap of everything can't happen."""
    p = dixon_p_value(np.array([0.0, 1.0]), ratio="r10", n=7, sides="low")
    assert p.tolist() == [pytest.approx(1.0, abs=1e-13), pytest.approx(0.0, abs=1e-13)]


# ------------------------------------------------------------------------------------------------ conventions


def test_conventions_name_one_ratio_per_size() -> None:
    """Ranges follow each other without gap or overlap, and each ratio exists at every size of its range."""
    for convention in CONVENTIONS.values():
        ends = [0, *(last for _, last, _ in convention.ranges)]
        for (first, last, ratio), end in zip(convention.ranges, ends, strict=False):
            assert first == (end + 1 if end else 3)
            assert first <= last
            dixon_critical(ratio=ratio, n=first, alpha=0.05, sides="low")


@pytest.mark.parametrize(
    ("n", "ratio"), [(3, "r10"), (7, "r10"), (8, "r11"), (10, "r11"), (11, "r21"), (13, "r21"), (14, "r22")]
)
def test_e178_ratios(n: int, ratio: str) -> None:
    """r10 to 7, r11 to 10, r21 to 13, r22 to 30."""
    assert ratio_for(n=n, convention="E178") == ratio


def test_sizes_and_names_without_convention_are_refused() -> None:
    """A convention says nothing beyond its range; an unknown one says nothing at all."""
    with pytest.raises(InvalidSample, match="n = 3 to 30"):
        ratio_for(n=31, convention="E178")
    with pytest.raises(InvalidSample, match="expected convention to be one of"):
        ratio_for(n=5, convention="E999")


# ------------------------------------------------------------------------------------------------ recording step


@pytest.mark.parametrize(
    ("values", "step", "flagged"),
    [
        ([1.5, 1.5, 1.6], 0.1, False),
        ([1.5, 1.5, 1.6], 0.0, True),
        ([1.5, 1.5, 1.7], 0.1, False),
        ([1.5, 1.5, 9.9], 0.1, True),
        ([2.0, 2.1, 2.1, 2.2, 4.0], 0.1, True),
    ],
)
def test_a_gap_that_is_only_rounding_is_no_flag(values: list[float], step: float, flagged: bool) -> None:
    """Ties within the recording step raise no flag; real distance does."""
    high = dixon(np.array([values]), alpha=0.05, sides="high", convention="E178", recording_step=step)
    mirrored = np.array([sorted(-value for value in values)])
    low = dixon(mirrored, alpha=0.05, sides="low", convention="E178", recording_step=step)
    for screen in (high, low):
        assert (bool(screen.flagged[0]), bool(screen.within_step[0])) == (flagged, not flagged)
    assert (high.position[0], low.position[0]) == (len(values) - 1, 0)


@pytest.mark.parametrize(("ratio", "n"), [("r10", 3), ("r10", 5), ("r11", 6), ("r21", 6), ("r22", 7)])
def test_the_least_ratio_is_that_of_brute_force(ratio: Ratio, n: int) -> None:
    """The smallest ratio over all corners of the recording intervals is (gap - step)/span; inner points stay above."""
    rng = np.random.default_rng(n)
    for _ in range(30):
        values = sorted(rng.normal(2.5, 0.3, n).round(1).tolist())
        j, i = {"r10": (1, 1), "r11": (1, 2), "r21": (2, 2), "r22": (2, 3)}[ratio]
        span = values[-1] - values[i - 1]
        least = max(0.0, values[-1] - values[-1 - j] - 0.1) / span if span > 0 else 0.0
        brute = min(float(oracle.dixon(corner, ratio=ratio, high=True)) for corner in oracle.corners(values, 0.1))
        assert least == pytest.approx(brute, abs=1e-12)
        for point in (np.array(values) + rng.uniform(-0.05, 0.05, (20, n))).tolist():
            assert float(oracle.dixon(point, ratio=ratio, high=True)) >= least - 1e-12


def test_three_values_make_grubbs_and_dixon_one_test() -> None:
    """At n = 3 both statistics order samples alike, so both flag the same rows."""
    from adhesion_stats.statistics import grubbs

    x = np.sort(np.random.default_rng(2).normal(3.0, 0.5, (20_000, 3)), axis=-1)
    by_dixon = dixon(x, alpha=0.05, sides="high", convention="E178", recording_step=0.0).flagged
    by_grubbs = grubbs(x, alpha=0.05, sides="high", recording_step=0.0).flagged
    assert (by_dixon == by_grubbs).all()


def test_two_sided_r10_counts_both_ends_once_above_one_half() -> None:
    """Both ratios of a sample can't exceed 1/2, so the two-sided p-value is just twice the one-sided one there."""
    x = np.sort(np.random.default_rng(3).normal(0.0, 1.0, (20_000, 5)), axis=-1)
    low, high = dixon_ratio(x, ratio="r10", sides="low")[0], dixon_ratio(x, ratio="r10", sides="high")[0]
    assert not ((low > 0.5) & (high > 0.5)).any()
    one = dixon_p_value(np.array([0.7]), ratio="r10", n=5, sides="high")[0]
    assert dixon_p_value(np.array([0.7]), ratio="r10", n=5, sides="two")[0] == 2.0 * one
    assert math.isclose(dixon_critical(ratio="r10", n=5, alpha=2.0 * one, sides="two"), 0.7, rel_tol=1e-11)
