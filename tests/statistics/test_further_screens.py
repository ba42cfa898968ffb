"""Holm, median screen, Tietjen-Moore, Cochran, and what the normal assumption does to a level."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mpmath import mp
from scipy import special, stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    Population,
    SimulatedProbability,
    cochran,
    cochran_critical,
    cochran_p_value,
    cochran_statistic,
    dixon_critical,
    dixon_ratio,
    grubbs,
    grubbs_p_value,
    grubbs_statistic,
    holm,
    level_under,
    median_screen,
    modified_z,
    tietjen_moore_p_value,
    tietjen_moore_statistic,
    weibull_shape,
)
from adhesion_stats.statistics.screening import Sides
from tests import oracle_outliers as oracle

# ------------------------------------------------------------------------------------------------ many samples


@given(st.lists(st.floats(0.0, 1.0), max_size=30))
def test_holm_agrees_with_the_plain_twin(p_values: list[float]) -> None:
    """In the order of the input, ties included."""
    assert holm(np.array(p_values)).tolist() == oracle.holm(p_values)


def test_holm_keeps_the_family_level_and_hides_low_values() -> None:
    """40 samples of five: about 5 % of families have a false flag; true low values are seen far more seldom."""
    rng = np.random.default_rng(1)
    families, zones, n = 2000, 40, 5
    x = np.sort(rng.normal(2.5, 0.3, (families * zones, n)), axis=-1)
    p = grubbs_p_value(grubbs_statistic(x, sides="low")[0], n=n, sides="low").reshape(families, zones)
    false = np.mean([bool((holm(row) <= 0.05).any()) for row in p])
    assert false < 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / families)
    weak = rng.normal(2.5, 0.3, (families, n))
    weak[:, 0] -= 5.0 * 0.3  # one pull five sd low in one sample of each family
    p_weak = grubbs_p_value(grubbs_statistic(np.sort(weak, axis=-1), sides="low")[0], n=n, sides="low")
    p[:, 0] = p_weak
    alone = float(np.mean(p_weak <= 0.05))
    together = float(np.mean([holm(row)[0] <= 0.05 for row in p]))
    assert alone > 0.3
    assert together < 0.1 * alone


def test_holm_refuses_what_is_no_list_of_probabilities() -> None:
    """A missing p-value is no p-value."""
    with pytest.raises(InvalidSample, match="p-values from 0 to 1"):
        holm(np.array([0.1, np.nan]))


# ------------------------------------------------------------------------------------------------ median screen


@pytest.mark.parametrize("n", [3, 4, 7, 12])
def test_modified_z_agrees_with_the_plain_twin(n: int) -> None:
    """0.6745 (x - median) / MAD in exact fractions."""
    x = np.sort(np.random.default_rng(n).normal(2.5, 0.6, (40, n)), axis=-1)
    found = modified_z(x)
    for row, values in enumerate(x.tolist()):
        assert found[row].tolist() == pytest.approx(oracle.modified_z(values), rel=1e-11, abs=1e-13)


def test_modified_z_where_most_values_are_equal() -> None:
    """A median absolute deviation of 0: values at the median 0, any other infinitely far; within the step no flag."""
    x = np.array([[1.4, 1.5, 1.5, 1.5, 1.6]])
    assert modified_z(x).tolist() == [[-math.inf, 0.0, 0.0, 0.0, math.inf]]
    screen = median_screen(x, limit=3.5, recording_step=0.1)
    assert screen.outlying_as_recorded[0].tolist() == [True, False, False, False, True]
    assert not screen.flagged[0]


def test_median_screen_flag_survives_every_set_of_true_values() -> None:
    """A flagged value stays beyond the limit at random points within the recording intervals."""
    rng = np.random.default_rng(2)
    x = np.sort(rng.normal(2.5, 0.3, (300, 6)).round(1), axis=-1)
    screen = median_screen(x, limit=3.0, recording_step=0.1)
    rows = np.flatnonzero(screen.flagged)
    assert rows.size > 3
    assert (screen.outlying_as_recorded & ~screen.outlying).any()
    for row in rows:
        for _ in range(50):
            true = x[row] + rng.choice([-0.05, 0.05], 6)
            away = np.abs(true - np.median(true))
            deviation = np.median(away)
            z = np.where(away > 0.0, 0.6745 * away / deviation if deviation else math.inf, 0.0)
            assert (z[screen.outlying[row]] > 3.0).all()


# ------------------------------------------------------------------------------------------------ Tietjen-Moore


@pytest.mark.parametrize(("n", "k"), [(4, 1), (5, 2), (9, 3), (15, 7)])
def test_tietjen_moore_agrees_with_the_plain_twin(n: int, k: int) -> None:
    """E_k in exact fractions; 1 where all values are equal."""
    x = np.random.default_rng(n).normal(2.5, 0.6, (40, n))
    x[0] = 1.1
    x = np.sort(x, axis=-1)
    found = tietjen_moore_statistic(x, k=k)
    for row, values in enumerate(x.tolist()):
        assert found[row] == pytest.approx(oracle.tietjen_moore(values, k), rel=1e-11)


def test_tietjen_moore_for_one_is_grubbs_test() -> None:
    """E_1 = 1 - n G^2 / (n - 1)^2, and its simulated p-value is Grubbs' exact one."""
    x = np.sort(np.random.default_rng(4).normal(size=(50, 8)), axis=-1)
    g, _ = grubbs_statistic(x, sides="two")
    assert tietjen_moore_statistic(x, k=1) == pytest.approx(1.0 - 8 * g * g / 49, rel=1e-12)
    statistic = 1.0 - 8 * 2.1266**2 / 49  # two-sided 5 % point of G
    p = tietjen_moore_p_value(np.array([statistic]), n=8, k=1, samples=100_000, rng=np.random.default_rng(1))
    assert abs(p.value[0] - 0.05) < 3.0 * p.standard_error[0]


