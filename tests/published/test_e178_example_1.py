"""ASTM E178, example 1: breaking strength of hard-drawn copper wire, ten values, is the highest an outlier?

Mean 575.2, s = 8.70, one-sided 5 % and 1 % points 2.176 and 2.410. Data and results recalled from the practice;
recomputing from the data gives the results to their last digit (NIST Dataplot lists the distinct values). p-values:
recomputed by independent quadrature.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import (
    describe,
    dixon,
    dixon_p_value,
    dixon_ratio,
    grubbs,
    grubbs_critical,
    grubbs_p_value,
    grubbs_statistic,
)

WIRE = np.array([[568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596]])


def test_mean_and_sd() -> None:
    """575.2 and 8.70."""
    d = describe(WIRE)
    assert d.mean[0] == pytest.approx(575.2, abs=0.05)
    assert d.sd[0] == pytest.approx(8.70, abs=0.005)
    assert d.sd[0] == pytest.approx(8.70249, abs=0.000005)


def test_grubbs_statistic_and_p_value() -> None:
    """T10 = 2.39012, exact one-sided p = 0.0118179."""
    g, _ = grubbs_statistic(WIRE, sides="high")
    assert g[0] == pytest.approx(2.39012, abs=0.000005)
    assert grubbs_p_value(g, n=10, sides="high")[0] == pytest.approx(0.0118179, abs=0.00000005)


def test_grubbs_decision() -> None:
    """Flagged at 5 % (2.1761), kept at 1 % (2.4097)."""
    assert grubbs_critical(n=10, alpha=0.05, sides="high") == pytest.approx(2.1761, abs=0.00005)
    assert grubbs_critical(n=10, alpha=0.01, sides="high") == pytest.approx(2.4097, abs=0.00005)
    at_5 = grubbs(WIRE, alpha=0.05, sides="high", recording_step=0.0)
    at_1 = grubbs(WIRE, alpha=0.01, sides="high", recording_step=0.0)
    assert (bool(at_5.flagged[0]), bool(at_1.flagged[0])) == (True, False)


def test_dixon_ratio_and_p_value() -> None:
    """r11 = 12/26, exact one-sided p = 0.0598168."""
    r, _ = dixon_ratio(WIRE, ratio="r11", sides="high")
    assert r[0] == pytest.approx(0.461538, abs=0.0000005)
    assert dixon_p_value(r, ratio="r11", n=10, sides="high")[0] == pytest.approx(0.0598168, abs=0.00000005)


def test_dixon_decision() -> None:
    """Below the 5 % point of r11, 0.4779: kept."""
    screen = dixon(WIRE, alpha=0.05, sides="high", convention="E178", recording_step=0.0)
    assert screen.critical == pytest.approx(0.4779, abs=0.00005)
    assert not bool(screen.flagged[0])
