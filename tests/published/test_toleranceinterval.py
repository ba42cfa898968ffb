"""Tolerance bounds of ten values beside the open library toleranceinterval 1.0.3, run once (script beside the data).

Its one-sided factors come from scipy's non-central t and its exact two-sided ones from a numerical integral: relative
1e-9 and 1e-6.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import tolerance_bound_lognormal, tolerance_bound_lower, tolerance_interval
from tests.published.data.make_toleranceinterval_reference import SAMPLE
from tests.published_data import rows

TABLE = rows("toleranceinterval_reference.csv")


@pytest.mark.parametrize("row", TABLE, ids=[f"n{r['n']} {r['content']} {r['confidence']}" for r in TABLE])
def test_bounds(row: dict[str, str]) -> None:
    """Lower normal, lower lognormal, both ends."""
    x = np.sort(np.array([SAMPLE[: int(row["n"])]]))
    content, confidence = float(row["content"]), float(row["confidence"])
    lower = tolerance_bound_lower(x, content=content, confidence=confidence)
    assert lower[0] == pytest.approx(float(row["lower_normal"]), rel=1e-9)
    lognormal = tolerance_bound_lognormal(x, content=content, confidence=confidence)
    assert lognormal[0] == pytest.approx(float(row["lower_lognormal"]), rel=1e-9)
    low, high = tolerance_interval(x, content=content, confidence=confidence)
    assert low[0] == pytest.approx(float(row["low"]), rel=1e-6, abs=1e-6)
    assert high[0] == pytest.approx(float(row["high"]), rel=1e-6)
