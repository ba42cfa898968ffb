"""Numbers as a reader sees them."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.quantities import decimal_text, number_against, shown, shown_against, shown_percent


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (1.4999999999999998, 2, "1.50"),
        (2.345, 2, "2.34"),  # a tie on paper goes to even, whatever the float's last bits
        (2.355, 2, "2.36"),
        (1.005, 2, "1.00"),
        (-0.004, 2, "0.00"),
        (-1.25, 1, "-1.2"),
        (1234.5, 0, "1234"),
        (0.0, 3, "0.000"),
    ],
)
def test_a_number_is_rounded_half_to_even_on_its_decimal_reading(value: float, places: int, text: str) -> None:
    """Floats that miss a decimal tie in their last bits are ties; zero has no sign."""
    assert decimal_text(value, places) == text


def test_a_level_to_reach_is_rounded_up_and_one_not_to_pass_down() -> None:
    """3.0967 must be reached: 3.10 does, 3.09 would not; a level that is on the last place stays."""
    assert decimal_text(3.0967, 2, "up") == "3.10"
    assert decimal_text(3.0967, 2, "down") == "3.09"
    assert decimal_text(1.4999999999999998, 2, "up") == "1.50"
    assert decimal_text(1.5000000000000002, 2, "down") == "1.50"


def test_a_strength_is_shown_in_its_unit() -> None:
    """200 psi is 1.3789514586 MPa (NIST SP 811, appendix B.8: 1 psi = 6.894757 kPa)."""
    assert shown(1.3789514586, "psi", 0) == "200 psi"
    assert shown(1.38, "N/mm²", 2) == "1.38 N/mm²"
    assert shown(1.3751, "MPa", 2, "up") == "1.38 MPa"


def test_a_failing_value_never_reads_like_its_limit() -> None:
    """1.498 against 1.50 gets a third decimal, 1.49996 five; a value on the limit reads like it."""
    assert shown_against(1.498, 1.5, "MPa", 2, at_limit=False) == ("1.498 MPa", "1.50 MPa")
    assert shown_against(1.49996, 1.5, "MPa", 2, at_limit=False) == ("1.49996 MPa", "1.50 MPa")
    assert shown_against(1.38, 1.5, "MPa", 2, at_limit=False) == ("1.38 MPa", "1.50 MPa")
    assert shown_against(1.4999999999999998, 1.5, "MPa", 2, at_limit=True) == ("1.50 MPa", "1.50 MPa")
    assert number_against(59.96, 60.0, 0, at_limit=False) == "59.96"


def test_a_share_is_shown_in_percent() -> None:
    """Whole percents; more decimals beside a limit that it would look equal to."""
    assert shown_percent(80.0) == "80 %"
    assert shown_percent(59.6, against=60.0) == "59.6 %"
    assert shown_percent(60.0, against=60.0) == "60 %"
    assert shown_percent(33.333, 1, towards="up") == "33.4 %"


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
def test_what_is_not_finite_has_no_text(value: float) -> None:
    """Without end is said in words, not as a number."""
    with pytest.raises(ValueError, match="finite"):
        shown(value, "MPa", 2)


def test_an_unknown_unit_is_an_error() -> None:
    """No number is shown in a unit that nobody knows."""
    with pytest.raises(UnknownUnit):
        shown(1.0, "furlong", 2)
