"""Criteria that the pulls at hand can't meet, or can't fail, whatever their values: said; and never said falsely."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from adhesion_stats.acceptance import Outcome, decide, required_number, whatever_the_values
from adhesion_stats.assessment import assess
from adhesion_stats.assessment.at_hand import at_hand_messages
from adhesion_stats.entrance import readings_from
from adhesion_stats.locate import packaged
from adhesion_stats.terms.library import library
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import say
from tests.acceptance.build import Row, cases_of, requirement_of, row, specification
from tests.acceptance.test_further_kinds import spec_of
from tests.acceptance.test_hand_worked import rows_of
from tests.terms.using import specification_with

LEVELS = "content = 0.95\nconfidence = 0.95"
A60 = '{ failure_share = ["A"], at_least = "60 %" }'


def said(criterion: str, rows: list[Row], more: str = "") -> list[str]:
    """The sentences about pulls at hand."""
    spec = spec_of(criterion, more)
    return [say(message) for message in at_hand_messages(spec, cases_of(rows, spec))]


def codes(criterion: str, rows: list[Row], more: str = "") -> list[str]:
    """The codes of the same."""
    spec = spec_of(criterion, more)
    return [message.code for message in at_hand_messages(spec, cases_of(rows, spec))]


def test_three_values_can_t_meet_four_of_six() -> None:
    """Four must reach the limit, and three are there; with four of six the other two may do what they like."""
    four = 'pulls_at_or_above = "0.30 MPa"\nat_least = 4\nof = 6'
    assert said(four, rows_of(9.0, 9.0, 9.0)) == [
        "Z: criterion 1 asks for 4 values at or above 0.30 MPa, and 3 count. So few can't meet it, whatever they are."
    ]
    assert said(four, rows_of(0.1, 0.1, 0.1, 0.1)) == []


def test_the_factor_of_three_values_asks_for_less_scatter_than_work_on_site_has() -> None:
    """Mean - k sd > 0 means sd / mean < 1 / k. Three values at 95 % / 95 %: k = 7.656, 1 / k = 13.06 %; five:
    k = 4.203, 1 / k = 23.8 %, above the 20 % that good work has.
    """
    asked = f'characteristic_at_least = "1.0 MPa"\nmethod = "tolerance"\n{LEVELS}'
    (three,) = said(asked, rows_of(2.0, 2.0, 2.0))
    assert three.startswith("Z: from 3 values criterion 1 can be met only with a coefficient of variation below 13.0 %")
    assert "Its factor is k = 7.66" in three
    assert said(asked, rows_of(2.0, 2.0, 2.0, 2.0, 2.0)) == []


def test_scatter_is_judged_by_the_number_that_the_contract_asks_for() -> None:
    """Three of the five pulls that are to be made are no reason to speak of the factor for three."""
    asked = f'characteristic_at_least = "1.0 MPa"\nmethod = "tolerance"\n{LEVELS}'
    assert codes(asked, rows_of(2.0, 2.0, 2.0), "[pulls]\nrequired = 5") == []


def test_a_share_of_nought_asks_nothing() -> None:
    """Every zone has at least 0 % of anything, and at most 100 %."""
    for limit in ('at_least = "0 %"', 'at_most = "100 %"'):
        criterion = f'failure_share = ["A"]\n{limit}'
        assert codes(criterion, [row(1.0, failure={"A": 100.0})]) == ["sense_never_failed"]
    assert codes('failure_share = ["A"]\nat_least = "1 %"', [row(1.0, failure={"A": 100.0})]) == []


def test_a_known_scatter_that_takes_more_than_the_mean_can_t_be_met() -> None:
    """EN 1990 has k = 1.89 for three values and known scatter: 1 - 1.89 x 0.60 = -0.13 times the mean is below any."""
    criterion = 'characteristic_at_least = "1.0 MPa"\nmethod = "en1990-known"\nknown_cov = 0.60'
    assert codes(criterion, rows_of(9.0, 9.0, 9.0)) == ["sense_never_met"]
    assert codes(criterion.replace("0.60", "0.40"), rows_of(0.1, 0.1, 0.1)) == []


def test_a_ceiling_can_rule_a_criterion_out() -> None:
    """K = 1.89, sd 0.6: the mean must reach 1.0 + 1.13 = 2.13 MPa, and no value may exceed 2 MPa."""
    criterion = 'characteristic_at_least = "1.0 MPa"\nmethod = "en1990-known"\nknown_sd = "0.6 MPa"'
    assert codes(criterion, rows_of(1.9, 1.9, 1.9), '[pulls]\nceiling = "2 MPa"') == ["sense_above_ceiling"]
    assert codes(criterion, rows_of(1.9, 1.9, 1.9), '[pulls]\nceiling = "2.2 MPa"') == []
    # A value above the ceiling shows that the ceiling is none.
    assert codes(criterion, rows_of(1.9, 1.9, 2.1), '[pulls]\nceiling = "2 MPa"') == []


def test_parts_that_exclude_each_other_are_named_as_a_whole() -> None:
    """60 % of A and 60 % of B are more than the area; 60 % of A or at most 60 % of A leave nothing out."""
    rows = [row(1.0, failure={"A": 100.0})]
    assert codes(f"all_of = [{A60}, {A60.replace('A', 'B')}]", rows) == [
        "sense_never_together",
        "sense_no_such_failure",
    ]
    assert codes(f"any_of = [{A60}, {A60.replace('at_least', 'at_most')}]", rows) == ["sense_never_failed_whole"]
    assert codes(f"any_of = [{A60}, {A60.replace('A', 'B')}]", rows) == []


def test_a_failure_that_no_pull_of_the_file_shows_is_asked_about() -> None:
    """The contract asks for C, the file knows A and Y only: mean shares of C are 0 %. Unrecorded area could be C."""
    criterion = 'failure_share = ["C"]\nat_least = "50 %"'
    rows = [row(1.0, failure={"A": 100.0}), row(1.0, failure={"A": 60.0, "B": 40.0})]
    (sentence,) = said(criterion, rows)
    assert sentence.startswith("No failure recorded in the file could meet criterion 1, on C: the file records A, B.")
    assert codes(criterion, [*rows, row(1.0, failure={"A": 50.0})]) == []
    assert codes(criterion, [*rows, row(1.0, failure=None)]) == []


def test_a_way_out_that_nobody_took_is_no_finding() -> None:
    """Beside a strength, a condition on what broke is one of two ways; nothing is odd where it isn't met."""
    rows = [row(2.0, failure={"B": 100.0})]
    assert codes(f'any_of = [{{ mean_at_least = "1.5 MPa" }}, {A60}]', rows) == []
    assert codes(f"any_of = [{A60}, {A60.replace('60', '80')}]", rows) == ["sense_no_such_failure"]


