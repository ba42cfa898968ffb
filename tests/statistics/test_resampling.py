"""Bootstrap interval and exact permutation test."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import bca_interval, permutation_test
from tests import oracle_bounds as oracle

Values = NDArray[np.float64]

X = np.sort(np.array([[2.1, 2.4, 2.4, 2.6, 2.7, 2.9, 3.0, 3.1, 3.3, 5.8, 2.2, 2.5]]))


def _mean(rows: Values) -> Values:
    mean: Values = rows.mean(axis=-1)
    return mean


def test_bca_agrees_with_scipy_within_its_stated_error() -> None:
    """Another stream of chance: 5 standard errors of both."""
    ours = bca_interval(X, statistic=_mean, confidence=0.9, resamples=40_000, rng=np.random.default_rng(1))
    theirs = stats.bootstrap(
        (X[0],), np.mean, confidence_level=0.9, n_resamples=40_000, method="BCa", rng=np.random.default_rng(2)
    ).confidence_interval
    assert ours.low[0] == pytest.approx(theirs.low, abs=5.0 * 1.5 * float(ours.low_error[0]))
    assert ours.high[0] == pytest.approx(theirs.high, abs=5.0 * 1.5 * float(ours.high_error[0]))
    assert ours.estimate == pytest.approx(X.mean())


def test_stated_error_is_what_other_seeds_change() -> None:
    """Spread of the limits over 100 seeds, within a factor of 1.25 of the error stated on average."""
    found = [
        bca_interval(X, statistic=_mean, confidence=0.9, resamples=2000, rng=np.random.default_rng(seed))
        for seed in range(100)
    ]
    for low_or_high in ("low", "high"):
        spread = np.std([getattr(f, low_or_high) for f in found], ddof=1)
        stated = np.mean([getattr(f, f"{low_or_high}_error") for f in found])
        assert 1.0 / 1.25 < stated / spread < 1.25


def test_same_generator_state_gives_the_same_bits() -> None:
    """Twice the same."""
    one, two = (
        bca_interval(X, statistic=_mean, confidence=0.9, resamples=1000, rng=np.random.default_rng(3)) for _ in range(2)
    )
    assert (one.low, one.high, one.low_error, one.high_error) == (two.low, two.high, two.low_error, two.high_error)


def test_nine_values_are_refused() -> None:
    """With the reason."""
    with pytest.raises(InvalidSample, match="at n = 5 a nominal 95 % covers 83 %"):
        bca_interval(
            np.ascontiguousarray(X[:, :9]),
            statistic=_mean,
            confidence=0.9,
            resamples=1000,
            rng=np.random.default_rng(3),
        )


def test_a_statistic_that_never_differs_is_refused() -> None:
    """Equal values have no bootstrap interval."""
    with pytest.raises(InvalidSample, match="differs between resamples"):
        bca_interval(np.ones((1, 10)), statistic=_mean, confidence=0.9, resamples=1000, rng=np.random.default_rng(3))


def test_permutation_agrees_with_plain_fractions_and_scipy() -> None:
    """Unequal groups, ties and decimals that binary numbers miss."""
    for a, b in (([1.1, 1.2, 1.3], [1.2, 1.5, 1.6, 1.9]), ([0.1, 0.2, 0.3, 0.6], [0.3, 0.4]), ([2.0, 2.5], [1.0, 3.0])):
        found = permutation_test(np.array([a]), np.array([b]), recording_step=0.0)
        assert found.p_two_sided == pytest.approx(float(oracle.permutation(a, b)), abs=1e-15)
        one_sided = stats.permutation_test(
            (np.array(a), np.array(b)), lambda x, y: np.mean(x) - np.mean(y), n_resamples=1000, alternative="less"
        )
        assert found.p_lower == pytest.approx(one_sided.pvalue, abs=1e-12)
        swapped = permutation_test(np.array([b]), np.array([a]), recording_step=0.0)
        assert (swapped.p_upper, swapped.p_two_sided) == (found.p_lower, found.p_two_sided)


def test_too_many_ways_are_refused() -> None:
    """Fifteen and fifteen values have 155 million."""
    with pytest.raises(InvalidSample, match="155117520 ways"):
        permutation_test(np.arange(15.0)[np.newaxis], np.arange(15.0)[np.newaxis], recording_step=0.0)
