"""On site, between two pulls: where each zone stands, what the next pull may be, what to repeat and where.

``wait_for_plan``  the terms with the plan's numbers, so that a decision waits for every planned pull
``on_site``        the facts for each zone, and what to say of them as messages

Imports: numpy, floor 0, terms, acceptance. No words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from adhesion_stats.acceptance import Cases, Outcome, required_number
from adhesion_stats.acceptance.measurements import name_of
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.planning.ahead import NextPull, Run, next_pull
from adhesion_stats.planning.plan import Plan, PlannedZone
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Reason, Standing
from adhesion_stats.terms.criteria import PULL_OFF, CountAtLeast, Requirement, criteria, questions
from adhesion_stats.terms.specification import Specification

__all__ = ["Spot", "ZoneOnSite", "on_site", "wait_for_plan"]

_TO_REPEAT = int(Reason.LOST | Reason.GLUE | Reason.DISPUTED)
_EITHER_WAY = {"site_not_asked", "site_assumes"}  # said alike of pulls and of measurements
_DONE_WITH = int(Reason.REPLACED | Reason.EXCLUDED | Reason.RETEST_OF_VALID)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to pull: id, x and y [m], and the pull that it repeats ("" for none). x and y are None where no place
    was planned.
    """

    id: str
    x_m: float | None
    y_m: float | None
    repeats: str = ""


@dataclass(frozen=True, eq=False)
class ZoneOnSite:
    """Where a zone stands.

    Attributes
    ----------
    outcome
        None where nothing is asked of the zone.
    counted, asked
        Values that count (pulls, or measurements); values that the contract or the plan asks for, 0 where neither names
        a number.
    next
        What the next pull may be; None where nothing more is asked, or nothing of strengths.
    repeat, to_come
        Retests to make, and planned pulls not made yet, in the order of walking.
    says
        Messages for the person on site, in order.
    """

    zone: str
    outcome: Outcome | None
    counted: int
    asked: int
    next: NextPull | None
    repeat: tuple[Spot, ...]
    to_come: tuple[Spot, ...]
    says: tuple[Message, ...]
    measured: bool = False

    @property
    def still(self) -> int:
        """How many values are still asked for."""
        return max(0, self.asked - self.counted)

    def as_dict(self) -> dict[str, object]:
        """Plain values, for JSON."""
        return {
            "zone": self.zone,
            "counted_by": "measurement" if self.measured else "pull",
            "outcome": None if self.outcome is None else self.outcome.words,
            "counted": self.counted,
            "asked": self.asked,
            "still": self.still,
            "next": None if self.next is None else _next_facts(self.next),
            "repeat": [_spot_facts(spot) for spot in self.repeat],
            "to_come": [_spot_facts(spot) for spot in self.to_come],
            "says": [message.as_dict() for message in self.says],
        }


def _next_facts(found: NextPull) -> dict[str, object]:
    def runs(given: Sequence[Run]) -> list[dict[str, object]]:
        return [{"from": float(run.low), "to": None if run.high is None else float(run.high)} for run in given]

    return {
        "unit": found.unit,
        "step": float(found.step),
        "step_from": found.step_from,
        "can_still": runs(found.can_still),
        "at_once": runs(found.at_once),
    }


def _spot_facts(spot: Spot) -> dict[str, object]:
    return {"id": spot.id, "x_m": spot.x_m, "y_m": spot.y_m, "repeats": spot.repeats or None}


def wait_for_plan(specification: Specification, plan: Plan | None) -> Specification:
    """Return the terms with the plan's number of pulls for each zone, where that is larger than the contract's.

    A zone with a criterion that counts among n pulls keeps its n: which of more pulls are meant is for the contract.
    """
    numbers: dict[str, int] = {}
    for planned in () if plan is None else plan.zones:
        requirement = specification.requirement_for(planned.zone.name)
        if requirement is not None and not any(isinstance(c, CountAtLeast) for c in criteria(requirement)):
            numbers[planned.zone.name] = planned.values
    return replace(specification, planned_pulls=numbers)


