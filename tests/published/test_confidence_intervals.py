"""Confidence intervals of the mean in print: e-Handbook 1.3.5.2 (ZARR13) and NBS Handbook 91 (mica washers)."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import confidence_interval_mean, describe, tolerance_bound_lower
from tests.published_data import rows

WASHERS = np.sort(np.array([[0.123, 0.124, 0.126, 0.129, 0.120, 0.132, 0.123, 0.126, 0.129, 0.128]]))


def test_e_handbook_1_3_5_2() -> None:
    """195 heat-flow-meter factors: mean 9.261460, s = 0.02278880, 95 % interval 9.258242 to 9.264679.

    The mean is 9.26146076 and the print cuts it, so its tolerance is one unit.
    """
    x = np.sort(np.array([[float(row["y"]) for row in rows("nist_zarr13.csv")]]))
    d = describe(x)
    assert (d.mean[0], d.sd[0]) == (pytest.approx(9.261460, abs=1e-6), pytest.approx(0.02278880, abs=5e-9))
    low, high = confidence_interval_mean(x, confidence=0.95)
    assert (low[0], high[0]) == (pytest.approx(9.258242, abs=5e-7), pytest.approx(9.264679, abs=5e-7))


def test_washers_of_nbs_handbook_91() -> None:
    """Ten thicknesses: mean 0.1260, s = 0.00359011, 95 % interval 0.1234318 to 0.1285682."""
    d = describe(WASHERS)
    assert (d.mean[0], d.sd[0]) == (pytest.approx(0.1260, abs=5e-5), pytest.approx(0.0035901099, abs=5e-11))
    low, high = confidence_interval_mean(WASHERS, confidence=0.95)
    assert (low[0], high[0]) == (pytest.approx(0.1234318, abs=5e-8), pytest.approx(0.1285682, abs=5e-8))


def test_lower_tolerance_bound_of_the_washers() -> None:
    """90 % lie above 0.1175466 with 95 % confidence."""
    bound = tolerance_bound_lower(WASHERS, content=0.90, confidence=0.95)
    assert bound[0] == pytest.approx(0.1175466, abs=5e-8)
