"""Criteria that depend on what broke: against every completion of value, failure and depth, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.acceptance import (
    Block,
    Decisions,
    Outcome,
    Reason,
    criterion_reason,
    decide,
    evaluate,
    needs,
    zone_reason,
)
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.hanging import without_one
from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding, Specification
from adhesion_stats.wording import say
from tests import oracle_by_failure as oracle

CODES = ("A", "A/B")
OTHERS = ("D",)  # a code that no criterion names: all of these are alike, but for groups that failed alike
Zone = list[dict[str, object]]


def failed_toml(failed: dict[str, object], name: str) -> str:
    """The keys that describe which pulls."""
    codes = ", ".join(f'"{code}"' for code in failed["codes"])  # type: ignore[attr-defined]
    deep = "" if failed.get("depth") is None else f', depth_from = "{failed["depth"]} mm"'
    return f'{name} = [{codes}], from = "{failed["from"]} %"{deep}'


def toml(tree: oracle.Tree) -> str:
    """The requirement as a specification writes it."""
    if not isinstance(tree, dict):
        return f"{{ {tree[0]}_of = [{', '.join(toml(part) for part in tree[1:])}] }}"  # type: ignore[arg-type]
    kind = tree["kind"]
    if kind == "pulls":
        side = str(tree.get("side", "at least")).replace(" ", "_")
        return f'{{ {failed_toml(tree, "pulls_with_failure")}, {side} = "{tree["percent"]} %" }}'
    if kind == "each":
        cases = ", ".join(
            f'{{ {failed_toml(failed, "failed")}, at_least = "{limit} MPa" }}'
            for failed, limit in tree["cases"]  # type: ignore[attr-defined]
        )
        otherwise = "" if tree["otherwise"] is None else f', otherwise = "{tree["otherwise"]} MPa"'
        return f"{{ each_pull = [{cases}]{otherwise} }}"
    rest = ""
    for name, key in (("unless", "unless_failed"), ("only", "only_failed")):
        if tree.get(name) is not None:
            rest += f", {failed_toml(tree[name], key)}"  # type: ignore[arg-type]
    if "alike" in tree:
        rest += f', within_same_failure = true, from = "{tree["alike"]} %"'
    if kind == "count":
        return f'{{ pulls_at_or_above = "{tree["limit"]} MPa", at_least = {tree["z"]}, of = {tree["n"]}{rest} }}'
    return f'{{ {kind}_at_least = "{tree["limit"]} MPa"{rest} }}'


def specification(tree: oracle.Tree, more: str = "") -> Specification:
    """A contract that asks it of every zone."""
    text = f'[contract]\ntitle = "t"\n{more}\n[[require]]\nall_of = [{toml(tree)}]\n'
    return parse_specification(text.encode(), file="t.toml")


def cases_of(pulls: Zone) -> Cases:
    """One zone's values with what is known of their failure."""
    codes = (*CODES, "B", "Y")
    known = np.array([[(p["known"] or {}).get(code, 0.0) for code in codes] for p in pulls])  # type: ignore[attr-defined]
    low = np.array([p["low"] for p in pulls], dtype=np.float64)
    high = np.array([p["high"] for p in pulls], dtype=np.float64)
    deep = [(0.0, math.inf) if p["depth"] is None else (p["depth"], p["depth"]) for p in pulls]
    n = len(pulls)
    return Cases(
        zones=("Z",),
        zone=np.zeros(n, np.int64),
        pull=np.arange(n),
        low={"pull-off": low},
        high={"pull-off": high},
        codes=codes,
        glue=oracle.GLUE,
        known=known,
        unrecorded=100.0 - known.sum(axis=1),
        depth_low=np.array([d[0] for d in deep], dtype=np.float64),
        depth_high=np.array([d[1] for d in deep], dtype=np.float64),
    )


def pull(
    low: float, known: dict[str, float] | None = None, *, high: float | None = None, depth: float | None = None
) -> dict[str, object]:
    """One pull; exact unless ``high`` is given."""
    return {"low": low, "high": low if high is None else high, "known": known, "depth": depth}


