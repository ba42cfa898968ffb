"""Checks of the test method, pull by pull: who departs, who was not recorded, and what makes a pull invalid."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.coded import Coded
from adhesion_stats.judging import breaches, judge, preparation_messages
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Reason
from adhesion_stats.terms.silence import Settled
from tests.building import Pull, pulls, specification

SETTLED = Settled(50.0, "discard", 100.0, "unknown")
ASKED = '[[require]]\nmean_at_least = "1.50 MPa"\n'
NAN = float("nan")


def table(n: int = 3, /, **columns: list[float]) -> Pulls:
    """Pulls of 1.6 MPa with conditions by column; ``area`` in mm²."""
    made = pulls([Pull(1.6) for _ in range(n)])
    area = columns.pop("area", None)
    if area is not None:
        object.__setattr__(made, "area_mm2", np.array(area))
    object.__setattr__(made, "conditions", {name: np.array(values) for name, values in columns.items()})
    return made


def found(made: Pulls, method: str) -> dict[str, tuple[list[bool], list[bool]]]:
    """By key of the check: who departs, and of whom nothing is known."""
    terms = specification(ASKED + f"[method]\n{method}\n")
    return {one.key: (one.hit.tolist(), one.unknown.tolist()) for one in breaches(made, terms)}


@pytest.mark.parametrize(
    ("method", "column", "values", "hit"),
    [
        ('time_to_failure = ["20 s", "60 s"]', "time_to_failure_s", [19.9, 20.0, 60.1], [True, False, True]),
        ('time_to_failure = ["any", "90 s"]', "time_to_failure_s", [1.0, 90.0, 91.0], [False, False, True]),
        ('temperature = ["any", "27 °C"]', "temperature_c", [-5.0, 27.0, 27.5], [False, False, True]),
        ('temperature = ["5 °C", "any"]', "temperature_c", [4.0, 5.0, 40.0], [True, False, False]),
        ('cut_depth = ["10 mm", "any"]', "cut_depth_mm", [9.0, 10.0, 300.0], [True, False, False]),
        (
            'rate = ["3 psi/s", "7 psi/s"]',
            "rate_mpa_per_s",
            [0.02, 0.04, 0.05],
            [True, False, True],
        ),  # 0.0207 to 0.0483
        ("min_age = 7", "age_days", [6.0, 7.0, 28.0], [True, False, False]),
    ],
)
def test_spans_have_closed_and_open_ends(method: str, column: str, values: list[float], hit: list[bool]) -> None:
    """Outside the span is a breach, on its end is none, and an end "any" bounds nothing."""
    assert list(found(table(**{column: values}), method).values()) == [(hit, [False] * 3)]


def test_shape_is_told_by_area_and_size() -> None:
    """50 mm: 1963.5 mm² is a circle, 2500 mm² a square; without an area nobody knows."""
    made = table(dolly_mm=[50.0, 50.0, 50.0], area=[1963.5, 2500.0, NAN])
    assert found(made, 'dolly_shape = "square"')["dolly_shape"] == ([True, False, False], [False, False, True])
    assert found(made, 'dolly_shape = "round"')["dolly_shape"] == ([False, True, False], [False, False, True])


def test_spacing_is_from_centre_to_the_next_centre_of_the_zone() -> None:
    """Two dollies of 50 mm are 100 mm: 80 mm apart departs, 500 mm does not, and without a place nobody can tell."""
    made = table(4, dolly_mm=[50.0] * 4, x_m=[0.0, 0.08, 0.5, NAN], y_m=[0.0, 0.0, 0.0, 0.0])
    assert found(made, 'spacing = "2 dollies"')["spacing"] == ([True, True, False, False], [False, False, False, True])
    assert found(made, 'spacing = "50 mm"')["spacing"][0] == [False] * 4


def test_spacing_in_dollies_needs_a_size() -> None:
    """Without the size in readings and method nobody can tell; the method's size stands in where it has one."""
    made = table(2, x_m=[0.0, 0.08], y_m=[0.0, 0.0])
    assert found(made, 'spacing = "2 dollies"')["spacing"] == ([False, False], [True, True])
    assert found(made, 'spacing = "2 dollies"\ndolly = "50 mm"')["spacing"][0] == [True, True]


