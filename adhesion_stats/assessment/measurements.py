"""Measurements and their pulls, where a contract counts by measurement: facts for results.json, and what is said.

Imports: acceptance, messages, terms.
"""

from __future__ import annotations

from collections.abc import Iterator

from adhesion_stats.acceptance import required_number
from adhesion_stats.acceptance.measurements import name_of
from adhesion_stats.assessment.parts import Parts
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.criteria import PULL_OFF
from adhesion_stats.terms.specification import Specification

__all__ = ["measurement_facts", "measurement_messages", "measurements_to_make"]


def _members(pulls: Pulls, zone: str) -> dict[str, list[int]]:
    """Rows of the pulls of each measurement of a zone, in file order; a pull without one stands under its own name."""
    found: dict[str, list[int]] = {}
    for i in pulls.zone.rows_of(zone).tolist():
        found.setdefault(name_of(pulls, i) or pulls.name(i), []).append(i)
    return found


def measurement_facts(parts: Parts, zone: str) -> dict[str, object] | None:
    """The measurements of a zone with their pulls; None where values are counted by pull.

    ``low`` and ``high`` [MPa]: bounds of the mean of the pulls that count (high None: without end; both None: not
    valid).
    """
    rule = parts.specification.pulls
    if rule.count_by != "measurement":
        return None
    code = parts.zones.index(zone)
    mine = {
        str(name): k
        for k, (name, z) in enumerate(zip(parts.cases.measurement, parts.cases.zone.tolist(), strict=True))
        if name and z == code
    }
    question = PULL_OFF if PULL_OFF in parts.cases.low else next(iter(parts.cases.low), None)
    listed = []
    for name, rows in _members(parts.pulls, zone).items():
        k = mine.get(name)
        low = high = None
        if k is not None and question is not None:
            low, high = float(parts.cases.low[question][k]), float(parts.cases.high[question][k])
        listed.append(
            {
                "name": name,
                "pulls": rows,
                "counted": sum(bool(parts.standing.counted[i]) for i in rows),
                "valid": k is not None,
                "low": low,
                "high": high if high is not None and high != float("inf") else None,
            }
        )
    return {
        "required": required_number(parts.specification, zone) or None,
        "valid": len(mine),
        "pulls_per_measurement": rule.pulls_per_measurement,
        "listed": listed,
    }


def measurements_to_make(parts: Parts, zone: str) -> int:
    """How many measurements of a zone are required and were not made, or were begun and are not valid."""
    code = parts.zones.index(zone)
    return int(((parts.cases.zone == code) & (parts.cases.pull < 0)).sum())


def measurement_messages(pulls: Pulls, standing: Standing, specification: Specification) -> Iterator[Message]:
    """Yield each measurement that is not valid, and zones with pulls that name no measurement."""
    rule = specification.pulls
    if rule.count_by != "measurement":
        return
    needed = rule.pulls_per_measurement or 1
    for zone in pulls.zones:
        without = tuple(pulls.name(i) for i in pulls.zone.rows_of(zone).tolist() if not name_of(pulls, i))
        if without:
            facts: dict[str, Fact] = {"zone": zone, "pulls": without, "count": len(without)}
            yield Message("pull_without_measurement", Severity.WARNING, Place(pulls.file), facts)
        for name, rows in _members(pulls, zone).items():
            counted = sum(bool(standing.counted[i]) for i in rows)
            if counted < needed:
                facts = {"zone": zone, "measurement": name, "counted": counted, "needed": needed}
                yield Message("measurement_not_valid", Severity.WARNING, Place(pulls.file), facts)
