"""JCGM 106:2012: probability of conformity and guard bands. Input recalled; recomputing gives the printed results."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import (
    acceptance_limits,
    conformity_probability,
    guard_band,
    guard_band_for_probability,
)


def test_viscosity_of_oil() -> None:
    """Limits 12.5 and 16.3 mm2/s, y = 13.6, u = 1.8: p_c = .6626298, printed .66."""
    p = conformity_probability(np.array([13.6]), standard_uncertainty=1.8, lower=12.5, upper=16.3)
    assert p[0] == pytest.approx(0.6626298, abs=0.00000005)


def test_breakdown_voltage() -> None:
    """One limit, -5.40 V from above, y = -5.47, u = .05: .9192433, printed .92."""
    p = conformity_probability(np.array([-5.47]), standard_uncertainty=0.05, lower=-math.inf, upper=-5.40)
    assert p[0] == pytest.approx(0.9192433, abs=0.00000005)


@pytest.mark.parametrize(("r", "expected"), [(0.0, 0.5), (0.5, 0.8413447), (1.0, 0.9772499), (1.5, 0.9986501)])
def test_probability_at_the_acceptance_limit(r: float, expected: float) -> None:
    """Guard band w = r U, U = 2 u, one limit: p_c = Phi(2 r) for a result at the acceptance limit."""
    width = guard_band(expanded_uncertainty=0.2, multiple=r)
    low, _ = acceptance_limits(lower=1.5, upper=math.inf, width=width, guarded_for="acceptance")
    p = conformity_probability(np.array([low]), standard_uncertainty=0.1, lower=1.5, upper=math.inf)
    assert p[0] == pytest.approx(expected, abs=0.00000005)


def test_guard_band_for_95_percent() -> None:
    """W = 1.645 u: .95."""
    assert guard_band_for_probability(standard_uncertainty=1.0, probability=0.95) == pytest.approx(1.645, abs=0.0005)
