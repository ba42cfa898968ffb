"""One standard deviation for several zones, where the contract names them beforehand.

The pooled variance is the sum of squares about each zone's own mean over the sum of the degrees of freedom (JCGM
100:2008, 4.2.4). Values that are unknown leave it within bounds: it is at least what the exact values alone make, since
a further value never lowers a sum of squares, and at most what the bounds allow. Whether the zones have one spread is
not tested: a test on the same few values can't tell.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.terms.criteria import AllOf, AnyOf, CharacteristicAtLeast, Requirement, criteria
from adhesion_stats.terms.specification import Specification

__all__ = ["each_by_its_own", "pools", "with_pooled_sd"]


def pools(specification: Specification) -> bool:
    """Whether any criterion of the contract pools the spread of zones."""
    return any(_pooled(c) for rule in specification.rules for c in criteria(rule.requirement))


def _pooled(criterion: object) -> bool:
    return isinstance(criterion, CharacteristicAtLeast) and criterion.method == "pooled"


def with_pooled_sd(specification: Specification, cases: Cases) -> Specification:
    """Return the terms with the pooled standard deviation put into each criterion that pools and has none yet."""
    if not pools(specification):
        return specification
    rules = []
    for rule in specification.rules:
        zones = rule.zones or cases.zones
        rules.append(replace(rule, requirement=_filled(rule.requirement, cases, zones)))
    return replace(specification, rules=tuple(rules))


def each_by_its_own(specification: Specification) -> Specification:
    """Return the terms with each zone's own standard deviation in place of a pooled one."""

    def own(part: Requirement) -> Requirement:
        if isinstance(part, AllOf | AnyOf):
            return replace(part, parts=tuple(own(p) for p in part.parts))
        if isinstance(part, CharacteristicAtLeast) and part.method == "pooled":
            return replace(part, method="tolerance", pooled_over=(), pooled=None)
        return part

    rules = tuple(replace(rule, requirement=own(rule.requirement)) for rule in specification.rules)
    return replace(specification, rules=rules)


def _filled(part: Requirement, cases: Cases, zones: Sequence[str]) -> Requirement:
    if isinstance(part, AllOf | AnyOf):
        return replace(part, parts=tuple(_filled(p, cases, zones) for p in part.parts))
    if isinstance(part, CharacteristicAtLeast) and part.method == "pooled" and part.pooled is None:
        return replace(part, pooled=_pooled_sd(cases, part.pooled_over or zones, part.question))
    return part


def _pooled_sd(cases: Cases, zones: Sequence[str], question: str) -> tuple[float, float, int]:
    """Least and greatest pooled standard deviation [MPa], degrees of freedom (0: no zone has two values)."""
    least = most = 0.0
    df = 0
    for code, zone in enumerate(cases.zones):
        if zone not in zones:
            continue
        mine = cases.zone == code
        low, high = np.sort(cases.low[question][mine]), np.sort(cases.high[question][mine])
        if low.size < 2:
            continue
        df += low.size - 1
        exact = np.sort(cases.low[question][mine & (cases.low[question] == cases.high[question])])
        squares = float(np.square(exact - exact.mean()).sum()) if exact.size else 0.0
        least += squares
        if exact.size == low.size:
            most += squares
        elif np.isinf(high).any():
            most = math.inf
        else:  # about any c the sum of squares is no smaller, and each term is largest at a bound
            ends_low, ends_high = cases.low[question][mine], cases.high[question][mine]
            c = float(np.mean(0.5 * (ends_low + ends_high)))
            most += float(np.maximum(np.square(ends_low - c), np.square(ends_high - c)).sum())
    if not df:
        return 0.0, math.inf, 0
    return math.sqrt(least / df), math.sqrt(most / df), df
