"""Plans of contracts that count by measurement: several pulls within a small square are one value, their mean."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.planning import make_plan, wait_for_plan
from adhesion_stats.reporting.plan.folder import form_rows
from adhesion_stats.reporting.plan.page import render_plan
from adhesion_stats.reporting.plan.text import plan_text
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import say
from tests.planning.examples import (
    GOOD,
    MEASURED_CROWDED,
    MEASURED_DECK,
    MEASURED_SAYS,
    NO_MEASUREMENT,
    RISK,
)


def terms(text: str) -> Specification:
    """A specification."""
    return parse_specification(text.encode(), file="s.toml")


def facts(text: str) -> dict[str, Any]:
    """What is written to plan.json."""
    return make_plan(terms(text)).as_dict()


def test_a_plan_asks_for_measurements_times_pulls_each() -> None:
    """96 m²: one measurement for 15 m², one for each further begun 15 m²: 1 + 81/15 -> 7 × 3 = 21 beat 4 × 3 = 12."""
    zone = make_plan(terms(MEASURED_DECK)).zones[0]
    assert [(entry.kind, entry.pulls, entry.each, entry.times) for entry in zone.asked] == [
        ("contract", 12, 3, 4), ("area", 21, 3, 7)
    ]  # fmt: skip
    assert (zone.pulls, zone.values) == (21, 7)


def test_pulls_of_a_frequency_rule_become_whole_measurements() -> None:
    """Four pulls at a time are two measurements of three: six."""
    text = MEASURED_DECK.replace("measurements = 1\n", "pulls = 4\n")
    assert [entry.each for entry in make_plan(terms(text)).zones[0].asked] == [3, 6]


def test_the_pulls_of_a_measurement_lie_in_its_square_and_all_keep_their_distances() -> None:
    """Every position inside its square and 150 mm from the edges; any two 200 mm apart; squares do not overlap."""
    zone = facts(MEASURED_DECK)["zones"][0]
    squares = {m["name"]: m["square"] for m in zone["measurements"]}
    assert len(zone["positions"]) == 21
    every = []
    for position in zone["positions"]:
        x0, y0, x1, y1 = squares[position["measurement"]]
        for place in (position, *position["retests"]):
            assert x0 - 1e-9 <= place["x_m"] <= x1 + 1e-9
            assert y0 - 1e-9 <= place["y_m"] <= y1 + 1e-9
            every.append((place["x_m"], place["y_m"]))
    places = np.array(every)
    assert (places >= 0.15 - 1e-9).all()
    assert (places <= np.array([12.0, 8.0]) - 0.15 + 1e-9).all()
    apart = np.sqrt(((places[:, None] - places) ** 2).sum(axis=2)) + np.eye(len(places))
    assert apart.min() >= 0.2 - 1e-9
    for x0, y0, x1, y1 in squares.values():
        assert (x1 - x0, y1 - y0) == (pytest.approx(1.0), pytest.approx(1.0))


def test_each_measurement_has_its_name_in_the_form() -> None:
    """Three rows each, with the name under which the readings group them; also without positions."""
    for text in (
        MEASURED_DECK,
        MEASURED_DECK.replace('origin = ["0 m", "0 m"]\nrectangle = ["12 m", "8 m"]', 'area = "96 m2"'),
    ):
        rows, _ = form_rows(facts(text), dolly_mm=None)
        names = [row["measurement"] for row in rows]
        assert names == [f"Z1-M{k}" for k in range(1, 8) for _ in range(3)]


def test_a_decision_waits_for_measurements_and_not_for_pulls() -> None:
    """The plan's seven measurements, where the contract asks for four."""
    asked = terms(MEASURED_DECK)
    assert wait_for_plan(asked, make_plan(asked)).required_for("Deck") == 7


