"""ASTM E178, example 2: fifteen residuals of the vertical semi-diameter of Venus (NIST Dataplot, TIETMOO1.DAT).

mean 0.018, s = 0.551; low and high Grubbs statistics and the p-values of the low one, recomputed from the data.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import describe, grubbs_p_value, grubbs_statistic

VENUS = np.array([[-1.40, -0.44, -0.30, -0.24, -0.22, -0.13, -0.05, 0.06, 0.10, 0.18, 0.20, 0.39, 0.48, 0.63, 1.01]])


def test_mean_and_sd() -> None:
    """0.018 and 0.5509498."""
    d = describe(VENUS)
    assert d.mean[0] == pytest.approx(0.018, abs=0.0005)
    assert d.sd[0] == pytest.approx(0.5509498, abs=0.00000005)


def test_low_and_high_statistic() -> None:
    """2.573737 at the low end, 1.800527 at the high one."""
    assert grubbs_statistic(VENUS, sides="low")[0][0] == pytest.approx(2.573737, abs=0.0000005)
    assert grubbs_statistic(VENUS, sides="high")[0][0] == pytest.approx(1.800527, abs=0.0000005)


def test_p_values_of_the_low_end() -> None:
    """0.0217787 one-sided, 0.0435574 two-sided."""
    g, _ = grubbs_statistic(VENUS, sides="two")
    assert grubbs_p_value(g, n=15, sides="low")[0] == pytest.approx(0.0217787, abs=0.00000005)
    assert grubbs_p_value(g, n=15, sides="two")[0] == pytest.approx(0.0435574, abs=0.00000005)
