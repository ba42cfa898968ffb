"""Zones parted by stage and by round of a retest ladder, where the contract asks for it."""

from __future__ import annotations

from adhesion_stats.entrance import readings_from
from adhesion_stats.judging import Population, parted
from adhesion_stats.judging.populations import Populations
from adhesion_stats.terms.parse import parse_specification

HEAD = '[contract]\ntitle = "t"\n'
LADDER = '[[ladder]]\ndo = "revise and repeat"\npulls = 3\n[[ladder]]\ndo = "refer to the designer"\n'


def populations(terms: str, rows: str) -> Populations:
    """Readings and terms, parted."""
    specification = parse_specification((HEAD + terms).encode(), file="s.toml")
    text = f"zone,id,strength MPa,stage,round,retest of\n{rows}"
    return parted(readings_from(text.encode(), file="r.csv", specification=specification).pulls, specification)


def test_nothing_is_parted_where_nothing_asks_for_it() -> None:
    """Without stage or ladder in the terms, pulls and terms are the ones that were given."""
    found = populations('[[require]]\nmean_at_least = "1.5 MPa"\n', "A,1,2.0,trial,,\n")
    assert (found.of, found.messages) == ({}, ())
    assert list(found.pulls.zone) == ["A"]


def test_a_stage_that_a_rule_names_is_a_population_of_its_own() -> None:
    """Substrate pulls by their rule, the others by the rule without a stage; the case of the words is of no matter."""
    terms = '[[require]]\nstage = "bare substrate"\nmean_at_least = "1.2 MPa"\n[[require]]\nmean_at_least = "1.5 MPa"\n'
    found = populations(terms, "A,1,2.0,Bare  substrate,,\nA,2,2.0,production,,\nA,3,2.0,,,\n")
    assert list(found.pulls.zone) == ["A, bare substrate", "A", "A"]
    first, second = found.specification.rules
    assert (first.zones, second.zones) == (("A, bare substrate",), ("A",))
    assert found.of["A, bare substrate"] == Population("A", "bare substrate", 1)


def test_a_stage_is_asked_of_every_zone_that_its_rule_holds_for() -> None:
    """Zone B has no substrate pull: it is asked for all the same, and a pull of no stage is said to be undecided."""
    terms = '[[require]]\nstage = "bare substrate"\nmean_at_least = "1.2 MPa"\n'
    found = populations(terms, "A,1,2.0,bare substrate,,\nB,2,2.0,,,\n")
    assert found.specification.rules[0].zones == ("A, bare substrate", "B, bare substrate")
    assert [(m.code, m.facts["zone"]) for m in found.messages] == [("stage_not_asked", "B")]


def test_a_group_stands_for_its_zones() -> None:
    """The rule holds for the zones of the group and those that it names itself."""
    group = '[[group]]\nname = "decks"\nzones = ["A", "B"]\n'
    terms = group + '[[require]]\ngroups = ["decks"]\nzones = ["C"]\nmean_at_least = "1.5 MPa"\n'
    specification = parse_specification((HEAD + terms).encode(), file="s.toml")
    assert specification.rules[0].zones == ("C", "A", "B")


def test_each_round_is_a_population_and_takes_its_number_from_the_ladder() -> None:
    """Round 2 needs the three pulls of its step, whatever the contract asks of the first; round 3 has no step."""
    terms = '[pulls]\nrequired = 5\n[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER
    found = populations(terms, "A,1,1.0,,1,\nA,2,2.0,,2,\nA,3,2.0,,3,\n")
    assert list(found.pulls.zone) == ["A", "A, round 2", "A, round 3"]
    assert [(rule.zones, rule.required) for rule in found.specification.rules] == [(("A",), None), (("A, round 2",), 3)]
    assert [m.code for m in found.messages] == ["round_beyond_ladder"]


def test_after_remedy_is_the_second_round_where_no_round_is_given() -> None:
    """The stage says it where the column "round" is blank; a round that is given holds."""
    terms = '[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER
    found = populations(terms, "A,1,1.0,production,,\nA,2,2.0,after remedy,,\nA,3,2.0,after remedy,1,\n")
    assert list(found.pulls.zone) == ["A", "A, round 2", "A"]


def test_a_pull_of_a_later_round_replaces_nothing() -> None:
    """It repeats a pull of the first round and belongs to the second; within one round a retest stays one."""
    terms = '[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER
    found = populations(terms, "A,1,1.0,,1,\nA,2,2.0,,2,1\nA,3,2.0,,2,2\n")
    assert list(found.pulls.retest_of) == ["", "", "2"]


def test_an_exclusion_follows_its_pull() -> None:
    """Zone and id name the pull as the readings do; the exclusion then stands in the population of that pull."""
    exclude = '[[exclude]]\nzone = "A"\nid = "2"\nreason = "core broke"\nwho = "Engineer"\n'
    terms = '[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER + exclude
    found = populations(terms, "A,1,1.0,,1,\nA,2,2.0,,2,\n")
    assert found.specification.exclusions[0].zone == "A, round 2"


def test_a_round_that_is_no_number_is_said() -> None:
    """It is taken as the first, and the row is named."""
    found = populations('[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER, "A,1,1.0,,again,\n")
    assert [(m.code, m.place.row) for m in found.messages] == [("round_not_read", 2)]


def test_rounds_without_a_ladder_are_said() -> None:
    """They are decided together, as ever: nobody may think otherwise."""
    found = populations('[[require]]\nmean_at_least = "1.5 MPa"\n', "A,1,1.0,,1,\nA,2,1.0,,2,\n")
    assert [m.code for m in found.messages] == ["rounds_without_ladder"]


def test_no_population_takes_the_name_of_another_zone() -> None:
    """A zone that is called like a population keeps its name to itself."""
    terms = '[[require]]\nmean_at_least = "1.5 MPa"\n' + LADDER
    found = populations(terms, '"A, round 2",9,1.0,,1,\nA,1,1.0,,1,\nA,2,1.0,,2,\n')
    assert list(found.pulls.zone) == ["A, round 2", "A", "A, round 2 *"]
