"""``use`` in a specification: the rule is put in, holes are filled, the contract stands over the published number."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.terms import use
from adhesion_stats.terms.criteria import AllOf, CountAtLeast, MeanAtLeast, SmallestAtLeast, criteria
from adhesion_stats.terms.library import read_document
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from tests.terms.using import ASKED, HEAD

R4 = '[[require]]\nuse = "EN 1504-3:2005 R4"\n'


def parsed(text: str) -> Specification:
    """The specification of a text without head."""
    return parse_specification((HEAD + text).encode(), file="specification.toml")


def problems(text: str) -> dict[str, object]:
    """Code of each problem, with where it is."""
    with pytest.raises(InvalidSpecification) as refused:
        parsed(text)
    return {message.code: message.facts["path"] for message in refused.value.messages}


def test_a_rule_reads_as_if_it_were_written_out() -> None:
    """Mean, smallest value and number of pulls are those of the rule; the source is its name."""
    rule = parsed(R4 + 'zones = ["Deck"]\n').rules[0]
    mean, smallest = criteria(rule.requirement)
    assert isinstance(mean, MeanAtLeast)
    assert isinstance(smallest, SmallestAtLeast)
    assert (mean.limit.mpa, smallest.limit.mpa, rule.required, rule.zones) == (2.0, 1.5, 5, ("Deck",))
    assert mean.source == "EN 1504-3:2005 R4, table of performance requirements"


def test_the_contract_stands_over_a_published_number() -> None:
    """A key beside use replaces the value of that key where it stands in the rule, and this is kept."""
    terms = parsed(R4 + 'mean_at_least = "1.80 MPa"\nrequired = 6\n')
    assert next(criteria(terms.rules[0].requirement)).limit.mpa == 1.8  # type: ignore[union-attr]
    replaced = {one.path: (one.number.value, one.instead) for one in terms.uses[0].replaced}
    assert replaced == {
        "require[1].all_of[1].mean_at_least": ("2.0 MPa", "1.80 MPa"),
        "require[1].required": ("5", "6"),
    }


def test_a_replaced_number_needs_no_confirmation() -> None:
    """What the contract says itself is the contract's; the rest of the rule is still to be confirmed."""
    terms = parsed(R4 + 'mean_at_least = "1.80 MPa"\nrequired = 6\n')
    assert [one.path for one in terms.uses[0].to_confirm] == ["require[1].all_of[2].smallest_at_least"]


def test_a_confirmation_ends_the_reserve() -> None:
    """Who, when and where seen are kept as written."""
    terms = parsed(R4 + 'confirmed = "A. Author, 2026-05-04, copy of the standard, table 3"\n')
    assert terms.uses[0].to_confirm == ()
    assert terms.uses[0].confirmed == "A. Author, 2026-05-04, copy of the standard, table 3"


def test_verified_numbers_need_no_confirmation() -> None:
    """ACI 548.8M-19, 3.1, was seen."""
    assert parsed('[[require]]\nuse = "ACI 548.8M-19"\n').uses[0].to_confirm == ()


def test_a_rule_may_be_a_part_of_a_requirement() -> None:
    """Within all_of the rule's criteria are a part; its number of pulls is left to the whole."""
    terms = parsed(
        '[[require]]\nall_of = [{ use = "EN 1504-3:2005 R2" }, { failure_share = ["A"], at_least = "60 %" }]\n'
    )
    whole = terms.rules[0].requirement
    assert isinstance(whole, AllOf)
    assert [criterion.key for criterion in criteria(whole)] == ["1.1.1", "1.1.2", "1.2"]
    assert terms.rules[0].required is None
    assert terms.uses[0].numbers[1].path == "require[1].all_of[1].all_of[1].mean_at_least"


def test_z_of_n_stands_as_published() -> None:
    """NBR 13749:2013: 8 of 12 values at 0.30 MPa or more."""
    (count,) = criteria(parsed('[[require]]\nuse = "NBR 13749:2013 external"\n').rules[0].requirement)
    assert isinstance(count, CountAtLeast)
    assert (count.z, count.n, count.limit.mpa) == (8, 12, 0.3)


