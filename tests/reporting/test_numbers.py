"""Numbers as printed: rounded once, never contradicting the comparison they stand for."""

from __future__ import annotations

import pytest

from adhesion_stats.reporting.numbers import Scale, measure, percent, probability, signed
from adhesion_stats.reporting.results import Limit

MPA, PSI = Scale("MPa", 2), Scale("psi", 0)
LIMIT: Limit = {"text": "1.50 MPa", "value": 1.5, "unit": "MPa", "places": 2, "mpa": 1.5}


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [(0.24, 2, "+0.24 MPa"), (-0.06, 2, "−0.06 MPa"), (0.0, 2, "0.00 MPa"), (-0.0004, 2, "−0.0004 MPa")],
)
def test_margin_shows_its_sign_and_never_a_false_zero(value: float, places: int, text: str) -> None:
    """A margin that is not zero keeps enough places to say on which side it lies."""
    assert str(signed(value, places, "MPa")) == text.replace(" ", "\N{NO-BREAK SPACE}")


def test_value_just_below_its_limit_does_not_read_as_the_limit() -> None:
    """1.498 beside 1.50 shows its third place; 1.50 missed by floats in the last bit reads as the limit."""
    assert MPA.compared(1.498, LIMIT).text == "1.498"
    assert MPA.compared(1.4999999999999998, LIMIT).text == "1.50"
    assert MPA.compared(1.732, LIMIT).text == "1.73"


def test_strength_is_converted_once_and_keeps_its_value() -> None:
    """200 psi is 1.379 MPa (1 psi = 0.00689476 MPa); the part keeps the unrounded MPa."""
    number = PSI.strength(1.3789514586, unit=True)
    assert (number.text, number.unit, number.value) == ("200", "psi", 1.3789514586)


def test_spread_has_one_more_place_unless_it_is_zero() -> None:
    """A standard deviation shows one place more than strengths; exactly equal values show plain zero."""
    assert MPA.spread(0.1234).text == "0.123"
    assert MPA.spread(0.0).text == "0.00"


def test_percent_and_probability() -> None:
    """Whole shares have no decimals, others one; tiny probabilities are only said to be small."""
    assert str(percent(70.0)) == "70\N{NO-BREAK SPACE}%"
    assert percent(200 / 3).text == "66.7"
    assert percent(59.96, against=60.0).text == "59.96"
    assert probability(0.0214).text == "0.021"
    assert probability(0.0000214).text == "<\N{NO-BREAK SPACE}0.001"


def test_ties_are_rounded_to_even_on_the_decimal_reading() -> None:
    """2.345 and 2.355 go to the even neighbour, as written."""
    assert (measure(2.345, 2).text, measure(2.355, 2).text) == ("2.34", "2.36")
