"""Decisions worked out the slow way: plain Python, its own reading of the rules, one completion after the other.

A zone is a list of rows (dictionaries), a requirement a nested tuple. The unknown values are tried on a grid that
holds the bounds, the limits, many levels between and very large values; where the grid finds no completion of the
wanted kind, ever finer grids around the best point follow. Nothing here is shared with the package. Factors k
are computed with scipy.stats (non-central t, t, normal).

Rows: ``value`` (None: none), ``bound`` ("exact", "at least", "at most"), ``failure`` ({code: percent} or None),
``counted``, ``lost``, ``held`` (counts as a lower bound by the glue rule).

Requirements: ("mean", question, limit), ("smallest", question, limit), ("z of n", question, limit, z, n),
("tolerance", question, limit, content, confidence), ("en unknown", question, limit), ("en sd", question, limit, sd),
("en cov", question, limit, cov), ("share", codes, "at least" or "at most", percent),
("pulls", codes, from, "at least" or "at most", percent), ("all", ...), ("any", ...).
"""

from __future__ import annotations

import functools
import itertools
import math
import statistics
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction

from scipy import stats

Row = dict[str, object]
Box = list[tuple[float, float]]
GLUE = ("-/Y", "Y", "Y/Z")
NEAR = 1e-9


@functools.cache
def factor_tolerance(n: int, content: float, confidence: float) -> float:
    """K from the quantile of the non-central t distribution."""
    return float(stats.nct.ppf(confidence, n - 1, stats.norm.ppf(content) * math.sqrt(n)) / math.sqrt(n))


@functools.cache
def factor_en_unknown(n: int) -> float:
    """k_n of EN 1990 Annex D with unknown spread."""
    return float(stats.t.ppf(0.95, n - 1) * math.sqrt(1 + 1 / n))


@functools.cache
def factor_en_known(n: int) -> float:
    """k_n of EN 1990 Annex D with known spread."""
    return float(stats.norm.ppf(0.95) * math.sqrt(1 + 1 / n))


def box(rows: list[Row], question: str, *, required: int, ceiling: float, there_from: float, lost_unknown: bool) -> Box:
    """Bounds of every value that the question is about."""
    found: Box = []
    usable = 0
    lost = 0
    for row in rows:
        if row["lost"]:
            lost += 1
        if not row["counted"]:
            continue
        usable += 1
        value, bound = row["value"], row["bound"]
        assert isinstance(value, float)
        low, high = {"exact": (value, value), "at least": (value, math.inf), "at most": (0.0, value)}[str(bound)]
        if row["held"]:
            low, high = (0.0 if bound == "at most" else value), math.inf
        if question != "pull-off":
            failure = row["failure"]
            there = isinstance(failure, dict) and failure.get(question, 0) >= there_from
            if not there:
                low, high = (0.0 if bound == "at most" else value), math.inf
        if low != high:
            high = max(min(high, ceiling), low)
        found.append((low, high))
    missing = max(required - usable, 0)
    if lost_unknown:
        missing = max(missing, lost)
    return found + [(0.0, ceiling)] * missing


FURTHER = (
    "less sd", "index", "below", "cov", "of mean", "part", "held", "known sd", "lognormal", "order", "en14358-normal",
    "en14358-lognormal", "iso12491",
)  # fmt: skip


def share_estimated_below(x: list[float], limit: float) -> float:
    """Minimum-variance unbiased estimate of the share of a normal population below the limit, by scipy.stats."""
    n, mean, sd = len(x), statistics.fmean(x), statistics.stdev(x)
    if sd <= 1e-12 * max(x):
        return 0.0 if mean >= limit * (1 - 1e-12) else 1.0
    q = (mean - limit) / sd
    at = max(0.0, 0.5 - q * math.sqrt(n) / (2 * (n - 1)))
    return float(stats.beta.cdf(at, n / 2 - 1, n / 2 - 1))