def on_site(
    specification: Specification,
    plan: Plan | None,
    pulls: Pulls,
    standing: Standing,
    ways: Sequence[Cases],
    outcomes: Mapping[str, Outcome | None],
    needed: Mapping[str, Sequence[Message]],
) -> tuple[ZoneOnSite, ...]:
    """Return where each zone stands, in the order of ``outcomes``.

    Parameters
    ----------
    specification
        The terms, with the plan's numbers (see ``wait_for_plan``).
    plan
        The plan, None where there is none.
    pulls, standing
        Facts and judgement under the shown way to read the contract.
    ways
        The cases under every way, the shown one first.
    outcomes
        What all ways agree on, by zone; None where nothing is asked.
    needed
        For undetermined zones, what the unknown values would have to be.
    """
    planned = {} if plan is None else {zone.zone.name: zone for zone in plan.zones}
    return tuple(
        _zone(specification, planned.get(zone), pulls, standing, ways, zone, outcome, needed.get(zone, ()))
        for zone, outcome in outcomes.items()
    )


def _zone(
    specification: Specification,
    planned: PlannedZone | None,
    pulls: Pulls,
    standing: Standing,
    ways: Sequence[Cases],
    zone: str,
    outcome: Outcome | None,
    needed: Sequence[Message],
) -> ZoneOnSite:
    here = np.array([name == zone for name in pulls.zone], dtype=np.bool_)
    measured = specification.pulls.count_by == "measurement"
    counted = int((here & standing.counted).sum())
    if measured:
        counted = sum(name != "" for name in ways[0].of(zone).measurement.tolist())
    asked = required_number(specification, zone)
    requirement = specification.requirement_for(zone)
    repeat = _repeats(pulls, standing, here, planned)
    to_come = _to_come(pulls, here, planned)
    ahead = None
    if outcome is Outcome.UNDETERMINED and (counted < asked or not asked):
        ahead = next_pull(specification, ways, zone)
    found = ZoneOnSite(zone, outcome, counted, asked, ahead, repeat, to_come, (), measured)
    stands = _standing_messages(found, requirement)
    if measured:
        stands = [m if m.code in _EITHER_WAY else replace(m, code=f"{m.code}_measured") for m in stands]
        if outcome is Outcome.UNDETERMINED:
            stands += _lacking(specification, pulls, standing, here)
    says = [*stands, *(needed if _needs_are_news(found) else ()), *_places(found)]
    says += _glue(specification, pulls, here)
    return replace(found, says=tuple(says))


def _lacking(specification: Specification, pulls: Pulls, standing: Standing, here: np.ndarray) -> list[Message]:
    """Measurements that were begun and have fewer pulls that count than they need."""
    each = specification.pulls.pulls_per_measurement or 1
    number: dict[str, int] = {}
    for i in np.flatnonzero(here).tolist():
        name = name_of(pulls, i)
        if name:
            number[name] = number.get(name, 0) + bool(standing.counted[i])
    return [
        Message("site_lacks", facts={"measurement": name, "count": each - made, "each": each})
        for name, made in number.items()
        if made < each
    ]


def _needs_are_news(found: ZoneOnSite) -> bool:
    """The one value that is missing is told as the next pull already; several, or bounded ones, are not."""
    return found.outcome is Outcome.UNDETERMINED and not (found.next is not None and found.still == 1)


def _standing_messages(found: ZoneOnSite, requirement: Requirement | None) -> list[Message]:
    facts: dict[str, Fact] = {"count": found.still, "counted": found.counted, "asked": found.asked}
    if found.outcome is None:
        return [Message("site_not_asked")]
    if found.outcome is Outcome.CONFORMS:
        return [Message("site_conforms_already" if found.still else "site_conforms", facts=facts)]
    if found.outcome is Outcome.DOES_NOT_CONFORM:
        return [Message("site_stop" if found.still else "site_fails", Severity.WARNING, facts=facts)]
    says = [Message("site_open" if found.still else "site_open_complete", facts=facts)]
    if found.next is not None:
        says += _next_messages(found.next)
        asked = () if requirement is None else questions(criteria(requirement))
        apart = tuple(sorted(set(asked) - {PULL_OFF}))
        if apart:
            says.append(Message("site_assumes", facts={"questions": apart}))
    return says


def _next_messages(ahead: NextPull) -> list[Message]:
    facts: dict[str, Fact] = {"step": f"{ahead.step:f} {ahead.unit}"}
    if not ahead.can_still:
        return [Message("site_not_at_once")]
    if ahead.can_still == ahead.at_once:
        return [Message(f"site_settles{_shape(ahead.at_once)}", facts=facts | _runs(ahead.at_once, ahead.unit))]
    still = Message(f"site_next{_shape(ahead.can_still)}", facts=facts | _runs(ahead.can_still, ahead.unit))
    if not ahead.at_once:
        return [still, Message("site_not_at_once")]
    return [still, Message(f"site_at_once{_shape(ahead.at_once)}", facts=facts | _runs(ahead.at_once, ahead.unit))]


