"""Zones worked out by hand, the arithmetic beside each."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, Reason, decide, evaluate
from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.collect import Cases, cases
from adhesion_stats.statistics.blocks import stacks
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding
from adhesion_stats.units import factor
from tests.acceptance.build import (
    Row,
    cases_of,
    pulls_of,
    requirement_of,
    row,
    settled,
    specification,
    standing_of,
)

CONFORMS, FAILS, OPEN = Outcome.CONFORMS, Outcome.DOES_NOT_CONFORM, Outcome.UNDETERMINED
MEAN = ("mean", "pull-off", "1.50 MPa")
SMALLEST = ("smallest", "pull-off", "1.00 MPa")


def rows_of(*values: float | str) -> list[Row]:
    """Pulls: a number is exact, ">3.5" at least, "<0.4" at most, "lost" was lost before loading."""
    found = []
    for v in values:
        if v == "lost":
            found.append(row(None, lost=True))
        elif isinstance(v, str):
            found.append(row(float(v[1:]), bound="at least" if v[0] == ">" else "at most"))
        else:
            found.append(row(v))
    return found


HAND = [
    # requirement, pulls, required, ceiling, outcome
    # Mean of 1.11 1.15 1.72 1.76 1.76 is 7.50/5 = 1.50 on paper; floats give 1.4999999999999998.
    (MEAN, (1.11, 1.15, 1.72, 1.76, 1.76), None, None, CONFORMS),
    (MEAN, (1.11, 1.15, 1.72, 1.76, 1.75), None, None, FAILS),  # 7.49/5 = 1.498
    # Mean with one bound: (1.2 + 1.3 + 1.4 + 1.0)/4 = 4.9/4 = 1.225 at the bound, no upper end.
    (MEAN, (1.2, 1.3, 1.4, ">1.0"), None, None, OPEN),
    (MEAN, (1.6, 1.7, 1.5, ">1.2"), None, None, CONFORMS),  # 6.0/4 = 1.50 already
    # With a ceiling of 2.0: at most (1.2 + 1.3 + 1.4 + 2.0)/4 = 5.9/4 = 1.475.
    (MEAN, (1.2, 1.3, 1.4, ">1.0"), None, 2.0, FAILS),
    (MEAN, (1.2, 1.3, 1.4, ">1.0"), None, 2.1, OPEN),  # 6.0/4 = 1.50 could be
    # Smallest: a bound below the limit leaves it open, an exact value below it fails whatever the bounds are.
    (SMALLEST, (1.2, 1.3, ">0.8"), None, None, OPEN),
    (SMALLEST, (1.2, 0.9, ">0.8"), None, None, FAILS),
    (SMALLEST, (1.2, 1.3, ">1.0"), None, None, CONFORMS),
    (SMALLEST, (1.2, 1.3, "<0.9"), None, None, FAILS),
    (SMALLEST, (1.2, 1.3, "<1.2"), None, None, OPEN),
    # Too few pulls: two of three made, nothing wrong; and failing already.
    (SMALLEST, (1.2, 1.3), 3, None, OPEN),
    (SMALLEST, (1.2, 0.9), 3, None, FAILS),
    (MEAN, (2.3, 2.3), 3, None, CONFORMS),  # 4.6/3 = 1.533 with a third pull of 0
    (SMALLEST, (1.2, 1.3, "lost"), None, None, OPEN),  # lost: a value from 0 up
    # 8 of 12 at or above 0.30: exactly 8 | 7, one bound below 0.30 | 7 and a bound above.
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.30,) * 8 + (0.1,) * 4, None, None, CONFORMS),
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 7 + (0.29,) * 5, None, None, FAILS),
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 7 + (0.29,) * 4 + (">0.25",), None, None, OPEN),
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 7 + (0.29,) * 4 + (">0.35",), None, None, CONFORMS),
    # Ten made of twelve planned: 8 reach already | 5 + 2 = 7 can't | 6 + 2 = 8 could.
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 8 + (0.2,) * 2, None, None, CONFORMS),
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 5 + (0.2,) * 5, None, None, FAILS),
    (("z of n", "pull-off", "0.30 MPa", 8, 12), (0.31,) * 6 + (0.2,) * 4, None, None, OPEN),
    # Eight made of six planned, 4 needed. 3 reach: no choice of six has 4. 4 reach: the best choice has 4, the worst
    # leaves out two of them: 2. 6 reach: the worst choice takes the 2 others and 4 of the 6: 4.
    (("z of n", "pull-off", "0.30 MPa", 4, 6), (0.31,) * 3 + (0.2,) * 5, None, None, FAILS),
    (("z of n", "pull-off", "0.30 MPa", 4, 6), (0.31,) * 4 + (0.2,) * 4, None, None, OPEN),
    (("z of n", "pull-off", "0.30 MPa", 4, 6), (0.31,) * 5 + (0.2,) * 3, None, None, OPEN),
    (("z of n", "pull-off", "0.30 MPa", 4, 6), (0.31,) * 6 + (0.2,) * 2, None, None, CONFORMS),
    # Known CoV 0.20, n = 4: k = 1.6449 sqrt(1.25) = 1.8390; 1 - 0.3678 = 0.6322; mean 2.5: 1.5805; mean 2.3: 1.4541.
    (("en cov", "pull-off", "1.50 MPa", 0.2), (2.4, 2.5, 2.5, 2.6), None, None, CONFORMS),
    (("en cov", "pull-off", "1.50 MPa", 0.2), (2.2, 2.3, 2.3, 2.4), None, None, FAILS),
    # Known CoV 0.60: 1 - 1.1034 < 0: the value is never above 0, whatever is measured.
    (("en cov", "pull-off", "0.10 MPa", 0.6), (2.4, 2.5, 2.5, ">2.6"), None, None, FAILS),
    # Tolerance bound 95 %/75 % at n = 5: k = 2.463 (NBS Handbook 91, table A-7, by content 0.95 and confidence 0.75).
    # 2.0 2.0 2.0 2.0 2.0: s = 0, bound 2.0. With one > 2.0 instead: highest 2.0 at 2.0, then it falls without end.
    (("tolerance", "pull-off", "2.00 MPa", 0.95, 0.75), (2.0,) * 5, None, None, CONFORMS),
    (("tolerance", "pull-off", "2.00 MPa", 0.95, 0.75), (2.0,) * 4 + (">2.0",), None, None, OPEN),
    # m = 2.0, SS = 0 of the others: b* = 2.0, highest value 2.0 < 2.01.
    (("tolerance", "pull-off", "2.01 MPa", 0.95, 0.75), (2.0,) * 4 + (">1.5",), None, None, FAILS),
    # Through a ceiling it can conform: values 2.0 x 4, fifth in 2.0 to 2.1: mean 2.02, s = 0.0447, 2.02 - 0.110 =
    # 1.910.
    (("tolerance", "pull-off", "1.90 MPa", 0.95, 0.75), (2.0,) * 4 + (">2.0",), None, 2.1, CONFORMS),
    (("tolerance", "pull-off", "1.92 MPa", 0.95, 0.75), (2.0,) * 4 + (">2.0",), None, 2.1, OPEN),
    # One value gives no sd.
    (("tolerance", "pull-off", "1.00 MPa", 0.95, 0.75), (5.0,), None, None, OPEN),
    (("all", ("tolerance", "pull-off", "1.00 MPa", 0.95, 0.75), SMALLEST), (0.5,), None, None, FAILS),
    (("any", ("tolerance", "pull-off", "1.00 MPa", 0.95, 0.75), SMALLEST), (5.0,), None, None, CONFORMS),
]


@pytest.mark.parametrize(("requirement", "values", "required", "ceiling", "expected"), HAND)
def test_worked_by_hand(
    requirement: tuple[object, ...],
    values: tuple[float | str, ...],
    required: int | None,
    ceiling: float | None,
    expected: Outcome,
) -> None:
    """The outcome of the arithmetic beside the row."""
    spec = specification(requirement, required=required, ceiling=ceiling)
    assert decide(spec, cases_of(rows_of(*values), spec))["Z"].outcome == expected


def test_a_spread_rule_is_not_monotone() -> None:
    """1.20 1.25 1.22 1.24 1.20 meets mean - k s >= 1.00, and fails once the last value is 3.00 (k = 1.4 and nearby).

    Mean 1.222, s = 0.0228: 1.222 - 1.4 x 0.0228 = 1.190. With 3.00: mean 1.582, s = 0.793: 0.472.
    With content 0.85 and confidence 0.70 at n = 5, k is 1.46: 1.189 and 0.424.
    """
    asked = ("tolerance", "pull-off", "1.00 MPa", 0.85, 0.70)
    spec = specification(asked)
    low = decide(spec, cases_of(rows_of(1.20, 1.25, 1.22, 1.24, 1.20), spec))["Z"]
    high = decide(spec, cases_of(rows_of(1.20, 1.25, 1.22, 1.24, 3.00), spec))["Z"]
    bounded = decide(spec, cases_of(rows_of(1.20, 1.25, 1.22, 1.24, ">1.20"), spec))["Z"]
    assert (low.outcome, high.outcome, bounded.outcome) == (CONFORMS, FAILS, OPEN)
    assert high.criteria[0].high < 0.5
    assert low.criteria[0].low > 1.18
    assert bounded.criteria[0].low == -np.inf


def test_each_can_be_met_but_not_together() -> None:
    """Mean >= 2.20 and a tolerance bound >= 1.50: each could be met, and no value of the unknown pull meets both.

    1.60 1.70 1.60 1.70 1.65 (sum 8.25) and one > 1.6: the mean asks for 6 x 2.20 - 8.25 = 4.95. There, s of the six
    is 1.35, and the bound (k = 2.336 at n = 6) is 2.20 - 3.15 < 0. The bound alone is met at 1.65: 1.65 - 2.336 x
    0.0447 = 1.546.
    """
    parts = (("mean", "pull-off", "2.20 MPa"), ("tolerance", "pull-off", "1.50 MPa", 0.95, 0.75))
    spec = specification(("all", *parts))
    found = decide(spec, cases_of(rows_of(1.60, 1.70, 1.60, 1.70, 1.65, ">1.6"), spec))["Z"]
    assert [c.outcome for c in found.criteria] == [OPEN, OPEN]
    assert (found.outcome, found.reason) == (FAILS, Reason.NOT_TOGETHER)


def test_any_of_is_open_where_one_completion_fails_both() -> None:
    """Any of smallest >= 1.0 and a tolerance bound >= 1.9: 2.0 four times and one between 0 and 2.1.

    Below 1.0 the smallest fails, and the spread takes the bound far below: undetermined. One way that is certain is
    enough: mean >= 1.50 of 2.2 and > 0.8, since (2.2 + 0.8)/2 = 1.50.
    """
    parts = (("smallest", "pull-off", "1.00 MPa"), ("tolerance", "pull-off", "1.90 MPa", 0.95, 0.75))
    spec = specification(("any", *parts))
    assert decide(spec, cases_of(rows_of(2.0, 2.0, 2.0, 2.0, "<2.1"), spec))["Z"].outcome == OPEN
    # Mean of 2 values >= 1.5 or smallest >= 1.0: 2.2 and > 0.8: mean is 1.5 at the bound already.
    spec = specification(("any", MEAN, SMALLEST))
    assert decide(spec, cases_of(rows_of(2.2, ">0.8"), spec))["Z"].outcome == CONFORMS


def test_together_they_leave_no_gap() -> None:
    """Any of a spread rule that holds for low values and a mean that holds for high ones: conforms, though neither is
    certain.

    1.90 2.10 2.00 2.00 and one > 1.95. Characteristic value >= 1.00 (k = 2.463): at y the fifth value holds up to y =
    3.05 or so (mean 2.21, s 0.47: 1.05); mean >= 2.10 holds from y = 10.5 - 8.0 = 2.50 on.
    """
    spread, mean = ("tolerance", "pull-off", "1.00 MPa", 0.95, 0.75), ("mean", "pull-off", "2.10 MPa")
    spec = specification(("any", spread, mean))
    found = decide(spec, cases_of(rows_of(1.90, 2.10, 2.00, 2.00, ">1.95"), spec))["Z"]
    assert [c.outcome for c in found.criteria] == [OPEN, OPEN]
    assert (found.outcome, found.reason) == (CONFORMS, Reason.MET)


QUESTION = [
    # Substrate broke (A) below the limit: fails as pull-off strength, open as bond A/B (the interface held more).
    ("pull-off", 1.2, {"A": 100.0}, FAILS),
    ("A/B", 1.2, {"A": 100.0}, OPEN),
    ("A/B", 1.6, {"A": 100.0}, CONFORMS),
    # Broke there over half of the area: exact.
    ("A/B", 1.2, {"A/B": 50.0, "A": 50.0}, FAILS),
    ("A/B", 1.2, {"A/B": 40.0, "A": 60.0}, OPEN),
    # Not recorded: the break may have been elsewhere.
    ("A/B", 1.2, None, OPEN),
]


@pytest.mark.parametrize(("question", "value", "failure", "expected"), QUESTION)
def test_a_break_elsewhere_is_a_lower_bound(
    question: str, value: float, failure: dict[str, float] | None, expected: Outcome
) -> None:
    """Smallest >= 1.50 MPa asked of one pull, by question and by what broke."""
    spec = specification(("smallest", question, "1.50 MPa"))
    assert decide(spec, cases_of([row(value, failure=failure)], spec))["Z"].outcome == expected


def test_a_bound_from_above_that_broke_elsewhere_says_nothing() -> None:
    """At most 1.2 MPa, substrate broke: the interface may have held anything from 0 up."""
    spec = specification(("smallest", "A/B", "1.50 MPa"))
    values = cases_of([row(1.2, bound="at most", failure={"A": 100.0})], spec)
    assert (values.low["A/B"].tolist(), values.high["A/B"].tolist()) == ([0.0], [np.inf])


AREA = [
    # Mean share of A over two pulls: (80 + 40)/2 = 60.
    (("share", ("A",), "at least", 60), [{"A": 80.0, "A/B": 20.0}, {"A": 40.0, "A/B": 60.0}], CONFORMS),
    (("share", ("A",), "at least", 61), [{"A": 80.0, "A/B": 20.0}, {"A": 40.0, "A/B": 60.0}], FAILS),
    # 20 % covered by adhesive could have been A: 50 to 60.
    (("share", ("A",), "at least", 60), [{"A": 60.0, "Y": 20.0, "B": 20.0}, {"A": 40.0, "B": 60.0}], OPEN),
    (("share", ("A",), "at least", 61), [{"A": 60.0, "Y": 20.0, "B": 20.0}, {"A": 40.0, "B": 60.0}], FAILS),
    # A criterion that names the adhesive takes it as recorded: 20/2 = 10 %.
    (("share", ("Y",), "at most", 10), [{"A": 60.0, "Y": 20.0, "B": 20.0}, {"A": 40.0, "B": 60.0}], CONFORMS),
    (("share", ("Y",), "at most", 9), [{"A": 60.0, "Y": 20.0, "B": 20.0}, {"A": 40.0, "B": 60.0}], FAILS),
    # Not recorded: anything. (0 to 100 + 80)/2.
    (("share", ("A",), "at least", 60), [{"A": 80.0, "B": 20.0}, None], OPEN),
    (("share", ("A",), "at most", 90), [{"A": 80.0, "B": 20.0}, None], CONFORMS),
    # Shares that add to 90: the other 10 % could be anything.
    (("share", ("A",), "at least", 85), [{"A": 80.0, "B": 10.0}], OPEN),
    # Pulls with half or more of A: two of three = 66.7 %.
    (("pulls", ("A",), 50, "at least", 66), [{"A": 50.0, "B": 50.0}, {"A": 100.0}, {"B": 100.0}], CONFORMS),
    (("pulls", ("A",), 50, "at least", 67), [{"A": 50.0, "B": 50.0}, {"A": 100.0}, {"B": 100.0}], FAILS),
    (("pulls", ("A",), 50, "at least", 66), [{"A": 40.0, "Y": 60.0}, {"A": 100.0}, {"B": 100.0}], OPEN),
    (("pulls", ("A/B", "A"), 80, "at most", 0), [{"A": 40.0, "B": 60.0}], CONFORMS),
]


@pytest.mark.parametrize(("requirement", "failures", "expected"), AREA)
def test_what_broke(
    requirement: tuple[object, ...], failures: list[dict[str, float] | None], expected: Outcome
) -> None:
    """Composition criteria, the arithmetic beside the row."""
    spec = specification(requirement)
    assert decide(spec, cases_of([row(2.0, failure=f) for f in failures], spec))["Z"].outcome == expected


def test_lost_pulls_beyond_the_required_number_are_unknown_only_where_the_contract_says_so() -> None:
    """Five required and made, one more lost: with lost = unknown there are six values, left out there are five."""
    spec = specification(SMALLEST, required=5)
    rows = rows_of(1.2, 1.3, 1.4, 1.5, 1.6, "lost")
    unknown = decide(spec, cases_of(rows, spec, settled(lost="unknown")))["Z"]
    left_out = decide(spec, cases_of(rows, spec, settled(lost="left out")))["Z"]
    assert (unknown.n, unknown.outcome) == (6, OPEN)
    assert (left_out.n, left_out.outcome) == (5, CONFORMS)


def test_a_zone_that_only_the_contract_names_is_decided() -> None:
    """Three pulls required, no row at all: undetermined with three unknown values; nothing required: no values, said
    so.
    """
    spec = specification(SMALLEST, required=3)
    found = decide(spec, cases(pulls_of([]), standing_of([]), spec, settled(), ("Z",)))["Z"]
    assert (found.n, found.unknown, found.outcome, found.reason) == (3, 3, OPEN, Reason.OPEN)
    spec = specification(SMALLEST)
    found = decide(spec, cases(pulls_of([]), standing_of([]), spec, settled(), ("Z",)))["Z"]
    assert (found.n, found.outcome, found.reason) == (0, OPEN, Reason.NO_VALUES)


def test_a_bound_above_the_ceiling_is_the_value() -> None:
    """> 3.5 with a declared ceiling of 3.0: the value is 3.5; mean (3.5 + 1.0)/2 = 2.25 is decided."""
    spec = specification(("mean", "pull-off", "2.25 MPa"), ceiling=3.0)
    found = decide(spec, cases_of(rows_of(">3.5", 1.0), spec))["Z"]
    assert (found.outcome, found.criteria[0].at_limit) == (CONFORMS, True)


def test_strengths_are_recorded_to_the_step_before_the_mean() -> None:
    """1.494 twice against 1.494: met as read; to 0.01 MPa each is 1.49, and so is the mean: below."""
    limit = ("mean", "pull-off", "1.494 MPa")
    rows = rows_of(1.494, 1.494)
    plain = specification(limit)
    stepped = specification(limit, rounding='record_to = "0.01 MPa"\nties = "even"')
    assert decide(plain, cases_of(rows, plain))["Z"].outcome == CONFORMS
    assert decide(stepped, cases_of(rows, stepped))["Z"].outcome == FAILS


def test_rounding_before_comparing() -> None:
    """Mean of 1.4 1.4 1.5 1.5 is 1.45, against "1.5 MPa": below unrounded; 1.5 with ties up; 1.4 with ties to even."""
    rows = rows_of(1.4, 1.4, 1.5, 1.5)
    outcomes = []
    for rounding in ("", 'method = "rounded"\nties = "up"', 'method = "rounded"\nties = "even"'):
        spec = specification(("mean", "pull-off", "1.5 MPa"), rounding=rounding)
        outcomes.append(decide(spec, cases_of(rows, spec))["Z"].outcome)
    assert outcomes == [FAILS, CONFORMS, FAILS]


def test_binding_criterion_and_margin() -> None:
    """The criterion with the smallest value / limit binds; a failing one first; of several ways the closest.

    Mean 1.80 (1.80/1.50 = 1.20), smallest 1.10 (1.10/1.00 = 1.10): smallest, margin 0.10. With 0.90: fails, margin
    -0.10. Any of: mean 1.20 beats 1.10.
    """
    spec = specification(("all", MEAN, SMALLEST))
    good = decide(spec, cases_of(rows_of(1.10, 2.10, 2.20), spec))["Z"]
    bad = decide(spec, cases_of(rows_of(0.90, 2.20, 2.30), spec))["Z"]
    assert (good.binding, bad.binding) == (1, 1)
    assert good.margin == pytest.approx(0.10)
    assert bad.margin == pytest.approx(-0.10)
    spec = specification(("any", MEAN, SMALLEST))
    assert decide(spec, cases_of(rows_of(1.10, 2.10, 2.20), spec))["Z"].binding == 0


def test_the_contract_follows_from_its_zones() -> None:
    """A zone that fails fails the contract; else an open one leaves it open; zones of which nothing is asked are
    named.
    """
    text = '[contract]\ntitle = "t"\n[[require]]\nzones = ["a", "b"]\nsmallest_at_least = "1.00 MPa"\n'
    spec = parse_specification(text.encode(), file="t.toml")
    rows = [row(1.2, zone="a"), row(0.5, zone="b", bound="at least"), row(0.1, zone="c")]
    found = decide(spec, cases_of(rows, spec))
    assert found.not_asked == ("c",)
    assert found.contract == OPEN
    assert [d.zone for d in found] == ["a", "b"]
    rows[1] = row(0.5, zone="b")
    assert decide(spec, cases_of(rows, spec)).contract == FAILS
    rows[1] = row(1.0, zone="b")
    assert decide(spec, cases_of(rows, spec)).contract == CONFORMS
    with pytest.raises(KeyError):
        found["c"]


def test_a_requirement_that_grows_beyond_use_is_combined_part_by_part() -> None:
    """Written out, 14 any-of's of three would be 3**14 sets: parts are combined one by one and still never wrong."""
    part = ("any", MEAN, SMALLEST, ("smallest", "pull-off", "0.90 MPa"))
    spec = specification(("all", *(part,) * 14))
    assert decide(spec, cases_of(rows_of(1.2, 1.3), spec))["Z"].outcome == CONFORMS
    assert decide(spec, cases_of(rows_of(0.2, 0.3), spec))["Z"].outcome == FAILS
    assert decide(spec, cases_of(rows_of(0.95, ">0.3"), spec))["Z"].outcome == OPEN


