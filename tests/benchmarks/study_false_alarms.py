"""False alarms of every test that flags, n = 3 to 30: a study, run once, its result committed.

Samples in which nothing is wrong are drawn from six populations of mean 2.5: normal (sd 0.375), lognormal and Weibull
(coefficient of variation 25 %), normal with 15 % of values from patches of half the strength, and normal values
recorded to 0.1, by a test that knows the step and by one that does not. What a test flags there is a false alarm; in
the patchy population it is the share of samples flagged, wanted or not.

Claims: ``exact`` (the level is the nominal one in normal samples), ``at most`` (never above it), ``simulated`` (the
level by a table simulated apart from this study), ``approximate`` (a published formula that is known to be off),
``none``. Variances and cell means (Cochran, Mandel) come from n cells of three values; Mandel's rates are those of one
given cell.

    python -m tests.benchmarks.study_false_alarms           # 100,000 samples a row, seed 20260103
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics import (
    Population,
    cochran,
    dixon,
    esd,
    grubbs,
    grubbs_ends,
    grubbs_pair,
    mandel,
    median_screen,
)
from adhesion_stats.statistics.esd import EsdLevels
from adhesion_stats.statistics.populations import Shape
from adhesion_stats.statistics.screening import SIDES, Sides

SAMPLES, SEED = 100_000, 20260103
SIZES = range(3, 31)
NOMINAL = (0.05, 0.01)
MEAN, STEP = 2.5, 0.1
RESULTS = Path(__file__).parent / "results" / "false_alarms.csv"
HEADING = ("population", "test", "sides", "n", "nominal", "claim", "rate", "standard_error", "samples")

Flags = NDArray[np.bool_]
Values = NDArray[np.float64]
Flagging = Callable[[Values, float, float], Flags]


@dataclass(frozen=True)
class Screen:
    """A test at one level for one n."""

    name: str
    sides: str
    claim: str
    smallest_n: int
    flags: Flagging


def _population(shape: Shape, cov: float, *, weak: float = 0.0, step: float = 0.0) -> Population:
    return Population(
        shape=shape,
        cov=cov,
        weak_share=weak,
        weak_factor=0.5,
        recording_step=step / MEAN,
    )


# Population, and the step that tests are told of.
POPULATIONS: dict[str, tuple[Population, float]] = {
    "normal": (_population("normal", 0.15), 0.0),
    "lognormal 25 %": (_population("lognormal", 0.25), 0.0),
    "Weibull 25 %": (_population("weibull", 0.25), 0.0),
    "15 % weak patches": (_population("normal", 0.15, weak=0.15), 0.0),
    "normal in steps of 0.1, step known": (_population("normal", 0.15, step=STEP), STEP),
    "normal in steps of 0.1, step not known": (_population("normal", 0.15, step=STEP), 0.0),
}


def every_test() -> list[Screen]:
    """Every test of single samples; ``flags`` takes a block, a level and a recording step."""
    found = []
    for sides in SIDES:
        claim = "exact" if sides != "two" else "at most"
        found += [
            Screen("Grubbs", sides, claim, 3, _grubbs(sides)),
            Screen("Dixon (E178)", sides, claim, 3, _dixon(sides)),
            Screen("Grubbs, two in one tail", sides, claim, 4, _pair(sides)),
        ]
    found.append(Screen("Grubbs, one at either end", "both", "simulated", 4, _ends))
    for r in (2, 5):
        found.append(Screen(f"generalised ESD, r = {r}, published", "two", "approximate", 2 * r, _esd(r, "published")))
        found.append(Screen(f"generalised ESD, r = {r}, calibrated", "two", "simulated", 2 * r, _esd(r, "calibrated")))
    return found


def _grubbs(sides: Sides) -> Flagging:
    return lambda x, alpha, step: grubbs(x, alpha=alpha, sides=sides, recording_step=step).flagged


def _dixon(sides: Sides) -> Flagging:
    return lambda x, alpha, step: dixon(x, alpha=alpha, sides=sides, convention="E178", recording_step=step).flagged


def _pair(sides: Sides) -> Flagging:
    return lambda x, alpha, step: grubbs_pair(x, alpha=alpha, sides=sides, recording_step=step).flagged


def _ends(x: Values, alpha: float, step: float) -> Flags:
    return grubbs_ends(x, alpha=alpha, recording_step=step).flagged


def _esd(r: int, levels: EsdLevels) -> Flagging:
    return lambda x, alpha, step: esd(x, r=r, alpha=alpha, levels=levels, recording_step=step).flagged


def rows(*, sizes: range = SIZES, samples: int = SAMPLES) -> Iterator[tuple[object, ...]]:
    """Every row of the table, in a fixed order."""
    for number, (name, (population, known)) in enumerate(POPULATIONS.items()):
        for n in sizes:
            x = MEAN * population.draw(g=samples, n=n, rng=np.random.default_rng([SEED, number, n]))
            if population.recording_step:
                x = np.round(x, 1)  # the step itself, free of the rounding of the product
            for test in every_test():
                if n < test.smallest_n:
                    continue
                for nominal in NOMINAL:
                    yield _row(name, test.name, test.sides, n, nominal, test.claim, test.flags(x, nominal, known))
            flagged = median_screen(x, limit=3.5, recording_step=known).flagged
            yield _row(name, "median screen, limit 3.5", "two", n, None, "none", flagged)
            yield from _cells(name, population, known, number, n, samples)


def _cells(
    name: str, population: Population, known: float, number: int, n: int, samples: int
) -> Iterator[tuple[object, ...]]:
    """Cochran and Mandel: n cells of three values."""
    g = samples
    values = MEAN * population.draw(g=g * n, n=3, rng=np.random.default_rng([SEED, number, n, 1]))
    if population.recording_step:
        values = np.round(values, 1)
    means = values.mean(axis=1).reshape(g, n)
    sds = values.std(axis=1, ddof=1).reshape(g, n)
    for nominal in NOMINAL:
        flagged = cochran(sds**2, degrees_of_freedom=2, alpha=nominal, recording_step=known).flagged
        yield _row(name, "Cochran, cells of 3", "high", n, nominal, "exact", flagged)
        screen = mandel(means, sds, n=3, alpha=nominal, recording_step=known)
        yield _row(name, "Mandel h, one cell", "two", n, nominal, "exact", screen.h_flagged[:, 0])
        yield _row(name, "Mandel k, one cell, cells of 3", "high", n, nominal, "exact", screen.k_flagged[:, 0])


def _row(
    population: str, test: str, sides: str, n: int, nominal: float | None, claim: str, flagged: Flags
) -> tuple[object, ...]:
    samples = flagged.size
    rate = float(flagged.mean())
    inner = min(max(rate, 1.0 / samples), 1.0 - 1.0 / samples)
    error = math.sqrt(inner * (1.0 - inner) / samples)
    return (
        population,
        test,
        sides,
        n,
        "" if nominal is None else nominal,
        claim,
        f"{rate:.5f}",
        f"{error:.5f}",
        samples,
    )


def main() -> None:
    """Run the study and write the table."""
    RESULTS.parent.mkdir(exist_ok=True)
    with RESULTS.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(HEADING)
        last = None
        for row in rows():
            writer.writerow(row)
            if (row[0], row[3]) != last:
                last = (row[0], row[3])
                print(*last, flush=True)


if __name__ == "__main__":
    main()
