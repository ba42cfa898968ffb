"""Into which class each zone falls: an interval of classes over everything that the unknown values can be.

A zone falls into the highest class whose requirement it meets. The least class that it has whatever the unknown is, and
the highest that it could have, follow from deciding "this class or a higher one" for each class.

Imports: acceptance, messages, terms.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from adhesion_stats.acceptance import Outcome, cases, decide
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Classes, Specification, ZoneRule

__all__ = ["ZoneClass", "class_messages", "zone_classes"]


@dataclass(frozen=True)
class ZoneClass:
    """The class of a zone: the highest that it could have, and the one that it has at least; None: below all."""

    zone: str
    best: str | None
    least: str | None


def zone_classes(
    classes: Classes,
    specification: Specification,
    pulls: Pulls,
    standing: Standing,
    settled: Settled,
    zones: tuple[str, ...],
) -> tuple[ZoneClass, ...]:
    """Return the class of each zone that is to be sorted, in the order of ``zones``."""
    mine = tuple(zone for zone in zones if not classes.zones or zone in classes.zones)
    best: dict[str, str] = {}
    least: dict[str, str] = {}
    for number, name in enumerate(classes.names):
        rule = ZoneRule(classes.zones, classes.upto(number))
        terms = replace(specification, rules=(rule,))
        decisions = decide(terms, cases(pulls, standing, terms, settled, zones))
        for zone in mine:
            outcome = decisions[zone].outcome
            if outcome != Outcome.DOES_NOT_CONFORM:
                best.setdefault(zone, name)
            if outcome == Outcome.CONFORMS:
                least.setdefault(zone, name)
    return tuple(ZoneClass(zone, best.get(zone), least.get(zone)) for zone in mine)


def class_messages(
    specification: Specification, pulls: Pulls, standing: Standing, settled: Settled, zones: tuple[str, ...]
) -> list[Message]:
    """Say the class of each zone, or from which to which it may be."""
    found: list[Message] = []
    for classes in specification.classes:
        for one in zone_classes(classes, specification, pulls, standing, settled, zones):
            facts: dict[str, Fact] = {"zone": one.zone, "lowest": classes.names[-1]}
            if one.best == one.least:
                code = "class_none" if one.best is None else "class_is"
                facts |= {} if one.best is None else {"name": one.best}
            else:
                assert one.best is not None  # what is met whatever the unknown is can be met
                code = "class_open_below" if one.least is None else "class_open"
                facts |= {"best": one.best} | ({} if one.least is None else {"least": one.least})
            found.append(Message(code, Severity.NOTE, facts=facts))
    return found
