"""Calibrated limits of samples with bounded values; the exact Weibull bound; the committed coverage study."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    Stack,
    bounded_confidence_above,
    bounded_fractile_limit,
    bounded_share_below,
    confidence_above_weibull,
    k_one_sided,
    mean_and_sd,
    share_below_normal,
    tolerance_bound_weibull,
)
from adhesion_stats.statistics.families import Family
from tests import oracle_bounds as oracle

INF = math.inf


def _complete(n: int, g: int = 5) -> Stack:
    x = np.sort(np.random.default_rng(n).normal(3.0, 0.5, (g, n)), axis=-1)
    return Stack(np.arange(g), x, x)


@pytest.mark.parametrize("n", [2, 3, 5, 10, 40])
@pytest.mark.parametrize("confidence", [0.05, 0.75, 0.95])
def test_complete_normal_samples_give_the_tolerance_factor(n: int, confidence: float) -> None:
    """The confidence really reached, by scipy's non-central t: within 1e-5 (n = 2: 3e-5) of the one asked for."""
    stack = _complete(n)
    mean, sd = mean_and_sd(stack.low)
    for share in (0.01, 0.05, 0.5):
        limit = bounded_fractile_limit(stack, family="normal", share=share, probability=1.0 - confidence)
        k = (mean - limit) / sd
        reached = stats.nct.cdf(k * math.sqrt(n), n - 1, -stats.norm.ppf(share) * math.sqrt(n))
        assert reached == pytest.approx(np.full(5, confidence), abs=3e-5 if n == 2 else 1e-5)


def test_complete_normal_samples_give_the_exact_share() -> None:
    """As ``share_below_normal``, relative 1e-4."""
    stack = _complete(6)
    limit = bounded_share_below(stack, family="normal", limit=2.0, probability=0.9)
    exact = share_below_normal(stack.low, limit=2.0, confidence=0.9).high
    assert limit == pytest.approx(exact, rel=1e-4)


def test_complete_weibull_samples_give_the_exact_bound() -> None:
    """One integral in place of two: the confidence reached within 1e-5, with two values 3e-5."""
    for n, tolerance in ((2, 3e-5), (3, 1e-5), (5, 1e-5), (8, 1e-5), (20, 1e-5)):
        x = np.sort(np.random.default_rng(n).weibull(5.0, (5, n)), axis=-1)
        limit = bounded_fractile_limit(Stack(np.arange(5), x, x), family="weibull", share=0.05, probability=0.25)
        for row in range(5):
            reached = confidence_above_weibull(x[row : row + 1], content=0.95, value=float(limit[row]))
            assert float(reached[0]) == pytest.approx(0.75, abs=tolerance)


def test_weibull_confidence_and_bound_are_each_other_turned_round() -> None:
    """The bound of 75 % confidence is reached with 75 %, to 1e-12."""
    x = np.sort(np.random.default_rng(4).weibull(5.0, (4, 6)), axis=-1)
    bound = tolerance_bound_weibull(x, content=0.95, confidence=0.75)
    for row in range(4):
        reached = confidence_above_weibull(x[row : row + 1], content=0.95, value=float(bound[row]))
        assert float(reached[0]) == pytest.approx(0.75, abs=1e-12)


@pytest.mark.parametrize("family", ["normal", "lognormal", "weibull"])
@pytest.mark.parametrize("probability", [1e-4, 0.05, 0.25, 0.7, 0.9999])
def test_confidence_and_limit_are_each_other_turned_round(family: Family, probability: float) -> None:
    """With bounded values, to 1e-9: the lower limit of a confidence is the value shown with that confidence."""
    low, high = (np.array([[pair[i] for pair in BOUNDED]]) for i in (0, 1))
    stack = Stack(np.array([0]), low, high)
    limit = float(bounded_fractile_limit(stack, family=family, share=0.05, probability=probability)[0])
    assert limit > 0.0 or family == "normal"
    reached = bounded_confidence_above(stack, family=family, share=0.05, value=limit)
    assert float(reached[0]) == pytest.approx(1.0 - probability, abs=1e-9)


def test_confidence_of_values_far_away_is_none_or_certain() -> None:
    """A thousand standard deviations off: 0 and 1, and a value below zero is refused for logarithms."""
    x = np.array([[2.0, 3.0, 4.0]])
    stack = Stack(np.array([0]), x, x)
    assert float(bounded_confidence_above(stack, family="normal", share=0.05, value=1e6)[0]) == pytest.approx(0.0)
    assert float(bounded_confidence_above(stack, family="normal", share=0.05, value=-1e6)[0]) == pytest.approx(1.0)
    with pytest.raises(InvalidSample, match="above zero for lognormal"):
        bounded_confidence_above(stack, family="lognormal", share=0.05, value=0.0)


BOUNDED = [(1.9, 1.9), (2.2, INF), (2.4, 2.4), (2.6, 2.6), (3.0, INF)]


