"""Stages, groups of zones, the retest ladder and counting by measurement, as a specification writes them."""

from __future__ import annotations

from adhesion_stats.terms.stages import LadderStep
from tests.terms.test_parse import parse, problems

RULE = '[[require]]\nmean_at_least = "1.50 MPa"\n'


def test_a_ladder_is_read_in_order() -> None:
    """Without "on" a step is for a round that does not conform."""
    ladder = '[[ladder]]\non = "undetermined"\ndo = "revise and repeat"\npulls = 3\n'
    ladder += '[[ladder]]\ndo = "refer to the designer"\n'
    assert parse(RULE + ladder).ladder == (
        LadderStep("undetermined", "revise and repeat", 3),
        LadderStep("does not conform", "refer to the designer"),
    )


def test_a_stage_belongs_to_its_rule() -> None:
    """A rule without one has the empty text."""
    rules = parse(RULE + 'stage = "bare substrate"\n' + RULE).rules
    assert [rule.stage for rule in rules] == ["bare substrate", ""]


def test_values_may_be_counted_by_measurement() -> None:
    """Three pulls make a measurement, and four measurements are required."""
    pulls = parse('[pulls]\ncount_by = "measurement"\npulls_per_measurement = 3\nrequired = 4\n' + RULE).pulls
    assert (pulls.count_by, pulls.pulls_per_measurement, pulls.required) == ("measurement", 3, 4)


def test_every_problem_is_said_with_its_path() -> None:
    """Stage, groups, ladder and measurements: all at once."""
    text = (
        "[pulls]\npulls_per_measurement = 3\n"
        '[[group]]\nname = "decks"\nzones = ["A"]\n[[group]]\nname = "decks"\nzones = ["B"]\n[[group]]\nzone = ["B"]\n'
        + RULE
        + 'stage = "bare"\ngroups = ["deck"]\n'
        '[[ladder]]\ndo = "refer to the designer"\npulls = 3\n[[ladder]]\non = "conforms"\n'
    )
    assert problems(text) == {
        "pulls.pulls_per_measurement": "spec_key_needs_another",
        "group[2].name": "spec_group_twice",
        "group[3].zone": "spec_unknown_key_near",
        "group[3].name": "spec_missing_key",
        "group[3].zones": "spec_missing_key",
        "require[1].stage": "spec_out_of_range",
        "require[1].groups": "spec_out_of_range",
        "ladder[1].pulls": "spec_key_needs_another",
        "ladder[1]": "spec_ladder_goes_on",
        "ladder[2].on": "spec_out_of_range",
        "ladder[2].do": "spec_missing_key",
    }
    assert problems(RULE + 'groups = ["deck"]\n') == {"require[1].groups": "spec_no_group"}
