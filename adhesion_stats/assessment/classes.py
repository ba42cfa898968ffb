"""Into which class each zone falls: an interval of classes over everything that the unknown values can be.

A zone falls into the highest class whose requirement it meets. The least class that it has whatever the unknown is, and
the highest that it could have, follow from deciding "this class or a higher one" for each class. Where the contract is
silent on a rule, the interval takes in every way to settle it.

Imports: acceptance, judging, messages, terms.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from adhesion_stats.acceptance import Outcome, cases, decide
from adhesion_stats.assessment.decide import Way
from adhesion_stats.judging import Population
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Classes, Specification, ZoneRule

__all__ = ["ZoneClass", "class_facts", "class_messages", "classes_every_way", "zone_classes"]


@dataclass(frozen=True)
class ZoneClass:
    """The class of a zone: the highest that it could have, and the one that it has at least; None: below all.

    ``names`` are those of all classes, from the highest to the lowest.
    """

    zone: str
    best: str | None
    least: str | None
    names: tuple[str, ...] = ()


def zone_classes(
    classes: Classes,
    specification: Specification,
    pulls: Pulls,
    standing: Standing,
    settled: Settled,
    zones: tuple[str, ...],
    of: Mapping[str, Population] | None = None,
) -> tuple[ZoneClass, ...]:
    """Return the class of each zone that is to be sorted, in the order of ``zones``.

    ``of``: what the zones stand for where the contract parts them by stage or round.
    """
    parts = of or {}
    whole = {zone: parts[zone].zone if zone in parts else zone for zone in zones}
    mine = tuple(zone for zone in zones if not classes.zones or whole[zone] in classes.zones)
    best: dict[str, str] = {}
    least: dict[str, str] = {}
    for number, name in enumerate(classes.names if mine else ()):
        rule = ZoneRule(mine, classes.upto(number))
        terms = replace(specification, rules=(rule,))
        decisions = decide(terms, cases(pulls, standing, terms, settled, zones))
        for zone in mine:
            outcome = decisions[zone].outcome
            if outcome != Outcome.DOES_NOT_CONFORM:
                best.setdefault(zone, name)
            if outcome == Outcome.CONFORMS:
                least.setdefault(zone, name)
    return tuple(ZoneClass(zone, best.get(zone), least.get(zone), classes.names) for zone in mine)


def classes_every_way(
    specification: Specification,
    pulls: Pulls,
    ways: Sequence[Way],
    zones: tuple[str, ...],
    of: Mapping[str, Population],
) -> tuple[ZoneClass, ...]:
    """Return the classes of each zone over every way to read the contract, one entry per table of classes and zone."""
    found: list[ZoneClass] = []
    for classes in specification.classes:
        order = [*classes.names, None]
        by_way = [
            zone_classes(classes, specification, pulls, way.judgement.standing, way.settled, zones, of) for way in ways
        ]
        for alike in zip(*by_way, strict=True):
            best = min((one.best for one in alike), key=order.index)
            least = max((one.least for one in alike), key=order.index)
            found.append(ZoneClass(alike[0].zone, best, least, classes.names))
    return tuple(found)


def class_facts(found: Sequence[ZoneClass], zone: str) -> list[dict[str, object]]:
    """Return the classes of a zone as written to results.json; empty where it is not sorted."""
    return [{"best": one.best, "least": one.least, "names": list(one.names)} for one in found if one.zone == zone]


def class_messages(found: Sequence[ZoneClass]) -> list[Message]:
    """Say the class of each zone, or from which to which it may be."""
    said: list[Message] = []
    for one in found:
        facts: dict[str, Fact] = {"zone": one.zone, "lowest": one.names[-1]}
        if one.best == one.least:
            code = "class_none" if one.best is None else "class_is"
            facts |= {} if one.best is None else {"name": one.best}
        else:
            assert one.best is not None  # what is met whatever the unknown is can be met
            code = "class_open_below" if one.least is None else "class_open"
            facts |= {"best": one.best} | ({} if one.least is None else {"least": one.least})
        said.append(Message(code, Severity.NOTE, facts=facts))
    return said
