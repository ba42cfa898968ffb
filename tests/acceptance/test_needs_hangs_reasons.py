"""What the unknown would have to be, what a decision hangs on, and every outcome as a sentence."""

from __future__ import annotations

import itertools
import string

import numpy as np
import pytest

from adhesion_stats.acceptance import criterion_reason, decide, hangs_on, needs, zone_reason
from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.acceptance.reasons import KINDS, STATES
from adhesion_stats.messages import Message
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import SENTENCES, say
from tests.acceptance.build import Row, cases_of, pulls_of, row, specification
from tests.acceptance.test_brute_force import random_criterion, random_rows
from tests.acceptance.test_hand_worked import MEAN, SMALLEST, rows_of

TOLERANCE = ("tolerance", "pull-off", "1.00 MPa", 0.95, 0.75)


def told(rows: list[Row], requirement: tuple[object, ...], **terms: object) -> tuple[Message, ...]:
    """The needs of the only zone."""
    spec = specification(requirement, **terms)  # type: ignore[arg-type]
    values = cases_of(rows, spec)
    return needs(spec, values, decide(spec, values))["Z"]


def test_the_level_that_a_bounded_pull_would_have_to_reach() -> None:
    """Mean >= 1.50 of 1.20 1.30 1.40 and > 1.00: 4 x 1.50 - 3.90 = 2.10."""
    (message,) = told(rows_of(1.20, 1.30, 1.40, ">1.0"), MEAN)
    assert (message.code, message.facts["level"]) == ("needs_one_level", "2.10 MPa")
    assert say(message) == "To conform, the unknown value (1 of 4, pull-off) would have to reach 2.10 MPa."


def test_the_level_is_rounded_so_that_it_suffices() -> None:
    """Two unknown values: 5 x 1.50 = 7.50, less 1.20 1.30 1.41 = 3.59 to be shared by two: 1.795, shown as 1.80."""
    (message,) = told(rows_of(1.20, 1.30, 1.41, ">1.0", ">0.5"), MEAN)
    assert (message.code, message.facts["level"], message.facts["unknown"]) == ("needs_level", "1.80 MPa", 2)


def test_the_levels_between_which_a_spread_rule_holds() -> None:
    """Characteristic value >= 1.00: met from the first level to the last, with too much spread beyond."""
    spec = specification(TOLERANCE)
    values = cases_of(rows_of(1.20, 1.30, 1.25, 1.28, ">0.50"), spec)
    (message,) = needs(spec, values, decide(spec, values))["Z"]
    assert message.code == "needs_one_level_between"
    first, last = (float(str(message.facts[name]).split()[0]) for name in ("level", "last"))
    for level, outcome in ((first, 0), (last, 0), (first - 0.02, 1), (last + 0.02, 1)):
        assert decide(spec, cases_of(rows_of(1.20, 1.30, 1.25, 1.28, level), spec)).outcome.tolist() == [outcome]


def test_no_common_level_is_said() -> None:
    """Z of n and a spread rule at once: one value high and the others low could do, one level for both can't always."""
    parts = (("z of n", "pull-off", "1.60 MPa", 1, 6), ("tolerance", "pull-off", "1.00 MPa", 0.80, 0.50))
    rows = rows_of(1.15, 1.20, 1.15, 1.20, ">0.5", "<1.2")
    (message,) = told(rows, ("all", *parts))
    assert message.code in {"needs_level_between", "needs_no_common_level"}


def test_a_common_level_is_not_a_level_to_reach_one_by_one() -> None:
    """Two bounds under a ceiling and a spread rule: alike they conform from a level on, apart they need not."""
    (message,) = told(rows_of(">1.0", ">1.0"), ("tolerance", "pull-off", "2.00 MPa", 0.95, 0.75), ceiling=2.5)
    assert (message.code, message.facts["level"]) == ("needs_common_level", "2.00 MPa")


def test_values_that_must_only_not_differ() -> None:
    """Two bounds of 2.0 under a ceiling of 2.5: every common level has sd 0 and meets 2.00; 2.0 beside 2.5 does not.

    At n = 2 k (95 %/75 %) is above 5: 2.25 - 5 x 0.354 is below 1.
    """
    (message,) = told(rows_of(">2.0", ">2.0"), ("tolerance", "pull-off", "2.00 MPa", 0.95, 0.75), ceiling=2.5)
    assert message.code == "needs_alike"


