"""Prediction, confidence intervals of spread, shares below a limit, bounds by order statistics, two samples."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from scipy import optimize, stats
from statsmodels.stats.proportion import proportion_confint  # type: ignore[import-untyped]

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    chance_next_all_above,
    confidence_interval_cov,
    confidence_interval_sd,
    confidence_of_order_statistic,
    en1990_unknown,
    k_one_sided,
    k_smallest_of_next,
    n_for_order_statistic,
    order_statistic_bound,
    prediction_bound_mean,
    prediction_bound_smallest,
    prediction_interval_mean,
    sd_test,
    share_below_normal,
    share_interval_exact,
    share_interval_wilson,
    t_test,
)
from tests import oracle_bounds as oracle

SAMPLE = np.array([[1.8, 2.0, 2.3, 2.4, 3.0]])
MEAN, SD = 2.3, float(np.std(SAMPLE, ddof=1))


def test_prediction_of_the_next_value_is_en1990() -> None:
    """The lower 95 % prediction bound for one value is the characteristic value of Annex D."""
    bound = prediction_bound_mean(SAMPLE, m=1, confidence=0.95)
    assert bound == pytest.approx(en1990_unknown(SAMPLE, factors="formula"), rel=1e-14)


def test_prediction_of_the_smallest_of_one_is_that_of_the_next() -> None:
    """T sqrt(1 + 1/n) within 1e-10."""
    for n in (2, 3, 5, 12, 40):
        for confidence in (0.05, 0.5, 0.75, 0.95, 0.99):
            t = stats.t.ppf(confidence, n - 1) * math.sqrt(1.0 + 1.0 / n)
            assert k_smallest_of_next(n=n, m=1, confidence=confidence) == pytest.approx(t, rel=1e-9, abs=1e-10)


def test_prediction_of_the_smallest_agrees_with_nested_integrals() -> None:
    """The probability reached, by mpmath."""
    k = k_smallest_of_next(n=5, m=3, confidence=0.9)
    assert float(oracle.all_next_above(k, 5, 3)) == pytest.approx(0.9, abs=1e-9)


def test_prediction_bounds_are_mean_less_k_sd() -> None:
    """And both ends lie alike around the mean."""
    k = k_smallest_of_next(n=5, m=4, confidence=0.9)
    assert prediction_bound_smallest(SAMPLE, m=4, confidence=0.9)[0] == pytest.approx(MEAN - k * SD, rel=1e-13)
    low, high = prediction_interval_mean(SAMPLE, m=2, confidence=0.9)
    half = stats.t.ppf(0.95, 4) * SD * math.sqrt(0.7)
    assert (low[0], high[0]) == (pytest.approx(MEAN - half, rel=1e-12), pytest.approx(MEAN + half, rel=1e-12))


def test_interval_of_the_sd_agrees_with_scipy() -> None:
    """Chi-square quantiles."""
    low, high = confidence_interval_sd(SAMPLE, confidence=0.9)
    assert low[0] == pytest.approx(SD * math.sqrt(4 / stats.chi2.ppf(0.95, 4)), rel=1e-13)
    assert high[0] == pytest.approx(SD * math.sqrt(4 / stats.chi2.ppf(0.05, 4)), rel=1e-13)


def test_interval_of_the_cov_agrees_with_a_root_search_in_scipy() -> None:
    """P(T <= t) of the non-central t at both limits."""
    low, high = confidence_interval_cov(SAMPLE, confidence=0.9)
    t = math.sqrt(5) * MEAN / SD
    for limit, p in ((low[0], 0.05), (high[0], 0.95)):
        delta = optimize.brentq(lambda d, p=p: stats.nct.cdf(t, 4, d) - p, 0.0, 50.0, xtol=1e-13)
        assert limit == pytest.approx(math.sqrt(5) / delta, rel=1e-9)


def test_a_cov_without_upper_limit_is_infinite() -> None:
    """Where the sample can't tell the mean from zero; equal values have none to tell."""
    low, high = confidence_interval_cov(np.array([[0.1, 5.0], [2.0, 2.0]]), confidence=0.95)
    assert np.isinf(high[0])
    assert 0.0 < low[0] < 1.0
    assert (low[1], high[1]) == (0.0, 0.0)
    with pytest.raises(InvalidSample, match="mean above zero"):
        confidence_interval_cov(np.array([[-2.0, 1.0]]), confidence=0.95)


def test_share_below_is_the_tolerance_bound_turned_round() -> None:
    """At mean - k sd the upper limit is 1 - content, for both tails of the confidence."""
    for content, confidence in ((0.95, 0.75), (0.9, 0.95), (0.5, 0.9)):
        limit = MEAN - k_one_sided(n=5, content=content, confidence=confidence) * SD
        found = share_below_normal(SAMPLE, limit=limit, confidence=confidence)
        assert found.high[0] == pytest.approx(1.0 - content, rel=1e-8)
        limit = MEAN - k_one_sided(n=5, content=content, confidence=1.0 - confidence) * SD
        found = share_below_normal(SAMPLE, limit=limit, confidence=confidence)
        assert found.low[0] == pytest.approx(1.0 - content, rel=1e-8)


