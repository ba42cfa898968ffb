"""The values that a zone is decided on: each lies between two bounds, equal where it is known; and what broke.

A pull known from below lies between its value and the declared ceiling, else without end; one not made, lost or in
doubt between 0 and the ceiling. Asked about an interface or a layer, a pull that broke elsewhere is known from below.
The share that broke at or in the dolly adhesive, or was not recorded, could have been any code.
Imports: the standard library and this package.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from adhesion_stats.twin.model import INFINITE, Pull
from adhesion_stats.twin.quantities import Limit
from adhesion_stats.twin.standing import Judged, Way
from adhesion_stats.twin.terms import Terms

__all__ = ["Number", "Value", "at_step", "values_of"]

Number = Fraction | float  # floats only for infinity and in searches
_SAME = Fraction(1, 10**7)  # shares [%] this close are one


@dataclass(frozen=True)
class Value:
    """One value: its bounds by question, known shares [%] by code, share without a code, bounds of the depth [mm]."""

    bounds: dict[str, tuple[Number, Number]]
    known: dict[str, Fraction]
    unrecorded: Fraction
    depth: tuple[Number, Number] = (Fraction(0), INFINITE)
    counted: bool = True


def at_step(value: Fraction, step: Limit | None, *, ties_up: bool) -> Fraction:
    """A strength [MPa] rounded to the step in which the contract records it, in the step's own unit."""
    if step is None:
        return value
    stride = step.value * step.mpa
    steps = value / stride
    whole = steps.numerator // steps.denominator
    rest = steps - whole
    near_tie = abs(rest - Fraction(1, 2)) < Fraction(1, 10**11)
    up = (ties_up or whole % 2 == 1) if near_tie else rest > Fraction(1, 2)
    return (whole + up) * stride


def _bounds(pull: Pull, terms: Terms, *, at_least: bool) -> tuple[Number, Number]:
    """Bounds of the pull-off strength [MPa] as read and judged."""
    if pull.value is None or pull.bound == "nothing" or (at_least and pull.bound == "at most"):
        return Fraction(0), INFINITE
    value = at_step(pull.value, terms.limit("rounding", "record_to"), ties_up=terms.ties_up)
    if pull.bound == "at most":
        return Fraction(0), value
    return (value, INFINITE) if at_least or pull.bound == "at least" else (value, value)


def _capped(low: Number, high: Number, ceiling: Number) -> tuple[Number, Number]:
    return (low, max(min(high, ceiling), low)) if low < high else (low, high)


def values_of(judged: Judged, zone: str, terms: Terms, way: Way, questions: Sequence[str]) -> list[Value]:
    """The values of a zone: of pulls (or measurements) that count, and of those that nobody knows."""
    limit = terms.limit("pulls", "ceiling")
    ceiling: Number = INFINITE if limit is None else limit.value * limit.mpa
    nobody_knows = Value(dict.fromkeys(questions, (Fraction(0), ceiling)), {}, Fraction(100), counted=False)
    of_pulls = {i: _value(judged, i, terms, way, questions, ceiling) for i in judged.counted(zone)}
    if terms.by_measurement:
        return _measurements(judged, zone, terms, way, of_pulls, nobody_knows)
    unknown = max(terms.required(zone) - len(of_pulls), 0, judged.unknown(zone, way))
    return [*of_pulls.values(), *[nobody_knows] * unknown]


def _value(judged: Judged, i: int, terms: Terms, way: Way, questions: Sequence[str], ceiling: Number) -> Value:
    pull = judged.pulls[i]
    low, high = _bounds(pull, terms, at_least=judged.at_least[i])
    bounds = {}
    for question in questions:
        there = question == "pull-off" or (pull.share((question,)) or Fraction(-1)) >= way.there_from - _SAME
        bounds[question] = _capped(low, high if there else INFINITE, ceiling)
    known = pull.shares or {}
    unrecorded = max(100 - sum(known.values(), Fraction(0)), Fraction(0))
    depth = (Fraction(0), INFINITE) if pull.depth_mm is None else (pull.depth_mm, pull.depth_mm)
    return Value(bounds, known, unrecorded if unrecorded > _SAME else Fraction(0), depth)


def _measurements(
    judged: Judged, zone: str, terms: Terms, way: Way, of_pulls: dict[int, Value], nobody_knows: Value
) -> list[Value]:
    """One value a measurement: the mean of its pulls; one with too few pulls was begun, and nobody knows its value."""
    members = dict(of_pulls)
    gone = {"replaced", "excluded", "retest of valid"}
    for i, pull in enumerate(judged.pulls):
        reasons = judged.reasons[i]
        doubtful = reasons & {"in doubt", "lost", "glue"} == {"in doubt"}
        if pull.zone == zone and not reasons & gone and (doubtful or ("lost" in reasons and way.lost == "unknown")):
            members[i] = nobody_knows
    groups: dict[str, list[int]] = {}
    for i in sorted(members):
        pull = judged.pulls[i]
        groups.setdefault(pull.measurement or f"\n{i}", []).append(i)
    per = terms.table("pulls").get("pulls_per_measurement", 1)
    needed = per if isinstance(per, int) else 1
    enough = {name: sum("lost" not in judged.reasons[i] for i in group) >= needed for name, group in groups.items()}
    valid = [_mean_value([members[i] for i in group]) for name, group in groups.items() if enough[name]]
    begun = len(groups) - len(valid)
    return [*valid, *[nobody_knows] * max(terms.required(zone) - len(valid), begun, 0)]


def _mean_value(parts: Sequence[Value]) -> Value:
    n = len(parts)

    def middle(numbers: Sequence[Number]) -> Number:
        return INFINITE if INFINITE in numbers else sum((Fraction(x) for x in numbers), Fraction(0)) / n

    bounds = {
        question: (middle([p.bounds[question][0] for p in parts]), middle([p.bounds[question][1] for p in parts]))
        for question in parts[0].bounds
    }
    codes = {code for part in parts for code in part.known}
    known = {code: sum((p.known.get(code, Fraction(0)) for p in parts), Fraction(0)) / n for code in codes}
    unrecorded = sum((p.unrecorded for p in parts), Fraction(0)) / n
    depth = (min(p.depth[0] for p in parts), max(p.depth[1] for p in parts))
    return Value(bounds, known, unrecorded, depth)
