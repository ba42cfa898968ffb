"""The plan of a contract: numbers by rule, the larger named, positions, and what can't be planned."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.planning import Plan, make_plan
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.wording import say, say_dict
from tests.planning.examples import (
    BOTH,
    CAN_NOT_BE_PLANNED,
    DECK,
    GOOD,
    HEAD,
    PLAN,
    RISK,
    SAYS_RISK,
    SAYS_SOMETHING,
    SMALL,
)


def planned(text: str) -> Plan:
    """The plan of a specification."""
    return make_plan(parse_specification(text.encode(), file="s.toml"))


def asked(plan: Plan) -> list[list[tuple[str, int]]]:
    """Rules and their numbers, by zone."""
    return [[(entry.kind, entry.pulls) for entry in zone.asked] for zone in plan.zones]


def test_the_rule_that_asks_for_most_decides() -> None:
    """96 m² = 50 + a begun 250: 2 × 3 = 6 pulls by area, 5 by the contract; two days of 4 = 8 beat both."""
    plan = planned(GOOD)
    assert asked(plan) == [[("contract", 5), ("area", 6)]]
    assert (plan.zones[0].pulls, plan.zones[0].decides) == (6, 1)
    by_day = PLAN + '[[plan.frequency]]\npulls = 4\nper = "day"\n'
    plan = planned(HEAD + by_day + DECK + 'days = ["2026-05-04", "2026-05-05"]\n')
    assert asked(plan) == [[("contract", 5), ("area", 6), ("day", 8)]]
    assert plan.zones[0].decides == 2


def test_of_equal_rules_the_first_is_named() -> None:
    """Six by contract and six by area: the contract's."""
    assert planned(GOOD.replace("required = 5", "required = 6")).zones[0].decides == 0


def test_the_area_of_the_contract_beats_that_of_the_outline() -> None:
    """The outline has 96 m²; written as 310 m² it takes 1 + 2 steps: 9 pulls."""
    plan = planned(GOOD + 'area = "310 m2"\n')
    assert asked(plan) == [[("contract", 5), ("area", 9)]]
    facts = plan.as_dict()["zones"]
    assert isinstance(facts, list)
    assert facts[0]["area_from"] == "contract"


def test_a_rule_for_other_zones_asks_nothing_here() -> None:
    """Rules name their zones."""
    two = DECK + DECK.replace("Deck", "Ramp")
    plan = planned(HEAD + PLAN + 'zones = ["Ramp"]\n' + two)
    assert asked(plan) == [[("contract", 5)], [("contract", 5), ("area", 6)]]


def test_ids_tell_zone_and_pull_and_retest() -> None:
    """Ids are names that no spreadsheet takes for dates or numbers."""
    facts = planned(GOOD).as_dict()["zones"]
    assert isinstance(facts, list)
    positions = facts[0]["positions"]
    assert [position["id"] for position in positions] == [f"Z1-0{i}" for i in range(1, 7)]
    assert positions[0]["retests"][0]["id"] == "Z1-01-R1"


def test_a_zone_without_outline_gets_numbers_only() -> None:
    """Area alone is enough for a number."""
    plan = planned(HEAD + '[plan]\n[[plan.zone]]\nname = "Deck"\narea = "96 m2"\n')
    assert plan.zones[0].positions is None
    assert plan.pulls == 5


def test_same_terms_same_plan() -> None:
    """Twice the same facts; another seed, other places."""
    assert planned(GOOD).as_dict() == planned(GOOD).as_dict()
    other = planned(GOOD.replace("seed = 11", "seed = 12")).as_dict()
    assert other["zones"] != planned(GOOD).as_dict()["zones"]


def test_what_can_not_be_planned_is_said_with_what_fits() -> None:
    """1 × 0.6 m less 150 mm round leaves 0.7 × 0.3 m: (0, 0), (0.4, 0), (0.7, 0.3) are 400 mm apart, ten are asked."""
    found = []
    for text in CAN_NOT_BE_PLANNED:
        with pytest.raises(InvalidSpecification) as caught:
            planned(text)
        found.append(say(caught.value.messages[0]))
    assert found[0].startswith("There is no zone to plan")
    assert found[1].startswith('No rule asks for a pull in zone "Deck"')
    assert 'Zone "Deck" has room for at least 3 positions at 400 mm' in found[2]
    assert "to place 10 was not found (5 pulls, 1 retest positions beside each)" in found[2]
    assert found[3].startswith('Zone "Deck" could hold 10 positions in plain rows')  # 5 × 2 at 160 mm
    assert len(found) == len(CAN_NOT_BE_PLANNED)


def test_every_zone_that_can_not_be_planned_is_named_at_once() -> None:
    """Two crowded zones give two problems."""
    text = HEAD + PLAN.replace('"200 mm"', '"400 mm"') + SMALL + SMALL.replace("Deck", "Ramp")
    with pytest.raises(InvalidSpecification) as caught:
        planned(text)
    assert [message.facts["zone"] for message in caught.value.messages] == ["Deck", "Ramp"]


def test_what_to_settle_before_testing_is_said() -> None:
    """A zone left out of the plan, one that nothing is asked of, more pulls than required or than z of n counts."""

    def codes(text: str) -> list[str]:
        found = planned(text).as_dict()["messages"]
        assert isinstance(found, list)
        entry: Mapping[str, object]
        for entry in found:
            assert say_dict(entry)
        return [str(entry["code"]) for entry in found]

    said = [codes(text) for text in SAYS_SOMETHING]
    assert said[0] == ["plan_more_than_required", "plan_zone_missing"]
    assert said[1] == ["plan_zone_not_asked", "plan_zone_missing"]
    assert said[2] == ["plan_more_than_required"]
    assert said[3] == ["plan_more_than_z_of_n", "plan_more_than_required"]


def test_the_risks_wanted_ask_for_a_number_of_their_own() -> None:
    """Mean 1.50 and smallest 1.00, good 2.00, bad 1.30, CoV 20 %: five pulls pass the bad zone in 4 %, four in 6 %."""
    plan = planned(
        BOTH.replace("required = 5", "required = 3") + PLAN.split("[[", maxsplit=1)[0] + DECK + RISK.format(bad=5)
    )
    assert asked(plan) == [[("contract", 3), ("risk", 5)]]
    zone = plan.zones[0]
    assert (zone.pulls, zone.decides) == (5, 1)
    assert zone.risk is not None
    assert zone.risk.met
    assert zone.risk.bad == pytest.approx(0.0406, abs=1e-4)


def test_risks_that_the_number_does_not_keep_are_said() -> None:
    """A rule on what broke tells nothing, close means ask too much, thirty pulls are too strict with a fixed floor."""
    found = []
    for text in SAYS_RISK:
        messages = planned(text).as_dict()["messages"]
        assert isinstance(messages, list)
        found.append([entry for entry in messages if str(entry["code"]).startswith("plan_risk")])
    assert [[entry["code"] for entry in entries] for entries in found] == [
        ["plan_risk_no_strength"],
        ["plan_risk_not_met"],
        ["plan_risk_met_by_fewer"],
    ]
    assert found[2][0]["facts"]["wanted"] == 5
