"""Pulls made against pulls asked, and how far a weak patch may reach: worked by hand on small zones."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from adhesion_stats import assess
from adhesion_stats.entrance import readings_from
from adhesion_stats.record import schema_errors
from adhesion_stats.reporting.figures.positions import plot_positions
from adhesion_stats.reporting.page import render_page
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.wording import say_dict

HEAD = "zone,id,strength [MPa],diameter [mm],x [m],y [m],pour,date,age [d]\n"
RULES = (
    '[contract]\ntitle = "t"\n[[require]]\n'
    'all_of = [{ mean_at_least = "1.50 MPa" }, { smallest_at_least = "1.00 MPa" }]\n'
)
SQUARE = (
    '[plan]\nseed = 1\nstratified = true\nedge_distance = "100 mm"\nspacing = "300 mm"\nretest_positions = 0\n'
    '[[plan.zone]]\nname = "D"\norigin = ["0 m", "0 m"]\nrectangle = ["10 m", "10 m"]\n'
)
CROSS = "D,1,1.8,50,2,5,,,\nD,2,0.8,50,8,5,,,\nD,3,1.7,50,8,9,,,\nD,4,1.9,50,8,1,,,\n"


def results(rows: str, rules: str) -> Any:
    """Results of an assessment, checked against the schema."""
    terms = parse_specification(rules.encode(), file="s.toml")
    found = assess(readings_from((HEAD + rows).encode(), file="r.csv", specification=terms), terms).as_dict()
    assert schema_errors(found) == []
    return found


def test_half_way_places_and_area_by_hand() -> None:
    """Low at (8, 5); sound 6 m to the left, 4 m up and down: half-way (5, 5), (8, 7), (8, 3); nothing to the right.

    The part nearer to it: x from 5 to 10, y from 3 to 7 = 20 of 100 m².
    """
    (extent,) = results(CROSS, RULES + SQUARE)["on_site"]["extents"]
    assert (extent["area_m2"], extent["area_in_doubt_m2"]) == (100.0, pytest.approx(20.0))
    (low,) = extent["low"]
    assert (low["pull"], low["open_sides"]) == ("2", ["right"])
    found = {side["side"]: (side["pull"], side["distance_m"], side["next"]) for side in low["neighbours"]}
    assert found == {
        "up": ("3", 4.0, {"x_m": 8.0, "y_m": 7.0}),
        "left": ("1", 6.0, {"x_m": 5.0, "y_m": 5.0}),
        "down": ("4", 4.0, {"x_m": 8.0, "y_m": 3.0}),
    }
    said = [say_dict(message) for message in extent["says"]]
    assert said[0].startswith("Round 2: pull next half-way to its sound neighbours, at (8.00 m; 7.00 m)")
    assert "20.0 m² of the zone (20 %)" in said[-1]


def test_the_zone_points_to_its_places() -> None:
    """The step of the zone counts them; a zone that conforms has none."""
    (zone,) = results(CROSS, RULES + SQUARE)["zones"]
    assert [m["facts"]["count"] for m in zone["next"] if m["code"] == "next_bound_patch"] == [3]
    good = results(CROSS.replace("0.8", "1.8"), RULES + SQUARE)
    assert good["on_site"]["extents"] == []
    assert all(m["code"] != "next_bound_patch" for m in good["zones"][0]["next"])


def test_without_an_outline_there_are_places_and_no_area() -> None:
    """Positions alone give neighbours; an area needs the zone's outline."""
    (extent,) = results(CROSS, RULES)["on_site"]["extents"]
    assert extent["area_in_doubt_m2"] is None
    assert len(extent["low"][0]["neighbours"]) == 3


