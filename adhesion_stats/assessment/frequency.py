"""Pulls made against pulls asked: for each planned zone and rule, by area, pour, day and span. Facts only.

A pull is made where it counts. The day of a pull is that on which the layer was applied (date of test less age), since
the rules ask for so many pulls for each day's work; pour and span are columns of the readings.

Imports: numpy, floor 0, terms, judging, acceptance.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance import Asked, binding, pulls_asked
from adhesion_stats.judging import Population
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.plan import PlanZone
from adhesion_stats.terms.specification import Specification

__all__ = ["frequency_facts", "holes_facts"]

PRODUCTION = "production"
_PARTS = ("pour", "day", "span")


def frequency_facts(
    pulls: Pulls, standing: Standing, specification: Specification, of: Mapping[str, Population]
) -> list[dict[str, object]]:
    """Return, for each zone of the plan, what every rule asks and what is missing; empty where there is no plan.

    ``of``: what the zones of ``pulls`` stand for where the contract parts them by stage or round. A plan asks for the
    production pulls of the first round; other stages and later rounds have their own numbers.
    """
    plan = specification.plan
    if plan is None:
        return []
    found: list[dict[str, object]] = []
    for zone in plan.zones:
        counted = np.flatnonzero((pulls.zone.index_in(_names(zone.name, of)) >= 0) & standing.counted)
        asked = pulls_asked(specification, zone)
        found.append(
            {
                "zone": zone.name,
                "area_m2": zone.area_m2,
                "counted": int(counted.size),
                "decides": binding(asked),
                "rules": [_rule(pulls, zone, entry, counted) for entry in asked],
            }
        )
    return found


def _names(zone: str, of: Mapping[str, Population]) -> tuple[str, ...]:
    """Names under which the planned pulls of a zone stand."""
    if not of:
        return (zone,)
    return tuple(name for name, p in of.items() if p.zone == zone and p.round == 1 and p.stage in {"", PRODUCTION})


def _rule(pulls: Pulls, zone: PlanZone, asked: Asked, counted: NDArray[np.intp]) -> dict[str, object]:
    made = int(counted.size)
    facts: dict[str, object] = {
        "kind": asked.kind,
        "asked": asked.pulls,
        "each": asked.each,
        "times": asked.times,
        "source": asked.source,
        "missing": max(0, asked.pulls - made),
        "parts": None,
        "not_recorded": 0,
    }
    if asked.kind not in _PARTS:
        return facts
    names = _part_of(pulls, asked.kind, counted)
    by_name = Counter(name for name in names if name)
    facts["not_recorded"] = sum(not name for name in names)
    if asked.kind in zone.named_parts:
        wanted: Sequence[str] = zone.parts[asked.kind]
    else:  # their number alone is known: the parts that the readings name, and as many without a name as are lacking
        wanted = [*sorted(by_name), *[""] * max(0, asked.times - len(by_name))]
    facts["parts"] = [
        {"name": name, "asked": asked.each, "counted": by_name[name], "missing": max(0, asked.each - by_name[name])}
        for name in wanted
    ]
    return facts


def _part_of(pulls: Pulls, kind: str, rows: NDArray[np.intp]) -> list[str]:
    """Name of the part that each of these pulls belongs to, "" where the readings do not say."""
    if kind == "day":
        return [_applied(pulls, i) for i in rows.tolist()]
    column = pulls.labels.get(kind)
    return [""] * rows.size if column is None else [column[i] for i in rows.tolist()]


def _applied(pulls: Pulls, i: int) -> str:
    """ISO date on which the layer was applied, from the date of test and the age; "" where one is not known."""
    ages = pulls.conditions.get("age_days")
    if ages is None or np.isnan(ages[i]) or not pulls.date[i]:
        return ""
    return (dt.date.fromisoformat(pulls.date[i]) - dt.timedelta(days=round(float(ages[i])))).isoformat()


def holes_facts(pulls: Pulls) -> dict[str, object]:
    """Return how many holes the pulls left, those lost before loading included, and their area [mm²] where every size
    is known.
    """
    sizes = pulls.area_mm2
    area = None if not len(pulls) or np.isnan(sizes).any() else float(np.sum(sizes))
    return {"count": len(pulls), "area_mm2": area}
