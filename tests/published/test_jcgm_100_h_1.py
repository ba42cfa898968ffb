"""JCGM 100:2008 (GUM), H.1: calibration of an end gauge. Components recalled; recomputing gives the printed results."""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import Budget, Component

BUDGET = Budget(
    value=50_000_838.0,
    components=tuple(
        Component(name=name, value=0.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=1.0, common=False)
        for name, u, df in (
            ("standard", 25.0, 18.0),
            ("difference", 9.7, 25.6),
            ("expansion", 2.9, 50.0),
            ("temperature", 16.6, 2.0),
        )
    ),
)


def test_combined() -> None:
    """u_c = 31.6711 nm, printed 32."""
    assert BUDGET.combined == pytest.approx(31.6711, abs=0.00005)


def test_effective_degrees_of_freedom() -> None:
    """16.7646, printed 16.7 (the second decimal is cut); with u_c rounded to 32 first it would be 17.47."""
    assert BUDGET.effective_degrees_of_freedom == pytest.approx(16.7646, abs=0.00005)
    rounded_first = BUDGET.effective_degrees_of_freedom * (32.0 / BUDGET.combined) ** 4
    assert rounded_first == pytest.approx(17.47, abs=0.005)


def test_expanded() -> None:
    """t_99(16) = 2.92, U_99 = 93 nm."""
    assert BUDGET.expanded(confidence=0.99) / BUDGET.combined == pytest.approx(2.9207816, abs=0.00000005)
    assert BUDGET.expanded(confidence=0.99) == pytest.approx(93.0, abs=0.5)