def test_two_low_pulls_share_the_doubt() -> None:
    """Low at (2, 5) and (8, 5), sound at (8, 9) and (8, 1): what is nearer to the sound ones is off.

    Nearer to (8, 9): above y = 7, right of the bisector with (2, 5), that is 3 x + 2 y = 29 through (5, 7) and (3, 10):
    from x = 5 to 10 it is 3 × 5 = 15, left of that a triangle of 2 × 3 / 2 = 3. Twice 18 leaves 64.
    """
    (extent,) = results(CROSS.replace("D,1,1.8", "D,1,0.9"), RULES + SQUARE)["on_site"]["extents"]
    assert extent["area_in_doubt_m2"] == pytest.approx(64.0)
    assert [low["pull"] for low in extent["low"]] == ["1", "2"]


def test_each_low_pull_has_its_part_of_the_area_in_doubt() -> None:
    """Corners of the parts: their areas by the shoelace sum are the area in doubt; without an outline there is none."""
    (extent,) = results(CROSS.replace("D,1,1.8", "D,1,0.9"), RULES + SQUARE)["on_site"]["extents"]
    assert extent["outline"] == [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]

    def area(corners: list[list[float]]) -> float:
        following = [*corners[1:], corners[0]]
        return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(corners, following, strict=True))) / 2

    assert sum(area(low["part"]) for low in extent["low"]) == pytest.approx(64.0)
    (bare,) = results(CROSS, RULES)["on_site"]["extents"]
    assert (bare["outline"], bare["low"][0]["part"]) == (None, None)


def test_the_plan_of_positions_draws_the_area_in_doubt_and_the_next_places() -> None:
    """To scale, by hatching and shape, with a text for who can't see it and the places in the table of numbers."""
    found = results(CROSS, RULES + SQUARE)
    ax = plot_positions(found)
    hatched = [patch for patch in ax.patches if patch.get_gid() == "in_doubt"]
    assert len(hatched) == 1
    assert hatched[0].get_hatch()
    corners = hatched[0].get_xy()[:-1].tolist()  # type: ignore[attr-defined]
    assert corners == [pytest.approx(corner) for corner in found["on_site"]["extents"][0]["low"][0]["part"]]
    (line,) = [one for one in ax.lines if one.get_gid() == "pull_next"]
    assert sorted(map(tuple, np.asarray(line.get_xydata()).tolist())) == [(5.0, 5.0), (8.0, 3.0), (8.0, 7.0)]
    html = render_page(found).replace("\N{NO-BREAK SPACE}", " ")
    assert "Zone D: low pulls 2, 20.0 m² nearer to them than to any other pull hatched as in doubt" in html
    assert html.count("next, round 2") == 3
    assert [p for p in plot_positions(results(CROSS, RULES)).patches if p.get_gid() == "in_doubt"] == []


def test_a_neighbour_nearer_than_the_spacing_needs_no_more() -> None:
    """0.2 m away at a spacing of 0.3 m: no place between."""
    rows = "D,1,1.8,50,5,5.2,,,\nD,2,0.8,50,5,5,,,\n"
    (extent,) = results(rows, RULES + SQUARE)["on_site"]["extents"]
    assert extent["low"][0]["neighbours"][0]["next"] is None


def test_a_mean_alone_takes_its_limit() -> None:
    """No single value is asked for: low is what lies below the mean's limit."""
    rules = '[contract]\ntitle = "t"\n[[require]]\nmean_at_least = "1.50 MPa"\n'
    rows = "D,1,1.6,50,1,1,,,\nD,2,1.2,50,2,1,,,\nD,3,1.3,50,3,1,,,\n"
    (extent,) = results(rows, rules)["on_site"]["extents"]
    assert extent["limit_mpa"] == 1.5
    assert [low["pull"] for low in extent["low"]] == ["2", "3"]


PLAN = (
    '[plan]\n[[plan.frequency]]\npulls = 3\nfirst_area = "50 m2"\nthen_each = "250 m2"\nbegun = true\n'
    '[[plan.frequency]]\npulls = 2\nper = "pour"\n[[plan.frequency]]\npulls = 2\nper = "day"\n'
    '[[plan.zone]]\nname = "D"\narea = "96 m2"\npours = ["P1", "P2"]\ndays = 2\n'
)
POURS = (
    "D,1,1.8,50,,,P1,2026-05-11,7\nD,2,1.8,50,,,P1,2026-05-11,7\nD,3,1.7,50,,,P2,2026-05-12,7\n"
    "D,4,1.9,50,,,,2026-05-12,8\nD,5,,50,,,P2,,\n"
)