def test_share_below_refuses_equal_values() -> None:
    """No spread to judge by."""
    with pytest.raises(InvalidSample, match="row 1 has equal ones"):
        share_below_normal(np.array([[1.0, 2.0], [2.0, 2.0]]), limit=1.0, confidence=0.9)


@pytest.mark.parametrize("n", [1, 5, 11])
def test_share_by_counts_agrees_with_exact_sums_and_statsmodels(n: int) -> None:
    """Clopper-Pearson against fractions, both against statsmodels."""
    counts = np.arange(n + 1)
    low, high = share_interval_exact(counts, n=n, confidence=0.9)
    wilson = share_interval_wilson(counts, n=n, confidence=0.9)
    for k in counts:
        assert (low[k], high[k]) == pytest.approx(oracle.exact_share_limits(int(k), n, 0.9), abs=1e-12)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            expected = proportion_confint(int(k), n, alpha=0.1, method="wilson")
        assert (wilson[0][k], wilson[1][k]) == pytest.approx(expected, abs=1e-12)


def test_counts_beyond_n_are_refused() -> None:
    """Six of five."""
    with pytest.raises(InvalidSample, match="0 to n = 5"):
        share_interval_exact(np.array([6]), n=5, confidence=0.9)


def test_order_statistic_confidence_agrees_with_exact_sums() -> None:
    """Binomial sums in fractions."""
    from fractions import Fraction

    for n in (1, 4, 20):
        for rank in range(1, n + 1):
            expected = oracle.binomial_at_least(rank, n, Fraction(1, 20))
            assert confidence_of_order_statistic(n=n, rank=rank, content=0.95) == pytest.approx(
                float(expected), rel=1e-11
            )


def test_n_for_order_statistic_is_the_smallest() -> None:
    """One value less does not do."""
    for rank, content, confidence in ((1, 0.9, 0.9), (3, 0.95, 0.75), (1, 0.2, 0.1)):
        n = n_for_order_statistic(rank=rank, content=content, confidence=confidence)
        assert confidence_of_order_statistic(n=n, rank=rank, content=content) >= confidence
        assert n == rank or confidence_of_order_statistic(n=n - 1, rank=rank, content=content) < confidence


def test_too_few_values_for_an_order_statistic_are_told_how_many() -> None:
    """Five of the 59 that 95/95 needs."""
    with pytest.raises(InvalidSample, match=r"confidence 0\.226 only; 0\.95 needs 59 values"):
        order_statistic_bound(SAMPLE, content=0.95, confidence=0.95)


def test_order_statistic_takes_the_largest_rank_that_holds() -> None:
    """Fifty values, 90 % content at 75 %: the fourth smallest holds 0.7497, so the third."""
    bound = order_statistic_bound(np.arange(50.0)[np.newaxis], content=0.9, confidence=0.75)
    assert (bound.rank, bound.value[0]) == (3, 2.0)
    assert bound.confidence == pytest.approx(stats.binom.sf(2, 50, 0.1), rel=1e-12)
    assert stats.binom.sf(3, 50, 0.1) < 0.75


def test_chance_that_all_next_values_lie_above() -> None:
    """Counted over all orders of 3 + 2 values: both of two new ones above the second smallest of three."""
    import itertools

    orders = list(itertools.permutations(range(5)))
    hits = sum(min(order[3:]) > sorted(order[:3])[1] for order in orders)
    assert chance_next_all_above(n=3, rank=2, m=2) == pytest.approx(hits / len(orders), rel=1e-14)


@pytest.mark.parametrize("spreads", ["equal", "unequal"])
def test_t_tests_agree_with_scipy(spreads: str) -> None:
    """Statistic, degrees of freedom, p-value and interval."""
    rng = np.random.default_rng(5)
    a, b = np.sort(rng.normal(2.0, 0.3, (4, 5)), axis=-1), np.sort(rng.normal(2.3, 0.6, (4, 8)), axis=-1)
    found = t_test(a, b, spreads="equal" if spreads == "equal" else "unequal", confidence=0.9, recording_step=0.0)
    for i in range(4):
        expected = stats.ttest_ind(a[i], b[i], equal_var=spreads == "equal")
        interval = expected.confidence_interval(0.9)
        assert found.statistic[i] == pytest.approx(expected.statistic, rel=1e-12)
        assert found.degrees_of_freedom[i] == pytest.approx(expected.df, rel=1e-12)
        assert found.p_value[i] == pytest.approx(expected.pvalue, rel=1e-11)
        assert (found.low[i], found.high[i]) == pytest.approx((interval.low, interval.high), rel=1e-11)


def test_t_test_of_no_spread_is_refused() -> None:
    """Both samples of equal values."""
    with pytest.raises(InvalidSample, match="row 0 has none"):
        t_test(np.ones((1, 3)), np.ones((1, 4)), spreads="equal", confidence=0.9, recording_step=0.0)


def test_sd_test_agrees_with_scipy() -> None:
    """Both p-values."""
    found = sd_test(SAMPLE, sd=0.3, confidence=0.9, recording_step=0.0)
    statistic = 4 * (SD / 0.3) ** 2
    assert found.statistic[0] == pytest.approx(statistic, rel=1e-13)
    assert found.p_upper[0] == pytest.approx(stats.chi2.sf(statistic, 4), rel=1e-11)
    assert found.p_lower[0] == pytest.approx(stats.chi2.cdf(statistic, 4), rel=1e-11)
