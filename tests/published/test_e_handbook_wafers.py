"""NIST/SEMATECH e-Handbook 7.2.6.3: resistivity of 25 wafers (NIST 100 ohm), 90 % content, 99 % confidence.

Printed: mean 97.06984, s 0.026798, interval 97.00273 to 97.13695 by an approximate factor of 2.50432. The exact factor
is 2.505926905, so that the exact interval is wider by 0.0016 s at either end; the print is met within that.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import describe, tolerance_interval
from tests.published_data import rows

WAFERS = np.sort(np.array([[float(row["y"]) for row in rows("nist_100ohm.csv")]]))


def test_mean_and_sd() -> None:
    """97.06984 and 0.026798134."""
    d = describe(WAFERS)
    assert (d.mean[0], d.sd[0]) == (pytest.approx(97.06984, abs=5e-6), pytest.approx(0.026798134, abs=5e-10))


def test_interval() -> None:
    """The printed limits moved outwards by (2.505926905 - 2.50432) s = 0.0000431, to half of their last digit."""
    low, high = tolerance_interval(WAFERS, content=0.90, confidence=0.99)
    apart = (2.505926905 - 2.50432) * 0.026798134
    assert low[0] == pytest.approx(97.00273 - apart, abs=5.1e-6)
    assert high[0] == pytest.approx(97.13695 + apart, abs=5.1e-6)