def decided(tree: oracle.Tree, pulls: Zone, more: str = "") -> Decisions:
    """The decision about the zone."""
    return decide(specification(tree, more), cases_of(pulls))


def random_pull(rng: np.random.Generator) -> dict[str, object]:
    """Exact or bounded, failure known, partly known, under the adhesive or not recorded, depth measured or not."""
    low = float(np.round(rng.uniform(0.5, 2.5), 1))
    high = low if rng.random() < 0.75 else math.inf if rng.random() < 0.5 else low + 1.0
    known: dict[str, float] | None = None
    if rng.random() < 0.85:
        a = 10.0 * int(rng.integers(0, 11))
        b = 10.0 * int(rng.integers(0, int((100 - a) / 10) + 1))
        known = {"A": a, "A/B": b}
        rest = 100.0 - a - b
        how = rng.random()
        if rest and how < 0.5:
            known["B"] = rest
        elif rest and how < 0.75:
            known["Y"] = rest
        elif rest > 20:
            known["B"] = rest - 20.0
    depth = float(rng.integers(2, 10)) if rng.random() < 0.7 else None
    return {"low": low, "high": high, "known": known, "depth": depth}


def random_failed(rng: np.random.Generator) -> dict[str, object]:
    """Codes, share and now and then a depth."""
    codes = [("A",), ("A/B",), ("A", "A/B")][int(rng.integers(0, 3))]
    depth = float(rng.integers(3, 9)) if rng.random() < 0.4 else None
    return {"codes": codes, "from": int(rng.choice([40, 50, 60])), "depth": depth}


def random_criterion(rng: np.random.Generator, kind: str, n: int) -> dict[str, object]:
    """One criterion with limits among the values."""
    limit = float(np.round(rng.uniform(0.6, 2.2), 1))
    if kind == "smallest":
        return {"kind": "smallest", "limit": limit, "unless": random_failed(rng)}
    if kind == "count":
        return {"kind": "count", "limit": limit, "z": int(rng.integers(1, n + 1)), "n": n, "unless": random_failed(rng)}
    if kind == "each":
        cases = [(random_failed(rng), float(np.round(rng.uniform(0.6, 2.2), 1))) for _ in range(rng.integers(1, 3))]
        return {"kind": "each", "cases": cases, "otherwise": limit if rng.random() < 0.6 else None}
    if kind == "only":
        return {"kind": "mean", "limit": limit, "only": random_failed(rng)}
    if kind == "alike":
        return {"kind": "mean", "limit": limit, "alike": int(rng.choice([60, 70]))}
    if kind == "pulls":
        return {"kind": "pulls", **random_failed(rng), "percent": int(rng.choice([30, 50, 100]))}
    return {"kind": "mean", "limit": limit}


def expected(found: set[bool]) -> Outcome:
    """The outcome of a set of truths."""
    if len(found) == 2:
        return Outcome.UNDETERMINED
    return Outcome.CONFORMS if True in found else Outcome.DOES_NOT_CONFORM


def every_answer(tree: oracle.Tree, pulls: Zone) -> set[bool]:
    """All truths of the requirement."""
    alike = any("alike" in c for c in oracle.leaves(tree))
    return oracle.answers(tree, pulls, codes=(*CODES, "B", *OTHERS) if alike else (*CODES, *OTHERS))


ALONE = ("smallest", "count", "each", "only", "alike", "pulls")


@pytest.mark.parametrize("kind", ALONE)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_one_criterion_is_decided_as_all_completions_say(kind: str, seed: int) -> None:
    """Each kind alone: the same as trying every value, every composition and every depth."""
    rng = np.random.default_rng(seed)
    seen = dict.fromkeys(Outcome, 0)
    for _ in range(100):
        pulls = [random_pull(rng) for _ in range(int(rng.integers(1, 4)))]
        if kind == "alike" and sum(p["known"] is None for p in pulls) + len(pulls) > 3:
            continue  # too many ways for a plain search
        tree = random_criterion(rng, kind, len(pulls))
        found = every_answer(tree, pulls)
        zone = decided(tree, pulls)["Z"]
        assert zone.outcome == expected(found), (tree, pulls, zone.criteria[0])
        seen[zone.outcome] += 1
    assert min(seen.values()) > 0, seen


