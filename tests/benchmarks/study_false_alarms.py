"""False alarms of every test, n = 3 to 30: a study, run once, its result committed as data/studies/false_alarms.csv.

    python -m tests.benchmarks.study_false_alarms                    # all; 100,000 samples a row
    python -m tests.benchmarks.study_false_alarms "Shapiro-Wilk"     # these tests; their rows replace those of the file
    python -m tests.benchmarks.study_false_alarms --population "normal"

Samples in which nothing is wrong are drawn from seven populations of mean 2.5: normal (sd 0.375), lognormal and Weibull
(coefficient of variation 25 %), normal with 15 % of values from patches of half the strength, normal values recorded to
0.1, by a test that knows the step and by one that does not, and normal values of which 20 % exceed a bound drawn
independently of them: bounded pulls, which every test skips, so that fewer than n are tested (samples with too few
exact values are left out; some n only). What a test flags there is a false alarm; in the patchy population it is the
share of samples flagged, wanted or not.

Claims: ``exact`` (the level is the nominal one in normal samples), ``at most`` (never above it), ``simulated`` (the
level by a table simulated apart from this study), ``approximate`` (a formula that is known to be off), ``none``,
``drawn again`` (an exact or simulated row that chance put beyond 3 standard errors; the row with six times the samples
decides). Variances and cell means (Cochran, Mandel) come from n cells of three values; Mandel's rates are those of one
given cell. Tests of two samples compare two of n values each.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    Population,
    Stack,
    anderson_darling,
    cochran,
    dixon,
    dixon_p_value,
    dixon_ratio,
    esd,
    grubbs,
    grubbs_ends,
    grubbs_pair,
    log_rank,
    mandel,
    median_screen,
    permutation_test,
    sd_test,
    shapiro_wilk,
    stacks,
    t_test,
    tietjen_moore_statistic,
)
from adhesion_stats.statistics.dixon_distribution import NEIGHBOUR, Ratio
from adhesion_stats.statistics.esd import EsdLevels
from adhesion_stats.statistics.populations import Shape
from adhesion_stats.statistics.screening import SIDES, Sides

SAMPLES, SEED = 100_000, 20260103
SIZES = range(3, 31)
SOME_SIZES = (3, 5, 10, 20, 30)
BOUNDED_SIZES = (3, 4, 5, 7, 10, 15, 20, 30)
NOMINAL = (0.05, 0.01)
MEAN, STEP = 2.5, 0.1
RESULTS = Path(__file__).parents[2] / "data" / "studies" / "false_alarms.csv"
HEADING = ("population", "test", "sides", "n", "nominal", "claim", "rate", "standard_error", "samples")

Flags = NDArray[np.bool_]
Values = NDArray[np.float64]
Flagging = Callable[[Values, float, float], Flags]
Row = tuple[str, str, str, int, float | str, str, str, str, int]


@dataclass(frozen=True)
class Screen:
    """A test at one level for one n; ``flags`` takes a block, a level and a recording step."""

    name: str
    sides: str
    claim: str
    smallest_n: int
    flags: Flagging
    knows_step: bool = True


@dataclass(frozen=True)
class Kind:
    """A population, the step that tests are told of, and whether a fifth of the pulls is bounded."""

    population: Population
    told: float = 0.0
    bounded: bool = False


def _population(shape: Shape, cov: float, *, weak: float = 0.0, step: float = 0.0) -> Population:
    return Population(
        shape=shape,
        cov=cov,
        weak_share=weak,
        weak_factor=0.5,
        recording_step=step / MEAN,
    )


STEP_KNOWN = "normal in steps of 0.1, step known"
POPULATIONS: dict[str, Kind] = {
    "normal": Kind(_population("normal", 0.15)),
    "lognormal 25 %": Kind(_population("lognormal", 0.25)),
    "Weibull 25 %": Kind(_population("weibull", 0.25)),
    "15 % weak patches": Kind(_population("normal", 0.15, weak=0.15)),
    STEP_KNOWN: Kind(_population("normal", 0.15, step=STEP), told=STEP),
    "normal in steps of 0.1, step not known": Kind(_population("normal", 0.15, step=STEP)),
    "normal, 20 % bounded and skipped": Kind(_population("normal", 0.15), bounded=True),
}


def every_test() -> list[Screen]:
    """Every test of single samples."""
    found = []
    for sides in SIDES:
        claim = "exact" if sides != "two" else "at most"
        found += [
            Screen("Grubbs", sides, claim, 3, _grubbs(sides)),
            Screen("Dixon (E178)", sides, claim, 3, _dixon(sides, "E178")),
            Screen("Grubbs, two in one tail", sides, claim, 4, _pair(sides)),
        ]
    found.append(Screen("Grubbs, one at either end", "both", "simulated", 4, _ends))
    for r in (2, 5):
        found.append(Screen(f"generalised ESD, r = {r}, published", "two", "approximate", 2 * r, _esd(r, "published")))
        found.append(Screen(f"generalised ESD, r = {r}, calibrated", "two", "simulated", 2 * r, _esd(r, "calibrated")))
    found.append(Screen("Dixon (Q test)", "two", "at most", 3, _dixon("two", "Q")))
    for ratio, (j, i) in NEIGHBOUR.items():
        found.append(Screen(f"Dixon {ratio}", "high", "exact", j + i + 1, _ratio(ratio), knows_step=False))  # type: ignore[arg-type]
    found.append(Screen("Tietjen-Moore, k = 2", "two", "simulated", 5, _tietjen_moore, knows_step=False))
    found.append(Screen("Shapiro-Wilk", "two", "approximate", 3, _shapiro_wilk, knows_step=False))
    found.append(Screen("Anderson-Darling", "two", "approximate", 8, _anderson_darling, knows_step=False))
    return found


def _grubbs(sides: Sides) -> Flagging:
    return lambda x, alpha, step: grubbs(x, alpha=alpha, sides=sides, recording_step=step).flagged


def _dixon(sides: Sides, convention: str) -> Flagging:
    return lambda x, alpha, step: dixon(x, alpha=alpha, sides=sides, convention=convention, recording_step=step).flagged


def _pair(sides: Sides) -> Flagging:
    return lambda x, alpha, step: grubbs_pair(x, alpha=alpha, sides=sides, recording_step=step).flagged


def _ends(x: Values, alpha: float, step: float) -> Flags:
    return grubbs_ends(x, alpha=alpha, recording_step=step).flagged


def _esd(r: int, levels: EsdLevels) -> Flagging:
    return lambda x, alpha, step: esd(x, r=r, alpha=alpha, levels=levels, recording_step=step).flagged


def _ratio(ratio: Ratio) -> Flagging:
    def flags(x: Values, alpha: float, _: float) -> Flags:
        found, _ends_up_high = dixon_ratio(x, ratio=ratio, sides="high")
        return np.asarray(dixon_p_value(found, ratio=ratio, n=x.shape[1], sides="high") <= alpha)

    return flags


@lru_cache(maxsize=64)
def _tietjen_moore_points(n: int) -> Values:
    """Statistics of a million normal samples, ascending: what the simulated p-value counts in."""
    rng = np.random.default_rng([SEED, n, 3])
    parts = [tietjen_moore_statistic(np.sort(rng.standard_normal((100_000, n)), axis=-1), k=2) for _ in range(10)]
    return np.sort(np.concatenate(parts))


def _tietjen_moore(x: Values, alpha: float, _: float) -> Flags:
    points = _tietjen_moore_points(x.shape[1])
    found = np.searchsorted(points, tietjen_moore_statistic(x, k=2), side="right")
    return np.asarray(found <= alpha * points.size)


def _where_values_differ(x: Values, flags: Callable[[Values], Flags]) -> Flags:
    """Flags of the rows that the test takes; equal readings raise none."""
    differ = x[:, 0] < x[:, -1]
    found = np.zeros(x.shape[0], dtype=np.bool_)
    found[differ] = flags(x[differ])
    return found


def _shapiro_wilk(x: Values, alpha: float, _: float) -> Flags:
    return _where_values_differ(x, lambda rows: shapiro_wilk(rows, recording_step=0.0).p_value <= alpha)


def _anderson_darling(x: Values, alpha: float, _: float) -> Flags:
    return _where_values_differ(x, lambda rows: anderson_darling(rows, recording_step=0.0).p_value <= alpha)


def _drawn(kind: Kind, g: int, n: int, rng: np.random.Generator) -> Values:
    x = MEAN * kind.population.draw(g=g, n=n, rng=rng)
    return np.round(x, 1) if kind.population.recording_step else x  # the step itself, free of the product's rounding


def _exact_blocks(kind: Kind, n: int, samples: int, smallest: int, rng: np.random.Generator) -> list[Values]:
    """Blocks of the exact values of samples of n of which a fifth is bounded, ``samples`` with enough of them."""
    sd, blocks, wanted = MEAN * kind.population.cov, [], samples
    while wanted > 0:
        x = _drawn(kind, samples, n, rng)
        bound = rng.normal(MEAN + 0.8416 * math.sqrt(2.0) * sd, sd, x.shape)
        low, high = np.minimum(x, bound), np.where(x <= bound, x, np.inf)
        taken = np.flatnonzero(np.count_nonzero(np.isfinite(high), axis=-1) >= smallest)[:wanted]
        wanted -= taken.size
        found = stacks(np.repeat(np.arange(taken.size), n), low[taken].ravel(), high[taken].ravel())
        blocks += [stack.exact_values for stack in found]
    return blocks


def _enough(n: int, smallest: int) -> bool:
    """Whether a quarter of such samples or more keeps enough exact values."""
    kept = sum(math.comb(n, m) * 0.8**m * 0.2 ** (n - m) for m in range(smallest, n + 1))
    return kept >= 0.25


def tested(kind: Kind, test: Screen, n: int) -> bool:
    """Whether the table has this test in this population at this size."""
    if kind.told and not test.knows_step:
        return False
    return n in BOUNDED_SIZES and _enough(n, test.smallest_n) if kind.bounded else n >= test.smallest_n


def rows(
    *, sizes: range = SIZES, samples: int = SAMPLES, only: tuple[str, ...] = (), populations: tuple[str, ...] = ()
) -> Iterator[Row]:
    """Every row of the table, in a fixed order; ``only`` those of the named tests and populations."""
    for number, (name, kind) in enumerate(POPULATIONS.items()):
        for n in sizes if not populations or name in populations else ():
            for found in _of_single_samples(name, kind, number, n, samples, only):
                yield from _decided(found, name, number, n, samples)
            if wanted("Cochran", only) or wanted("Mandel", only):
                for cells in _cells(name, kind, number, n, samples):
                    yield from _decided(cells, name, number, n, samples)
            if wanted("t test", only) or wanted("sd test", only):
                for pair in _two_samples(name, kind, number, n, samples, 0):
                    yield from _decided(pair, name, number, n, samples)
            if wanted("one by one", only):
                yield from _one_by_one(name, kind, number, n, samples)


def wanted(test: str, only: tuple[str, ...]) -> bool:
    """Whether a test is among the named ones, or all are."""
    return not only or any(test.startswith(part) or part.startswith(test) for part in only)


def _of_single_samples(
    name: str, kind: Kind, number: int, n: int, samples: int, only: tuple[str, ...], again: int = 0
) -> Iterator[Row]:
    tests = [test for test in every_test() if wanted(test.name, only) and tested(kind, test, n)]
    seeds = [SEED, number, n, 10] if again else [SEED, number, n]
    if not tests and not wanted("median", only):
        return
    if kind.bounded:
        for smallest in sorted({test.smallest_n for test in tests}):
            blocks = _exact_blocks(kind, n, samples, smallest, np.random.default_rng([*seeds, smallest]))
            for test in (test for test in tests if test.smallest_n == smallest):
                for nominal in NOMINAL:
                    flags = np.concatenate([test.flags(block, nominal, kind.told) for block in blocks])
                    yield _row(name, test.name, test.sides, n, nominal, test.claim, flags)
        return
    x = _drawn(kind, samples, n, np.random.default_rng(seeds))
    for test in tests:
        for nominal in NOMINAL:
            yield _row(name, test.name, test.sides, n, nominal, test.claim, test.flags(x, nominal, kind.told))
    if wanted("median", only):
        flagged = median_screen(x, limit=3.5, recording_step=kind.told).flagged
        yield _row(name, "median screen, limit 3.5", "two", n, None, "none", flagged)


def _cells(name: str, kind: Kind, number: int, n: int, samples: int, again: int = 0) -> Iterator[Row]:
    """Cochran and Mandel: n cells of three values."""
    if kind.bounded:
        return  # cells are compared whole
    seeds = [SEED, number, n, 11] if again else [SEED, number, n, 1]
    values = _drawn(kind, samples * n, 3, np.random.default_rng(seeds))
    means = values.mean(axis=1).reshape(samples, n)
    sds = values.std(axis=1, ddof=1).reshape(samples, n)
    for nominal in NOMINAL:
        flagged = cochran(sds**2, degrees_of_freedom=2, alpha=nominal, recording_step=kind.told).flagged
        yield _row(name, "Cochran, cells of 3", "high", n, nominal, "exact", flagged)
        screen = mandel(means, sds, n=3, alpha=nominal, recording_step=kind.told)
        yield _row(name, "Mandel h, one cell", "two", n, nominal, "exact", screen.h_flagged[:, 0])
        yield _row(name, "Mandel k, one cell, cells of 3", "high", n, nominal, "exact", screen.k_flagged[:, 0])


def true_sd(population: Population) -> float:
    """Standard deviation of a population's values, in units of the mean of its sound part; recording adds step^2/12."""
    w, f, v = population.weak_share, population.weak_factor, population.cov
    mean = 1.0 - w + w * f
    square = (1.0 + v * v) * (1.0 - w + w * f * f)
    return math.sqrt(square - mean * mean + population.recording_step**2 / 12.0)


