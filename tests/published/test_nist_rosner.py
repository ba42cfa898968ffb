"""NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3: generalised ESD test of Rosner's 54 values.

Data, R_i and lambda_i as printed there (and in Technometrics 25 (1983) 165-172); the data file of NIST Dataplot says 50
in its heading and holds 54.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import esd, esd_critical, esd_statistics

VALUES = np.array(
    [
        *(-0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70),
        *(1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40),
        *(2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01),
    ]
)[np.newaxis]

STEPS = [
    (6.01, 3.118906, 3.158794),
    (5.42, 2.942973, 3.151430),
    (5.34, 3.179424, 3.143890),
    (4.64, 2.810181, 3.136165),
    (-0.25, 2.815580, 3.128247),
    (4.30, 2.848172, 3.120128),
    (3.68, 2.279327, 3.111796),
    (3.59, 2.310366, 3.103243),
    (0.68, 2.101581, 3.094456),
    (3.30, 2.067178, 3.085425),
]


@pytest.mark.parametrize(("step", "expected"), list(enumerate(STEPS)))
def test_steps(step: int, expected: tuple[float, float, float]) -> None:
    """Value taken away, statistic and critical value of each of ten steps, to half of the sixth decimal."""
    removed, statistic, critical = expected
    found, position = esd_statistics(VALUES, r=10)
    assert VALUES[0, position[0, step]] == removed
    assert found[0, step] == pytest.approx(statistic, abs=0.0000005)
    assert esd_critical(n=54, r=10, alpha=0.05, levels="published")[step] == pytest.approx(critical, abs=0.0000005)


def test_three_outliers() -> None:
    """Steps 1 and 2 alone don't reject, step 3 does: three outliers."""
    screen = esd(VALUES, r=10, alpha=0.05, levels="published", recording_step=0.0)
    assert screen.count.tolist() == [3]
    assert (screen.statistic[0, :3] > screen.critical[:3]).tolist() == [False, False, True]
