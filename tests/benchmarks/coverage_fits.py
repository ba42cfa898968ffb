"""The half of the coverage study that fits distributions: bounded values, Weibull samples, Kaplan-Meier, bootstrap.

Whether a limit of confidence c lies on its right side of the true value is the same as whether the confidence reached
for that value is c at most; one integration then serves every level. ``test_bounded_limits`` shows that both functions
are each other turned round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from adhesion_stats import statistics as room
from adhesion_stats.statistics.families import Family
from tests.benchmarks.coverage_common import (
    POPULATIONS,
    REPLICATES,
    Population,
    Row,
    Values,
    by_chance,
    fitted_stacks,
    rounded,
    row,
    seeds,
)

# Population and family that are fitted to each other; the last two are wrong on purpose.
PAIRS: tuple[tuple[str, Family], ...] = (
    ("normal", "normal"),
    ("lognormal", "lognormal"),
    ("Weibull", "weibull"),
    ("weak patches", "normal"),
    ("steps of 0.1", "normal"),
)
OWN = PAIRS[:3]
# Bound, share of the fractile, least and largest confidence reached at the true value that count as covered.
CLAIMS = (
    ("lower limit of 5 % fractile, 75%", 0.05, 0.75),
    ("lower limit of 5 % fractile, 95%", 0.05, 0.95),
    ("lower limit of median, 95%", 0.5, 0.95),
    ("upper limit of median, 95%", 0.5, 0.05),
)


def named(name: str) -> Population:
    """Population by name."""
    return next(p for p in POPULATIONS if p.name == name)


def fitted(p: Population, family: Family, n: int, replicates: int = REPLICATES) -> Iterator[Row]:
    """Limits from likelihood with 20 % bounded pulls, and plain ones from standard errors beside them."""
    rng = np.random.default_rng(seeds(3, p, n, again=False))
    x = p.draw(rng, (replicates, n))
    low, high = by_chance(p, x, rng)
    if family != "normal":
        low = np.maximum(low, 1e-9)
        high = np.maximum(high, low)
    low, high = rounded(p, low), rounded(p, high)
    hits: dict[str, list[NDArray[np.bool_]]] = {name: [] for name, _, _ in CLAIMS}
    plain: list[NDArray[np.bool_]] = []
    for stack in fitted_stacks(low, high):
        reached = {
            share: room.bounded_confidence_above(stack, family=family, share=share, value=p.fractile(share))
            for share in (0.05, 0.5)
        }
        for name, share, level in CLAIMS:
            hits[name].append(reached[share] <= level if level > 0.5 else reached[share] >= level)
        fit = room.fit_bounded(stack, family=family)
        at = fit.fractile(0.05) if family == "normal" else np.log(fit.fractile(0.05))
        truth = p.fractile(0.05) if family == "normal" else math.log(p.fractile(0.05))
        plain.append(at - 0.67448975 * fit.standard_error(0.05) <= truth)
    hits["lower limit of 5 % fractile by standard error, 75%"] = plain
    for name, parts in hits.items():
        claim = float(name[-3:-1]) / 100.0
        yield row(f"{family} fit: {name}", p.name, "20 %", n, claim, "approximate", np.concatenate(parts))


def stopped(p: Population, family: Family, n: int, replicates: int = REPLICATES, again: bool = False) -> Iterator[Row]:
    """Limits where the largest fifth (one at least) is known only to exceed the largest exact value: exact."""
    rng = np.random.default_rng(seeds(6, p, n, again))
    x = np.sort(p.draw(rng, (replicates, n)), axis=-1)
    m = n - max(1, n // 5)
    low = np.minimum(x, x[:, m - 1 : m])
    high = np.where(np.arange(n) < m, x, np.inf)
    stack = room.Stack(np.arange(replicates), low, high)
    reached = room.bounded_confidence_above(stack, family=family, share=0.05, value=p.fractile(0.05))
    for level in (0.75, 0.95):
        name = f"{family} fit: lower limit of 5 % fractile, {level:.0%}"
        yield row(name, p.name, "largest fifth, type II", n, level, "exact", reached <= level)


def weibull(p: Population, n: int, replicates: int = REPLICATES, again: bool = False) -> Iterator[Row]:
    """The exact Weibull bound on its own population and on the others."""
    rng = np.random.default_rng(seeds(2, p, n, again))
    x = np.sort(rounded(p, p.draw(rng, (replicates, n))), axis=-1)
    x = x[(x[:, 0] > 0.0) & (x[:, -1] - x[:, 0] > 0.01 * (p.step > 0.0))]
    kind = "exact" if p.name == "Weibull" else "approximate"
    reached = room.confidence_above_weibull(x, content=0.95, value=p.fractile(0.05))
    for level in (0.75, 0.95):
        yield row(
            f"Weibull tolerance bound 95 % content, {level:.0%}", p.name, "none", n, level, kind, reached <= level
        )


def kaplan(p: Population, n: int, bounded: bool, replicates: int = REPLICATES) -> Iterator[Row]:
    """Kaplan-Meier limits of the share above the median; recorded in steps they are those of another share."""
    rng = np.random.default_rng([*seeds(4, p, n, again=False), int(bounded)])
    x = p.draw(rng, (replicates, n))
    low, high = by_chance(p, x, rng) if bounded else (x, x)
    low, high = rounded(p, low), rounded(p, high)
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
    kind = "approximate" if p.step else "at least"
    yield row("Kaplan-Meier limits at the median, 95%", p.name, label, n, 0.95, kind, np.concatenate(hits))


def _mean(rows: Values) -> Values:
    mean: Values = rows.mean(axis=-1)
    return mean


def bootstrap(p: Population, n: int, replicates: int = REPLICATES) -> Iterator[Row]:
    """BCa interval of the mean."""
    rng = np.random.default_rng([5, n])
    hits = []
    for x in p.draw(rng, (replicates, n)):
        found = room.bca_interval(np.sort(x)[np.newaxis], statistic=_mean, confidence=0.95, resamples=1000, rng=rng)
        hits.append(found.low[0] <= p.mean <= found.high[0])
    yield row("BCa interval of the mean, 95%", p.name, "none", n, 0.95, "approximate", np.array(hits))


def two_places(correlation: float, n: int, replicates: int = REPLICATES) -> Iterator[Row]:
    """Two places, each normal, 40 % of pulls breaking in the other one: limits of one with those pulls as lower bounds.

    Exact only in name where the strengths of the places are independent; with correlation they are on the unsafe side.
    Beside it the bounds on the share below a limit that hold whatever the dependence.
    """
    p = named("normal")
    rng = np.random.default_rng([7, round(100 * correlation), n])
    first = rng.standard_normal((replicates, n))
    second = correlation * first + math.sqrt(1.0 - correlation**2) * rng.standard_normal((replicates, n))
    asked = p.mean + p.sd * first
    # The other place is stronger on average by this many sd, so that 40 % of pulls break there.
    other = p.mean + p.sd * (second + 0.2533 * math.sqrt(2.0 - 2.0 * correlation))
    here = asked <= other
    low, high = np.minimum(asked, other), np.where(here, asked, np.inf)
    label = f"two places, correlation {correlation:g}"
    for share, level in ((0.05, 0.75), (0.5, 0.95)):
        hits = [
            room.bounded_confidence_above(stack, family="normal", share=share, value=p.fractile(share)) <= level
            for stack in fitted_stacks(low, high)
        ]
        name = "5 % fractile" if share == 0.05 else "median"
        yield row(
            f"competing risks, normal: lower limit of {name}, {level:.0%}",
            "normal",
            label,
            n,
            level,
            "approximate",
            np.concatenate(hits),
        )
    limit = 0.9
    found = room.share_below_whatever(low, here, limit=limit, confidence=0.95)
    truth = float(p.below(np.asarray(limit)))
    for name, side in (("upper", found.high_limit >= truth), ("lower", found.low_limit <= truth)):
        yield row(
            f"share below, whatever the dependence, {name} limit, 95%", "normal", label, n, 0.95, "at least", side
        )
