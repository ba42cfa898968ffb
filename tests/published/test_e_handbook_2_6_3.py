"""NIST/SEMATECH e-Handbook of Statistical Methods, 2.6.3: uncertainty of resistivity measured with probe 2362.

Standard deviations, differences and results as the handbook's R script prints them (seen in a public copy of that
script): repeatability .0729 (300 degrees of freedom), between days .0362 (50), between runs .0196 (5), probe .0162 (9);
u = .03875842, 42 effective degrees of freedom, expanded .0782. Its input is rounded to four decimals in print, so that
u comes out to four: half a unit of each moves it by 6e-5 at most, and in truth by 3e-6.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import Budget, Component, describe, t_quantile

# Differences of the probe from the mean of all probes, ohm.cm: five wafers, two runs.
PROBE = np.array([-0.0372, -0.0094, -0.0261, -0.0252, -0.0383, -0.0508, -0.0657, -0.0398, -0.0534, -0.0469])

# Reported is one run of six repetitions on one of six days of the check standard: the sensitivities of the handbook.
BUDGET = Budget(
    value=-0.0393,
    components=tuple(
        Component(name=name, value=0.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=by, common=True)
        for name, u, df, by in (
            ("repeatability", 0.0729, 300.0, 0.0),
            ("days", 0.0362, 50.0, math.sqrt(5 / 6)),
            ("runs", 0.0196, 5.0, 1.0),
            ("probe", 0.0162, 9.0, math.sqrt(1 / 10)),
        )
    ),
)


def test_correction_for_the_probe() -> None:
    """Mean -.0393, standard deviation .0162."""
    found = describe(np.sort(PROBE)[np.newaxis])
    assert found.mean[0] == pytest.approx(-0.0393, abs=0.00005)
    assert found.sd[0] == pytest.approx(0.0162, abs=0.00005)


def test_components_of_days_and_runs() -> None:
    """.02057092 between days, .01295841 between runs: each level less a sixth of the one below."""
    days, runs = math.sqrt(0.0362**2 - 0.0729**2 / 6), math.sqrt(0.0196**2 - 0.0362**2 / 6)
    assert days == pytest.approx(0.02057092, abs=0.00005 * (0.0362 + 0.0729 / 6) / 0.0206)
    assert runs == pytest.approx(0.01295841, abs=0.00005 * (0.0196 + 0.0362 / 6) / 0.0130)


def test_combined() -> None:
    """U = .03875842, to what rounded input lets through."""
    assert BUDGET.combined == pytest.approx(0.03875842, abs=3e-6)


def test_effective_degrees_of_freedom() -> None:
    """42, rounded as the handbook does."""
    assert round(BUDGET.effective_degrees_of_freedom) == 42


def test_expanded() -> None:
    """.0782 at 95 %: with 42 degrees of freedom as printed, and with the uncut ones."""
    assert t_quantile(probability=0.975, degrees_of_freedom=42) * BUDGET.combined == pytest.approx(0.0782, abs=0.00005)
    assert BUDGET.expanded(confidence=0.95) == pytest.approx(0.0782, abs=0.00005)
