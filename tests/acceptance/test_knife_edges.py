"""Joint reasoning where it is tight: the limit is set just inside and just outside of what completions can do
together.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.acceptance.evaluate import decide
from adhesion_stats.acceptance.outcomes import Outcome, Reason
from tests import oracle_decisions as oracle
from tests.acceptance.build import Row, cases_of, row, specification
from tests.acceptance.test_brute_force import random_rows

TIGHT = 2e-4
OTHERS = ("mean", "smallest", "z of n", "tolerance")


def other(rng: np.random.Generator, kind: str, n: int, limit: float) -> tuple[object, ...]:
    """The criterion that shares values with the one under test."""
    if kind == "z of n":
        return (kind, "pull-off", limit, int(rng.integers(1, n + 1)), n)
    if kind == "tolerance":
        return (kind, "pull-off", limit, 0.6, 0.5)
    return (kind, "pull-off", limit)


def outcome(
    rows: list[Row], requirement: tuple[object, ...], required: int, ceiling: float | None
) -> tuple[Outcome, Reason]:
    """Decide one zone."""
    spec = specification(requirement, required=required, ceiling=ceiling)
    found = decide(spec, cases_of(rows, spec))["Z"]
    return found.outcome, found.reason


@pytest.mark.parametrize("kind", OTHERS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_best_that_all_of_can_do(kind: str, seed: int) -> None:
    """All of (other, characteristic value): met by some completion just below the best common value, by none just
    above.
    """
    rng = np.random.default_rng(seed)
    tried = 0
    while tried < 9:
        n = int(rng.integers(3, 7))
        rows, required = random_rows(rng, n, int(rng.integers(1, 4)))
        ceiling = float(np.round(rng.uniform(2.5, 4.0), 1)) if rng.random() < 0.5 else None
        bounds = oracle.box(
            rows, "pull-off", required=required, ceiling=ceiling or np.inf, there_from=50, lost_unknown=True
        )
        if all(a == b for a, b in bounds):
            continue
        c = other(rng, kind, n, float(np.round(rng.uniform(0.8, 2.0), 2)))

        def together(x: list[float], c: tuple[object, ...] = c) -> float:
            kept = oracle.score(c, x)
            value = 1.0 + oracle.score(("tolerance", "pull-off", 1.0, 0.9, 0.75), x)
            return value if kept >= 0 else -10.0 + kept

        limit = float(c[2])  # type: ignore[arg-type]
        best = oracle.strongest(bounds, together, [limit], wanted=np.inf, means=(limit * (1 + 1e-12),))
        if not 0.05 < best < 50.0:
            continue
        tried += 1
        for factor, possible in ((1 - TIGHT, True), (1 + TIGHT, False)):
            asked = ("all", c, ("tolerance", "pull-off", best * factor, 0.9, 0.75))
            found, reason = outcome(rows, asked, required, ceiling)
            assert reason != Reason.NOT_RESOLVED
            assert (found != Outcome.DOES_NOT_CONFORM) == possible, (bounds, asked, best, found)


@pytest.mark.parametrize("kind", OTHERS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_worst_that_any_of_can_do(kind: str, seed: int) -> None:
    """Any of (other, characteristic value): failed by some completion just above the worst common value, by none just
    below.
    """
    rng = np.random.default_rng(seed)
    tried = 0
    while tried < 9:
        n = int(rng.integers(3, 7))
        rows, required = random_rows(rng, n, int(rng.integers(1, 4)))
        ceiling = float(np.round(rng.uniform(2.5, 4.0), 1)) if kind == "tolerance" or rng.random() < 0.7 else None
        bounds = oracle.box(
            rows, "pull-off", required=required, ceiling=ceiling or np.inf, there_from=50, lost_unknown=True
        )
        if all(a == b for a, b in bounds):
            continue
        c = other(rng, kind, n, float(np.round(rng.uniform(1.0, 2.4), 2)))

        def apart(x: list[float], c: tuple[object, ...] = c) -> float:
            kept = oracle.score(c, x)
            value = 1.0 + oracle.score(("tolerance", "pull-off", 1.0, 0.9, 0.75), x)
            return -value if kept < -1e-12 else -100.0 - kept

        limit = float(c[2])  # type: ignore[arg-type]
        below = limit * (1 - 1e-9)
        worst = -oracle.strongest(bounds, apart, [limit, below], wanted=np.inf, means=(below,))
        if not 0.05 < worst < 50.0:
            continue
        tried += 1
        for factor, possible in ((1 + TIGHT, True), (1 - TIGHT, False)):
            asked = ("any", c, ("tolerance", "pull-off", worst * factor, 0.9, 0.75))
            found, reason = outcome(rows, asked, required, ceiling)
            assert reason != Reason.NOT_RESOLVED
            assert (found != Outcome.CONFORMS) == possible, (bounds, asked, worst, found)


def shares_zone(shares: list[dict[str, float]], requirement: tuple[object, ...]) -> Outcome:
    """Decide a zone of pulls with these failures."""
    rows = [row(2.0, failure=f) for f in shares]
    spec = specification(requirement)
    return decide(spec, cases_of(rows, spec))["Z"].outcome


@pytest.mark.parametrize(
    ("limit_a", "limit_b", "expected"),
    [
        # Two pulls: A 40 Y 60 and B 30 Y 70. Known sums A 40, B 30; covered 130. Means over two pulls:
        # A >= 60 % needs 120 - 40 = 80 more, B >= 40 % needs 80 - 30 = 50 more: 130, just there.
        (60, 40, Outcome.UNDETERMINED),
        # A >= 65 % needs 90 more: 140 > 130, though each alone could be had.
        (65, 40, Outcome.DOES_NOT_CONFORM),
        (60, 45, Outcome.DOES_NOT_CONFORM),
    ],
)
def test_two_shares_compete_for_the_same_covered_area(limit_a: int, limit_b: int, expected: Outcome) -> None:
    """All of two mean shares: the covered area must be enough for both."""
    requirement = ("all", ("share", ("A",), "at least", limit_a), ("share", ("B",), "at least", limit_b))
    assert shares_zone([{"A": 40.0, "Y": 60.0}, {"B": 30.0, "Y": 70.0}], requirement) == expected


@pytest.mark.parametrize(
    ("limit_a", "limit_b", "expected"),
    [
        # To fail both, A must exceed 60 % (more than 80 more) and B exceed 40 % (more than 50 more): more than 130.
        (60, 40, Outcome.CONFORMS),
        (59, 40, Outcome.UNDETERMINED),  # more than 78 and more than 50: 130 suffice
    ],
)
def test_two_upper_limits_can_not_both_be_passed(limit_a: int, limit_b: int, expected: Outcome) -> None:
    """Any of two upper limits: conforms where the covered area is too small to pass both."""
    requirement = ("any", ("share", ("A",), "at most", limit_a), ("share", ("B",), "at most", limit_b))
    assert shares_zone([{"A": 40.0, "Y": 60.0}, {"B": 30.0, "Y": 70.0}], requirement) == expected