def test_the_risks_of_a_plan_are_those_of_measurements() -> None:
    """Normal means of 7 measurements, half of the variance between: the split that is not written is said to be ours.

    Mean >= 1.5 at mu = 2.0, sd 0.4: variance of a measurement 0.16 (0.5 + 0.5 / 3) = 0.10667, of the mean of seven
    0.015238, sd 0.12344: Phi(0.5 / 0.12344) = Phi(4.0505) = 0.99997; at mu = 1.3, sd 0.26: 0.06760 (2/3) / 7, sd
    0.080238, Phi(-0.2 / 0.080238) = Phi(-2.4926) = 0.00634.
    """
    plan = facts(MEASURED_DECK + RISK.format(bad=5))
    assert plan["zones"][0]["risk"]["bad"] == pytest.approx(0.00634, abs=5e-6)
    assert plan["zones"][0]["risk"]["good"] == pytest.approx(0.99997, abs=5e-6)
    assert "50 % are taken to lie between measurements" in render_plan(plan).replace("\N{NO-BREAK SPACE}", " ")
    given = facts(MEASURED_DECK + RISK.format(bad=5) + 'between = "100 %"\n')
    assert given["zones"][0]["risk"]["bad"] == pytest.approx(0.02093, abs=5e-5)  # Phi(-0.2 / (0.26 / sqrt(7)))


def test_page_and_text_tell_measurements_and_pulls() -> None:
    """In the lead, in the table, on the drawing."""
    plan = facts(MEASURED_DECK)
    html = render_plan(plan).replace("\N{NO-BREAK SPACE}", " ")
    assert "They are 7 measurements of 3 pulls each" in html
    assert "Deck: 21 (7 measurements of 3), asked by area" in plan_text(plan)


def test_what_can_not_be_planned_is_said() -> None:
    """No number of pulls to a measurement; no room for the squares; no room within one."""
    found = []
    for text in (NO_MEASUREMENT, *MEASURED_CROWDED):
        with pytest.raises(InvalidSpecification) as caught:
            facts(text)
        found.append(say(caught.value.messages[0]))
    assert found[0].startswith("The contract counts by measurement and does not say of how many pulls")
    assert found[1].startswith('Zone "Deck" has room for at least')
    assert "measurements in squares of 1000 mm" in found[1]
    assert found[2].startswith('Zone "Deck": a square of 250 mm has room for at least')
    assert "to place 6 was not found (3 pulls of a measurement, 1 retest positions beside each)" in found[2]


def test_what_to_settle_is_told_in_measurements() -> None:
    """More measurements than required, and than are counted among."""
    codes = [[m["code"] for m in facts(text)["messages"]] for text in MEASURED_SAYS]
    assert codes[0] == ["plan_more_than_z_of_n_measured", "plan_more_than_required_measured"]
    assert codes[1] == ["plan_more_than_required_measured"]
    assert "plan_caution_risk_measured" in [m["code"] for m in facts(MEASURED_SAYS[1])["cautions"]]


def test_keys_about_measurements_belong_to_contracts_that_count_by_them() -> None:
    """Each such key is refused elsewhere, and the square is asked for where there are outlines."""
    wrong = GOOD.replace("retest_positions = 1", 'retest_positions = 1\nmeasurement_side = "1 m"').replace(
        "pulls = 3\n", "measurements = 3\n"
    ) + RISK.format(bad=5) + 'between = "50 %"\n'  # fmt: skip
    with pytest.raises(InvalidSpecification) as caught:
        terms(wrong)
    assert [m.facts["path"] for m in caught.value.messages] == [
        "plan.measurement_side", "plan.frequency[1].measurements", "plan.risk.between"
    ]  # fmt: skip
    with pytest.raises(InvalidSpecification) as caught:
        terms(MEASURED_DECK.replace('measurement_side = "1 m"\n', ""))
    assert [m.facts["path"] for m in caught.value.messages] == ["plan.measurement_side"]
    both = MEASURED_DECK.replace("measurements = 1\n", "measurements = 1\npulls = 3\n")
    with pytest.raises(InvalidSpecification) as caught:
        terms(both)
    assert caught.value.messages[0].code == "spec_one_kind"