def test_a_method_brings_its_tables_and_the_contract_stands_over_them() -> None:
    """ISO 4624 asks for 20 mm, at most 1 MPa/s, 90 s at most; the contract's own rate stands over it."""
    terms = parsed(ASKED + '[method]\nuse = "ISO 4624:2016"\nrate = ["any", "0.5 MPa/s"]\n')
    method = terms.method
    assert (method.dolly_mm, method.time_to_failure_s, method.least_pulls) == (20.0, (-float("inf"), 90.0), 6)
    assert method.rate_mpa_per_s == (-float("inf"), 0.5)
    assert [one.number.key for one in terms.uses[0].replaced] == ["method.rate"]


def test_a_methods_glue_and_rounding_act() -> None:
    """ASTM C1583: a break between disk and epoxy is made again, strengths are recorded to 0.01 MPa."""
    holes = '[glue]\nfrom = "50 %"\n[rounding]\nties = "even"\n'
    terms = parsed(ASKED + '[method]\nuse = "ASTM C1583-20 (SI)"\n' + holes)
    assert (terms.glue.codes, terms.glue.then, terms.glue.from_percent) == (("Y/Z",), "discard", 50.0)
    assert terms.rounding.record_to is not None
    assert terms.rounding.record_to.text == "0.01 MPa"


def test_open_holes_are_said_all_at_once() -> None:
    """What the document leaves to the contract has to be written; each hole is named with an example."""
    assert problems(ASKED + '[method]\nuse = "ASTM C1583-20 (SI)"\n') == {"spec_use_hole": "rounding.ties"}
    with pytest.raises(InvalidSpecification) as refused:
        parsed('[[require]]\nuse = "ACI 440.2R-17 (psi)"\n')
    assert [message.facts["key"] for message in refused.value.messages] == ["from", "at_least"]


@pytest.mark.parametrize(
    ("text", "code", "where"),
    [
        ('[[require]]\nuse = "EN 1504-3 R4"\n', "spec_use_unknown", "require[1].use"),
        ('[[require]]\nuse = "ISO 4624:2016"\n', "spec_use_is_method", "require[1].use"),
        (ASKED + '[method]\nuse = "EN 1504-3:2005 R4"\n', "spec_use_is_rule", "method.use"),
        (R4 + 'confirmed = " "\n', "spec_empty", "require[1].confirmed"),
        (R4 + "confirmed = true\n", "spec_wrong_type", "require[1].confirmed"),
        (R4 + 'all_of = [{ mean_at_least = "1 MPa" }]\nquestoin = "A"\n', "spec_unknown_key", "require[1].questoin"),
        ("[[require]]\nuse = 3\n", "spec_wrong_type", "require[1].use"),
    ],
)
def test_slips_are_named_where_they_stand(text: str, code: str, where: str) -> None:
    """A wrong name, a rule in the wrong place, an empty confirmation: one problem each."""
    assert problems(text) == {code: where}


def test_a_key_that_stands_twice_in_the_rule_is_not_guessed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which of two smallest values is meant can't be told: the contract has to write the requirement out."""
    text = (
        'document = "D"\nedition = "1"\ntitle = "t"\n[[rule]]\nname = "D:1"\nabout = "a"\n[rule.require]\n'
        'any_of = [{ smallest_at_least = "1 MPa" }, { smallest_at_least = "2 MPa", question = "A/B" }]\n[[number]]\n'
        'keys = ["require.any_of[1].smallest_at_least", "require.any_of[2].smallest_at_least", '
        '"require.any_of[2].question"]\nclause = ""\nsure = "unverified"\nseen = ""\n'
    )
    (one,) = read_document(text.encode(), file="published/d.toml", kind="rule")
    monkeypatch.setattr(use, "library", lambda: {one.name: one})
    assert problems('[[require]]\nuse = "D:1"\nsmallest_at_least = "3 MPa"\n') == {
        "spec_use_several": "require[1].smallest_at_least"
    }
    terms = parsed('[[require]]\nuse = "D:1"\nquestion = "B"\n')
    assert [one.instead for one in terms.uses[0].numbers] == [None, None, "B"]


def test_the_nearest_name_is_told() -> None:
    """A slip in a name is answered with the name."""
    with pytest.raises(InvalidSpecification) as refused:
        parsed('[[require]]\nuse = "EN 1504-3 R4"\n')
    near = refused.value.messages[0].facts["near"]
    assert isinstance(near, tuple)
    assert near[0] == "EN 1504-3:2005 R4"
