"""Is what the contract asks likely to be meant? Strange limits, units mixed, rules that can't be met, idle parts.

The plausible range of pull-off strengths on concrete, 0.05 to 6 MPa, is common practice, no published source: it points
at slips such as kN/mm² for N/mm², and decides nothing.

Imports: acceptance, messages, terms.
"""

from __future__ import annotations

from collections.abc import Iterator

from adhesion_stats.acceptance import least_number, required_number
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.quantities import shown
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CountAtLeast,
    Criterion,
    MeanAtLeast,
    Requirement,
    SmallestAtLeast,
    StrengthCriterion,
    criteria,
    limits,
)
from adhesion_stats.terms.specification import Specification

__all__ = ["PLAUSIBLE_MPA", "sense_messages"]

PLAUSIBLE_MPA = (0.05, 6.0)


def sense_messages(specification: Specification, pulls: Pulls) -> list[Message]:
    """Return warnings about what is asked; each is said once."""
    found = [*_strange_limits(specification), *_units(specification), *_too_few(specification, pulls)]
    for rule in specification.rules:
        found += _idle(rule.requirement)
    return list({(message.code, tuple(message.facts.items())): message for message in found}.values())


def _warning(code: str, **facts: Fact) -> Message:
    return Message(code, Severity.WARNING, facts=facts)


def _strange_limits(specification: Specification) -> Iterator[Message]:
    least, most = PLAUSIBLE_MPA
    for rule in specification.rules:
        for criterion in criteria(rule.requirement):
            for limit in limits(criterion):
                if not least <= limit.mpa <= most:
                    ends = (
                        f"{shown(least, limit.unit, max(limit.places, 2))} to {shown(most, limit.unit, limit.places)}"
                    )
                    yield _warning("sense_limit", key=criterion.key, limit=limit.text, range=ends)


def _units(specification: Specification) -> Iterator[Message]:
    """Limits in units of two systems: N/mm² and MPa are the same, psi and MPa are not."""
    named = [limit for rule in specification.rules for c in criteria(rule.requirement) for limit in limits(c)]
    units = tuple(dict.fromkeys(limit.unit for limit in named))
    if len({round(limit.mpa / limit.value, 12) for limit in named if limit.value}) > 1:
        yield _warning("sense_units", units=units)


def _too_few(specification: Specification, pulls: Pulls) -> Iterator[Message]:
    """Criteria whose value needs more pulls than a zone has or has to have."""
    made: dict[str, int] = {}
    for zone in pulls.zone:
        made[zone] = made.get(zone, 0) + 1
    for zone, number in made.items():
        requirement = specification.requirement_for(zone)
        if requirement is None:
            continue
        there = max(number, required_number(specification, zone))
        for criterion in criteria(requirement):
            if isinstance(criterion, StrengthCriterion) and there < least_number(criterion):
                yield _warning("sense_too_few", zone=zone, key=criterion.key, n=there, needed=least_number(criterion))


def _idle(requirement: Requirement) -> Iterator[Message]:
    """Parts that another part of the same table makes idle."""
    if not isinstance(requirement, AllOf | AnyOf):
        return
    plain = [part for part in requirement.parts if isinstance(part, MeanAtLeast | SmallestAtLeast | CountAtLeast)]
    for a in plain:
        for b in plain:
            if a is not b and _harder(a, b):
                idle, by = (b, a) if isinstance(requirement, AllOf) else (a, b)
                yield _warning("sense_idle", idle=idle.key, by=by.key)
    for part in requirement.parts:
        yield from _idle(part)


def _harder(a: Criterion, b: Criterion) -> bool:
    """Whether meeting ``a`` always means meeting ``b`` (and not the other way): the smallest is at most any other."""
    if not isinstance(a, SmallestAtLeast) or a.unless is not None:
        return False
    if not isinstance(b, MeanAtLeast | CountAtLeast) or a.question != b.question:
        return False
    if b.conformity is not None and (a.conformity is None or a.conformity.at_least < b.conformity.at_least):
        return False  # the other one is held to more than its limit
    failure = b.unless is not None if isinstance(b, CountAtLeast) else b.only is not None or b.alike_from is not None
    return not failure and a.limit.mpa >= b.limit.mpa
