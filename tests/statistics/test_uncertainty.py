"""Uncertainty budgets, conformity and guard bands."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    Budget,
    Component,
    acceptance_limits,
    conformity_probability,
    from_resolution,
    guard_band,
    guard_band_for_probability,
    half_width_rectangular,
    half_width_triangular,
    propagate,
    strength_budget,
)
from adhesion_stats.statistics.uncertainty import Component as SameComponent


def _component(
    name: str, u: float, *, df: float = math.inf, common: bool = False, sensitivity: float = 1.0
) -> Component:
    return Component(
        name=name, value=1.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=sensitivity, common=common
    )


def test_common_part_does_not_shrink_with_n() -> None:
    """A calibration of 3 and a reading of 4: 5 for one result, and never below 3 for the mean of any number."""
    budget = Budget(value=100.0, components=(_component("calibration", 3.0, common=True), _component("reading", 4.0)))
    assert (budget.combined, budget.common, budget.independent) == (5.0, 3.0, 4.0)
    assert budget.of_mean(n=1) == 5.0
    assert budget.of_mean(n=16) == pytest.approx(math.sqrt(10.0), rel=1e-14)
    assert 3.0 < budget.of_mean(n=10**9) < 3.0 + 1e-6


def test_mean_of_results_by_simulation() -> None:
    """The spread of means with a shared and an own error is what ``of_mean`` says."""
    rng = np.random.default_rng(1)
    means = rng.normal(0.0, 3.0, 100_000) + rng.normal(0.0, 4.0, (100_000, 5)).mean(axis=1)
    budget = Budget(value=0.0, components=(_component("calibration", 3.0, common=True), _component("reading", 4.0)))
    assert means.std() == pytest.approx(budget.of_mean(n=5), rel=4 / math.sqrt(200_000))


def test_expanded_by_normal_and_t() -> None:
    """Known uncertainties take the normal quantile, estimated ones t at the whole degrees of freedom below."""
    known = Budget(value=0.0, components=(_component("a", 2.0),))
    assert known.effective_degrees_of_freedom == math.inf
    assert known.expanded(confidence=0.95) == pytest.approx(2.0 * stats.norm.isf(0.025), rel=1e-12)
    estimated = Budget(value=0.0, components=(_component("a", 2.0, df=7.9),))
    assert estimated.expanded(confidence=0.95) == pytest.approx(2.0 * stats.t.isf(0.025, 7), rel=1e-12)
    exact = Budget(value=0.0, components=(_component("a", 2.0, df=7.0),))
    assert exact.expanded(confidence=0.95) == pytest.approx(2.0 * stats.t.isf(0.025, 7), rel=1e-12)


def test_expanded_of_a_mean() -> None:
    """The independent part shrinks, and with it its share of the degrees of freedom."""
    budget = Budget(
        value=0.0, components=(_component("calibration", 1.0, df=50.0, common=True), _component("reading", 4.0, df=4.0))
    )
    u = math.sqrt(1.0 + 16.0 / 100)
    df = u**4 / (1.0 / 50 + 0.16**2 / 4)
    assert budget.expanded_of_mean(n=100, confidence=0.95) == pytest.approx(
        u * stats.t.isf(0.025, math.floor(df)), rel=1e-12
    )
    assert budget.expanded_of_mean(n=1, confidence=0.95) == budget.expanded(confidence=0.95)


def test_standard_uncertainties_from_limits() -> None:
    """Sqrt 3, sqrt 6, sqrt 12, by the variances of the distributions."""
    assert half_width_rectangular(2.0) ** 2 == pytest.approx(stats.uniform(-2, 4).var(), rel=1e-12)
    assert half_width_triangular(2.0) ** 2 == pytest.approx(stats.triang(0.5, -2, 4).var(), rel=1e-12)
    assert from_resolution(0.1) == pytest.approx(half_width_rectangular(0.05), rel=1e-14)


def test_budget_that_is_none_is_refused() -> None:
    """Nothing in it, a name twice, a negative uncertainty, no degrees of freedom."""
    with pytest.raises(InvalidSample, match="at least one component"):
        Budget(value=0.0, components=())
    with pytest.raises(InvalidSample, match="more of a"):
        Budget(value=0.0, components=(_component("a", 1.0), _component("a", 2.0)))
    with pytest.raises(InvalidSample, match="standard uncertainty of 'a'"):
        _component("a", -1.0)
    with pytest.raises(InvalidSample, match="degrees of freedom of 'a'"):
        _component("a", 1.0, df=0.0)
    with pytest.raises(InvalidSample, match="finite value"):
        _component("a", 1.0, sensitivity=math.nan)


def test_strength_budget_agrees_with_simulated_pulls() -> None:
    """Load over area with all four errors drawn: spread of one result and of the mean of six."""
    budget = strength_budget(
        load_n=4000.0,
        diameter_mm=50.0,
        calibration_relative=0.02,
        calibration_df=math.inf,
        resolution_n=100.0,
        diameter_u_mm=0.3,
        diameter_df=math.inf,
        diameter_common=False,
        alignment_relative=0.03,
    )
    rng = np.random.default_rng(2)
    g, n = 40_000, 6
    load = 4000.0 * (1.0 + 0.02 * rng.standard_normal((g, 1))) + rng.uniform(-50.0, 50.0, (g, n))
    strength = (
        load * rng.uniform(0.97, 1.03, (g, n)) * 4.0 / (math.pi * (50.0 + 0.3 * rng.standard_normal((g, n))) ** 2)
    )
    assert budget.value == pytest.approx(4000.0 / (math.pi * 625.0), rel=1e-14)
    assert strength[:, 0].std() == pytest.approx(budget.combined, rel=0.015)  # 4 errors of the sd: 4 / sqrt(2 g)
    assert strength.mean(axis=1).std() == pytest.approx(budget.of_mean(n=n), rel=0.015)
    assert budget.common == pytest.approx(0.02 * budget.value, rel=1e-12)
    assert [type(component) for component in budget.components] == [SameComponent] * 4


def test_a_nominal_diameter_is_common() -> None:
    """One diameter for all discs moves its part to the common side."""

    def budget(*, common: bool) -> Budget:
        return strength_budget(
            load_n=4000.0,
            diameter_mm=50.0,
            calibration_relative=0.0,
            calibration_df=math.inf,
            resolution_n=0.0,
            diameter_u_mm=0.5,
            diameter_df=math.inf,
            diameter_common=common,
            alignment_relative=0.0,
        )

    own, nominal = budget(common=False), budget(common=True)
    assert own.combined == nominal.combined == pytest.approx(2 * own.value / 50.0 * 0.5, rel=1e-14)
    assert (own.common, nominal.independent) == (0.0, 0.0)


def test_propagate_refuses_what_is_no_covariance() -> None:
    """Shapes that do not fit, an asymmetric matrix."""
    with pytest.raises(InvalidSample, match="shapes"):
        propagate(sensitivities=np.ones((1, 2)), covariance=np.eye(3))
    with pytest.raises(InvalidSample, match="symmetric"):
        propagate(sensitivities=np.ones((1, 2)), covariance=np.array([[1.0, 0.5], [0.0, 1.0]]))


# ------------------------------------------------------------------------------------------------ conformity


def test_conformity_probability_by_scipy_in_both_tails() -> None:
    """Far tails keep their digits."""
    y = np.array([-3.0, 0.0, 1.0, 1.4, 2.0, 9.0])
    p = conformity_probability(y, standard_uncertainty=0.4, lower=1.0, upper=1.5)
    low, high = (1.0 - y) / 0.4, (1.5 - y) / 0.4
    expected = np.where(low > 0, stats.norm.sf(low) - stats.norm.sf(high), stats.norm.cdf(high) - stats.norm.cdf(low))
    assert p == pytest.approx(expected, rel=1e-12, abs=0.0)
    assert 0.0 < p[0] < 1e-20
    one = conformity_probability(y, standard_uncertainty=0.4, lower=1.0, upper=math.inf)
    assert one == pytest.approx(stats.norm.sf((1.0 - y) / 0.4), rel=1e-12, abs=0.0)


def test_guard_bands_in_and_out() -> None:
    """Guarded acceptance moves limits inwards, guarded rejection outwards, and both may not cross."""
    assert acceptance_limits(lower=1.0, upper=2.0, width=0.1, guarded_for="acceptance") == (1.1, 1.9)
    assert acceptance_limits(lower=1.0, upper=2.0, width=0.1, guarded_for="rejection") == (0.9, 2.1)
    assert guard_band(expanded_uncertainty=0.3, multiple=0.0) == 0.0
    with pytest.raises(InvalidSample, match="leave room"):
        acceptance_limits(lower=1.0, upper=2.0, width=0.5, guarded_for="acceptance")
    with pytest.raises(InvalidSample, match="to be one of"):
        acceptance_limits(lower=1.0, upper=2.0, width=0.1, guarded_for="both")  # type: ignore[arg-type]


def test_guard_band_by_probability_gives_that_probability() -> None:
    """A result at the acceptance limit conforms with the probability asked for."""
    for probability in (0.5, 0.8, 0.95, 0.999):
        width = guard_band_for_probability(standard_uncertainty=0.2, probability=probability)
        p = conformity_probability(np.array([1.5 + width]), standard_uncertainty=0.2, lower=1.5, upper=math.inf)
        assert p[0] == pytest.approx(probability, rel=1e-12)
    with pytest.raises(InvalidSample, match=r"at least 0\.5"):
        guard_band_for_probability(standard_uncertainty=0.2, probability=0.4)


def test_limits_that_are_none_are_refused() -> None:
    """No limit at all, or limits in the wrong order."""
    for lower, upper in ((-math.inf, math.inf), (2.0, 1.0), (math.nan, 1.0)):
        with pytest.raises(InvalidSample, match="lower < upper"):
            conformity_probability(np.array([1.0]), standard_uncertainty=0.1, lower=lower, upper=upper)
