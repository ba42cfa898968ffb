"""Operating characteristics in print and of general libraries, beside the ones computed here.

Sampling by variables: ISO 3951 and MIL-STD-414, s method and sigma method. Values of the R package AcceptanceSampling
(which states agreement with the tables of ISO 3951) as recomputed with its documented formula; the percentages that its
manual quotes from table V-J-1 are compared to the digits given. z of n: binomial sums, also checked against the values
that come with the two plans of the rule for renders (4 of 6 in the edition of 1996, 8 of 12 in that of 2013).
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import special

from adhesion_stats.statistics import accepts_count, accepts_variables


@pytest.mark.parametrize(
    ("n", "k", "percent", "expected"),
    [
        (30, 1.86, (1, 2, 5, 10, 15), (0.941720948, 0.756551889, 0.258466428, 0.030094595, 0.003135060)),
        (35, 1.89, (1, 2, 5, 10, 15), (0.941672485, 0.736068046, 0.208920579, 0.016507325, 0.001148802)),
    ],
)
def test_s_method(n: int, k: float, percent: tuple[int, ...], expected: tuple[float, ...]) -> None:
    """R AcceptanceSampling, plan by variables with unknown spread; n = 35, k = 1.89 is code letter J at 1 %."""
    accepted = accepts_variables(np.array(percent) / 100, k=k, n=n, known_sd=False)
    assert accepted == pytest.approx(expected, abs=0.0000000005)


def test_s_method_of_five() -> None:
    """N = 5, k = 1.53 (code letter D at 1 %): 1, 2, 5, 10, 20, 30 % below the limit."""
    accepted = accepts_variables(np.array([0.01, 0.02, 0.05, 0.10, 0.20, 0.30]), k=1.53, n=5, known_sd=False)
    assert accepted == pytest.approx([0.89832, 0.81586, 0.62827, 0.42153, 0.19511, 0.08763], abs=0.000005)


def test_table_v_j_1() -> None:
    """ISO 3951, table V-J-1, as quoted in the manual of R AcceptanceSampling: 10.95 % below is accepted in 1 %.

    The manual's own figure beside it: 1.65 % at 10 % below.
    """
    accepted = accepts_variables(np.array([0.1095, 0.10]), k=1.89, n=35, known_sd=False)
    assert accepted == pytest.approx([0.01, 0.0165], abs=0.00005)


@pytest.mark.parametrize(
    ("n", "k", "known", "good", "bad"),
    [
        (49, 1.32656, False, (0.05, 0.95), (0.15, 0.075)),
        (26, 1.322271, True, (0.05, 0.95), (0.15, 0.075)),
        (42, 1.905285, False, (0.01, 0.95), (0.06, 0.10)),
        (15, 1.901648, True, (0.01, 0.95), (0.06, 0.10)),
    ],
)
def test_plans_through_two_points(
    n: int, k: float, known: bool, good: tuple[float, float], bad: tuple[float, float]
) -> None:
    """R AcceptanceSampling, find.plan: accepts the good quality at least so often, the bad one at most so often.

    With the spread known, no plan with one value fewer holds both points.
    """
    accepted = accepts_variables(np.array([good[0], bad[0]]), k=k, n=n, known_sd=known)
    assert accepted[0] >= good[1] - 0.00005
    assert accepted[1] <= bad[1] + 0.00005
    if known:  # with one value fewer no k holds both: the two quantiles are too far apart
        z_good, z_bad = -special.ndtri(good[0]), -special.ndtri(bad[0])
        apart = special.ndtri(good[1]) - special.ndtri(bad[1])
        assert math.sqrt(n) * (z_good - z_bad) >= apart - 0.0005
        assert math.sqrt(n - 1) * (z_good - z_bad) < apart


@pytest.mark.parametrize(("z", "n", "expected"), [(8, 12, (0.438, 0.842, 0.927)), (4, 6, (0.544, 0.831, 0.901))])
def test_z_of_n(z: int, n: int, expected: tuple[float, ...]) -> None:
    """Eight of twelve and four of six at 60, 75 and 80 % above the limit: the same ratio, another risk."""
    share = [Fraction(3, 5), Fraction(3, 4), Fraction(4, 5)]
    exact = [float(sum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(z, n + 1))) for p in share]
    found = accepts_count(np.array([float(p) for p in share]), z=z, n=n)
    assert found == pytest.approx(exact, abs=1e-14)
    assert found == pytest.approx(expected, abs=0.0005)