def test_proof_loads_below_the_limit_prove_nothing() -> None:
    """Stopped at 1.2 and 1.3 with 1.5 asked: no break can have shown less, and none has shown as much."""
    (sentence,) = said('held_at = "1.50 MPa"', rows_of(">1.20", ">1.30"))
    assert sentence.startswith("Z: all 2 values are known from below only (1.20 MPa to 1.30 MPa).")
    assert sentence.endswith("Criterion 1 (1.50 MPa) can't be shown to be met by them.")
    assert codes('held_at = "1.50 MPa"', rows_of(">1.50", ">1.60")) == []
    assert codes('held_at = "1.50 MPa"', rows_of(">1.20", "<1.30")) == []
    assert codes('held_at = "1.50 MPa"', rows_of(">1.20", 1.30)) == []
    assert codes('mean_at_least = "1.50 MPa"', rows_of(">1.20", ">1.20")) == ["sense_only_bounds"]


KINDS = [
    ("mean", "pull-off", "1.50 MPa"),
    ("smallest", "pull-off", "1.50 MPa"),
    ("z of n", "pull-off", "1.50 MPa", 3, 4),
    ("z of n", "pull-off", "1.50 MPa", 2, 3),
    ("less sd", "pull-off", "1.00 MPa", 1.4),
    ("less sd", "pull-off", "2.00 MPa", 12.0),
    ("cov", "pull-off", 20),
    ("of mean", "pull-off", 75),
    ("part", "pull-off", "1.50 MPa", 60),
    ("share", ("A",), "at least", 0),
    ("share", ("A", "B"), "at most", 100),
    ("share", ("A",), "at most", 40),
    ("pulls", ("A",), 50, "at least", 60),
    ("en cov", "pull-off", "1.00 MPa", 0.6),
    ("all", ("mean", "pull-off", "1.5 MPa"), ("share", ("A",), "at least", 60), ("share", ("B",), "at least", 60)),
    ("any", ("share", ("A",), "at least", 40), ("share", ("A",), "at most", 40)),
]


