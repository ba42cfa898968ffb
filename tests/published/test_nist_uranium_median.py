"""Median screen of the uranium isotope data of NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1.

Median 201.37, MAD .995, 1.4826 MAD = 1.47518921 (with the full factor), modified z of 245.57 = 29.96271: recomputed
from the handbook's data.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from adhesion_stats.statistics import median_absolute_deviation, median_screen, modified_z

URANIUM = np.array([[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]])


def test_median_and_deviation() -> None:
    """201.37 and .995; over the normal quartile 1.47518921."""
    median, deviation = median_absolute_deviation(URANIUM)
    assert median[0] == pytest.approx(201.37, abs=0.005)
    assert deviation[0] == pytest.approx(0.995, abs=0.0005)
    assert deviation[0] / special.ndtri(0.75) == pytest.approx(1.47518921, abs=0.000000005)


def test_modified_z() -> None:
    """29.96271 with the factor 0.6745: far beyond 3.5."""
    assert modified_z(URANIUM)[0, -1] == pytest.approx(29.96271, abs=0.000005)
    screen = median_screen(URANIUM, limit=3.5, recording_step=0.01)
    assert screen.outlying[0].tolist() == [False] * 7 + [True]
