"""The twin's own numbers of an assessment: from raw cells to decisions, without a look at what the record says.

Only what a person would have to be asked is taken over, and said: pulls whose value somebody holds in doubt, or that
break a rule of the test method, and what the twin's short lists of words do not hold (``reconcile``).
Imports: mpmath, the standard library, this package.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TypeAlias

import mpmath
from mpmath import mpf

from adhesion_stats.twin import formulas
from adhesion_stats.twin.decide import ZoneDecision, decide
from adhesion_stats.twin.forms import Fitted, Rank, Spread, Threshold, Unformed, characteristic
from adhesion_stats.twin.model import NotKnown, Pull, Unchecked
from adhesion_stats.twin.outliers import dixon_p, dixon_ratio, grubbs_p, grubbs_statistic, ratio_for
from adhesion_stats.twin.populations import Part, parted, standing_zones
from adhesion_stats.twin.quantities import measure
from adhesion_stats.twin.readings import read_pulls
from adhesion_stats.twin.reconcile import Recorded, reconciled
from adhesion_stats.twin.standing import Judged, Way, judged, ways_of
from adhesion_stats.twin.terms import Criterion, Requirement, Terms, criteria, terms_of
from adhesion_stats.twin.values import at_step, values_of

__all__ = ["Characteristic", "Opinion", "Screened", "Zone", "opinion_of"]

Number: TypeAlias = "Fraction | float | mpf"


@dataclass(frozen=True)
class Characteristic:
    """A characteristic value [MPa] by one method; ``unsaid`` where n pulls can't give one."""

    table: Mapping[str, object]
    value: Number | None = None
    k: Number | None = None
    why_not: NotKnown | None = None


@dataclass(frozen=True)
class Screened:
    """One outlier test of one zone; ``statistic`` None where there is none. ``flagged`` None: not checked."""

    test: str
    n: int
    statistic: Number | None = None
    p: Number | None = None
    largest: bool = False
    ratio: str = ""
    flagged: bool | None = None


@dataclass
class Zone:
    """What the twin says of one zone; strengths in MPa, shares in %.

    ``at_least``: which of the numbers "mean" and "smallest" are lower bounds only.
    """

    name: str
    counted: int = 0
    numbers: dict[str, Number | None] = field(default_factory=dict)
    at_least: frozenset[str] = frozenset()
    composition: dict[str, Fraction] = field(default_factory=dict)
    characteristic: list[Characteristic] = field(default_factory=list)
    screened: list[Screened] = field(default_factory=list)
    shown: ZoneDecision | None = None
    ways: dict[Way, str | None] = field(default_factory=dict)
    outcome: str | None = None
    asked: bool = True
    n: int = 0


@dataclass
class Opinion:
    """The twin's numbers; ``unchecked`` says what it could not check."""

    pulls: list[Pull] = field(default_factory=list)
    judged: Judged | None = None
    zones: list[Zone] = field(default_factory=list)
    decision: str | None = None
    unchecked: list[Unchecked] = field(default_factory=list)
    parts: Mapping[str, Part] = field(default_factory=dict)


