"""How many: against plain search, quadrature and simulation."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    k_one_sided,
    mean_and_sd,
    n_for_half_width,
    n_for_half_width_assured,
    n_for_t_test,
    n_for_tolerance_bound,
    power_of_t_test,
    power_of_tolerance_bound,
)
from tests import oracle_outliers as oracle

# Calculated apart from the package (t quantiles, search by hand); rows: coefficient of variation 10 to 30 %, columns:
# half-width 10, 15, 20 % of the mean at 95 %.
TABLE = {0.10: (7, 5, 4), 0.15: (12, 7, 5), 0.20: (18, 10, 7), 0.25: (27, 14, 9), 0.30: (38, 18, 12)}


@pytest.mark.parametrize("cov", TABLE)
def test_table_of_half_widths(cov: float) -> None:
    """N by coefficient of variation and half-width."""
    found = tuple(n_for_half_width(cov=cov, half_width=e, confidence=0.95) for e in (0.10, 0.15, 0.20))
    assert found == TABLE[cov]


@pytest.mark.parametrize("confidence", [0.75, 0.95, 0.99])
def test_half_width_by_plain_search(confidence: float) -> None:
    """The first n that reaches it, counted up from 2."""
    for ratio in (0.05, 0.3, 0.7, 1.0, 5.0, 40.0):
        n = 2
        while stats.t.isf(0.5 * (1 - confidence), n - 1) / math.sqrt(n) > ratio:
            n += 1
        assert n_for_half_width(cov=1.0, half_width=ratio, confidence=confidence) == n


@pytest.mark.parametrize("assurance", [0.5, 0.9])
def test_assured_half_width_by_simulation(assurance: float) -> None:
    """At the n found the half-width is kept with the probability asked for, at one fewer it is not."""
    n = n_for_half_width_assured(cov=0.25, half_width=0.15, confidence=0.95, assurance=assurance)
    rng = np.random.default_rng(1)

    def kept(size: int) -> float:
        _, sd = mean_and_sd(np.sort(rng.normal(1.0, 0.25, (100_000, size)), axis=-1))
        return float(np.mean(stats.t.isf(0.025, size - 1) * sd / math.sqrt(size) <= 0.15))

    error = math.sqrt(assurance * (1 - assurance) / 100_000)
    assert kept(n) > assurance - 3 * error
    assert kept(n - 1) < assurance + 3 * error


@pytest.mark.parametrize(("n", "distance"), [(2, 3.0), (5, 2.0), (10, 1.8), (30, 1.7), (8, 0.5), (8, -1.0)])
def test_power_of_the_tolerance_bound_agrees_with_high_precision(n: int, distance: float) -> None:
    """Non-central t by 30-digit integration."""
    k = k_one_sided(n=n, content=0.95, confidence=0.75)
    expected = oracle.noncentral_t_above(k * math.sqrt(n), n - 1, math.sqrt(n) * distance)
    found = power_of_tolerance_bound(n=n, distance=distance, content=0.95, confidence=0.75)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-13)


def test_power_of_the_tolerance_bound_by_simulation() -> None:
    """N = 6, two and a half sd above the limit."""
    x = np.sort(np.random.default_rng(2).normal(2.5, 1.0, (200_000, 6)), axis=-1)
    mean, sd = mean_and_sd(x)
    share = float(np.mean(mean - k_one_sided(n=6, content=0.95, confidence=0.75) * sd >= 0.0))
    power = power_of_tolerance_bound(n=6, distance=2.5, content=0.95, confidence=0.75)
    assert abs(share - power) < 3 * math.sqrt(power * (1 - power) / 200_000)


@pytest.mark.parametrize("n", [2, 3, 10, 50])
def test_at_the_fractile_itself_the_power_is_the_risk(n: int) -> None:
    """With exactly the content above the limit the bound clears it with one minus the confidence."""
    for confidence in (0.75, 0.95):
        at = float(stats.norm.ppf(0.95))
        found = power_of_tolerance_bound(n=n, distance=at, content=0.95, confidence=confidence)
        assert found == pytest.approx(1.0 - confidence, abs=1e-10)


@pytest.mark.parametrize(("distance", "power"), [(2.5, 0.9), (2.0, 0.8), (4.0, 0.95), (1.8, 0.5)])
def test_n_for_the_tolerance_bound_by_plain_search(distance: float, power: float) -> None:
    """The first n that reaches the power, and every later one does."""
    n = n_for_tolerance_bound(distance=distance, content=0.95, confidence=0.75, power=power)
    reached = [
        bool(
            stats.nct.sf(k_one_sided(n=m, content=0.95, confidence=0.75) * math.sqrt(m), m - 1, math.sqrt(m) * distance)
            >= power
        )
        for m in range(2, n + 30)
    ]
    assert reached == [False] * (n - 2) + [True] * 30


@pytest.mark.parametrize(("n", "distance"), [(2, 1.0), (6, 0.8), (12, 1.5), (25, 0.3), (5, -0.5)])
def test_power_of_the_t_test_agrees_with_high_precision(n: int, distance: float) -> None:
    """Non-central t by 30-digit integration."""
    expected = oracle.noncentral_t_above(float(stats.t.isf(0.05, n - 1)), n - 1, math.sqrt(n) * distance)
    assert power_of_t_test(n=n, distance=distance, alpha=0.05) == pytest.approx(expected, rel=1e-9, abs=1e-13)


def test_power_of_the_t_test_by_scipy() -> None:
    """Scipy's own test on simulated samples."""
    x = np.random.default_rng(3).normal(0.8, 1.0, (100_000, 8))
    result: Any = stats.ttest_1samp(x, 0.0, axis=1, alternative="greater")
    share, power = float(np.mean(result.pvalue < 0.05)), power_of_t_test(n=8, distance=0.8, alpha=0.05)
    assert abs(share - power) < 3 * math.sqrt(power * (1 - power) / 100_000)


@pytest.mark.parametrize(("distance", "power"), [(1.0, 0.9), (0.5, 0.8), (3.0, 0.99), (0.1, 0.6)])
def test_n_for_the_t_test_by_plain_search(distance: float, power: float) -> None:
    """The first n that reaches the power."""
    n = 2
    while stats.nct.sf(stats.t.isf(0.05, n - 1), n - 1, math.sqrt(n) * distance) < power:
        n += 1
    assert n_for_t_test(distance=distance, alpha=0.05, power=power) == n


def test_what_no_number_of_values_can_show_is_refused() -> None:
    """A fractile below the limit, a distance of nothing, a width that needs more than is planned for."""
    with pytest.raises(InvalidSample, match="no number of values"):
        n_for_tolerance_bound(distance=1.6, content=0.95, confidence=0.75, power=0.9)
    with pytest.raises(InvalidSample, match="distance"):
        n_for_t_test(distance=0.0, alpha=0.05, power=0.9)
    with pytest.raises(InvalidSample, match="more than 100000"):
        n_for_half_width(cov=1.0, half_width=0.001, confidence=0.95)
