"""What the next pull may be: worked by hand, and against deciding with each value put in."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, decide
from adhesion_stats.planning.ahead import NextPull, Run, next_pull
from adhesion_stats.statistics import k_one_sided
from tests.acceptance.build import cases_of, row, settled, specification

BOTH = ("all", ("mean", "pull-off", 1.5), ("smallest", "pull-off", 1.0))
ALWAYS = (Run(Decimal("0.00"), None),)


def ahead(
    values: list[float],
    requirement: tuple[object, ...] = BOTH,
    *,
    required: int | None = None,
    ceiling: float | None = None,
    pulls: str = 'recording_step = "0.01 MPa"',
    lost: int = 0,
) -> NextPull:
    """What the next pull may be after these values and so many lost ones."""
    spec = specification(requirement, required=required, ceiling=ceiling, pulls=pulls)
    rows = [row(value) for value in values] + [row(None, lost=True) for _ in range(lost)]
    found = next_pull(spec, [cases_of(rows, spec)], "Z")
    assert found is not None
    return found


def up_from(text: str) -> tuple[Run, ...]:
    """One run without end."""
    return (Run(Decimal(text), None),)


def test_the_last_pull_must_lift_the_mean() -> None:
    """1.80 + 1.20 = 3.00; three pulls of mean 1.50 sum to 4.50: the last must reach 1.50, and settles it."""
    found = ahead([1.80, 1.20], required=3)
    assert found.can_still == up_from("1.50")
    assert found.at_once == up_from("1.50")


def test_with_two_to_come_only_the_smallest_binds() -> None:
    """4.60 so far; the last pull may be as high as it likes, so the next must reach 1.00 only; none settles it."""
    found = ahead([1.80, 1.20, 1.60], required=5)
    assert found.can_still == up_from("1.00")
    assert found.at_once == ()


def test_a_ceiling_leaves_less_for_the_last() -> None:
    """3.00 of 7.50 so far: two pulls must bring 4.50, the last at most 2.50: the next must reach 2.00."""
    assert ahead([1.00, 1.00, 1.00], required=5, ceiling=2.5).can_still == up_from("2.00")


def test_a_zone_that_is_lost_whatever_comes() -> None:
    """0.90 lies below 1.00 for good."""
    found = ahead([0.90, 1.80], required=5)
    assert (found.can_still, found.at_once) == ((), ())


def test_z_of_n_by_hand() -> None:
    """Three of four at 1.00: with 0.80 and 1.20 both to come must reach it; with three there, nothing can harm."""
    rule = ("z of n", "pull-off", 1.0, 3, 4)
    found = ahead([0.80, 1.20], rule)
    assert (found.can_still, found.at_once) == (up_from("1.00"), ())
    found = ahead([1.20, 1.30, 1.10], rule)
    assert (found.can_still, found.at_once) == (ALWAYS, ALWAYS)
    found = ahead([1.20, 1.30, 0.90], rule)
    assert (found.can_still, found.at_once) == (up_from("1.00"), up_from("1.00"))


def test_without_a_number_the_next_is_one_more() -> None:
    """No number is asked: 1.40 alone fails; 1.60 more gives a mean of exactly 1.50."""
    found = ahead([1.40])
    assert found.at_once == up_from("1.60")


def test_a_spread_sets_an_upper_end_too() -> None:
    """1.20 1.25 1.22 1.24 and mean - k sd >= 1.00 (k by ISO 16269-6): the run's ends meet, the steps beyond fail."""
    k = k_one_sided(n=5, content=0.95, confidence=0.75)

    def bound(last: float) -> float:
        values = np.array([1.20, 1.25, 1.22, 1.24, last])
        return float(values.mean() - k * values.std(ddof=1))

    found = ahead([1.20, 1.25, 1.22, 1.24], ("tolerance", "pull-off", 1.0, 0.95, 0.75), required=5)
    (run,) = found.at_once
    assert run.high is not None
    assert found.can_still == found.at_once
    assert bound(float(run.low)) >= 1.0 > bound(float(run.low) - 0.01)
    assert bound(float(run.high)) >= 1.0 > bound(float(run.high) + 0.01)
    assert run.low < Decimal("1.23") < run.high