def opinion_of(
    *,
    readings: tuple[str, bytes],
    specification: bytes,
    layout: Mapping[str, object],
    understood: Mapping[str, object],
    published: Sequence[bytes],
    recorded: Mapping[tuple[str, int], Recorded],
    step_mpa: float,
) -> Opinion:
    """Make the second opinion.

    Parameters
    ----------
    readings, specification
        Name and bytes of the readings, bytes of the specification.
    layout, understood
        The layout that lies in the folder; the layout as the record's library understood the file ({} for none).
    published
        The library's TOML files of published rules and methods.
    recorded
        What the record says of a row, by sheet ("" for text files) and number.
    step_mpa
        Step in which the record says that strengths were written down [MPa], 0 for none.

    Raises
    ------
    NotKnown
        Where the twin can't read the readings or the specification at all.
    """
    terms = terms_of(specification, published)
    own = terms.table("readings")
    pulls, taken = read_pulls(readings[1], readings[0], {**own, **layout}, understood)
    found = Opinion(unchecked=[*taken, *(Unchecked("", "table", name) for name in terms.strange)])
    pulls = reconciled(pulls, recorded, found.unchecked)
    pulls, terms, found.parts = parted(pulls, terms)
    found.pulls = pulls
    zones = list(dict.fromkeys([*(pull.zone for pull in pulls), *terms.zones]))
    ways = ways_of(pulls, terms)
    if len(ways) > 1 and any(pull.unread for pull in pulls):
        raise NotKnown("silent_unread", next(pull.unread[0].what for pull in pulls if pull.unread))
    standings = {way: judged(pulls, terms, way) for way in ways}
    repeats = ways if any(pull.retest_of for pull in pulls) else []
    instead = {replace(way, instead=True): judged(pulls, terms, replace(way, instead=True)) for way in repeats}
    found.judged = standings[ways[0]]
    recorded_step = terms.limit("pulls", "recording_step")
    step = Fraction(str(step_mpa)) if recorded_step is None else recorded_step.value * recorded_step.mpa
    for name in zones:
        if any(pull.unread for pull in pulls if pull.zone == name):
            found.unchecked += [
                Unchecked(f"{name}: {u.what}", u.code, u.detail) for p in pulls if p.zone == name for u in p.unread
            ]
            continue
        zone = _zone(name, found.judged, terms, step)
        _decided(zone, {**standings, **instead}, terms, zones, ways)
        found.zones.append(zone)
    found.decision = _contract(found, terms, zones)
    return found


def _zone(name: str, found: Judged, terms: Terms, step: Fraction) -> Zone:
    """Summary, failure composition, characteristic values and outlier tests of the counted pulls."""
    zone = Zone(name)
    rows = found.counted(name)
    zone.counted = len(rows)
    pulls = [found.pulls[i] for i in rows]
    known = [pull.shares for pull in pulls if pull.shares is not None]
    codes = sorted({code for shares in known for code in shares})
    zone.composition = {c: sum((s.get(c, Fraction(0)) for s in known), Fraction(0)) / len(known) for c in codes}
    record_to = terms.limit("rounding", "record_to")
    values = sorted(at_step(p.value or Fraction(0), record_to, ties_up=terms.ties_up) for p in pulls)
    exact = all(pull.bound == "exact" for pull in pulls) and not any(found.at_least[i] for i in rows)
    capped = any(pull.bound == "at most" for pull in pulls)
    if values:
        middle = None if capped else formulas.mean(values)
        zone.numbers |= {"mean": middle, "smallest": None if capped else values[0], "sd": None}
    raw = sorted(
        found.pulls[i].value or Fraction(0) for i in rows if found.pulls[i].bound == "exact" and not found.at_least[i]
    )
    if not exact and not capped:
        sure = bool(raw) and at_step(raw[0], record_to, ties_up=terms.ties_up) == values[0]
        zone.at_least = frozenset({"mean"} if sure else {"mean", "smallest"})
    if exact and len(values) >= 2:
        _exact_zone(zone, values, terms)
    tests = terms.table("screening").get("tests", ["grubbs", "dixon"])
    for test in ("grubbs", "dixon"):
        if isinstance(tests, list) and test in tests:
            zone.screened.append(_screened(test, raw, terms, step))
    return zone


