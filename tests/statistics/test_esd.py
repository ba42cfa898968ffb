"""Generalised extreme studentised deviate test: plain twin, levels as published and calibrated, recording step."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import esd, esd_critical, esd_statistics, grubbs
from adhesion_stats.statistics.esd_levels import LEVELS, NOMINAL
from tests import oracle_outliers as oracle


@pytest.mark.parametrize(("n", "r"), [(3, 1), (5, 2), (8, 4), (12, 6), (30, 10)])
def test_statistics_agree_with_the_plain_twin(n: int, r: int) -> None:
    """Each step's statistic and the value that it takes away, with ties; both ends equally far leave either choice."""
    x = np.random.default_rng(n).normal(2.5, 0.6, (40, n))
    x[:20] = x[:20].round(1)
    x[0] = 1.1
    x = np.sort(x, axis=-1)
    statistic, position = esd_statistics(x, r=r)
    compared = 0
    for row, values in enumerate(x.tolist()):
        for at, (expected, away) in enumerate(oracle.esd(values, r)):
            assert statistic[row, at] == pytest.approx(expected, rel=1e-9, abs=1e-12)
            if x[row, position[row, at]] != away:
                assert row < 20
                break
            compared += 1
    assert compared >= 20 * r


@pytest.mark.parametrize(("n", "r"), [(5, 2), (10, 3), (54, 10)])
def test_published_critical_values_agree_with_the_formula(n: int, r: int) -> None:
    """lambda_i by the plain twin."""
    found = esd_critical(n=n, r=r, alpha=0.05, levels="published")
    for i in range(1, r + 1):
        assert found[i - 1] == pytest.approx(oracle.esd_critical(n, i, 0.05), rel=1e-12)


# Nominal 5 %: simulated levels of the published critical values, 200,000 samples each (error 0.0005 to 0.0008).
LIBERAL = [
    (5, 2, 0.097),
    (8, 3, 0.103),
    (10, 3, 0.085),
    (10, 5, 0.135),
    (15, 5, 0.078),
    (20, 5, 0.064),
    (25, 10, 0.061),
    (30, 10, 0.057),
]


@pytest.mark.parametrize(("n", "r", "level"), LIBERAL)
def test_published_levels_are_liberal_and_calibrated_ones_hold(n: int, r: int, level: float) -> None:
    """On samples that neither figure was made from: published as liberal as stated, calibrated 5 and 1 %."""
    samples = 100_000
    x = np.sort(np.random.default_rng([7, n, r]).standard_normal((samples, n)), axis=-1)
    published = esd(x, r=r, alpha=0.05, levels="published", recording_step=0.0).flagged.mean()
    error = math.sqrt(level * (1.0 - level) * (1.0 / samples + 1.0 / 200_000))
    assert abs(published - level) < 3.0 * error + 0.0005  # half of the digit stated
    for alpha in (0.05, 0.01):
        calibrated = esd(x, r=r, alpha=alpha, levels="calibrated", recording_step=0.0).flagged.mean()
        error = math.sqrt(alpha * (1.0 - alpha) * (1.0 / samples + 1.0 / 1_000_000))
        assert abs(calibrated - alpha) < 3.0 * error


@pytest.mark.parametrize("n", [3, 5, 9, 13])
def test_one_outlier_needs_no_calibration(n: int) -> None:
    """For r = 1 the two-sided formula is exact to n = 13: the simulated level is the nominal one within its error."""
    for nominal, stored in zip(NOMINAL, LEVELS[n][0], strict=True):
        if nominal <= 0.05:
            assert abs(stored - nominal) < 4.0 * math.sqrt(nominal * (1.0 - nominal) / 1_000_000)


def test_for_one_outlier_it_is_grubbs_test() -> None:
    """The same critical value, statistic and flags."""
    x = np.sort(np.random.default_rng(3).normal(size=(2000, 9)), axis=-1)
    one = esd(x, r=1, alpha=0.05, levels="published", recording_step=0.0)
    other = grubbs(x, alpha=0.05, sides="two", recording_step=0.0)
    assert one.critical[0] == pytest.approx(other.critical, rel=1e-12)
    assert (one.statistic[:, 0] == other.statistic).all()
    assert (one.flagged == other.flagged).all()


def test_levels_are_ordered() -> None:
    """The level put in grows with the level asked for and shrinks with every further outlier looked for."""
    for by_r in LEVELS.values():
        table = np.array(by_r)
        assert (np.diff(table, axis=1) > 0.0).all()
        assert (np.diff(table, axis=0) < 1e-4).all()


def test_interpolation_between_levels_holds() -> None:
    """At 3 %, between the tabulated 2 and 5 %."""
    samples = 100_000
    x = np.sort(np.random.default_rng(5).standard_normal((samples, 10)), axis=-1)
    level = esd(x, r=3, alpha=0.03, levels="calibrated", recording_step=0.0).flagged.mean()
    assert abs(level - 0.03) < 3.0 * math.sqrt(0.03 * 0.97 / samples) + 0.0003


def test_the_last_step_that_rejects_counts() -> None:
    """Two equal outliers: step 1 is masked, step 2 rejects, both count."""
    x = np.array([[2.0, 2.1, 2.2, 2.3, 2.4, 2.5, 2.6, 2.7, 9.0, 9.0]])
    screen = esd(x, r=3, alpha=0.05, levels="published", recording_step=0.0)
    assert screen.statistic[0, 0] < screen.critical[0]
    assert screen.count.tolist() == [2]
    assert set(screen.position[0, :2].tolist()) == {8, 9}


def test_ties_within_the_recording_step_are_no_outliers() -> None:
    """1.5 four times and 1.6: an outlier at its word, none once the step is known."""
    x = np.array([[1.5, 1.5, 1.5, 1.5, 1.6]])
    screen = esd(x, r=2, alpha=0.05, levels="calibrated", recording_step=0.1)
    assert (screen.count[0], screen.count_as_recorded[0]) == (0, 1)
    real = np.array([[1.5, 1.5, 1.5, 1.5, 9.9]])
    assert esd(real, r=2, alpha=0.05, levels="calibrated", recording_step=0.1).count[0] == 1


def test_what_is_not_calibrated_is_refused() -> None:
    """Beyond n = 50, r = 10 or the levels simulated; and r beyond half of the values."""
    with pytest.raises(InvalidSample, match="n <= 50"):
        esd_critical(n=51, r=2, alpha=0.05, levels="calibrated")
    with pytest.raises(InvalidSample, match="r <= 10"):
        esd_critical(n=40, r=11, alpha=0.05, levels="calibrated")
    with pytest.raises(InvalidSample, match=r"from 0\.005 to 0\.2"):
        esd_critical(n=40, r=2, alpha=0.001, levels="calibrated")
    with pytest.raises(InvalidSample, match="1 <= n <= 2"):
        esd_critical(n=5, r=3, alpha=0.05, levels="published")
