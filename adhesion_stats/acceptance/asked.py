"""How many pulls are asked of a zone, and by which rule: the contract's own number, each frequency rule, the risks.

Every rule that stands for the zone is listed with its number; the largest is the one to make.
Imports: this room, terms. No words: kinds and facts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from adhesion_stats.acceptance.collect import required_number
from adhesion_stats.acceptance.risk import BETWEEN, Assumed, smallest_number
from adhesion_stats.terms.plan import FrequencyRule, PlanZone, RiskAsked
from adhesion_stats.terms.specification import Specification

__all__ = ["Asked", "Kind", "assumed_for", "binding", "pulls_asked", "pulls_of_a_value"]

Kind = Literal["contract", "area", "zone", "pour", "day", "span", "risk"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What one rule asks of a zone: ``pulls`` in all, as ``times`` times ``each``.

    ``per_measurement``: pulls of a measurement, of which these are whole ones; 1 where the contract counts by pull.
    """

    kind: Kind
    pulls: int
    each: int
    times: int
    source: str = ""
    rule: FrequencyRule | None = None
    per_measurement: int = 1

    @property
    def values(self) -> int:
        """How many values that are: pulls, or measurements."""
        return self.pulls // self.per_measurement


def pulls_asked(specification: Specification, zone: PlanZone) -> tuple[Asked, ...]:
    """Return what every rule asks of the zone: the contract's number, the frequency rules as written, the risks wanted.

    A rule that asks nothing of so small an area is listed with 0 pulls; risks that no number of pulls meets are not
    listed. Where the contract counts by measurement each number of pulls is that of whole measurements.
    """
    plan = specification.plan
    assert plan is not None
    each = pulls_of_a_value(specification)
    found: list[Asked] = []
    contract = required_number(specification, zone.name)
    if contract:
        found.append(Asked("contract", contract * each, each, contract, per_measurement=each))
    for rule in plan.frequency:
        if rule.stands_for(zone.name):
            times = _times(rule, zone)
            pulls = rule.each(each)
            found.append(Asked(rule.per, pulls * times, pulls, times, rule.source, rule, each))
    requirement = specification.requirement_for(zone.name)
    if plan.risk is not None and requirement is not None:
        n = smallest_number(
            requirement, plan.risk, assumed=assumed_for(plan.risk, each), rounding=specification.rounding,
            seed=plan.seed or 0,
        )  # fmt: skip
        found += [] if n is None else [Asked("risk", n * each, each, n, per_measurement=each)]
    return tuple(found)


def pulls_of_a_value(specification: Specification) -> int:
    """How many pulls make one value: 1, or as many as a measurement has (1 too where the contract does not say)."""
    by_measurement = specification.pulls.count_by == "measurement"
    return (specification.pulls.pulls_per_measurement or 1) if by_measurement else 1


def assumed_for(risk: RiskAsked, per_measurement: int) -> Assumed:
    """What is assumed of the pulls where a plan asks for risks."""
    between = BETWEEN if risk.between_percent is None else risk.between_percent / 100.0
    return Assumed(per_measurement=per_measurement, between=between)


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
