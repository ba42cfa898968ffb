"""ISO 12491, 5 % fractile by the coverage method: factors to two decimals, spread known and unknown."""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import k_iso12491

KNOWN = {3: "2.03 2.38 2.59", 5: "1.95 2.22 2.38", 10: "1.86 2.05 2.17", 20: "1.80 1.93 2.01", 30: "1.77 1.88 1.95"}
UNKNOWN = {3: "3.15 5.31 7.66", 5: "2.46 3.40 4.20", 10: "2.10 2.57 2.91", 20: "1.93 2.21 2.40", 30: "1.87 2.08 2.22"}


@pytest.mark.parametrize("n", KNOWN)
def test_spread_known(n: int) -> None:
    """Confidence 0.75, 0.90, 0.95."""
    for confidence, text in zip((0.75, 0.90, 0.95), KNOWN[n].split(), strict=True):
        assert k_iso12491(n=n, confidence=confidence, spread="known") == pytest.approx(float(text), abs=0.005)


@pytest.mark.parametrize("n", UNKNOWN)
def test_spread_unknown(n: int) -> None:
    """Confidence 0.75, 0.90, 0.95."""
    for confidence, text in zip((0.75, 0.90, 0.95), UNKNOWN[n].split(), strict=True):
        assert k_iso12491(n=n, confidence=confidence, spread="unknown") == pytest.approx(float(text), abs=0.005)
