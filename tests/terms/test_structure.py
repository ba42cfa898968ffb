"""Criteria that depend on what broke, as a specification writes them; every problem at once, each with its path."""

from __future__ import annotations

from adhesion_stats.terms.criteria import (
    AllOf,
    CountAtLeast,
    EachPullAtLeast,
    MeanAtLeast,
    PullsWithFailure,
    SmallestAtLeast,
    criteria,
    depends_on_failure,
    limits,
    view,
)
from adhesion_stats.terms.failed import Failed
from tests.terms.test_parse import parse, problems

ALL = """
[[require]]
all_of = [
  { smallest_at_least = "1.00 MPa", unless_failed = ["A"], from = "50 %", depth_from = "0.25 in" },
  { pulls_at_or_above = "0.30 MPa", at_least = 8, of = 12, unless_failed = ["A", "A/B"], from = "80 %" },
  { otherwise = "5.0 MPa", each_pull = [
                  { failed = ["A/B"], from = "60 %", at_least = "3.5 MPa" },
                  { failed = ["A"], from = "40 %", depth_from = "5 mm", at_least = "3.0 MPa" } ] },
  { mean_at_least = "1.5 MPa", only_failed = ["A/B"], from = "50 %" },
  { mean_at_least = "1.5 MPa", within_same_failure = true, from = "60 %", source = "clause 9" },
  { pulls_with_failure = ["A"], from = "50 %", depth_from = "6 mm", at_least = "50 %" },
]
"""


def test_what_depends_on_the_failure_is_read() -> None:
    """Each kind with its codes, share and depth; a quarter of an inch is 6.35 mm."""
    requirement = parse(ALL).rules[0].requirement
    assert isinstance(requirement, AllOf)
    smallest, count, each, only, alike, pulls = criteria(requirement)
    assert isinstance(smallest, SmallestAtLeast)
    assert smallest.unless == Failed(("A",), 50.0, 6.35, "0.25 in")
    assert isinstance(count, CountAtLeast)
    assert count.unless == Failed(("A", "A/B"), 80.0)
    assert isinstance(each, EachPullAtLeast)
    assert [case.failed.depth_mm for case in each.cases] == [None, 5.0]
    assert [limit.text for limit in limits(each)] == ["3.5 MPa", "3.0 MPa", "5.0 MPa"]
    assert isinstance(only, MeanAtLeast)
    assert (only.only, only.alike_from) == (Failed(("A/B",), 50.0), None)
    assert isinstance(alike, MeanAtLeast)
    assert (alike.only, alike.alike_from, alike.source) == (None, 60.0, "clause 9")
    assert isinstance(pulls, PullsWithFailure)
    assert pulls.failed == Failed(("A",), 50.0, 6.0, "6 mm")
    assert all(depends_on_failure(criterion) for criterion in criteria(requirement))


def test_two_ways_out_are_two_kinds_of_values() -> None:
    """Criteria with different ways out are decided on different values, with the same one on the same."""
    text = "[[require]]\nall_of = [{}]\n".format(
        ", ".join(
            f'{{ smallest_at_least = "{limit} MPa"{rest} }}'
            for limit, rest in (
                ("1.0", ', unless_failed = ["A"], from = "50 %"'),
                ("1.2", ', unless_failed = ["A"], from = "50 %"'),
                ("1.0", ', unless_failed = ["A"], from = "50 %", depth_from = "6 mm"'),
                ("1.0", ""),
            )
        )
    )
    views = [view(c) for c in criteria(parse(text).rules[0].requirement) if isinstance(c, SmallestAtLeast)]
    assert views[0] == views[1]
    assert len(set(views)) == 3
    assert views[3] == "pull-off"


def test_every_problem_is_said_with_its_path() -> None:
    """What belongs together and what does not, all at once."""
    text = """
[[require]]
all_of = [
  { smallest_at_least = "1.00 MPa", from = "50 %", depth_from = "6 mm" },
  { smallest_at_least = "1.00 MPa", unless_failed = ["A"] },
  { smallest_at_least = "1.00 MPa", unless_failed = ["A"], from = "50 %", depth_from = "6 MPa" },
  { each_pull = [ { failed = ["A"], at_least = "1 MPa" }, { from = "50 %", at_lest = "1 MPa" } ], otherwise = "x" },
  { each_pull = [] },
  { mean_at_least = "1.5 MPa", only_failed = ["A"], within_same_failure = true, from = "60 %" },
  { mean_at_least = "1.5 MPa", within_same_failure = true, from = "50 %" },
  { mean_at_least = "1.5 MPa", from = "60 %" },
  { pulls_with_failure = ["A"], from = "50 %", depth_from = "0 mm", at_least = "50 %" },
]
"""
    here = "require[1].all_of"
    assert problems(text) == {
        f"{here}[1].from": "spec_key_needs_another",
        f"{here}[1].depth_from": "spec_key_needs_another",
        f"{here}[2].from": "spec_missing_key",
        f"{here}[3].depth_from": "spec_unknown_unit",
        f"{here}[4].each_pull[1].from": "spec_missing_key",
        f"{here}[4].each_pull[2].at_lest": "spec_unknown_key_near",
        f"{here}[4].each_pull[2].failed": "spec_missing_key",
        f"{here}[4].each_pull[2].at_least": "spec_missing_key",
        f"{here}[4].otherwise": "spec_wrong_type",
        f"{here}[5].each_pull": "spec_empty",
        f"{here}[6]": "spec_two_selections",
        f"{here}[7].from": "spec_out_of_range",
        f"{here}[8].from": "spec_key_needs_another",
        f"{here}[9].depth_from": "spec_out_of_range",
    }


def test_limits_of_one_criterion_share_a_unit() -> None:
    """200 psi beside 1.5 MPa in one criterion: nobody should have to guess which one the digits belong to."""
    text = '[[require]]\neach_pull = [{ failed = ["A"], from = "60 %", at_least = "200 psi" }]\notherwise = "1.5 MPa"\n'
    assert problems(text) == {"require[1]": "spec_units_differ"}


def test_a_ceiling_below_a_limit_by_failure_is_refused() -> None:
    """No unknown value could ever reach the second limit."""
    text = (
        '[pulls]\nceiling = "3.2 MPa"\n[[require]]\n'
        'each_pull = [{ failed = ["A"], from = "60 %", at_least = "3.0 MPa" }]\notherwise = "5.0 MPa"\n'
    )
    assert problems(text) == {"require[1]": "spec_ceiling_too_low"}
