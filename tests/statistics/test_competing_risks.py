"""Competing risks: bounds from pulls that broke elsewhere, dependence, Peterson's bounds, selection."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, optimize, stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    as_bounds,
    fit_bounded,
    fit_dependent,
    mean_where_it_broke,
    share_below_whatever,
    share_interval_exact,
    stacks,
    sweep_correlation,
)

Values = NDArray[np.float64]


def _pair(rho: float, n: int, seed: int, *, other: float = 2.0) -> tuple[Values, NDArray[np.bool_]]:
    """Two layers of sd 0.4, means 2.0 and ``other``; strength at failure, and whether the first broke."""
    rng = np.random.default_rng(seed)
    z = rng.multivariate_normal([2.0, other], 0.16 * np.array([[1.0, rho], [rho, 1.0]]), n)
    return z.min(axis=1), z[:, 0] < z[:, 1]


def _row(rho: float, n: int, seed: int) -> tuple[Values, NDArray[np.bool_]]:
    x, first = _pair(rho, n, seed)
    return x[np.newaxis], first[np.newaxis]


def test_no_correlation_is_the_fit_with_bounds() -> None:
    """Both places at once give what each gives alone, and the sum of their log-likelihoods."""
    x, first = _pair(0.3, 40, 1)
    for family in ("normal", "lognormal"):
        both = fit_dependent(x[np.newaxis], first[np.newaxis], family=family, correlation=0.0)
        total = 0.0
        for place in (0, 1):
            low, high = as_bounds(x, (~first).astype(np.int64), of=place)
            (stack,) = stacks(np.zeros(x.size, dtype=np.int64), low, high)
            alone = fit_bounded(stack, family=family)
            assert both.location[0, place] == pytest.approx(alone.location[0], rel=1e-6)
            assert both.scale[0, place] == pytest.approx(alone.scale[0], rel=1e-6)
            assert both.mean[0, place] == pytest.approx(alone.mean[0], rel=1e-6)
            total += float(alone.log_likelihood[0])
        assert both.log_likelihood[0] == pytest.approx(total, abs=1e-8)


def test_likelihood_of_dependent_places_is_a_density() -> None:
    """Over all strengths and both places the likelihood of one pull integrates to 1."""
    fit = fit_dependent(*_row(0.5, 60, 2), family="normal", correlation=0.5)
    (m, k), (s, t), r = fit.location[0], fit.scale[0], 0.5

    def density(y: float) -> float:
        z, w = (y - m) / s, (y - k) / t
        root = math.sqrt(1.0 - r * r)
        here = stats.norm.pdf(z) / s * stats.norm.cdf((r * z - w) / root)
        return float(here + stats.norm.pdf(w) / t * stats.norm.cdf((r * w - z) / root))

    assert integrate.quad(density, -2.0, 6.0)[0] == pytest.approx(1.0, abs=1e-7)


def test_taken_as_independent_a_common_cause_reads_too_high() -> None:
    """True mean 2.00, correlation 0.7: read as above 2.05 at 0, and as 2.00 at 0.7; 200,000 pulls."""
    x, first = _row(0.7, 200_000, 3)
    none, true = sweep_correlation(x, first, family="normal", correlations=(0.0, 0.7))
    assert none.mean[0, 0] > 2.05
    assert true.mean[0, 0] == pytest.approx(2.0, abs=0.01)
    assert true.scale[0, 0] == pytest.approx(0.4, abs=0.01)


@pytest.mark.parametrize(("family", "rho"), [("normal", 0.6), ("lognormal", -0.4), ("normal", 0.95)])
def test_a_stack_is_fitted_as_its_rows_and_to_the_highest_point(
    family: Literal["normal", "lognormal"], rho: float
) -> None:
    """Bits of a row alone, whatever the order of its pulls; no search by scipy ends higher, by 1e-9."""
    pairs = [_pair(0.4, 12, seed) for seed in range(60)]
    pairs = [(x, first) for x, first in pairs if 2 <= int(first.sum()) <= 10]
    x, first = np.stack([x for x, _ in pairs]), np.stack([first for _, first in pairs])
    fits = fit_dependent(x, first, family=family, correlation=rho)
    assert len(x) > 50
    for row in range(0, len(x), 6):
        back = fit_dependent(x[row : row + 1, ::-1], first[row : row + 1, ::-1], family=family, correlation=rho)
        for name in ("location", "scale", "mean", "log_likelihood"):
            assert np.array_equal(getattr(back, name)[0], getattr(fits, name)[row])
        start = np.concatenate((fits.location[row], np.log(fits.scale[row])))
        down = optimize.minimize(_plain, start + 0.05, (x[row], first[row], family, rho), method="BFGS")
        assert -down.fun == pytest.approx(fits.log_likelihood[row], abs=1e-7)
        assert fits.log_likelihood[row] >= -down.fun - 1e-9
        assert _plain(start, x[row], first[row], family, rho) == pytest.approx(-fits.log_likelihood[row], abs=1e-9)


def _plain(at: Values, x: Values, first: NDArray[np.bool_], family: str, rho: float) -> float:
    """Minus the log-likelihood, from the definition."""
    total = 0.0
    for value, here in zip(x.tolist(), first.tolist(), strict=True):
        y = math.log(value) if family == "lognormal" else value
        z = [(y - at[i]) / math.exp(at[2 + i]) for i in (0, 1)]
        mine, other = (0, 1) if here else (1, 0)
        total += stats.norm.logpdf(z[mine]) - at[2 + mine] - (math.log(value) if family == "lognormal" else 0.0)
        total += stats.norm.logcdf((rho * z[mine] - z[other]) / math.sqrt(1.0 - rho * rho))
    return -float(total)


def test_thirty_pulls_do_not_tell_the_correlation() -> None:
    """The log-likelihood moves by less than 2 over correlations from 0 to 0.8, the mean by a tenth."""
    fits = sweep_correlation(*_row(0.7, 30, 4), family="normal", correlations=(0.0, 0.2, 0.4, 0.6, 0.8))
    heights = [float(fit.log_likelihood[0]) for fit in fits]
    assert max(heights) - min(heights) < 2.0
    means = [float(fit.mean[0, 0]) for fit in fits]
    assert means == sorted(means, reverse=True)
    assert means[0] - means[-1] > 0.1


def test_share_below_of_a_dependent_fit() -> None:
    """By location and scale, of values or logarithms."""
    fit = fit_dependent(*_row(0.5, 60, 5), family="lognormal", correlation=0.5)
    expected = stats.norm.cdf((math.log(1.5) - fit.location[0, 1]) / fit.scale[0, 1])
    assert fit.share_below(1.5, place=1)[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("rho", [0.0, 0.7, -0.5])
def test_bounds_hold_whatever_the_dependence(rho: float) -> None:
    """The true share lies between the estimates in a large sample, and within the limits in 20,000 of ten pulls."""
    true = float(stats.norm.cdf(1.5, 2.0, 0.4))
    x, first = _pair(rho, 200_000, 6, other=2.1)
    large = share_below_whatever(x[np.newaxis], first[np.newaxis], limit=1.5, confidence=0.95)
    assert large.low[0] < true < large.high[0]
    few = share_below_whatever(x.reshape(-1, 10), first.reshape(-1, 10), limit=1.5, confidence=0.95)
    assert np.mean(few.low_limit <= true) > 0.95
    assert np.mean(few.high_limit >= true) > 0.95


def test_bounds_are_counts() -> None:
    """Two here and one elsewhere below the limit, of five; limits by Clopper and Pearson."""
    x = np.array([[1.0, 1.2, 1.3, 2.0, 2.5]])
    here = np.array([[True, True, False, True, False]])
    found = share_below_whatever(x, here, limit=1.5, confidence=0.95)
    assert (found.low[0], found.high[0]) == (0.4, 0.6)
    assert found.low_limit == pytest.approx(share_interval_exact(np.array([2]), n=5, confidence=0.9)[0], rel=1e-12)
    assert found.high_limit == pytest.approx(share_interval_exact(np.array([3]), n=5, confidence=0.9)[1], rel=1e-12)


@pytest.mark.parametrize(("rho", "other"), [(0.0, 2.0), (0.7, 2.2), (-0.3, 1.8)])
def test_mean_where_it_broke_agrees_with_simulation(rho: float, other: float) -> None:
    """400,000 pulls, within 4 standard errors."""
    x, first = _pair(rho, 400_000, 7, other=other)
    mean, share = mean_where_it_broke(mean=2.0, sd=0.4, other_mean=other, other_sd=0.4, correlation=rho)
    assert mean == pytest.approx(x[first].mean(), abs=4.0 * 0.4 / math.sqrt(first.sum()))
    assert share == pytest.approx(first.mean(), abs=4.0 * 0.5 / math.sqrt(400_000))


def test_averaging_within_one_place_is_eleven_percent_low() -> None:
    """Two like layers with a coefficient of variation of 20 %, independent."""
    mean, _ = mean_where_it_broke(mean=1.0, sd=0.2, other_mean=1.0, other_sd=0.2, correlation=0.0)
    assert mean - 1.0 == pytest.approx(-0.11, abs=0.005)


def test_one_break_in_a_place_is_too_few() -> None:
    """The words are those of the fit."""
    with pytest.raises(InvalidSample, match="exact value"):
        fit_dependent(np.array([[1.0, 2.0, 3.0]]), np.array([[True, False, False]]), family="normal", correlation=0.0)
    with pytest.raises(InvalidSample, match="above -1 and below 1"):
        fit_dependent(np.array([[1.0, 2.0]]), np.array([[True, False]]), family="normal", correlation=1.0)
    with pytest.raises(InvalidSample, match=r"above 0\.5"):
        share_below_whatever(np.ones((1, 2)), np.ones((1, 2), dtype=bool), limit=1.0, confidence=0.4)
