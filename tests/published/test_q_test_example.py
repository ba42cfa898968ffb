"""Ten readings 0.189 ... 0.167, a widely used example of the Q test: the lowest against its neighbour.

Data as in public teaching texts; ratio 0.455, kept at two-sided 95 % (0.466), flagged at 90 % (0.412). p-value
recomputed.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import dixon, dixon_p_value, dixon_ratio

READINGS = np.sort(np.array([[0.189, 0.167, 0.187, 0.183, 0.186, 0.182, 0.181, 0.184, 0.181, 0.177]]))


def test_ratio_and_p_values() -> None:
    """r10 = 0.4545455, one-sided 0.0290731; r11 = 0.5, two-sided 0.0773693."""
    r10, _ = dixon_ratio(READINGS, ratio="r10", sides="low")
    assert r10[0] == pytest.approx(0.4545455, abs=0.00000005)
    assert dixon_p_value(r10, ratio="r10", n=10, sides="low")[0] == pytest.approx(0.0290731, abs=0.00000005)
    r11, _ = dixon_ratio(READINGS, ratio="r11", sides="low")
    assert r11[0] == pytest.approx(0.5, abs=1e-12)
    assert dixon_p_value(r11, ratio="r11", n=10, sides="two")[0] == pytest.approx(0.0773693, abs=0.00000005)


def test_decisions() -> None:
    """Flagged at 90 %, kept at 95 %."""
    at_10 = dixon(READINGS, alpha=0.10, sides="two", convention="Q", recording_step=0.0)
    at_5 = dixon(READINGS, alpha=0.05, sides="two", convention="Q", recording_step=0.0)
    assert (bool(at_10.flagged[0]), bool(at_5.flagged[0])) == (True, False)
    assert at_10.critical == pytest.approx(0.4119, abs=0.00005)
    assert at_5.critical == pytest.approx(0.4656, abs=0.00005)
