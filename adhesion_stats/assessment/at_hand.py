"""Can the pulls at hand meet what is asked, can they fail it, whatever their values? Said once for zones alike.

Every answer comes from deciding the requirement over all values that n pulls could have (``acceptance.any_values``).

Imports: acceptance, messages, quantities, terms.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from adhesion_stats.acceptance import (
    Cases,
    Outcome,
    decide,
    greatest_cov,
    no_failure_meets,
    only_bounds,
    required_number,
    whatever_the_values,
)
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.quantities import decimal_text, shown
from adhesion_stats.terms.criteria import (
    PULL_OFF,
    AllOf,
    AnyOf,
    AreaCriterion,
    CountAtLeast,
    Criterion,
    Requirement,
    StrengthCriterion,
    criteria,
    view,
)
from adhesion_stats.terms.specification import Specification

__all__ = ["SITE_COV_PERCENT", "at_hand_messages"]

# Reported for pull-off tests on site that are done well, in German practice: 20 to 25 %. Seen on a page that reports
# it, not in a standard; it decides nothing.
SITE_COV_PERCENT = (20.0, 25.0)


def at_hand_messages(specification: Specification, cases: Cases) -> list[Message]:
    """Return warnings about criteria that the pulls at hand can't meet, or can't fail, whatever their values are.

    ``cases`` are the values of the shown reading of the contract.
    """
    made = np.bincount(cases.zone[cases.pull >= 0], minlength=len(cases.zones)).tolist()
    alike: dict[Requirement, dict[int, list[str]]] = {}
    for zone, n in zip(cases.zones, made, strict=True):
        requirement = specification.requirement_for(zone)
        if requirement is not None and n:
            alike.setdefault(requirement, {}).setdefault(n, []).append(zone)
    found: list[Message] = []
    for requirement, sizes in alike.items():
        impossible: set[str] = set()
        for n, zones in sorted(sizes.items()):
            for message, key in _one_size(requirement, n, tuple(zones), specification, cases):
                impossible.add(key)
                found.append(message)
        found += _by_scatter(requirement, sizes, specification)
        found += _by_failure(requirement, specification, cases, impossible)
    return [*found, *_by_bounds(specification, cases)]


def _warning(code: str, **facts: Fact) -> Message:
    return Message(code, Severity.WARNING, facts=facts)


def _one_size(
    requirement: Requirement, n: int, zones: tuple[str, ...], specification: Specification, cases: Cases
) -> Iterator[tuple[Message, str]]:
    """What n pulls can't do, with the key of the criterion."""
    ceiling = _ceiling(specification, cases)
    rounding, glue = specification.rounding, cases.glue
    here = whatever_the_values(requirement, n, rounding=rounding, ceiling_mpa=ceiling, glue=glue)
    endless = whatever_the_values(requirement, n, rounding=rounding, ceiling_mpa=math.inf, glue=glue)
    facts: dict[str, Fact] = {"zones": zones, "n": n, "count": n}
    settled = False
    for criterion, outcome, without in zip(criteria(requirement), here.criteria, endless.criteria, strict=True):
        if outcome == Outcome.UNDETERMINED:
            continue
        settled = True
        mine = {"key": criterion.key, "asked": _asked(criterion), **facts}
        if outcome == Outcome.CONFORMS:
            yield _warning("sense_never_failed", **mine), criterion.key
        elif isinstance(criterion, CountAtLeast) and n < criterion.z:
            yield _warning("sense_too_few_for_count", **mine, z=criterion.z), criterion.key
        elif without != Outcome.DOES_NOT_CONFORM:
            stated = specification.pulls.ceiling
            yield _warning("sense_above_ceiling", **mine, ceiling="" if stated is None else stated.text), criterion.key
        else:
            yield _warning("sense_never_met", **mine), criterion.key
    if not settled and here.whole == Outcome.DOES_NOT_CONFORM:
        yield _warning("sense_never_together", **facts), ""
    if not settled and here.whole == Outcome.CONFORMS:
        yield _warning("sense_never_failed_whole", **facts), ""


def _ceiling(specification: Specification, cases: Cases) -> float:
    """The declared ceiling [MPa]; without end where none is declared, or where a value lies above it."""
    stated = specification.pulls.ceiling
    if stated is None or any((low > stated.mpa).any() for low in cases.low.values()):
        return math.inf
    return stated.mpa


