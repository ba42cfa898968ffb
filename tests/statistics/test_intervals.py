"""Student's t and the confidence interval of the mean."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import confidence_interval_mean, t_quantile
from tests import oracle_statistics as oracle


@pytest.mark.parametrize("df", [1, 2, 3, 4, 9, 29, 99])
@pytest.mark.parametrize("probability", [1e-6, 0.005, 0.025, 0.05, 0.3, 0.5, 0.75, 0.95, 0.975, 0.995])
def test_t_quantile_agrees_with_30_digit_arithmetic(probability: float, df: int) -> None:
    """Quantiles are within a relative 1e-13 (upper ones inherit the rounding of the probability given)."""
    expected = float(oracle.t_quantile(probability, df))
    assert t_quantile(probability=probability, degrees_of_freedom=df) == pytest.approx(expected, rel=1e-13, abs=1e-15)


@pytest.mark.parametrize("n", [2, 3, 5, 10])
def test_interval_agrees_with_the_plain_twin(n: int) -> None:
    """Limits are mean -/+ t s / sqrt(n)."""
    x = np.sort(np.random.default_rng(n).normal(3.0, 0.5, (10, n)).round(2), axis=-1)
    low, high = confidence_interval_mean(x, confidence=0.90)
    for row, values in enumerate(x.tolist()):
        half = oracle.t_quantile(0.95, n - 1) * oracle.sd(values) / math.sqrt(n)
        centre = oracle.real(oracle.mean(values))
        assert low[row] == pytest.approx(float(centre - half), rel=1e-12, abs=1e-13)
        assert high[row] == pytest.approx(float(centre + half), rel=1e-12)


def test_equal_values_have_an_interval_of_no_width() -> None:
    """No spread, no width: both limits are the value."""
    low, high = confidence_interval_mean(np.full((1, 3), 0.1), confidence=0.95)
    assert (low[0], high[0]) == (0.1, 0.1)


def test_one_value_has_no_interval() -> None:
    """A single value is refused in words."""
    with pytest.raises(InvalidSample, match="at least 2"):
        confidence_interval_mean(np.array([[2.5]]), confidence=0.95)


@pytest.mark.parametrize("confidence", [0.0, 1.0, 95.0, -0.1, float("nan")])
def test_levels_outside_0_to_1_are_refused(confidence: float) -> None:
    """95 is no level; 0.95 is."""
    with pytest.raises(InvalidSample, match="strictly between 0 and 1"):
        confidence_interval_mean(np.array([[1.0, 2.0]]), confidence=confidence)
