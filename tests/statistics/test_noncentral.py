"""The non-central t distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import noncentral_t_below, noncentrality
from tests import oracle_bounds as oracle

T = np.array([-50.0, -5.0, -1.0, 0.0, 0.1, 1.0, 3.0, 8.0, 20.0, 200.0])


@pytest.mark.parametrize(("t", "df", "delta"), [(3.0, 4, 2.0), (25.0, 4, 9.0), (-1.0, 2, 0.5), (7.0, 9, -1.0)])
def test_probability_agrees_with_30_digit_arithmetic(t: float, df: int, delta: float) -> None:
    """An integral over the standard deviation at 30 digits, absolute 1e-13."""
    actual = noncentral_t_below(np.array([t]), degrees_of_freedom=df, noncentrality=np.array([delta]))
    assert actual[0] == pytest.approx(float(oracle.noncentral_t_below(t, df, delta)), abs=1e-13)


@pytest.mark.parametrize("df", [1, 2, 4, 9, 29, 199])
@pytest.mark.parametrize("delta", [-5.0, 0.0, 2.0, 10.0, 30.0])
def test_probability_agrees_with_scipy(df: int, delta: float) -> None:
    """A second opinion (scipy.stats.nct), absolute 1e-12, over both forms; scipy has no number in some far tails."""
    actual = noncentral_t_below(T, degrees_of_freedom=df, noncentrality=np.full(T.shape, delta))
    expected = stats.nct.cdf(T, df, delta)
    known = np.isfinite(expected)
    assert known.sum() >= 7
    assert actual[known] == pytest.approx(expected[known], abs=1e-12)
    assert ((actual > -1e-12) & (actual < 1.0 + 1e-12)).all()


@pytest.mark.parametrize("df", [1, 2, 3, 4, 9, 29, 199])
@pytest.mark.parametrize("probability", [0.001, 0.05, 0.5, 0.95, 0.999])
def test_noncentrality_is_the_inverse(df: int, probability: float) -> None:
    """Put in again, the delta found gives the probability back within 1e-10."""
    delta = noncentrality(T, degrees_of_freedom=df, probability=probability)
    again = noncentral_t_below(T, degrees_of_freedom=df, noncentrality=delta)
    assert again == pytest.approx(np.full(T.shape, probability), abs=1e-10)


def test_one_value_gives_the_bits_that_it_gives_in_a_crowd() -> None:
    """Portions of rows do not show."""
    t = np.random.default_rng(1).normal(5.0, 3.0, 10_000)
    crowd = noncentrality(t, degrees_of_freedom=4, probability=0.05)
    low_df = noncentrality(t, degrees_of_freedom=2, probability=0.05)
    for i in (0, 4095, 4096, 9999):
        assert noncentrality(t[i : i + 1], degrees_of_freedom=4, probability=0.05)[0] == crowd[i]
        assert noncentrality(t[i : i + 1], degrees_of_freedom=2, probability=0.05)[0] == low_df[i]


def test_no_degrees_of_freedom_are_refused() -> None:
    """The distribution starts with one."""
    with pytest.raises(InvalidSample, match="n >= 1"):
        noncentral_t_below(T, degrees_of_freedom=0, noncentrality=T)
