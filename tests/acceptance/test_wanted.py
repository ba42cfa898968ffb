"""How often good and bad zones are accepted, and the smallest number of pulls that keeps both risks."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.acceptance.risk import Assumed
from adhesion_stats.acceptance.risk.wanted import risk_figures, smallest_number
from adhesion_stats.terms.checker import parse_limit
from adhesion_stats.terms.plan import RiskAsked
from adhesion_stats.terms.specification import Rounding
from tests.acceptance.build import requirement_of, specification

BOTH = requirement_of(specification(("all", ("mean", "pull-off", 1.5), ("smallest", "pull-off", 1.0))))
COUNT = requirement_of(specification(("z of n", "pull-off", 1.0, 3, 4)))
SHARE = requirement_of(specification(("share", ("A",), "at least", 60)))


def risk(good: str, bad: str, *, cov: float = 20.0, accept: float = 90.0, refuse: float = 5.0) -> RiskAsked:
    """Risks wanted."""
    return RiskAsked(parse_limit(good), parse_limit(bad), cov, accept, refuse)


@pytest.mark.parametrize(("n", "cov", "probability"), [(10, 20.0, 0.8747), (3, 25.0, 0.8247)])
def test_values_found_by_integration(n: int, cov: float, probability: float) -> None:
    """Mean 1.5 and smallest 1.0 at a true mean of 1.8 MPa: integrated elsewhere to four digits (own computation)."""
    found = risk_figures(
        BOTH, risk("1.80 MPa", "1.00 MPa", cov=cov), n=n, assumed=Assumed(), rounding=Rounding(), seed=1
    )
    assert found is not None
    assert found.good == pytest.approx(probability, abs=5e-5)


def test_figures_agree_with_simulated_zones() -> None:
    """400 000 zones of five normal pulls: within three standard errors."""
    found = risk_figures(BOTH, risk("2.00 MPa", "1.30 MPa"), n=5, assumed=Assumed(), rounding=Rounding(), seed=1)
    assert found is not None
    rng = np.random.default_rng(20260504)
    for mean, told in ((2.0, found.good), (1.3, found.bad)):
        zones = rng.normal(mean, 0.2 * mean, (400_000, 5))
        share = float(((zones.mean(axis=1) >= 1.5) & (zones.min(axis=1) >= 1.0)).mean())
        assert abs(share - told) < 3 * np.sqrt(told * (1 - told) / 400_000)


def test_the_smallest_number_is_the_first_that_keeps_both() -> None:
    """Each number below it breaks one of the two."""
    wanted = risk("2.00 MPa", "1.30 MPa")
    n = smallest_number(BOTH, wanted, assumed=Assumed(), rounding=Rounding(), seed=1)
    assert n == 5
    figures = [risk_figures(BOTH, wanted, n=k, assumed=Assumed(), rounding=Rounding(), seed=1) for k in range(1, 6)]
    assert [found is not None and found.met for found in figures] == [False, False, False, False, True]


def test_a_fixed_floor_gets_stricter_with_every_pull() -> None:
    """Thirty pulls refuse the good zone too often, although five keep both risks."""
    found = risk_figures(BOTH, risk("2.00 MPa", "1.30 MPa"), n=30, assumed=Assumed(), rounding=Rounding(), seed=1)
    assert found is not None
    assert not found.met
    assert found.good < 0.9


def test_no_number_keeps_risks_that_are_too_close() -> None:
    """Good 2.00 and bad 1.90 can't be told apart by this rule."""
    assert smallest_number(BOTH, risk("2.00 MPa", "1.90 MPa"), assumed=Assumed(), rounding=Rounding(), seed=1) is None


def test_z_of_n_has_its_own_number() -> None:
    """Three of four: four pulls or none."""
    assert smallest_number(COUNT, risk("2.00 MPa", "0.70 MPa"), assumed=Assumed(), rounding=Rounding(), seed=1) == 4
    assert smallest_number(COUNT, risk("2.00 MPa", "1.00 MPa"), assumed=Assumed(), rounding=Rounding(), seed=1) is None


def test_what_broke_tells_nothing_of_means() -> None:
    """A rule on the failure alone has no risk against a true mean."""
    assert (
        risk_figures(SHARE, risk("2.00 MPa", "1.30 MPa"), n=5, assumed=Assumed(), rounding=Rounding(), seed=1) is None
    )
