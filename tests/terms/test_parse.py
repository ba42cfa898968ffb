"""The specification's parser: what it understands, and that it reports every problem of a file at once."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.statistics import CONVENTIONS
from adhesion_stats.terms.checker import parse_limit
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CharacteristicAtLeast,
    CountAtLeast,
    FailureShare,
    MeanAtLeast,
    PullsWithFailure,
    SmallestAtLeast,
    criteria,
)
from adhesion_stats.terms.parse import DIXON_CONVENTIONS, parse_specification
from adhesion_stats.terms.specification import Specification

HEAD = '[contract]\ntitle = "Deck"\n'


def parse(text: str) -> Specification:
    """Parse a specification with a title before it."""
    return parse_specification((HEAD + text).encode(), file="terms.toml")


def problems(text: str) -> dict[str, str]:
    """Parse a wrong specification; return {path: code}."""
    with pytest.raises(InvalidSpecification) as caught:
        parse(text)
    return {str(m.facts.get("path", "")): m.code for m in caught.value.messages}


def test_every_kind_of_criterion_is_read() -> None:
    """Each key that names a kind gives that kind, nested as written, with keys in order."""
    specification = parse(
        """
[[require]]
all_of = [
  { mean_at_least = "1.50 MPa", source = "clause 4" },
  { smallest_at_least = "75 % of 2.00 MPa" },
  { any_of = [
    { characteristic_at_least = "1.0 MPa", method = "tolerance", content = 0.95, confidence = 0.75, question = "A/B" },
    { pulls_at_or_above = "0.30 MPa", at_least = 8, of = 12 },
  ] },
  { failure_share = ["A"], at_least = "60 %" },
  { pulls_with_failure = ["A", "B"], from = "50 %", at_most = "20 %" },
]
"""
    )
    requirement = specification.rules[0].requirement
    assert isinstance(requirement, AllOf)
    assert isinstance(requirement.parts[2], AnyOf)
    found = list(criteria(requirement))
    kinds = [MeanAtLeast, SmallestAtLeast, CharacteristicAtLeast, CountAtLeast, FailureShare, PullsWithFailure]
    assert [type(c) for c in found] == kinds
    assert [c.key for c in found] == ["1.1", "1.2", "1.3.1", "1.3.2", "1.4", "1.5"]
    assert specification.unit == "MPa"


@pytest.mark.parametrize(
    ("text", "value", "places", "mpa"),
    [
        ("1.50 MPa", 1.5, 2, 1.5),
        ("1.5 N/mm²", 1.5, 1, 1.5),
        ("200 psi", 200.0, 0, 1.3789514586336724),  # 200 x 6894.757293168362 Pa (NIST SP 811 appendix B.8)
        ("75 % of 2.00 MPa", 1.5, 2, 1.5),
        ("75 % of 1.5 MPa", 1.125, 3, 1.125),
    ],
)
def test_a_limit_keeps_its_text_and_places(text: str, value: float, places: int, mpa: float) -> None:
    """A limit is a text with a number, the places it was written to, and its value in MPa."""
    limit = parse_limit(text)
    assert (limit.text, limit.value, limit.places) == (text, value, places)
    assert limit.mpa == pytest.approx(mpa, rel=1e-15)


def test_every_problem_is_reported_at_once_with_its_path() -> None:
    """A file with many faults gives one message for each of them."""
    found = problems(
        """
[puls]
required = 5
[glue]
from = "150 %"
[rounding]
method = "rounded"
[[require]]
mean_at_least = 1.5
[[require]]
all_of = [ { mean_at_last = "1.5 MPa" }, { mean_at_least = "1,5 MPa" }, { smallest_at_least = "1.5 kg" } ]
"""
    )
    assert found == {
        "puls": "spec_unknown_key_near",
        "glue.from": "spec_wrong_type",
        "rounding.ties": "spec_missing_key",
        "require[1].mean_at_least": "spec_wrong_type",
        "require[2].all_of[1].mean_at_last": "spec_unknown_key_near",
        "require[2].all_of[1]": "spec_one_kind",
        "require[2].all_of[2].mean_at_least": "spec_wrong_type",
        "require[2].all_of[3].smallest_at_least": "spec_unknown_unit",
    }


def test_a_typo_names_the_nearest_key() -> None:
    """The message for a misspelt key offers the one that was probably meant."""
    with pytest.raises(InvalidSpecification, match='did you mean "required"'):
        parse('[pulls]\nrequierd = 5\n[[require]]\nmean_at_least = "1.5 MPa"\n')


def test_a_specification_that_asks_for_nothing_is_refused() -> None:
    """Without a requirement there is nothing to decide."""
    assert problems("") == {"require": "spec_no_requirement"}


def test_z_of_n_and_a_contradicting_number_of_pulls_are_refused() -> None:
    """A plan of 12 pulls and a required number of 6 can't both hold."""
    text = '[pulls]\nrequired = 6\n[[require]]\npulls_at_or_above = "0.30 MPa"\nat_least = 8\nof = 12\n'
    assert problems(text) == {"require[1]": "spec_two_numbers"}


