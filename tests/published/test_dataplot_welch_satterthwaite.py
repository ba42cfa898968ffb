"""NIST Dataplot, example of effective degrees of freedom: four standard deviations, one of them on two degrees.

u = .00458954 and nu_eff = 4.682631 recomputed from the example's input.
"""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import Budget, Component


def test_combined_and_effective_degrees_of_freedom() -> None:
    """.00371 .00191 .00191 .00006 with 2, 1000, 1000, 1000 degrees of freedom."""
    budget = Budget(
        value=0.0,
        components=tuple(
            Component(
                name=str(at), value=0.0, standard_uncertainty=u, degrees_of_freedom=df, sensitivity=1.0, common=True
            )
            for at, (u, df) in enumerate([(0.00371, 2.0), (0.00191, 1000.0), (0.00191, 1000.0), (0.00006, 1000.0)])
        ),
    )
    assert budget.combined == pytest.approx(0.00458954, abs=0.000000005)
    assert budget.effective_degrees_of_freedom == pytest.approx(4.682631, abs=0.0000005)
