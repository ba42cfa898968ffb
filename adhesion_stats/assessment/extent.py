"""How far a weak patch may reach, where a zone does not conform and the places of its pulls are known. Facts only.

Our own construction, no published source:

- A pull is *low* that lies below the highest limit for a single value (smallest, z of n, each pull), else below the
  highest limit of the zone's other strength criteria.
- Its *neighbours* are the nearest pull that is not low in each of four directions (right, up, left, down: quarters of
  the circle round it). Where a quarter holds none, the patch is open towards that side.
- The *next places* lie half-way to these neighbours: whatever they give, the patch is then known to half the distance.
  A place nearer than half the plan's spacing to either pull is left out.
- The *area in doubt* is that part of the zone that lies nearer to a low pull than to any other pull that counts;
  keep-outs are not taken off. Each low pull has its part of it, with corners in metres.

Imports: numpy, plane, floor 0, terms.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.messages import Fact, Message
from adhesion_stats.plane import area, nearer_part
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.criteria import (
    CountAtLeast,
    EachPullAtLeast,
    Requirement,
    SmallestAtLeast,
    criteria,
    limits,
)
from adhesion_stats.terms.plan import PlanZone
from adhesion_stats.terms.specification import Specification

__all__ = ["SIDES", "extent_facts", "extent_step", "low_limit_mpa"]

SIDES = ("right", "up", "left", "down")


def low_limit_mpa(requirement: Requirement) -> float | None:
    """Limit below which a pull is low [MPa]; None where no strength is asked for."""
    asked = list(criteria(requirement))
    single = [c for c in asked if isinstance(c, SmallestAtLeast | CountAtLeast | EachPullAtLeast)]
    named = [limit.mpa for c in (single or asked) for limit in limits(c)]
    return max(named) if named else None


def extent_facts(
    pulls: Pulls, standing: Standing, specification: Specification, failing: Sequence[str]
) -> list[dict[str, object]]:
    """Return the extent of what is weak, for each failing zone that has low pulls whose places are known."""
    if not failing or not {"x_m", "y_m"} <= pulls.conditions.keys():
        return []
    found = []
    code = pulls.zone.index_in(tuple(failing))
    places = np.stack([pulls.conditions["x_m"], pulls.conditions["y_m"]], axis=1)
    usable = standing.counted & ~np.isnan(places).any(axis=1) & ~np.isnan(pulls.strength_mpa)
    plan = specification.plan
    spacing = None if plan is None else plan.spacing_m
    for i, zone in enumerate(failing):
        requirement = specification.requirement_for(zone)
        limit = None if requirement is None else low_limit_mpa(requirement)
        here = np.flatnonzero((code == i) & usable)
        if limit is None or not here.size:
            continue
        low = here[pulls.strength_mpa[here] < limit * (1 - 1e-12)]
        if low.size:
            planned = None if plan is None else plan.zone(zone)
            found.append(_zone(pulls, places, here, low, zone, limit, planned, spacing))
    return found


def _zone(
    pulls: Pulls,
    places: NDArray[np.float64],
    here: NDArray[np.intp],
    low: NDArray[np.intp],
    zone: str,
    limit: float,
    planned: PlanZone | None,
    spacing: float | None,
) -> dict[str, object]:
    sound = np.setdiff1d(here, low)
    outline = None if planned is None else planned.corners
    doubt = None
    parts: list[list[list[float]] | None] = [None] * low.size
    if outline is not None:
        nearer = [
            nearer_part(outline, places[i], np.delete(places[here], np.flatnonzero(here == i), axis=0)) for i in low
        ]
        doubt = float(sum(area(part) for part in nearer if len(part) > 2))
        parts = [part.tolist() if len(part) > 2 else None for part in nearer]
    whole = None if outline is None else area(outline)
    lows = [
        {**_low(pulls, places, i, sound, spacing), "part": part} for i, part in zip(low.tolist(), parts, strict=True)
    ]
    return {
        "zone": zone,
        "limit_mpa": limit,
        "area_m2": whole,
        "area_in_doubt_m2": doubt,
        "outline": None if outline is None else outline.tolist(),
        "low": lows,
        "says": [message.as_dict() for message in _says(lows, doubt, whole)],
    }


def _low(
    pulls: Pulls, places: NDArray[np.float64], i: int, sound: NDArray[np.intp], spacing: float | None
) -> dict[str, object]:
    """A low pull with its neighbours and the places half-way to them."""
    away = places[sound] - places[i]
    distance = np.hypot(away[:, 0], away[:, 1])
    quarter = np.floor(((np.arctan2(away[:, 1], away[:, 0]) + np.pi / 4) % (2 * np.pi)) / (np.pi / 2)).astype(int)
    sides: list[dict[str, object]] = []
    for side, name in enumerate(SIDES):
        there = np.flatnonzero((quarter == side) & (distance > 0))
        if not there.size:
            continue
        k = int(there[np.argmin(distance[there])])
        other = int(sound[k])
        middle = np.round((places[i] + places[other]) / 2, 3).tolist()
        room = spacing is None or distance[k] >= spacing
        sides.append(
            {
                "side": name,
                "pull": pulls.name(other),
                "strength": float(pulls.strength_mpa[other]),
                "distance_m": float(distance[k]),
                "next": {"x_m": middle[0], "y_m": middle[1]} if room else None,
            }
        )
    return {
        "pull": pulls.name(i),
        "strength": float(pulls.strength_mpa[i]),
        "x_m": float(places[i, 0]),
        "y_m": float(places[i, 1]),
        "neighbours": sides,
        "open_sides": [name for name in SIDES if name not in {side["side"] for side in sides}],
    }


def _places(low: dict[str, object]) -> tuple[str, ...]:
    """Places to pull next round a low pull, as text."""
    sides = low["neighbours"]
    assert isinstance(sides, list)
    nexts = [side["next"] for side in sides if side["next"] is not None]
    return tuple(f"({place['x_m']:.2f} m; {place['y_m']:.2f} m)" for place in nexts)


def _says(lows: Sequence[dict[str, object]], doubt: float | None, whole: float | None) -> list[Message]:
    """One message for each low pull that has places to pull next, and one for the area in doubt."""
    says: list[Message] = []
    for low in lows:
        places = _places(low)
        if places:
            says.append(Message("extent_pull_next", facts={"pull": str(low["pull"]), "places": places}))
        sides = low["open_sides"]
        assert isinstance(sides, list)
        if sides:
            says.append(Message("extent_open", facts={"pull": str(low["pull"]), "sides": tuple(sides)}))
    if doubt is not None and whole is not None:
        facts: dict[str, Fact] = {"area": f"{doubt:.1f} m²", "share": f"{100 * doubt / whole:.0f} %"}
        says.append(Message("extent_area", facts=facts))
    return says


def extent_step(extents: Sequence[dict[str, object]], zone: str) -> list[Message]:
    """Return the step that points to the places, where a zone has some."""
    for extent in extents:
        lows = extent["low"]
        assert isinstance(lows, list)
        count = sum(len(_places(low)) for low in lows)
        if extent["zone"] == zone and count:
            return [Message("next_bound_patch", facts={"count": count})]
    return []
