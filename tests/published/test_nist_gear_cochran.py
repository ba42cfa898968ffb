"""NIST/SEMATECH e-Handbook gear data (1.3.5.7; ten batches of ten diameters): Cochran's test of the batch variances.

Largest variance, C, critical value and p by two public R packages and by recomputing; both use the formula for C >= 1/2
also below, where it is too large in the fifth digit.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from adhesion_stats.statistics import cells, cochran, cochran_critical, cochran_p_value
from tests.published_data import rows

DATA = rows("nist_gear.csv")
BATCHES = cells(
    np.array([float(row["y"]) for row in DATA]),
    level=np.zeros(len(DATA), dtype=np.int64),
    laboratory=np.array([int(row["group"]) for row in DATA]),
)
VARIANCES = np.square(BATCHES.sd)[np.newaxis]


def test_largest_variance() -> None:
    """Batch 6, 9.773333e-5, C = .2771267."""
    screen = cochran(VARIANCES, degrees_of_freedom=9, alpha=0.05, recording_step=0.0)
    assert BATCHES.laboratory[screen.position[0]] == 6
    assert VARIANCES[0, screen.position[0]] == pytest.approx(9.773333e-5, abs=5e-12)
    assert screen.statistic[0] == pytest.approx(0.2771267, abs=0.00000005)
    assert bool(screen.flagged[0])


def test_p_value_and_critical_value_by_the_formula_are_upper_bounds() -> None:
    """Packages: p = .0121039, 5 % point .2438830. Exact: .0121028 and .2438398, less by two variances at once."""
    c = np.array([0.2771267])
    bound = 10 * special.betainc(0.5 * 81, 4.5, 1.0 - c[0])
    assert bound == pytest.approx(0.0121039, abs=0.00000005)
    exact = cochran_p_value(c, p=10, degrees_of_freedom=9)[0]
    assert 0.0 < bound - exact < 2e-6
    critical = cochran_critical(p=10, degrees_of_freedom=9, alpha=0.05)
    assert 1.0 - special.betaincinv(0.5 * 81, 4.5, 0.005) == pytest.approx(0.2438830, abs=0.00000005)
    assert 0.0 < 0.2438830 - critical < 1.3e-4