@pytest.mark.parametrize("seed", range(11, 21))
def test_compounds_are_never_decided_against_a_completion(seed: int) -> None:
    """All of / any of several kinds that share their pulls: decided only where every completion agrees; nearly always
    where they do.
    """
    rng = np.random.default_rng(seed)
    settled = agreed = 0
    for _ in range(40):
        pulls = [random_pull(rng) for _ in range(int(rng.integers(1, 3)))]
        kinds = rng.choice([*ALONE, "mean"], size=int(rng.integers(2, 4)))
        parts = [random_criterion(rng, str(kind), len(pulls)) for kind in kinds]
        tree: oracle.Tree = (str(rng.choice(["all", "any"])), *parts)
        if len(parts) == 3:
            tree = (str(rng.choice(["all", "any"])), (str(rng.choice(["all", "any"])), *parts[:2]), parts[2])
        found = every_answer(tree, pulls)
        outcome = decided(tree, pulls)["Z"].outcome
        if len(found) == 2:
            assert outcome == Outcome.UNDETERMINED, (tree, pulls)
        else:
            assert outcome in {expected(found), Outcome.UNDETERMINED}, (tree, pulls)
            agreed += 1
            settled += outcome != Outcome.UNDETERMINED
    assert settled >= 0.8 * agreed, (settled, agreed)


@pytest.mark.parametrize("seed", range(41, 45))
def test_two_criteria_on_pulls_share_the_unknown_area_and_depth(seed: int) -> None:
    """Which pulls broke where, and how deep, at least and at most: exact, and never wrong where two depths are open."""
    rng = np.random.default_rng(seed)
    seen = dict.fromkeys(Outcome, 0)
    for _ in range(100):
        pulls = [random_pull(rng) for _ in range(int(rng.integers(1, 4)))]
        parts = [random_criterion(rng, "pulls", len(pulls)) for _ in range(2)]
        for part in parts:
            part["side"] = "at most" if rng.random() < 0.5 else "at least"
            part["depth"] = float(rng.integers(3, 9)) if rng.random() < 0.6 else None
        tree = (str(rng.choice(["all", "any"])), *parts)
        zone = decided(tree, pulls)["Z"]
        wanted = expected(every_answer(tree, pulls))
        assert zone.outcome == wanted or zone.reason == Reason.NOT_RESOLVED, (tree, pulls, zone)
        if sum(part["depth"] is not None for part in parts) < 2:
            assert zone.reason != Reason.NOT_RESOLVED, (tree, pulls)
        seen[zone.outcome] += 1
    assert min(seen.values()) > 0, seen


# By hand -----------------------------------------------------------------------------------------------------------


def told(tree: oracle.Tree, pulls: Zone) -> tuple[str, str]:
    """Outcome and reason in words."""
    found = decided(tree, pulls)["Z"]
    return found.outcome.words, say(criterion_reason(found.criteria[0], found))


DEEP = {"kind": "smallest", "limit": 1.0, "unless": {"codes": ("A",), "from": 50, "depth": 6.0}}


def test_a_low_pull_that_broke_deep_in_the_substrate_is_excused() -> None:
    """1.20 | 0.80 (A 70 %, 8 mm) | 1.10: the second is excused, the smallest of 1.20 and 1.10 is 1.10 >= 1.00."""
    pulls = [pull(1.2, {"A/B": 100.0}, depth=0.0), pull(0.8, {"A": 70.0, "A/B": 30.0}, depth=8.0)]
    pulls.append(pull(1.1, {"A/B": 100.0}))
    assert told(DEEP, pulls) == (
        "conforms",
        (
            "The smallest value of the pulls that are not excused, 1.10 MPa, reaches the 1.0 MPa asked for. Excused "
            "are pulls that failed in A over 50 % or more of the area, 6.0 mm deep or deeper: 1 of 3."
        ),
    )


