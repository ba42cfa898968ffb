"""The assessment as a whole on small tables: what is said, and what is not."""

from __future__ import annotations

from typing import cast

import pytest

from adhesion_stats.assessment import Assessment, assess
from adhesion_stats.intake import Reading
from adhesion_stats.pulls import Bound
from adhesion_stats.terms.layout import Layout
from adhesion_stats.wording import say_dict
from tests.building import Pull, pulls, specification, strengths

BOTH = """
[[require]]
all_of = [ { mean_at_least = "1.50 MPa" }, { smallest_at_least = "1.00 MPa" } ]
[pulls]
required = 5
lost = "unknown"
"""
GOOD = strengths(1.8, 1.9, 2.0, 2.1, 1.7)


def assessed(rows: list[Pull], text: str = BOTH) -> Assessment:
    """Assess rows against the terms of ``text``."""
    return assess(Reading(pulls(rows), (), Layout()), specification(text))


def zone_of(assessment: Assessment, name: str = "Z") -> dict[str, object]:
    """The facts of one zone."""
    zones = cast("list[dict[str, object]]", assessment.as_dict()["zones"])
    return next(zone for zone in zones if zone["zone"] == name)


def said(zone: dict[str, object], key: str) -> list[str]:
    """The sentences under a key of a zone."""
    return [say_dict(message) for message in cast("list[dict[str, object]]", zone[key])]


def summary(zone: dict[str, object]) -> dict[str, object]:
    """The zone's summary."""
    return cast("dict[str, object]", zone["summary"])


def test_a_plain_zone_conforms_and_asks_for_nothing() -> None:
    """Five good pulls of five: the mean is 9.5 / 5 = 1.90."""
    assessment = assessed(GOOD)
    zone = zone_of(assessment)
    assert assessment.decision == "conforms"
    assert summary(zone)["mean"] == pytest.approx(1.9, rel=1e-15)
    assert said(zone, "hangs_on") == []
    assert said(zone, "next") == ["Nothing further is asked by this specification."]


def test_one_pull_gives_no_spread_and_says_so() -> None:
    """A standard deviation of one value does not exist; it is said in words, never as nan."""
    zone = zone_of(assessed(strengths(1.8)))
    assert summary(zone)["sd"] is None
    assert "one pull says nothing about spread" in said(summary(zone), "unsaid")[0]


def test_a_characteristic_value_below_zero_is_not_printed() -> None:
    """0.9 2.0 3.1 at 95/95 has k = 7.656: 2.0 - 7.656 x 1.1 is below zero, so nothing is said of it but that."""
    text = BOTH + '[[report.characteristic]]\nmethod = "tolerance"\ncontent = 0.95\nconfidence = 0.95\n'
    zone = zone_of(assessed(strengths(0.9, 2.0, 3.1), text))
    assert summary(zone)["characteristic"] == []
    assert said(summary(zone), "unsaid") == [
        "with k = 7.66 at n = 3 the characteristic value falls below zero: so few pulls say nothing about it"
    ]


def test_a_characteristic_value_is_shown_where_asked() -> None:
    """EN 1990 Annex D, n = 5, coefficient of variation unknown: k = 2.3353 (formula)."""
    text = BOTH + '[[report.characteristic]]\nmethod = "en1990-unknown"\n'
    found = cast("list[dict[str, object]]", summary(zone_of(assessed(GOOD, text)))["characteristic"])
    assert found[0]["k"] == pytest.approx(2.3353, abs=5e-5)
    assert found[0]["value"] == pytest.approx(1.9 - 2.3353 * 0.158114, abs=5e-5)  # sd of 1.7 ... 2.1: sqrt(0.1 / 4)


def test_recorded_values_are_the_ones_summed_up() -> None:
    """Recorded to 0.1 MPa, 1.84 1.86 1.94 become 1.8 1.9 1.9: mean 5.6 / 3, in the summary as in the criterion."""
    text = BOTH + '[rounding]\nrecord_to = "0.1 MPa"\nties = "even"\n'
    zone = zone_of(assessed(strengths(1.84, 1.86, 1.94), text.replace("required = 5", "required = 3")))
    criterion = cast("list[dict[str, object]]", zone["criteria"])[0]
    assert summary(zone)["mean"] == pytest.approx(5.6 / 3, rel=1e-14)
    assert criterion["low"] == pytest.approx(5.6 / 3, rel=1e-14)


def test_lower_bounds_make_the_mean_a_lower_bound() -> None:
    """Four exact values and one "at least": no spread, and the mean is said to be a bound."""
    rows = [*GOOD[:4], Pull(1.7, bound=Bound.AT_LEAST)]
    found = summary(zone_of(assessed(rows)))
    assert found["mean_is_lower_bound"] is True
    assert (found["sd"], found["interval"]) == (None, None)


