"""The risk of a specification as facts, as text and by the command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from adhesion_stats.errors import WrongUsage
from adhesion_stats.planning.risk import curve_of, risk_facts
from adhesion_stats.planning.risk_asked import RiskAsked, asked_from
from adhesion_stats.reporting.risk_text import risk_json, risk_text
from adhesion_stats.reporting.terminal import WIDTH
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from tests.end_to_end.helpers import REPAIR, command

BOTH = """
[contract]
title = "T"
[pulls]
required = 10
[[require]]
all_of = [{ mean_at_least = "1.50 MPa" }, { smallest_at_least = "1.00 MPa" }]
"""
COUNT = """
[contract]
title = "T"
[[require]]
pulls_at_or_above = "0.30 MPa"
at_least = 8
of = 12
"""
BY_ZONE = """
[contract]
title = "T"
[pulls]
required = 5
[[require]]
mean_at_least = "1.50 MPa"
[[require]]
zones = ["West \\u001b[2J"]
failure_share = ["A"]
at_least = "50 %"
[[require]]
zones = ["East", "North"]
smallest_at_least = "1.00 MPa"
question = "A/B"
"""


def spec(text: str) -> Specification:
    """A specification from its text."""
    return parse_specification(text.encode(), file="spec.toml")


def facts_of(text: str, other: str | None = None, **asked: Any) -> dict[str, Any]:
    """Facts of a specification's text."""
    return risk_facts(spec(text), RiskAsked(**asked), against=None if other is None else spec(other))


def options(**given: str) -> dict[str, object]:
    """Options as the command line gives them."""
    return {"distribution": "normal", "seed": "1", **given}


def test_a_named_good_zone_and_its_contract() -> None:
    """Mean 1.5 and smallest 1.0 with ten pulls: at 1.80 MPa and 20 % one zone conforms 87.47 %, forty 0.47 %."""
    good = asked_from(options(good="1.80 MPa", zones="40", cov="20 %"))
    part = risk_facts(spec(BOTH), good, against=None)["parts"][0]  # type: ignore[index]
    assert part["pulls"] == 10
    assert part["how"] == "mean and values"
    assert part["good"]["conforms"] == pytest.approx(0.8747, abs=0.00005)
    assert part["good"]["all_zones_conform"] == pytest.approx(0.8747**40, rel=0.005)
    assert part["good"]["does_not_conform"] == pytest.approx(1 - 0.8747, abs=0.00005)


def test_more_pulls_make_a_fixed_floor_stricter_and_the_text_says_so() -> None:
    """The chance of the same zone peaks and falls; the peak is named."""
    facts = facts_of(BOTH, cov=0.25, cov_given=True)
    rows = facts["parts"][0]["by_pulls"]["rows"]
    assert [row["pulls"] for row in rows] == [3, 5, 6, 10, 12]
    assert rows[-1]["conforms"] < rows[0]["conforms"]
    assert "gets stricter with every one more" in " ".join(risk_text(facts).split())


def test_points_of_a_count() -> None:
    """Eight of twelve: a zone of which the consumer's point's share lies below conforms once in ten."""
    part = facts_of(COUNT)["parts"][0]
    assert part["pulls"] == 12
    consumer = next(p for p in part["accepted_at"] if p["probability"] == 0.10)
    assert consumer["share_below"] == pytest.approx(1 - 0.4447, abs=0.005)  # I_p(8, 5) = 0.10 at p = 0.445
    assert part["by_pulls"] is None
    assert part["divided"] is None


def test_zones_that_are_asked_the_same_are_one_part() -> None:
    """Zones without a rule of their own, one that adds a failure share, two that add the same criterion."""
    parts = facts_of(BY_ZONE)["parts"]
    assert [part["zones"] for part in parts] == [[""], ["West \x1b[2J"], ["East", "North"]]
    assert parts[1]["left_out"] == ["share"]
    text = risk_text(facts_of(BY_ZONE))
    assert "\x1b" not in text
    assert "smallest value at least 1.00 MPa (A/B)" in text
    assert all(len(line) <= WIDTH for line in text.splitlines())


def test_a_second_try_and_a_border_drawn_later_lift_the_chance_of_a_bad_zone() -> None:
    """Once in ten becomes 19 %; the choice of a border lifts it too."""
    part = facts_of(BOTH, pulls=6)["parts"][0]
    assert part["again"]["once"] == pytest.approx(0.10, abs=0.0001)
    assert part["again"]["replacing"] == pytest.approx(0.19, abs=0.0002)
    assert part["divided"]["a_part_conforms"] > 0.15


def test_two_specifications_side_by_side() -> None:
    """Both on the same true means, the second with its own number of pulls."""
    facts = facts_of(BOTH, COUNT, zone="Z")
    part = facts["parts"][0]
    assert [row["mean_mpa"] for row in part["rows"]] == [row["mean_mpa"] for row in part["against"]["rows"]]
    assert (part["pulls"], part["against"]["pulls"]) == (10, 12)
    assert "conforms, other" in risk_text(facts)


