"""The table [plan]: what it says, and every problem of it at once."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.plane import area
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.plan import FrequencyRule, PlanTerms
from adhesion_stats.wording import say

HEAD = """
[contract]
title = "t"
[[require]]
mean_at_least = "1.50 MPa"
"""
GOOD = """
[plan]
seed = 11
stratified = true
edge_distance = "150 mm"
spacing = "200 mm"
retest_positions = 1
source = "section 7.5"
[[plan.frequency]]
pulls = 3
first_area = "50 m2"
then_each = "250 m2"
begun = true
source = "section 7.4"
[[plan.frequency]]
pulls = 2
per = "day"
zones = ["Deck"]
[[plan.zone]]
name = "Deck"
origin = ["-1 m", "0 m"]
rectangle = ["12 m", "800 cm"]
days = ["2026-05-04", "2026-05-05"]
keep_outs = [{ name = "Drain", origin = ["5 m", "3 m"], rectangle = ["1 m", "1 m"] }]
[[plan.zone]]
name = "Ramp"
polygon = [[0, 0], [10, 0], [10, 5]]
unit = "ft"
area = "30 m2"
pours = 2
[plan.risk]
good_mean = "2.00 MPa"
bad_mean = "200 psi"
cov = "20 %"
accept_good_at_least = "95 %"
accept_bad_at_most = "10 %"
"""


def plan(text: str) -> PlanTerms:
    """The plan of a specification with this table."""
    found = parse_specification((HEAD + text).encode(), file="s.toml").plan
    assert found is not None
    return found


def problems(text: str) -> list[str]:
    """Sentences of all problems."""
    with pytest.raises(InvalidSpecification) as caught:
        parse_specification((HEAD + text).encode(), file="s.toml")
    return [say(message) for message in caught.value.messages]


def test_a_plan_is_read() -> None:
    """Lengths are in metres, areas in square metres, names and numbers of parts apart."""
    found = plan(GOOD)
    assert (found.seed, found.stratified, found.edge_distance_m, found.spacing_m) == (11, True, 0.15, 0.2)
    deck, ramp = found.zones
    assert deck.corners is not None
    assert deck.corners.tolist() == [[-1, 0], [11, 0], [11, 8], [-1, 8]]
    assert (deck.area_m2, ramp.area_m2) == (96.0, 30.0)
    assert ramp.corners is not None
    assert area(ramp.corners) == pytest.approx(25 * 0.09290304, rel=1e-9)
    assert deck.parts == {"day": ("2026-05-04", "2026-05-05")}
    assert (ramp.parts, ramp.named_parts) == ({"pour": ("1", "2")}, frozenset())
    assert found.risk is not None
    assert found.risk.bad_mean.mpa == pytest.approx(1.379, abs=5e-4)


def test_no_plan_is_no_plan() -> None:
    """A specification without the table has none."""
    assert parse_specification(HEAD.encode(), file="s.toml").plan is None


@pytest.mark.parametrize(
    ("area_m2", "begun", "full"),
    [(10, 1, 0), (49.9, 1, 0), (50, 1, 1), (51, 2, 1), (300, 2, 2), (300.1, 3, 2), (550, 3, 3), (551, 4, 3)],
)
def test_area_steps_by_hand(area_m2: float, begun: int, full: int) -> None:
    """For the first 50 m², again for each further 250 m²: steps at 50, 300, 550, begun or full."""
    for counts, steps in ((True, begun), (False, full)):
        rule = FrequencyRule("1", 3, "area", (), 50.0, 250.0, counts)
        assert rule.steps(area_m2) == steps


def test_area_that_ends_on_a_step_in_feet_is_not_begun() -> None:
    """10 ft² and nine more are 100 ft² exactly, whatever the floats of square metres say."""
    foot = 0.09290304
    rule = FrequencyRule("1", 1, "area", (), 10 * foot, 10 * foot, begun=True)
    assert [rule.steps(n * 10 * foot) for n in range(1, 60)] == list(range(1, 60))


def test_what_a_drawing_needs_has_no_default() -> None:
    """An outline without seed, distances and stratification: each is asked for."""
    found = problems('[plan]\n[[plan.zone]]\nname = "D"\norigin = ["0 m", "0 m"]\nrectangle = ["6 m", "4 m"]\n')
    assert [text.split(" is missing")[0] for text in found] == [
        "plan.seed",
        "plan.stratified",
        "plan.edge_distance",
        "plan.spacing",
        "plan.retest_positions",
    ]


def test_every_problem_is_said_at_once() -> None:
    """A typo is told the nearest key; each other fault its place and what was expected."""
    text = GOOD.replace("seed = 11", "sed = 11").replace('then_each = "250 m2"', 'then_each = "250 m"')
    text = text.replace('unit = "ft"', "").replace('zones = ["Deck"]', 'zones = ["Dek"]')
    text = text.replace('bad_mean = "200 psi"', 'bad_mean = "2.50 MPa"').replace('["5 m", "3 m"]', '["50 m", "3 m"]')
    found = "\n".join(problems(text))
    assert 'plan.sed: no such key; did you mean "seed"?' in found
    assert "plan.seed is missing" in found
    assert 'plan.frequency[1].then_each: "m" is no known unit here' in found
    assert 'plan.frequency[2].zones names zone "Dek", which has no [[plan.zone]]' in found
    assert "plan.zone[2].unit is missing" in found
    assert 'plan.zone[1].keep_outs[1]: "Drain" lies outside its zone' in found
    assert "plan.risk.bad_mean: expected less than 2.00 MPa, found 2.50 MPa" in found


def test_a_rule_needs_what_it_counts() -> None:
    """Pulls per day need days, pulls by area an area."""
    text = '[plan]\n[[plan.frequency]]\npulls = 3\nper = "day"\n[[plan.zone]]\nname = "D"\narea = "5 m2"\n'
    assert problems(text) == [
        "plan.zone[1].days is missing; expected how many days zone D consists of, or their names."
    ]
    text = '[plan]\n[[plan.frequency]]\npulls = 3\nfirst_area = "1 m2"\nthen_each = "1 m2"\nbegun = true\n'
    text += '[[plan.zone]]\nname = "D"\n'
    assert problems(text) == ['plan.zone[1].area is missing; expected the zone\'s area, such as "96 m2".']


def test_whether_a_begun_area_counts_must_be_said() -> None:
    """The rule says for the first and each further area; silence on begun ones is not filled."""
    text = '[plan]\n[[plan.frequency]]\npulls = 3\nfirst_area = "1 m2"\nthen_each = "1 m2"\n'
    assert [t.split(" is missing")[0] for t in problems(text)] == ["plan.frequency[1].begun"]


def test_crossing_outline_and_zone_twice() -> None:
    """A bow tie is no zone, and one name stands for one zone."""
    text = GOOD.replace("[[0, 0], [10, 0], [10, 5]]", "[[0, 0], [4, 4], [4, 0], [0, 4]]").replace("Ramp", "Deck")
    found = "\n".join(problems(text))
    assert "plan.zone[2].polygon: edge 1 and edge 3 meet" in found
    assert 'zone "Deck" is planned twice' in found
