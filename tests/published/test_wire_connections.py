"""King (1971), in Nelson, Applied Life Data Analysis (1982), table 4.1: strength of twenty wire connections.

Each broke at the bond or in the wire; a wire that breaks says that the bond is at least that strong. Normal maximum
likelihood of the bond, wire breaks as lower bounds: mean 1522.3, s 435.0. The plain means, 1280.0 of the bond breaks
and 1285.0 of all, are both too low for the bond.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import as_bounds, describe, fit_bounded, fit_dependent, share_below_whatever, stacks
from tests.published_data import rows

TABLE = rows("real/wire_connection_strength_by_failure_mode.csv")
STRENGTH = np.array([float(row["strength"]) for row in TABLE])
BOND = np.array([row["failure_mode"] == "bond" for row in TABLE])


def test_bond_by_likelihood() -> None:
    """Mean 1522.3, s 435.0."""
    low, high = as_bounds(STRENGTH, BOND.astype(np.int64), of=1)
    (stack,) = stacks(np.zeros(low.size, dtype=np.int64), low, high)
    fit = fit_bounded(stack, family="normal")
    assert fit.location[0] == pytest.approx(1522.3, abs=0.05)
    assert fit.scale[0] == pytest.approx(435.0, abs=0.05)


def test_plain_means() -> None:
    """1280.0 and 1285.0."""
    assert describe(np.sort(STRENGTH[BOND])[np.newaxis]).mean[0] == pytest.approx(1280.0, abs=0.05)
    assert describe(np.sort(STRENGTH)[np.newaxis]).mean[0] == pytest.approx(1285.0, abs=0.05)


def test_independence_is_the_case_of_no_correlation() -> None:
    """Both places at once at correlation 0 give the same bond; a correlation of 0.7 lowers it."""
    none, strong = (
        fit_dependent(STRENGTH[np.newaxis], BOND[np.newaxis], family="normal", correlation=rho) for rho in (0.0, 0.7)
    )
    assert none.mean[0, 0] == pytest.approx(1522.3, abs=0.05)
    assert strong.mean[0, 0] < none.mean[0, 0] - 50.0


def test_share_below_1000_whatever_the_dependence() -> None:
    """Counted in the table: bonds that broke below 1000, and all that broke below 1000."""
    found = share_below_whatever(STRENGTH[np.newaxis], BOND[np.newaxis], limit=1000.0, confidence=0.95)
    bonds = sum(row["failure_mode"] == "bond" and float(row["strength"]) < 1000.0 for row in TABLE)
    every = sum(float(row["strength"]) < 1000.0 for row in TABLE)
    assert (found.low[0], found.high[0]) == (bonds / 20, every / 20)
    assert found.low_limit[0] < found.low[0] < found.high[0] < found.high_limit[0]