def _two_samples(name: str, kind: Kind, number: int, n: int, samples: int, again: int) -> Iterator[Row]:
    """Two samples of n values of one population each; and one against its true standard deviation."""
    if kind.told or kind.bounded:
        return
    rng = np.random.default_rng([SEED, number, n, 2 + 10 * again])
    a, b = _drawn(kind, samples, n, rng), _drawn(kind, samples, n, rng)
    sd = MEAN * true_sd(kind.population)
    spread = (a[:, 0] < a[:, -1]) | (b[:, 0] < b[:, -1])
    of_sd = sd_test(a, sd=sd, confidence=0.95, recording_step=0.0)
    of_means = {
        "t test, equal spreads": (
            "exact",
            t_test(a[spread], b[spread], spreads="equal", confidence=0.95, recording_step=0.0).p_value,
        ),
        "t test, Welch": (
            "approximate",
            t_test(a[spread], b[spread], spreads="unequal", confidence=0.95, recording_step=0.0).p_value,
        ),
    }
    for nominal in NOMINAL:
        for test, (claim, p) in of_means.items():
            yield _row(name, test, "two", n, nominal, claim, p <= nominal)
        yield _row(name, "sd test", "low", n, nominal, "exact", of_sd.p_lower <= nominal)
        yield _row(name, "sd test", "high", n, nominal, "exact", of_sd.p_upper <= nominal)