def further_score(criterion: tuple[object, ...], x: list[float]) -> float:
    """As ``score``, for kinds with a spread, shares of the mean or of the pulls; by their definitions."""
    kind, limit, n = criterion[0], float(criterion[2]), len(x)  # type: ignore[arg-type]
    mean, sd = math.fsum(x) / n, statistics.stdev(x) if n > 1 else math.nan
    if kind == "held":
        return (min(x) - limit) / limit
    if kind == "part":
        z = -(-Fraction(str(criterion[3])) * n // 100)
        return (sorted(x, reverse=True)[int(z) - 1] - limit) / limit
    if kind == "cov":
        return (limit / 100 * mean - sd) / max(*x, 1e-9)
    if kind == "of mean":
        return (min(x) - limit / 100 * mean) / max(*x, 1e-9)
    if kind == "index":
        return (mean - float(criterion[3]) * sd - limit) / limit  # type: ignore[arg-type]
    if kind == "below":
        return (float(criterion[3]) / 100 - share_estimated_below(x, limit)) * 10  # type: ignore[arg-type]
    if kind == "order":
        content, confidence = float(criterion[3]), float(criterion[4])  # type: ignore[arg-type]
        rank = max(j for j in range(1, n + 1) if stats.binom.sf(j - 1, n, 1 - content) >= confidence)
        return (sorted(x)[rank - 1] - limit) / limit
    return further_characteristic(criterion, x, mean, sd)


def further_characteristic(criterion: tuple[object, ...], x: list[float], mean: float, sd: float) -> float:
    """As ``score``, for values less a multiple of a spread."""
    kind, limit, n = criterion[0], float(criterion[2]), len(x)  # type: ignore[arg-type]
    if kind in {"lognormal", "en14358-lognormal"}:
        if min(x) <= 0:
            return -1.0
        logs = [math.log(v) for v in x]
        spread = statistics.stdev(logs)
        if kind == "lognormal":
            k = factor_tolerance(n, criterion[3], criterion[4])
        else:
            k, spread = factor_tolerance(n, 0.95, 0.75), max(spread, 0.05)
        value = math.exp(statistics.fmean(logs) - k * spread)
    elif kind == "en14358-normal":
        value = mean - factor_tolerance(n, 0.95, 0.75) * max(sd, 0.05 * mean)
    elif kind == "iso12491":
        value = mean - factor_tolerance(n, 0.95, criterion[3]) * sd
    elif kind == "known sd":
        k = stats.norm.ppf(criterion[3]) + stats.norm.ppf(criterion[4]) / math.sqrt(n)  # type: ignore[call-overload]
        value = mean - float(k) * float(criterion[5])  # type: ignore[arg-type]
    else:
        assert kind == "less sd", kind
        value = mean - float(criterion[3]) * sd  # type: ignore[arg-type]
    return (value - limit) / limit


def score(criterion: tuple[object, ...], x: list[float]) -> float:
    """By how much a strength criterion is met, relative to its limit: 0 or more meets. Plain text-book formulas."""
    kind, limit, n = criterion[0], float(criterion[2]), len(x)  # type: ignore[arg-type]
    if kind in FURTHER:
        return further_score(criterion, x)
    if kind == "smallest":
        value = min(x)
    elif kind == "z of n":
        z, planned = int(criterion[3]), int(criterion[4])  # type: ignore[call-overload]
        assert planned == n
        value = sorted(x, reverse=True)[z - 1]
    else:
        mean = math.fsum(x) / n
        if kind == "mean":
            value = mean
        elif kind == "en sd":
            value = mean - factor_en_known(n) * float(criterion[3])  # type: ignore[arg-type]
        elif kind == "en cov":
            value = mean * (1 - factor_en_known(n) * float(criterion[3]))  # type: ignore[arg-type]
        else:
            sd = math.sqrt(math.fsum((v - mean) ** 2 for v in x) / (n - 1))
            if kind == "tolerance":
                value = mean - factor_tolerance(n, criterion[3], criterion[4]) * sd
            else:
                value = mean - factor_en_unknown(n) * sd
    return (value - limit) / limit


def leaves(requirement: tuple[object, ...]) -> Iterator[tuple[object, ...]]:
    """The criteria of a requirement."""
    if requirement[0] in {"all", "any"}:
        for part in requirement[1:]:
            yield from leaves(part)  # type: ignore[arg-type]
    else:
        yield requirement


def combined(requirement: tuple[object, ...], values: Iterator[float]) -> float:
    """Scores of the criteria, combined: the smallest for all of, the largest for any of."""
    if requirement[0] == "all":
        return min([combined(part, values) for part in requirement[1:]])  # type: ignore[arg-type]
    if requirement[0] == "any":
        return max([combined(part, values) for part in requirement[1:]])  # type: ignore[arg-type]
    return next(values)


def candidates(low: float, high: float, marks: Iterable[float], many: int) -> list[float]:
    """Values to try for one unknown."""
    if low == high:
        return [low]
    top = high if math.isfinite(high) else 1e4
    found = {low, top, *(m for m in marks if low <= m <= top)}
    reach = min(top, 8.0)
    found |= {low + (reach - low) * i / many for i in range(many + 1)} if reach > low else set()
    if math.isinf(high):
        found |= {20.0, 100.0}
    return sorted(v for v in found if low <= v <= top)


def strongest(
    bounds: Box,
    measure: Callable[[list[float]], float],
    marks: list[float],
    *,
    wanted: float,
    means: tuple[float, ...] = (),
) -> float:
    """The largest value of ``measure`` over completions: grid, then finer ones; stops once ``wanted`` is reached."""
    free = [i for i, (a, b) in enumerate(bounds) if a < b]
    many = {0: 1, 1: 160, 2: 22, 3: 7}.get(len(free), 3)
    grids = [candidates(a, b, marks, many if i in free else 1) for i, (a, b) in enumerate(bounds)]
    levels = sorted({v for i in free for v in candidates(*bounds[i], marks, 160)})
    together = ([min(max(t, a), b) for a, b in bounds] for t in levels)
    seen: list[tuple[float, list[float]]] = []
    for x in itertools.chain(together, (list(p) for p in itertools.product(*grids))):
        for y in (x, *_closed(x, free, bounds, means)):
            seen.append((measure(y), y))
            if seen[-1][0] >= wanted:
                return seen[-1][0]
    seen.sort(key=lambda s: -s[0])
    starts: list[list[float]] = []
    for _, x in seen[:400]:
        if len(starts) < 6 and all(max(abs(a - b) for a, b in zip(x, s, strict=True)) > 0.3 for s in starts):
            starts.append(x)
    found = seen[0][0]
    for start in starts:
        found = max(found, _zoomed(start, free, bounds, measure, wanted))
        if found >= wanted:
            break
    return found


def _closed(x: list[float], free: list[int], bounds: Box, means: Iterable[float]) -> Iterator[list[float]]:
    """The same point with one unknown value moved so that the mean comes to a wanted one, where its bounds allow."""
    for mean in means:
        for i in free:
            y = mean * len(x) - (math.fsum(x) - x[i])
            if bounds[i][0] <= y <= bounds[i][1]:
                yield _with(x, [i], (y,))


def _zoomed(
    at: list[float], free: list[int], bounds: Box, measure: Callable[[list[float]], float], wanted: float
) -> float:
    """The largest value on ever finer grids around a point."""
    best, span = measure(at), 0.7
    while free and span > 1e-6:
        before = best
        near = [
            sorted({min(max(at[i] + span * j / 2, bounds[i][0]), bounds[i][1], 1e4) for j in (-2, -1, 0, 1, 2)})
            for i in free
        ]
        centre = list(at)
        shifted = ([min(max(v + d, a), b) for v, (a, b) in zip(centre, bounds, strict=True)] for d in (-span, span))
        for x in itertools.chain(shifted, (_with(centre, free, point) for point in itertools.product(*near))):
            value = measure(x)
            if value > best:
                best, at = value, x
                if best >= wanted:
                    return best
        if best - before <= 1e-12 or at == centre:
            span /= 2
        elif max(at) > 1e3:
            return best
    return best


def _with(x: list[float], places: list[int], values: tuple[float, ...]) -> list[float]:
    """The list with some places replaced."""
    changed = list(x)
    for i, value in zip(places, values, strict=True):
        changed[i] = value
    return changed


def extremes(bounds: Box, requirement: tuple[object, ...]) -> tuple[float, float]:
    """Largest and smallest combined score found over the completions of a requirement on strengths."""
    asked = list(leaves(requirement))
    marks = [float(c[2]) for c in asked]  # type: ignore[arg-type]
    marks += [m * (1 + d) for m in list(marks) for d in (-1e-6, 1e-6)]

    def measure(x: list[float]) -> float:
        return combined(requirement, iter([score(c, x) for c in asked]))

    return (
        strongest(bounds, measure, marks, wanted=NEAR),
        -strongest(bounds, lambda x: -measure(x), marks, wanted=NEAR),
    )


# -------------------------------------------------------------------------------------------------------------
# composition


def share_truths(rows: list[Row], asked: list[tuple[object, ...]], *, absent: int, step: int) -> set[tuple[bool, ...]]:
    """All combinations of met / not met that the unknown areas allow for criteria on shares, areas in whole ``step`` %.

    Pull by pull: which sums of shares (and counts of pulls) can be had.
    """
    other = "(other)"
    named = {code for c in asked for code in c[1]}  # type: ignore[attr-defined]
    free_codes = [*sorted(named), other]
    states: set[tuple[float, ...]] = {(0.0,) * len(asked)}
    pulls = [r["failure"] if r["failure"] is not None else {} for r in rows if r["counted"]] + [{}] * absent
    for failure in pulls:
        assert isinstance(failure, dict)
        glue = sum(p for code, p in failure.items() if code in GLUE)
        gap = 100 - sum(failure.values())
        options: set[tuple[float, ...]] = set()
        for gone in _splits(gap, len(free_codes), step):
            for covered in _splits(glue, len(free_codes), step):
                line = []
                for c in asked:
                    codes = c[1]
                    recorded = any(code in GLUE for code in codes)  # type: ignore[attr-defined]
                    amounts = [(code, p) for code, p in failure.items() if recorded or code not in GLUE]
                    amounts += zip(free_codes, gone, strict=True)
                    if not recorded:
                        amounts += zip(free_codes, covered, strict=True)
                    share = sum(float(p) for code, p in amounts if _named(code, codes))
                    line.append(share if c[0] == "share" else float(share >= c[2]))  # type: ignore[operator]
                options.add(tuple(line))
        states = {tuple(a + b for a, b in zip(s, o, strict=True)) for s in states for o in options}
    n = len(pulls)
    truths = set()
    for state in states:
        met: list[bool] = []
        for c, total in zip(asked, state, strict=True):
            side, limit = (c[2], c[3]) if c[0] == "share" else (c[3], c[4])
            value = total / n if c[0] == "share" else 100 * total / n
            met.append(value >= limit - NEAR if side == "at least" else value <= limit + NEAR)  # type: ignore[operator]
        truths.add(tuple(met))
    return truths


def _named(code: str, codes: object) -> bool:
    """Whether a criterion names the code."""
    assert isinstance(codes, tuple)
    return code in codes


@functools.cache
def _splits(amount: float, parts: int, step: int) -> list[tuple[float, ...]]:
    """Ways to share out an amount in whole steps."""
    if parts == 1:
        return [(float(amount),)]
    number = round(amount / step)
    return [(float(i * step), *rest) for i in range(number + 1) for rest in _splits(amount - i * step, parts - 1, step)]


def truth(requirement: tuple[object, ...], met: Iterator[bool]) -> bool:
    """Whether the requirement is met, given its criteria."""
    if requirement[0] == "all":
        found = [truth(part, met) for part in requirement[1:]]  # type: ignore[arg-type]
        return all(found)  # every part takes its criteria, also where the answer is known
    if requirement[0] == "any":
        found = [truth(part, met) for part in requirement[1:]]  # type: ignore[arg-type]
        return any(found)
    return next(met)