def test_an_upper_bound_leaves_no_mean() -> None:
    """A value that is "at most" could be anything down to zero: neither mean nor smallest value is given."""
    rows = [*GOOD[:4], Pull(0.5, bound=Bound.AT_MOST)]
    found = summary(zone_of(assessed(rows)))
    assert (found["mean"], found["smallest"], found["mean_is_lower_bound"]) == (None, None, False)


def test_a_written_exclusion_that_turns_the_decision_is_said() -> None:
    """Without the excluded 0.4 the zone conforms; with it, it does not; a retest stands in its place."""
    rows = [*GOOD[:4], Pull(0.4, id="low", exclusion="void under the dolly"), Pull(1.9, id="again", retest_of="low")]
    zone = zone_of(assessed(rows))
    assert zone["outcome"] == "conforms"
    assert said(zone, "hangs_on") == [
        "With the pulls counted that were excluded in writing (low) the decision would be: does not conform."
    ]


def test_a_retest_of_a_valid_pull_shows_both_decisions() -> None:
    """0.8 is valid and low: the zone fails, and the report says what the retest would have made of it."""
    rows = [*GOOD[:4], Pull(0.8, id="low", failure={"A": 100.0}), Pull(1.9, id="again", retest_of="low")]
    zone = zone_of(assessed(rows))
    assert zone["outcome"] == "does not conform"
    assert 'With retest "again" in place of the valid pull "low" the decision would be: conforms.' in said(
        zone, "hangs_on"
    )


def test_pulls_that_decide_alike_are_named_in_one_sentence() -> None:
    """Mean exactly 1.50 of 1.11 1.15 1.72 1.76 1.76: without any of the three high ones it falls below."""
    zone = zone_of(assessed(strengths(1.11, 1.15, 1.72, 1.76, 1.76)))
    assert zone["outcome"] == "conforms"
    assert said(zone, "hangs_on") == ["Without any one of the pulls p3, p4, p5 the outcome would be: does not conform."]


def test_a_silent_glue_rule_is_decided_over_every_reading() -> None:
    """4 exact values and a glue break at 1.6: as a bound it passes, discarded it leaves the zone open."""
    rows = [*GOOD[:4], Pull(1.6, failure={"Y": 100.0})]
    zone = zone_of(assessed(rows))
    assert zone["outcome"] == "undetermined"
    assert {entry["outcome"] for entry in cast("list[dict[str, object]]", zone["settled"])} == {
        "undetermined", "conforms"
    }  # fmt: skip
    assert "Have the contract's author settle: glue.then." in said(zone, "next")


def test_a_zone_that_only_the_contract_names_is_undetermined() -> None:
    """A zone without a single pull stands in the report, with all its pulls to make."""
    assessment = assessed(GOOD, BOTH + 'zones = ["Z", "Nowhere"]\n')
    zone = zone_of(assessment, "Nowhere")
    assert zone["outcome"] == "undetermined"
    assert "Make 5 more pulls." in said(zone, "next")
    codes = [m["code"] for m in cast("list[dict[str, object]]", assessment.as_dict()["messages"])]
    assert "zone_without_pulls" in codes


def test_a_zone_of_which_nothing_is_asked_is_said_and_not_decided() -> None:
    """A requirement for Z alone says nothing of Y; the contract's decision rests on Z."""
    text = '[[require]]\nzones = ["Z"]\nmean_at_least = "1.50 MPa"\n'
    assessment = assessed([*GOOD, *strengths(1.0, zone="Y")], text)
    assert zone_of(assessment, "Y")["outcome"] is None
    assert assessment.decision == "conforms"


def test_without_any_decided_zone_the_contract_is_undetermined() -> None:
    """Nothing asked of any zone decides nothing."""
    text = '[[require]]\nzones = ["elsewhere"]\nmean_at_least = "1.50 MPa"\n'
    assert assessed(strengths(2.0), text).decision == "undetermined"


def test_one_failing_zone_fails_the_contract() -> None:
    """The contract conforms only if every zone does."""
    assessment = assessed([*GOOD, *strengths(0.5, 0.6, 0.7, 0.5, 0.6, zone="bad")])
    results = assessment.as_dict()
    decision = cast("dict[str, dict[str, object]]", results["decision"])
    assert assessment.decision == "does not conform"
    assert say_dict(decision["reason"]) == "1 of 2 zones does not conform: bad."


def test_the_frame_for_people_has_one_row_a_zone() -> None:
    """``to_frame`` lists the zones with their decisions."""
    frame = assessed([*GOOD, *strengths(0.5, zone="bad")]).to_frame()
    assert list(frame.index) == ["Z", "bad"]
    assert list(frame["decision"]) == ["conforms", "does not conform"]


