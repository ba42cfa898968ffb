"""Probability of conformity of several values with common and independent errors: by hand, by other integrals."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.shared_errors import (
    Errors,
    conformity_of_mean,
    conformity_of_rank,
    conformity_of_value,
    limit_for_probability,
)

Values = NDArray[np.float64]
PHI = stats.norm.cdf


def errors(u: float = 0.0, r: float = 0.0, v: float = 0.0, s: float = 0.0) -> Errors:
    """Common amount and share, independent amount and share."""
    return Errors(common=u, common_share=r, independent=v, independent_share=s)


def by_double_integral(y: Values, z: int, limit: float, e: Errors) -> float:
    """The same probability without turning the two common errors: a plain double integral over both of them."""
    at = np.linspace(-8.5, 8.5, 241)  # equal steps on a smooth bell: exact to the last digits
    mass = stats.norm.pdf(at) * (at[1] - at[0])
    amount, share = at[:, np.newaxis, np.newaxis], at[np.newaxis, :, np.newaxis]
    spread = np.hypot(e.independent, e.independent_share * y)
    q = PHI((y * (1.0 - e.common_share * share) - e.common * amount - limit) / spread)
    ways = [way for way in itertools.product((0, 1), repeat=y.size) if sum(way) >= z]
    given = sum(np.prod(np.where(way, q, 1.0 - q), axis=2) for way in ways)
    return float(mass @ given @ mass)


@pytest.mark.parametrize("z", [1, 2, 3])
@pytest.mark.parametrize("e", [errors(0.05, 0.03, 0.04, 0.02), errors(0.02, 0.05, 0.06), errors(0.06, 0.01, 0.0, 0.03)])
def test_ranks_agree_with_a_plain_double_integral(z: int, e: Errors) -> None:
    """Both common errors and independent ones at once, n = 3."""
    y = np.array([1.44, 1.52, 1.60])
    found = conformity_of_rank(y[np.newaxis, :], at_least=z, lower=1.5, errors=e)[0]
    assert found == pytest.approx(by_double_integral(y, z, 1.5, e), abs=1e-9)


def test_independent_errors_alone_multiply() -> None:
    """(1.52 - 1.50) / 0.04 = 0.5 and (1.60 - 1.50) / 0.04 = 2.5: 0.69146 * 0.99379 = 0.68717; one at least:
    1 - 0.30854 * 0.00621 = 0.99808.
    """
    y, e = np.array([[1.52, 1.60]]), errors(v=0.04)
    assert conformity_of_rank(y, at_least=2, lower=1.5, errors=e)[0] == pytest.approx(0.68717, abs=5e-6)
    assert conformity_of_rank(y, at_least=1, lower=1.5, errors=e)[0] == pytest.approx(0.99808, abs=5e-6)


def test_a_common_error_is_no_smaller_for_many_values() -> None:
    """All at 1.52, u = 0.04 common: 0.69146 for the mean and for the smallest, of 2 values and of 50."""
    for n in (2, 50):
        y = np.full((1, n), 1.52)
        assert conformity_of_mean(y, lower=1.5, errors=errors(u=0.04))[0] == pytest.approx(PHI(0.5), abs=1e-12)
        found = conformity_of_rank(y, at_least=n, lower=1.5, errors=errors(u=0.04))[0]
        assert found == pytest.approx(PHI(0.5), abs=1e-12)


def test_an_independent_error_averages_out_in_the_mean() -> None:
    """All at 1.52, v = 0.04, n = 16: (1.52 - 1.50) / (0.04 / 4) = 2."""
    found = conformity_of_mean(np.full((1, 16), 1.52), lower=1.5, errors=errors(v=0.04))[0]
    assert found == pytest.approx(PHI(2.0), abs=1e-12)


def test_the_mean_by_hand() -> None:
    """1.4, 1.5, 1.7: mean 1.5333; u = 0.02, 1 % common, 0.03 and 2 % independent:
    0.0004 + 0.00023511 + 0.0009/3 + 0.0004 * (1.96 + 2.25 + 2.89) / 9 = 0.00125067; u_m = 0.035365;
    (1.533333 - 1.5) / 0.035365 = 0.94256.
    """
    found = conformity_of_mean(np.array([[1.4, 1.5, 1.7]]), lower=1.5, errors=errors(0.02, 0.01, 0.03, 0.02))[0]
    assert found == pytest.approx(PHI(0.94256), abs=5e-6)


@pytest.mark.parametrize(
    "e", [errors(0.05, 0.03, 0.04, 0.02), errors(0.03, 0.0, 0.05, 0.0), errors(0.0, 0.04, 0.0, 0.05)]
)
def test_draws_of_true_values_agree(e: Errors) -> None:
    """100,000 draws of the model as it is written; within 4 standard errors."""
    rng, m = np.random.default_rng(7), 100_000
    y = np.array([1.48, 1.52, 1.58, 1.75, 2.20])
    one, each = (m, 1), (m, y.size)
    x = y * (1.0 - e.common_share * rng.standard_normal(one) - e.independent_share * rng.standard_normal(each))
    x = x - e.common * rng.standard_normal(one) - e.independent * rng.standard_normal(each)
    pairs = [(conformity_of_mean(y[np.newaxis, :], lower=1.65, errors=e)[0], (x.mean(axis=1) >= 1.65).mean())]
    for z in (5, 4, 3):
        exact = conformity_of_rank(y[np.newaxis, :], at_least=z, lower=1.5, errors=e)[0]
        pairs += [(exact, ((x >= 1.5).sum(axis=1) >= z).mean())]
    for exact, drawn in pairs:
        assert abs(exact - drawn) <= 4.0 * math.sqrt(exact * (1.0 - exact) / m) + 1e-9


def test_a_small_independent_error_comes_to_the_normal_probability() -> None:
    """The narrower the independent error, the sharper the crossing: no node may miss it."""
    y = np.array([[1.53, 1.61, 1.90]])
    for v in (1e-3, 1e-5, 1e-8):
        found = conformity_of_rank(y, at_least=3, lower=1.5, errors=errors(0.05, 0.02, v))[0]
        assert found == pytest.approx(PHI(0.03 / math.hypot(0.05, 0.02 * 1.53)), abs=5.0 * v + 1e-9)


def test_it_never_falls_as_a_value_grows() -> None:
    """Ranks and means over a grid of values, the others kept, as far as a probability of 0.9999."""
    e = errors(0.05, 0.15, 0.02, 0.15)
    grid = np.concatenate([np.linspace(0.0, 4.0, 60), [10.0, 100.0, np.inf]])
    rows = np.column_stack([grid, np.full(grid.size, 1.0), np.full(grid.size, 1.4)])
    for found in (
        conformity_of_mean(rows, lower=0.5, errors=e),
        conformity_of_rank(rows, at_least=3, lower=0.9, errors=e),
        conformity_of_rank(rows, at_least=2, lower=1.2, errors=e),
    ):
        capped = np.minimum(found, 0.9999)
        assert (np.diff(capped) >= -1e-10).all()


def test_the_acceptance_limit_has_the_probability_asked() -> None:
    """Put in as the value, it gives the probability back; for a fixed amount alone it is L + z u."""
    for p, u, r, c in itertools.product((0.6, 0.95, 0.9999), (0.0, 0.04), (0.0, 0.03, 0.15), (0.0, 0.3)):
        if u == 0.0 and r == 0.0:
            continue
        e = errors(u, r)
        at = limit_for_probability(lower=1.5, errors=e, moved=0.8, fixed=c, independent=0.01, probability=p)
        spread = math.sqrt((0.8 * u) ** 2 + 0.01**2 + (r * (at + c)) ** 2)
        assert PHI((at - 1.5) / spread) == pytest.approx(p, abs=1e-9)
    plain = limit_for_probability(
        lower=1.5, errors=errors(u=0.05), moved=1.0, fixed=0.0, independent=0.0, probability=0.95
    )
    assert plain == pytest.approx(1.5 + 1.6448536 * 0.05, abs=1e-8)


def test_one_zone_and_a_crowd_have_the_same_bits() -> None:
    """What a row gets does not depend on the others."""
    rng, e = np.random.default_rng(1), errors(0.04, 0.01, 0.02)
    y = rng.uniform(1.3, 2.0, (60, 4))
    crowd = conformity_of_rank(y, at_least=3, lower=1.5, errors=e)
    alone = np.concatenate([conformity_of_rank(y[i : i + 1], at_least=3, lower=1.5, errors=e) for i in (0, 20, 40)])
    assert (crowd[[0, 20, 40]] == alone).all()


def test_without_any_error_it_is_0_or_1_and_equal_meets() -> None:
    """A value on the limit conforms."""
    y = np.array([[1.5, 1.6], [1.4, 1.6]])
    assert conformity_of_mean(y, lower=1.5, errors=errors()).tolist() == [1.0, 1.0]
    assert conformity_of_rank(y, at_least=2, lower=1.5, errors=errors()).tolist() == [1.0, 0.0]
    ends = np.array([-np.inf, 1.5, np.inf])
    found = conformity_of_value(ends, lower=1.5, errors=errors(), moved=1.0, scaled=1.0)
    assert found.tolist() == [0.0, 1.0, 1.0]


def test_a_reading_of_zero_has_no_error_in_shares() -> None:
    """It does not reach the limit, and says nothing of the others: one of two is the other one alone."""
    e, y = errors(r=0.02, s=0.03), np.array([[0.0, 1.03]])
    assert conformity_of_rank(y, at_least=2, lower=1.0, errors=e)[0] == pytest.approx(0.0, abs=1e-12)
    one = PHI(0.03 / math.hypot(0.02 * 1.03, 0.03 * 1.03))
    assert conformity_of_rank(y, at_least=1, lower=1.0, errors=e)[0] == pytest.approx(one, abs=1e-9)


def test_what_is_no_uncertainty_is_refused() -> None:
    """Negative, a share of 1, a probability that would let the limit down, more values than there are."""
    with pytest.raises(InvalidSample):
        errors(u=-0.1)
    with pytest.raises(InvalidSample):
        errors(r=1.0)
    with pytest.raises(InvalidSample):
        limit_for_probability(lower=1.0, errors=errors(0.1), moved=1.0, fixed=0.0, independent=0.0, probability=0.5)
    with pytest.raises(InvalidSample):
        limit_for_probability(lower=1.0, errors=errors(r=0.7), moved=1.0, fixed=0.0, independent=0.0, probability=0.95)
    with pytest.raises(InvalidSample):
        conformity_of_rank(np.ones((1, 2)), at_least=3, lower=1.0, errors=errors(0.1))
    with pytest.raises(InvalidSample):
        conformity_of_mean(np.empty((1, 0)), lower=1.0, errors=errors(0.1))
