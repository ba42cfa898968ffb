"""ASTM E178, two outliers: examples 1 and 3 (both in one tail) and 2 (one at either end).

Data of examples 1 and 2 as in the files of those names; data of example 3, elongation at break, from NIST Dataplot's
help. Results recalled from the practice, recomputed from the data; p-values by independent quadrature.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import (
    describe,
    grubbs_ends_statistic,
    grubbs_pair,
    grubbs_pair_critical,
    grubbs_pair_p_value,
    grubbs_pair_statistic,
    mean_and_sd,
    tietjen_moore_statistic,
)

WIRE = np.array([[568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596]])
VENUS = np.array([[-1.40, -0.44, -0.30, -0.24, -0.22, -0.13, -0.05, 0.06, 0.10, 0.18, 0.20, 0.39, 0.48, 0.63, 1.01]])
ELONGATION = np.array([[2.02, 2.22, 3.04, 3.23, 3.59, 3.73, 3.94, 4.05, 4.11, 4.13]])


def test_example_1_two_highest() -> None:
    """584 and 596: ratio .0909624, exact p = .00226427."""
    ratio, high = grubbs_pair_statistic(WIRE, sides="two")
    assert bool(high[0])
    assert ratio[0] == pytest.approx(0.0909624, abs=0.00000005)
    assert grubbs_pair_p_value(ratio, n=10, sides="high")[0] == pytest.approx(0.00226427, abs=0.000000005)


def test_example_2_both_ends() -> None:
    """w/s = 4.374264; sum of squares without both ends over the whole = .2919994."""
    assert grubbs_ends_statistic(VENUS)[0] == pytest.approx(4.374264, abs=0.0000005)
    assert tietjen_moore_statistic(VENUS, k=2)[0] == pytest.approx(0.2919994, abs=0.00000005)


def test_example_3_sums_of_squares() -> None:
    """Two lowest, 2.02 and 2.22: 1.19655 / 5.35104 = .2236107."""
    d = describe(ELONGATION)
    assert d.sd[0] ** 2 * 9 == pytest.approx(5.35104, abs=0.000005)
    _, rest = mean_and_sd(np.ascontiguousarray(ELONGATION[:, 2:]))
    assert rest[0] ** 2 * 7 == pytest.approx(1.19655, abs=0.000005)
    assert grubbs_pair_statistic(ELONGATION, sides="low")[0][0] == pytest.approx(0.2236107, abs=0.00000005)


def test_example_3_decision() -> None:
    """Below the 5 % point .2305, exact one-sided p = .0452855: both are flagged."""
    assert grubbs_pair_critical(n=10, alpha=0.05, sides="low") == pytest.approx(0.2305, abs=0.0001)  # .23055
    screen = grubbs_pair(ELONGATION, alpha=0.05, sides="low", recording_step=0.0)
    assert bool(screen.flagged[0])
    assert ELONGATION[0, screen.position[0]].tolist() == [2.02, 2.22]
    p = grubbs_pair_p_value(screen.statistic, n=10, sides="low")
    # The quadrature behind the figure is off by up to 3e-7 (see the critical values): .0452855 for .04528558.
    assert p[0] == pytest.approx(0.0452855, abs=0.0000003)
