"""Rules in their own words: every kind of criterion has a sentence with its numbers."""

from __future__ import annotations

from typing import get_args

import pytest

from adhesion_stats.planning.rule_facts import requirement_facts
from adhesion_stats.reporting.rule_sentences import rule_sentence
from adhesion_stats.reporting.words import WORDS
from adhesion_stats.terms.criteria import AreaCriterion, CharacteristicMethod, EachPullAtLeast, StrengthCriterion
from adhesion_stats.terms.parse import parse_specification

SENTENCES = {
    'mean_at_least = "1.50 MPa"': "mean at least 1.50 MPa",
    'smallest_at_least = "1.00 MPa"\nquestion = "A/B"': "smallest value at least 1.00 MPa (A/B)",
    'pulls_at_or_above = "0.30 MPa"\nat_least = 8\nof = 12': "at least 8 of 12 values at or above 0.30 MPa",
    'pulls_at_or_above = "0.30 MPa"\nat_least_share = "80 %"': "at least 80 % of the values at or above 0.30 MPa",
    'mean_less_sd_at_least = "1.00 MPa"\nk = 1.4': "mean less 1.4 standard deviations at least 1.00 MPa",
    'characteristic_at_least = "0.80 MPa"\nmethod = "tolerance"\ncontent = 0.95\nconfidence = 0.75': (
        "characteristic value at least 0.80 MPa (normal tolerance bound, content 95 %, confidence 75 %)"
    ),
    'characteristic_at_least = "0.80 MPa"\nmethod = "en1990-known"\nknown_cov = 0.2': (
        "characteristic value at least 0.80 MPa (EN 1990, spread known, coefficient of variation known, 20 %)"
    ),
    'failure_share = ["A", "A/B"]\nat_least = "50 %"': "mean share of A + A/B at least 50 % of the area",
}


@pytest.mark.parametrize("asked", SENTENCES)
def test_a_criterion_in_words(asked: str) -> None:
    """What it asks, with its limit as written."""
    terms = parse_specification(f'[contract]\ntitle = "t"\n[[require]]\n{asked}\n'.encode(), file="t.toml")
    assert rule_sentence(requirement_facts(terms.rules[0].requirement)) == SENTENCES[asked]


def test_every_kind_and_method_has_words() -> None:
    """A kind without a sentence would stop the command."""
    kinds = [*get_args(StrengthCriterion), *get_args(AreaCriterion), EachPullAtLeast]
    assert [kind.said for kind in kinds if f"rule_{kind.said}" not in WORDS] == []
    assert [name for name in get_args(CharacteristicMethod) if f"rule_method_{name}" not in WORDS] == []


def test_parts_of_parts_keep_their_joints() -> None:
    """All of a mean and one of two ways, of which one has two criteria."""
    text = (
        '[contract]\ntitle = "t"\n[[require]]\nall_of = [{ mean_at_least = "1.5 MPa" }, { any_of = [{ all_of = [\n'
        '{ smallest_at_least = "1.0 MPa" }, { failure_share = ["A"], at_least = "50 %" }] }, '
        '{ mean_at_least = "2.0 MPa" }] }]\n'
    )
    terms = parse_specification(text.encode(), file="t.toml")
    assert rule_sentence(requirement_facts(terms.rules[0].requirement)) == (
        "mean at least 1.5 MPa; either (smallest value at least 1.0 MPa, and mean share of A at least 50 % of the area)"
        ", or mean at least 2.0 MPa"
    )