@pytest.mark.parametrize("family", ["normal", "weibull"])
def test_bounded_samples_agree_with_nested_integrals(family: str) -> None:
    """The share of the likelihood above the limit by nested sums: 0.9 within 1e-4."""
    low, high = (np.array([[pair[i] for pair in BOUNDED]]) for i in (0, 1))
    stack = Stack(np.array([0]), low, high)
    limit = bounded_fractile_limit(
        stack, family="normal" if family == "normal" else "weibull", share=0.05, probability=0.1
    )
    if family == "normal":
        z, at, about = float(stats.norm.ppf(0.05)), float(limit[0]), (2.6, 0.5)
    else:
        z, at, about = math.log(-math.log1p(-0.05)), math.log(float(limit[0])), (math.log(2.8), 0.15)
    assert oracle.fractile_above(BOUNDED, family, z, at, about) == pytest.approx(0.9, abs=1e-4)


def test_weibull_bound_reaches_its_confidence() -> None:
    """The confidence of the bound of four values by adaptive integration in mpmath, within 1e-9."""
    x = [1.0, 1.3, 1.4, 2.0]
    bound = tolerance_bound_weibull(np.array([x]), content=0.9, confidence=0.8)
    y, at = [mpmath.log(v) for v in x], mpmath.log(float(bound[0]))

    def density(b: mpmath.mpf) -> mpmath.mpf:
        return b ** (-len(y)) * mpmath.exp(sum(y) / b) / sum(mpmath.exp(v / b) for v in y) ** len(y)

    def above(b: mpmath.mpf) -> mpmath.mpf:
        lifted = -mpmath.log(mpmath.mpf("0.9")) * sum(mpmath.exp((v - at) / b) for v in y)
        return density(b) * mpmath.gammainc(len(y), 0, lifted, regularized=True)

    with mpmath.workdps(20):
        cuts = [mpmath.mpf(c) for c in ("0.01", "0.1", "0.2", "0.4", "0.8", "1.6", "4", "20", "400", "20000")]
        reached = mpmath.quad(above, cuts) / mpmath.quad(density, cuts)
    assert float(reached) == pytest.approx(0.8, abs=1e-9)


def test_weibull_bound_refuses_equal_values() -> None:
    """No spread to judge by."""
    with pytest.raises(InvalidSample, match="row 0 has equal ones"):
        tolerance_bound_weibull(np.ones((1, 4)), content=0.9, confidence=0.9)


def test_limits_follow_the_unit_of_the_values() -> None:
    """Ten times the values, ten times the limit; the share does not move."""
    low, high = (np.array([[pair[i] for pair in BOUNDED]]) for i in (0, 1))
    small, large = Stack(np.array([0]), low, high), Stack(np.array([0]), 10.0 * low, 10.0 * high)
    for family in ("normal", "lognormal", "weibull"):
        one = bounded_fractile_limit(small, family=family, share=0.05, probability=0.1)
        ten = bounded_fractile_limit(large, family=family, share=0.05, probability=0.1)
        assert ten == pytest.approx(10.0 * one, rel=1e-9)
        share = bounded_share_below(small, family=family, limit=2.0, probability=0.9)
        again = bounded_share_below(large, family=family, limit=20.0, probability=0.9)
        assert again == pytest.approx(share, rel=1e-9)


def test_share_and_fractile_are_each_other_turned_round() -> None:
    """The upper limit of the share below the lower limit of a fractile is that fractile's share."""
    low, high = (np.array([[pair[i] for pair in BOUNDED]]) for i in (0, 1))
    stack = Stack(np.array([0]), low, high)
    limit = bounded_fractile_limit(stack, family="lognormal", share=0.05, probability=0.1)
    share = bounded_share_below(stack, family="lognormal", limit=float(limit[0]), probability=0.9)
    assert share[0] == pytest.approx(0.05, rel=1e-3)


def test_one_sample_gives_the_bits_that_it_gives_in_a_crowd() -> None:
    """Portions of rows do not show."""
    x = np.sort(np.random.default_rng(8).normal(3.0, 0.5, (700, 4)), axis=-1)
    high = x.copy()
    high[:, 2] = np.inf
    crowd = bounded_fractile_limit(Stack(np.arange(700), x, high), family="normal", share=0.05, probability=0.25)
    for i in (0, 300, 699):
        one = Stack(np.array([i]), x[i : i + 1].copy(), high[i : i + 1].copy())
        assert bounded_fractile_limit(one, family="normal", share=0.05, probability=0.25)[0] == crowd[i]


def test_plain_factor_is_not_what_bounded_pulls_need() -> None:
    """Taking the bounds as values gives another, lower, answer for the median."""
    low, high = (np.array([[pair[i] for pair in BOUNDED]]) for i in (0, 1))
    calibrated = bounded_fractile_limit(Stack(np.array([0]), low, high), family="normal", share=0.5, probability=0.5)
    mean, sd = mean_and_sd(low)
    assert calibrated[0] > mean[0] - k_one_sided(n=5, content=0.5, confidence=0.5) * sd[0]
