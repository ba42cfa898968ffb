"""JCGM 100:2008 (GUM), 4.4.3: twenty temperatures. Data recalled, results recomputed and equal to the printed ones."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import describe, half_width_rectangular, half_width_triangular

TEMPERATURES = np.array(
    [
        *(96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07),
        *(100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72),
    ]
)[np.newaxis]


def test_mean_and_standard_uncertainty() -> None:
    """Mean 100.145, s = 1.488844 (printed 1.49), s / sqrt n = .332916 (printed 0.33)."""
    d = describe(TEMPERATURES)
    assert d.mean[0] == pytest.approx(100.145, abs=0.0005)
    assert d.sd[0] == pytest.approx(1.488844, abs=0.0000005)
    assert d.sd[0] / math.sqrt(20) == pytest.approx(0.332916, abs=0.0000005)


def test_limits_without_observations() -> None:
    """4.4.5 and 4.4.6: limits of 96 and 104: rectangular 2.3, triangular 1.6 (formulas a / sqrt 3 and a / sqrt 6)."""
    assert half_width_rectangular(4.0) == pytest.approx(2.3, abs=0.05)
    assert half_width_triangular(4.0) == pytest.approx(1.6, abs=0.05)