def test_probabilities_of_every_row_sum_to_one_and_never_read_as_certain() -> None:
    """With glue failures and lost pulls; a probability that is not 0 or 1 is not shown as such."""
    facts = facts_of(BOTH, glue_share=0.1, lost_share=0.05)
    for row in facts["parts"][0]["rows"]:
        assert row["conforms"] + row["does_not_conform"] + row["undetermined"] == pytest.approx(1.0)
    text = risk_text(facts)
    assert "100.0 %" not in text
    assert " 0.0 %" not in text
    assert "10 % of the pulls break in the glue" in text


def test_pulls_that_broke_in_the_glue_and_are_tested_again_change_nothing() -> None:
    """Under "discard" the share has no effect, and the text says so."""
    again = BOTH + '[glue]\nfrom = "50 %"\nthen = "discard"\n'
    facts = facts_of(again, glue_share=0.3)
    assert facts["parts"][0]["rows"][0]["undetermined"] == 0.0
    assert "tested again" in risk_text(facts)


def test_json_is_the_facts() -> None:
    """Nothing is lost, numbers unrounded."""
    facts = facts_of(BOTH)
    assert json.loads(risk_json(facts)) == facts


def test_the_same_seed_gives_the_same_text() -> None:
    """Twice the same, also where zones are simulated."""
    simulated = BOTH.replace(
        'mean_at_least = "1.50 MPa"', 'characteristic_at_least = "0.80 MPa", method = "en1990-unknown"'
    )
    first = risk_text(facts_of(simulated))
    assert first == risk_text(facts_of(simulated))
    assert "10000 simulated zones" in first


def test_a_curve_for_a_figure() -> None:
    """Two hundred means, ascending."""
    found = curve_of(spec(BOTH), RiskAsked())
    assert len(found) == 200
    assert (found.mean_mpa[1:] > found.mean_mpa[:-1]).all()


def test_all_that_is_wrong_with_the_options_is_said_at_once() -> None:
    """Each option with what was expected and what came."""
    with pytest.raises(WrongUsage) as caught:
        asked_from(
            options(
                cov="20", pulls="0", zones="many", good="2.0", bad="1.2 stone", broke="A 70%", distribution="flat",
                glue_share="120%", seed="-1",
            )
        )  # fmt: skip
    said = str(caught.value).splitlines()
    assert len(said) == 9
    for name in ("cov", "pulls", "zones", "good", "bad", "broke", "distribution", "glue-share", "seed"):
        assert any(line.startswith(f"--{name}") for line in said)
    with pytest.raises(WrongUsage, match="must lie above"):
        asked_from(options(good="1.2 MPa", bad="1.2 MPa"))
    with pytest.raises(WrongUsage, match="more than all pulls"):
        asked_from(options(glue_share="60%", lost_share="60%"))


def test_failures_are_read_with_their_shares() -> None:
    """Codes as they are written, shares that sum to 100 %."""
    assert asked_from(options(broke="A 70%, A/B 30 %")).broke == (("A", 0.7), ("A/B", 0.3))


def test_what_a_specification_leaves_open_is_asked_for() -> None:
    """No number of pulls; a zone of which nothing is asked."""
    with pytest.raises(WrongUsage, match="--pulls"):
        facts_of(BOTH.replace("required = 10", ""))
    only_east = BOTH.replace("[[require]]", '[[require]]\nzones = ["East"]')
    with pytest.raises(WrongUsage, match='nothing is asked of zone "West"'):
        facts_of(only_east, zone="West")


