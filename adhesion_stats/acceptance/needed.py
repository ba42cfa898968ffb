"""What the unknown would have to be where a zone is undetermined.

For unknown strengths: the common level from which on (and, where a standard deviation counts, up to which) the
requirement is met if every unknown value lies there, as far as its bounds allow. With a single unknown value that is
all there is to say; with several it is the plainest way to say it, and where no common level meets, that is said.
For unknown areas: how much of them would have to fail by the codes that are asked for. Of several ways to meet (any
of), the one with the lowest level is told.

Imports: numpy, this room, quantities, messages.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.alone import met_by
from adhesion_stats.acceptance.block import Block, cut
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.completions import largest_number
from adhesion_stats.acceptance.composition import SLACK, AreaCondition, Reading, area_condition, names_glue, reachable
from adhesion_stats.acceptance.conditions import BetweenSds, Condition, Likely, OfValues, Ranked, Spread, Unformed
from adhesion_stats.acceptance.forms import condition, least_number
from adhesion_stats.acceptance.limits import meets
from adhesion_stats.acceptance.logic import ways_to_meet
from adhesion_stats.acceptance.outcomes import CriterionOutcome, Decisions, Outcome, Reason, ZoneDecision
from adhesion_stats.acceptance.reach import interval_of_levels
from adhesion_stats.acceptance.reasons import failed_facts
from adhesion_stats.messages import Fact, Message
from adhesion_stats.quantities import shown, shown_percent
from adhesion_stats.terms.criteria import (
    PULL_OFF,
    AreaCriterion,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    FailureShare,
    MeanAtLeast,
    SmallestAtLeast,
    StrengthCriterion,
    depends_on_failure,
    questions,
)
from adhesion_stats.terms.specification import Rounding, Specification

__all__ = ["common_levels", "needs"]

_LEVELS, _HALVINGS = 161, 60
_CODES = {
    Reason.TOO_FEW: "needs_two_values",
    Reason.NEEDS_MORE: "needs_more_values",
    Reason.NO_FACTOR: "needs_factor",
    Reason.CHOICE: "needs_choice",
}

Values = NDArray[np.float64]


def needs(specification: Specification, cases: Cases, decisions: Decisions) -> Mapping[str, tuple[Message, ...]]:
    """For each undetermined zone, what its unknown values or areas would have to be.

    Messages (facts ``unknown``, ``n``, ``question``, and ``level`` or ``last`` as text):

    - ``needs_level``, ``needs_level_between``, ``needs_level_at_most``, and ``needs_common_level`` where values that
      differ could still fail; as ``needs_one_level...`` for a single unknown value, where the level is all there is;
    - ``needs_no_common_level``, ``needs_alike`` (every common level meets);
    - ``needs_area``, ``needs_area_at_most``, ``needs_pulls``, ``needs_pulls_at_most`` for what broke;
    - ``needs_two_values``, ``needs_more_values`` (fact ``needed``), ``needs_factor``, ``needs_values``,
      ``needs_choice``, ``needs_not_told``, ``needs_pooled``; ``needs_one_way``: other ways to meet are open too.

    Levels are rounded so that the sentence stays true: up where they must be reached, down where not to be passed.
    """
    found: dict[str, tuple[Message, ...]] = {}
    for decision in decisions:
        if decision.held_back is not None:
            valid, least = decision.held_back
            facts: dict[str, Fact] = {"zone": decision.zone, "more": least - valid, "least": least}
            found[decision.zone] = (Message("needs_valid", facts=facts),)
        elif decision.outcome == Outcome.UNDETERMINED:
            found[decision.zone] = _zone(decision, cases.of(decision.zone), specification)
    return found


def _zone(decision: ZoneDecision, mine: Cases, specification: Specification) -> tuple[Message, ...]:
    """The plainest way to meet: fewest things that have no common answer, then the lowest level."""
    asked = [c.criterion for c in decision.criteria]
    block = next(iter(cut(mine, questions(asked), shares=True)), None)
    if block is None:
        return (Message("needs_values", facts={"zone": decision.zone}),)
    ways = ways_to_meet(decision.requirement)
    numbers = [sorted(way) for way in ways] if ways is not None else [list(range(len(asked)))]
    told: list[tuple[tuple[int, float, list[int]], tuple[Message, ...]]] = []
    for way in numbers:
        if any(decision.criteria[i].outcome == Outcome.DOES_NOT_CONFORM for i in way):
            continue
        messages, level, stuck = _way(decision, [asked[i] for i in way], way, block, specification)
        told.append(((stuck, level, way), messages))
    if not told:
        return ()
    easiest = min(told, key=lambda t: t[0])[1]
    if len(told) == 1:
        return easiest
    return (*easiest, Message("needs_one_way", facts={"zone": decision.zone, "ways": len(told)}))


def _way(
    decision: ZoneDecision,
    asked: Sequence[Criterion],
    numbers: Sequence[int],
    block: Block,
    specification: Specification,
) -> tuple[tuple[Message, ...], float, int]:
    messages: list[Message] = []
    highest, stuck = -math.inf, 0
    strengths = [c for c in asked if isinstance(c, StrengthCriterion) and not depends_on_failure(c)]
    for question in dict.fromkeys(c.question for c in strengths):
        mine = [c for c in strengths if c.question == question]
        open_ = any(
            decision.criteria[i].outcome != Outcome.CONFORMS for i in numbers if asked[numbers.index(i)] in mine
        )
        told, first, lost = _of_strengths(mine, question, block, specification, decision.zone, open_=open_)
        messages += told
        highest, stuck = max(highest, first), stuck + lost
    for i in numbers:
        c = asked[numbers.index(i)]
        if isinstance(c, AreaCriterion):
            messages += _areas(c, block, specification.rounding, decision.zone)
        elif depends_on_failure(c) and decision.criteria[i].outcome == Outcome.UNDETERMINED:
            messages.append(_by_failure(decision.criteria[i], decision))
    for i in numbers:
        reason = decision.criteria[i].reason
        code = _CODES.get(reason)
        if code is not None:
            criterion = decision.criteria[i].criterion
            facts: dict[str, Fact] = {"zone": decision.zone, "n": decision.n}
            if isinstance(criterion, StrengthCriterion):
                facts["needed"] = least_number(criterion)
            messages.append(Message(code, facts=facts))
    return tuple(messages), highest, stuck


def _by_failure(found: CriterionOutcome, decision: ZoneDecision) -> Message:
    """What has to be known or reached for a criterion that depends on what broke."""
    c = found.criterion
    facts: dict[str, Fact] = {"zone": decision.zone, "n": decision.n, "sure": found.reached, "most": found.could}
    if isinstance(c, EachPullAtLeast):
        return Message("needs_each", facts=facts | {"open": found.could - found.reached})
    assert isinstance(c, MeanAtLeast | SmallestAtLeast | CountAtLeast)
    facts["limit"] = c.limit.text
    if isinstance(c, MeanAtLeast):
        if c.only is None:
            return Message("needs_alike_failure", facts=facts)
        facts |= failed_facts(c.only)
        return Message("needs_members" if found.could else "needs_a_member", facts=facts)
    assert c.unless is not None
    deep = "_deep" if c.unless.depth_mm is not None else ""
    return Message(f"needs_excuse{deep}", facts=facts | failed_facts(c.unless))


def _of_strengths(
    asked: Sequence[StrengthCriterion],
    question: str,
    block: Block,
    specification: Specification,
    zone: str,
    *,
    open_: bool,
) -> tuple[list[Message], float, int]:
    """What the values of one question would have to be; the level from which on; 1 where there is none."""
    asks = [condition(c, block.n, specification.rounding) for c in asked]
    if any(isinstance(a, BetweenSds) for a in asks):  # no level of this zone's values alone can tell
        return [Message("needs_pooled", facts={"zone": zone})], -math.inf, 1
    found, facts = common_levels(block, question, asks), _unknown(block, question, zone)
    if found is None:
        return [Message("needs_not_told", facts=facts)], -math.inf, 1
    first, last = found
    if first > last:
        return [Message("needs_no_common_level", facts=facts)], -math.inf, 1
    unit, places = _told_in(asked, specification.unit)
    if math.isfinite(last):
        facts["last"] = shown(last, unit, places, "down")
    if first > -math.inf:
        facts["level"] = shown(first, unit, places, "up")
        # Values that differ from each other could still fail.
        alike = any(
            a.falls(block.n) if isinstance(a, Spread) else not isinstance(a, Ranked | Likely | Unformed) for a in asks
        )
        told = "needs_common_level" if alike and facts["unknown"] != 1 else "needs_level"
        code = "needs_level_between" if math.isfinite(last) else told
        return [Message(_level_code(code, facts), facts=facts)], first, 0
    if math.isfinite(last):
        return [Message(_level_code("needs_level_at_most", facts), facts=facts)], -math.inf, 0
    tells = open_ and facts["unknown"] and not any(isinstance(a, Unformed) for a in asks)
    return ([Message("needs_alike", facts=facts)] if tells else []), -math.inf, 0


def _told_in(asked: Sequence[StrengthCriterion], unit_of_report: str) -> tuple[str, int]:
    """Unit and decimal places in which levels are told: those of the limit with most places."""
    limits = [limit for c in asked if (limit := c.strength_limit) is not None]
    if not limits:
        return unit_of_report, 0 if unit_of_report == "psi" else 2
    finest = max(limits, key=lambda x: x.places)
    return finest.unit, finest.places


def _level_code(code: str, facts: Mapping[str, Fact]) -> str:
    """The code for a single unknown value where there is one only."""
    return code.replace("needs_level", "needs_one_level") if facts["unknown"] == 1 else code


def _unknown(block: Block, question: str, zone: str) -> dict[str, Fact]:
    number = int((block.high[question] > block.low[question]).sum())
    return {"zone": zone, "question": question, "unknown": number, "n": block.n, "bond": question != PULL_OFF}


def common_levels(block: Block, question: str, conditions: Sequence[Condition]) -> tuple[float, float] | None:
    """Common levels [MPa] of the unknown values of one zone at which all conditions are met: from, to; empty where
    from > to.

    ``-inf`` and ``inf`` where there is no end; None where the levels are no single interval. Conditions whose value
    can't be formed are left out.
    """
    low, high = block.low[question], block.high[question]
    first, last = -math.inf, math.inf
    for c in conditions:
        if isinstance(c, Ranked):
            a, b = _rank_from(c, low, high), math.inf
        elif isinstance(c, Spread) and c.own_k >= 0 and c.scale > 0:
            slack = c.tolerance * np.maximum(largest_number(low, high), abs(c.own_at))
            begin, end = interval_of_levels(low, high, c.own_k, c.own_at, slack)
            a, b = float(begin[0]), float(end[0])
        elif isinstance(c, Unformed):
            continue
        else:
            found = _levels_tried(c, low, high)
            if found is None:
                return None
            a, b = found
        first, last = max(first, a), min(last, b)
    # A level that the tolerance alone lets cross is one level.
    if first > last and first - last <= 1e-9 * max(abs(first), abs(last)) and math.isfinite(first - last):
        last = first
    return first, last


def _levels_tried(c: OfValues, low: Values, high: Values) -> tuple[float, float] | None:
    """The common levels that meet, found by trying; None where they are no single interval."""
    free = high > low
    known = max(float(low.max()), float(np.where(np.isfinite(high), high, 0.0).max()), 1e-3)

    def met(levels: Values) -> NDArray[np.bool_]:
        x = np.minimum(np.maximum(levels[:, np.newaxis], low), high)
        return met_by(c, np.ascontiguousarray(np.sort(x, axis=1)))

    if not free.any():
        return (-math.inf, math.inf) if met(np.zeros(1))[0] else (math.inf, -math.inf)
    levels = np.concatenate([np.linspace(0.0, 4.0 * known, _LEVELS), known * np.geomspace(4.1, 1e4, 24)])
    good = met(levels)
    inside = np.flatnonzero(good)
    if not inside.size:
        return math.inf, -math.inf
    if not good[inside[0] : inside[-1] + 1].all():
        return None

    def edge(within: float, beyond: float) -> float:
        for _ in range(_HALVINGS):
            middle = 0.5 * (within + beyond)
            within, beyond = (middle, beyond) if met(np.array([middle]))[0] else (within, middle)
        return within

    a, b = int(inside[0]), int(inside[-1])
    first = -math.inf if a == 0 else edge(float(levels[a]), float(levels[a - 1]))
    last = math.inf if b == levels.size - 1 else edge(float(levels[b]), float(levels[b + 1]))
    return first, last


def _rank_from(c: Ranked, low: Values, high: Values) -> float:
    """Common level from which on the rank is met; ``inf`` where no common level meets it."""
    unit = c.limit.unit_mpa
    slack = c.tolerance * c.limit.at
    if int(meets(low[0] / unit, c.limit, slack=slack).sum()) >= c.best:
        return -math.inf
    return c.limit.at * unit if int(meets(high[0] / unit, c.limit, slack=slack).sum()) >= c.best else math.inf


def _areas(criterion: AreaCriterion, block: Block, rounding: Rounding, zone: str) -> list[Message]:
    """What the unknown area of one zone would have to be for one criterion; nothing where it is settled."""
    assert block.shares is not None
    reading = Reading.of(block.shares, glue_as_recorded=names_glue(criterion, block.shares.glue))
    asks = area_condition(criterion, rounding)
    low, high = (float(end[0]) for end in reachable(reading, asks))
    met = [bool(meets(np.array([end]), asks.limit, slack=SLACK)[0]) for end in (low, high)]
    if met[0] == met[1]:
        return []
    facts: dict[str, Fact] = {"zone": zone, "codes": criterion.codes}
    if criterion.__class__ is FailureShare:
        unknown = float(reading.unknown.sum())
        part = 100.0 * (asks.limit.at * block.n - low * block.n) / unknown
        facts |= {
            "part": shown_percent(part, 1, towards="down" if asks.limit.at_most else "up"),
            "unknown": shown_percent(unknown / block.n, 1),
        }
        return [Message("needs_area_at_most" if asks.limit.at_most else "needs_area", facts=facts)]
    return [_pulls_needed(asks, reading, facts)]


def _pulls_needed(asks: AreaCondition, reading: Reading, facts: dict[str, Fact]) -> Message:
    n = reading.unknown.shape[1]
    low, high = (round(float(end[0]) * n / 100.0) for end in reachable(reading, asks))
    met = meets(100.0 * np.arange(n + 1) / n, asks.limit, slack=SLACK)
    good = [number for number in range(low, high + 1) if met[number]]
    facts |= {"open": high - low, "n": n, "number": (good[-1] if asks.limit.at_most else good[0]) - low}
    return Message("needs_pulls_at_most" if asks.limit.at_most else "needs_pulls", facts=facts)
