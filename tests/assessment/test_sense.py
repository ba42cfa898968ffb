"""Warnings about what a contract asks."""

from __future__ import annotations

import pytest

from adhesion_stats.assessment.sense import sense_messages
from adhesion_stats.wording import say
from tests.acceptance.build import pulls_of
from tests.acceptance.test_further_kinds import spec_of
from tests.acceptance.test_hand_worked import rows_of

PULLS = pulls_of(rows_of(1.8, 1.9, 1.7))
ORDER = 'characteristic_at_least = "1.0 MPa"\nmethod = "order-statistic"\ncontent = 0.95\nconfidence = 0.95'


@pytest.mark.parametrize(
    ("criterion", "codes"),
    [
        ('mean_at_least = "1.50 MPa"', []),
        ('mean_at_least = "15.0 MPa"', ["sense_limit"]),
        ('mean_at_least = "0.02 MPa"', ["sense_limit"]),
        ('all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "150 psi" }]', ["sense_units"]),
        ('all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.0 N/mm2" }]', []),
        (ORDER, ["sense_too_few"]),
        ('all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.5 MPa" }]', ["sense_idle"]),
        ('any_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.5 MPa" }]', ["sense_idle"]),
        ('all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.0 MPa" }]', []),
    ],
)
def test_what_is_hardly_meant_is_pointed_at(criterion: str, codes: list[str]) -> None:
    """Limits of a strange size, two unit systems, a rule that three pulls can't meet, a part that decides nothing."""
    assert [message.code for message in sense_messages(spec_of(criterion), PULLS)] == codes


def test_the_idle_part_is_named() -> None:
    """With all of, the mean follows from the smallest; with any of, the smallest from the mean."""
    both = '{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.5 MPa" }'
    (all_of,) = sense_messages(spec_of(f"all_of = [{both}]"), PULLS)
    (any_of,) = sense_messages(spec_of(f"any_of = [{both}]"), PULLS)
    assert say(all_of) == "Criterion 1.1 changes nothing: criterion 1.2 decides whatever the values are."
    assert say(any_of) == "Criterion 1.2 changes nothing: criterion 1.1 decides whatever the values are."
