"""Operating characteristics in closed form and by transform, against simulation, quadrature and each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, optimize, stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    AS_MEASURED,
    Completed,
    Ratio,
    ThreeWay,
    accepts_count,
    accepts_mean,
    accepts_mean_less_sd,
    accepts_variables,
    best_completion,
    probability_accepted,
    quality_at,
    tries,
    whole_contract,
    worst_completion,
)
from adhesion_stats.statistics.strengths import Distribution

Values = NDArray[np.float64]
DISTRIBUTIONS: tuple[Distribution, ...] = ("normal", "lognormal", "weibull")


def mean_and_smallest(n: int) -> NDArray[np.bool_]:
    """Accepts where the mean reaches its limit and all n values theirs."""
    rule = np.zeros((2, n + 1), dtype=np.bool_)
    rule[1, n] = True
    return rule


def mean_only(n: int) -> NDArray[np.bool_]:
    """Accepts where the mean reaches its limit."""
    rule = np.zeros((2, n + 1), dtype=np.bool_)
    rule[1] = True
    return rule


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
@pytest.mark.parametrize("cov", [0.1, 0.25, 0.5])
def test_ratio_against_scipy(distribution: Distribution, cov: float) -> None:
    """Share below a ratio, mean and coefficient of variation agree with scipy.stats."""
    ratio = Ratio(distribution, cov)
    at = np.linspace(0.2, 2.0, 19)
    if distribution == "normal":
        below, mean, sd = stats.norm.cdf(at, 1.0, cov), 1.0, cov
    elif distribution == "lognormal":
        sigma = math.sqrt(math.log1p(cov**2))
        law = {"s": sigma, "scale": math.exp(-(sigma**2) / 2)}
        below, mean, sd = stats.lognorm.cdf(at, **law), stats.lognorm.mean(**law), stats.lognorm.std(**law)
    else:
        shape = optimize.brentq(
            lambda c: stats.weibull_min.std(c) / stats.weibull_min.mean(c) - cov, 0.9, 60.0, xtol=1e-13
        )
        weibull = {"c": shape, "scale": 1.0 / stats.weibull_min.mean(shape)}
        below = stats.weibull_min.cdf(at, **weibull)
        mean, sd = stats.weibull_min.mean(**weibull), stats.weibull_min.std(**weibull)
    assert ratio.share_below(at) == pytest.approx(below, abs=1e-11)
    assert (mean, sd) == pytest.approx((1.0, cov), rel=1e-9)
    scores = np.linspace(-4, 4, 9)
    assert ratio.score(ratio.value_at(scores)) == pytest.approx(scores, abs=1e-9)


def test_exact_values_of_mean_and_smallest() -> None:
    """Mean 1.5 and smallest 1.0: 0.8747 at 1.8, 20 %, ten pulls; 0.8247 at 1.8, 25 %, three pulls (by integration)."""
    found = [
        probability_accepted(
            np.array([1.8]), ratio=Ratio("normal", cov), n=n, limits=[1.0], mean_limits=[1.5],
            accepted=mean_and_smallest(n), completed=AS_MEASURED,
        ).item()
        for cov, n in ((0.20, 10), (0.25, 3))
    ]  # fmt: skip
    assert found == pytest.approx([0.8747, 0.8247], abs=0.00005)


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 8, 20])
def test_mean_alone_by_transform_is_the_formula(n: int) -> None:
    """The transform of the whole distribution, cut anywhere and put together again, gives the normal mean."""
    means = np.linspace(1.0, 2.2, 25)
    found = probability_accepted(
        means, ratio=Ratio("normal", 0.25), n=n, limits=[1.3], mean_limits=[1.5], accepted=mean_only(n),
        completed=AS_MEASURED,
    )  # fmt: skip
    assert found == pytest.approx(accepts_mean(means, limit=1.5, sd=0.25 * means, n=n), abs=1e-7 if n < 5 else 1e-10)


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
def test_two_values_by_quadrature(distribution: Distribution) -> None:
    """Two values, mean and smallest: equal to scipy's adaptive quadrature."""
    ratio = Ratio(distribution, 0.3)

    def density(x: float) -> float:
        step = 1e-5
        shares = ratio.share_below(np.array([x - step, x + step]))
        return float((shares[1] - shares[0]) / (2 * step))

    def joint(x: float) -> float:
        return density(x) * (1.0 - ratio.share_below(np.array([max(1.0 / 1.6, 3.0 / 1.6 - x)])).item())

    expected, _ = integrate.quad(joint, 1.0 / 1.6, 6.0, points=[2.0 / 1.6], epsabs=1e-9, limit=200)
    found = probability_accepted(
        np.array([1.6]), ratio=ratio, n=2, limits=[1.0], mean_limits=[1.5], accepted=mean_and_smallest(2),
        completed=AS_MEASURED,
    )  # fmt: skip
    assert found.item() == pytest.approx(expected, abs=2e-8)