def _one_by_one(name: str, kind: Kind, number: int, n: int, samples: int) -> Iterator[Row]:
    """Tests that take one pair of samples at a time, at some sizes: exact permutation, log-rank."""
    rng = np.random.default_rng([SEED, number, n, 4])
    if name in {"normal", "lognormal 25 %"} and n in {4, 5}:
        a, b = _drawn(kind, samples, n, rng), _drawn(kind, samples, n, rng)
        p = permutation_test(a, b, recording_step=0.0).p_two_sided
        for nominal in NOMINAL:
            yield _row(name, "exact permutation", "two", n, nominal, "at most", p <= nominal)
    if (name == "normal" or kind.bounded) and n in SOME_SIZES:
        p = np.array([_log_rank_p(kind, n, rng) for _ in range(samples)])
        for nominal in NOMINAL:
            yield _row(name, "log-rank", "two", n, nominal, "approximate", p <= nominal)


def _log_rank_p(kind: Kind, n: int, rng: np.random.Generator) -> float:
    x = MEAN * (1.0 + kind.population.cov * rng.standard_normal((2, n)))
    high = x.copy()
    if kind.bounded:
        sd = MEAN * kind.population.cov
        bound = rng.normal(MEAN + 0.8416 * math.sqrt(2.0) * sd, sd, x.shape)
        x, high = np.minimum(x, bound), np.where(x <= bound, x, np.inf)
    order = np.argsort(x, axis=-1)
    x, high = np.take_along_axis(x, order, axis=-1), np.take_along_axis(high, order, axis=-1)
    a, b = (Stack(np.zeros(1, dtype=np.int64), x[i : i + 1], high[i : i + 1]) for i in (0, 1))
    try:
        return float(log_rank(a, b, weights="log-rank", recording_step=0.0).p_value[0])
    except InvalidSample:  # no exact value, or groups that do not overlap in any: refused, and so no flag
        return 1.0


