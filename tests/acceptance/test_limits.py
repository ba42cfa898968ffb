"""The one comparison of a number with its limit."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import numpy as np
import pytest

from adhesion_stats.acceptance.limits import at_limit, meets, percent_threshold, record, threshold
from adhesion_stats.terms.checker import parse_limit
from adhesion_stats.terms.specification import Rounding

UNROUNDED = Rounding()
EVEN = Rounding(method="rounded", ties="even")
UP = Rounding(method="rounded", ties="up")


def answer(text: str, value: float, rounding: Rounding) -> tuple[bool, bool]:
    """Whether the value (in the limit's unit) meets the limit, and whether it is on it."""
    limit = threshold(parse_limit(text), rounding)
    slack = 1e-12 * limit.limit
    one = np.array([value])
    return bool(meets(one, limit, slack=slack)[0]), bool(at_limit(one, limit, slack=slack)[0])


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (1.50, (True, True)),
        (1.4999999999999998, (True, True)),  # 1.50 on paper
        (1.5000000000000002, (True, True)),
        (1.4999999, (False, False)),
        (1.5000001, (True, False)),
        (float("inf"), (True, False)),
        (float("-inf"), (False, False)),
    ],
)
def test_unrounded_equal_meets(value: float, expected: tuple[bool, bool]) -> None:
    """Unrounded method: equal within the tolerance meets and is on the limit, anything less does not."""
    assert answer("1.50 MPa", value, UNROUNDED) == expected


@pytest.mark.parametrize(
    ("text", "value", "even", "up"),
    [
        # The value rounded to the limit's last place, by hand: ties to even | ties up.
        ("1.50 MPa", 1.495, (True, True), (True, True)),  # 1.495 -> 1.50 (even)           | 1.50
        ("1.5 MPa", 1.45, (False, False), (True, True)),  # 1.45  -> 1.4 (even)            | 1.5
        ("1.5 MPa", 1.4500000000000002, (False, False), (True, True)),  # a tie on paper
        ("1.5 MPa", 1.4499999999999997, (False, False), (True, True)),
        ("1.5 MPa", 1.4501, (True, True), (True, True)),
        ("1.4 MPa", 1.35, (True, True), (True, True)),  # 1.35  -> 1.4 (even)            | 1.4
        ("1.4 MPa", 1.45, (True, True), (True, False)),  # 1.45  -> 1.4 (even): on limit  | 1.5
        ("1.4 MPa", 1.349, (False, False), (False, False)),
        ("200 psi", 199.5, (True, True), (True, True)),  # 199.5 -> 200 (even)           | 200
        ("201 psi", 200.5, (False, False), (True, True)),  # 200.5 -> 200 (even)           | 201
        ("201 psi", 201.5, (True, False), (True, False)),  # 201.5 -> 202                  | 202
    ],
)
def test_rounded_to_the_limits_last_place(
    text: str, value: float, even: tuple[bool, bool], up: tuple[bool, bool]
) -> None:
    """Rounding method of ASTM E29: the value is rounded to the last place of the limit as written, with the tie rule
    named.
    """
    assert answer(text, value, EVEN) == even
    assert answer(text, value, UP) == up


@pytest.mark.parametrize("rounding", [EVEN, UP], ids=["even", "up"])
def test_the_threshold_is_the_same_as_rounding_in_decimals(rounding: Rounding) -> None:
    """For every thousandth from 0.9 to 2.0 and limits in tenths and hundredths: the same as decimal arithmetic."""
    how = ROUND_HALF_EVEN if rounding.ties == "even" else ROUND_HALF_UP
    for text in ("1.0 MPa", "1.3 MPa", "1.50 MPa", "1.25 MPa", "1.27 MPa", "2 MPa"):
        limit = parse_limit(text)
        place = Decimal(1).scaleb(-limit.places)
        for i in range(900, 2001):
            value = Decimal(i) / 1000
            rounded = value.quantize(place, rounding=how)
            wanted = (rounded >= Decimal(str(limit.value)), rounded == Decimal(str(limit.value)))
            assert answer(text, float(value), rounding) == wanted, (text, value)


def test_an_upper_limit_on_a_share() -> None:
    """At most 20 %: 20 meets, 20.1 does not; in whole percents 20.4 meets, and 20.5 with ties to even only."""

    def met(percent: float, rounding: Rounding) -> bool:
        limit = percent_threshold(20.0, rounding, at_most=True)
        return bool(meets(np.array([percent]), limit, slack=1e-7)[0])

    assert [met(p, UNROUNDED) for p in (19.9, 20.0, 20.1)] == [True, True, False]
    assert [met(p, EVEN) for p in (20.4, 20.5, 20.6)] == [True, True, False]
    assert [met(p, UP) for p in (20.4, 20.5, 20.6)] == [True, False, False]


def test_strengths_are_recorded_to_a_step_first() -> None:
    """Steps of 0.01 MPa, 0.05 MPa and 1 psi, ties on paper to even or away from zero; infinity stays."""
    values = np.array([1.005, 1.015, 1.0149, np.inf])
    assert record(values, parse_limit("0.01 MPa"), "even").tolist() == [1.00, 1.02, 1.01, np.inf]
    assert record(values, parse_limit("0.01 MPa"), "up").tolist() == [1.01, 1.02, 1.01, np.inf]
    assert record(np.array([1.024, 1.025, 1.076]), parse_limit("0.05 MPa"), "up").tolist() == [1.00, 1.05, 1.10]
    psi = 0.006894757293168361
    assert record(np.array([250.5, 251.5]) * psi, parse_limit("1 psi"), "even") == pytest.approx(
        np.array([250, 252]) * psi, rel=1e-14
    )


def test_every_decimal_tie_of_two_places_is_found() -> None:
    """x.xx5 for all x.xx up to 6 MPa, as floats: always the even neighbour, as decimal arithmetic says."""
    ties = [Decimal(2 * i + 1) / 200 for i in range(600)]
    found = record(np.array([float(t) for t in ties]), parse_limit("0.01 MPa"), "even")
    wanted = [float(t.quantize(Decimal("0.01"), rounding=ROUND_HALF_EVEN)) for t in ties]
    assert found.tolist() == wanted


def test_a_share_is_rounded_to_the_last_place_as_written() -> None:
    """59.6 % against "60 %" rounds to 60 and meets; against "60.0 %" it stays 59.6 and does not."""
    for places, met in ((0, True), (1, False)):
        limit = percent_threshold(60.0, EVEN, at_most=False, places=places)
        assert bool(meets(np.array([59.6]), limit, slack=1e-7)[0]) is met
