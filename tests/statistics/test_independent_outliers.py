"""What other libraries say of outliers, power, components of variance and budgets: recorded once, compared here.

``tests/benchmarks/record_independent_outliers.py`` made the table. Where a library differs, the test's sentence says
who is right and why.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.statistics import (
    Budget,
    Component,
    esd,
    grubbs,
    n_for_t_test,
    nested_spread,
    power_of_t_test,
    precision,
    strength_budget,
)
from tests.published_data import rows

TABLE = {(row["id"], row["quantity"]): float(row["value"]) for row in rows("independent_outliers.csv")}
ROSNER = [
    *(-0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70),
    *(1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40),
    *(2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01),
]
SAMPLES = {
    "uranium": [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57],
    "wire": [568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596],
}


def test_generalised_esd() -> None:
    """scikit-posthocs leaves 51 of Rosner's 54 values."""
    found = esd(np.array([ROSNER]), r=10, alpha=0.05, levels="published", recording_step=0.0)
    assert 54 - found.count[0] == TABLE["rosner54", "generalised ESD, r = 10, 5 %: values left"]


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("alpha", [0.05, 0.01])
def test_grubbs_decisions(name: str, alpha: float) -> None:
    """scikit-posthocs keeps or drops the same value, two-sided."""
    x = np.array([SAMPLES[name]])
    flagged = grubbs(x, alpha=alpha, sides="two", recording_step=0.0).flagged[0]
    assert x.shape[1] - int(flagged) == TABLE[name, f"Grubbs, two-sided, {alpha}: values left"]


@pytest.mark.parametrize(("n", "distance"), [(5, 0.8), (8, 1.0), (20, 0.5), (50, 0.2)])
def test_power_of_the_t_test(n: int, distance: float) -> None:
    """Statsmodels has the same power to twelve digits."""
    expected = TABLE[f"n={n},d={distance}", "t test power, one-sided 5 %"]
    assert power_of_t_test(n=n, distance=distance, alpha=0.05) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("distance", "power"), [(1.0, 0.9), (0.5, 0.8), (0.2, 0.9)])
def test_n_of_the_t_test(distance: float, power: float) -> None:
    """Statsmodels solves for a real n; the smallest whole one is the next above."""
    expected = TABLE[f"d={distance},power={power}", "t test, n as a real number"]
    assert n_for_t_test(distance=distance, alpha=0.05, power=power) == math.ceil(expected)


def test_one_way_components() -> None:
    """Dyestuff: statsmodels gives 1764.17 between batches, the closed form is 1764.05.

    In balanced data with positive components restricted maximum likelihood equals the closed form; the library's
    optimiser stops early (7e-5 relative), so here is right.
    """
    data = rows("dyestuff.csv")
    found = precision(
        np.array([float(row["y"]) for row in data]),
        level=np.zeros(len(data), dtype=np.int64),
        laboratory=np.array([ord(row["group"]) for row in data]),
    )
    assert found.between_variance[0] == pytest.approx(1764.05, rel=1e-12)
    assert found.between_variance[0] == pytest.approx(TABLE["dyestuff", "between"], rel=1e-4)
    assert found.repeatability_sd[0] ** 2 == pytest.approx(TABLE["dyestuff", "within"], rel=2e-5)


def test_nested_components() -> None:
    """Pastes: statsmodels agrees to 7e-4 between batches and 1e-4 within; it stops early here as well."""
    data = rows("pastes.csv")
    found = nested_spread(
        np.array([float(row["strength"]) for row in data]),
        group=np.array([ord(row["batch"]) for row in data]),
        part=np.array([ord(row["cask"]) for row in data]),
    )
    assert found.components[0] == pytest.approx(TABLE["pastes", "between"], rel=1e-3)
    assert found.components[1] == pytest.approx(TABLE["pastes", "part"], rel=1e-3)
    assert found.components[2] == pytest.approx(TABLE["pastes", "within"], rel=1e-4)


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("JCGM 100 G.4.1", [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)]),
        ("JCGM 100 H.1", [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]),
    ],
)
def test_effective_degrees_of_freedom(name: str, parts: list[tuple[float, float]]) -> None:
    """GTC has the same combined uncertainty and effective degrees of freedom."""
    budget = Budget(
        value=0.0,
        components=tuple(
            Component(
                name=str(u), value=1.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=1.0, common=False
            )
            for u, df in parts
        ),
    )
    assert budget.combined == pytest.approx(TABLE[name, "combined"], rel=1e-13)
    assert budget.effective_degrees_of_freedom == pytest.approx(TABLE[name, "df"], rel=1e-12)


def test_strength_budget() -> None:
    """GTC differentiates load over area by itself: value, combined uncertainty and degrees of freedom agree."""
    budget = strength_budget(
        load_n=4000.0,
        diameter_mm=50.0,
        calibration_relative=0.01,
        calibration_df=30.0,
        resolution_n=10.0,
        diameter_u_mm=0.1,
        diameter_df=12.0,
        diameter_common=False,
        alignment_relative=0.02,
    )
    assert budget.value == pytest.approx(TABLE["strength", "value"], rel=1e-13)
    assert budget.combined == pytest.approx(TABLE["strength", "combined"], rel=1e-12)
    assert budget.effective_degrees_of_freedom == pytest.approx(TABLE["strength", "df"], rel=1e-10)
