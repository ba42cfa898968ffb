"""Least number of valid pulls, limits in two units, guard bands: hand-worked."""

from __future__ import annotations

import pytest

from adhesion_stats.acceptance import Outcome, Reason, decide, hangs_on, needs, zone_reason
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.terms.criteria import MeanAtLeast
from adhesion_stats.wording import say
from tests.acceptance.build import cases_of, pulls_of, requirement_of
from tests.acceptance.test_further_kinds import decided, spec_of
from tests.acceptance.test_hand_worked import rows_of

MEAN = 'mean_at_least = "1.50 MPa"'


@pytest.mark.parametrize("where", ["least_valid = 3", "[pulls]\nleast_valid = 3"])
@pytest.mark.parametrize("values", [(1.8, 1.9), (0.8, 0.9)])
def test_too_few_valid_pulls_are_not_decided(where: str, values: tuple[float, ...]) -> None:
    """Two of three: neither well above nor well below the limit is anything decided, and the reason says why."""
    spec = spec_of(MEAN, where)
    values_of = cases_of(rows_of(*values), spec)
    found = decide(spec, values_of)
    assert (found["Z"].outcome, found["Z"].reason) == (Outcome.UNDETERMINED, Reason.TOO_FEW_VALID)
    assert found.contract == Outcome.UNDETERMINED
    assert say(zone_reason(found["Z"])) == (
        "Too few pulls are valid to decide: 2, and the contract asks for 3 at least."
    )
    (message,) = needs(spec, values_of, found)["Z"]
    assert say(message).startswith("At least 1 more valid pulls are needed")
    assert hangs_on(spec, values_of, found, pulls_of(rows_of(*values))) == {}


def test_enough_valid_pulls_are_decided_and_do_not_hang_on_their_number() -> None:
    """Three of three conform; leaving one out is no reason to say that the decision hangs on it."""
    spec = spec_of(MEAN, "[pulls]\nleast_valid = 3")
    rows = rows_of(1.8, 1.9, 1.7)
    found = decide(spec, cases_of(rows, spec))
    assert found["Z"].outcome == Outcome.CONFORMS
    assert hangs_on(spec, cases_of(rows, spec), found, pulls_of(rows)) == {}


def test_a_limit_in_two_units_is_asked_about() -> None:
    """200 psi are 1.379 MPa: not the same as 1.4 MPa."""
    with pytest.raises(InvalidSpecification) as caught:
        spec_of('mean_at_least = "200 psi and 1.4 MPa"')
    (message,) = caught.value.messages
    assert message.code == "spec_two_limits"
    assert "the first is 1.379 MPa. Which one governs?" in say(message)


@pytest.mark.parametrize(
    ("governs", "text", "outcome"),
    [("psi", "200 psi (1.4 MPa)", Outcome.CONFORMS), ("MPa", "1.4 MPa (200 psi)", Outcome.DOES_NOT_CONFORM)],
)
def test_the_unit_that_governs_decides_and_both_are_told(governs: str, text: str, outcome: Outcome) -> None:
    """A mean of 1.39 MPa (201.6 psi) lies between the two."""
    criterion = f'mean_at_least = "200 psi (1.4 MPa)"\ngoverns = "{governs}"'
    asked = requirement_of(spec_of(criterion))
    assert isinstance(asked, MeanAtLeast)
    assert asked.limit.text == text
    assert decided(criterion, 1.39, 1.39, 1.39).outcome == outcome


def test_governs_needs_two_limits() -> None:
    """With one limit there is nothing to choose."""
    with pytest.raises(InvalidSpecification) as caught:
        spec_of('mean_at_least = "1.4 MPa"\ngoverns = "MPa"')
    assert [message.code for message in caught.value.messages] == ["spec_governs_one"]


def test_a_guard_band_moves_the_limit_that_results_have_to_reach() -> None:
    """1.50 + 0.08 = 1.58: 1.57 fails, 1.58 meets, and the text names both parts."""
    criterion = f'{MEAN}\nguard = "0.08 MPa"'
    assert decided(criterion, 1.57, 1.57).outcome == Outcome.DOES_NOT_CONFORM
    found = decided(criterion, 1.58, 1.58)
    assert (found.outcome, found.criteria[0].at_limit, found.criteria[0].limit) == (Outcome.CONFORMS, True, 1.58)
    asked = requirement_of(spec_of(criterion))
    assert isinstance(asked, MeanAtLeast)
    assert asked.limit.text == "1.50 MPa + 0.08 MPa"


@pytest.mark.parametrize("criterion", ['cov_at_most = "25 %"', 'failure_share = ["A"]\nat_least = "60 %"'])
def test_a_guard_band_belongs_to_strengths(criterion: str) -> None:
    """A share has none."""
    with pytest.raises(InvalidSpecification):
        spec_of(f'{criterion}\nguard = "0.08 MPa"')
