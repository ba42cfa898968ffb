"""From a readings file with the depth of each break to results and page, under a contract that asks by failure."""

from __future__ import annotations

from adhesion_stats.assessment import assess
from adhesion_stats.entrance import readings_from
from adhesion_stats.record.schema import schema_errors
from adhesion_stats.reporting.page import render_page
from adhesion_stats.terms.parse import parse_specification

READINGS = b"""zone,id,strength MPa,failure,failure depth [mm]
Deck,1,1.82,A,8
Deck,2,0.85,80% A 20% A/B,9
Deck,3,1.55,A/B,0
Deck,4,1.61,60% A/B 40% A,1
Ramp,6,2.10,A,7
Ramp,7,1.30,A/B,0
Ramp,8,0.90,A,
"""
TERMS = b"""
[contract]
title = "By failure"
[[require]]
all_of = [
  { smallest_at_least = "1.00 MPa", unless_failed = ["A"], from = "50 %", depth_from = "6 mm" },
  { mean_at_least = "1.30 MPa", only_failed = ["A/B"], from = "60 %" },
]
[[require]]
zones = ["Deck"]
all_of = [
  { mean_at_least = "1.30 MPa", within_same_failure = true, from = "60 %" },
  { each_pull = [ { failed = ["A/B"], from = "60 %", at_least = "1.50 MPa" } ], otherwise = "0.80 MPa" },
]
"""


def results() -> dict[str, object]:
    """What results.json would hold."""
    terms = parse_specification(TERMS, file="s.toml")
    return assess(readings_from(READINGS, file="r.csv", specification=terms), terms).as_dict()


def test_the_zones_are_decided_by_what_broke_and_how_deep() -> None:
    """Deck: 0.85 broke 9 mm deep, excused; A/B (1.55 + 1.61) / 2 = 1.58; A (1.82 + 0.85) / 2 = 1.335. Ramp: the depth
    of pull 8 was not measured, so that nobody knows whether 0.90 is excused.
    """
    found = results()
    zones = found["zones"]
    assert isinstance(zones, list)
    assert [(zone["zone"], zone["outcome"]) for zone in zones] == [("Deck", "conforms"), ("Ramp", "undetermined")]
    assert [round(c["low"], 3) for c in zones[0]["criteria"]] == [1.55, 1.58, 1.335, 100.0]
    asked = zones[0]["criteria"][0]["by_failure"]
    assert (asked["role"], asked["which"]["depth"], asked["sure"], asked["most"]) == ("unless", "6 mm", 2, 2)
    assert asked["pulls"] == [{"pull": i, "sure": True, "possible": True} for i in (0, 1)]  # A over 50 %, 8 and 9 mm
    open_one = zones[1]["criteria"][0]["by_failure"]["pulls"]
    assert open_one == [{"pull": 4, "sure": True, "possible": True}, {"pull": 6, "sure": False, "possible": True}]
    each = zones[0]["criteria"][3]["by_failure"]["pulls"]
    assert [one["sure"] for one in each] == [True] * 4
    pulls = found["pulls"]
    assert isinstance(pulls, list)
    assert [pull["conditions"]["failure_depth_mm"] for pull in pulls][1:3] == [9.0, 0.0]


def test_the_results_keep_their_schema() -> None:
    """Every new field is described, none is missing."""
    assert schema_errors(results()) == []


def test_the_selection_is_said_beside_the_criteria() -> None:
    """A mean within one failure is a selection: among the cautions, and in both zones that ask for one."""
    html = render_page(results())
    assert html.count("A mean over the pulls of one failure is a selection") == 3
    assert "mean of the pulls with" in html
    assert "Perhaps excused: 8." in html
    assert "In the mean: 3, 4." in html
    assert "6\N{NO-BREAK SPACE}mm deep or deeper" in html