def test_row_order_changes_no_zone() -> None:
    """Reversed rows give the same zone facts, to the last bit."""
    rows = [Pull(v, id=f"p{i}") for i, v in enumerate((1.11, 1.15, 1.72, 1.76, 1.77, 0.9))]
    one, other = zone_of(assessed(rows)), zone_of(assessed(rows[::-1]))
    assert summary(one) == summary(other)
    assert one["criteria"] == other["criteria"]


def test_counted_and_not_counted_are_the_rows() -> None:
    """Every row of the file is in the results, counted or not."""
    rows = [*GOOD, Pull(lost=True), Pull(1.0, failure={"Y": 100.0}), Pull(), Pull(9.9, doubts=("x",))]
    found = cast("list[dict[str, object]]", assessed(rows).as_dict()["pulls"])
    assert len(found) == len(rows)
    assert all(pull["status"] == "counted" or pull["reasons"] for pull in found)


def reasons(assessment: Assessment, i: int) -> list[str]:
    """Why pull ``i`` does not count, in sentences."""
    table = cast("list[dict[str, list[dict[str, object]]]]", assessment.as_dict()["pulls"])
    return [say_dict(message) for message in table[i]["reasons"]]


def test_a_doubtful_reading_can_not_make_a_zone_conform() -> None:
    """Six pulls of five asked for, one of them entered as 0: a zero that was measured would fail the zone."""
    assessment = assessed([*GOOD, Pull(0.0, doubts=("zero_strength",))])
    assert assessment.outcomes["Z"] == "undetermined"
    assert any("Settle the values of p6" in step for step in said(zone_of(assessment), "next"))


def test_a_doubtful_reading_does_not_matter_where_any_value_decides_alike() -> None:
    """Nine and a half over six pulls is 1.58, with nothing for the sixth: the mean conforms whatever it is."""
    text = '[[require]]\nmean_at_least = "1.50 MPa"\n[pulls]\nrequired = 5\n'
    assert assessed([*GOOD, Pull(0.0, doubts=("zero_strength",))], text).outcomes["Z"] == "conforms"


def test_an_exclusion_in_the_specification_shows_its_reason() -> None:
    """Who says so and the physical cause stand with the pull, as for one written in the readings."""
    text = BOTH + '[[exclude]]\nzone = "Z"\nid = "p6"\nreason = "void under the dolly"\nwho = "resident engineer"\n'
    assessment = assessed([*GOOD, Pull(0.4)], text)
    assert reasons(assessment, 5) == ["excluded by resident engineer: void under the dolly"]


def test_an_exclusion_written_twice_shows_both_reasons() -> None:
    """One in the readings, one in the specification: neither hides the other."""
    text = BOTH + '[[exclude]]\nid = "p6"\nreason = "void under the dolly"\nwho = "resident engineer"\n'
    assessment = assessed([*GOOD, Pull(0.4, exclusion="cracked core")], text)
    assert reasons(assessment, 5) == [
        "excluded by readings file: cracked core",
        "excluded by resident engineer: void under the dolly",
    ]


def test_a_further_retest_is_not_said_to_repeat_a_valid_pull() -> None:
    """The first pull broke in the glue and its first retest stands; the second one is told so."""
    rows = [
        Pull(0.4, id="a", failure={"Y": 100.0}),
        Pull(1.8, id="b", retest_of="a"),
        Pull(2.8, id="c", retest_of="a"),
        *GOOD,
    ]
    assessment = assessed(rows, BOTH + '[glue]\nfrom = "50 %"\nthen = "discard"\n')
    assert reasons(assessment, 2) == ["repeats a, for which another retest stands already"]


def test_a_chain_of_retests_names_the_pull_that_stands() -> None:
    """C repeats b, and b, which repeats a, broke in the glue: c stands for a."""
    glue = {"Y": 100.0}
    rows = [
        Pull(0.4, id="a", failure=glue),
        Pull(0.5, id="b", retest_of="a", failure=glue),
        Pull(1.8, id="c", retest_of="b"),
    ]
    assessment = assessed(rows, BOTH + '[glue]\nfrom = "50 %"\nthen = "discard"\n')
    assert reasons(assessment, 0)[-1] == "not valid; retest c stands for it"


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        (GOOD, "The one zone conforms."),
        ([*GOOD, Pull(0.5)], "The one zone does not conform: Z."),
        (GOOD[:3], "The one zone is undetermined: Z."),
    ],
)
def test_a_contract_of_one_zone_is_spoken_of_as_one(rows: list[Pull], sentence: str) -> None:
    """Not "all 1 zones"."""
    decision = cast("dict[str, dict[str, object]]", assessed(rows).as_dict()["decision"])
    assert say_dict(decision["reason"]) == sentence
