"""NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.2: Tietjen and Moore's test of the Venus residuals, k = 2.

E2 and the simulated critical value .3150 as the handbook's script prints; .315, .277, .237 and p = .0344 by NIST
Dataplot (10,000 simulations each, whose standard error sets the tolerance); p = .03327 by 1,000,000 (error .0002).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import tietjen_moore_p_value, tietjen_moore_statistic

VENUS = np.array([[-1.40, -0.44, -0.30, -0.24, -0.22, -0.13, -0.05, 0.06, 0.10, 0.18, 0.20, 0.39, 0.48, 0.63, 1.01]])


def test_statistic() -> None:
    """E2 = .2919994."""
    assert tietjen_moore_statistic(VENUS, k=2)[0] == pytest.approx(0.2919994, abs=0.00000005)


def test_p_value() -> None:
    """.0333, within three standard errors of both simulations; .0344 within those of its own 10,000."""
    p = tietjen_moore_p_value(np.array([0.2919994]), n=15, k=2, samples=200_000, rng=np.random.default_rng(11))
    assert abs(p.value[0] - 0.03327) < 3.0 * math.hypot(p.standard_error[0], 0.0002)
    assert abs(p.value[0] - 0.0344) < 3.0 * math.hypot(p.standard_error[0], math.sqrt(0.033 * 0.967 / 10_000))


@pytest.mark.parametrize(("critical", "level"), [(0.3150, 0.05), (0.277, 0.025), (0.237, 0.01)])
def test_levels_of_printed_critical_values(critical: float, level: float) -> None:
    """The printed critical values have their levels, as far as 10,000 simulations could find them."""
    p = tietjen_moore_p_value(np.array([critical]), n=15, k=2, samples=100_000, rng=np.random.default_rng(12))
    error = math.sqrt(level * (1.0 - level) / 10_000)
    assert abs(p.value[0] - level) < 3.0 * math.hypot(p.standard_error[0], error)


def test_critical_values_of_a_longer_simulation() -> None:
    """.3588, .3147, .2771, .2350 (1,000,000 simulations) have the levels 10, 5, 2.5, 1 %."""
    for critical, level in ((0.3588, 0.10), (0.3147, 0.05), (0.2771, 0.025), (0.2350, 0.01)):
        p = tietjen_moore_p_value(np.array([critical]), n=15, k=2, samples=100_000, rng=np.random.default_rng(13))
        error = math.hypot(p.standard_error[0], math.sqrt(level * (1.0 - level) / 1_000_000))
        assert abs(p.value[0] - level) < 3.0 * error