@pytest.mark.parametrize("kind", KINDS, ids=str)
@pytest.mark.parametrize("n", [2, 3])
def test_what_can_t_be_is_not_in_any_zone_of_a_grid(kind: tuple[object, ...], n: int) -> None:
    """Brute force: all zones of n pulls with strengths of 0, 1, 1.5, 2 or 9 MPa and five failures are decided, and
    whatever is said to be impossible occurs in none of them; what is said to be open occurs both ways.
    """
    spec = specification(kind)
    requirement = requirement_of(spec)
    found = whatever_the_values(requirement, n, rounding=spec.rounding, ceiling_mpa=9.0, glue=())
    failures = [{"A": 100.0}, {"B": 100.0}, {"A": 50.0, "B": 50.0}, {"A": 40.0, "B": 60.0}, {"C": 100.0}]
    on_failure = "share" in str(kind) or kind[0] == "pulls"
    rows: list[Row] = []
    for i, strengths in enumerate(itertools.combinations_with_replacement((0.0, 1.0, 1.5, 2.0, 9.0), n)):
        for j, broke in enumerate(itertools.product(failures if on_failure else failures[:1], repeat=n)):
            rows += [row(f, zone=f"{i} {j}", failure=b) for f, b in zip(strengths, broke, strict=True)]
    # a planned pull that is not there meets nothing
    missing = max(int(str(kind[4])) - n, 0) if kind[0] == "z of n" else 0
    planned = [row(0.0, zone=str(r["zone"])) for r in rows[::n] * missing]
    cases = cases_of([*rows, *planned], spec)
    outcomes = {Outcome(int(o)) for o in decide(spec, cases).outcome}
    assert (
        outcomes
        == {
            Outcome.CONFORMS: {Outcome.CONFORMS},
            Outcome.DOES_NOT_CONFORM: {Outcome.DOES_NOT_CONFORM},
            Outcome.UNDETERMINED: {Outcome.CONFORMS, Outcome.DOES_NOT_CONFORM},
        }[found.criteria[0] if len(found.criteria) == 1 else found.whole]
    )


@pytest.mark.parametrize(
    ("readings", "terms"),
    [
        ("repair-contract/readings.csv", "repair-contract/specification.toml"),
        ("repair-contract/readings.csv", "repair-contract/specification-silent.toml"),
        ("psi-contract/readings.csv", "psi-contract/specification.toml"),
        ("planned-deck/readings-so-far.csv", "planned-deck/specification.toml"),
    ],
)
def test_nothing_is_said_of_the_demonstrations(readings: str, terms: str) -> None:
    """What these contracts ask can be met and can be failed by the pulls that they ask for."""
    folder = packaged("data", "demo")
    spec = parse_specification(Path(folder / terms).read_bytes(), file="specification.toml")
    reading = readings_from(Path(folder / readings).read_bytes(), file="readings.csv", specification=spec)
    found = [m.code for m in assess(reading, spec).messages if m.code.startswith("sense_")]
    assert found == []


def _zone_for(spec: Specification) -> list[Row]:
    """As many pulls as a rule asks for (5 where it says nothing), strong; what broke is not recorded."""
    number = required_number(spec, "Z") or 5
    return [row(2.0 + 0.1 * i) for i in range(number)]


@pytest.mark.parametrize("name", [name for name, one in library().items() if one.kind == "rule"])
def test_nothing_is_said_of_published_rules(name: str) -> None:
    """Each published rule can be met and failed by the number of pulls it asks for."""
    spec = parse_specification(specification_with(library()[name]).encode(), file="specification.toml")
    assert [say(message) for message in at_hand_messages(spec, cases_of(_zone_for(spec), spec))] == []