def test_a_shallow_break_is_no_way_out() -> None:
    """The same pull broken 5 mm deep, where 6 mm are asked: 0.80 < 1.00 counts. At 6 mm it is excused (equal meets)."""
    shallow = [pull(1.2, {"A/B": 100.0}, depth=0.0), pull(0.8, {"A": 70.0, "A/B": 30.0}, depth=5.0)]
    assert decided(DEEP, shallow)["Z"].outcome == Outcome.DOES_NOT_CONFORM
    shallow[1]["depth"] = 6.0
    assert decided(DEEP, shallow)["Z"].outcome == Outcome.CONFORMS


def test_an_unrecorded_failure_leaves_the_way_out_open_and_says_so() -> None:
    """0.80 with no failure recorded may be excused or not; 0.80 with A 30 % recorded and B 70 % may not."""
    spec = specification(DEEP)
    values = cases_of([pull(1.2, {"A": 100.0}, depth=9.0), pull(0.8)])
    found = decide(spec, values)
    assert found["Z"].outcome == Outcome.UNDETERMINED
    (message,) = needs(spec, values, found)["Z"]
    assert say(message) == (
        "To conform, each pull that may lie below 1.0 MPa has to reach it, or to have failed in A over 50 % or more of "
        "its area, 6.0 mm deep or deeper."
    )
    assert decided(DEEP, [pull(1.2), pull(0.8, {"A": 30.0, "B": 70.0})])["Z"].outcome == Outcome.DOES_NOT_CONFORM


def test_a_pull_known_to_be_shallow_can_not_serve_a_demand_for_depth_in_a_joint_answer() -> None:
    """First pull: nothing recorded but 9 mm deep. Second: A 45 %, B 45 %, 10 % open, 2 mm deep.

    Half of the pulls must have 50 % or more of A, 6 mm deep: the second is too shallow, so the first has A >= 50. Half
    of the pulls must have 60 % or more of A/B: the second has at most 10, so the first has A/B >= 60. Each can be met
    alone, 50 + 60 > 100 says that not both can. Were the second pull's depth not looked at, its A 45 + 5 would serve.
    """
    deep = {"kind": "pulls", "codes": ("A",), "from": 50, "depth": 6.0, "percent": 50}
    bond = {"kind": "pulls", "codes": ("A/B",), "from": 60, "percent": 50}
    pulls = [pull(1.5, depth=9.0), pull(1.5, {"A": 45.0, "B": 45.0}, depth=2.0)]
    assert decided(deep, pulls)["Z"].outcome == Outcome.UNDETERMINED
    assert decided(bond, pulls)["Z"].outcome == Outcome.UNDETERMINED
    assert decided(("all", deep, bond), pulls)["Z"].outcome == Outcome.DOES_NOT_CONFORM
    pulls[1]["depth"] = 8.0
    assert decided(("all", deep, bond), pulls)["Z"].outcome == Outcome.UNDETERMINED


def test_a_pull_that_is_excused_needs_no_value() -> None:
    """All pulls failed deep in the substrate: whatever their values, the rule is met."""
    assert told(DEEP, [pull(0.2, {"A": 100.0}, depth=7.0), pull(0.0, {"A": 90.0, "B": 10.0}, high=0.5, depth=7.0)]) == (
        "conforms",
        (
            "Every pull is excused: all 2 failed in A over 50 % or more of the area, 6.0 mm deep or deeper. 1.0 MPa is "
            "asked of the others."
        ),
    )


# The limits of IMO resolution MSC.215(82) as reported by a page on it: adhesive failure over 60 % of the area or more,
# 3.5 MPa; cohesive over 40 % or more, 3.0 MPa. "otherwise" is ours.
BY_FAILURE = {
    "kind": "each",
    "cases": [({"codes": ("A/B",), "from": 60}, 3.5), ({"codes": ("B",), "from": 41}, 3.0)],
    "otherwise": 5.0,
}