def _shape(runs: Sequence[Run]) -> str:
    """How runs are told: every value, from a value on, between two, or several."""
    if len(runs) != 1:
        return "_runs"
    if runs[0].high is not None:
        return "_between"
    return "_any" if runs[0].low == 0 else "_from"


def _runs(runs: Sequence[Run], unit: str) -> dict[str, Fact]:
    if len(runs) == 1:
        last = runs[0].high
        found: dict[str, Fact] = {"level": f"{runs[0].low:f} {unit}"}
        return found if last is None else found | {"last": f"{last:f} {unit}"}
    return {
        "runs": tuple(
            f"{run.low:f} {unit} up" if run.high is None else f"{run.low:f} to {run.high:f} {unit}" for run in runs
        )
    }


def _repeats(pulls: Pulls, standing: Standing, here: np.ndarray, planned: PlannedZone | None) -> tuple[Spot, ...]:
    """Pulls that gave no value that counts and have no retest that stands for them, with the place kept for it."""
    bits = standing.reasons
    hit = here & ((bits & _TO_REPEAT) != 0) & ((bits & _DONE_WITH) == 0)
    found = []
    for i in np.flatnonzero(hit).tolist():
        name = pulls.name(i)
        made = sum(1 for j in np.flatnonzero(here).tolist() if pulls.retest_of[j] and pulls.retest_of[j] == pulls.id[i])
        spot = Spot("", None, None, name)
        if planned is not None and planned.positions is not None:
            ids = [planned.pull_id(k) for k in range(planned.pulls)]
            if name in ids and made < planned.positions.retests.shape[1]:
                x, y = planned.positions.retests[ids.index(name), made].tolist()
                spot = Spot(planned.retest_id(ids.index(name), made), x, y, name)
        found.append(spot)
    return tuple(found)


def _to_come(pulls: Pulls, here: np.ndarray, planned: PlannedZone | None) -> tuple[Spot, ...]:
    """Planned pulls of which the file holds neither a value nor a loss."""
    if planned is None or planned.positions is None:
        return ()
    done = {
        pulls.id[i]
        for i in np.flatnonzero(here).tolist()
        if not np.isnan(pulls.strength_mpa[i]) or pulls.lost[i] or pulls.failure(i)
    }
    places = zip(range(planned.pulls), planned.positions.pulls.tolist(), strict=True)
    return tuple(Spot(planned.pull_id(i), x, y) for i, (x, y) in places if planned.pull_id(i) not in done)


def _places(found: ZoneOnSite) -> list[Message]:
    """Where to repeat and where to pull next; nothing once the zone can't be saved or nothing is asked."""
    if found.outcome in {None, Outcome.DOES_NOT_CONFORM}:
        return []
    says: list[Message] = []
    for spot in found.repeat:
        if spot.x_m is None:
            says.append(Message("site_repeat", facts={"pull": spot.repeats}))
        else:
            facts: dict[str, Fact] = {
                "pull": spot.repeats,
                "id": spot.id,
                "x": f"{spot.x_m:.2f} m",
                "y": f"{spot.y_m:.2f} m",
            }
            says.append(Message("site_repeat_at", facts=facts))
    if found.to_come and found.still:
        spot = found.to_come[0]
        facts = {"id": spot.id, "x": f"{spot.x_m:.2f} m", "y": f"{spot.y_m:.2f} m", "count": len(found.to_come)}
        says.append(Message("site_pull_at", facts=facts))
    return says


def _glue(specification: Specification, pulls: Pulls, here: np.ndarray) -> list[Message]:
    """Pulls whose dolly adhesive had cured too briefly, and those of which that is not recorded."""
    least = specification.method.min_glue_hours
    if least is None:
        return []
    hours = pulls.conditions.get("glue_age_days", np.full(len(pulls), np.nan)) * 24.0
    says = [
        Message(
            "site_glue_short",
            Severity.WARNING,
            facts={"pull": pulls.name(i), "hours": f"{hours[i]:.1f} h", "asked": f"{least:g} h"},
        )
        for i in np.flatnonzero(here & (hours < least - 1e-6)).tolist()
    ]
    unknown = int((here & np.isnan(hours) & ~np.isnan(pulls.strength_mpa)).sum())
    if unknown:
        says.append(Message("site_glue_unknown", facts={"count": unknown, "asked": f"{least:g} h"}))
    return says
