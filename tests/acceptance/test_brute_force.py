"""Every kind and compounds of them against all completions that a plain search can find, on thousands of random
small zones.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from adhesion_stats.acceptance.evaluate import decide
from adhesion_stats.acceptance.outcomes import Outcome, Reason
from tests import oracle_decisions as oracle
from tests.acceptance.build import Row, cases_of, row, settled, specification

KINDS = ("mean", "smallest", "z of n", "tolerance", "en unknown", "en sd", "en cov")
ZONES_PER_SEED = 125


def random_criterion(rng: np.random.Generator, kind: str, question: str, n: int) -> tuple[object, ...]:
    """A criterion whose limit lies among the values."""
    limit = float(np.round(rng.uniform(0.4, 2.2), rng.integers(1, 3)))
    if kind == "z of n":
        return (kind, question, limit, int(rng.integers(1, n + 1)), n)
    if kind == "tolerance":
        limit = float(np.round(rng.uniform(0.1, 1.2), 2))
        return (kind, question, limit, float(rng.choice([0.6, 0.8, 0.9, 0.95])), float(rng.choice([0.5, 0.75, 0.9])))
    if kind == "en unknown":
        return (kind, question, float(np.round(rng.uniform(0.1, 1.2), 2)))
    if kind == "en sd":
        return (kind, question, limit, float(np.round(rng.uniform(0.05, 0.4), 2)))
    if kind == "en cov":
        return (kind, question, limit, float(np.round(rng.uniform(0.05, 0.3), 2)))
    return (kind, question, limit)


def random_rows(rng: np.random.Generator, n: int, unknown: int) -> tuple[list[Row], int]:
    """N values of which some are bounded, glue-covered or not made; the number that is required."""
    rows = [row(float(np.round(rng.uniform(0.6, 2.6), 2))) for _ in range(n)]
    missing = 0
    for i in range(min(unknown, n)):
        how = rng.integers(0, 4)
        if how == 0:
            rows[i] |= {"bound": "at least"}
        elif how == 1:
            rows[i] |= {"bound": "at most"}
        elif how == 2:
            rows[i] |= {"held": True, "failure": {"Y": 100.0}}
        else:
            rows[i] |= {"counted": False, "lost": bool(rng.integers(0, 2)), "value": None}
            missing += 1
    return rows, n


def check(rows: list[Row], requirement: tuple[object, ...], required: int, ceiling: float | None) -> str:
    """Compare one zone's decision with the search; return the outcome for the count."""
    spec = specification(requirement, required=required, ceiling=ceiling)
    decision = decide(spec, cases_of(rows, spec))["Z"]
    bounds = oracle.box(
        rows,
        "pull-off",
        required=required,
        ceiling=math.inf if ceiling is None else ceiling,
        there_from=50,
        lost_unknown=True,
    )
    assert len(bounds) == decision.n
    best, worst = oracle.extremes(bounds, requirement)
    told = (
        f"{requirement} on {bounds}: {decision.outcome.words} ({decision.reason.name}), search {best:.3e} {worst:.3e}"
    )
    assert decision.reason != Reason.NOT_RESOLVED, told
    if decision.outcome == Outcome.CONFORMS:
        assert worst >= -oracle.NEAR, told
    elif decision.outcome == Outcome.DOES_NOT_CONFORM:
        assert best < oracle.NEAR, told
    else:
        assert best >= -1e-7, told
        assert worst <= 1e-7, told
    return decision.outcome.words


def run(seed: int, make: object) -> dict[str, int]:
    """Decide many random zones."""
    rng = np.random.default_rng(seed)
    seen = {"conforms": 0, "does not conform": 0, "undetermined": 0}
    for _ in range(ZONES_PER_SEED):
        n = int(rng.integers(2, 7))
        rows, required = random_rows(rng, n, int(rng.integers(0, 4)))
        ceiling = float(np.round(rng.uniform(2.5, 4.0), 1)) if rng.random() < 0.5 else None
        seen[check(rows, make(rng, n), required, ceiling)] += 1  # type: ignore[operator]
    return seen


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", [1, 2])
def test_one_criterion_is_decided_as_all_completions_say(kind: str, seed: int) -> None:
    """Each kind alone, bounded and missing pulls, with and without a ceiling: the search finds no completion that
    contradicts.
    """
    seen = run(seed, lambda rng, n: random_criterion(rng, kind, "pull-off", n))
    assert min(seen.values()) > 0 or kind in {"tolerance", "en unknown"}, seen


@pytest.mark.parametrize("how", ["all", "any"])
@pytest.mark.parametrize("pair", [*itertools.combinations(KINDS[:5], 2), ("tolerance", "tolerance")], ids="+".join)
def test_two_criteria_share_one_completion(how: str, pair: tuple[str, str]) -> None:
    """All of / any of two kinds: decided as the search over common completions says."""

    def make(rng: np.random.Generator, n: int) -> tuple[object, ...]:
        return (how, *(random_criterion(rng, kind, "pull-off", n) for kind in pair))

    run(11, make)


