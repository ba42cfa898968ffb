"""The committed coverage study (data/studies/coverage.csv), and a small part of it run again."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from adhesion_stats.statistics import NORMALITY_POWER, normality_power, shapiro_wilk
from tests.benchmarks import coverage_fits, study_coverage
from tests.benchmarks.coverage_common import POPULATIONS, REPLICATES, SIZES, SOME_SIZES
from tests.benchmarks.coverage_common import row as row_of

with study_coverage.RESULT.open(encoding="utf-8", newline="") as _file:
    ROWS = list(csv.DictReader(_file))


def _apart(row: dict[str, str]) -> float:
    """Coverage less claim, in standard errors."""
    claim, count = float(row["claim"]), int(row["replicates"])
    return (float(row["coverage"]) - claim) / math.sqrt(claim * (1.0 - claim) / count)


def _of(kind: str) -> list[dict[str, str]]:
    return [row for row in ROWS if row["kind"] == kind]


FITTED = ("fit:", "BCa", "competing risks", "whatever the dependence")


def _formula(row: dict[str, str]) -> bool:
    """Whether a bound has a formula: computed for every n."""
    return not any(part in row["bound"] for part in FITTED)


def test_every_bound_with_a_formula_is_there_for_every_n() -> None:
    """N = 3 to 30 in every population, 20 % bounded and not, with 100,000 samples (less those that are refused)."""
    bounds = {row["bound"] for row in ROWS if _formula(row)}
    assert len(bounds) >= 30
    found = {(row["bound"], row["population"], row["bounded"], int(row["n"])) for row in ROWS}
    everywhere = {
        bound for bound in bounds if not bound.startswith(("Kaplan", "Weibull tol", "share by", "chance", "order"))
    }
    assert len(everywhere) >= 23
    for bound in everywhere:
        for p in POPULATIONS:
            for bounded in ("none", "20 % taken as values"):
                assert {n for n in SIZES if (bound, p.name, bounded, n) in found} == set(SIZES), (bound, p.name)
    simple = [row for row in ROWS if row["bound"] in everywhere and "lognormal" not in row["bound"]]
    assert min(int(row["replicates"]) for row in simple) > 0.95 * REPLICATES


def test_fitted_bounds_are_there_for_some_n() -> None:
    """Right and wrong families with 20 % bounded, the largest fifth cut off, Weibull's own bound, Kaplan-Meier."""
    found = {(row["bound"], row["population"], row["bounded"], int(row["n"])) for row in ROWS}
    some = set(SOME_SIZES)
    assert some <= {n for n in SIZES if ("Weibull tolerance bound 95 % content, 75%", "Weibull", "none", n) in found}
    for bounded in ("none", "20 %"):
        assert some <= {n for n in SIZES if ("Kaplan-Meier limits at the median, 95%", "normal", bounded, n) in found}
    for name, family in coverage_fits.PAIRS[:4]:
        bound = f"{family} fit: lower limit of 5 % fractile, 75%"
        assert set(SOME_SIZES) <= {n for n in SIZES if (bound, name, "20 %", n) in found}
    for name, family in coverage_fits.OWN:
        bound = f"{family} fit: lower limit of 5 % fractile, 75%"
        assert set(SOME_SIZES) <= {n for n in SIZES if (bound, name, "largest fifth, type II", n) in found}


def test_exact_bounds_cover_what_they_claim() -> None:
    """Within 3 standard errors, and all together scatter as chance does."""
    assert [row for row in _of("exact") if abs(_apart(row)) > 3.0] == []
    scatter = math.sqrt(sum(_apart(row) ** 2 for row in _of("exact")) / len(_of("exact")))
    assert 0.85 < scatter < 1.15


def test_what_was_drawn_again_is_what_chance_brings() -> None:
    """At most one exact row in a hundred lay beyond 3 standard errors at first, none beyond 4.5."""
    again = _of("drawn again")
    assert len(again) <= 0.01 * len(_of("exact"))
    assert all(3.0 < abs(_apart(row)) < 4.5 for row in again)


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
    assert len(rows) >= 3 * 4 * len(SOME_SIZES)
    away = [float(row["coverage"]) - float(row["claim"]) for row in rows]
    assert min(away) > -0.015
    assert max(away) < 0.060


def test_a_part_run_again_gives_the_same_numbers() -> None:
    """The rows of one population and n, bit by bit; the file says what the script gives."""
    again = list(study_coverage.formula(POPULATIONS[0], 5, False))
    again += list(coverage_fits.weibull(coverage_fits.named("Weibull"), 5))
    kept = {tuple(row.values()) for row in ROWS}
    assert len(again) > 28
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
        flagged = float(np.mean(shapiro_wilk(x, recording_step=0.0).p_value < 0.05))
        stated = normality_power(n=n, population=next(name for name in NORMALITY_POWER if name == population))
        assert abs(flagged - stated) < 4.0 * math.sqrt(stated * (1.0 - stated) / 20_000) + 0.0005


def test_the_fits_run() -> None:
    """Small runs of the parts that take long agree with the table within five joint errors."""
    at = {(row["bound"], row["population"], row["bounded"], row["n"]): row for row in ROWS}
    normal, count = POPULATIONS[0], 400
    again = [
        *coverage_fits.fitted(normal, "normal", 5, count),
        *coverage_fits.stopped(normal, "normal", 5, count),
        *coverage_fits.kaplan(normal, 5, True, count),
        *coverage_fits.bootstrap(normal, 10, 100),
    ]
    assert len(again) == 9
    for bound, population, bounded, n, claim, _, replicates, coverage, _ in again:
        row = at[bound, population, bounded, str(n)]
        expected = float(row["coverage"])
        assert float(row["claim"]) == claim
        error = math.sqrt(max(expected * (1.0 - expected), 0.01) / replicates)
        assert abs(coverage - expected) < 5.0 * error, bound


def test_new_rows_take_the_place_of_old_ones() -> None:
    """Merging replaces what is about the same and keeps the rest, sorted by n as a number."""
    old = [("a", "p", "none", "10", "0.9", "exact", "5", "1.0", "0.1"), ("b", "p", "none", "3", *"defgh")]
    new = row_of("a", "p", "none", 10, 0.5, "exact", np.array([True, False]))
    found = study_coverage.merged(old, [new, row_of("a", "p", "none", 9, 0.5, "x", np.array([True]))])
    assert [line[:4] for line in found] == [("a", "p", "none", "9"), ("a", "p", "none", "10"), ("b", "p", "none", "3")]
    assert found[1][7] == "0.5"


def test_the_result_stands_where_the_script_writes_it() -> None:
    """In the folder of studies, which travels with the notebook that shows it."""
    assert Path(__file__).parents[2] / "data" / "studies" / "coverage.csv" == study_coverage.RESULT