def _decided(found: Row, name: str, number: int, n: int, samples: int) -> Iterator[Row]:
    """The row; where chance put a claimed level beyond 3 standard errors, that and one of six times the samples."""
    population, test, sides, _, nominal, claim, rate, _, size = found
    if name != "normal" or claim not in {"exact", "simulated"} or not isinstance(nominal, float):
        yield found
        return
    own = 1.0 / 1_000_000 if claim == "simulated" else 0.0
    if abs(float(rate) - nominal) <= 3.0 * math.sqrt(nominal * (1.0 - nominal) * (1.0 / size + own)):
        yield found
        return
    yield (population, test, sides, n, nominal, "drawn again", *found[6:])
    kind = POPULATIONS[name]
    more = [
        *_of_single_samples(name, kind, number, n, 6 * samples, (test,), again=1),
        *(_cells(name, kind, number, n, 6 * samples, again=1) if test[:6] in {"Cochra", "Mandel"} else ()),
        *(_two_samples(name, kind, number, n, 6 * samples, 1) if " test" in test[:8] else ()),
    ]
    yield next(row for row in more if row[:5] == found[:5])


def _row(population: str, test: str, sides: str, n: int, nominal: float | None, claim: str, flagged: Flags) -> Row:
    samples = flagged.size
    rate = float(flagged.mean())
    inner = min(max(rate, 1.0 / samples), 1.0 - 1.0 / samples)
    error = math.sqrt(inner * (1.0 - inner) / samples)
    shown = "" if nominal is None else nominal
    return population, test, sides, n, shown, claim, f"{rate:.5f}", f"{error:.5f}", samples