def test_a_simulated_probability_says_how_sure_it_is() -> None:
    """Same generator, same result; the error is that of a share, never zero."""
    one, two = (
        tietjen_moore_p_value(np.array([0.3]), n=10, k=2, samples=60_000, rng=np.random.default_rng(9))
        for _ in range(2)
    )
    assert (one.value, one.standard_error) == (two.value, two.standard_error)
    assert one.standard_error == pytest.approx(np.sqrt(one.value * (1 - one.value) / 60_000))
    never = tietjen_moore_p_value(np.array([0.0]), n=10, k=2, samples=1000, rng=np.random.default_rng(9))
    assert never.value[0] == 0.0 < never.standard_error[0] < 0.0011


# ------------------------------------------------------------------------------------------------ Cochran


@pytest.mark.parametrize(("p", "df"), [(2, 1), (3, 1), (3, 4), (4, 1), (4, 2)])
def test_cochran_p_value_agrees_with_nested_integrals(p: int, df: int) -> None:
    """In the part with a closed form and in the part without."""
    points = 1.0 / p + np.array([0.05, 0.3, 0.6, 0.95]) * (1.0 - 1.0 / p)
    with mp.workdps(15):
        expected = [oracle.cochran_survival(float(c), p, df) for c in points]
    assert cochran_p_value(points, p=p, degrees_of_freedom=df) == pytest.approx(expected, abs=1e-10)


@pytest.mark.parametrize(("p", "df"), [(3, 1), (5, 3), (10, 1), (10, 100), (40, 5), (100, 1), (100, 100)])
def test_cochran_both_parts_meet(p: int, df: int) -> None:
    """At C = 1/2, where the closed form ends, the recursion has reached the same value."""
    below, at = cochran_p_value(np.array([0.5 - 1e-13, 0.5]), p=p, degrees_of_freedom=df)
    assert below == pytest.approx(at, abs=1e-10)
    assert cochran_p_value(np.array([1.0 / p]), p=p, degrees_of_freedom=df)[0] == pytest.approx(1.0, abs=1e-10)


@pytest.mark.parametrize(("p", "df"), [(2, 1), (6, 2), (20, 1), (40, 4)])
def test_cochran_critical_value_has_its_level(p: int, df: int) -> None:
    """P(C > critical) = alpha."""
    for alpha in (0.001, 0.05, 0.5, 0.95):
        critical = cochran_critical(p=p, degrees_of_freedom=df, alpha=alpha)
        found = cochran_p_value(np.array([critical]), p=p, degrees_of_freedom=df)[0]
        assert found == pytest.approx(alpha, abs=1e-10)


def test_cochran_statistic_and_order() -> None:
    """Largest over sum, in any order; 1/p where there is no spread at all."""
    assert cochran_statistic(np.array([[0.5, 3.0, 1.5], [0.0, 0.0, 0.0]])).tolist() == [0.6, 1.0 / 3.0]
    screen = cochran(np.array([[0.1, 50.0, 0.1]]), degrees_of_freedom=4, alpha=0.05, recording_step=0.0)
    assert (int(screen.position[0]), bool(screen.flagged[0])) == (1, True)
    with pytest.raises(InvalidSample, match="zero or greater"):
        cochran_statistic(np.array([[1.0, -1.0]]))


