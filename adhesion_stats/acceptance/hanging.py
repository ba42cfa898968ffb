"""On what a decision hangs: one pull, the flagged pulls, the way to round.

Each question is the whole decision again with one thing changed, for all zones at once:

- one pull: each counted pull left out in turn, by its place within the zone, so that as many decisions as the largest
  zone has pulls are enough. The required number goes down with it, and so does the n that a z-of-n criterion plans (z
  stays, as far as n allows): a missing pull alone would make every zone hang on every pull.
- flagged: all pulls of the zone that an outlier test points at, left out together.
- rounding: the other comparison method of ASTM E29, ties to even and ties up.

Rules on which the contract is silent are varied by whoever settles them, by calling ``decide`` for each ``Settled``.

Imports: numpy, this room, floor 0, terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.evaluate import decide
from adhesion_stats.acceptance.outcomes import Decisions, Outcome
from adhesion_stats.acceptance.pooling import each_by_its_own, pools, with_pooled_sd
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.terms.criteria import AllOf, AnyOf, CountAtLeast, Requirement, criteria
from adhesion_stats.terms.specification import Specification

__all__ = ["hangs_on", "without_flagged", "without_one"]

Codes = NDArray[np.int64]
Truth = NDArray[np.bool_]


def hangs_on(
    specification: Specification, cases: Cases, decisions: Decisions, pulls: Pulls
) -> Mapping[str, tuple[Message, ...]]:
    """For each zone whose decision would be another one, what it hangs on.

    Parameters
    ----------
    specification, cases, decisions
        What was decided, and from what.
    pulls
        The pulls whose rows ``cases.pull`` counts, for their names.

    Returns
    -------
    mapping
        Zone -> messages ``hangs_on_one_pull`` (facts ``pull``, ``row``, ``outcome``: what would follow without it),
        ``hangs_on_flagged`` (``pulls``, ``outcome``), ``hangs_on_rounding`` (``method``, ``ties``, ``outcome``).
    """
    found: dict[str, list[Message]] = {}
    for message in _pooling(specification, cases, decisions):
        found.setdefault(str(message.facts["zone"]), []).append(message)
    # A pull left out is not one that was invalid, and the pooled spread stays what it is.
    specification = with_pooled_sd(specification, cases).without_least_valid()
    # no name where values are pulls: then the column is empty
    named = {int(row): str(name) for row, name in zip(cases.pull, cases.measurement, strict=False) if name}
    for zone, row, outcome in without_one(specification, cases, decisions):
        facts: dict[str, Fact] = {"zone": zone, "pull": named.get(row) or pulls.name(row), "row": row}
        code = "hangs_on_one_measurement" if row in named else "hangs_on_one_pull"
        message = Message(code, Severity.WARNING, facts=facts | {"outcome": outcome.words})
        found.setdefault(zone, []).append(message)
    for zone, rows, outcome in without_flagged(specification, cases, decisions):
        names = tuple(named.get(row) or pulls.name(row) for row in rows)
        facts = {"zone": zone, "pulls": names, "outcome": outcome.words}
        found.setdefault(zone, []).append(Message("hangs_on_flagged", Severity.WARNING, facts=facts))
    for message in _rounding(specification, cases, decisions):
        found.setdefault(str(message.facts["zone"]), []).append(message)
    return {zone: tuple(found[zone]) for zone in cases.zones if zone in found}


def without_one(specification: Specification, cases: Cases, decisions: Decisions) -> list[tuple[str, int, Outcome]]:
    """(zone, row of the pull, outcome without it) wherever leaving out one counted pull changes the outcome."""
    order = np.lexsort((cases.pull, cases.zone))
    order = order[cases.pull[order] >= 0]
    zone = cases.zone[order]
    place = np.arange(order.size) - np.searchsorted(zone, zone, side="left")
    values = np.bincount(cases.zone, minlength=len(cases.zones))
    found: list[tuple[int, int, Outcome]] = []
    for p in range(int(place.max(initial=-1)) + 1):
        out = order[(place == p) & (values[zone] > 1)]
        dropped = np.zeros(len(cases), dtype=np.bool_)
        dropped[out] = True
        changed = _changed(specification, cases, dropped, decisions)
        hit = out[np.isin(cases.zone[out], list(changed))]
        pairs = zip(cases.zone[hit].tolist(), cases.pull[hit].tolist(), strict=True)
        found += [(code, pull, changed[code]) for code, pull in pairs]
    return [(cases.zones[code], pull, outcome) for code, pull, outcome in sorted(found, key=lambda f: f[:2])]


def without_flagged(
    specification: Specification, cases: Cases, decisions: Decisions
) -> list[tuple[str, tuple[int, ...], Outcome]]:
    """(zone, rows of its flagged pulls, outcome without them) wherever that changes the outcome."""
    if not cases.flagged.any():
        return []
    changed = _changed(specification, cases, cases.flagged, decisions)
    found = []
    for code, outcome in sorted(changed.items()):
        mine = cases.rows_of(code)
        found.append((cases.zones[code], tuple(sorted(cases.pull[mine[cases.flagged[mine]]].tolist())), outcome))
    return found


def _changed(specification: Specification, cases: Cases, dropped: Truth, decisions: Decisions) -> dict[int, Outcome]:
    """Zone codes whose outcome is another one without the cases ``dropped`` (zones that lose all values are left
    aside).
    """
    touched = np.zeros(len(cases.zones), dtype=np.bool_)
    touched[cases.zone[dropped]] = True
    kept = cases.keep(touched[cases.zone] & ~dropped)
    left = np.zeros(len(cases.zones), dtype=np.bool_)
    left[kept.zone] = True
    again = _decided_on(specification, kept, np.bincount(cases.zone[dropped], minlength=len(cases.zones)))
    different = touched & left & (again != decisions.outcome)
    different[list(decisions.held_back)] = False
    return {code: Outcome(int(again[code])) for code in np.flatnonzero(different).tolist()}


def _decided_on(specification: Specification, kept: Cases, dropped: Codes) -> Codes:
    """Outcomes by zone, where a z-of-n criterion plans as many values fewer as were left out (``dropped``, by zone)."""
    again = decide(specification, kept).outcome.astype(np.int64)
    left = np.bincount(kept.zone, minlength=len(kept.zones))
    planned = {i for i, name in enumerate(kept.zones) if _plans_a_number(specification, name)}
    zones = [i for i in np.flatnonzero((dropped > 0) & (left > 0)).tolist() if i in planned]
    for fewer, remaining in sorted({(int(dropped[i]), int(left[i])) for i in zones}):
        mine = np.array([i for i in zones if (dropped[i], left[i]) == (fewer, remaining)], dtype=np.int64)
        rules = tuple(
            replace(rule, requirement=_planning(rule.requirement, fewer, remaining)) for rule in specification.rules
        )
        outcome = decide(replace(specification, rules=rules), kept.keep(np.isin(kept.zone, mine))).outcome
        again[mine] = outcome[mine]
    return again


def _plans_a_number(specification: Specification, zone: str) -> bool:
    requirement = specification.requirement_for(zone)
    return requirement is not None and any(isinstance(c, CountAtLeast) for c in criteria(requirement))


def _planning(requirement: Requirement, fewer: int, left: int) -> Requirement:
    """The requirement with every planned n lowered by ``fewer``, though not below the values that are left."""
    if isinstance(requirement, AllOf | AnyOf):
        return replace(requirement, parts=tuple(_planning(part, fewer, left) for part in requirement.parts))
    if isinstance(requirement, CountAtLeast):
        n = min(requirement.n, max(requirement.n - fewer, left))
        return replace(requirement, n=n, z=min(requirement.z, n))
    return requirement


def _pooling(specification: Specification, cases: Cases, decisions: Decisions) -> list[Message]:
    """What each zone would be by its own standard deviation; where nothing changes, that is said too."""
    if not pools(specification):
        return []
    again = decide(each_by_its_own(specification), cases).outcome
    found = []
    for code in np.flatnonzero(decisions.outcome >= 0).tolist():
        if again[code] != decisions.outcome[code]:
            facts: dict[str, Fact] = {"zone": cases.zones[code], "outcome": Outcome(int(again[code])).words}
            found.append(Message("hangs_on_pooling", Severity.WARNING, facts=facts))
    return found


def _rounding(specification: Specification, cases: Cases, decisions: Decisions) -> list[Message]:
    """Zones that another comparison method decides otherwise."""
    rounding = specification.rounding
    if rounding.method == "rounded":
        others = [replace(rounding, method="unrounded")]
    else:
        others = [replace(rounding, method="rounded", ties="even"), replace(rounding, method="rounded", ties="up")]
    found: dict[str, Message] = {}
    for other in others:
        again = decide(replace(specification, rounding=other), cases).outcome
        for code in np.flatnonzero(again != decisions.outcome).tolist():
            if code in decisions.held_back:
                continue
            zone = cases.zones[code]
            words = Outcome(int(again[code])).words
            facts: dict[str, Fact] = {"zone": zone, "method": other.method, "ties": other.ties, "outcome": words}
            found.setdefault(zone, Message("hangs_on_rounding", Severity.WARNING, facts=facts))
    return list(found.values())
