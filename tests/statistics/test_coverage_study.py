"""The committed coverage study (tests/benchmarks/results/coverage.csv), and a small part of it run again."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from adhesion_stats.statistics import NORMALITY_POWER, normality_power, shapiro_wilk
from tests.benchmarks import study_coverage

with study_coverage.RESULT.open(encoding="utf-8", newline="") as _file:
    ROWS = list(csv.DictReader(_file))


def _apart(row: dict[str, str]) -> float:
    """Coverage less claim, in standard errors."""
    claim, count = float(row["claim"]), int(row["replicates"])
    return (float(row["coverage"]) - claim) / math.sqrt(claim * (1.0 - claim) / count)


def _of(kind: str) -> list[dict[str, str]]:
    return [row for row in ROWS if row["kind"] == kind]


def test_the_study_is_whole() -> None:
    """Every n, population and kind is there."""
    assert {int(row["n"]) for row in ROWS} == set(study_coverage.SIZES)
    assert {row["population"] for row in ROWS} == {p.name for p in study_coverage.POPULATIONS}
    assert len(_of("exact")) > 200
    assert len(_of("at least")) > 50
    assert len(_of("approximate")) > 1000


def test_exact_bounds_cover_what_they_claim() -> None:
    """Within 3 standard errors, and all together scatter as chance does."""
    assert [row for row in _of("exact") if abs(_apart(row)) > 3.0] == []
    scatter = math.sqrt(sum(_apart(row) ** 2 for row in _of("exact")) / len(_of("exact")))
    assert 0.85 < scatter < 1.15


def test_what_was_drawn_again_is_what_chance_brings() -> None:
    """At most one exact row in a hundred lay beyond 3 standard errors at first, none beyond 4."""
    again = _of("drawn again")
    assert len(again) <= 0.01 * len(_of("exact"))
    assert all(3.0 < abs(_apart(row)) < 4.0 for row in again)


def test_bounds_that_claim_at_least_hold_it() -> None:
    """Never more than 3 standard errors below."""
    assert [row for row in _of("at least") if _apart(row) < -3.0] == []


def test_approximate_bounds_print_their_shortfall(capsys: pytest.CaptureFixture[str]) -> None:
    """The ten largest shortfalls, as a table; plain standard errors on few values are among what falls short."""
    short = sorted(_of("approximate"), key=lambda row: float(row["coverage"]) - float(row["claim"]))
    for row in short[:10]:
        print(f"{row['bound']} | {row['population']} | bounded: {row['bounded']} | n {row['n']}: "
              f"{float(row['coverage']):.3f} for {float(row['claim']):.2f}")  # fmt: skip
    assert len(capsys.readouterr().out.splitlines()) == 10
    plain = next(
        row
        for row in ROWS
        if row["bound"] == "normal fit: lower limit of 5 % fractile by standard error, 75%"
        and (row["population"], row["n"]) == ("normal", "5")
    )
    assert float(plain["coverage"]) < 0.60


def test_calibrated_limits_stay_near_their_claim_where_bounds_are_a_matter_of_chance() -> None:
    """20 % bounded, population and fit alike: never more than 1.5 points below, at most 5 points above."""
    alike = {"normal": "normal", "lognormal": "lognormal", "Weibull": "weibull"}
    rows = [
        row
        for row in _of("approximate")
        if row["bounded"] == "20 %"
        and "standard error" not in row["bound"]
        and row["bound"].startswith(alike.get(row["population"], "-"))
    ]
    assert len(rows) == 3 * 4 * len(study_coverage.SIZES)
    away = [float(row["coverage"]) - float(row["claim"]) for row in rows]
    assert min(away) > -0.015
    assert max(away) < 0.060


def test_a_part_run_again_gives_the_same_numbers() -> None:
    """The rows of one population and n, bit by bit; the file says what the script gives."""
    again = list(study_coverage.plain(study_coverage.POPULATIONS[0], 5, False, study_coverage.CHEAP))
    kept = {tuple(row.values()) for row in ROWS}
    assert len(again) > 15
    for row in again:
        assert tuple(str(cell) for cell in row) in kept


@pytest.mark.parametrize("population", NORMALITY_POWER)
def test_stated_power_of_the_normality_test(population: str) -> None:
    """20,000 samples anew, other seeds: within 4 standard errors and half of the last digit."""
    draws = {
        "normal": lambda g, s: g.normal(1.0, 0.2, s),
        "lognormal, CoV 25 %": lambda g, s: np.exp(g.normal(0.0, math.sqrt(math.log(1.0 + 0.25**2)), s)),
        "Weibull, shape 4": lambda g, s: g.weibull(4.0, s),
        "15 % weak patches": lambda g, s: g.normal(1.0, 0.15, s) - 0.5 * (g.random(s) < 0.15),
    }
    for n, _ in next(cells for name, cells in NORMALITY_POWER.items() if name == population):
        x = np.sort(draws[population](np.random.default_rng([77, n]), (20_000, n)), axis=-1)
        flagged = float(np.mean(shapiro_wilk(x).p_value < 0.05))
        stated = normality_power(n=n, population=next(name for name in NORMALITY_POWER if name == population))
        assert abs(flagged - stated) < 4.0 * math.sqrt(stated * (1.0 - stated) / 20_000) + 0.0005


def test_the_result_stands_where_the_script_writes_it() -> None:
    """Beside the other results."""
    assert Path(study_coverage.__file__).parent / "results" / "coverage.csv" == study_coverage.RESULT
