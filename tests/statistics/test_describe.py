"""Mean, sd, coefficient of variation, smallest, largest, median."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import describe, mean_and_sd
from tests import oracle_statistics as oracle


def _samples(seed: int, n: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    g = 40
    x = rng.normal(2.5, 0.6, (g, n))
    x[: g // 2] = x[: g // 2].round(1)  # ties
    x[0] = 1.1  # all equal
    x[1] += 1e6  # far from zero
    return np.sort(x, axis=-1)


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 8, 9, 12, 30])
def test_description_agrees_with_exact_fractions(n: int) -> None:
    """Every figure is that of the plain twin within a few units in the last place."""
    x = _samples(n, n)
    d = describe(x)
    for row, values in enumerate(x.tolist()):
        # The mean is good to the last place of the values; half of it may be lost in the final addition.
        assert d.mean[row] == pytest.approx(float(oracle.mean(values)), rel=2.3e-16)
        assert d.median[row] == pytest.approx(float(oracle.median(values)), rel=2.3e-16)
        assert (d.smallest[row], d.largest[row]) == (min(values), max(values))
        if n > 1:
            assert d.sd[row] == pytest.approx(float(oracle.sd(values)), rel=1e-13 if row != 1 else 1e-9)
            assert d.cov[row] == pytest.approx(float(oracle.sd(values) / oracle.real(oracle.mean(values))), rel=1e-9)


@pytest.mark.parametrize("value", [0.1, 1.1, 0.7, 1e6 + 0.1, 3.3e-7])
@pytest.mark.parametrize("n", [2, 3, 5, 6, 7, 9, 12, 100])
def test_sd_of_equal_values_is_exactly_zero(value: float, n: int) -> None:
    """Three readings of 0.1 have spread 0, not 1.7e-17, and their mean is 0.1."""
    mean, sd = mean_and_sd(np.full((1, n), value))
    assert (mean[0], sd[0]) == (value, 0.0)


def test_one_value_has_no_sd() -> None:
    """Sd and coefficient of variation of one value are undefined; the rest is the value."""
    d = describe(np.array([[2.5]]))
    assert np.isnan(d.sd[0])
    assert np.isnan(d.cov[0])
    assert (d.mean[0], d.median[0], d.smallest[0], d.largest[0]) == (2.5, 2.5, 2.5, 2.5)


def test_coefficient_of_variation_is_undefined_at_mean_zero_only() -> None:
    """A mean of 0 gives no ratio; every other row of two or more values has one."""
    d = describe(np.array([[-1.0, 1.0], [0.0, 0.0], [1.0, 3.0]]))
    assert np.isnan(d.cov).tolist() == [True, True, False]


def test_an_offset_leaves_the_sd_alone() -> None:
    """At offset 1e6 an sd of 0.01 is still 0.01 to ten digits; one-pass formulas give 0."""
    x = np.array([[0.0, 0.01, 0.02]])
    assert mean_and_sd(x + 1e6)[1][0] == pytest.approx(0.01, rel=1e-8)
