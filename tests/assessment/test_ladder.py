"""Decisions by round of a retest ladder and by stage: what stands, what is due, what is said before work starts."""

from __future__ import annotations

import itertools

import pytest

from adhesion_stats.acceptance import Outcome
from adhesion_stats.assessment import Assessment, assess
from adhesion_stats.entrance import readings_from
from adhesion_stats.record.schema import schema_errors
from adhesion_stats.terms.parse import parse_specification

TERMS = """
[contract]
title = "t"
[pulls]
required = 3
[[require]]
mean_at_least = "1.50 MPa"
[[ladder]]
on = "does not conform"
do = "revise and repeat"
pulls = 3
[[ladder]]
on = "does not conform"
do = "refer to the designer"
"""


def assessed(rounds: list[list[float]], terms: str = TERMS) -> Assessment:
    """One zone with pulls in rounds."""
    rows = [f"A,{r}.{i},{value},{r}" for r, values in enumerate(rounds, 1) for i, value in enumerate(values)]
    specification = parse_specification(terms.encode(), file="s.toml")
    text = "zone,id,strength MPa,round\n" + "\n".join(rows) + "\n"
    return assess(readings_from(text.encode(), file="r.csv", specification=specification), specification)


def zones(assessment: Assessment) -> list[tuple[object, object, object, list[str]]]:
    """(zone, outcome, whether it stands, codes of what is next)."""
    found = assessment.as_dict()["zones"]
    assert isinstance(found, list)
    return [(z["zone"], z["outcome"], z["population"]["stands"], [m["code"] for m in z["next"]]) for z in found]


def test_a_failed_first_round_asks_for_the_next() -> None:
    """(1.40 + 1.30 + 1.50) / 3 = 1.40 < 1.50: step 1 of 2 is due, three more pulls."""
    found = assessed([[1.4, 1.3, 1.5]])
    assert zones(found) == [("A", "does not conform", True, ["ladder_repeat_pulls"])]
    assert found.decision == "does not conform"
    decision = found.as_dict()["decision"]
    assert isinstance(decision, dict)
    assert [m["code"] for m in decision["next"]] == ["next_contract_round"]


def test_the_second_round_stands_and_the_first_stays_in_sight() -> None:
    """(1.60 + 1.50 + 1.55) / 3 = 1.55 in round 2: the contract conforms by it; round 1 keeps its decision."""
    found = assessed([[1.4, 1.3, 1.5], [1.6, 1.5, 1.55]])
    assert zones(found)[0][:3] == ("A", "does not conform", False)
    assert zones(found)[1][:3] == ("A, round 2", "conforms", True)
    assert found.decision == "conforms"
    assert "caution_second_try" in str(found.as_dict()["cautions"])
    assert schema_errors(found.as_dict()) == []


def test_a_failed_second_round_goes_to_the_designer() -> None:
    """Both below 1.50: the last step is due."""
    found = assessed([[1.4, 1.3, 1.5], [1.2, 1.5, 1.55]])
    assert zones(found)[1][1:3] == ("does not conform", True)
    assert zones(found)[1][3][0] == "ladder_refer"


def test_a_second_round_too_small_is_undetermined_and_stands() -> None:
    """Two of three pulls: the third decides; the first round is not taken up again."""
    found = assessed([[1.4, 1.3, 1.5], [1.6, 1.5]])
    assert zones(found)[1][1:3] == ("undetermined", True)
    assert found.decision == "undetermined"


def test_a_round_that_nobody_asked_for_counts_for_nothing() -> None:
    """Round 1 conforms; a bad second round neither helps nor hurts, and is said."""
    found = assessed([[1.6, 1.6, 1.6], [0.2, 0.2, 0.2]])
    assert [z[2] for z in zones(found)] == [True, False]
    assert found.decision == "conforms"
    assert "round_not_asked" in [m["code"] for m in found.as_dict()["messages"]]  # type: ignore[attr-defined]


@pytest.mark.parametrize(("on", "rounds"), list(itertools.product(Outcome, (1, 2, 3))))
def test_the_contract_stands_where_a_plain_walk_says(on: Outcome, rounds: int) -> None:
    """Rounds of every outcome in every order, two repeats allowed: the last round reached by failures stands."""
    steps = '[[ladder]]\ndo = "revise and repeat"\npulls = 3\n' * 2 + '[[ladder]]\ndo = "refer to the designer"\n'
    terms = TERMS[: TERMS.index("[[ladder]]")] + steps
    values = {Outcome.CONFORMS: [1.6] * 3, Outcome.DOES_NOT_CONFORM: [1.4] * 3, Outcome.UNDETERMINED: [1.6] * 2}
    for rest in itertools.product(Outcome, repeat=rounds - 1):
        made = (on, *rest)
        stands = next((i for i, o in enumerate(made) if o is not Outcome.DOES_NOT_CONFORM), len(made) - 1)
        assert assessed([values[o] for o in made], terms).decision == made[stands].words, made


def test_a_bond_above_what_the_bare_substrate_gave_is_said_before_work_starts() -> None:
    """Substrate 1.25, 1.30, 1.35: mean 1.30. A bond of 1.50 is asked of the same zone, and none was pulled yet."""
    terms = (
        '[contract]\ntitle = "t"\n[[require]]\nstage = "bare substrate"\nmean_at_least = "1.20 MPa"\n'
        '[[require]]\nstage = "production"\n'
        'all_of = [ { mean_at_least = "1.50 MPa" }, { smallest_at_least = "1.20 MPa" } ]\n'
    )
    specification = parse_specification(terms.encode(), file="s.toml")
    text = "zone,id,strength MPa,stage\nA,1,1.25,bare substrate\nA,2,1.30,bare substrate\nA,3,1.35,bare substrate\n"
    found = assess(readings_from(text.encode(), file="r.csv", specification=specification), specification)
    said = [m for m in found.messages if m.code.startswith("bond_above_substrate")]
    assert [(m.code, m.facts["value"]) for m in said] == [("bond_above_substrate_mean", "1.30 MPa")]
    assert found.outcomes == {"A, bare substrate": "conforms", "A, production": "undetermined"}