def test_pulls_of_two_zones_are_not_neighbours() -> None:
    """Coordinates are those of a zone: the same numbers in another zone are another place."""
    made = pulls([Pull(1.6, zone="A", x_m=0.0, y_m=0.0), Pull(1.6, zone="B", x_m=0.0, y_m=0.0)])
    assert found(made, 'spacing = "100 mm"')["spacing"] == ([False, False], [False, False])


def test_edge_distance_is_measured_to_the_outline_of_the_plan() -> None:
    """In a zone of 4 m by 3 m: 0.04 m from the edge departs from 50 mm, 0.05 m does not, outside does."""
    plan = '[plan]\nseed = 1\nedge_distance = "50 mm"\nspacing = "100 mm"\nretest_positions = 0\nstratified = false\n'
    plan += '[[plan.zone]]\nname = "Z"\norigin = ["0 m", "0 m"]\nrectangle = ["4 m", "3 m"]\n'
    made = table(x_m=[0.04, 0.05, 4.2], y_m=[1.0, 1.0, 1.0])
    terms = specification(ASKED + '[method]\nedge = "50 mm"\n' + plan)
    (edge,) = breaches(made, terms)
    assert edge.hit.tolist() == [True, False, True]
    assert not edge.unknown.any()
    terms = specification(ASKED + '[method]\nedge = "50 mm"\n')
    (edge,) = breaches(made, terms)
    assert edge.unknown.all()


def test_calibration_has_to_be_in_force_on_the_day() -> None:
    """Due on that day is in force; without a date, or without a certificate, nobody can tell."""
    made = pulls([Pull(1.6)] * 4)
    object.__setattr__(made, "date", Coded.of(["2026-03-01", "2026-03-02", "", "2026-03-01"]))
    object.__setattr__(made, "labels", {"instrument": Coded.of(["G1", "", "G1", "G2"])})
    instruments = '[readings]\ninstrument = "G1"\n[readings.instruments.G1]\nunit = "kN"\ndue = "2026-03-01"\n'
    late, unknown = found(made, "calibrated = true\n" + instruments)["calibrated"]
    assert late == [False, True, False, False]
    assert unknown == [False, False, True, True]


def test_a_breach_is_a_caution_unless_the_method_says_invalid() -> None:
    """The same uncut pull counts under the first specification and not under the second."""
    made = pulls([Pull(1.6, cut="no"), Pull(1.6, cut="yes"), Pull(1.6)])
    caution = specification(ASKED + '[method]\ncut = "yes"\n')
    assert judge(made, caution, SETTLED).standing.counted.tolist() == [True, True, True]
    invalid = specification(ASKED + '[method]\ncut = "yes"\ninvalid = ["cut"]\n')
    standing = judge(made, invalid, SETTLED).standing
    assert standing.reasons.tolist() == [int(Reason.METHOD), 0, 0]  # what was not recorded makes nothing invalid
    codes = [message.code for message in preparation_messages(made, standing, invalid)]
    assert codes == ["method_breach_invalid", "method_not_recorded"]


def test_a_retest_stands_for_a_pull_that_the_method_makes_invalid() -> None:
    """Invalid by the method is invalid by rule: the retest replaces it."""
    made = pulls([Pull(1.6, id="1", cut="no"), Pull(1.7, id="1R", retest_of="1", cut="yes")])
    terms = specification(ASKED + '[method]\ncut = "yes"\ninvalid = ["cut"]\n')
    standing = judge(made, terms, SETTLED).standing
    assert standing.counted.tolist() == [False, True]
    assert standing.reasons[0] & int(Reason.REPLACED)


def test_fewer_pulls_than_the_method_asks_for_are_said_by_zone() -> None:
    """Counted pulls are compared, zone by zone."""
    made = pulls([Pull(1.6, zone="A"), Pull(1.6, zone="A"), Pull(1.6, zone="B")])
    terms = specification(ASKED + "[method]\nleast_pulls = 2\n")
    said = preparation_messages(made, judge(made, terms, SETTLED).standing, terms)
    assert [(m.code, m.facts["zone"], m.facts["counted"]) for m in said] == [("method_too_few", "B", 1)]