def test_simulated_stacks_are_decided_without_a_file() -> None:
    """``evaluate`` takes the stacks of the statistics room as they are."""
    spec = specification(MEAN)
    codes = np.array([0, 0, 1, 1, 2, 2])
    low = np.array([1.4, 1.6, 1.4, 1.5, 1.4, 1.5])
    high = np.array([1.4, 1.6, 1.4, 1.5, 1.4, np.inf])
    outcomes: dict[int, int] = {}
    for stack in stacks(codes, low, high):
        table = evaluate(requirement_of(spec), Block.of(stack), rounding=Rounding())
        outcomes |= dict(zip(table.group.tolist(), table.decision.tolist(), strict=True))
    assert outcomes == {0: CONFORMS, 1: FAILS, 2: OPEN}


@pytest.mark.parametrize(("unit", "limit", "places"), [("MPa", "1.50", 2), ("psi", "217.5", 1), ("kgf/cm²", "15.3", 1)])
def test_twenty_thousand_means_on_the_limit(unit: str, limit: str, places: int) -> None:
    """Five to seven readings whose mean is the limit on paper, entered in its unit: all conform, on the limit."""
    rng = np.random.default_rng(9)
    whole = round(float(limit) * 10**places)
    sizes = rng.integers(5, 8, 20_000)
    zone = np.repeat(np.arange(sizes.size), sizes)
    counts = rng.integers(whole // 2, whole + whole // 2, zone.size)
    last = np.cumsum(sizes) - 1
    counts[last] += whole * sizes - np.bincount(zone, counts).astype(np.int64)  # the last reading makes it even
    values = counts / 10**places * factor(unit, "strength")
    spec = specification(("mean", "pull-off", f"{limit} {unit}"))
    names = tuple(str(i) for i in range(sizes.size))
    found = decide(spec, Cases(names, zone, np.arange(zone.size), {"pull-off": values}, {"pull-off": values}))
    assert set(found.outcome.tolist()) == {CONFORMS}
    assert found.tables[0].at_limit.all()


LADDER = ("any", ("z of n", "pull-off", "0.30 MPa", 4, 6), ("z of n", "pull-off", "0.30 MPa", 8, 12))


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # Six made, as 4 of 6 plans. 4 reach: met. 3 reach: 4 of 6 fails, and 8 of 12 could still have 3 + 6 = 9.
        ((0.31,) * 4 + (0.2,) * 2, CONFORMS),
        ((0.31,) * 3 + (0.2,) * 3, OPEN),
        ((0.31,) * 1 + (0.2,) * 5, FAILS),  # 1 + 6 = 7 of 12
    ],
)
def test_values_that_a_plan_lacks_could_do_either(values: tuple[float, ...], expected: Outcome) -> None:
    """Any of 4 of 6 and 8 of 12: the smaller plan sets the number of pulls; what the larger one lacks is open."""
    spec = specification(LADDER)
    found = decide(spec, cases_of(rows_of(*values), spec))["Z"]
    assert (found.n, found.outcome) == (6, expected)


