"""Maximum likelihood with bounded values."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    ALL_BOUNDED,
    FITS,
    ONE_EXACT_VALUE,
    UNBOUNDED_LIKELIHOOD,
    Family,
    Stack,
    describe,
    fit_bounded,
    fit_exponential,
    fit_trouble,
    stacks,
)
from tests import oracle_bounds as oracle

Values = NDArray[np.float64]
FAMILIES: tuple[Family, ...] = ("normal", "lognormal", "weibull")


def _samples(g: int, n: int, *, seed: int) -> list[Stack]:
    """Random samples with exact values, lower bounds, intervals and upper bounds, those that can be fitted."""
    rng = np.random.default_rng(seed)
    x, c = rng.gamma(16.0, 0.15, (g, n)), rng.gamma(16.0, 0.2, (g, n))
    low, high = np.minimum(x, c), np.where(x <= c, x, np.inf)
    kind = rng.random((g, n))
    low, high = np.where(kind < 0.1, x * 0.8, low), np.where(kind < 0.1, x * 1.3, high)
    low, high = np.where(kind > 0.95, 0.0, low), np.where(kind > 0.95, x * 1.2, high)
    found = []
    for stack in stacks(np.repeat(np.arange(g), n), low.ravel(), high.ravel()):
        fits = fit_trouble(stack) == FITS
        if fits.any():
            found.append(Stack(stack.group[fits], stack.low[fits], stack.high[fits]))
    return found


def _pairs(stack: Stack, i: int) -> list[tuple[float, float]]:
    return [(float(low), float(high)) for low, high in zip(stack.low[i], stack.high[i], strict=True)]


@pytest.mark.parametrize("family", FAMILIES)
def test_fits_are_the_top_of_the_plain_likelihood(family: Family) -> None:
    """Height and both derivatives by 30-digit arithmetic, over stacks of every kind of bound."""
    for stack in _samples(300, 6, seed=2):
        fit = fit_bounded(stack, family=family)
        location, scale = float(fit.location[0]), float(fit.scale[0])
        height = oracle.log_likelihood(_pairs(stack, 0), family, location, scale)
        assert fit.log_likelihood[0] == pytest.approx(float(height), abs=1e-10)
        slope = oracle.slope(_pairs(stack, 0), family, location, scale)
        assert max(abs(float(slope[0])), abs(float(slope[1]))) < 1e-8


@pytest.mark.parametrize("family", FAMILIES)
def test_every_sample_converges(family: Family) -> None:
    """No neighbour of the fit is higher, in 3000 samples of 4 to 20 values."""
    for n in (4, 8, 20):
        for stack in _samples(1000, n, seed=n):
            fit = fit_bounded(stack, family=family)
            assert np.isfinite(fit.log_likelihood).all()
            assert (fit.var_location > 0.0).all()
            assert (fit.var_location * fit.var_log_scale > fit.cov_location_log_scale**2).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_fits_are_not_below_those_of_scipy(family: Family) -> None:
    """scipy.stats with CensoredData: the same log-likelihood within 1e-6, never above ours."""
    distribution = {"normal": stats.norm, "lognormal": stats.lognorm, "weibull": stats.weibull_min}[family]
    for stack in _samples(40, 8, seed=4)[:6]:
        pairs = _pairs(stack, 0)
        data: Any = stats.CensoredData(  # its kinds of bounds are all optional
            uncensored=[low for low, high in pairs if low == high],
            right=[low for low, high in pairs if math.isinf(high)],
            left=[high for low, high in pairs if low == 0.0 and family != "normal"],
            interval=[pair for pair in pairs if (pair[0] > 0.0 or family == "normal") and pair[0] < pair[1] < math.inf]
            or None,
        )
        fixed = distribution.fit(data) if family == "normal" else distribution.fit(data, floc=0.0)
        frozen = distribution(*fixed)
        theirs = float(np.sum(frozen.logpdf(data._uncensored)) + np.sum(frozen.logsf(data._right)))
        theirs += float(np.sum(frozen.logcdf(data._left)))
        if data._interval.size:
            theirs += float(np.sum(np.log(frozen.cdf(data._interval[:, 1]) - frozen.cdf(data._interval[:, 0]))))
        ours = float(fit_bounded(stack, family=family).log_likelihood[0])
        assert ours == pytest.approx(theirs, abs=1e-6)
        assert ours > theirs - 1e-9


def test_complete_normal_sample_has_its_closed_form() -> None:
    """Mean, sd with divisor n, and standard errors sigma / sqrt n and 1 / sqrt(2 n)."""
    x = np.sort(np.random.default_rng(1).normal(3.0, 0.5, (50, 7)), axis=-1)
    fit = fit_bounded(Stack(np.arange(50), x, x), family="normal")
    d = describe(x)
    assert fit.location == pytest.approx(d.mean, rel=1e-13)
    assert fit.scale == pytest.approx(d.sd * math.sqrt(6 / 7), rel=1e-12)
    assert np.sqrt(fit.var_location) == pytest.approx(fit.scale / math.sqrt(7), rel=1e-10)
    assert fit.var_log_scale == pytest.approx(np.full(50, 1 / 14), rel=1e-10)
    assert fit.mean == pytest.approx(fit.location)


def test_means_and_fractiles_are_those_of_scipy() -> None:
    """From location and scale, for the three families."""
    stack = _samples(10, 8, seed=9)[0]
    normal, lognormal, weibull = (fit_bounded(stack, family=family) for family in FAMILIES)
    assert normal.fractile(0.05)[0] == pytest.approx(stats.norm.ppf(0.05, normal.location[0], normal.scale[0]))
    log = stats.lognorm(lognormal.scale[0], scale=math.exp(lognormal.location[0]))
    assert (lognormal.mean[0], lognormal.fractile(0.05)[0]) == pytest.approx((log.mean(), log.ppf(0.05)), rel=1e-12)
    wei = stats.weibull_min(weibull.weibull_shape[0], scale=weibull.weibull_scale[0])
    assert (weibull.mean[0], weibull.fractile(0.05)[0]) == pytest.approx((wei.mean(), wei.ppf(0.05)), rel=1e-12)


def test_one_sample_gives_the_bits_that_it_gives_in_a_crowd() -> None:
    """Every fit takes the same number of steps."""
    for family in FAMILIES:
        stack = max(_samples(300, 6, seed=3), key=lambda s: s.g)
        crowd = fit_bounded(stack, family=family)
        for i in (0, stack.g - 1):
            alone = fit_bounded(
                Stack(stack.group[i : i + 1], stack.low[i : i + 1].copy(), stack.high[i : i + 1].copy()), family=family
            )
            assert alone.location[0] == crowd.location[i]
            assert alone.scale[0] == crowd.scale[i]
            assert alone.log_likelihood[0] == crowd.log_likelihood[i]


def test_bounds_far_from_two_close_values_converge() -> None:
    """Two exact values a thousandth apart, and bounds a thousand times as far."""
    low = np.array([[1.0, 2.0, 2.001, 3.0]])
    stack = Stack(np.array([0]), low, np.array([[np.inf, 2.0, 2.001, np.inf]]))
    for family in FAMILIES:
        fit = fit_bounded(stack, family=family)
        slope = oracle.slope(_pairs(stack, 0), family, float(fit.location[0]), float(fit.scale[0]))
        assert max(abs(float(slope[0])), abs(float(slope[1]))) < 1e-7


TROUBLE = {
    ALL_BOUNDED: ([1.0, 2.0], [np.inf, np.inf]),
    ONE_EXACT_VALUE: ([2.0, 3.0], [2.0, np.inf]),
    UNBOUNDED_LIKELIHOOD: ([1.0, 2.0], [np.inf, 2.0]),
}


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (ALL_BOUNDED, "no exact value"),
        (ONE_EXACT_VALUE, "fewer than two distinct exact values"),
        (UNBOUNDED_LIKELIHOOD, "grows without end"),
    ],
)
def test_what_cannot_be_fitted_is_refused_in_words(code: int, words: str) -> None:
    """With count and group, and a code per row to find the others by."""
    low, high = TROUBLE[code]
    stack = Stack(np.array([7]), np.array([low]), np.array([high]))
    assert fit_trouble(stack).tolist() == [code]
    with pytest.raises(InvalidSample, match=rf"{words}.*1 of 1 samples, the first is group 7"):
        fit_bounded(stack, family="normal")


def test_equal_exact_values_are_one() -> None:
    """Twice 2.0 and a bound below: the likelihood has no top."""
    stack = Stack(np.array([0]), np.array([[1.0, 2.0, 2.0]]), np.array([[np.inf, 2.0, 2.0]]))
    assert fit_trouble(stack).tolist() == [UNBOUNDED_LIKELIHOOD]


def test_logarithms_need_values_above_zero() -> None:
    """A zero is refused with its group; a lower bound of zero is no value and is allowed."""
    zero = Stack(np.array([3]), np.array([[0.0, 1.0, 2.0]]), np.array([[0.0, 1.0, 2.0]]))
    with pytest.raises(InvalidSample, match="the first in group 3"):
        fit_bounded(zero, family="weibull")
    bound = Stack(np.array([3]), np.array([[0.0, 1.0, 2.0]]), np.array([[1.5, 1.0, 2.0]]))
    assert np.isfinite(fit_bounded(bound, family="weibull").log_likelihood).all()


def test_unknown_families_are_refused() -> None:
    """With the list of known ones."""
    with pytest.raises(InvalidSample, match="to be one of normal, lognormal, weibull"):
        fit_bounded(_samples(5, 5, seed=1)[0], family="gamma")  # type: ignore[arg-type]


def test_exponential_needs_lower_bounds_only() -> None:
    """An interval is refused, and so are bounds alone."""
    with pytest.raises(InvalidSample, match="from below only"):
        fit_exponential(Stack(np.array([0]), np.array([[1.0, 2.0]]), np.array([[3.0, 2.0]])))
    with pytest.raises(InvalidSample, match="no exact value"):
        fit_exponential(Stack(np.array([0]), np.array([[1.0, 2.0]]), np.array([[np.inf, np.inf]])))