def test_cochran_flag_survives_every_set_of_true_values() -> None:
    """Cells of two recorded to 0.1: flagged stays above the critical value at every corner; some flags fall."""
    rng = np.random.default_rng(6)
    pairs = rng.normal(2.5, 0.8, (400, 4, 2)).round(1)
    screen = cochran(pairs.var(axis=2, ddof=1), degrees_of_freedom=1, alpha=0.2, recording_step=0.1)
    assert screen.flagged.any()
    assert screen.within_step.any()
    for row in np.flatnonzero(screen.flagged | screen.within_step):
        differences = np.abs(pairs[row, :, 0] - pairs[row, :, 1])
        at = int(screen.position[row])
        least = max(differences[at] - 0.1, 0.0) ** 2
        others = sum((d + 0.1) ** 2 for i, d in enumerate(differences) if i != at)
        if abs(least - screen.critical * (least + others)) > 1e-12:
            assert bool(screen.flagged[row]) == (least > screen.critical * (least + others))


# ------------------------------------------------------------------------------------------------ other populations


def _plain(shape: str, cov: float = 0.25) -> Population:
    return Population(
        shape=shape,  # type: ignore[arg-type]
        cov=cov,
        weak_share=0.0,
        weak_factor=1.0,
        recording_step=0.0,
    )


@pytest.mark.parametrize("shape", ["normal", "lognormal", "weibull"])
def test_populations_have_their_mean_and_spread(shape: str) -> None:
    """Mean 1 and the coefficient of variation asked for."""
    x = _plain(shape).draw(g=200_000, n=2, rng=np.random.default_rng(1))
    assert x.mean() == pytest.approx(1.0, abs=4 * 0.25 / math.sqrt(400_000))
    assert x.std() == pytest.approx(0.25, abs=0.002)
    assert (np.diff(x, axis=-1) >= 0.0).all()


def test_weak_patches_and_steps() -> None:
    """15 % of the values are halved; recorded values lie on the step."""
    patchy = Population(shape="normal", cov=0.01, weak_share=0.15, weak_factor=0.5, recording_step=0.04)
    x = patchy.draw(g=20_000, n=3, rng=np.random.default_rng(1))
    assert float(np.mean(x < 0.75)) == pytest.approx(0.15, abs=4 * math.sqrt(0.15 * 0.85 / 60_000))
    assert np.abs(x / 0.04 - np.round(x / 0.04)).max() < 1e-9


@pytest.mark.parametrize("cov", [0.05, 0.25, 0.8, 1.5])
def test_weibull_shape_gives_the_coefficient_of_variation(cov: float) -> None:
    """Against scipy's moments."""
    mean, variance = stats.weibull_min(weibull_shape(cov=cov)).stats(moments="mv")
    assert math.sqrt(variance) / mean == pytest.approx(cov, rel=1e-9)


def test_lognormal_values_on_the_high_side_of_ten() -> None:
    """Coefficient of variation 25 %, nominal 5 %: in truth 15 %, for Grubbs; the low side sees less than 5 %."""

    def level(sides: Sides) -> SimulatedProbability:
        return level_under(
            flags=lambda x: grubbs(x, alpha=0.05, sides=sides, recording_step=0.0).flagged,
            population=_plain("lognormal"),
            n=10,
            samples=100_000,
            rng=np.random.default_rng(1),
        )

    high = level("high")
    assert abs(high.value - 0.15) < 3.0 * high.standard_error + 0.005  # half of the digit stated
    assert level("low").value < 0.02


def test_level_by_simulation_agrees_with_quadrature() -> None:
    """Dixon's r10 of five lognormal values: the double integral over any distribution, by a product rule."""
    sigma = math.sqrt(math.log1p(0.25**2))
    n, critical = 5, dixon_critical(ratio="r10", n=5, alpha=0.05, sides="high")
    # P(R > r) = n (n - 1) integral over smallest a < largest b of f(a) f(b) [F(b - r (b - a)) - F(a)]^(n - 2).
    nodes, weights = np.polynomial.legendre.leggauss(200)
    z, w = 8.0 * nodes, 8.0 * weights * np.exp(-32.0 * nodes**2) / math.sqrt(2.0 * math.pi)
    a, b = np.exp(sigma * z)[:, np.newaxis], np.exp(sigma * z)
    inner = np.where(
        b > a, special.ndtr(np.log(np.maximum(b - critical * (b - a), 1e-300)) / sigma) - special.ndtr(z)[:, None], 0.0
    )
    expected = n * (n - 1) * float(w @ np.maximum(inner, 0.0) ** (n - 2) @ w)
    found = level_under(
        flags=lambda x: dixon_ratio(x, ratio="r10", sides="high")[0] > critical,
        population=_plain("lognormal"),
        n=n,
        samples=200_000,
        rng=np.random.default_rng(3),
    )
    assert expected > 0.07
    assert abs(found.value - expected) < 3.0 * found.standard_error + 1e-4


def test_a_population_that_is_none_is_refused() -> None:
    """A negative spread or an unknown shape."""
    with pytest.raises(InvalidSample, match="cov"):
        _plain("normal", cov=-0.1)
    with pytest.raises(InvalidSample, match="to be one of"):
        _plain("gamma")
