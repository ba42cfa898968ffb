"""How often every bound covers what it should: run once, result committed as results/coverage.csv.

    python -m tests.benchmarks.study_coverage

Per population and n, many samples are drawn (seeded); each bound is computed for all of them and compared with the true
value. ``kind`` says what is claimed in that row:

- ``exact``: the population is the one that the bound is made for; coverage should be the claim;
- ``at least``: the level is held or exceeded whatever the population (counts, order statistics);
- ``drawn again``: an exact row that chance put beyond 3 standard errors; the row with six times the samples decides;
- ``approximate``: an approximation, or another population than the one assumed; the shortfall is what to look at.

Populations: normal (CoV 20 %), lognormal (CoV 25 %), Weibull (shape 4), 15 % weak patches (half the mean), and
normal values recorded in steps of 0.1 (sd 0.3). "Bounded" pulls (20 %) are those that exceed a bound drawn
independently of them; "taken as values" means that bounds with a formula take the bound for the value.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from adhesion_stats import statistics as room
from adhesion_stats.statistics.families import Family

RESULT = Path(__file__).parent / "results" / "coverage.csv"
SIZES = (3, 4, 5, 7, 10, 15, 20, 30)
COLUMNS = ("bound", "population", "bounded", "n", "claim", "kind", "replicates", "coverage", "standard_error")
CHEAP, FITTED, STOPPED, WEIBULL, BOOTSTRAP = 100_000, 4_000, 10_000, 10_000, 2_000

Values = NDArray[np.float64]
Draw = Callable[[np.random.Generator, tuple[int, int]], Values]

_LOG_SD = math.sqrt(math.log(1.0 + 0.25**2))


@dataclass(frozen=True)
class Population:
    """A population and what is true of it."""

    name: str
    draw: Draw
    mean: float
    sd: float
    fractile: Callable[[float], float]
    step: float = 0.0


def _patches(share: float) -> float:
    def below(x: float) -> float:
        return 0.85 * float(special.ndtr((x - 1.0) / 0.15)) + 0.15 * float(special.ndtr((x - 0.5) / 0.15)) - share

    return float(optimize.brentq(below, -2.0, 3.0, xtol=1e-14))


POPULATIONS = (
    Population("normal", lambda g, s: g.normal(1.0, 0.2, s), 1.0, 0.2, lambda p: 1.0 + 0.2 * float(special.ndtri(p))),
    Population(
        "lognormal",
        lambda g, s: np.exp(g.normal(0.0, _LOG_SD, s)),
        math.exp(0.5 * _LOG_SD**2),
        0.25 * math.exp(0.5 * _LOG_SD**2),
        lambda p: math.exp(_LOG_SD * float(special.ndtri(p))),
    ),
    Population(
        "Weibull",
        lambda g, s: g.weibull(4.0, s),
        math.gamma(1.25),
        math.sqrt(math.gamma(1.5) - math.gamma(1.25) ** 2),
        lambda p: (-math.log1p(-p)) ** 0.25,
    ),
    Population(
        "weak patches",
        lambda g, s: g.normal(1.0, 0.15, s) - 0.5 * (g.random(s) < 0.15),
        1.0 - 0.075,
        math.sqrt(0.15**2 + 0.25 * 0.15 * 0.85),
        _patches,
    ),
    Population(
        "steps of 0.1", lambda g, s: g.normal(2.5, 0.3, s), 2.5, 0.3, lambda p: 2.5 + 0.3 * float(special.ndtri(p)), 0.1
    ),
)

Row = tuple[str, str, str, int, float, str, int, float, float]


def row(bound: str, population: str, bounded: str, n: int, claim: float, kind: str, hits: NDArray[np.bool_]) -> Row:
    """One line of the result."""
    share = float(np.mean(hits))
    error = math.sqrt(claim * (1.0 - claim) / hits.size)  # of the share where the claim is true
    return bound, population, bounded, n, claim, kind, hits.size, round(share, 5), round(error, 5)


def plain(p: Population, n: int, bounded: bool, replicates: int) -> Iterator[Row]:
    """All bounds with a formula, each on the same samples."""
    rng = np.random.default_rng([1, [q.name for q in POPULATIONS].index(p.name), n])
    values = p.draw(rng, (replicates, n))
    if bounded:
        values = np.minimum(values, rng.normal(p.mean + 0.8416 * math.sqrt(2.0) * p.sd, p.sd, values.shape))
    if p.step:
        values = np.round(values / p.step) * p.step
        values = values[np.ptp(values, axis=-1) > 0.01]  # equal readings have no spread; refused by the room
    x = np.sort(values, axis=-1)
    future = p.draw(rng, (x.shape[0], 3))
    label = "20 % taken as values" if bounded else "none"
    normal = "exact" if p.name == "normal" and not bounded else "approximate"
    q = p.fractile(0.05)

    def one(bound: str, claim: float, kind: str, hits: NDArray[np.bool_]) -> Row:
        return row(bound, p.name, label, n, claim, kind, hits)

    for level in (0.75, 0.95):
        lower = room.tolerance_bound_lower(x, content=0.95, confidence=level)
        yield one(f"tolerance bound 95 % content, {level:.0%}", level, normal, lower <= q)
        if float(x.min()) > 0.0:
            lower = room.tolerance_bound_lognormal(x, content=0.95, confidence=level)
            kind = "exact" if p.name == "lognormal" and not bounded else "approximate"
            yield one(f"lognormal tolerance bound 95 % content, {level:.0%}", level, kind, lower <= q)
    lower = room.tolerance_bound_known_sd(x, sd=p.sd, content=0.95, confidence=0.75)
    yield one("tolerance bound, sd known, 95 % content, 75%", 0.75, normal, lower <= q)
    others = np.sqrt(np.mean(np.square(p.sd * rng.standard_normal((x.shape[0], 36))), axis=-1))
    _, sd = room.mean_and_sd(x)
    df = 36 + n - 1
    pooled = np.sqrt((36 * others**2 + (n - 1) * sd**2) / df)
    k = room.k_pooled(n=n, degrees_of_freedom=df, content=0.95, confidence=0.75)
    yield one(
        "tolerance bound, sd pooled (36 more df), 95 % content, 75%", 0.75, normal, x.mean(axis=-1) - k * pooled <= q
    )
    if p.name == "normal":
        low, high = room.tolerance_interval(x, content=0.90, confidence=0.95)
        inside = special.ndtr((high - 1.0) / 0.2) - special.ndtr((low - 1.0) / 0.2)
        yield one("two-sided tolerance interval 90 % content, 95%", 0.95, normal, inside >= 0.90)
        share = float(special.ndtr(-1.0))
        found = room.share_below_normal(x, limit=0.8, confidence=0.95)
        yield one("upper limit of share below, 95%", 0.95, normal, found.high >= share)
        yield one("lower limit of share below, 95%", 0.95, normal, found.low <= share)
        below = np.count_nonzero(x < 0.8, axis=-1)
        low, high = room.share_interval_exact(below, n=n, confidence=0.90)
        yield one("share by counts, Clopper-Pearson, 90%", 0.90, "at least", (low <= share) & (share <= high))
        low, high = room.share_interval_wilson(below, n=n, confidence=0.90)
        yield one("share by counts, Wilson, 90%", 0.90, "approximate", (low <= share) & (share <= high))
    low, high = room.confidence_interval_mean(x, confidence=0.95)
    yield one("interval of the mean, 95%", 0.95, normal, (low <= p.mean) & (p.mean <= high))
    low, high = room.confidence_interval_sd(x, confidence=0.95)
    yield one("interval of the sd, 95%", 0.95, normal, (low <= p.sd) & (p.sd <= high))
    positive = x[x.mean(axis=-1) > 0.0]
    low, high = room.confidence_interval_cov(positive, confidence=0.90)
    yield one("interval of the CoV, 90%", 0.90, normal, (low <= p.sd / p.mean) & (p.sd / p.mean <= high))
    low, high = room.prediction_interval_mean(x, m=1, confidence=0.95)
    yield one("prediction of the next value, 95%", 0.95, normal, (low <= future[:, 0]) & (future[:, 0] <= high))
    lower = room.prediction_bound_mean(x, m=3, confidence=0.95)
    yield one("lower prediction of the next mean of 3, 95%", 0.95, normal, lower <= future.mean(axis=-1))
    lower = room.prediction_bound_smallest(x, m=3, confidence=0.95)
    yield one("lower prediction of the smallest of the next 3, 95%", 0.95, normal, lower <= future.min(axis=-1))
    lower = room.en1990_unknown(x, factors="formula")
    yield one("EN 1990 prediction of the next value, 95%", 0.95, normal, lower <= future[:, 0])
    lower = room.en14358_normal(x, factors="exact")
    yield one("EN 14358 normal, 75%", 0.75, "approximate", lower <= q)
    if n >= 3:
        bound = room.order_statistic_bound(x, content=0.5, confidence=0.75)
        # Exact for continuous populations; a lower bound taken for the value only lowers it.
        kind = "at least" if bounded or p.step else "exact"
        name = "order statistic, 50 % content, at least 75%"
        yield one(name, round(bound.confidence, 6), kind, bound.value <= p.fractile(0.5))


def weibull(n: int) -> Iterator[Row]:
    """The exact Weibull bound on its own population and on the others."""
    for i, p in enumerate(POPULATIONS):
        rng = np.random.default_rng([2, i, n])
        x = np.sort(p.draw(rng, (WEIBULL if p.name == "Weibull" else WEIBULL // 4, n)), axis=-1)
        x = x[x[:, 0] > 0.0]
        kind = "exact" if p.name == "Weibull" else "approximate"
        for level in (0.75, 0.95):
            lower = room.tolerance_bound_weibull(x, content=0.95, confidence=level)
            name = f"Weibull tolerance bound 95 % content, {level:.0%}"
            yield row(name, p.name, "none", n, level, kind, lower <= p.fractile(0.05))


def fitted(p: Population, family: Family, n: int, replicates: int) -> Iterator[Row]:
    """Limits from likelihood with 20 % bounded pulls, and plain ones from standard errors beside them."""
    rng = np.random.default_rng([3, [q.name for q in POPULATIONS].index(p.name), n])
    x = p.draw(rng, (replicates, n))
    c = rng.normal(p.mean + 0.8416 * math.sqrt(2.0) * p.sd, p.sd, x.shape)
    if family != "normal":
        x, c = np.maximum(x, 1e-9), np.maximum(c, 0.01)
    low, high = np.minimum(x, c), np.where(x <= c, x, np.inf)
    q, middle = p.fractile(0.05), p.fractile(0.5)
    hits: dict[str, list[NDArray[np.bool_]]] = {}
    claims = {
        "lower limit of 5 % fractile, 75%": (0.05, 0.25),
        "lower limit of 5 % fractile, 95%": (0.05, 0.05),
        "lower limit of median, 95%": (0.5, 0.05),
        "upper limit of median, 95%": (0.5, 0.95),
    }
    for stack in room.stacks(np.repeat(np.arange(replicates), n), low.ravel(), high.ravel()):
        fits = room.fit_trouble(stack) == room.FITS
        if not fits.any():
            continue
        some = room.Stack(stack.group[fits], stack.low[fits], stack.high[fits])
        for name, (share, probability) in claims.items():
            limit = room.bounded_fractile_limit(some, family=family, share=share, probability=probability)
            truth = q if share == 0.05 else middle
            hits.setdefault(name, []).append(limit >= truth if probability > 0.5 else limit <= truth)
        fit = room.fit_bounded(some, family=family)
        at = fit.fractile(0.05) if family == "normal" else np.log(fit.fractile(0.05))
        plain_limit = at - 0.67448975 * fit.standard_error(0.05)
        truth = q if family == "normal" else math.log(q)
        hits.setdefault("lower limit of 5 % fractile by standard error, 75%", []).append(plain_limit <= truth)
    for name, parts in hits.items():
        claim = float(name[-3:-1]) / 100.0
        yield row(f"{family} fit: {name}", p.name, "20 %", n, claim, "approximate", np.concatenate(parts))


def stopped(p: Population, family: Family, n: int, replicates: int, draw: int = 0) -> Iterator[Row]:
    """Limits where the largest fifth (one at least) is known only to exceed the largest exact value: exact.

    A row beyond 3 standard errors is kept as ``drawn again``, and six times as many other samples decide.
    """
    seeds = [6, [q.name for q in POPULATIONS].index(p.name), n]
    rng = np.random.default_rng([*seeds, draw] if draw else seeds)
    x = np.sort(p.draw(rng, (replicates, n)), axis=-1)
    m = n - max(1, n // 5)
    low = np.minimum(x, x[:, m - 1 : m])
    high = np.where(np.arange(n) < m, x, np.inf)
    stack = room.Stack(np.arange(replicates), low, high)
    for level in (0.75, 0.95):
        limit = room.bounded_fractile_limit(stack, family=family, share=0.05, probability=1.0 - level)
        name = f"{family} fit: lower limit of 5 % fractile, {level:.0%}"
        first = row(name, p.name, "largest fifth, type II", n, level, "exact", limit <= p.fractile(0.05))
        if draw or abs(first[7] - level) <= 3.0 * math.sqrt(level * (1.0 - level) / replicates):
            yield first
        else:
            yield (*first[:5], "drawn again", *first[6:])
            again = stopped(p, family, n, 6 * replicates, draw=1)
            yield from (second for second in again if second[4] == level)


def kaplan(p: Population, n: int, bounded: bool, replicates: int) -> Iterator[Row]:
    """Kaplan-Meier limits of the share above the median."""
    rng = np.random.default_rng([4, n, int(bounded)])
    x = p.draw(rng, (replicates, n))
    c = rng.normal(p.mean + 0.8416 * math.sqrt(2.0) * p.sd, p.sd, x.shape) if bounded else np.full(x.shape, np.inf)
    low, high = np.minimum(x, c), np.where(x <= c, x, np.inf)
    middle = p.fractile(0.5)
    hits = []
    for stack in room.stacks(np.repeat(np.arange(replicates), n), low.ravel(), high.ravel()):
        found = room.kaplan_meier(stack, confidence=0.95)
        last = np.count_nonzero(found.value <= middle, axis=-1) - 1
        rows, at = np.arange(stack.g), np.maximum(last, 0)
        start = 0.025 ** (1.0 / n)  # before the first value: nobody of n fell short
        below = np.where(last < 0, start, found.low[rows, at])
        above = np.where(last < 0, 1.0, found.high[rows, at])
        hits.append((below <= 0.5) & (above >= 0.5))
    label = "20 %" if bounded else "none"
    yield row("Kaplan-Meier limits at the median, 95%", p.name, label, n, 0.95, "at least", np.concatenate(hits))


def bootstrap(p: Population, n: int) -> Iterator[Row]:
    """BCa interval of the mean."""
    rng = np.random.default_rng([5, n])
    hits = []
    for x in p.draw(rng, (BOOTSTRAP, n)):
        found = room.bca_interval(
            x, statistic=lambda rows: rows.mean(axis=-1), confidence=0.95, resamples=1000, rng=rng
        )
        hits.append(found.low <= p.mean <= found.high)
    yield row("BCa interval of the mean, 95%", p.name, "none", n, 0.95, "approximate", np.array(hits))


def study(sizes: tuple[int, ...], *, scale: float) -> Iterator[Row]:
    """All rows; ``scale`` below 1 for a quick look."""
    cheap = int(CHEAP * scale)
    for n in sizes:
        fits = int(FITTED * scale) // (2 if n > 10 else 1)
        for p in POPULATIONS:
            for bounded in (False, True):
                yield from plain(p, n, bounded, cheap)
        for bounded in (False, True):
            yield from kaplan(POPULATIONS[0], n, bounded, cheap)
        pairs: tuple[tuple[int, Family], ...] = ((0, "normal"), (1, "lognormal"), (2, "weibull"), (3, "normal"))
        for index, family in pairs:
            yield from fitted(POPULATIONS[index], family, n, fits)
            if index != 3:
                yield from stopped(POPULATIONS[index], family, n, int(STOPPED * scale))
        if scale == 1.0:
            yield from weibull(n)
            if n >= room.BCA_LEAST_N:
                yield from bootstrap(POPULATIONS[0], n)
        print(n, file=sys.stderr, flush=True)


def main() -> None:
    """Run all and write the result, sorted."""
    rows = sorted(study(SIZES, scale=1.0))
    RESULT.parent.mkdir(exist_ok=True)
    with RESULT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows)


if __name__ == "__main__":
    main()