def test_the_command(tmp_path: Path) -> None:
    """It prints the table, and one JSON object with --json; wrong options end with 2."""
    demo = REPAIR / "specification.toml"
    ran = command("risk", demo, "--zone", "Deck", "--cov", "20%", "--zones", "40", folder=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "Consumer's point" in ran.stdout
    assert "all 40 zones" in ran.stdout
    ran = command("risk", demo, "--json", folder=tmp_path)
    assert json.loads(ran.stdout)["parts"][0]["pulls"] == 5
    ran = command("risk", demo, "--cov", "twenty", folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "--cov expects a share" in ran.stderr


MEASURED = BOTH.replace("required = 10", 'count_by = "measurement"\npulls_per_measurement = 3\nrequired = 4')


def test_a_contract_that_counts_by_measurement() -> None:
    """Four measurements are twelve pulls; the split that nobody gave is said, with what the other ends would ask."""
    part = facts_of(MEASURED)["parts"][0]
    assert (part["values"], part["pulls"]) == (4, 12)
    needed = next(p["mean_mpa"] for p in part["accepted_at"] if p["probability"] == 0.95)
    assert part["split"]["within"] < needed < part["split"]["between"]
    text = " ".join(risk_text(facts_of(MEASURED)).split())
    assert "4 measurements of 3 pulls (12 pulls)" in text
    assert "50 % lie between measurements and 50 % within them (no --between given" in text
    given = " ".join(risk_text(facts_of(MEASURED, between=0.2)).split())
    assert "20 % lie between" in given
    assert "no --between given" not in given


def test_pulls_that_make_no_whole_measurements_and_a_split_of_nothing_are_refused() -> None:
    """Ten pulls are not three to a measurement; a contract that counts by pull has nothing to split."""
    with pytest.raises(WrongUsage, match="no whole number of measurements"):
        facts_of(MEASURED, pulls=10)
    assert facts_of(MEASURED, pulls=9)["parts"][0]["values"] == 3
    with pytest.raises(WrongUsage, match="leave --between out"):
        facts_of(BOTH, between=0.5)
    with pytest.raises(WrongUsage, match="pulls_per_measurement"):
        facts_of(MEASURED.replace("pulls_per_measurement = 3\n", ""))


POOL = """
[contract]
title = "T"
[pulls]
required = 5
[[require]]
zones = ["a", "b", "c", "d"]
characteristic_at_least = "1.0 MPa"
method = "pooled"
content = 0.95
confidence = 0.75
"""
STAGED = """
[contract]
title = "T"
[[require]]
stage = "trial"
required = 3
mean_at_least = "1.30 MPa"
[[require]]
stage = "production"
required = 5
all_of = [{ mean_at_least = "1.50 MPa" }, { any_of = [{ smallest_at_least = "1.00 MPa" },
  { pulls_at_or_above = "1.2 MPa", at_least = 4, of = 5 }] }]
[[ladder]]
do = "revise and repeat"
pulls = 3
[[ladder]]
do = "refer to the designer"
"""


def said(text: str, **asked: Any) -> str:
    """The text of a specification's risk, on one line."""
    return " ".join(risk_text(facts_of(text, **asked)).split())


def test_a_pooled_spread_makes_the_contract_the_unit() -> None:
    """Four zones: one and all of them in every row, no second try of one; the words say why."""
    part = facts_of(POOL)["parts"][0]
    assert part["pool"] == {"zones": 4, "others": 0, "degrees_of_freedom": 16}
    assert part["how"] == "mean less pooled sd"
    for row in part["rows"][2:]:
        assert row["conforms"] ** 4 < row["all_zones_conform"] < row["conforms"]
    assert (part["again"], part["divided"], part["ladder"]) == (None, None, None)
    assert "spread is pooled over 4 zones (16 degrees of freedom)" in said(POOL)
    climbing = POOL + '[[ladder]]\ndo = "revise and repeat"\n'
    assert "The ladder is not told" in said(climbing)


def test_each_stage_is_a_part_with_its_ladder_beside_its_round() -> None:
    """The trial of three pulls and production of five: a second round of three, then the designer."""
    facts = facts_of(STAGED)
    assert [(part["stage"], part["pulls"]) for part in facts["parts"]] == [("trial", 3), ("production", 5)]
    trial = facts["parts"][0]
    for once, over in zip(trial["rows"], trial["ladder"]["rows"], strict=True):
        assert over["conforms"] == pytest.approx(1 - (1 - once["conforms"]) ** 2)  # three pulls twice
        assert over["referred"] == pytest.approx((1 - once["conforms"]) ** 2)
        assert over["pulls"] == pytest.approx(3 + 3 * (1 - once["conforms"]))
    assert facts["stages"]["all"] == pytest.approx(0.95**2)
    text = said(STAGED)
    assert "a zone that does not conform is revised and tested again (3 pulls)" in text
    assert "after the ladder to the designer" in text
    assert "all of them do 90.2 % of the time" in text
    assert "either smallest value at least 1.00 MPa, or at least 4 of 5 values at or above 1.2 MPa" in text


def test_where_two_rules_differ_most() -> None:
    """A mean alone against mean and smallest of as many pulls: the mean passes more and never less."""
    mean = BOTH.replace(', { smallest_at_least = "1.00 MPa" }', "")
    part = facts_of(BOTH, mean)["parts"][0]
    (difference,) = part["differences"]
    assert difference["more"] == "second"
    gaps = [b - a for a, b in zip(part["curve"]["conforms"], part["against"]["curve"]["conforms"], strict=True)]
    assert difference["second"] - difference["first"] == pytest.approx(max(gaps))
    assert part["curve"]["mean_mpa"] == part["against"]["curve"]["mean_mpa"]
    text = " ".join(risk_text(facts_of(BOTH, mean)).split())
    assert "Against spec.toml: 10 pulls; mean at least 1.50 MPa." in text
    assert "The other rule passes more at a mean of" in text
    assert "Consumer's point (10 %): mean" in text
    same = " ".join(risk_text(facts_of(BOTH, BOTH)).split())
    assert "never differ by more than 1 %" in same
