"""Kaplan-Meier with limits for few values; log-rank."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import Stack, kaplan_meier, log_rank, share_interval_exact, stacks
from tests import oracle_bounds as oracle


def _random(g: int, n: int, seed: int) -> list[Stack]:
    rng = np.random.default_rng(seed)
    x, c = rng.gamma(9.0, 0.3, (g, n)).round(1), rng.gamma(9.0, 0.4, (g, n)).round(1)
    low, high = np.minimum(x, c), np.where(x <= c, x, np.inf)
    return stacks(np.repeat(np.arange(g), n), low.ravel(), high.ravel())


def test_estimate_agrees_with_plain_fractions_and_scipy() -> None:
    """Over samples with ties; scipy.stats.ecdf at each value."""
    for stack in _random(60, 7, seed=1):
        found = kaplan_meier(stack, confidence=0.9)
        pairs = [(float(low), float(high)) for low, high in zip(stack.low[0], stack.high[0], strict=True)]
        assert found.share_above[0] == pytest.approx([float(v) for v in oracle.kaplan_meier(pairs)], abs=1e-14)
        if 0 < stack.r < stack.n:
            exact = stack.exact[0]
            data = stats.CensoredData(uncensored=stack.low[0][exact], right=stack.low[0][~exact])
            sf = stats.ecdf(data).sf
            last = [int(np.flatnonzero(stack.low[0] == value)[-1]) for value in sf.quantiles]
            assert found.share_above[0, last] == pytest.approx(sf.probabilities, abs=1e-14)


def test_without_bounds_the_limits_are_those_of_clopper_and_pearson() -> None:
    """Each value of six: i of six fell short."""
    x = np.arange(1.0, 7.0)[np.newaxis]
    found = kaplan_meier(Stack(np.array([0]), x, x), confidence=0.9)
    low, high = share_interval_exact(np.arange(6)[::-1], n=6, confidence=0.9)
    assert found.low[0] == pytest.approx(low, abs=1e-12)
    assert found.high[0] == pytest.approx(high, abs=1e-12)


def test_limits_enclose_the_estimate_and_fall() -> None:
    """From 1 before the first exact value on downwards."""
    for stack in _random(100, 9, seed=2):
        found = kaplan_meier(stack, confidence=0.8)
        assert (found.low <= found.share_above + 1e-12).all()
        assert (found.share_above <= found.high + 1e-12).all()
        for values in (found.low, found.share_above, found.high):
            assert (np.diff(values, axis=-1) <= 1e-12).all()


def test_upper_bounds_are_refused() -> None:
    """Only lower bounds have a place in this estimate."""
    with pytest.raises(InvalidSample, match="from below only"):
        kaplan_meier(Stack(np.array([0]), np.array([[1.0, 2.0]]), np.array([[1.5, 2.0]])), confidence=0.9)


def test_log_rank_agrees_with_scipy() -> None:
    """scipy.stats.logrank: its statistic is the root, signed."""
    a, b = (max(_random(30, 12, seed=seed), key=lambda stack: stack.r) for seed in (3, 4))
    one, two = (Stack(s.group[:1], s.low[:1], s.high[:1]) for s in (a, b))
    x, y = (stats.CensoredData(uncensored=s.low[0][s.exact[0]], right=s.low[0][~s.exact[0]]) for s in (one, two))
    expected = stats.logrank(x, y)
    found = log_rank(one, two, weights="log-rank", recording_step=0.0)
    assert found.statistic == pytest.approx(expected.statistic**2, rel=1e-10)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-9)


def test_groups_without_overlap_are_refused() -> None:
    """And so are stacks of unequal numbers of samples, and upper bounds."""
    bound = Stack(np.array([0]), np.array([[1.0]]), np.array([[np.inf]]))
    with pytest.raises(InvalidSample, match="at least one exact"):
        log_rank(bound, bound, weights="log-rank", recording_step=0.0)
    two = Stack(np.array([0, 1]), np.ones((2, 1)), np.ones((2, 1)))
    with pytest.raises(InvalidSample, match="as many samples in both"):
        log_rank(two, bound, weights="log-rank", recording_step=0.0)
