"""One-sided tolerance factors and bounds; EN 1990 Annex D."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    en1990_known_cov,
    en1990_known_sd,
    en1990_unknown,
    k_en1990_known,
    k_en1990_printed,
    k_en1990_unknown,
    k_one_sided,
    tolerance_bound_lower,
)
from tests import oracle_statistics as oracle

SAMPLE = np.array([[1.8, 2.0, 2.3, 2.4, 3.0]])


@pytest.mark.parametrize(
    ("n", "content", "confidence"),
    [(2, 0.95, 0.95), (3, 0.95, 0.75), (5, 0.90, 0.90), (10, 0.99, 0.95), (40, 0.95, 0.5)],
)
def test_k_agrees_with_30_digit_arithmetic(n: int, content: float, confidence: float) -> None:
    """The factor is within a relative 1e-12 of an integral over the other variable at 30 digits."""
    expected = float(oracle.k_one_sided(n, content, confidence))
    assert k_one_sided(n=n, content=content, confidence=confidence) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("n", [2, 3, 4, 7, 12, 30, 100, 400, 1000])
@pytest.mark.parametrize("content", [0.2, 0.5, 0.75, 0.95, 0.999])
@pytest.mark.parametrize("confidence", [0.05, 0.5, 0.75, 0.95, 0.999])
def test_k_agrees_with_the_noncentral_t_of_scipy(n: int, content: float, confidence: float) -> None:
    """A second opinion (scipy.stats.nct) over the whole range, negative factors included."""
    shift = stats.norm.ppf(content) * math.sqrt(n)
    expected = stats.nct.ppf(confidence, n - 1, shift) / math.sqrt(n)
    assert k_one_sided(n=n, content=content, confidence=confidence) == pytest.approx(expected, rel=1e-11, abs=1e-13)


def test_k_is_the_known_factor_where_n_is_large() -> None:
    """With n = 100000 the factor is close to z, and larger."""
    assert 1.6449 < k_one_sided(n=100_000, content=0.95, confidence=0.95) < 1.66


def test_k_turns_sign_with_its_mirror_image() -> None:
    """The share above and the share below, with confidence turned round, have opposite factors."""
    assert k_one_sided(n=5, content=0.3, confidence=0.2) == -k_one_sided(n=5, content=0.7, confidence=0.8)
    assert k_one_sided(n=5, content=0.5, confidence=0.5) == 0.0


def test_tolerance_bound_is_mean_less_k_sd() -> None:
    """The bound of the plain twin."""
    values = SAMPLE[0].tolist()
    expected = oracle.real(oracle.mean(values)) - oracle.k_one_sided(5, 0.95, 0.75) * oracle.sd(values)
    actual = tolerance_bound_lower(SAMPLE, content=0.95, confidence=0.75)
    assert actual[0] == pytest.approx(float(expected), rel=1e-12)


def test_tolerance_bound_holds_as_often_as_it_says() -> None:
    """In 1e5 samples of 4 the bound lies below the 5 % fractile in 75 % of cases, within 3 standard errors."""
    samples = np.sort(np.random.default_rng(20).normal(0.0, 1.0, (100_000, 4)), axis=-1)
    bound = tolerance_bound_lower(samples, content=0.95, confidence=0.75)
    share = float(np.mean(bound <= stats.norm.ppf(0.05)))
    assert abs(share - 0.75) < 3.0 * math.sqrt(0.75 * 0.25 / 100_000)


def test_en1990_prediction_covers_the_next_value_as_often_as_it_says() -> None:
    """The next value lies below the characteristic value in 5 % of 1e5 cases, within 3 standard errors."""
    rng = np.random.default_rng(21)
    samples = np.sort(rng.normal(0.0, 1.0, (100_000, 5)), axis=-1)
    share = float(np.mean(rng.normal(0.0, 1.0, 100_000) < en1990_unknown(samples, factors="formula")))
    assert abs(share - 0.05) < 3.0 * math.sqrt(0.05 * 0.95 / 100_000)


def test_en1990_values_are_mean_less_k_spread() -> None:
    """Mean (1 - k V) with each spread, by hand: m = 2.3, k(5) printed 2.33 and 1.80."""
    sd = float(oracle.sd(SAMPLE[0].tolist()))
    assert en1990_unknown(SAMPLE, factors="printed")[0] == pytest.approx(2.3 - 2.33 * sd, rel=1e-12)
    assert en1990_known_sd(SAMPLE, sd=0.4, factors="printed")[0] == pytest.approx(2.3 - 1.80 * 0.4, rel=1e-12)
    assert en1990_known_cov(SAMPLE, cov=0.2, factors="printed")[0] == pytest.approx(2.3 * (1 - 1.80 * 0.2), rel=1e-12)
    assert en1990_unknown(SAMPLE, factors="formula")[0] == pytest.approx(2.3 - k_en1990_unknown(n=5) * sd, rel=1e-12)
    assert en1990_known_sd(SAMPLE, sd=0.4, factors="formula")[0] == pytest.approx(
        2.3 - k_en1990_known(n=5) * 0.4, rel=1e-12
    )


def test_known_spread_serves_a_single_value() -> None:
    """With n = 1 only the known spread gives a value."""
    assert en1990_known_sd(np.array([[3.0]]), sd=0.5, factors="printed")[0] == pytest.approx(3.0 - 2.31 * 0.5)
    with pytest.raises(InvalidSample):
        en1990_unknown(np.array([[3.0]]), factors="formula")


@pytest.mark.parametrize(("n", "spread"), [(7, "known"), (7, "unknown"), (2, "unknown"), (0, "known"), (40, "known")])
def test_the_printed_table_is_not_interpolated(n: int, spread: str) -> None:
    """An n that table D1 doesn't list is refused, with the list."""
    with pytest.raises(InvalidSample, match="prints k_n for n ="):
        k_en1990_printed(n=n, spread="known" if spread == "known" else "unknown")


@pytest.mark.parametrize("n", [1, 0, -3])
def test_too_few_values_have_no_factor(n: int) -> None:
    """The factor needs two values."""
    with pytest.raises(InvalidSample, match="n >= 2"):
        k_one_sided(n=n, content=0.95, confidence=0.75)


@pytest.mark.parametrize("sd", [-0.1, float("nan"), float("inf")])
def test_a_spread_that_is_none_is_refused(sd: float) -> None:
    """Negative or infinite known spreads are errors."""
    with pytest.raises(InvalidSample, match="expected sd"):
        en1990_known_sd(SAMPLE, sd=sd, factors="formula")