def test_recording_to_a_step_needs_its_tie_rule() -> None:
    """1.485 recorded to 0.01 is 1.48 by one rule and 1.49 by the other: the contract must say which."""
    text = '[rounding]\nrecord_to = "0.01 MPa"\n[[require]]\nmean_at_least = "1.49 MPa"\n'
    assert problems(text) == {"rounding.ties": "spec_missing_key"}


def test_a_ceiling_below_a_limit_is_refused() -> None:
    """No unknown value could ever reach the limit."""
    text = '[pulls]\nceiling = "1.0 MPa"\n[[require]]\nmean_at_least = "1.50 MPa"\n'
    assert problems(text) == {"require[1]": "spec_ceiling_too_low"}


def test_not_toml_is_said_with_the_line() -> None:
    """A file that is no TOML is refused with the place that the TOML parser names."""
    with pytest.raises(InvalidSpecification, match="line 2"):
        parse_specification(b'[contract]\ntitle = "Deck\n', file="terms.toml")


def test_rules_for_zones_add_up() -> None:
    """A zone answers to every rule that names it or that names no zone."""
    specification = parse(
        """
[[require]]
mean_at_least = "1.50 MPa"
[[require]]
zones = ["North"]
required = 6
smallest_at_least = "1.00 MPa"
"""
    )
    north = specification.requirement_for("North")
    assert north is not None
    assert [c.key for c in criteria(north)] == ["1", "2"]
    assert specification.required_for("North") == 6
    south = specification.requirement_for("South")
    assert isinstance(south, MeanAtLeast)
    assert specification.required_for("South") is None


def test_dixon_conventions_are_those_of_the_statistics() -> None:
    """The words that a specification may use are the conventions that exist."""
    assert set(DIXON_CONVENTIONS) == set(CONVENTIONS)


def test_the_digest_is_that_of_the_bytes() -> None:
    """A record names the very file that was read."""
    a = parse('[[require]]\nmean_at_least = "1.5 MPa"\n')
    b = parse('[[require]]\nmean_at_least = "1.5 MPa"\n# remark\n')
    assert a.digest != b.digest
    assert len(a.digest) == 64


@pytest.mark.parametrize("zones", ["[]", '[""]', '["  "]', '["Deck 1", ""]'])
def test_an_empty_list_or_name_of_zones_is_refused(zones: str) -> None:
    """A rule for no zone must not turn into a rule for every zone, and a zone has a name."""
    path = "require[1].zones" if zones == "[]" else f"require[1].zones[{1 + (',' in zones)}]"
    assert problems(f'[[require]]\nzones = {zones}\nmean_at_least = "1.5 MPa"\n') == {path: "spec_empty"}


def test_blanks_around_a_zone_are_no_part_of_its_name() -> None:
    """As in the readings, where they are stripped too; else the rule would be about a zone that has no pulls."""
    assert parse('[[require]]\nzones = [" Deck 1 "]\nmean_at_least = "1.5 MPa"\n').rules[0].zones == ("Deck 1",)


@pytest.mark.parametrize("text", ["1,5 MPa", "1.5.0 MPa", "1e3 MPa", "1 500 kPa"])
def test_a_number_in_another_spelling_is_not_taken_for_a_unit(text: str) -> None:
    """What is wrong is the number, and the message shows how to write it."""
    with pytest.raises(InvalidSpecification) as caught:
        parse(f'[[require]]\nmean_at_least = "{text}"\n')
    assert [m.code for m in caught.value.messages] == ["spec_wrong_type"]


def test_a_limit_without_quotes_is_told_how_to_mend_it() -> None:
    """TOML's own words say where; ours say what to do."""
    with pytest.raises(InvalidSpecification) as caught:
        parse("[[require]]\nmean_at_least = 1.50 MPa\n")
    assert 'in quotes: "1.50 MPa"' in str(caught.value)


def test_problems_of_the_readings_layout_come_with_all_others() -> None:
    """One run tells everything that is wrong with the file."""
    with pytest.raises(InvalidSpecification) as caught:
        parse('[[require]]\nmean_at_least = "1.5"\n[readings]\nno_such_key = 1\n')
    assert sorted(m.code for m in caught.value.messages) == ["layout_unknown_key", "spec_wrong_type"]


def test_a_limit_on_a_share_keeps_its_last_place() -> None:
    """A limit of "60.0 %" is written to a tenth, which the rounding method goes by; "60 %" to a whole percent."""
    for text, places in (("60 %", 0), ("60.0 %", 1)):
        share = parse(f'[[require]]\nfailure_share = ["A"]\nat_least = "{text}"\n').rules[0].requirement
        assert isinstance(share, FailureShare)
        assert share.places == places
    text = '[[require]]\npulls_with_failure = ["A"]\nfrom = "50 %"\nat_most = "33.3 %"\n'
    pulls = parse(text).rules[0].requirement
    assert isinstance(pulls, PullsWithFailure)
    assert pulls.places == 1
