"""The kinds with a spread, shares of the mean and of the pulls, proof loads and further characteristic values, alone
and in compounds, against all completions that a plain search can find.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.acceptance.evaluate import decide
from adhesion_stats.acceptance.outcomes import Outcome, Reason
from tests import oracle_decisions as oracle
from tests.acceptance.build import Row, cases_of, specification
from tests.acceptance.test_brute_force import KINDS, random_criterion, random_rows

FURTHER = oracle.FURTHER
EXACT = ("less sd", "index", "below", "cov", "part", "held", "known sd", "order", "iso12491")  # joined exactly


def further(rng: np.random.Generator, kind: str, n: int) -> tuple[object, ...]:
    """A criterion whose limit lies among what the values can reach."""
    asked, limit = "pull-off", float(np.round(rng.uniform(0.4, 1.9), 2))
    confidence = float(rng.choice([0.5, 0.75, 0.9]))
    low = float(np.round(rng.uniform(0.1, 1.2), 2))
    if kind == "less sd":
        return (kind, asked, limit, float(np.round(rng.uniform(0.0, 2.5), 2)))
    if kind == "index":
        return (kind, asked, limit, float(np.round(rng.uniform(0.1, 2.5), 2)))
    if kind == "below":
        return (kind, asked, limit, float(np.round(rng.uniform(1.0, 40.0), 1)))
    if kind == "cov":
        return (kind, asked, float(np.round(rng.uniform(5.0, 60.0), 1)))
    if kind == "of mean":
        return (kind, asked, float(np.round(rng.uniform(30.0, 95.0), 1)))
    if kind == "part":
        return (kind, asked, limit, float(rng.choice([50, 60, 66.7, 80, 100])))
    if kind == "order":
        return (kind, asked, limit, float(rng.choice([0.5, 0.6, 0.7])), 0.5)
    if kind == "known sd":
        return (kind, asked, limit, 0.9, confidence, float(np.round(rng.uniform(0.05, 0.4), 2)))
    if kind == "lognormal":
        return (kind, asked, low, float(rng.choice([0.8, 0.95])), confidence)
    if kind == "iso12491":
        return (kind, asked, low, float(rng.choice([0.75, 0.9])))
    return (kind, asked, limit if kind == "held" else low)


def check(rows: list[Row], requirement: tuple[object, ...], required: int, ceiling: float | None) -> tuple[str, bool]:
    """Compare one zone's decision with the search; return the outcome and whether it was resolved."""
    spec = specification(requirement, required=required, ceiling=ceiling)
    decision = decide(spec, cases_of(rows, spec))["Z"]
    top = math.inf if ceiling is None else ceiling
    bounds = oracle.box(rows, "pull-off", required=required, ceiling=top, there_from=50, lost_unknown=True)
    assert len(bounds) == decision.n
    best, worst = oracle.extremes(bounds, requirement)
    told = (
        f"{requirement} on {bounds}: {decision.outcome.words} ({decision.reason.name}), search {best:.3e} {worst:.3e}"
    )
    if decision.outcome == Outcome.CONFORMS:
        assert worst >= -oracle.NEAR, told
    elif decision.outcome == Outcome.DOES_NOT_CONFORM:
        assert best < oracle.NEAR, told
    elif decision.reason != Reason.NOT_RESOLVED:
        assert best >= -1e-7, told
        assert worst <= 1e-7, told
    return decision.outcome.words, decision.reason != Reason.NOT_RESOLVED


def run(seed: int, zones: int, make: object, *, least: int = 2) -> tuple[dict[str, int], int]:
    """Decide many random zones; how often each outcome came, and how often it was not resolved."""
    rng = np.random.default_rng(seed)
    seen, lost = {"conforms": 0, "does not conform": 0, "undetermined": 0}, 0
    for _ in range(zones):
        n = int(rng.integers(least, 7))
        rows, required = random_rows(rng, n, int(rng.integers(0, 4)))
        ceiling = float(np.round(rng.uniform(2.5, 4.0), 1)) if rng.random() < 0.5 else None
        outcome, resolved = check(rows, make(rng, n), required, ceiling)  # type: ignore[operator]
        seen[outcome] += 1
        lost += not resolved
    return seen, lost


@pytest.mark.parametrize("kind", FURTHER)
def test_one_criterion_is_decided_as_all_completions_say(kind: str) -> None:
    """Each kind alone, bounded and missing pulls, with and without a ceiling; resolved, unless there is a floor."""
    seen, lost = run(3, 20, lambda rng, n: further(rng, kind, n), least=3)
    assert sum(count > 0 for count in seen.values()) >= 2, seen
    assert lost == 0 or kind.startswith("en14358"), lost


@pytest.mark.parametrize("how", ["all", "any"])
@pytest.mark.parametrize("kind", FURTHER)
def test_two_criteria_share_one_completion(how: str, kind: str) -> None:
    """All of / any of each kind and another: never against the search; exact joint answers where these are known."""

    def make(rng: np.random.Generator, n: int) -> tuple[object, ...]:
        pool = (*KINDS[:5], *(EXACT if kind in EXACT else FURTHER))
        other = str(rng.choice(pool))
        second = further(rng, other, n) if other in FURTHER else random_criterion(rng, other, "pull-off", n)
        return (how, further(rng, kind, n), second)

    _, lost = run(17, 6, make, least=3)
    assert lost == 0 or kind not in EXACT, lost


@pytest.mark.parametrize("seed", [31, 32])
def test_nested_compounds_are_never_against_the_search(seed: int) -> None:
    """Random trees of old and new kinds."""

    def make(rng: np.random.Generator, n: int) -> tuple[object, ...]:
        def leaf() -> tuple[object, ...]:
            kind = str(rng.choice([*KINDS, *FURTHER]))
            return further(rng, kind, n) if kind in FURTHER else random_criterion(rng, kind, "pull-off", n)

        inner = (str(rng.choice(["all", "any"])), leaf(), leaf())
        return (str(rng.choice(["all", "any"])), inner, leaf())

    seen, lost = run(seed, 30, make, least=3)
    assert min(seen.values()) > 0, seen
    assert lost < 10, lost