@pytest.mark.parametrize("seed", range(21, 29))
def test_nested_compounds_share_one_completion(seed: int) -> None:
    """Random trees of three to five criteria: decided as the search over common completions says."""

    def make(rng: np.random.Generator, n: int) -> tuple[object, ...]:
        def tree(depth: int) -> tuple[object, ...]:
            if depth == 0 or rng.random() < 0.3:
                return random_criterion(rng, str(rng.choice(KINDS)), "pull-off", n)
            return (str(rng.choice(["all", "any"])), *(tree(depth - 1) for _ in range(int(rng.integers(2, 4)))))

        found = tree(2)
        return found if found[0] in {"all", "any"} else ("all", found)

    seen = run(seed, make)
    assert min(seen.values()) > 0, seen


CODES = ("A", "A/B", "B", "Y")


def random_area_criterion(rng: np.random.Generator) -> tuple[object, ...]:
    """A criterion on what broke; rarely one that names the adhesive."""
    pool = CODES if rng.random() < 0.2 else CODES[:3]
    codes = tuple(sorted(rng.choice(pool, size=int(rng.integers(1, 3)), replace=False).tolist()))
    side = str(rng.choice(["at least", "at most"]))
    percent = int(rng.integers(1, 10)) * 10
    if rng.random() < 0.5:
        return ("share", codes, side, percent)
    return ("pulls", codes, int(rng.choice([30, 50, 60])), side, percent)


def random_composition(rng: np.random.Generator) -> dict[str, float] | None:
    """Shares in steps of 10, or not recorded."""
    if rng.random() < 0.2:
        return None
    cuts = sorted(rng.integers(0, 11, 3).tolist())
    sizes = [cuts[0], cuts[1] - cuts[0], cuts[2] - cuts[1], 10 - cuts[2]]
    shares = dict(zip(CODES, sizes, strict=True))
    return {code: 10.0 * size for code, size in shares.items() if size}


@pytest.mark.parametrize("seed", range(41, 51))
def test_composition_is_decided_as_all_ways_to_share_out_the_unknown_area_say(seed: int) -> None:
    """Criteria on shares and on pulls, alone and in compounds: the same as trying every way to give the unknown
    area to codes.
    """
    rng = np.random.default_rng(seed)
    for _ in range(60):
        n = int(rng.integers(1, 4))
        rows = [row(2.0, failure=random_composition(rng)) for _ in range(n)]
        required = n + int(rng.random() < 0.2)
        number = int(rng.integers(1, 4))
        requirement: tuple[object, ...] = (
            str(rng.choice(["all", "any"])),
            *(random_area_criterion(rng) for _ in range(number)),
        )
        spec = specification(requirement, required=required)
        decision = decide(spec, cases_of(rows, spec))["Z"]
        # Steps of 5 %: a share that must be more than a multiple of 10 has room.
        asked = list(oracle.leaves(requirement))
        plain = [c for c in asked if not set(c[1]) & {"Y"}]  # type: ignore[call-overload]
        glue = [c for c in asked if set(c[1]) & {"Y"}]  # type: ignore[call-overload]
        answers = set()
        for a in oracle.share_truths(rows, plain, absent=required - n, step=10):
            for b in oracle.share_truths(rows, glue, absent=required - n, step=10):
                first, second = iter(a), iter(b)
                met = [next(second) if c in glue else next(first) for c in asked]
                answers.add(oracle.truth(requirement, iter(met)))
        expected = (
            Outcome.UNDETERMINED
            if len(answers) == 2
            else Outcome.CONFORMS
            if True in answers
            else Outcome.DOES_NOT_CONFORM
        )
        assert decision.outcome == expected, (requirement, [r["failure"] for r in rows], required, decision.reason)


@pytest.mark.parametrize("seed", range(61, 65))
def test_strength_and_composition_are_independent_unknowns(seed: int) -> None:
    """Requirements that mix both, bond of an interface among them: every pair of completions is looked at."""
    rng = np.random.default_rng(seed)
    for _ in range(40):
        n = int(rng.integers(2, 4))
        rows = [
            row(
                float(np.round(rng.uniform(0.6, 2.6), 2)),
                failure=random_composition(rng),
                held=bool(rng.random() < 0.2),
            )
            for _ in range(n)
        ]
        questions = ("pull-off", "A/B")
        strengths = [random_criterion(rng, str(rng.choice(KINDS)), q, n) for q in questions]
        areas = [random_area_criterion(rng)]
        parts = [*strengths, *areas]
        order = rng.permutation(3).tolist()
        inner = (str(rng.choice(["all", "any"])), parts[order[0]], parts[order[1]])
        requirement: tuple[object, ...] = (str(rng.choice(["all", "any"])), inner, parts[order[2]])
        spec = specification(requirement)
        decision = decide(spec, cases_of(rows, spec, settled(there_from=50.0)))["Z"]
        options: dict[tuple[object, ...], set[bool]] = {}
        for c in strengths:
            bounds = oracle.box(rows, str(c[1]), required=n, ceiling=math.inf, there_from=50, lost_unknown=True)
            best, worst = oracle.extremes(bounds, c)
            options[c] = ({True} if best >= -oracle.NEAR else set()) | ({False} if worst < -oracle.NEAR else set())
        for c in areas:
            options[c] = {t[0] for t in oracle.share_truths(rows, [c], absent=0, step=10)}
        asked = list(oracle.leaves(requirement))
        answers = {oracle.truth(requirement, iter(met)) for met in itertools.product(*(options[c] for c in asked))}
        expected = (
            Outcome.UNDETERMINED
            if len(answers) == 2
            else Outcome.CONFORMS
            if True in answers
            else Outcome.DOES_NOT_CONFORM
        )
        assert decision.outcome == expected, (requirement, rows, decision)
