"""JCGM 100:2008 (GUM), G.4.1: three relative uncertainties. Recalled; recomputing gives the printed results, and an
independent library (GTC 1.5.1) the same effective degrees of freedom.
"""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import Budget, Component, t_quantile

PARTS = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)]
BUDGET = Budget(
    value=100.0,
    components=tuple(
        Component(
            name=f"{u} %", value=1.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=1.0, common=False
        )
        for u, df in PARTS
    ),
)


def test_combined_and_effective_degrees_of_freedom() -> None:
    """u_c = 1.029466 % (printed 1.03), nu_eff = 18.998742 (printed 19.0)."""
    assert BUDGET.combined == pytest.approx(1.029466, abs=0.0000005)
    assert BUDGET.effective_degrees_of_freedom == pytest.approx(18.998742, abs=0.0000005)


def test_expanded_at_the_rounded_degrees_of_freedom() -> None:
    """The example takes 19 for 18.998742: t = 2.0930241, U = 2.15470 %."""
    t = t_quantile(probability=0.975, degrees_of_freedom=19)
    assert t == pytest.approx(2.0930241, abs=0.00000005)
    assert t * BUDGET.combined == pytest.approx(2.15470, abs=0.000005)


def test_expanded_cut_to_the_next_lower_whole_number() -> None:
    """The rule of G.4.1 cuts to 18, which is the careful side: U = 2.1628 %, 0.4 % more."""
    expected = t_quantile(probability=0.975, degrees_of_freedom=18) * BUDGET.combined
    assert BUDGET.expanded(confidence=0.95) == expected
    assert 1.003 < expected / 2.15470 < 1.004