def test_three_values_by_nested_quadrature() -> None:
    """Three normal values, mean and smallest: the distribution of two, integrated once more by Gauss-Legendre."""
    ratio, mean, limit = Ratio("normal", 0.25), 1.7, 1.0
    # Two values above the limit with the sum above s, as a function of s, from the routine for two.
    nodes, weights = np.polynomial.legendre.leggauss(400)
    low, high = limit, mean * (1 + 0.25 * 8)
    x = low + 0.5 * (high - low) * (1 + nodes)
    density = np.exp(-0.5 * ((x - mean) / (0.25 * mean)) ** 2) / (0.25 * mean * math.sqrt(2 * math.pi))
    rest = [
        probability_accepted(
            np.array([mean]), ratio=ratio, n=2, limits=[limit], mean_limits=[(4.5 - v) / 2],
            accepted=mean_and_smallest(2), completed=AS_MEASURED,
        ).item()
        for v in x
    ]  # fmt: skip
    expected = float(np.sum(0.5 * (high - low) * weights * density * np.array(rest)))
    found = probability_accepted(
        np.array([mean]), ratio=ratio, n=3, limits=[limit], mean_limits=[1.5], accepted=mean_and_smallest(3),
        completed=AS_MEASURED,
    ).item()  # fmt: skip
    assert found == pytest.approx(expected, abs=1e-7)