def test_any_of_tells_the_easier_way() -> None:
    """Smallest >= 1.00 needs 1.00 from the unknown pull, mean >= 1.50 needs 2.10: the lower level is told."""
    message, others = told(rows_of(1.20, 1.30, 1.40, ">0.5"), ("any", MEAN, SMALLEST))
    assert message.facts["level"] == "1.00 MPa"
    assert (others.code, others.facts["ways"]) == ("needs_one_way", 2)


def test_a_way_that_is_closed_is_not_told() -> None:
    """Any of: smallest fails already, so that only the mean is left."""
    (message,) = told(rows_of(0.90, 1.30, 1.70, ">0.5"), ("any", MEAN, SMALLEST))
    assert message.facts["level"] == "2.10 MPa"


def test_the_share_of_the_unknown_area() -> None:
    """A >= 60 % over A 60 Y 40 and A 40 B 60: 120 - 100 = 20 of 40 covered: 50 %."""
    rows = [row(2.0, failure={"A": 60.0, "Y": 40.0}), row(2.0, failure={"A": 40.0, "B": 60.0})]
    (message,) = told(rows, ("share", ("A",), "at least", 60))
    assert (message.code, message.facts["part"], message.facts["unknown"]) == ("needs_area", "50.0 %", "20.0 %")
    (message,) = told(rows, ("share", ("A",), "at most", 55))
    assert (message.code, message.facts["part"]) == ("needs_area_at_most", "25.0 %")  # 110 - 100 = 10 of 40
    (message,) = told(rows, ("pulls", ("A",), 70, "at least", 50))
    assert (message.code, message.facts["number"], message.facts["open"]) == ("needs_pulls", 1, 1)


def test_every_level_told_is_right() -> None:
    """200 random undetermined zones: with the unknown values at the level told the zone conforms, further out not."""
    rng = np.random.default_rng(17)
    seen = 0
    while seen < 200:
        n = int(rng.integers(2, 6))
        rows, required = random_rows(rng, n, int(rng.integers(1, 4)))
        kinds = [str(rng.choice(["mean", "smallest", "tolerance", "en sd"])) for _ in range(2)]
        requirement = ("all", *(random_criterion(rng, kind, "pull-off", n) for kind in kinds))
        spec = specification(requirement, required=required)
        values = cases_of(rows, spec)
        found = decide(spec, values)
        if found.outcome.tolist() != [Outcome.UNDETERMINED]:
            continue
        seen += 1
        message = needs(spec, values, found)["Z"][0]
        if message.code == "needs_alike":
            assert values.low["pull-off"].size > 1
            continue
        low, high = values.low["pull-off"], values.high["pull-off"]

        def at(level: float, low: np.ndarray = low, high: np.ndarray = high, spec: Specification = spec) -> int:
            x = np.minimum(np.maximum(level, low), high)
            return int(decide(spec, cases_of([row(float(v)) for v in x], spec)).outcome[0])

        levels = {
            name: float(str(message.facts[name]).split()[0]) for name in ("level", "last") if name in message.facts
        }
        if "level" in levels and ("last" not in levels or levels["level"] <= levels["last"]):
            assert at(levels["level"]) == Outcome.CONFORMS
        if "level" in levels:
            assert at(levels["level"] - 0.11) == Outcome.DOES_NOT_CONFORM
        if "last" in levels:
            assert at(levels["last"] + 0.11) == Outcome.DOES_NOT_CONFORM


def hanging(rows: list[Row], requirement: tuple[object, ...], **terms: object) -> list[tuple[str, object, object]]:
    """What the only zone hangs on: (code, pull or pulls or method, outcome)."""
    spec = specification(requirement, **terms)  # type: ignore[arg-type]
    values = cases_of(rows, spec)
    found = hangs_on(spec, values, decide(spec, values), pulls_of(rows)).get("Z", ())
    name = {"hangs_on_one_pull": "pull", "hangs_on_flagged": "pulls", "hangs_on_rounding": "method"}
    return [(m.code, m.facts[name[m.code]], m.facts["outcome"]) for m in found]


