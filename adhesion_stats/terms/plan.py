"""What is planned before the first pull, as the table ``[plan]`` of a specification records it.

::

    [plan]
    seed = 20260504                 # positions are drawn from it; the same seed gives the same positions
    stratified = true               # one pull in each of as many parts of about equal area; false: anywhere
    edge_distance = "150 mm"        # centre of a dolly to an edge of the zone or of a keep-out
    spacing = "200 mm"              # centre to centre
    retest_positions = 1            # kept free beside each pull
    measurement_side = "1 m"        # where the contract counts by measurement: the square in which its pulls lie
    source = "section 7.5"          # of these distances

    [[plan.frequency]]              # by area: for the first area, and again for each further one
    pulls = 3
    first_area = "50 m2"
    then_each = "250 m2"
    begun = true                    # a further area that is only begun counts too; false: full ones only
    zones = ["Deck"]                # left out: every zone
    source = "section 7.4"

    [[plan.frequency]]              # by what a zone consists of: "zone", "pour", "day" or "span"
    pulls = 3
    per = "day"                     # where the contract counts by measurement: measurements = 1 in place of pulls

    [[plan.zone]]
    name = "Deck"
    origin = ["0 m", "0 m"]         # lower left corner
    rectangle = ["12 m", "8 m"]     # or polygon = [[0, 0], [12, 0], [12, 8]] with unit = "m"
    area = "96 m2"                  # as the contract measures it; left out: the area of the outline, keep-outs included
    pours = 1                       # how many, or their names; so also days and spans
    days = ["2026-05-04", "2026-05-05"]
    keep_outs = [{ name = "Drain", origin = ["5 m", "3 m"], rectangle = ["1 m", "1 m"] }]

    [plan.risk]
    good_mean = "2.00 MPa"          # of a zone that ought to be accepted,
    accept_good_at_least = "95 %"   # at least so often,
    bad_mean = "1.30 MPa"           # and of one that ought not,
    accept_bad_at_most = "10 %"     # at most so often;
    cov = "20 %"                    # both scatter so much
    between = "50 %"                # of that variance between measurements, where the contract counts by them

No distance, seed or way of counting has a default: what a drawing of positions needs must be written.
Imports: terms.checker, plane, units. Must not import anything above floor 1.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal, get_args

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.plane import area
from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import Limit
from adhesion_stats.terms.outline import M_PER_MM, OUTLINE_KEYS, KeepOut, Points, corners_of, keep_outs_of
from adhesion_stats.units import factor

__all__ = ["FrequencyRule", "KeepOut", "Per", "PlanTerms", "PlanZone", "RiskAsked", "plan_terms"]

Per = Literal["area", "zone", "pour", "day", "span"]
_PLAN = (
    "seed",
    "stratified",
    "edge_distance",
    "spacing",
    "retest_positions",
    "measurement_side",
    "source",
    "frequency",
    "zone",
    "risk",
)
_FREQUENCY = ("pulls", "measurements", "per", "first_area", "then_each", "begun", "zones", "source")
_PARTS = {"pour": "pours", "day": "days", "span": "spans"}
_NEEDED = {  # what a drawing of positions needs
    "seed": "a whole number from which the positions are drawn",
    "stratified": "true (one pull in each of as many parts of about equal area) or false (anywhere)",
    "edge_distance": 'the least distance of a dolly\'s centre from an edge, such as "150 mm"',
    "spacing": 'the least distance from centre to centre, such as "200 mm"',
    "retest_positions": "how many positions to keep free beside each pull, 0 for none",
}
_OF_MEASUREMENTS = {"measurement_side": 'the side of the square in which the pulls of a measurement lie, such as "1 m"'}
_AREA_TEXT = re.compile(r"(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\s\d.,].*)")


@dataclass(frozen=True, slots=True)
class FrequencyRule:
    """How many pulls are asked for how much work.

    ``per`` "area": ``pulls`` for the first ``first_area_m2`` and again for each further ``then_each_m2`` [m²], a
    further one that is only begun included if ``begun``; else ``pulls`` for each zone, pour, day or span.
    ``zones`` empty: every zone. ``measurements``: so many measurements in place of ``pulls``. ``first_area`` and
    ``then_each`` are the texts as written.
    """

    key: str
    pulls: int
    per: Per
    zones: tuple[str, ...] = ()
    first_area_m2: float | None = None
    then_each_m2: float | None = None
    begun: bool = True
    first_area: str = ""
    then_each: str = ""
    source: str = ""
    measurements: int | None = None

    def each(self, per_measurement: int) -> int:
        """Pulls that are asked for at a time, in whole measurements of so many pulls."""
        number = -(-self.pulls // per_measurement) if self.measurements is None else self.measurements
        return number * per_measurement

    def stands_for(self, zone: str) -> bool:
        """Whether the rule is about this zone."""
        return not self.zones or zone in self.zones

    def steps(self, area_m2: float) -> int:
        """How many times ``pulls`` are asked for an area [m²] by a rule per area.

        An area that ends on a step within 1e-9 of it is not a begun one. With ``begun`` false an area smaller than the
        first one asks for nothing.
        """
        assert self.first_area_m2 is not None
        assert self.then_each_m2 is not None
        over = Fraction(area_m2) - Fraction(self.first_area_m2)
        further = over / Fraction(self.then_each_m2)
        nearest = round(further)
        if abs(further - nearest) <= Fraction(1, 10**9) * (1 + abs(nearest)):
            further = Fraction(nearest)
        if self.begun:
            return 1 + max(0, math.ceil(further))
        return 0 if further < 0 else 1 + math.floor(further)


@dataclass(frozen=True, eq=False)
class PlanZone:
    """A zone: outline (m, 2) [m] or None, its area as written [m²] or None, and what it consists of.

    ``parts``: names of its pours, days and spans by "pour", "day", "span"; names are numbers where only their count
    was written. A kind that was not written is missing.
    """

    name: str
    corners: Points | None
    keep_outs: tuple[KeepOut, ...] = ()
    area_as_written_m2: float | None = None
    parts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    named_parts: frozenset[str] = frozenset()  # kinds whose names were written, not their count alone

    @property
    def area_m2(self) -> float | None:
        """As the contract measures it, else that of the outline, keep-outs included [m²]."""
        if self.area_as_written_m2 is not None:
            return self.area_as_written_m2
        return None if self.corners is None else area(self.corners)


@dataclass(frozen=True, slots=True)
class RiskAsked:
    """How often a good zone is to be accepted and a bad one may be [%]; both with the same CoV [%], normal.

    ``between_percent``: of the variance of single pulls, the share between measurements [%]; None: not said.
    """

    good_mean: Limit
    bad_mean: Limit
    cov_percent: float
    accept_good_at_least_percent: float
    accept_bad_at_most_percent: float
    between_percent: float | None = None


@dataclass(frozen=True, eq=False)
class PlanTerms:
    """The table ``[plan]``; what it does not say is None (only where no zone has an outline)."""

    frequency: tuple[FrequencyRule, ...] = ()
    zones: tuple[PlanZone, ...] = ()
    risk: RiskAsked | None = None
    seed: int | None = None
    stratified: bool | None = None
    edge_distance_m: float | None = None
    spacing_m: float | None = None
    retest_positions: int | None = None
    measurement_side_m: float | None = None
    source: str = ""

    def zone(self, name: str) -> PlanZone | None:
        """The zone of this name."""
        return next((zone for zone in self.zones if zone.name == name), None)


def plan_terms(check: Checker, table: Mapping[str, object]) -> PlanTerms | None:
    """Return the table ``[plan]`` of a specification, None where there is none; each problem is kept in ``check``."""
    if "plan" not in table:
        return None
    plan = check.table(table, "plan", "plan")
    check.keys(plan, "plan", _PLAN)
    pulls = table.get("pulls")
    by_measurement = isinstance(pulls, Mapping) and pulls.get("count_by") == "measurement"
    zones = _zones(check, plan)
    frequency = _frequency(check, plan, zones)
    if not by_measurement:
        for path in _about_measurements(plan):
            check.problem("spec_key_needs_another", path, needs='count_by = "measurement" in [pulls]')
    if any(zone.corners is not None for zone in zones):
        for key, what in (_NEEDED | (_OF_MEASUREMENTS if by_measurement else {})).items():
            if key not in plan:
                check.problem("spec_missing_key", f"plan.{key}", what=what)
    edge = check.measure(plan, "edge_distance", "plan.edge_distance", "length")
    spacing = check.measure(plan, "spacing", "plan.spacing", "length")
    if spacing == 0:
        check.problem("spec_out_of_range", "plan.spacing", expected="a distance above 0", came=str(plan["spacing"]))
    side = check.measure(plan, "measurement_side", "plan.measurement_side", "length")
    if side == 0:
        came = str(plan["measurement_side"])
        check.problem("spec_out_of_range", "plan.measurement_side", expected="a length above 0", came=came)
    return PlanTerms(
        frequency=frequency,
        zones=zones,
        risk=_risk(check, plan),
        seed=check.count(plan, "seed", "plan.seed", at_least=0, at_most=2**63 - 1),
        stratified=check.flag(plan, "stratified", "plan.stratified"),
        edge_distance_m=None if edge is None else edge * M_PER_MM,
        spacing_m=None if spacing is None else spacing * M_PER_MM,
        retest_positions=check.count(plan, "retest_positions", "plan.retest_positions", at_least=0),
        measurement_side_m=None if side is None else side * M_PER_MM,
        source=check.text(plan, "source", "plan.source") or "",
    )


def _about_measurements(plan: Mapping[str, object]) -> list[str]:
    """Paths of the keys that only say something where values are measurements."""
    found = ["plan.measurement_side"] if "measurement_side" in plan else []
    entries = plan.get("frequency")
    for i, entry in enumerate(entries if isinstance(entries, list) else (), 1):
        if isinstance(entry, Mapping) and "measurements" in entry:
            found.append(f"plan.frequency[{i}].measurements")
    risk = plan.get("risk")
    return [*found, "plan.risk.between"] if isinstance(risk, Mapping) and "between" in risk else found


def _area(check: Checker, table: Mapping[str, object], key: str, path: str) -> float | None:
    """An area as text with its unit [m²]."""
    text = check.text(table, key, path)
    if text is None:
        return None
    found = _AREA_TEXT.fullmatch(text)
    if found is None or float(found["number"]) == 0:
        check.problem("spec_wrong_type", path, expected='an area above 0, such as "50 m2"', came=f'"{text}"')
        return None
    try:
        return float(found["number"]) * factor(found["unit"], "area")
    except UnknownUnit as error:
        check.problem("spec_unknown_unit", path, unit=error.text, known=error.known)
        return None


def _frequency(check: Checker, plan: Mapping[str, object], zones: tuple[PlanZone, ...]) -> tuple[FrequencyRule, ...]:
    found: list[FrequencyRule] = []
    names = {zone.name for zone in zones}
    for i, entry in enumerate(check.tables(plan, "frequency", "plan.frequency"), 1):
        path = f"plan.frequency[{i}]"
        check.keys(entry, path, _FREQUENCY)
        pulls = check.count(entry, "pulls", f"{path}.pulls", at_least=1)
        measurements = check.count(entry, "measurements", f"{path}.measurements", at_least=1)
        if "pulls" not in entry and "measurements" not in entry:
            check.problem("spec_missing_key", f"{path}.pulls", what="a number of pulls")
        if "pulls" in entry and "measurements" in entry:
            check.problem("spec_one_kind", path, found=("pulls", "measurements"), known=("pulls", "measurements"))
        by_area = [key for key in ("first_area", "then_each", "begun") if key in entry]
        if bool(by_area) == ("per" in entry):
            check.problem("spec_one_kind", path, found=(), known=("per", "first_area with then_each and begun"))
            continue
        listed = check.zones(entry, "zones", f"{path}.zones") or ()
        for name in listed:
            if zones and name not in names:
                check.problem("spec_plan_no_zone", f"{path}.zones", zone=name)
        source = check.text(entry, "source", f"{path}.source") or ""
        rule: FrequencyRule | None
        if by_area:
            rule = _by_area(check, entry, path, str(i), pulls or 1, listed, source)
        else:
            per = check.choice(entry, "per", f"{path}.per", ("zone", *_PARTS))
            kind = next((word for word in get_args(Per) if word == per), None)
            rule = None if kind is None else FrequencyRule(str(i), pulls or 1, kind, listed, source=source)
        if rule is not None:
            rule = replace(rule, measurements=measurements)
            found.append(rule)
            _enough_said(check, rule, zones)
    return tuple(found)


def _by_area(
    check: Checker,
    entry: Mapping[str, object],
    path: str,
    key: str,
    pulls: int,
    zones: tuple[str, ...],
    source: str,
) -> FrequencyRule | None:
    for name, what in (
        ("first_area", 'the area that the first pulls stand for, such as "50 m2"'),
        ("then_each", 'each further area that asks for as many again, such as "250 m2"'),
        ("begun", "true where a further area that is only begun counts, false where full ones count only"),
    ):
        if name not in entry:
            check.problem("spec_missing_key", f"{path}.{name}", what=what)
    first, each = (_area(check, entry, name, f"{path}.{name}") for name in ("first_area", "then_each"))
    begun = check.flag(entry, "begun", f"{path}.begun")
    if first is None or each is None or begun is None:
        return None
    texts = (str(entry["first_area"]).strip(), str(entry["then_each"]).strip())
    return FrequencyRule(key, pulls, "area", zones, first, each, begun, *texts, source)


def _enough_said(check: Checker, rule: FrequencyRule, zones: tuple[PlanZone, ...]) -> None:
    """A rule needs to be told the area or the parts of each zone that it stands for."""
    for i, zone in enumerate(zones, 1):
        if not rule.stands_for(zone.name):
            continue
        if rule.per == "area" and zone.area_m2 is None:
            check.problem("spec_missing_key", f"plan.zone[{i}].area", what='the zone\'s area, such as "96 m2"')
        elif rule.per in _PARTS and rule.per not in zone.parts:
            key = _PARTS[rule.per]
            what = f"how many {key} zone {zone.name} consists of, or their names"
            check.problem("spec_missing_key", f"plan.zone[{i}].{key}", what=what)


def _zones(check: Checker, plan: Mapping[str, object]) -> tuple[PlanZone, ...]:
    found: list[PlanZone] = []
    for i, entry in enumerate(check.tables(plan, "zone", "plan.zone"), 1):
        path = f"plan.zone[{i}]"
        check.keys(entry, path, ("name", "area", "keep_outs", *_PARTS.values(), *OUTLINE_KEYS))
        name = check.text(entry, "name", f"{path}.name")
        if "name" not in entry:
            check.problem("spec_missing_key", f"{path}.name", what="the zone's name, as in the readings")
        elif name == "":
            check.problem("spec_empty", f"{path}.name")
        if name and any(zone.name == name for zone in found):
            check.problem("spec_plan_zone_twice", f"{path}.name", zone=name)
        drawn = "rectangle" in entry or "polygon" in entry
        corners = corners_of(check, entry, path) if drawn else None
        if not drawn:
            for key in ("origin", "unit", "keep_outs"):
                if key in entry:
                    check.problem("spec_missing_key", f"{path}.rectangle", what=f"an outline, which {key} belongs to")
        parts, named = _parts(check, entry, path)
        keep_outs = keep_outs_of(check, entry, path, corners)
        written = _area(check, entry, "area", f"{path}.area")
        found.append(PlanZone(name or "", corners, keep_outs, written, parts, named))
    return tuple(found)


def _parts(check: Checker, entry: Mapping[str, object], path: str) -> tuple[dict[str, tuple[str, ...]], frozenset[str]]:
    """Pours, days and spans, each as a number or a list of names."""
    parts: dict[str, tuple[str, ...]] = {}
    named: set[str] = set()
    for kind, key in _PARTS.items():
        where = f"{path}.{key}"
        if isinstance(entry.get(key), list):
            names = check.texts(entry, key, where) or ()
            if not names:
                check.problem("spec_empty", where)
            if len(set(names)) < len(names):
                check.problem("spec_out_of_range", where, expected="different names", came=", ".join(names))
            parts[kind] = tuple(name.strip() for name in names)
            named.add(kind)
        elif key in entry:
            number = check.count(entry, key, where, at_least=1)
            parts[kind] = tuple(str(i) for i in range(1, (number or 1) + 1))
    return parts, frozenset(named)


def _risk(check: Checker, plan: Mapping[str, object]) -> RiskAsked | None:
    if "risk" not in plan:
        return None
    risk = check.table(plan, "risk", "plan.risk")
    keys = ("good_mean", "bad_mean", "cov", "accept_good_at_least", "accept_bad_at_most")
    check.keys(risk, "plan.risk", (*keys, "between"))
    what = {"good_mean": "a mean with its unit", "bad_mean": "a mean with its unit"}
    for key in keys:
        if key not in risk:
            check.problem("spec_missing_key", f"plan.risk.{key}", what=what.get(key, 'a share such as "20 %"'))
    good, bad = (check.strength(risk, key, f"plan.risk.{key}") for key in ("good_mean", "bad_mean"))
    cov, accept, refuse = (check.percent(risk, key, f"plan.risk.{key}", above_zero=True) for key in keys[2:])
    if good is None or bad is None or cov is None or accept is None or refuse is None:
        return None
    if bad.mpa >= good.mpa:
        check.problem("spec_out_of_range", "plan.risk.bad_mean", expected=f"less than {good.text}", came=bad.text)
    if not accept < 100:
        check.problem(
            "spec_out_of_range", "plan.risk.accept_good_at_least", expected="a share below 100 %", came="100 %"
        )
    if refuse >= accept:
        check.problem(
            "spec_out_of_range",
            "plan.risk.accept_bad_at_most",
            expected="a smaller share than accept_good_at_least",
            came=f"{refuse:g} %",
        )
    return RiskAsked(good, bad, cov, accept, refuse, check.percent(risk, "between", "plan.risk.between"))
