"""Zones parted by the stage of the work and by the round of a retest ladder, where the contract asks for it.

The pulls of a stage that a rule names are decided by the rules for that stage, the others by the rules without one;
with a ladder each round is decided by its own pulls. Each part bears a name of its own: "Deck 1, bare substrate".
Imports: the standard library and this package.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from adhesion_stats.twin.model import Pull
from adhesion_stats.twin.terms import Rule, Terms

__all__ = ["Part", "parted", "standing_zones"]

_STAGES = ("", "bare substrate", "trial", "production", "after remedy")
_REPEAT = "revise and repeat"


@dataclass(frozen=True)
class Part:
    """The pulls of a zone that are of a stage ("": of none that a rule takes) and of a round."""

    zone: str
    stage: str = ""
    round: int = 1


def _holds(rule: Rule, zone: str) -> bool:
    return not rule.zones or zone in rule.zones


def _round(pull: Pull, stage_taken: bool) -> int:
    """Round of a pull: as written; where nothing is written, the second for one after the remedy, else the first."""
    found = re.fullmatch(r"\D*0*(\d{1,3})\D*", pull.round)
    if found and int(found[1]) >= 1:
        return int(found[1])
    return 2 if not pull.round and pull.stage == "after remedy" and not stage_taken else 1


def parted(pulls: Sequence[Pull], terms: Terms) -> tuple[list[Pull], Terms, dict[str, Part]]:
    """Pulls and terms in which every part is a zone, and what each name stands for (nothing parted: no names)."""
    if not terms.ladder and not any(rule.stage for rule in terms.rules):
        return list(pulls), terms, {}
    mine = []
    for pull in pulls:
        taken = pull.stage in _STAGES[1:] and any(
            rule.stage == pull.stage and _holds(rule, pull.zone) for rule in terms.rules
        )
        mine.append(Part(pull.zone, pull.stage if taken else "", _round(pull, taken) if terms.ladder else 1))
    zones = list(dict.fromkeys([*(pull.zone for pull in pulls), *terms.zones]))
    asked = [Part(zone, rule.stage) for zone in zones for rule in terms.rules if _holds(rule, zone)]
    names = _names({*mine, *asked}, zones)
    rules = [part for rule in terms.rules for part in _rules(rule, terms, names)]
    exclusions = tuple(
        (names[mine[at[0]]] if len(at) == 1 else zone, name)
        for zone, name in terms.exclusions
        for at in [[i for i, pull in enumerate(pulls) if pull.id == name and pull.zone == zone]]
    )
    moved = [
        replace(pull, zone=names[part], retest_of=_repeats(i, pulls, mine))
        for i, (pull, part) in enumerate(zip(pulls, mine, strict=True))
    ]
    ruled = tuple(dict.fromkeys(zone for rule in rules for zone in rule.zones))
    return (
        moved,
        replace(terms, rules=tuple(rules), exclusions=exclusions, zones=ruled),
        {n: p for p, n in names.items()},
    )


def _names(found: set[Part], zones: Sequence[str]) -> dict[Part, str]:
    names: dict[Part, str] = {}
    taken = set(zones)
    for part in sorted(found, key=lambda p: (zones.index(p.zone), _STAGES.index(p.stage), p.round)):
        name = (
            part.zone + (f", {part.stage}" if part.stage else "") + (f", round {part.round}" if part.round > 1 else "")
        )
        while name != part.zone and name in taken:
            name += " *"
        taken.add(name)
        names[part] = name
    return names


def _rules(rule: Rule, terms: Terms, names: Mapping[Part, str]) -> list[Rule]:
    """The rule for each part that it holds for; a round asks for as many pulls as its step of the ladder says."""
    found = []
    for part, name in names.items():
        if part.stage != rule.stage or not _holds(rule, part.zone):
            continue
        number = None
        if part.round > 1:
            step = terms.ladder[part.round - 2] if part.round - 2 < len(terms.ladder) else {}
            if step.get("do") != _REPEAT:
                continue
            pulls = step.get("pulls")
            number = pulls if isinstance(pulls, int) else None
        found.append(replace(rule, zones=(name,), required=number or rule.required, stage=""))
    return found


def _repeats(i: int, pulls: Sequence[Pull], mine: Sequence[Part]) -> str:
    """What a pull repeats; nothing for one that repeats a pull of another part of its zone."""
    name = pulls[i].retest_of
    named = [mine[j] for j, pull in enumerate(pulls) if pull.id == name and j != i] if name else []
    elsewhere = mine[i] not in named and any(part.zone == mine[i].zone for part in named)
    return "" if elsewhere else name


def standing_zones(outcomes: Mapping[str, str | None], terms: Terms, parts: Mapping[str, Part]) -> list[str]:
    """The zones whose decision counts for the contract: of the rounds of a ladder the last one that was reached."""
    chains: dict[tuple[str, str], dict[int, str]] = {}
    for name, part in parts.items():
        chains.setdefault((part.zone, part.stage), {})[part.round] = name
    stands = [zone for zone in outcomes if zone not in parts]
    for chain in chains.values():
        number = 1
        while number in chain:
            step = terms.ladder[number - 1] if number <= len(terms.ladder) else {}
            due = bool(step) and outcomes.get(chain[number]) == step.get("on", "does not conform")
            if not (due and step.get("do") == _REPEAT and number + 1 in chain):
                stands.append(chain[number])
                break
            number += 1
    return [zone for zone in stands if zone in outcomes]
