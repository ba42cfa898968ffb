"""What the two committed studies claim as exact, judged together: as many rows far off as chance brings, and no more.

With hundreds of rows, some lie beyond three standard errors although nothing is wrong. Such a row is drawn again with
six times the samples, and that decides ("drawn again" is what it was at first). So three things are asked: that every
deciding row lies within three standard errors; that no more rows were drawn again than chance explains; and that the
farthest first draw is no farther than the farthest of so many should be.
"""

from __future__ import annotations

import csv
import math

import pytest
from scipy import stats

from adhesion_stats.locate import packaged

STUDIES = packaged("data", "studies")
BEYOND_THREE = 2.0 * stats.norm.sf(3.0)
TABLES = {  # file: (column of the kind, claim, share found, samples)
    "false_alarms.csv": ("claim", "nominal", "rate", "samples"),
    "coverage.csv": ("kind", "claim", "coverage", "replicates"),
}


def _rows(name: str) -> tuple[list[tuple[float, str]], list[float]]:
    """(errors away from the claim, kind) of deciding rows that claim to be exact, and of first draws decided anew."""
    kind, claim, found, samples = TABLES[name]
    deciding, first = [], []
    with (STUDIES / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            told = row[kind]
            if told not in {"exact", "simulated", "drawn again"} or row["population"] not in _own(name, row):
                continue
            level = float(row[claim])
            spare = 1e-6 if told == "simulated" else 0.0  # its table is made of a million samples
            error = math.sqrt(level * (1.0 - level) * (1.0 / int(row[samples]) + spare))
            away = (float(row[found]) - level) / error
            if told == "drawn again":
                first.append(away)
            else:
                deciding.append((away, told))
    return deciding, first


def _own(name: str, row: dict[str, str]) -> set[str]:
    """Populations in which the claim is made: normal ones for tests; a bound's kind is already that of its row."""
    return {"normal"} if name == "false_alarms.csv" else {row["population"]}


@pytest.mark.parametrize("name", TABLES)
def test_every_exact_claim_holds_within_three_standard_errors(name: str) -> None:
    """Each deciding row; there are hundreds."""
    deciding, _ = _rows(name)
    assert len(deciding) > 800
    assert [away for away, _ in deciding if abs(away) > 3.0] == []


@pytest.mark.parametrize("name", TABLES)
def test_first_draws_were_no_farther_off_than_chance_explains(name: str) -> None:
    """Their number by the binomial, the farthest by the largest of so many normal ones; each at one in a thousand."""
    deciding, first = _rows(name)
    count = len(deciding)
    assert stats.binom.sf(len(first) - 1, count, BEYOND_THREE) > 1e-3
    farthest = max((abs(away) for away in first), default=3.0)
    assert 1.0 - (1.0 - 2.0 * stats.norm.sf(farthest)) ** count > 1e-3


@pytest.mark.parametrize("name", TABLES)
def test_exact_claims_scatter_as_chance_does_on_both_sides(name: str) -> None:
    """Mean of the distances near 0 and their spread near 1: no small bias hides within the band of three errors."""
    away = [one for one, kind in _rows(name)[0] if kind == "exact"]
    # Rows share samples (both levels, both sides, all bounds of one n), so that a tenth of them counts as independent.
    independent = len(away) / 10.0
    assert abs(sum(away) / len(away)) < 4.0 / math.sqrt(independent)
    assert abs(math.sqrt(sum(z * z for z in away) / len(away)) - 1.0) < 4.0 / math.sqrt(2.0 * independent)