def test_each_pull_is_held_to_the_limit_of_its_failure() -> None:
    """3.6 with A/B 70 % (3.5 asked), 3.1 with B 100 % (3.0 asked): both meet. 3.4 with A/B 70 % does not."""
    pulls = [pull(3.6, {"A/B": 70.0, "B": 30.0}), pull(3.1, {"B": 100.0})]
    assert told(BY_FAILURE, pulls) == ("conforms", "Each of the 2 pulls reaches the limit that its failure asks for.")
    pulls.append(pull(3.4, {"A/B": 70.0, "B": 30.0}))
    assert told(BY_FAILURE, pulls) == (
        "does not conform",
        "Only 2 of 3 pulls reach the limit that their failure asks for.",
    )


def test_where_the_contract_is_silent_about_a_failure_it_stays_open() -> None:
    """A pull that broke in A: held to 5.0 otherwise, and with nothing said otherwise undetermined at any value."""
    silent = {**BY_FAILURE, "otherwise": None}
    assert decided(BY_FAILURE, [pull(4.9, {"A": 100.0})])["Z"].outcome == Outcome.DOES_NOT_CONFORM
    for value in (0.1, 9.0):
        assert decided(silent, [pull(value, {"A": 100.0})])["Z"].outcome == Outcome.UNDETERMINED


def test_an_unrecorded_failure_is_decided_where_every_limit_agrees() -> None:
    """Failure unknown: 5.1 meets 3.5, 3.0 and 5.0; 2.9 meets none of them; 3.2 could meet 3.0."""
    for value, outcome in ((5.1, "conforms"), (2.9, "does not conform"), (3.2, "undetermined")):
        assert decided(BY_FAILURE, [pull(value)])["Z"].outcome.words == outcome


ONLY = {"kind": "mean", "limit": 1.5, "only": {"codes": ("A/B",), "from": 50}}


def test_the_mean_is_over_the_pulls_of_that_failure() -> None:
    """1.40 and 1.70 failed in A/B, 0.90 in A: (1.40 + 1.70) / 2 = 1.55 >= 1.50; all three would give 1.333."""
    pulls = [pull(1.4, {"A/B": 100.0}), pull(1.7, {"A/B": 60.0, "A": 40.0}), pull(0.9, {"A": 100.0})]
    assert told(ONLY, pulls) == (
        "conforms",
        (
            "The mean of the pulls that failed in A/B over 50 % or more of the area, 1.55 MPa, reaches the 1.5 MPa "
            "asked for. They are 2 of 3."
        ),
    )


def test_a_pull_that_may_belong_can_turn_the_mean() -> None:
    """1.60 surely, 1.30 perhaps: 1.60 without it, (1.60 + 1.30) / 2 = 1.45 with it. 1.40 perhaps: 1.50, still met."""
    assert decided(ONLY, [pull(1.6, {"A/B": 100.0}), pull(1.3)])["Z"].outcome == Outcome.UNDETERMINED
    assert decided(ONLY, [pull(1.6, {"A/B": 100.0}), pull(1.4)])["Z"].outcome == Outcome.CONFORMS


def test_no_pull_of_that_failure_leaves_no_mean() -> None:
    """All broke in A: nobody said what holds then."""
    assert told(ONLY, [pull(9.0, {"A": 100.0})]) == (
        "undetermined",
        "No pull failed in A/B over 50 % or more of the area: there is no mean to compare with 1.5 MPa.",
    )


ALIKE = {"kind": "mean", "limit": 1.5, "alike": 60}


def test_each_group_of_pulls_that_failed_alike_has_its_own_mean() -> None:
    """A: (1.30 + 1.80) / 2 = 1.55; A/B: (1.60 + 1.35) / 2 = 1.475 < 1.50; that of all four, 1.5125, hides it."""
    pulls = [pull(1.3, {"A": 100.0}), pull(1.8, {"A": 80.0, "A/B": 20.0}), pull(1.6, {"A/B": 60.0, "A": 40.0})]
    assert decided(ALIKE, pulls)["Z"].outcome == Outcome.CONFORMS
    pulls.append(pull(1.35, {"A/B": 100.0}))
    assert told(ALIKE, pulls)[0] == "does not conform"


