"""JCGM 100:2008 (GUM), H.3: a thermometer's correction at 30 degrees from a fitted line (correlated inputs).

The line (y1 = -.17120379, u .0028776; y2 = .0021827, u .00066794; r = -.9304296; at 20 degrees) is recalled and
recomputed; fitting lines is no part of the package, propagating through one is.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import propagate


def test_correction_at_30_degrees() -> None:
    """b(30) = -.1494, u = .0041; to more digits -.149377 and .0041386, as far as the rounded line allows."""
    u_1, u_2, r = 0.0028776, 0.00066794, -0.9304296
    covariance = np.array([[u_1 * u_1, r * u_1 * u_2], [r * u_1 * u_2, u_2 * u_2]])
    found = propagate(sensitivities=np.array([[1.0, 10.0]]), covariance=covariance)
    correction = -0.17120379 + 10.0 * 0.0021827
    assert correction == pytest.approx(-0.14937681, abs=0.0000005)
    assert math.sqrt(found[0, 0]) == pytest.approx(0.00413860, abs=0.0000001)
