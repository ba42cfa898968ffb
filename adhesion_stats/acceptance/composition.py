"""Criteria on what broke: the mean share of some codes, and the share of pulls that failed by them.

Of each pull a share of the area is known by code, the rest could be any code, also one that no criterion names. So

- the mean share of a set of codes lies between the known share and that plus all unknown share, and reaches all
between;
- a pull certainly failed by these codes from its known share, and possibly with all its unknown share; where a depth is
  asked, certainly from the least and possibly from the greatest depth that its break can have.

One criterion alone is answered by these ends. Several share the unknown area. Mean shares of separate sets of codes:
the area that must go to each adds up, and has to be there. Anything else is a small linear program over the unknown
areas, with a yes or no per pull and criterion where pulls are counted; it is solved exactly (branch and bound, HiGHS
by way of scipy) for each zone that needs it.

A criterion that names an adhesive code takes shares as recorded; others take what the adhesive covered as unknown
(see ``cases``).
The two readings are independent variables.

Imports: numpy, scipy.optimize (inside the function that needs it), this room and terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Shares
from adhesion_stats.acceptance.completions import Possible
from adhesion_stats.acceptance.limits import ENTERED, SHARE, Threshold, meets, percent_threshold
from adhesion_stats.statistics.blocks import row_sum
from adhesion_stats.terms.criteria import AreaCriterion, PullsWithFailure
from adhesion_stats.terms.specification import Rounding

__all__ = ["AreaCondition", "Reading", "area_condition", "names_glue", "reachable", "together"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]

SLACK = 100.0 * SHARE  # [% of area]: a difference that counts as none
_STRICT = 1e-4  # [% of area] that "more than" asks for in the program; recorded shares are far coarser


@dataclass(frozen=True, slots=True)
class AreaCondition:
    """A limit on the mean share of ``codes``, or (``from_percent`` given) on the share of pulls that failed by them.

    ``deep`` [mm]: of these pulls, only those that broke that deep or deeper count; 0 where depth is not asked.
    """

    codes: tuple[str, ...]
    from_percent: float | None
    limit: Threshold
    deep: float = 0.0


@dataclass(frozen=True, eq=False)
class Reading:
    """Known shares (g, n, c) and unknown share (g, n) [%], as one kind of criterion reads them; least and greatest
    depth of the break (g, n) [mm].
    """

    codes: tuple[str, ...]
    known: Values
    unknown: Values
    depths: tuple[Values, Values]

    @classmethod
    def of(cls, shares: Shares, *, glue_as_recorded: bool) -> Reading:
        """The reading of criteria that name an adhesive code (as recorded), or of the others (covered area unknown)."""
        if glue_as_recorded:
            return cls(shares.codes, shares.known, shares.unrecorded, shares.depth())
        covered = np.array([code in shares.glue for code in shares.codes], dtype=np.bool_)
        return cls(
            shares.codes,
            np.where(covered, 0.0, shares.known),
            shares.unrecorded + shares.known[:, :, covered].sum(axis=2),
            shares.depth(),
        )

    def rows(self, rows: NDArray[np.intp]) -> Reading:
        """The reading of some zones only."""
        least, most = self.depths
        return Reading(self.codes, self.known[rows], self.unknown[rows], (least[rows], most[rows]))

    def deep_enough(self, condition: AreaCondition) -> tuple[Truth, Truth]:
        """Whether each pull (g, n) surely broke, and could have broken, as deep as is asked."""
        least, most = self.depths
        return least >= condition.deep, most >= condition.deep

    def share(self, codes: Sequence[str]) -> Values:
        """(g, n) known share of a set of codes [%]."""
        wanted = [i for i, code in enumerate(self.codes) if code in codes]
        total: Values = self.known[:, :, wanted].sum(axis=2)
        return total


def names_glue(criterion: AreaCriterion, glue: Sequence[str]) -> bool:
    """Whether the criterion asks for a break at or in the dolly adhesive."""
    return any(code in glue for code in criterion.codes)


def area_condition(criterion: AreaCriterion, rounding: Rounding) -> AreaCondition:
    """Return the limit that a composition criterion sets."""
    asked = criterion.asked
    start = criterion.from_percent if isinstance(criterion, PullsWithFailure) else None
    limit = percent_threshold(asked.limit, rounding, at_most=asked.at_most, places=criterion.places)
    deep = criterion.depth_mm if isinstance(criterion, PullsWithFailure) else None
    return AreaCondition(criterion.codes, start, limit, 0.0 if deep is None else deep * (1.0 - ENTERED))


def reachable(reading: Reading, condition: AreaCondition) -> tuple[Values, Values]:
    """Lowest and highest value (g,) of the criterion [%]: mean share, or share of pulls; all between can be had."""
    known, n = reading.share(condition.codes), reading.unknown.shape[1]
    most = known + reading.unknown
    if condition.from_percent is None:
        return row_sum(np.sort(known, axis=1)) / n, row_sum(np.sort(most, axis=1)) / n
    start = condition.from_percent - SLACK
    sure, could = reading.deep_enough(condition)
    return 100.0 * (sure & (known >= start)).sum(axis=1) / n, 100.0 * (could & (most >= start)).sum(axis=1) / n


@dataclass(frozen=True, slots=True)
class _Demand:
    """A condition turned into a bound on its value: at least (``lower``) or at most ``at``, itself allowed or not."""

    condition: AreaCondition
    lower: bool
    closed: bool


def together(reading: Reading, conditions: Sequence[AreaCondition], *, meet: bool) -> Possible:
    """Whether one completion meets (``meet``) or fails all conditions; rows where each alone can."""
    demands = [_Demand(c, c.limit.at_most != meet, c.limit.closed if meet else not c.limit.closed) for c in conditions]
    if _separate(demands):
        can = _adds_up(reading, demands)
        return Possible(can, can)
    answers = [_program(i, reading, demands) for i in range(reading.unknown.shape[0])]
    return Possible(
        np.array([a is not False for a in answers], dtype=np.bool_),
        np.array([a is True for a in answers], dtype=np.bool_),
    )


def _separate(demands: Sequence[_Demand]) -> bool:
    """Mean shares only, and area given to one set of codes helps no other and hurts none."""
    if any(d.condition.from_percent is not None for d in demands):
        return False
    for i, a in enumerate(demands):
        for b in demands[i + 1 :]:
            if (a.lower or b.lower) and set(a.condition.codes) & set(b.condition.codes):
                return False
    return True


def _adds_up(reading: Reading, demands: Sequence[_Demand]) -> Truth:
    n = reading.unknown.shape[1]
    needed = np.zeros(reading.unknown.shape[0])
    strict = np.zeros(reading.unknown.shape[0], dtype=np.bool_)
    for d in demands:
        if not d.lower:
            continue
        lacking = d.condition.limit.at * n - row_sum(np.sort(reading.share(d.condition.codes), axis=1))
        lacks = lacking > -SLACK if not d.closed else lacking > SLACK
        needed += np.where(lacks, lacking, 0.0)
        strict |= lacks & (not d.closed)
    there = row_sum(np.sort(reading.unknown, axis=1))
    can: Truth = np.where(strict, needed < there - SLACK, needed <= there + SLACK)
    return can


def _program(zone: int, reading: Reading, demands: Sequence[_Demand]) -> bool | None:
    """Whether one zone's unknown areas (n,) can be given to codes so that every demand holds; None: not resolved.

    A depth that is open is taken as one may wish for each demand on its own. Where two demands could wish for
    different depths of one pull, a solution is no proof.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    known, unknown = reading.known[zone], reading.unknown[zone]
    deep = [tuple(side[zone] for side in reading.deep_enough(d.condition)) for d in demands]
    depth_open = np.array([could & ~sure for sure, could in deep], dtype=np.bool_)
    wishes_differ = bool((depth_open.sum(axis=0) > 1).any())
    n = unknown.size
    kinds = sorted({tuple(code in d.condition.codes for d in demands) for d in demands for code in d.condition.codes})
    pulls = np.flatnonzero((unknown > 0) | depth_open.any(axis=0)).tolist()
    area = {(p, kind): i for i, (p, kind) in enumerate((p, kind) for p in pulls for kind in kinds)}
    counted = [i for i, d in enumerate(demands) if d.condition.from_percent is not None]
    flag = {key: len(area) + i for i, key in enumerate((p, i) for p in pulls for i in counted)}
    size = len(area) + len(flag)
    rows: list[tuple[Values, float, float]] = []

    def row(entries: dict[int, float], least: float, most: float) -> None:
        line = np.zeros(size)
        for i, weight in entries.items():
            line[i] += weight
        rows.append((line, least, most))

    for p in pulls:
        row({area[p, kind]: 1.0 for kind in kinds}, 0.0, float(unknown[p]))
    for i, d in enumerate(demands):
        wanted = [c for c, code in enumerate(reading.codes) if code in d.condition.codes]
        own = known[:, wanted].sum(axis=1)
        mine = [kind for kind in kinds if kind[i]]
        if d.condition.from_percent is None:
            least, most = _mean_span(d, n, float(np.sort(own).sum()))
            row({area[p, kind]: 1.0 for p in pulls for kind in mine}, least, most)
            continue
        start = d.condition.from_percent
        deep_sure, deep_could = deep[i]
        for p in pulls:
            shares = {area[p, kind]: 1.0 for kind in mine}
            if d.lower:  # counted only where its share and its depth are there
                row({**shares, flag[p, i]: -start}, -float(own[p]) - SLACK, np.inf)
                if not deep_could[p]:
                    row({flag[p, i]: 1.0}, 0.0, 0.0)
            elif deep_sure[p]:  # not counted only where its share stays below, or where it is not deep enough
                row({**shares, flag[p, i]: -200.0}, -np.inf, start - _STRICT - float(own[p]))
        sure = sum(1 for p in range(n) if p not in pulls and own[p] >= start - SLACK and deep_sure[p])
        least, most = _count_span(d, n)
        row({flag[p, i]: 1.0 for p in pulls}, least - sure, most - sure)
    if not size:
        return all(least <= 0.0 <= most for _, least, most in rows)
    answer = milp(
        np.zeros(size),
        constraints=LinearConstraint(np.array([r[0] for r in rows]), [r[1] for r in rows], [r[2] for r in rows]),
        integrality=np.array([0] * len(area) + [1] * len(flag)),
        bounds=Bounds(np.zeros(size), np.array([100.0] * len(area) + [1.0] * len(flag))),
        options={"node_limit": 100_000},
    )
    if int(answer.status) == 0:
        return None if wishes_differ else True
    return False if int(answer.status) == 2 else None


def _mean_span(d: _Demand, n: int, known: float) -> tuple[float, float]:
    """Bounds on the unknown area given to the demand's codes, over all pulls [%]."""
    edge = d.condition.limit.at * n - known
    give = SLACK if d.closed else -_STRICT
    return (edge - give, np.inf) if d.lower else (-np.inf, edge + give)


def _count_span(d: _Demand, n: int) -> tuple[float, float]:
    """Bounds on the number of pulls that failed by the demand's codes."""
    met = meets(100.0 * np.arange(n + 1) / n, d.condition.limit, slack=SLACK)
    if d.condition.limit.at_most == d.lower:  # the demand is that the criterion fails
        met = ~met
    good = np.flatnonzero(met)
    if not good.size:
        return np.inf, -np.inf
    return (float(good[0]), np.inf) if d.lower else (-np.inf, float(good[-1]))