def _simulated(rng: np.random.Generator, ratio: Ratio, completed: Completed, mean: float, n: int, sets: int) -> Values:
    x = mean * ratio.draw(g=sets, n=n, rng=rng)
    kept = np.where(x >= completed.split, completed.kept_above, completed.kept)
    return np.where(rng.random(x.shape) < kept, x, completed.place)


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
@pytest.mark.parametrize(
    "completed",
    [
        AS_MEASURED,
        worst_completion(lost=0.15),
        best_completion(at_least=0.2, lost=0.1, ceiling=math.inf),
        best_completion(at_least=0.2, lost=0.1, ceiling=1.9),
    ],
    ids=["as measured", "worst", "best", "best with a ceiling"],
)
@pytest.mark.parametrize("n", [1, 2, 3, 6])
def test_against_simulation(distribution: Distribution, completed: Completed, n: int) -> None:
    """A rule on two limits of the mean and two of single values: within 3 standard errors of plain simulation."""
    ratio, mean, sets = Ratio(distribution, 0.3), 1.6, 40_000
    rule = np.zeros((3, n + 1, n + 1), dtype=np.bool_)
    rule[1, n, (n + 1) // 2 :] = True  # mean 1.4, all at 0.9, half at 1.5
    rule[2, n - n // 4 :, :] = True  # or mean 1.6 and three quarters at 0.9
    rule[2] |= rule[1]
    found = probability_accepted(
        np.array([mean]), ratio=ratio, n=n, limits=[0.9, 1.5], mean_limits=[1.4, 1.6], accepted=rule,
        completed=completed,
    ).item()  # fmt: skip
    x = _simulated(np.random.default_rng(20261), ratio, completed, mean, n, sets)
    reached = (x.mean(axis=1) >= 1.4).astype(int) + (x.mean(axis=1) >= 1.6)
    share = rule[reached, (x >= 0.9).sum(axis=1), (x >= 1.5).sum(axis=1)].mean()
    error = math.sqrt(max(found * (1 - found), 1 / sets) / sets)
    assert abs(share - found) <= 3 * error


def test_mean_less_sd_against_scipy() -> None:
    """The non-central t of scipy.stats."""
    means = np.linspace(0.8, 2.4, 9)
    found = accepts_mean_less_sd(means, limit=1.0, sd=0.3 * means, n=6, k=1.4)
    delta = math.sqrt(6) * (means - 1.0) / (0.3 * means)
    assert found == pytest.approx(stats.nct.sf(1.4 * math.sqrt(6), 5, delta), abs=1e-9)


def test_count_and_smallest_agree() -> None:
    """All of n values at the limit: the power of the share above."""
    share = np.linspace(0.0, 1.0, 11)
    assert accepts_count(share, z=4, n=4) == pytest.approx(share**4, abs=1e-14)


def test_the_mean_rises_with_the_true_mean() -> None:
    """For mean and smallest the probability never falls as the true mean rises."""
    found = probability_accepted(
        np.linspace(0.8, 3.0, 200), ratio=Ratio("lognormal", 0.3), n=5, limits=[1.0], mean_limits=[1.5],
        accepted=mean_and_smallest(5), completed=AS_MEASURED,
    )  # fmt: skip
    assert np.diff(found).min() > -1e-9
    assert found[0] < 0.01
    assert found[-1] > 0.98


def test_contract_of_forty_zones() -> None:
    """Forty zones at 90 % pass together 1.5 % of the time; three outcomes sum to one."""
    one = ThreeWay(np.array([0.90, 0.5]), np.array([0.04, 0.0]), np.array([0.06, 0.5]))
    whole = whole_contract(one, zones=40)
    assert whole.conforms[0] == pytest.approx(0.90**40, rel=1e-12)
    assert whole.conforms[0] == pytest.approx(0.015, abs=0.0005)
    assert whole.does_not_conform == pytest.approx([1 - 0.96**40, 0.0], rel=1e-12)
    assert whole.conforms + whole.does_not_conform + whole.undetermined == pytest.approx([1.0, 1.0])


def test_second_try() -> None:
    """A free second try lifts 0.46 to 0.71."""
    assert tries(np.array([0.46, 0.0, 1.0]), most=2) == pytest.approx([0.7084, 0.0, 1.0])


def test_quality_where_accepted() -> None:
    """The quality found is accepted with the wanted probability; nan where it lies outside the search."""

    def accepted(mean: Values) -> Values:
        return accepts_mean(mean, limit=1.5, sd=0.2 * mean, n=5)

    found = quality_at(accepted, np.array([0.05, 0.5, 0.95]), low=0.5, high=4.0, relative=1e-8)
    assert accepted(found) == pytest.approx([0.05, 0.5, 0.95], abs=1e-6)
    assert math.isnan(quality_at(accepted, np.array([0.95]), low=0.5, high=1.6, relative=1e-8).item())


def test_what_is_refused() -> None:
    """Shares that are none, rules that turn down larger values, means of zero, too many ways to count."""
    with pytest.raises(InvalidSample, match="between 0 and 1"):
        accepts_count(np.array([60.0]), z=8, n=12)
    with pytest.raises(InvalidSample, match="strictly between"):
        accepts_variables(np.array([0.0]), k=1.5, n=5, known_sd=True)
    falling = np.zeros((1, 4), dtype=np.bool_)
    falling[0, 2] = True
    arguments = {"ratio": Ratio("normal", 0.2), "n": 3, "limits": [1.0], "completed": AS_MEASURED}
    with pytest.raises(InvalidSample, match="never turns"):
        probability_accepted(np.array([1.5]), mean_limits=[], accepted=falling, **arguments)  # type: ignore[arg-type]
    with pytest.raises(InvalidSample, match="above zero"):
        probability_accepted(np.array([0.0]), mean_limits=[], accepted=~falling, **arguments)  # type: ignore[arg-type]
    with pytest.raises(InvalidSample, match="shape"):
        probability_accepted(np.array([1.0]), mean_limits=[1.0], accepted=~falling, **arguments)  # type: ignore[arg-type]
    with pytest.raises(InvalidSample, match="at most"):
        Ratio("normal", 20.0)
