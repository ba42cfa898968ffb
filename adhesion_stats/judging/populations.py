"""The populations that decisions are about: zones, parted by stage where a rule names one and by round of a ladder.

A population is a zone to everything that follows. Where a rule names a stage, the pulls of that stage are decided by
the rules for it, and the other pulls of the zone by the rules that name no stage: never both in one mean. With a retest
ladder each round is decided by itself. So the populations of a zone hold different pulls, and a zone meets what is
asked of it if each population does (that is: their completions are independent).

A pull of a later round that repeats a pull of an earlier one belongs to the later round and replaces nothing.

Imports: floor 0, terms. Must not import anything above.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from adhesion_stats.coded import Coded
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.terms.specification import Exclusion, Specification, ZoneRule
from adhesion_stats.terms.stages import STAGES

__all__ = ["Population", "Populations", "parted"]

_ROUND = re.compile(r"\D*0*(\d{1,3})\D*")
_AFTER_REMEDY = STAGES[-1]


@dataclass(frozen=True, slots=True)
class Population:
    """The pulls of ``zone`` that are of ``stage`` ("": of no stage that a rule takes) and of round ``round``."""

    zone: str
    stage: str = ""
    round: int = 1


@dataclass(frozen=True)
class Populations:
    """Pulls and terms in which every population is a zone, and what each name stands for.

    ``of`` is empty where nothing had to be parted: then pulls and terms are those that were given.
    """

    pulls: Pulls
    specification: Specification
    of: Mapping[str, Population]
    messages: tuple[Message, ...] = ()


def parted(pulls: Pulls, specification: Specification) -> Populations:
    """Part the zones by stage and round, where the contract asks for it."""
    staged = any(rule.stage for rule in specification.rules)
    rounds = _rounds(pulls) if specification.ladder else None
    if not staged and rounds is None:
        loose = _rounds_without_ladder(pulls)
        return Populations(pulls, specification, {}, loose)
    messages: list[Message] = []
    mine = [_population(pulls, specification, i, rounds, messages) for i in range(len(pulls))]
    known = [*pulls.zones, *specification.pulls.zones, *(zone for rule in specification.rules for zone in rule.zones)]
    known += () if specification.plan is None else [zone.name for zone in specification.plan.zones]
    zones = tuple(dict.fromkeys(known))
    names = _names([*mine, *_asked(specification, zones)], zones)
    rules = tuple(found for rule in specification.rules for found in _rules(rule, specification, names))
    ruled = {name for rule in rules for name in rule.zones}
    kept = tuple(zone for zone in specification.pulls.zones if zone in ruled)
    table = replace(
        pulls,
        zone=Coded.of(names[population] for population in mine),
        retest_of=Coded.of(_repeats(pulls, mine)),
    )
    terms = replace(
        specification,
        rules=rules,
        pulls=replace(specification.pulls, zones=kept),
        exclusions=tuple(_exclusion(pulls, mine, names, exclusion) for exclusion in specification.exclusions),
    )
    messages += _unruled(pulls, mine, names, ruled)
    return Populations(table, terms, {name: population for population, name in names.items()}, tuple(messages))


def _stage(pulls: Pulls, i: int) -> str:
    """The stage of a pull in the words of the terms; "" where it has none, or another one."""
    if "stage" not in pulls.labels:
        return ""
    written = " ".join(pulls.labels["stage"][i].casefold().split())
    return written if written in STAGES else ""


def _rounds(pulls: Pulls) -> list[tuple[int | None, str]]:
    """For each pull its round as read (None: not given or not readable) and as written."""
    if "round" not in pulls.labels:
        return [(None, "")] * len(pulls)
    found: list[tuple[int | None, str]] = []
    for text in pulls.labels["round"]:
        number = _ROUND.fullmatch(text.strip())
        found.append((int(number[1]) if number and int(number[1]) >= 1 else None, text))
    return found


def _population(
    pulls: Pulls,
    specification: Specification,
    i: int,
    rounds: Sequence[tuple[int | None, str]] | None,
    messages: list[Message],
) -> Population:
    zone, stage = pulls.zone[i], _stage(pulls, i)
    taken = stage != "" and any(rule.stage == stage and _holds(rule, zone) for rule in specification.rules)
    number = 1
    if rounds is not None:
        read, written = rounds[i]
        if read is None and written.strip():
            facts: Mapping[str, Fact] = {"pull": pulls.name(i), "written": written}
            place = Place(pulls.file, pulls.sheet[i] or None, int(pulls.row[i]))
            messages.append(Message("round_not_read", Severity.WARNING, place, facts))
        second = read is None and not written.strip() and stage == _AFTER_REMEDY and not taken
        number = 2 if second else read or 1
    return Population(zone, stage if taken else "", number)


def _holds(rule: ZoneRule, zone: str) -> bool:
    return not rule.zones or zone in rule.zones


def _asked(specification: Specification, zones: Sequence[str]) -> Iterable[Population]:
    """The populations of the first round that rules ask for, whether or not there are pulls of them."""
    for zone in zones:
        for rule in specification.rules:
            if _holds(rule, zone):
                yield Population(zone, rule.stage)


def _names(found: Iterable[Population], zones: Sequence[str]) -> dict[Population, str]:
    """A name for each population, in the order of the zones; none is the name of another zone."""
    order = {zone: i for i, zone in enumerate(zones)}
    stages = ("", *STAGES)
    names: dict[Population, str] = {}
    taken = set(zones)
    wanted = sorted(dict.fromkeys(found), key=lambda p: (order[p.zone], stages.index(p.stage), p.round))
    for population in wanted:
        name = population.zone
        if population.stage:
            name += f", {population.stage}"
        if population.round > 1:
            name += f", round {population.round}"
        while name != population.zone and name in taken:
            name += " *"
        taken.add(name)
        names[population] = name
    return names


def _rules(rule: ZoneRule, specification: Specification, names: Mapping[Population, str]) -> Iterable[ZoneRule]:
    """The rule for the populations that it holds for; a round asks for as many pulls as its step of the ladder says."""
    by_number: dict[int | None, list[str]] = {}
    for population, name in names.items():
        if population.stage == rule.stage and _holds(rule, population.zone):
            step = population.round - 2
            if population.round > 1 and step >= len(specification.ladder):
                continue  # no step of the ladder asks for such a round
            if population.round > 1 and specification.ladder[step].do != "revise and repeat":
                continue
            number = specification.ladder[step].pulls if population.round > 1 else None
            by_number.setdefault(rule.required if number is None else number, []).append(name)
    for required, zones in by_number.items():
        yield replace(rule, zones=tuple(zones), required=required, stage="")


def _repeats(pulls: Pulls, mine: Sequence[Population]) -> list[str]:
    """What each pull repeats; "" for a pull that repeats one of another population."""
    found = list(pulls.retest_of)
    rows: dict[str, list[int]] = {}
    for i, name in enumerate(pulls.id):
        rows.setdefault(name, []).append(i)
    for i, name in enumerate(found):
        named = [mine[j] for j in rows.get(name, ()) if j != i] if name else []
        if mine[i] not in named and any(population.zone == mine[i].zone for population in named):
            found[i] = ""
    return found


def _exclusion(
    pulls: Pulls, mine: Sequence[Population], names: Mapping[Population, str], exclusion: Exclusion
) -> Exclusion:
    """The exclusion with the population of the pull that it names in its zone."""
    rows = [i for i in range(len(pulls)) if pulls.id[i] == exclusion.id and pulls.zone[i] == exclusion.zone]
    return replace(exclusion, zone=names[mine[rows[0]]]) if len(rows) == 1 else exclusion


def _unruled(
    pulls: Pulls, mine: Sequence[Population], names: Mapping[Population, str], ruled: set[str]
) -> Iterable[Message]:
    """Pulls that no rule decides about: of no stage that is asked for, or of a round that no step asks for."""
    left: dict[Population, list[int]] = {}
    for i, population in enumerate(mine):
        if names[population] not in ruled:
            left.setdefault(population, []).append(i)
    for population, rows in left.items():
        facts: dict[str, Fact] = {
            "zone": population.zone, "count": len(rows), "pulls": tuple(pulls.name(i) for i in rows), "round":
            population.round,
        }  # fmt: skip
        code = "round_beyond_ladder" if population.round > 1 else "stage_not_asked"
        yield Message(code, Severity.WARNING, Place(pulls.file), facts)


def _rounds_without_ladder(pulls: Pulls) -> tuple[Message, ...]:
    """Zones with pulls of several rounds, where the contract has no ladder: they are decided together."""
    if "round" not in pulls.labels:
        return ()
    texts = pulls.labels["round"]
    found = []
    for zone in pulls.zones:
        there = tuple(dict.fromkeys(texts[i] for i in pulls.zone.rows_of(zone).tolist() if texts[i].strip()))
        if len(there) > 1:
            facts: Mapping[str, Fact] = {"zone": zone, "rounds": there}
            found.append(Message("rounds_without_ladder", Severity.WARNING, Place(pulls.file), facts))
    return tuple(found)
