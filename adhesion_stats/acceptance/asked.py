"""How many pulls are asked of a zone, and by which rule: the contract's own number, each frequency rule, the risks.

Every rule that stands for the zone is listed with its number; the largest is the one to make.
Imports: this room, terms. No words: kinds and facts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from adhesion_stats.acceptance.collect import required_number
from adhesion_stats.acceptance.wanted import smallest_number
from adhesion_stats.terms.plan import FrequencyRule, PlanZone
from adhesion_stats.terms.specification import Specification

__all__ = ["Asked", "Kind", "binding", "pulls_asked"]

Kind = Literal["contract", "area", "zone", "pour", "day", "span", "risk"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What one rule asks of a zone: ``pulls`` in all, as ``times`` times ``each``."""

    kind: Kind
    pulls: int
    each: int
    times: int
    source: str = ""
    rule: FrequencyRule | None = None


def pulls_asked(specification: Specification, zone: PlanZone) -> tuple[Asked, ...]:
    """Return what every rule asks of the zone: the contract's number, the frequency rules as written, the risks wanted.

    A rule that asks nothing of so small an area is listed with 0 pulls; risks that no number of pulls meets are not
    listed.
    """
    plan = specification.plan
    assert plan is not None
    found: list[Asked] = []
    contract = required_number(specification, zone.name)
    if contract:
        found.append(Asked("contract", contract, contract, 1))
    for rule in plan.frequency:
        if rule.stands_for(zone.name):
            times = _times(rule, zone)
            found.append(Asked(rule.per, rule.pulls * times, rule.pulls, times, rule.source, rule))
    requirement = specification.requirement_for(zone.name)
    if plan.risk is not None and requirement is not None:
        n = smallest_number(requirement, plan.risk, rounding=specification.rounding, seed=plan.seed or 0)
        found += [] if n is None else [Asked("risk", n, n, 1)]
    return tuple(found)


def _times(rule: FrequencyRule, zone: PlanZone) -> int:
    if rule.per == "zone":
        return 1
    if rule.per == "area":
        assert zone.area_m2 is not None  # the parser asks for it
        return rule.steps(zone.area_m2)
    return len(zone.parts[rule.per])


def binding(asked: Sequence[Asked]) -> int | None:
    """Place of the rule that asks for most pulls, the first of equals; None where none asks for any."""
    if not any(entry.pulls for entry in asked):
        return None
    return max(range(len(asked)), key=lambda i: (asked[i].pulls, -i))