def test_a_decision_that_hangs_on_one_pull_names_it() -> None:
    """Smallest 0.90 is pull 3 alone: without it the zone conforms; the required number goes down with it."""
    assert hanging(rows_of(1.2, 1.3, 0.9, 1.4, 1.5), SMALLEST, required=5) == [("hangs_on_one_pull", "P3", "conforms")]
    assert hanging(rows_of(1.2, 1.3, 1.1, 1.4, 1.5), SMALLEST, required=5) == []
    assert hanging(rows_of(1.2, 0.8, 0.9, 1.4, 1.5), SMALLEST, required=5) == []


def test_a_missing_pull_stays_missing_when_another_is_left_out() -> None:
    """Four of five made: undetermined with and without any one of them; it hangs on none."""
    assert hanging(rows_of(1.2, 1.3, 1.1, 1.4), SMALLEST, required=5) == []


FOUR_OF_SIX = ("z of n", "pull-off", "1.00 MPa", 4, 6)


def test_the_planned_number_goes_down_with_the_pull_left_out() -> None:
    """Four of six at 1.00: without a passing one of exactly four, 3 of 5 are short of 4; without a failing one, 4 of 5
    are not; with five passing no single pull matters. The number planned is no reason of its own.
    """
    just = rows_of(1.2, 1.3, 1.1, 1.4, 0.8, 0.9)
    assert hanging(just, FOUR_OF_SIX) == [("hangs_on_one_pull", f"P{i}", "does not conform") for i in (1, 2, 3, 4)]
    assert hanging(rows_of(1.2, 1.3, 1.1, 1.4, 1.5, 0.9), FOUR_OF_SIX) == []
    assert hanging(rows_of(1.2, 1.3, 1.1, 1.4, 1.5, 1.6), ("z of n", "pull-off", "1.00 MPa", 6, 6)) == []


def test_flagged_pulls_are_left_out_together() -> None:
    """Two flagged pulls of 0.9: without both the zone conforms, without either alone it does not."""
    rows = rows_of(1.2, 1.3, 0.9, 0.9, 1.5)
    for i in (2, 3):
        rows[i]["flagged"] = True
    assert hanging(rows, SMALLEST) == [("hangs_on_flagged", ("P3", "P4"), "conforms")]


def test_a_decision_that_hangs_on_rounding_says_so() -> None:
    """Mean 1.45 against "1.5 MPa": below unrounded, 1.5 when rounded with ties up; 1.38 is below either way."""
    assert hanging(rows_of(1.45, 1.45), ("mean", "pull-off", "1.5 MPa")) == [
        ("hangs_on_rounding", "rounded", "conforms")
    ]
    rounded = 'method = "rounded"\nties = "up"'
    assert hanging(rows_of(1.45, 1.45), ("mean", "pull-off", "1.5 MPa"), rounding=rounded) == [
        ("hangs_on_rounding", "unrounded", "does not conform")
    ]
    assert hanging(rows_of(1.38, 1.38), ("mean", "pull-off", "1.5 MPa")) == []


def test_zones_are_varied_at_once_and_told_apart() -> None:
    """Two zones in mixed order: only the one that hangs on a pull is named, with its own pull."""
    rows = [row(v, zone=z) for v, z in ((1.2, "a"), (1.2, "b"), (0.9, "b"), (1.3, "a"), (1.4, "b"), (1.1, "a"))]
    spec = specification(SMALLEST)
    values = cases_of(rows, spec)
    found = hangs_on(spec, values, decide(spec, values), pulls_of(rows))
    assert {zone: [m.facts["pull"] for m in messages] for zone, messages in found.items()} == {"b": ["P3"]}


