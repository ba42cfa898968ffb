"""Consistency of preparation, and the outlier tests as they act on zones."""

from __future__ import annotations

import pytest

from adhesion_stats.judging import judge, preparation_messages, screen
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Specification
from tests.building import Pull, pulls, specification, strengths

SETTLED = Settled(50.0, "discard", 100.0, "unknown")
ASKED = '[[require]]\nmean_at_least = "1.50 MPa"\n'
WIRE = (568.0, 570.0, 570.0, 570.0, 572.0, 572.0, 572.0, 578.0, 584.0, 596.0)  # ASTM E178 example 1


def judged(rows: list[Pull], text: str = ASKED) -> tuple[Pulls, Standing, Specification]:
    """Return table, standing and terms."""
    table, terms = pulls(rows), specification(text)
    return table, judge(table, terms, SETTLED).standing, terms


def test_mixed_cut_and_uncut_is_said() -> None:
    """A zone with cut and uncut pulls is named."""
    table, standing, terms = judged([Pull(1.5, cut="yes"), Pull(1.6, cut="no")])
    found = preparation_messages(table, standing, terms)
    assert [(m.code, m.facts["what"]) for m in found] == [("mixed_preparation", "cut")]


def test_dollies_of_50_mm_and_2_inch_are_two_sizes() -> None:
    """50 mm and 50.8 mm differ by 3.2 % in area."""
    table, standing, terms = judged([Pull(1.5, dolly_mm=50.0), Pull(1.6, dolly_mm=50.8)])
    assert [m.code for m in preparation_messages(table, standing, terms)] == ["mixed_preparation"]


def test_breaches_and_missing_records_of_the_method_are_said() -> None:
    """What departs from the contract's method is named; what was not recorded is counted."""
    text = ASKED + '[method]\ndolly = "50 mm"\ncut = "yes"\n'
    table, standing, terms = judged([Pull(1.5, dolly_mm=20.0, cut="yes"), Pull(1.6, dolly_mm=50.0)], text)
    found = preparation_messages(table, standing, terms)
    codes = [(m.code, m.facts["what"]) for m in found if m.code != "mixed_preparation"]
    assert codes == [("method_breach", "dolly size"), ("method_not_recorded", "cut round the dolly")]


def test_an_uncut_pull_needs_no_depth_and_rates_are_said_in_the_contracts_unit() -> None:
    """The depth of a cut that was not made is not missing; a rate asked in psi/s is said in psi/s."""
    asked = '[[require]]\nmean_at_least = "200 psi"\n'
    text = asked + '[method]\ncut_depth = ["10 mm", "20 mm"]\nrate = ["1 psi/s", "30 psi/s"]\n'
    table, standing, terms = judged([Pull(1.5, cut="no"), Pull(1.6, cut="no")], text)
    found = {m.facts["what"]: m.facts for m in preparation_messages(table, standing, terms)}
    assert set(found) == {"loading rate"}
    assert found["loading rate"]["asked"] == "1 to 30 psi/s"


def test_shares_off_the_step_are_said() -> None:
    """Failure shares to the nearest 10 % (common practice, no published source) are checked where asked."""
    text = ASKED + '[method]\nfailure_shares_step = "10 %"\n'
    table, standing, terms = judged([Pull(1.5, failure={"A": 75.0, "B": 25.0}), Pull(1.6, failure={"A": 100.0})], text)
    assert [m.facts["count"] for m in preparation_messages(table, standing, terms)] == [1]


def test_e178_example_is_flagged_by_grubbs_and_not_by_dixon() -> None:
    """ASTM E178 example 1: G = 2.390 exceeds 2.176 (5 %, one-sided); r11 = 0.4615 stays below 0.4779."""
    rows = strengths(*WIRE)
    table, standing, terms = judged(rows, ASKED + '[screening]\nside = "high"\n')
    flags, result = screen(table, standing, terms.screening, zones=("Z",), recording_step_mpa=0.0)
    by_test = {row.test: row for row in result.rows}
    assert by_test["grubbs"].statistic == pytest.approx(2.39012, abs=5e-6)
    assert by_test["grubbs"].p == pytest.approx(0.0118179, abs=5e-8)
    assert by_test["dixon"].statistic == pytest.approx(12 / 26, rel=1e-12)
    assert (by_test["grubbs"].flagged, by_test["dixon"].flagged) == (True, False)
    assert by_test["grubbs"].pull == 9
    assert int(flags.flags[9]) == 2
    assert flags.counted.all()  # flagged pulls still count


def test_bounded_and_invalid_pulls_take_no_part() -> None:
    """A lower bound far off is no outlier, and neither is a pull that does not count."""
    rows = [*strengths(1.5, 1.6, 1.55, 1.52), Pull(9.0, bound=Bound.AT_LEAST), Pull(0.1, failure={"Y": 100.0})]
    table, standing, terms = judged(rows, ASKED + '[screening]\nside = "both"\n')
    _, result = screen(table, standing, terms.screening, zones=("Z",), recording_step_mpa=0.0)
    assert {row.n for row in result.rows} == {4}


def test_a_tie_within_the_recording_step_is_no_flag() -> None:
    """1.5 1.5 1.6 recorded to 0.1: the distance may be rounding alone."""
    table, standing, terms = judged(strengths(1.5, 1.5, 1.6), ASKED + '[screening]\nside = "high"\n')
    _, with_step = screen(table, standing, terms.screening, zones=("Z",), recording_step_mpa=0.1)
    _, without = screen(table, standing, terms.screening, zones=("Z",), recording_step_mpa=0.0)
    assert not any(row.flagged for row in with_step.rows)
    assert {row.note.code for row in with_step.rows if row.note} == {"screening_step"}
    assert all(row.flagged for row in without.rows)


def test_too_few_and_equal_values_are_said_in_words() -> None:
    """Two values allow no test; equal values leave nothing to test."""
    rows = [*strengths(1.5, 1.6, zone="few"), *strengths(1.5, 1.5, 1.5, zone="equal")]
    table, standing, terms = judged(rows)
    _, result = screen(table, standing, terms.screening, zones=("few", "equal"), recording_step_mpa=0.0)
    assert [row.note.code if row.note else None for row in result.rows] == [
        "screening_too_few", "screening_too_few", "screening_all_equal", "screening_all_equal"
    ]  # fmt: skip


def test_flags_by_chance_are_counted_over_the_zones_tested() -> None:
    """Forty zones at 5 % bring two flags on average."""
    rows = [Pull(1.0 + 0.01 * k, zone=f"Z{z}") for z in range(40) for k in range(5)]
    table, standing, terms = judged(rows)
    zones = tuple(f"Z{z}" for z in range(40))
    _, result = screen(table, standing, terms.screening, zones=zones, recording_step_mpa=0.0)
    assert {test: (tested, round(expected, 9)) for test, tested, expected, _ in result.by_test} == {
        "grubbs": (40, 2.0),
        "dixon": (40, 2.0),
    }
