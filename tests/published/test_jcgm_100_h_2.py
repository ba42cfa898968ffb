"""JCGM 100:2008 (GUM), H.2: resistance, reactance and impedance from voltage, current and phase measured together.

Data recalled; recomputing gives the printed results.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import mean_and_sd, propagate

VOLTAGE = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
CURRENT = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASE = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
INPUTS = np.stack([VOLTAGE, CURRENT, PHASE])


def _outputs(v: np.ndarray, i: np.ndarray, phi: np.ndarray) -> np.ndarray:
    return np.stack([v / i * np.cos(phi), v / i * np.sin(phi), v / i])


def test_inputs() -> None:
    """Means 4.9990, 19.6610 mA, 1.04446; u .00320936, .00947101 mA, .000752064."""
    mean, sd = mean_and_sd(np.sort(INPUTS, axis=-1))
    assert mean == pytest.approx([4.9990, 19.6610e-3, 1.04446], abs=5e-9)
    u = sd / np.sqrt(5)
    assert u[0] == pytest.approx(0.00320936, abs=0.000000005)
    assert u[1] * 1e3 == pytest.approx(0.00947101, abs=0.000000005)
    assert u[2] == pytest.approx(0.000752064, abs=0.0000000005)


def test_first_approach() -> None:
    """R 127.7321699, X 219.8465119, Z 254.2597020; u .07107141 .29558168 .23633613; correlations."""
    covariance = np.cov(INPUTS) / 5
    correlation = np.corrcoef(INPUTS)
    assert correlation[[0, 0, 1], [1, 2, 2]] == pytest.approx([-0.35531, 0.85762, -0.64511], abs=0.000005)
    v, i, phi = INPUTS.mean(axis=1)
    r, x, z = _outputs(v, i, phi)
    # Z = 4.9990 / 0.0196610 is 254.25970195: the seventh decimal given is one unit off.
    assert (r, x, z) == pytest.approx((127.7321699, 219.8465119, 254.2597020), abs=0.0000001)
    sensitivities = np.array([[r / v, -r / i, -x], [x / v, -x / i, r], [z / v, -z / i, 0.0]])
    found = propagate(sensitivities=sensitivities, covariance=covariance)
    u = np.sqrt(np.diag(found))
    assert u == pytest.approx([0.07107141, 0.29558168, 0.23633613], abs=0.000000005)
    correlations = (found / np.outer(u, u))[[0, 0, 1], [1, 2, 2]]
    assert correlations == pytest.approx([-0.5884298, -0.4852592, 0.9925116], abs=0.00000005)


def test_second_approach() -> None:
    """Each set reduced first: 127.7316305 219.8468946 254.2600495, u .0712735 .2954891 .2362475."""
    mean, sd = mean_and_sd(np.sort(_outputs(VOLTAGE, CURRENT, PHASE), axis=-1))
    assert mean == pytest.approx([127.7316305, 219.8468946, 254.2600495], abs=0.0000001)  # 254.26004959, cut
    assert sd / np.sqrt(5) == pytest.approx([0.0712735, 0.2954891, 0.2362475], abs=0.00000005)
