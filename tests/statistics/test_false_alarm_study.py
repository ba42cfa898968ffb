"""The committed study of false alarms: normal samples show what is claimed, and the study can be repeated."""

from __future__ import annotations

import csv
import math

import pytest

from tests.benchmarks.study_false_alarms import NOMINAL, POPULATIONS, RESULTS, SAMPLES, SIZES, every_test, rows


def _table() -> list[dict[str, str]]:
    with RESULTS.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


TABLE = _table()
NORMAL = [row for row in TABLE if row["population"] == "normal"]


def test_the_table_is_complete() -> None:
    """Every population, test, size and level is there, with 100,000 samples or more."""
    found = {(row["population"], row["test"], row["sides"], int(row["n"]), row["nominal"]) for row in TABLE}
    for population in POPULATIONS:
        for test in every_test():
            for n in SIZES:
                for nominal in NOMINAL:
                    there = (population, test.name, test.sides, n, str(nominal)) in found
                    assert there == (n >= test.smallest_n)
    assert min(int(row["samples"]) for row in TABLE) >= SAMPLES >= 100_000


@pytest.mark.parametrize("claim", ["exact", "simulated"])
def test_claimed_levels_hold_in_normal_samples(claim: str) -> None:
    """Each of 650 rows within three standard errors of its level (simulated tables: those of their own added)."""
    mine = [row for row in NORMAL if row["claim"] == claim]
    assert len(mine) == (500 if claim == "exact" else 150)
    for row in mine:
        level = float(row["nominal"])
        own = 1.0 / 1_000_000 if claim == "simulated" else 0.0
        error = math.sqrt(level * (1.0 - level) * (1.0 / int(row["samples"]) + own))
        assert abs(float(row["rate"]) - level) < 3.0 * error, row


def test_bounds_are_not_exceeded_in_normal_samples() -> None:
    """Two-sided tests by the half level at either end stay at or below their level."""
    mine = [row for row in NORMAL if row["claim"] == "at most"]
    assert len(mine) > 100
    for row in mine:
        level = float(row["nominal"])
        assert float(row["rate"]) < level + 3.0 * math.sqrt(level * (1.0 - level) / int(row["samples"])), row
        assert float(row["rate"]) > 0.85 * level, row


def test_shortfall_of_the_published_esd_is_shown() -> None:
    """At nominal 5 % the published levels are twice that for n = 5, and still above it for n = 30."""
    rate = {
        (row["test"], int(row["n"])): float(row["rate"])
        for row in NORMAL
        if row["claim"] == "approximate" and row["nominal"] == "0.05"
    }
    assert rate["generalised ESD, r = 2, published", 5] > 0.09
    assert rate["generalised ESD, r = 5, published", 10] > 0.12
    assert rate["generalised ESD, r = 2, published", 30] > 0.05


def test_knowing_the_step_keeps_false_alarms_below_the_level() -> None:
    """Values recorded to 0.1: no test that knows it raises more false alarms than it claims."""
    for row in TABLE:
        if row["population"] == "normal in steps of 0.1, step known" and row["claim"] in {
            "exact",
            "at most",
            "simulated",
        }:
            assert float(row["rate"]) < float(row["nominal"]), row


def test_the_normal_assumption_matters() -> None:
    """Lognormal, 25 %, n = 10: Grubbs' high side at a nominal 5 % is 15 % (to half a percent)."""
    (row,) = (
        row
        for row in TABLE
        if (row["population"], row["test"], row["sides"], row["n"], row["nominal"])
        == ("lognormal 25 %", "Grubbs", "high", "10", "0.05")
    )
    assert float(row["rate"]) == pytest.approx(0.15, abs=0.005)


def test_the_study_runs() -> None:
    """A small run of the same code gives rates that agree with the table within four joint errors."""
    at = {(row["population"], row["test"], row["sides"], row["n"], row["nominal"]): row for row in TABLE}
    samples, count = 4000, 0
    for population, test, sides, n, nominal, _, rate, _, size in rows(sizes=range(6, 7), samples=samples):
        row = at[str(population), str(test), str(sides), str(n), str(nominal)]
        expected = float(row["rate"])
        error = math.sqrt(max(expected * (1.0 - expected), 1e-4) / samples)
        assert size == samples
        assert abs(float(str(rate)) - expected) < 4.5 * error, row
        count += 1
    assert count > 100
