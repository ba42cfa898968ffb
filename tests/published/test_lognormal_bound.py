"""Lognormal tolerance bound: ten values, 95 % content and confidence; the open library toleranceinterval agrees."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import tolerance_bound_lognormal

TEN = np.sort(np.array([[3.1, 2.8, 3.3, 2.9, 3.6, 3.0, 3.2, 2.7, 3.4, 3.5]]))


def test_bound() -> None:
    """2.3674256979."""
    bound = tolerance_bound_lognormal(TEN, content=0.95, confidence=0.95)
    assert bound[0] == pytest.approx(2.3674256979, abs=5e-11)