def _asked(criterion: Criterion) -> str:
    """The limit of a criterion as text."""
    limit = criterion.strength_limit
    if limit is not None and isinstance(criterion, StrengthCriterion):
        return limit.text
    asked = criterion.asked
    return f"{decimal_text(asked.limit, asked.places)} {asked.unit}".strip()


def _by_scatter(
    requirement: Requirement, sizes: dict[int, list[str]], specification: Specification
) -> Iterator[Message]:
    """Criteria that only a smaller scatter could meet than work on site is known for."""
    usual = [decimal_text(end, 0) for end in SITE_COV_PERCENT]
    numbers: dict[int, list[str]] = {}
    for n, zones in sizes.items():
        for zone in zones:
            numbers.setdefault(max(n, required_number(specification, zone)), []).append(zone)
    for n, zones in sorted(numbers.items()):
        for criterion in criteria(requirement):
            bound = greatest_cov(criterion, n, rounding=specification.rounding)
            if bound is not None and bound[1] < SITE_COV_PERCENT[0]:
                yield _warning(
                    "sense_scatter", key=criterion.key, n=n, zones=tuple(zones), k=decimal_text(bound[0], 2),
                    cov=f"{decimal_text(bound[1], 1, 'down')} %", usual=f"{usual[0]} to {usual[1]} %",
                )  # fmt: skip


def _by_failure(
    requirement: Requirement, specification: Specification, cases: Cases, settled: set[str]
) -> Iterator[Message]:
    """Conditions on what broke that no failure recorded in the file could meet."""
    for way in _without_way_out(requirement):
        if any(criterion.key in settled for criterion in way):
            continue
        if no_failure_meets(way, cases, rounding=specification.rounding):
            recorded = tuple(
                code for code, share in zip(cases.codes, cases.known.max(axis=0), strict=True) if share > 0
            )
            yield _warning(
                "sense_no_such_failure",
                keys=tuple(criterion.key for criterion in way),
                count=len(way),
                codes=tuple(dict.fromkeys(code for criterion in way for code in criterion.codes)),
                recorded=recorded,
            )


def _without_way_out(requirement: Requirement) -> Iterator[tuple[AreaCriterion, ...]]:
    """Conditions on what broke of which one must be met: alone, or alternatives all of this kind."""
    if isinstance(requirement, AllOf):
        for part in requirement.parts:
            yield from _without_way_out(part)
    elif isinstance(requirement, AnyOf):
        areas = tuple(part for part in requirement.parts if isinstance(part, AreaCriterion))
        if len(areas) == len(requirement.parts):
            yield areas
    elif isinstance(requirement, AreaCriterion):
        yield (requirement,)


def _by_bounds(specification: Specification, cases: Cases) -> Iterator[Message]:
    """Zones that know their values from below only, where a criterion can't be shown to be met by these."""
    if PULL_OFF not in cases.low:
        return
    codes = only_bounds(cases, PULL_OFF)
    if not codes:
        return
    mine = cases.keep((cases.pull >= 0) & np.isin(cases.zone, codes))
    decided = decide(specification, mine)
    found: dict[Criterion, list[int]] = {}
    for code in codes:
        if decided.outcome[code] < 0:
            continue
        for one in decided[cases.zones[code]].criteria:
            asked = one.criterion
            on_values = isinstance(asked, StrengthCriterion) and view(asked) == PULL_OFF
            if on_values and one.outcome == Outcome.UNDETERMINED and asked.strength_limit is not None:
                found.setdefault(asked, []).append(code)
    for criterion, members in found.items():
        limit = criterion.strength_limit
        assert limit is not None
        bounds = mine.low[PULL_OFF][np.isin(mine.zone, members)]
        ends = [shown(float(end), limit.unit, limit.places, "down") for end in (bounds.min(), bounds.max())]
        yield _warning(
            "sense_only_bounds",
            key=criterion.key,
            asked=limit.text,
            zones=tuple(cases.zones[code] for code in members),
            count=int(bounds.size),
            bounds=ends[0] if ends[0] == ends[1] else " to ".join(ends),
        )
