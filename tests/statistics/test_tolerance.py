"""Two-sided, known, pooled and lognormal tolerance factors; EN 14358."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    en14358_lognormal,
    en14358_normal,
    k_en14358,
    k_iso12491,
    k_known_sd,
    k_one_sided,
    k_pooled,
    k_two_sided,
    pooled_sd,
    tolerance_bound_known_sd,
    tolerance_bound_lognormal,
    tolerance_bound_lower,
    tolerance_bound_pooled,
    tolerance_interval,
)
from tests import oracle_bounds as oracle

SAMPLE = np.array([[1.8, 2.0, 2.3, 2.4, 3.0]])


@pytest.mark.parametrize(("n", "content", "confidence"), [(3, 0.95, 0.95), (10, 0.90, 0.75)])
def test_two_sided_agrees_with_nested_integrals(n: int, content: float, confidence: float) -> None:
    """The confidence reached, by mpmath with a root search inside."""
    k = k_two_sided(n=n, content=content, confidence=confidence)
    assert float(oracle.two_sided_content_reached(k, n, content)) == pytest.approx(confidence, abs=1e-9)


@pytest.mark.parametrize("n", [2, 5, 17, 200])
@pytest.mark.parametrize("content", [0.1, 0.5, 0.9, 0.999])
@pytest.mark.parametrize("confidence", [0.05, 0.5, 0.99])
def test_two_sided_agrees_with_scipy_by_another_route(n: int, content: float, confidence: float) -> None:
    """Adaptive integration over the mean, half width by the non-central chi-square quantile."""
    k = k_two_sided(n=n, content=content, confidence=confidence)

    def inner(u: float) -> float:
        squared = float(special.chndtrix(content, 1.0, u * u / n))
        return float(stats.norm.pdf(u) * stats.chi2.sf((n - 1) * squared / k**2, n - 1))

    reached = 2.0 * integrate.quad(inner, 0.0, 9.0, epsabs=1e-12, epsrel=1e-10, limit=200)[0]
    assert reached == pytest.approx(confidence, abs=1e-8)


def test_pooled_is_the_one_sided_factor_where_one_sample_is_pooled() -> None:
    """The same bits with n - 1 degrees of freedom."""
    assert k_pooled(n=7, degrees_of_freedom=6, content=0.95, confidence=0.9) == k_one_sided(
        n=7, content=0.95, confidence=0.9
    )


@pytest.mark.parametrize("n", [1, 3, 10])
@pytest.mark.parametrize("df", [1, 8, 60, 400])
@pytest.mark.parametrize("confidence", [0.05, 0.5, 0.75, 0.99])
def test_pooled_agrees_with_the_noncentral_t_of_scipy(n: int, df: int, confidence: float) -> None:
    """Relative 1e-11 over both forms of the integral."""
    expected = stats.nct.ppf(confidence, df, stats.norm.ppf(0.95) * math.sqrt(n)) / math.sqrt(n)
    actual = k_pooled(n=n, degrees_of_freedom=df, content=0.95, confidence=confidence)
    assert actual == pytest.approx(expected, rel=1e-11)


def test_pooled_tends_to_the_factor_of_known_spread() -> None:
    """With a million degrees of freedom nothing is left to estimate."""
    pooled = k_pooled(n=4, degrees_of_freedom=1_000_000, content=0.95, confidence=0.75)
    assert pooled == pytest.approx(k_known_sd(n=4, content=0.95, confidence=0.75), abs=1e-5)


def test_known_spread_reaches_its_confidence() -> None:
    """P(mean - k sigma below the fractile) = P(Z < (k - z) sqrt n)."""
    k = k_known_sd(n=4, content=0.95, confidence=0.75)
    assert stats.norm.cdf((k - stats.norm.ppf(0.95)) * 2.0) == pytest.approx(0.75, abs=1e-14)


def test_bounds_are_mean_less_k_spread() -> None:
    """By hand: mean 2.3."""
    sd = float(np.std(SAMPLE, ddof=1))
    known = tolerance_bound_known_sd(SAMPLE, sd=0.4, content=0.95, confidence=0.75)
    assert known[0] == pytest.approx(2.3 - k_known_sd(n=5, content=0.95, confidence=0.75) * 0.4, rel=1e-14)
    pooled = tolerance_bound_pooled(SAMPLE, sd=0.4, degrees_of_freedom=20, content=0.95, confidence=0.75)
    k = k_pooled(n=5, degrees_of_freedom=20, content=0.95, confidence=0.75)
    assert pooled[0] == pytest.approx(2.3 - k * 0.4, rel=1e-14)
    low, high = tolerance_interval(SAMPLE, content=0.9, confidence=0.95)
    k = k_two_sided(n=5, content=0.9, confidence=0.95)
    assert (low[0], high[0]) == (pytest.approx(2.3 - k * sd, rel=1e-13), pytest.approx(2.3 + k * sd, rel=1e-13))
    lognormal = tolerance_bound_lognormal(SAMPLE, content=0.9, confidence=0.95)
    assert lognormal[0] == pytest.approx(
        math.exp(tolerance_bound_lower(np.log(SAMPLE), content=0.9, confidence=0.95)[0]), rel=1e-14
    )


def test_pooled_sd_weighs_variances() -> None:
    """(2 * 1 + 6 * 4) / 8 = 3.25."""
    sd, df = pooled_sd(np.array([1.0, 2.0]), np.array([2, 6]))
    assert df == 8
    assert sd == pytest.approx(math.sqrt(3.25), rel=1e-15)


@pytest.mark.parametrize(("sds", "df"), [([], []), ([1.0], [0]), ([-1.0], [2]), ([1.0, 2.0], [3])])
def test_pooled_sd_refuses_what_is_none(sds: list[float], df: list[int]) -> None:
    """No sample, no degrees of freedom, a negative spread, lengths that differ."""
    with pytest.raises(InvalidSample):
        pooled_sd(np.array(sds), np.array(df, dtype=np.int64))


def test_logarithms_of_values_not_above_zero_are_refused() -> None:
    """With the count and the first row."""
    with pytest.raises(InvalidSample, match=r"1 of 2 samples have others, the first in row 1: 0\.0"):
        tolerance_bound_lognormal(np.array([[1.0, 2.0], [0.0, 1.0]]), content=0.9, confidence=0.9)


def test_en14358_is_the_tolerance_bound_where_the_spread_is_above_its_floor() -> None:
    """And the floor where it is below."""
    assert en14358_normal(SAMPLE, factors="exact") == pytest.approx(
        tolerance_bound_lower(SAMPLE, content=0.95, confidence=0.75), rel=1e-14
    )
    assert en14358_lognormal(SAMPLE, factors="exact") == pytest.approx(
        tolerance_bound_lognormal(SAMPLE, content=0.95, confidence=0.75), rel=1e-14
    )
    alike = np.full((1, 5), 2.0)
    assert en14358_normal(alike, factors="printed")[0] == pytest.approx(2.0 * (1.0 - 2.46 * 0.05))
    assert en14358_lognormal(alike, factors="printed")[0] == pytest.approx(2.0 * math.exp(-2.46 * 0.05))


def test_tables_are_not_interpolated() -> None:
    """EN 14358 prints no n = 7, ISO 12491 no confidence 0.8."""
    with pytest.raises(InvalidSample, match="prints k_s for n ="):
        k_en14358(n=7, factors="printed")
    with pytest.raises(InvalidSample, match=r"confidence 0\.75"):
        k_iso12491(n=7, confidence=0.8, spread="known")
