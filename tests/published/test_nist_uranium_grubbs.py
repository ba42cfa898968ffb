"""NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1: Grubbs' test of eight uranium isotope ratios.

Data, statistic and critical value as printed there; p-value and the ratio of sums of squares from the script that the
handbook prints beside it (1.501e-07; 0.0049).
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import grubbs, grubbs_critical, grubbs_p_value, grubbs_statistic

URANIUM = np.array([[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]])


def test_statistic() -> None:
    """G = 2.4687 in the text, which cuts 2.46876461 instead of rounding it: one unit is the tolerance."""
    g, _ = grubbs_statistic(URANIUM, sides="high")
    assert g[0] == pytest.approx(2.4687, abs=1e-4)
    assert g[0] == pytest.approx(2.46876461121, abs=5e-12)  # recomputed with more digits


def test_critical_value() -> None:
    """One-sided 5 %: 2.032."""
    assert grubbs_critical(n=8, alpha=0.05, sides="high") == pytest.approx(2.032, abs=0.0005)


def test_p_value() -> None:
    """The one-sided p-value is 1.501e-07."""
    g, _ = grubbs_statistic(URANIUM, sides="high")
    assert grubbs_p_value(g, n=8, sides="high")[0] == pytest.approx(1.501e-07, abs=0.0005e-07)


def test_share_of_the_sum_of_squares() -> None:
    """Sum of squares without the suspect over the whole, 1 - n G^2/(n - 1)^2 = 0.0049."""
    g, _ = grubbs_statistic(URANIUM, sides="high")
    assert 1.0 - 8 * g[0] ** 2 / 49 == pytest.approx(0.0049, abs=0.00005)


def test_the_highest_value_is_flagged() -> None:
    """The handbook rejects 245.57, as recorded and with the recording step of 0.01 in mind."""
    for step in (0.0, 0.01):
        screen = grubbs(URANIUM, alpha=0.05, sides="two", recording_step=step)
        assert bool(screen.flagged[0])
        assert URANIUM[0, screen.position[0]] == 245.57
