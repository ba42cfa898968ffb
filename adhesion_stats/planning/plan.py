"""The plan before the first pull: for each zone how many pulls, by which rule, and where. Facts only, no words.

``make_plan(specification)`` is a pure function: the same terms give the same plan, to the last bit; randomness comes
from the seed that the terms name.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass

from adhesion_stats.acceptance import RiskFigures, required_number, risk_figures
from adhesion_stats.acceptance.asked import Asked, assumed_for, binding, pulls_asked
from adhesion_stats.acceptance.risk import BETWEEN, MOST
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.planning.ground import Ground
from adhesion_stats.planning.positions import NoRoom, Positions, draw_measurements, draw_positions, generator_for
from adhesion_stats.quantities import shown_percent
from adhesion_stats.terms.criteria import CountAtLeast, criteria
from adhesion_stats.terms.plan import PlanTerms, PlanZone
from adhesion_stats.terms.specification import Specification

__all__ = ["FORMAT", "FORMAT_VERSION", "Plan", "PlannedZone", "make_plan"]

FORMAT, FORMAT_VERSION = "adhesion_stats plan", 1
_PER_M = 1000.0


@dataclass(frozen=True, eq=False)
class PlannedZone:
    """A zone's plan. ``number`` counts zones from 1; ``decides`` is the place in ``asked`` of the rule with most pulls;
    ``positions`` is None where the zone has no outline, ``risk`` where no risks were asked for or the rule asks nothing
    of strengths.
    """

    number: int
    zone: PlanZone
    asked: tuple[Asked, ...]
    decides: int
    ground: Ground | None
    positions: Positions | None
    risk: RiskFigures | None = None

    @property
    def pulls(self) -> int:
        """How many pulls to make."""
        return self.asked[self.decides].pulls

    @property
    def values(self) -> int:
        """How many values these are: pulls, or measurements."""
        return self.asked[self.decides].values

    @property
    def per_measurement(self) -> int:
        """Pulls of a measurement; 1 where each pull is a value."""
        return self.asked[self.decides].per_measurement

    def measurement_of(self, i: int) -> str:
        """Name of the measurement that the i-th pull (from 0) belongs to; "" where each pull is a value."""
        return "" if self.per_measurement == 1 else f"Z{self.number}-M{i // self.per_measurement + 1}"

    def pull_id(self, i: int) -> str:
        """Id of the i-th pull (from 0): zone number and pull number, such as ``Z1-03``."""
        return f"Z{self.number}-{i + 1:0{max(2, len(str(self.pulls)))}d}"

    def retest_id(self, i: int, k: int) -> str:
        """Id of the k-th retest position (from 0) beside the i-th pull."""
        return f"{self.pull_id(i)}-R{k + 1}"


@dataclass(frozen=True, eq=False)
class Plan:
    """The plan of a contract."""

    specification: Specification
    zones: tuple[PlannedZone, ...]

    @property
    def pulls(self) -> int:
        """Pulls in all zones."""
        return sum(zone.pulls for zone in self.zones)

    def as_dict(self) -> dict[str, object]:
        """Everything as plain values, as written to plan.json; lengths in metres, areas in m²."""
        return _plan_facts(self)


def make_plan(specification: Specification) -> Plan:
    """Plan the pulls of every zone that the table ``[plan]`` describes.

    Raises
    ------
    InvalidSpecification
        Where no zone is planned, where no rule asks for pulls in a zone, or where they have no room: every such zone.
    """
    terms = specification.plan
    if terms is None or not terms.zones:
        raise InvalidSpecification([Message("plan_no_zone", Severity.ERROR, Place(specification.file))])
    if specification.pulls.count_by == "measurement" and specification.pulls.pulls_per_measurement is None:
        raise InvalidSpecification([Message("plan_no_measurement", Severity.ERROR, Place(specification.file))])
    problems: list[Message] = []
    zones: list[PlannedZone] = []
    for number, zone in enumerate(terms.zones, 1):
        asked = pulls_asked(specification, zone)
        decides = binding(asked)
        if decides is None:
            facts: dict[str, Fact] = {"zone": zone.name}
            problems.append(Message("plan_nothing_asked", Severity.ERROR, Place(specification.file), facts))
            continue
        ground = None if zone.corners is None else _ground(terms, zone)
        try:
            positions = None if ground is None else _positions(terms, zone, ground, asked[decides])
        except NoRoom as none:
            problems.append(_no_room(specification, terms, zone, asked[decides], none))
            continue
        risk = _risk(specification, terms, zone, asked[decides])
        zones.append(PlannedZone(number, zone, asked, decides, ground, positions, risk))
    if problems:
        raise InvalidSpecification(problems)
    return Plan(specification, tuple(zones))


def _ground(terms: PlanTerms, zone: PlanZone) -> Ground:
    assert zone.corners is not None
    assert terms.edge_distance_m is not None  # the parser asks for it with every outline, as for the following
    return Ground(zone.corners, tuple(keep_out.corners for keep_out in zone.keep_outs), terms.edge_distance_m)


def _risk(specification: Specification, terms: PlanTerms, zone: PlanZone, asked: Asked) -> RiskFigures | None:
    requirement = specification.requirement_for(zone.name)
    if terms.risk is None or requirement is None:
        return None
    return risk_figures(
        requirement, terms.risk, n=asked.values, assumed=assumed_for(terms.risk, asked.per_measurement),
        rounding=specification.rounding, seed=terms.seed or 0,
    )  # fmt: skip


def _positions(terms: PlanTerms, zone: PlanZone, ground: Ground, asked: Asked) -> Positions:
    assert terms.spacing_m is not None
    assert terms.stratified is not None
    assert terms.retest_positions is not None
    assert terms.seed is not None
    if asked.per_measurement > 1:
        assert terms.measurement_side_m is not None
        return draw_measurements(
            ground=ground,
            n=asked.values,
            each=asked.per_measurement,
            side_m=terms.measurement_side_m,
            spacing_m=terms.spacing_m,
            stratified=terms.stratified,
            retests=terms.retest_positions,
            rng=generator_for(terms.seed, zone.name),
        )
    return draw_positions(
        ground=ground,
        n=asked.pulls,
        spacing_m=terms.spacing_m,
        stratified=terms.stratified,
        retests=terms.retest_positions,
        rng=generator_for(terms.seed, zone.name),
    )


def _no_room(specification: Specification, terms: PlanTerms, zone: PlanZone, asked: Asked, none: NoRoom) -> Message:
    retests, fit = terms.retest_positions or 0, none.fit
    pulls = asked.per_measurement if none.within else asked.pulls
    facts: dict[str, Fact] = {
        "zone": zone.name,
        "asked": pulls * (1 + retests),
        "pulls": pulls,
        "retests": retests,
        "fit": fit,
        "measurements": asked.values,
        "side": f"{(terms.measurement_side_m or 0.0) * _PER_M:.6g} mm",
        "edge": f"{(terms.edge_distance_m or 0.0) * _PER_M:.6g} mm",
        "spacing": f"{(terms.spacing_m or 0.0) * _PER_M:.6g} mm",
    }
    if asked.per_measurement > 1:
        code = "plan_no_room_in_measurement" if none.within else "plan_no_room_measurements"
        return Message(code, Severity.ERROR, Place(specification.file), facts)
    code = "plan_no_room" if fit < pulls * (1 + retests) else "plan_too_crowded"
    return Message(code, Severity.ERROR, Place(specification.file), facts)


def _plan_facts(plan: Plan) -> dict[str, object]:
    specification, terms = plan.specification, plan.specification.plan
    assert terms is not None
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "contract": asdict(specification.contract),
        "inputs": {"specification": {"file": specification.file, "sha256": specification.digest}},
        "rules": {
            "seed": terms.seed,
            "stratified": terms.stratified,
            "edge_distance_m": terms.edge_distance_m,
            "spacing_m": terms.spacing_m,
            "retest_positions": terms.retest_positions,
            "per_measurement": _pulls_of_a_measurement(specification),
            "measurement_side_m": terms.measurement_side_m,
            "source": terms.source,
            "risk": _risk_terms(terms),
        },
        "pulls": plan.pulls,
        "zones": [_zone_facts(zone) for zone in plan.zones],
        "messages": [message.as_dict() for message in _messages(plan)],
        "cautions": [message.as_dict() for message in _cautions(plan)],
    }


def _pulls_of_a_measurement(specification: Specification) -> int | None:
    by_measurement = specification.pulls.count_by == "measurement"
    return specification.pulls.pulls_per_measurement if by_measurement else None


def _zone_facts(planned: PlannedZone) -> dict[str, object]:
    zone, positions = planned.zone, planned.positions
    places = [] if positions is None else positions.pulls.tolist()
    retests = [] if positions is None else positions.retests.tolist()
    return {
        "zone": zone.name,
        "number": planned.number,
        "area_m2": zone.area_m2,
        "area_from": None if zone.area_m2 is None else "outline" if zone.area_as_written_m2 is None else "contract",
        "parts": {kind: list(names) for kind, names in zone.parts.items()},
        "asked": [_asked_facts(entry) for entry in planned.asked],
        "decides": planned.decides,
        "pulls": planned.pulls,
        "measurements": _measurements(planned),
        "risk": None if planned.risk is None else planned.risk.as_dict(),
        "outline": None if zone.corners is None else zone.corners.tolist(),
        "keep_outs": [{"name": part.name, "corners": part.corners.tolist()} for part in zone.keep_outs],
        "step_m": None if planned.ground is None else planned.ground.step_m,
        "cells": None if positions is None or positions.parts is None else [list(box) for box in positions.parts],
        "positions": [
            {
                "id": planned.pull_id(i),
                "x_m": x,
                "y_m": y,
                "measurement": planned.measurement_of(i) or None,
                "retests": [{"id": planned.retest_id(i, k), "x_m": a, "y_m": b} for k, (a, b) in enumerate(retests[i])],
            }
            for i, (x, y) in enumerate(places)
        ],
    }


def _measurements(planned: PlannedZone) -> list[dict[str, object]] | None:
    """Names and squares of the measurements; None where each pull is a value."""
    if planned.per_measurement == 1:
        return None
    squares = None if planned.positions is None else planned.positions.squares
    return [
        {
            "name": planned.measurement_of(k * planned.per_measurement),
            "square": None if squares is None else list(squares[k]),
        }
        for k in range(planned.values)
    ]


def _risk_terms(terms: PlanTerms) -> dict[str, object] | None:
    risk = terms.risk
    if risk is None:
        return None
    return {
        "good_mean": risk.good_mean.text,
        "bad_mean": risk.bad_mean.text,
        "cov_percent": risk.cov_percent,
        "accept_good_at_least_percent": risk.accept_good_at_least_percent,
        "accept_bad_at_most_percent": risk.accept_bad_at_most_percent,
        "between_percent": 100.0 * BETWEEN if risk.between_percent is None else risk.between_percent,
        "between_given": risk.between_percent is not None,
    }


def _asked_facts(asked: Asked) -> dict[str, object]:
    rule = asked.rule
    return {
        "kind": asked.kind,
        "pulls": asked.pulls,
        "per_measurement": asked.per_measurement,
        "each": asked.each,
        "times": asked.times,
        "source": asked.source,
        "first_area": None if rule is None or rule.per != "area" else rule.first_area,
        "then_each": None if rule is None or rule.per != "area" else rule.then_each,
        "begun": None if rule is None or rule.per != "area" else rule.begun,
    }


def _messages(plan: Plan) -> list[Message]:
    """What to settle before the first pull."""
    specification = plan.specification
    found: list[Message] = []
    for planned in plan.zones:
        name = planned.zone.name
        requirement = specification.requirement_for(name)
        if requirement is None:
            found.append(Message("plan_zone_not_asked", Severity.WARNING, facts={"zone": name}))
            continue
        planned_n = {c.n for c in criteria(requirement) if isinstance(c, CountAtLeast)}
        measured = "_measured" if planned.per_measurement > 1 else ""
        if planned_n and planned.values > max(planned_n):
            facts: dict[str, Fact] = {"zone": name, "pulls": planned.values, "n": max(planned_n)}
            found.append(Message(f"plan_more_than_z_of_n{measured}", Severity.WARNING, facts=facts))
        contract = required_number(specification, name)
        if contract and planned.values > contract:
            facts = {"zone": name, "pulls": planned.values, "required": contract}
            found.append(Message(f"plan_more_than_required{measured}", Severity.NOTE, facts=facts))
    found += [message for planned in plan.zones for message in _risk_messages(planned, specification)]
    known = {planned.zone.name for planned in plan.zones}
    named = [*specification.pulls.zones, *(zone for rule in specification.rules for zone in rule.zones)]
    found += [
        Message("plan_zone_missing", Severity.WARNING, facts={"zone": name})
        for name in dict.fromkeys(named)
        if name not in known
    ]
    return found


def _risk_messages(planned: PlannedZone, specification: Specification) -> list[Message]:
    """Where the planned number does not keep the risks wanted, and whether any number would."""
    terms, name = specification.plan, planned.zone.name
    if terms is None or terms.risk is None or specification.requirement_for(name) is None:
        return []
    if planned.risk is None:
        return [Message("plan_risk_no_strength", Severity.WARNING, facts={"zone": name})]
    if planned.risk.met:
        return []
    wanted = next((asked.pulls for asked in planned.asked if asked.kind == "risk"), None)
    facts: dict[str, Fact] = {
        "zone": name,
        "pulls": planned.pulls,
        "good": shown_percent(100 * planned.risk.good, 1),
        "bad": shown_percent(100 * planned.risk.bad, 1),
        "most": MOST * planned.per_measurement,
        "wanted": wanted,
    }
    return [Message("plan_risk_not_met" if wanted is None else "plan_risk_met_by_fewer", Severity.WARNING, facts=facts)]


def _cautions(plan: Plan) -> list[Message]:
    codes = ["plan_caution_people", "plan_caution_seed", "plan_caution_suspect", "plan_caution_moved"]
    if any(planned.positions is None for planned in plan.zones):
        codes.append("plan_caution_no_outline")
    codes.append("plan_caution_services")
    if any(planned.risk is not None for planned in plan.zones):
        measured = any(planned.per_measurement > 1 for planned in plan.zones)
        codes.append("plan_caution_risk_measured" if measured else "plan_caution_risk")
    if plan.specification.contract.invented:
        codes.append("caution_invented")
    return [Message(code) for code in codes]