def _exact_zone(zone: Zone, values: Sequence[Fraction], terms: Terms) -> None:
    zone.numbers["sd"] = mpmath.sqrt(formulas.number(formulas.variance(values)))
    level = terms.table("report").get("interval_confidence", 0.95)
    if isinstance(level, float | int):
        low, high = formulas.interval_of_mean(values, float(level))
        zone.numbers |= {"interval_low": low, "interval_high": high}
    asked: list[Mapping[str, object]] = []
    requirement = terms.of_zone(zone.name)
    for criterion in criteria(requirement) if requirement is not None else ():
        if criterion.kind == "characteristic_at_least":
            method = criterion.table["method"]
            asked.append({**criterion.table, "method": "tolerance" if method == "pooled" else method})
    beside = terms.table("report").get("characteristic", [])
    asked += [entry for entry in beside if isinstance(entry, Mapping)] if isinstance(beside, list) else []
    keys = ("method", "content", "confidence", "known_cov", "known_sd")
    plain = [{key: table[key] for key in keys if key in table} for table in asked]
    zone.characteristic = [_characteristic(table, values) for i, table in enumerate(plain) if table not in plain[:i]]


def _characteristic(table: dict[str, object], values: Sequence[Fraction]) -> Characteristic:
    n = len(values)
    try:
        form = characteristic(table, n, Threshold(Fraction(0), True))
    except NotKnown as problem:
        return Characteristic(table, why_not=problem)
    if isinstance(form, Unformed) or (table["method"] == "en1990-unknown" and n < 3):
        return Characteristic(table)
    if isinstance(form, Rank):
        return Characteristic(table, sorted(values, reverse=True)[form.best - 1])
    if isinstance(form, Fitted):
        return Characteristic(table, form.value(list(values)))
    assert isinstance(form, Spread)
    if form.logs and values[0] <= 0:
        return Characteristic(table)
    k: Number = form.k
    if "known_cov" in table:
        k = (1 - form.scale) / mpf(str(table["known_cov"]))
    elif "known_sd" in table:
        sd = measure(str(table["known_sd"]), "strength")
        k = form.shift / formulas.number(sd.value * sd.mpa)
    value = form.value(list(values))
    return Characteristic(table, value, k) if value > 0 else Characteristic(table)


# ---------------------------------------------------------------------------------------------------- outlier tests


def _screened(test: str, ascending: Sequence[Fraction], terms: Terms, step: Fraction) -> Screened:
    n = len(ascending)
    rule = terms.table("screening")
    side, convention = str(rule.get("side", "low")), str(rule.get("dixon_convention", "E178"))
    level = float(str(rule.get("level", 0.05)))
    if n < 3 or ascending[0] == ascending[-1]:
        return Screened(test, n, flagged=False)
    if test == "grubbs":
        g, largest = grubbs_statistic(ascending, side)
        p = grubbs_p(g, n, side)
        flagged = p is not None and p < level
        if flagged and step:
            nearest = _nearest(ascending, step, largest=largest)
            least = grubbs_p(nearest, n, side) if nearest > 0 else 1.0
            flagged = least is not None and least < level
        return Screened(test, n, g, p, largest, flagged=flagged)
    ratio = ratio_for(n, convention)
    if ratio is None:
        return Screened(test, n, flagged=False)
    r, largest = dixon_ratio(ascending, ratio, side)
    p = dixon_p(float(r), ratio, n, side)
    flagged = p < level
    if flagged and step:  # true values half a step nearer: the gap is a whole step smaller
        turned = [-v for v in reversed(ascending)] if largest else list(ascending)
        span = turned[n - int(ratio[2]) - 1] - turned[0]
        flagged = dixon_p(float(max(r - step / span, Fraction(0))), ratio, n, side) < level
    return Screened(test, n, r, p, largest, ratio, flagged)


def _nearest(ascending: Sequence[Fraction], step: Fraction, *, largest: bool) -> mpf:
    """The least G that the suspect can have with true values within half a step of the recorded ones.

    The suspect half a step nearer, of the others the lowest j half a step down and the rest half a step up, for all j.
    """
    turned = list(ascending) if largest else [-v for v in reversed(ascending)]
    found = []
    for j in range(len(turned)):
        others = [v + (-step / 2 if i < j else step / 2) for i, v in enumerate(turned[:-1])]
        whole = [*others, turned[-1] - step / 2]
        spread = mpmath.sqrt(formulas.number(formulas.variance(whole)))
        found.append(formulas.number(whole[-1] - formulas.mean(whole)) / spread if spread else mpf(0))
    return max(min(found), mpf(0))