def test_frequency_by_area_pour_and_day_by_hand() -> None:
    """96 m² ask 6, four count. Pour P1 has 2 of 2, P2 1 of 2, one names none. Days applied: three 4 May, one 5 May."""
    (zone,) = results(POURS, RULES + PLAN)["on_site"]["frequency"]
    assert (zone["counted"], zone["decides"]) == (4, 0)
    area, pours, days = zone["rules"]
    assert (area["asked"], area["missing"]) == (6, 2)
    assert [(p["name"], p["counted"], p["missing"]) for p in pours["parts"]] == [("P1", 2, 0), ("P2", 1, 1)]
    assert (pours["asked"], pours["missing"], pours["not_recorded"]) == (4, 0, 1)
    assert [(p["name"], p["counted"], p["missing"]) for p in days["parts"]] == [
        ("2026-05-04", 3, 0),
        ("2026-05-05", 1, 1),
    ]


def test_days_without_dates_are_not_guessed() -> None:
    """Two days are planned and the readings hold no date: both parts stand without a name and without a pull."""
    (zone,) = results("D,1,1.8,50,,,,,\n", RULES + PLAN)["on_site"]["frequency"]
    days = zone["rules"][2]
    assert [(p["name"], p["counted"]) for p in days["parts"]] == [("", 0), ("", 0)]
    assert days["not_recorded"] == 1


def test_a_planned_zone_without_pulls_is_missing_everything() -> None:
    """Nobody pulled the ramp: it is a zone of the assessment, and all its pulls are missing."""
    plan = PLAN.replace('name = "D"', 'name = "Ramp"')
    found = results("D,1,1.8,50,,,,,\nD,2,1.8,50,,,,,\n", RULES + plan)
    assert [zone["zone"] for zone in found["zones"]] == ["D", "Ramp"]
    assert found["on_site"]["frequency"][0]["rules"][0]["missing"] == 6


def test_holes_and_their_area() -> None:
    """Five pulls on 50 mm: 5 × 19.635 cm²; without sizes the number alone."""
    assert results(POURS, RULES)["on_site"]["holes"] == {"count": 5, "area_mm2": pytest.approx(9817.477)}
    bare = results(POURS.replace(",50,", ",,"), RULES)
    assert bare["on_site"]["holes"] == {"count": 5, "area_mm2": None}


def test_the_page_shows_both() -> None:
    """Table of pulls made against pulls asked, and the places to pull next; names stay text."""
    page = render_page(
        results(
            CROSS, RULES + SQUARE.replace("[[plan.zone]]", '[[plan.frequency]]\npulls = 6\nper = "zone"\n[[plan.zone]]')
        )
    )
    assert "Pulls made against pulls asked" in page
    assert "In one planned zone pulls are missing." in page
    assert "Low pulls and their nearest sound neighbours" in page
    page = render_page(results(CROSS.replace("D,2", "D,<i>"), RULES + SQUARE))
    assert "<i>" not in page


def test_only_production_pulls_answer_the_plan() -> None:
    """Two pulls of the bare substrate and one of the finished work: one of the six planned ones is made."""
    rules = RULES + '[[require]]\nstage = "bare substrate"\nmean_at_least = "1.00 MPa"\n' + PLAN
    head = HEAD.replace("zone,", "zone,stage,")
    rows = "D,bare substrate,1,1.8,50,,,P1,,\nD,bare substrate,2,1.8,50,,,P1,,\nD,,3,1.8,50,,,P1,,\n"
    terms = parse_specification(rules.encode(), file="s.toml")
    reading = readings_from((head + rows).encode(), file="r.csv", specification=terms)
    found: Any = assess(reading, terms).as_dict()
    assert {zone["zone"] for zone in found["zones"]} == {"D", "D, bare substrate"}
    assert found["on_site"]["frequency"][0]["counted"] == 1
