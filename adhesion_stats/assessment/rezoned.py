"""Pulls that stand in another zone than before: which, and whether a decision is another one because of it.

Zones are fixed before the first pull. A zone that is drawn anew when the results are known can make a weak patch
disappear in the average of a neighbour, so every pull that moved is named, and the contract is decided once more with
each pull in its earlier zone, by the same values and terms.

Earlier zones are those of
``column``  a second column of the readings (planned zone)
``plan``    the contract's plan: an id such as Z2-05 belongs to the second zone of the plan
``record``  an earlier record, matched by id

Imports: acceptance, judging, messages, floor 0, terms. Must not import record: the caller hands over what it holds.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from adhesion_stats.acceptance import Outcome, binding, pulls_asked, zones_of
from adhesion_stats.assessment.decide import decide_every_way
from adhesion_stats.assessment.ladder import rungs
from adhesion_stats.coded import Coded
from adhesion_stats.judging import parted
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.terms.specification import Specification

__all__ = [
    "Moved",
    "Rezoning",
    "Source",
    "contract_outcome",
    "rezoned_in_file",
    "rezoned_since",
    "rezoning_messages",
]

Source = Literal["column", "plan", "record"]
T = TypeVar("T")
_PLANNED_ID = re.compile(r"Z(\d+)-(\d+)(?:-R\d+)?")


@dataclass(frozen=True, slots=True)
class Moved:
    """A pull (row of ``Pulls``) and its earlier zone."""

    pull: int
    name: str
    before: str
    now: str


@dataclass(frozen=True)
class Rezoning:
    """Pulls that moved, and the outcomes by the earlier zones and by those of now (words; None: not there, or nothing
    asked).

    ``unmatched``: pulls of an earlier record of which none, or more than one, could be meant.
    """

    source: Source
    moved: tuple[Moved, ...]
    zones: tuple[tuple[str, str | None, str | None], ...]
    contract: tuple[str, str]
    unmatched: int = 0

    @property
    def changed(self) -> tuple[tuple[str, str | None, str | None], ...]:
        """The zones whose decision is another one."""
        return tuple(one for one in self.zones if one[1] != one[2])

    def as_dict(self) -> dict[str, object]:
        """Plain values, as written to results.json and revision.json."""
        return {
            "source": self.source,
            "moved": [{"pull": m.pull, "name": m.name, "before": m.before, "now": m.now} for m in self.moved],
            "zones": [{"zone": zone, "before": before, "now": now} for zone, before, now in self.zones],
            "contract": {"before": self.contract[0], "now": self.contract[1]},
            "unmatched": self.unmatched,
        }


def rezoned_in_file(pulls: Pulls, specification: Specification) -> tuple[Rezoning, ...]:
    """Return what a column of planned zones, and the contract's plan, say of the pulls of one file.

    ``pulls`` and ``specification`` as given, not parted by stage or round.
    """
    found: list[Rezoning] = []
    for source, moved in (("column", _by_column(pulls)), ("plan", _by_plan(pulls, specification))):
        if moved and all(moved != one.moved for one in found):
            found.append(_rezoning("column" if source == "column" else "plan", moved, pulls, specification))
    return tuple(found)


def rezoned_since(pulls: Pulls, specification: Specification, earlier: Mapping[str, object]) -> Rezoning | None:
    """Return what moved since an earlier record (its results as plain values); None where no pull did."""
    moved, unmatched = _since(pulls, list(_recorded(earlier)))
    return _rezoning("record", moved, pulls, specification, unmatched) if moved else None


def rezoning_messages(found: Sequence[Rezoning]) -> list[Message]:
    """Name the pulls that moved, and say whether a decision changes."""
    messages: list[Message] = []
    for one in found:
        facts: dict[str, Fact] = {"count": len(one.moved), "moves": _moves(one.moved)}
        messages.append(Message(f"rezoned_{one.source}", Severity.WARNING, facts=facts))
        if one.changed:
            said = tuple(f"{zone}: {_words(before)} before, {_words(now)} now" for zone, before, now in one.changed)
            facts = {"count": len(said), "changes": said, "before": one.contract[0], "now": one.contract[1]}
            messages.append(Message("rezoned_decides", Severity.WARNING, facts=facts))
        else:
            messages.append(Message("rezoned_decides_nothing", Severity.NOTE))
    return messages


def _words(outcome: str | None) -> str:
    return "not there" if outcome is None else outcome


def _moves(moved: Sequence[Moved]) -> tuple[str, ...]:
    """The pulls that went from one zone to another, together: ``from North to South: 3, 7``."""
    by_pair: dict[tuple[str, str], list[str]] = {}
    for one in moved:
        by_pair.setdefault((one.before, one.now), []).append(one.name)
    return tuple(f"from {before} to {now}: {', '.join(names)}" for (before, now), names in by_pair.items())


def _by_column(pulls: Pulls) -> tuple[Moved, ...]:
    """Pulls whose planned zone is another than their zone; a blank says nothing."""
    if "planned_zone" not in pulls.labels:
        return ()
    pairs = pulls.labels["planned_zone"].beside(pulls.zone)
    differs = pairs.where(lambda pair: bool(pair[0].strip()) and _key(pair[0]) != _key(pair[1]))
    known = {_key(zone): zone for zone in pulls.zones}
    rows = [i for i, moved in enumerate(differs.tolist()) if moved]
    return tuple(Moved(i, pulls.name(i), known.get(_key(pairs[i][0]), pairs[i][0].strip()), pairs[i][1]) for i in rows)


def _key(zone: str) -> str:
    """What spellings of one zone share: a column of plans is often typed by somebody else."""
    return " ".join(zone.casefold().split())


def _by_plan(pulls: Pulls, specification: Specification) -> tuple[Moved, ...]:
    """Pulls whose id is one that the plan gave to another zone."""
    plan = specification.plan
    if plan is None or not plan.zones:
        return ()
    numbers: list[int] = []
    for zone in plan.zones:
        asked = pulls_asked(specification, zone)
        decides = binding(asked)
        numbers.append(0 if decides is None else asked[decides].pulls)

    def planned(name: str) -> str:
        found = _PLANNED_ID.fullmatch(name.strip())
        if found is None or not 1 <= int(found[1]) <= len(plan.zones):
            return ""
        zone = int(found[1]) - 1
        return plan.zones[zone].name if 1 <= int(found[2]) <= numbers[zone] else ""

    pairs = pulls.id.map(planned).beside(pulls.zone)
    differs = pairs.where(lambda pair: bool(pair[0]) and _key(pair[0]) != _key(pair[1]))
    rows = [i for i, moved in enumerate(differs.tolist()) if moved]
    return tuple(Moved(i, pulls.name(i), pairs[i][0], pairs[i][1]) for i in rows)


@dataclass(frozen=True, slots=True)
class _Recorded:
    """A pull of an earlier record: id, zone, and strength as recorded."""

    name: str
    zone: str
    strength: float | None


def _recorded(results: Mapping[str, object]) -> Iterator[_Recorded]:
    """The pulls of a record that bear an id; in the zone that a stage or round was parted from."""
    zones, pulls = results["zones"], results["pulls"]
    assert isinstance(zones, list)
    assert isinstance(pulls, list)
    whole = {zone["zone"]: (zone.get("population") or {}).get("zone", zone["zone"]) for zone in zones}
    for pull in pulls:
        if pull["id"]:
            yield _Recorded(pull["id"], whole.get(pull["zone"], pull["zone"]), pull["strength"])


def _since(pulls: Pulls, recorded: Sequence[_Recorded]) -> tuple[tuple[Moved, ...], int]:
    """Pulls that moved since, and how many of the record could not be matched.

    A pull is known by its id. Where several bear one, those that stay in their zone are taken off first; of the others,
    one of each side is the same pull, and of several those of one strength are.
    """
    before: dict[str, list[_Recorded]] = {}
    now: dict[str, list[int]] = {}
    for old in recorded:
        before.setdefault(old.name, []).append(old)
    for i, name in enumerate(pulls.id):
        if name in before:
            now.setdefault(name, []).append(i)
    moved: list[Moved] = []
    unmatched = 0
    for name, olds in before.items():
        here = now.get(name, [])
        staying = Counter(old.zone for old in olds) & Counter(pulls.zone[i] for i in here)
        left_olds = _without(olds, [old.zone for old in olds], Counter(staying))
        left = _without(here, [pulls.zone[i] for i in here], Counter(staying))
        for old, i in _pairs(left_olds, left, pulls):
            moved.append(Moved(i, pulls.name(i), old.zone, pulls.zone[i]))
            left_olds = [one for one in left_olds if one is not old]
        unmatched += len(left_olds)
    return tuple(sorted(moved, key=lambda one: one.pull)), unmatched


def _without(entries: Sequence[T], zones: Sequence[str], off: Counter[str]) -> list[T]:
    """The entries without as many of each zone as ``off`` says."""
    kept: list[T] = []
    for entry, zone in zip(entries, zones, strict=True):
        if off[zone]:
            off[zone] -= 1
        else:
            kept.append(entry)
    return kept


def _pairs(olds: Sequence[_Recorded], rows: Sequence[int], pulls: Pulls) -> Iterator[tuple[_Recorded, int]]:
    if len(olds) == 1 and len(rows) == 1:
        yield olds[0], rows[0]
        return
    for old in olds:
        alike = [i for i in rows if old.strength is not None and float(pulls.strength_mpa[i]) == old.strength]
        if len(alike) == 1 and sum(other.strength == old.strength for other in olds) == 1:
            yield old, alike[0]


def _rezoning(
    source: Source, moved: tuple[Moved, ...], pulls: Pulls, specification: Specification, unmatched: int = 0
) -> Rezoning:
    zones = list(pulls.zone)
    for one in moved:
        zones[one.pull] = one.before
    before = _outcomes(replace(pulls, zone=Coded.of(zones)), specification)
    now = _outcomes(pulls, specification)
    names = dict.fromkeys([*now, *before])
    table = tuple((name, _said(before, name), _said(now, name)) for name in names)
    touched = {zone for one in moved for zone in (one.before, one.now)}
    kept = tuple(row for row in table if row[0] in touched or row[1] != row[2])
    return Rezoning(source, moved, kept, (contract_outcome(before), contract_outcome(now)), unmatched)


def _said(outcomes: Mapping[str, Outcome | None], name: str) -> str | None:
    outcome = outcomes.get(name)
    return None if outcome is None else outcome.words


def _outcomes(pulls: Pulls, specification: Specification) -> dict[str, Outcome | None]:
    """The decision of each zone, of a zone with a ladder that of the round that stands."""
    populations = parted(pulls, specification)
    zones = zones_of(populations.pulls, populations.specification)
    readings = decide_every_way(populations.pulls, populations.specification, zones)
    on = rungs(populations.specification, populations.of, readings.outcome)
    return {zone: readings.outcome(zone) for zone in zones if zone not in on or on[zone].state == "stands"}


def contract_outcome(outcomes: Mapping[str, Outcome | None]) -> str:
    """The contract's decision from those of its zones, in words."""
    found = {outcome for outcome in outcomes.values() if outcome is not None}
    if Outcome.DOES_NOT_CONFORM in found:
        return Outcome.DOES_NOT_CONFORM.words
    return Outcome.CONFORMS.words if found == {Outcome.CONFORMS} else Outcome.UNDETERMINED.words