def test_a_plan_lacks_too_many_values() -> None:
    """Any of 5 of 6 and 8 of 11, six made, 2 reach: 5 of 6 fails, and 2 + 5 = 7 of 11 at most."""
    spec = specification(("any", ("z of n", "pull-off", "0.30 MPa", 5, 6), ("z of n", "pull-off", "0.30 MPa", 8, 11)))
    found = decide(spec, cases_of(rows_of(*(0.31,) * 2, *(0.2,) * 4), spec))["Z"]
    assert (found.outcome, found.criteria[1].reached, found.criteria[1].could) == (FAILS, 2, 7)


@pytest.mark.parametrize("unit", ["psi", "bar", "kgf/cm²"])
def test_a_smallest_value_that_equals_the_limit_in_any_unit(unit: str) -> None:
    """Entered as the limit is written, in another unit than the one used inside: on the limit, for 300 limits."""
    for tenths in range(7, 3007, 10):
        value = tenths / 10 * factor(unit, "strength")
        spec = specification(("smallest", "pull-off", f"{tenths / 10} {unit}"))
        found = decide(spec, cases_of(rows_of(value, 2 * value), spec))["Z"]
        assert (found.outcome, found.criteria[0].at_limit) == (CONFORMS, True), tenths


def test_what_can_not_be_proven_is_said_to_be_open() -> None:
    """Fourteen different bounds from above have 2**14 corners, more than are looked at: undetermined, and said so."""
    rows = rows_of(2.0, 2.1, 2.2, *(f"<{2.0 + i / 100}" for i in range(14)))
    spec = specification(("tolerance", "pull-off", "0.20 MPa", 0.6, 0.5))
    found = decide(spec, cases_of(rows, spec))["Z"]
    assert (found.outcome, found.reason) == (OPEN, Reason.NOT_RESOLVED)
    # What is certain all the same is decided: the smallest value is below 3.00 whatever they are.
    spec = specification(("all", ("smallest", "pull-off", "3.00 MPa"), ("tolerance", "pull-off", "0.20 MPa", 0.6, 0.5)))
    assert decide(spec, cases_of(rows, spec))["Z"].outcome == FAILS