def test_a_mixed_pull_may_go_with_either_failure() -> None:
    """1.30 with A 50 %, A/B 50 %: with A 1.80 it gives 1.55, alone it stays below 1.50."""
    mixed = pull(1.3, {"A": 50.0, "A/B": 50.0})
    assert decided(ALIKE, [pull(1.8, {"A": 100.0}), mixed])["Z"].outcome == Outcome.UNDETERMINED
    assert decided(ALIKE, [pull(1.6, {"A": 100.0}), mixed])["Z"].outcome == Outcome.DOES_NOT_CONFORM


def test_too_many_ways_to_share_pulls_out_is_said() -> None:
    """Thirteen pulls of unknown failure beside two codes: 3 ** 13 ways are not tried, and the zone is not resolved."""
    pulls = [pull(1.6 - 0.01 * i) for i in range(13)] + [pull(1.6, {"A": 100.0}), pull(1.6, {"A/B": 100.0})]
    found = decided(ALIKE, pulls)["Z"]
    assert (found.outcome, found.reason) == (Outcome.UNDETERMINED, Reason.NOT_RESOLVED)


def test_rounding_reaches_limits_by_failure() -> None:
    """3.46 MPa rounds to 3.5 in the last place of "3.5 MPa": met by the rounding method only."""
    pulls = [pull(3.46, {"A/B": 100.0})]
    assert decided(BY_FAILURE, pulls)["Z"].outcome == Outcome.DOES_NOT_CONFORM
    rounded = '[rounding]\nmethod = "rounded"\nties = "even"'
    assert decided(BY_FAILURE, pulls, rounded)["Z"].outcome == Outcome.CONFORMS


def test_a_way_out_and_values_alone_need_what_broke() -> None:
    """A block made of values alone can't decide such a criterion, and says what is missing."""
    block = Block(np.zeros(1, np.int64), 2, {"pull-off": np.ones((1, 2))}, {"pull-off": np.ones((1, 2))})
    for tree in (DEEP, BY_FAILURE, ONLY):
        requirement = specification(tree).requirement_for("Z")
        assert requirement is not None
        with pytest.raises(WrongUsage, match="failure of its pulls"):
            evaluate(requirement, block, rounding=Rounding())


@pytest.mark.parametrize("seed", range(31, 34))
def test_every_message_can_be_said(seed: int) -> None:
    """Random zones of each kind: the facts fill each sentence, and none reads "nan", "inf" or "None"."""
    rng = np.random.default_rng(seed)
    for kind in ALONE * 8:
        pulls = [random_pull(rng) for _ in range(int(rng.integers(1, 4)))]
        tree = random_criterion(rng, kind, len(pulls))
        spec, values = specification(tree), cases_of(pulls)
        found = decide(spec, values)
        messages = [criterion_reason(found["Z"].criteria[0], found["Z"]), zone_reason(found["Z"])]
        messages += needs(spec, values, found).get("Z", ())
        for message in messages:
            sentence = say(message)
            assert not {"nan", "inf", "None"} & set(sentence.replace(",", " ").split()), sentence


def test_leaving_out_an_excused_pull_changes_nothing_but_a_low_one_does() -> None:
    """1.20 | 0.80 excused | 0.90 not: without the last the zone conforms, without the excused one it still fails."""
    spec = specification(DEEP)
    values = cases_of([pull(1.2), pull(0.8, {"A": 100.0}, depth=8.0), pull(0.9, {"A/B": 100.0}, depth=0.0)])
    found = decide(spec, values)
    assert found["Z"].outcome == Outcome.DOES_NOT_CONFORM
    assert without_one(spec, values, found) == [("Z", 2, Outcome.CONFORMS)]