def test_an_upper_end_beyond_the_grid_is_found() -> None:
    """30.00 three times, k just above 1 / sqrt(4): the mean rises by d / 4, k sd by k d / 2, and only d far above the
    grid (four times 30.00) eats up the 30.00.
    """
    k = k_one_sided(n=4, content=0.6, confidence=0.75)
    found = ahead([30.0] * 3, ("tolerance", "pull-off", 0.01, 0.6, 0.75), required=4)
    high = found.at_once[-1].high
    assert high is not None
    assert high > 120
    d = (30.0 - 0.01) / (k / 2 - 1 / 4)
    assert abs(float(high) - (30.0 + d)) <= 0.01


def test_a_lost_pull_is_repeated_by_the_next() -> None:
    """Of three, one was lost: 1.80 and 1.20 are there, the retest must reach 1.50."""
    assert ahead([1.80, 1.20], required=3, lost=1).at_once == up_from("1.50")


def test_steps_are_those_of_the_contract() -> None:
    """200 psi in steps of 1 psi: 190 and 195 ask 215 of the third. Without a step: the last place of the limit."""
    spec = specification(("mean", "pull-off", 200.0), required=3, pulls='recording_step = "1 psi"', unit="psi")
    psi = 0.45359237 * 9.80665 / 25.4**2
    found = next_pull(spec, [cases_of([row(190 * psi), row(195 * psi)], spec)], "Z")
    assert found is not None
    assert (found.unit, found.step, found.step_from) == ("psi", Decimal(1), "contract")
    assert found.at_once == up_from("215")
    bare = ahead([1.80, 1.20], required=3, pulls="")
    assert (bare.step, bare.step_from, bare.at_once) == (Decimal("0.1"), "limit", up_from("1.5"))


def test_the_sum_that_misses_by_a_float_still_counts() -> None:
    """0.1-steps whose float mean falls a hair short of 1.5 meet on paper, and so here: 1.4 + 1.6 + 1.5."""
    assert ahead([1.4, 1.6], ("mean", "pull-off", 1.5), required=3).at_once == up_from("1.50")


@pytest.mark.parametrize("seed", range(12))
def test_every_value_agrees_with_deciding_it(seed: int) -> None:
    """Random zones and rules: at each value of a coarse grid the run says what the decision with that value says."""
    rng = np.random.default_rng(seed)
    rules: list[tuple[object, ...]] = [
        BOTH,
        ("any", ("mean", "pull-off", 1.5), ("z of n", "pull-off", 1.2, 3, 4)),
        ("all", ("tolerance", "pull-off", 0.8, 0.95, 0.75), ("mean", "pull-off", 1.3)),
        ("smallest", "pull-off", 1.1),
    ]
    requirement = rules[seed % 4]
    values = np.round(rng.normal(1.6, 0.3, 3), 2).tolist()
    spec = specification(requirement, required=4, pulls='recording_step = "0.05 MPa"')
    found = next_pull(spec, [cases_of([row(v) for v in values], spec)], "Z")
    assert found is not None
    for k in range(80):
        value = float(Decimal("0.05") * k)
        decided = decide(spec, cases_of([row(v) for v in [*values, value]], spec))["Z"].outcome
        for runs, good in (
            (found.can_still, decided != Outcome.DOES_NOT_CONFORM),
            (found.at_once, decided == Outcome.CONFORMS),
        ):
            within = any(
                run.low <= Decimal(str(value)) and (run.high is None or Decimal(str(value)) <= run.high) for run in runs
            )
            assert within == good, (requirement, values, value)


def test_all_ways_to_read_the_contract_must_agree() -> None:
    """Silent on lost pulls beyond the number: one of them could still hold a low value, so nothing settles it."""
    spec = specification(BOTH, required=2, pulls='recording_step = "0.01 MPa"')
    rows = [row(1.8), row(1.9), row(None, lost=True), row(None, lost=True)]
    ways = [cases_of(rows, spec, settled(lost=lost)) for lost in ("unknown", "left out")]
    found = next_pull(spec, ways, "Z")
    assert found is not None
    assert found.at_once == ()
    assert found.can_still == up_from("1.00")
