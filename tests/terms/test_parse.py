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
        "require[2].all_of[2].mean_at_least": "spec_unknown_unit",
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
