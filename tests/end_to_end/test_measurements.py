"""Readings with measurements to results and page: measurements with their pulls, what is not valid, what is due."""

from __future__ import annotations

from adhesion_stats.assessment import assess
from adhesion_stats.entrance import readings_from
from adhesion_stats.record.schema import schema_errors
from adhesion_stats.reporting.page import render_page
from adhesion_stats.terms.parse import parse_specification

READINGS = b"""zone,measurement,id,strength MPa,failure
Deck,M1,1,1.60,A
Deck,M1,2,1.40,A
Deck,M1,3,1.80,A
Deck,M2,4,1.20,A
Deck,M2,5,1.90,A
Deck,M2,6,1.50,Y
"""
TERMS = b"""
[contract]
title = "By measurement"
[pulls]
count_by = "measurement"
pulls_per_measurement = 3
required = 2
[glue]
from = "50 %"
then = "discard"
[[require]]
mean_at_least = "1.50 MPa"
"""


def results() -> dict[str, object]:
    """What results.json would hold."""
    terms = parse_specification(TERMS, file="s.toml")
    return assess(readings_from(READINGS, file="r.csv", specification=terms), terms).as_dict()


def test_measurements_stand_in_the_results_with_their_pulls() -> None:
    """M1 is valid, 1.60; of M2 one pull broke in the adhesive, so that two of three are left."""
    found = results()
    zones = found["zones"]
    assert isinstance(zones, list)
    measurements = zones[0]["measurements"]
    assert (measurements["required"], measurements["valid"]) == (2, 1)
    first, second = measurements["listed"]
    assert (first["name"], first["pulls"], round(first["low"], 9), first["valid"]) == ("M1", [0, 1, 2], 1.6, True)
    assert (second["counted"], second["valid"], second["low"]) == (2, False, None)
    assert zones[0]["outcome"] == "undetermined"
    assert zones[0]["pulls"]["required"] is None
    assert [m["code"] for m in zones[0]["next"]] == ["next_repeat_glue", "next_make_measurements"]
    codes = [m["code"] for m in found["messages"]]  # type: ignore[attr-defined]
    assert "measurement_not_valid" in codes
    assert schema_errors(found) == []


def test_the_page_shows_measurements() -> None:
    """A table of the measurements, and that the criteria are about them."""
    html = render_page(results())
    assert "Measurements of Deck" in html
    assert "The contract counts by measurement" in html
