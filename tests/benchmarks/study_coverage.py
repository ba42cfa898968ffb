"""How often every bound covers what it should: run once, result committed as data/studies/coverage.csv.

    python -m tests.benchmarks.study_coverage                    # all, n = 3 to 30; hours
    python -m tests.benchmarks.study_coverage formula kaplan     # these parts; their rows replace those of the file
    python -m tests.benchmarks.study_coverage --sizes 3,5 fitted

Per population and n, 100,000 samples are drawn (seeded); each bound is computed for all of them and compared with the
true value. Samples that a bound refuses (equal readings, nothing exact) are left out, so that some rows have a little
fewer. ``kind`` says what is claimed in that row:

- ``exact``: the population is the one that the bound is made for; coverage should be the claim;
- ``at least``: the level is held or exceeded whatever the population (counts, order statistics);
- ``drawn again``: an exact row that chance put beyond 3 standard errors; the row with six times the samples decides;
- ``approximate``: an approximation, or another population than the one assumed; the shortfall is what to look at.

Populations: normal (CoV 20 %), lognormal (CoV 25 %), Weibull (shape 4), 15 % weak patches (half the mean), and
normal values recorded in steps of 0.1 (sd 0.3). "Bounded" pulls (20 %) are those that exceed a bound drawn
independently of them; "taken as values" means that bounds with a formula take the bound for the value.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from adhesion_stats import statistics as room
from tests.benchmarks.coverage_common import (
    COLUMNS,
    FEW_SIZES,
    POPULATIONS,
    REPLICATES,
    SIZES,
    SOME_SIZES,
    Case,
    Population,
    Row,
    by_chance,
    rounded,
    seeds,
    surprising,
)
from tests.benchmarks.coverage_fits import OWN, PAIRS, bootstrap, fitted, kaplan, named, stopped, two_places, weibull

RESULT = Path(__file__).parents[2] / "data" / "studies" / "coverage.csv"
Part = Callable[[int], Iterator[Row]]
Values = NDArray[np.float64]


def formula(p: Population, n: int, bounded: bool, replicates: int = REPLICATES, again: bool = False) -> Iterator[Row]:
    """All bounds with a formula, each on the same samples."""
    rng = np.random.default_rng(seeds(1, p, n, again))
    values = p.draw(rng, (replicates, n))
    if bounded:
        values, _ = by_chance(p, values, rng)
    values = rounded(p, values)
    if p.step:
        values = values[np.ptp(values, axis=-1) > 0.01]  # equal readings have no spread; refused by the room
    x = np.sort(values, axis=-1)
    future = p.draw(rng, (x.shape[0], 3))
    # Standard deviations of other zones, with 36 degrees of freedom, for the pooled bound.
    others = np.sqrt(np.mean(np.square(p.sd * rng.standard_normal((x.shape[0], 36))), axis=-1))
    case = Case(p, x, future, bounded)
    yield from _tolerance(case, others)
    yield from _shares(case)
    yield from _spread_and_prediction(case)
    yield from _standards(case)
    yield from _order_statistics(case)


def _tolerance(case: Case, others: Values) -> Iterator[Row]:
    p, x, n, normal = case.p, case.x, case.n, case.kind("normal")
    q = p.fractile(0.05)
    positive = x[x[:, 0] > 0.0]  # logarithms are refused otherwise
    for level in (0.75, 0.95):
        lower = room.tolerance_bound_lower(x, content=0.95, confidence=level)
        yield case.one(f"tolerance bound 95 % content, {level:.0%}", level, normal, lower <= q)
        lower = room.tolerance_bound_lognormal(positive, content=0.95, confidence=level)
        name = f"lognormal tolerance bound 95 % content, {level:.0%}"
        yield case.one(name, level, case.kind("lognormal"), lower <= q)
    lower = room.tolerance_bound_known_sd(x, sd=p.sd, content=0.95, confidence=0.75)
    yield case.one("tolerance bound, sd known, 95 % content, 75%", 0.75, normal, lower <= q)
    mean, sd = room.mean_and_sd(x)
    df = 36 + n - 1
    pooled = np.sqrt((36 * others**2 + (n - 1) * sd**2) / df)
    k = room.k_pooled(n=n, degrees_of_freedom=df, content=0.95, confidence=0.75)
    yield case.one("tolerance bound, sd pooled (36 more df), 95 % content, 75%", 0.75, normal, mean - k * pooled <= q)
    low, high = room.tolerance_interval(x, content=0.90, confidence=0.95)
    inside = p.below(high) - p.below(low)
    yield case.one("two-sided tolerance interval 90 % content, 95%", 0.95, normal, inside >= 0.90)


def _shares(case: Case) -> Iterator[Row]:
    p, x, normal = case.p, case.x, case.kind("normal")
    limit = p.mean - p.sd
    share = float(p.below(np.asarray(limit)))
    found = room.share_below_normal(x, limit=limit, confidence=0.95)
    yield case.one("upper limit of share below, 95%", 0.95, normal, found.high >= share)
    yield case.one("lower limit of share below, 95%", 0.95, normal, found.low <= share)
    if p.step or case.bounded:
        return  # what is counted then is another share
    below = np.count_nonzero(x < limit, axis=-1)
    low, high = room.share_interval_exact(below, n=case.n, confidence=0.90)
    yield case.one("share by counts, Clopper-Pearson, 90%", 0.90, "at least", (low <= share) & (share <= high))
    low, high = room.share_interval_wilson(below, n=case.n, confidence=0.90)
    yield case.one("share by counts, Wilson, 90%", 0.90, "approximate", (low <= share) & (share <= high))


def _spread_and_prediction(case: Case) -> Iterator[Row]:
    p, x, future, normal = case.p, case.x, case.future, case.kind("normal")
    low, high = room.confidence_interval_mean(x, confidence=0.95)
    yield case.one("interval of the mean, 95%", 0.95, normal, (low <= p.mean) & (p.mean <= high))
    low, high = room.confidence_interval_sd(x, confidence=0.95)
    yield case.one("interval of the sd, 95%", 0.95, normal, (low <= p.sd) & (p.sd <= high))
    positive = x[x.mean(axis=-1) > 0.0]
    low, high = room.confidence_interval_cov(positive, confidence=0.90)
    yield case.one("interval of the CoV, 90%", 0.90, normal, (low <= p.sd / p.mean) & (p.sd / p.mean <= high))
    low, high = room.prediction_interval_mean(x, m=1, confidence=0.95)
    yield case.one("prediction of the next value, 95%", 0.95, normal, (low <= future[:, 0]) & (future[:, 0] <= high))
    lower = room.prediction_bound_mean(x, m=3, confidence=0.95)
    yield case.one("lower prediction of the next mean of 3, 95%", 0.95, normal, lower <= future.mean(axis=-1))
    lower = room.prediction_bound_smallest(x, m=3, confidence=0.95)
    yield case.one("lower prediction of the smallest of the next 3, 95%", 0.95, normal, lower <= future.min(axis=-1))
    low, high = room.prediction_interval_sd(x, m=3, confidence=0.90)
    sd = future.std(axis=-1, ddof=1)
    yield case.one("prediction of the sd of the next 3, 90%", 0.90, normal, (low <= sd) & (sd <= high))


def _standards(case: Case) -> Iterator[Row]:
    p, x, n, normal = case.p, case.x, case.n, case.kind("normal")
    next_value, q = case.future[:, 0], p.fractile(0.05)
    lower = room.en1990_unknown(x, factors="formula")
    yield case.one("EN 1990 prediction of the next value, 95%", 0.95, normal, lower <= next_value)
    lower = room.en1990_known_sd(x, sd=p.sd, factors="formula")
    yield case.one("EN 1990 with sd known, next value, 95%", 0.95, normal, lower <= next_value)
    lower = room.en1990_known_cov(x, cov=p.sd / p.mean, factors="formula")
    yield case.one("EN 1990 with CoV known, next value, 95%", 0.95, "approximate", lower <= next_value)
    lower = room.en14358_normal(x, factors="exact")
    yield case.one("EN 14358 normal, 75%", 0.75, "approximate", lower <= q)
    lower = room.en14358_lognormal(x[x[:, 0] > 0.0], factors="exact")
    yield case.one("EN 14358 lognormal, 75%", 0.75, "approximate", lower <= q)
    mean, sd = room.mean_and_sd(x)
    for level in (0.75, 0.90, 0.95):
        lower = mean - room.k_iso12491(n=n, confidence=level, spread="unknown") * sd
        yield case.one(f"ISO 12491 5 % fractile, {level:.0%}", level, normal, lower <= q)
        lower = mean - room.k_iso12491(n=n, confidence=level, spread="known") * p.sd
        yield case.one(f"ISO 12491 5 % fractile, sd known, {level:.0%}", level, normal, lower <= q)


def _order_statistics(case: Case) -> Iterator[Row]:
    p, x, n = case.p, case.x, case.n
    # Exact for continuous populations; a lower bound taken for the value only lowers it.
    kind = "at least" if case.bounded or p.step else "exact"
    for content in (0.5, 0.9):
        if 1.0 - content**n >= 0.75:
            bound = room.order_statistic_bound(x, content=content, confidence=0.75)
            name = f"order statistic, {content:.0%} content, at least 75%".replace("%", " %", 1)
            yield case.one(name, round(bound.confidence, 6), kind, bound.value <= p.fractile(1.0 - content))
    if not (p.step or case.bounded):
        chance = room.chance_next_all_above(n=n, rank=1, m=3)
        above = case.future.min(axis=-1) > x[:, 0]
        yield case.one("chance that the next 3 are all above the smallest", round(chance, 6), "exact", above)


def decided(part: Callable[[bool], Iterator[Row]]) -> Iterator[Row]:
    """Rows of a part; of exact ones beyond 3 standard errors the samples drawn again decide, and both are kept."""
    first = list(part(False))
    surprises = {found[0] for found in first if surprising(found)}
    for found in first:
        yield (*found[:5], "drawn again", *found[6:]) if found[0] in surprises else found
    if surprises:
        yield from (found for found in part(True) if found[0] in surprises)


def _formula(n: int) -> Iterator[Row]:
    for p in POPULATIONS:
        for bounded in (False, True):
            yield from decided(
                lambda again, p=p, bounded=bounded: formula(  # type: ignore[misc]
                    p, n, bounded, REPLICATES * (6 if again else 1), again
                )
            )


def _stopped(n: int) -> Iterator[Row]:
    for name, family in OWN:
        if n >= 3:
            yield from decided(
                lambda again, name=name, family=family: stopped(  # type: ignore[misc]
                    named(name), family, n, REPLICATES * (6 if again else 1), again
                )
            )


def _weibull(n: int) -> Iterator[Row]:
    for p in POPULATIONS:
        yield from decided(
            lambda again, p=p: weibull(p, n, REPLICATES * (6 if again else 1), again)  # type: ignore[misc]
        )


def _kaplan(n: int) -> Iterator[Row]:
    for p in POPULATIONS:
        for bounded in (False, True):
            yield from kaplan(p, n, bounded)


def _own(n: int) -> Iterator[Row]:
    for name, family in OWN:
        yield from fitted(named(name), family, n)


def _wrong(n: int) -> Iterator[Row]:
    for name, family in PAIRS[len(OWN) :]:
        yield from fitted(named(name), family, n)


def _competing(n: int) -> Iterator[Row]:
    for correlation in (0.0, 0.7):
        yield from two_places(correlation, n)


def _bootstrap(n: int) -> Iterator[Row]:
    if n >= room.BCA_LEAST_N:
        yield from bootstrap(POPULATIONS[0], n)


# Part, and the sizes at which it is run.
PARTS: dict[str, tuple[Part, tuple[int, ...]]] = {
    "formula": (_formula, SIZES),
    "kaplan": (_kaplan, SIZES),
    "weibull": (_weibull, SIZES),
    "stopped": (_stopped, SIZES),
    "fitted": (_own, SIZES),
    "wrong-family": (_wrong, SIZES),
    "competing": (_competing, FEW_SIZES),
    "bootstrap": (_bootstrap, SOME_SIZES),
}


def key(found: tuple[object, ...]) -> tuple[str, ...]:
    """What a row is about: bound, population, bounded, n."""
    return tuple(str(cell) for cell in found[:4])


def merged(old: list[tuple[str, ...]], new: list[Row]) -> list[tuple[str, ...]]:
    """New rows in place of the old ones about the same, sorted."""
    again = {key(found) for found in new}
    every = [line for line in old if key(line) not in again] + [tuple(str(cell) for cell in found) for found in new]
    return sorted(every, key=lambda line: (*line[:3], int(line[3]), *line[4:]))


def kept() -> list[tuple[str, ...]]:
    """Rows of the file, if there is one."""
    if not RESULT.is_file():
        return []
    with RESULT.open(encoding="utf-8", newline="") as file:
        return [tuple(line) for line in csv.reader(file)][1:]


def write(lines: list[tuple[str, ...]]) -> None:
    """Write the file."""
    RESULT.parent.mkdir(exist_ok=True)
    with RESULT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(lines)


def main() -> None:
    """Run the parts named, and put their rows into the file after each size."""
    parser = argparse.ArgumentParser(description="Coverage of every bound.")
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], default=[])
    parser.add_argument("--sizes", default="", help="sizes, as 3,4,5; default: all of the part")
    arguments = parser.parse_args()
    wanted = {int(size) for size in arguments.sizes.split(",") if size}
    for name in arguments.parts or PARTS:
        part, sizes = PARTS[name]
        for n in sizes:
            if not wanted or n in wanted:
                found = list(part(n))
                write(merged(kept(), found))
                print(name, n, len(found), file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