def kept() -> list[tuple[str, ...]]:
    """Rows of the file, if there is one."""
    if not RESULTS.is_file():
        return []
    with RESULTS.open(encoding="utf-8", newline="") as file:
        return [tuple(line) for line in csv.reader(file)][1:]


def merged(old: list[tuple[str, ...]], new: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """New rows in place of the old ones of the same population, test, sides and n; by population and n."""
    again = {line[:4] for line in new}
    order = {name: at for at, name in enumerate(POPULATIONS)}
    every = [line for line in old if line[:4] not in again] + new
    return sorted(every, key=lambda line: (order[line[0]], int(line[3])))


def write(lines: list[tuple[str, ...]]) -> None:
    """Write the table."""
    RESULTS.parent.mkdir(exist_ok=True)
    with RESULTS.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(HEADING)
        writer.writerows(lines)


def main() -> None:
    """Run the study; rows go into the table population by population, n by n."""
    parser = argparse.ArgumentParser(description="False alarms of every test.")
    parser.add_argument("tests", nargs="*", help="first words of tests; default: all")
    parser.add_argument("--population", action="append", default=[], choices=list(POPULATIONS))
    arguments = parser.parse_args()
    for name in arguments.population or POPULATIONS:
        for n in SIZES:
            found = rows(sizes=range(n, n + 1), only=tuple(arguments.tests), populations=(name,))
            write(merged(kept(), [tuple(str(cell) for cell in row) for row in found]))
            print(name, n, file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
