"""Shapiro-Wilk, Anderson-Darling, comparison of distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.diagnostic import normal_ad  # type: ignore[import-untyped]

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    FAMILIES,
    Stack,
    anderson_darling,
    bounds_by_family,
    compare_families,
    fit_bounded,
    normality_power,
    shapiro_wilk,
    tolerance_bound_lower,
)
from tests import oracle_bounds as oracle


@pytest.mark.parametrize("n", [3, 4, 5, 6, 7, 11, 12, 20, 50, 500])
def test_shapiro_wilk_agrees_with_scipy(n: int) -> None:
    """W within 1e-9 and p within 1e-8: scipy takes its normal quantiles from a shorter approximation."""
    x = np.sort(np.random.default_rng(n).gamma(5.0, 1.0, (25, n)), axis=-1)
    found = shapiro_wilk(x, recording_step=0.0)
    expected = [stats.shapiro(row) for row in x]
    assert found.statistic == pytest.approx([e.statistic for e in expected], abs=1e-9)
    assert found.p_value == pytest.approx([e.pvalue for e in expected], abs=1e-8)


@pytest.mark.parametrize("n", [6, 9, 30])
def test_statistics_agree_with_30_digit_arithmetic(n: int) -> None:
    """W and A squared, relative 1e-12."""
    x = np.sort(np.random.default_rng(n).gamma(5.0, 1.0, (1, n)), axis=-1)
    assert shapiro_wilk(x, recording_step=0.0).statistic[0] == pytest.approx(
        float(oracle.shapiro_wilk(x[0].tolist())), rel=1e-12
    )
    if n >= 8:
        a = float(oracle.anderson_darling(x[0].tolist()))
        assert anderson_darling(x, recording_step=0.0).statistic[0] == pytest.approx(a, rel=1e-11)


@pytest.mark.parametrize("n", [8, 12, 40, 200])
def test_anderson_darling_agrees_with_statsmodels(n: int) -> None:
    """Statistic and p-value, from near normal to far from it; theirs loses digits in the far tail, A^2 above 10."""
    rng = np.random.default_rng(n)
    x = np.sort(np.concatenate((rng.normal(0, 1, (20, n)), rng.gamma(0.5, 1.0, (20, n)))), axis=-1)
    found = anderson_darling(x, recording_step=0.0)
    expected = np.array([normal_ad(row) for row in x])
    near = expected[:, 0] < 10.0
    assert near.sum() >= 20
    assert found.statistic[near] == pytest.approx(expected[near, 0], rel=1e-8)
    assert found.statistic == pytest.approx(expected[:, 0], rel=1e-5)
    assert found.p_value == pytest.approx(expected[:, 1], rel=1e-6, abs=1e-14)


@pytest.mark.parametrize("n", [3, 5, 10, 20])
def test_shapiro_wilk_holds_its_level_about(n: int) -> None:
    """Royston's approximation: 4.7 to 5.3 % for 5 % in 100,000 normal samples."""
    x = np.sort(np.random.default_rng(30 + n).normal(0.0, 1.0, (100_000, n)), axis=-1)
    assert 0.047 < float(np.mean(shapiro_wilk(x, recording_step=0.0).p_value < 0.05)) < 0.053


@pytest.mark.parametrize("test", [shapiro_wilk, anderson_darling])
def test_unit_and_origin_do_not_matter(test: object) -> None:
    """2^k times the values and a shift of the origin: the same within rounding."""
    assert callable(test)
    x = np.sort(np.random.default_rng(3).gamma(4.0, 1.0, (5, 12)), axis=-1)
    expected = test(x, recording_step=0.0).p_value
    assert test(8.0 * x, recording_step=0.0).p_value == pytest.approx(expected, rel=1e-12)
    assert test(x + 1000.0, recording_step=0.0).p_value == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("test", [shapiro_wilk, anderson_darling])
def test_equal_values_are_refused(test: object) -> None:
    """With count and row."""
    assert callable(test)
    with pytest.raises(InvalidSample, match="1 of 2 samples have equal ones only, the first in row 1"):
        test(np.array([np.arange(9.0), np.ones(9)]), recording_step=0.0)


def test_too_few_values_are_refused() -> None:
    """Three for the one, eight for the other, 5000 at most."""
    with pytest.raises(InvalidSample, match="at least 3"):
        shapiro_wilk(np.array([[1.0, 2.0]]), recording_step=0.0)
    with pytest.raises(InvalidSample, match="at least 8"):
        anderson_darling(np.arange(7.0)[np.newaxis], recording_step=0.0)
    with pytest.raises(InvalidSample, match="<= 5000"):
        shapiro_wilk(np.arange(5001.0)[np.newaxis], recording_step=0.0)


def test_comparison_is_of_the_three_fits() -> None:
    """Log-likelihoods in the order of FAMILIES, weights that sum to one, the best first among equals."""
    x = np.sort(np.random.default_rng(1).weibull(4.0, (6, 8)), axis=-1)
    stack = Stack(np.arange(6), x, x)
    found = compare_families(stack)
    for i, family in enumerate(FAMILIES):
        assert found.log_likelihood[:, i].tolist() == fit_bounded(stack, family=family).log_likelihood.tolist()
    assert found.weight.sum(axis=-1) == pytest.approx(np.ones(6))
    assert found.best.tolist() == found.weight.argmax(axis=-1).tolist()


def test_bounds_by_family_are_the_three_bounds() -> None:
    """The normal one as a check; all three in the unit of the values."""
    x = np.sort(np.random.default_rng(2).weibull(4.0, (3, 8)), axis=-1)
    found = bounds_by_family(x, content=0.95, confidence=0.75)
    assert list(found) == list(FAMILIES)
    assert found["normal"].tolist() == tolerance_bound_lower(x, content=0.95, confidence=0.75).tolist()
    assert (found["lognormal"] > 0.0).all()
    assert (found["weibull"] < found["lognormal"]).all()


def test_power_is_not_interpolated() -> None:
    """N = 6 was not simulated."""
    with pytest.raises(InvalidSample, match="simulated for n = 3, 5, 8"):
        normality_power(n=6, population="normal")