SAID = [
    (MEAN, (1.38, 1.38), "The mean, 1.38 MPa, is below the 1.50 MPa asked for."),
    (MEAN, (1.60, 1.62), "The mean, 1.61 MPa, reaches the 1.50 MPa asked for."),
    (MEAN, (1.11, 1.15, 1.72, 1.76, 1.76), "The mean, 1.50 MPa, is on the limit of 1.50 MPa, and equal meets."),
    (MEAN, (1.496, 1.500), "The mean, 1.498 MPa, is below the 1.50 MPa asked for."),
    (
        MEAN,
        (1.2, ">1.0"),
        (
            "The mean is 1.10 MPa or more, with no upper end, and 1.50 MPa is asked for: "
            "the unknown values decide (1 of 2)."
        ),
    ),
    (
        SMALLEST,
        (1.2, 0.9, ">0.5"),
        (
            "Whatever the unknown values are (1 of 3), the smallest value is 0.90 MPa at most; "
            "1.00 MPa is asked for."
        ),
    ),
    (
        TOLERANCE,
        (1.2, 1.2, ">1.2"),
        (
            "The characteristic value is 1.20 MPa at most and has no lower end, since a very high value widens the "
            "spread; 1.00 MPa is asked for: the unknown values decide (1 of 3)."
        ),
    ),
    (
        TOLERANCE,
        (1.2,),
        (
            "The characteristic value can't be formed from a single value: a standard deviation needs two. "
            "1.00 MPa is asked for."
        ),
    ),
    (
        ("z of n", "pull-off", "1.00 MPa", 3, 4),
        (1.2, 1.1, 0.9, 0.8),
        "Only 2 of 4 values reach 1.00 MPa; 3 of 4 are asked for.",
    ),
    (
        ("z of n", "pull-off", "1.00 MPa", 3, 4),
        (1.2, 1.1, 0.9, ">0.8"),
        "From 2 to 3 values reach 1.00 MPa, and 3 of 4 are asked for: the unknown values decide.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("requirement", "values", "sentence"), SAID)
def test_the_reason_is_a_plain_sentence(
    requirement: tuple[object, ...], values: tuple[float | str, ...], sentence: str
) -> None:
    """The zone's reason, as a reader sees it."""
    spec = specification(requirement)
    assert say(zone_reason(decide(spec, cases_of(rows_of(*values), spec))["Z"])) == sentence


def test_every_code_has_a_sentence() -> None:
    """Each kind in each state, from below and above, and the codes of needs and of what a decision hangs on."""
    codes = [f"{kind}_{state}" for kind in KINDS for state in STATES]
    codes += [f"{kind}_upper_{state}" for kind in ("share", "pulls") for state in STATES]
    assert [code for code in codes if code not in SENTENCES] == []


@pytest.mark.parametrize("seed", range(4))
def test_every_message_can_be_said(seed: int) -> None:
    """Random zones of every kind: the facts fill each sentence, and none reads "nan", "inf" or "None"."""
    rng = np.random.default_rng(seed)
    codes = ("A", "A/B", "Y")
    for kind, _ in itertools.product(("mean", "smallest", "z of n", "tolerance", "en sd", "share", "pulls"), range(12)):
        n = int(rng.integers(1, 5))
        rows, required = random_rows(rng, n, int(rng.integers(0, 4)))
        for r in rows:
            r["failure"] = {codes[int(rng.integers(0, 3))]: 100.0} if rng.random() < 0.7 else None
        side = str(rng.choice(["at least", "at most"]))
        requirement: tuple[object, ...]
        if kind == "share":
            requirement = ("share", ("A",), side, 50)
        elif kind == "pulls":
            requirement = ("pulls", ("A", "A/B"), 50, side, 50)
        else:
            requirement = random_criterion(rng, kind, "pull-off", n)
        spec = specification(requirement, required=required)
        values = cases_of(rows, spec)
        found = decide(spec, values)
        messages = [criterion_reason(found["Z"].criteria[0], found["Z"]), zone_reason(found["Z"])]
        messages += needs(spec, values, found).get("Z", ())
        messages += hangs_on(spec, values, found, pulls_of(rows)).get("Z", ())
        for message in messages:
            sentence = say(message)
            assert not any(word in sentence.split() for word in ("nan", "inf", "-inf", "None")), sentence
            fields = {name for _, name, _, _ in string.Formatter().parse(SENTENCES[message.code]) if name}
            assert fields - {"elsewhere"} <= set(message.facts), message  # given where nothing is unknown here


def test_a_value_that_can_t_be_formed_is_no_matter_of_levels() -> None:
    """Three exact values, and the method needs 59: no level of unknown values is told, of which there are none."""
    messages = told(rows_of(1.2, 1.3, 1.4), ("order", "pull-off", "1.00 MPa", 0.95, 0.95))
    assert [message.code for message in messages] == ["needs_more_values"]