# --------------------------------------------------------------------------------------------------------- decisions


def _decided(
    zone: Zone, standings: Mapping[Way, Judged], terms: Terms, zones: Sequence[str], ways: Sequence[Way]
) -> None:
    """The zone under every way to read the contract: what all agree on, else undetermined."""
    requirement = terms.of_zone(zone.name)
    if requirement is None:
        zone.asked = False
        return
    known: dict[str, tuple[ZoneDecision, int]] = {}
    for way, found in standings.items():
        decision, n = _decision(zone.name, requirement, found, terms, way, zones, known)
        zone.ways[way] = decision.outcome
        if way == ways[0]:
            zone.shown, zone.n = decision, n
    outcomes = {zone.ways[way] for way in ways}
    if None in outcomes:
        zone.outcome = None if len(outcomes - {None}) < 2 else "undetermined"
    else:
        zone.outcome = outcomes.pop() if len(outcomes) == 1 else "undetermined"


def _decision(
    name: str,
    requirement: Requirement,
    found: Judged,
    terms: Terms,
    way: Way,
    zones: Sequence[str],
    known: dict[str, tuple[ZoneDecision, int]],
) -> tuple[ZoneDecision, int]:
    """Decision and number of values; ``known`` holds those of ways that leave the zone the same values."""
    questions = list(dict.fromkeys(c.question for c in criteria(requirement) if c.question))
    values = values_of(found, name, terms, way, questions)
    held_back = sum(value.counted for value in values) < terms.least_valid(name)

    def pooled(criterion: Criterion) -> tuple[mpf, int] | None:
        if criterion.table.get("method") != "pooled":
            return None
        return _pooled(criterion, found, terms, way, zones)

    alike = f"{held_back} {values}"
    if any(c.table.get("method") == "pooled" for c in criteria(requirement)):
        alike += f" {way}"  # hangs on other zones too
    if alike not in known:
        known[alike] = decide(requirement, values, terms, held_back=held_back, pooled=pooled), len(values)
    return known[alike]


def _pooled(
    criterion: Criterion, found: Judged, terms: Terms, way: Way, zones: Sequence[str]
) -> tuple[mpf, int] | None:
    """Standard deviation of several zones, √(Σ sums of squares / Σ degrees of freedom) (JCGM 100:2008, 4.2.4)."""
    named = criterion.table.get("pooled_over")
    number = criterion.key.split(".")[0]
    rule = [rule.zones for rule in terms.rules if next(criteria(rule.requirement)).key.split(".")[0] == number]
    over = [str(zone) for zone in named] if isinstance(named, list) else [zone for r in rule for zone in r] or zones
    squares, freedom = Fraction(0), 0
    for zone in over:
        values = values_of(found, zone, terms, way, [criterion.question])
        bounds = [value.bounds[criterion.question] for value in values]
        if len(bounds) < 2:
            continue
        if any(low != high for low, high in bounds):
            raise NotKnown("pooled_unknown", zone)
        squares += formulas.sum_of_squares([Fraction(low) for low, _ in bounds])
        freedom += len(bounds) - 1
    return (mpmath.sqrt(formulas.number(squares / freedom)), freedom) if freedom else None


def _contract(found: Opinion, terms: Terms, zones: Sequence[str]) -> str | None:
    """Does not conform if a zone does not; conforms if all do; None where that hangs on a zone that was not checked."""
    outcomes = {zone.name: zone.outcome for zone in found.zones if zone.asked}
    not_read = [zone for zone in zones if zone not in {z.name for z in found.zones}]
    stands = [outcomes[zone] for zone in standing_zones(outcomes, terms, found.parts)]
    if "does not conform" in stands:
        return "does not conform"
    if not_read or None in stands:
        return None
    return "conforms" if stands and set(stands) == {"conforms"} else "undetermined"
