"""JCGM 100:2008 (GUM), H.5: ten days of five voltages, spread between days and within.

Day means and standard deviations recalled; recomputing gives the printed results but for F = 2.26 (printed 2.25).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import Cells, precision_cells

DAYS = precision_cells(
    Cells(
        level=np.zeros(10, dtype=np.int64),
        laboratory=np.arange(10),
        count=np.full(10, 5),
        mean=np.array([172.0, 116, 13, 144, 106, 31, 60, 125, 163, 41]),
        sd=np.array([60.0, 77, 111, 101, 67, 93, 80, 73, 88, 86]),
    )
)


def test_means_and_pooled_spread() -> None:
    """Mean 97.1 (microvolt above 10 V), s of the day means 57.0895, pooled within days 84.8870."""
    assert DAYS.mean[0] == pytest.approx(97.1, abs=0.05)
    assert DAYS.sd_of_means[0] == pytest.approx(57.0895, abs=0.00005)
    assert DAYS.repeatability_sd[0] == pytest.approx(84.8870, abs=0.00005)


def test_spread_between_days() -> None:
    """F = 2.26152, between days 42.6386 (printed 43), u = 18.0533 (printed 18)."""
    f = 5.0 * DAYS.sd_of_means[0] ** 2 / DAYS.repeatability_sd[0] ** 2
    assert f == pytest.approx(2.26152, abs=0.000005)
    assert DAYS.between_sd[0] == pytest.approx(42.6386, abs=0.00005)
    assert DAYS.sd_of_means[0] / math.sqrt(10) == pytest.approx(18.0533, abs=0.00005)
