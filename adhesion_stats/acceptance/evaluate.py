"""The decision: is the requirement met by every completion of the unknown values, by none, or by some?

``evaluate``  one requirement on a block of zones of equal size (also simulated ones)
``decide``    a specification on all zones of a contract

Conforms: every completion meets the whole requirement. Does not conform: none does. Else undetermined. With some
completion that meets and some completion that fails as the two questions, everything follows from sets of criteria
that share one completion (``logic``), each set split into the criteria that share variables: those on the values of
one question (``completions``), those on failure shares (``composition``). A criterion whose value can't be formed
from so few values may be either. No loop over zones; every factor is looked up once per n.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.alone import Alone, ValuesOf, Variables, alone_of, reading_of
from adhesion_stats.acceptance.block import Block, cut
from adhesion_stats.acceptance.by_failure import alone_by_failure, decided_by_failure
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.completions import Possible, can_fail_together, can_meet_together
from adhesion_stats.acceptance.composition import AreaCondition, together
from adhesion_stats.acceptance.conditions import (
    ByFailure,
    Condition,
    Fitted,
    Likely,
    OfMean,
    OfValues,
    Ranked,
    Spread,
    Unformed,
)
from adhesion_stats.acceptance.logic import Sets, numbered, ways_to_fail, ways_to_meet
from adhesion_stats.acceptance.membership import with_views
from adhesion_stats.acceptance.outcomes import Decisions, Outcome, Outcomes, Reason
from adhesion_stats.acceptance.pooling import with_pooled_sd
from adhesion_stats.acceptance.table import table_of
from adhesion_stats.acceptance.witness import shown_together
from adhesion_stats.terms.criteria import AllOf, AnyOf, Requirement, depends_on_failure, questions
from adhesion_stats.terms.specification import Rounding, Specification

__all__ = ["decide", "evaluate"]

Truth = NDArray[np.bool_]


def evaluate(requirement: Requirement, block: Block, *, rounding: Rounding) -> Outcomes:
    """Decide one requirement for each zone of a block.

    Parameters
    ----------
    requirement
        A criterion, all of or any of.
    block
        g zones of n values each, with the bounds for every question that the requirement asks.
    rounding
        How a value is compared with its limit. (Recording to a step comes earlier, in ``cases``.)

    Returns
    -------
    Outcomes
        What a zone gets depends on that zone alone, to the last bit.
    """
    asked = numbered(requirement)
    block = with_views(block, asked)
    known = {question: ValuesOf(low, block.high[question]) for question, low in block.low.items()}
    alone = [
        alone_by_failure(i, criterion, block, rounding)
        if decided_by_failure(criterion)
        else alone_of(i, criterion, block, known, rounding)
        for i, criterion in enumerate(asked)
    ]
    meet = _some_completion(requirement, ways_to_meet(requirement), alone, block, meet=True)
    fail = _some_completion(requirement, ways_to_fail(requirement), alone, block, meet=False)
    decision, why = _decided(meet, fail, alone, requirement)
    return table_of(requirement, asked, alone, block, decision, why)


def _some_completion(
    requirement: Requirement, sets: Sets | None, alone: Sequence[Alone], block: Block, *, meet: bool
) -> Possible:
    """Whether some completion meets (fails) the whole requirement."""
    if sets is None:
        return _part_by_part(requirement, iter(alone), meet=meet)
    found = Possible(np.zeros(block.g, dtype=np.bool_), np.zeros(block.g, dtype=np.bool_))
    for numbers in sorted(sets, key=sorted):
        found = found | _one_set([alone[i] for i in sorted(numbers)], block, meet=meet)
    return found


def _part_by_part(requirement: Requirement, alone: Iterator[Alone], *, meet: bool) -> Possible:
    """The parts combined one by one: a bound, never a proof that some completion does it."""
    if isinstance(requirement, AllOf | AnyOf):
        parts = [_part_by_part(part, alone, meet=meet) for part in requirement.parts]
        joint = isinstance(requirement, AllOf) == meet
        found = parts[0]
        for part in parts[1:]:
            found = found & part if joint else found | part
        return Possible(found.possible, np.zeros_like(found.possible))
    one = next(alone)
    return Possible(one.possible[0 if meet else 1], one.certain[0 if meet else 1])


def _one_set(members: Sequence[Alone], block: Block, *, meet: bool) -> Possible:
    """Whether one completion meets (fails) all members: each group of shared variables on its own."""
    side = 0 if meet else 1
    both = Possible(members[0].possible[side], members[0].certain[side])
    for m in members[1:]:
        both = both & Possible(m.possible[side], m.certain[side])
    for variables in dict.fromkeys(m.variables for m in members):
        asks = [m.asks for m in members if m.variables == variables]
        rows = _rows_to_join(variables, asks, block, both.possible)
        if not rows.size:
            continue
        joined = _joined(variables, asks, block, rows, meet=meet)
        possible, certain = both.possible.copy(), both.certain.copy()
        possible[rows] &= joined.possible
        certain[rows] &= joined.certain
        both = Possible(possible, certain)
    return _proven(members, block, both, meet=meet)


def _proven(members: Sequence[Alone], block: Block, found: Possible, *, meet: bool) -> Possible:
    """``certain`` only where the members that are no exact answer together share a completion that was found."""
    certain = found.certain
    for question in dict.fromkeys(m.question for m in members if m.question is not None):
        mine = [m for m in members if m.question == question and not isinstance(m.asks, Unformed)]
        low, high = block.low[question], block.high[question]
        if low is high or not mine or all(_never_falls(m.asks, block.n) for m in mine):
            continue  # what never falls shares its best and its worst completion
        apart = len({m.variables for m in mine}) > 1 or any(isinstance(m.asks, Fitted) for m in mine)
        mixed = not meet and len(mine) > 1 and any(isinstance(m.asks, OfMean) for m in mine)
        if not (apart or mixed):
            continue
        rows = np.flatnonzero(found.possible & (high > low).any(axis=1))
        if rows.size:
            asks = [m.asks for m in mine if isinstance(m.asks, OfValues)]
            certain = certain.copy()
            shown = shown_together(low[rows], high[rows], asks, meet=meet)
            certain[rows] = shown & (certain[rows] | apart | mixed)
    return Possible(found.possible, certain)


def _never_falls(asks: Condition | AreaCondition | ByFailure, n: int) -> bool:
    return isinstance(asks, Ranked | Likely) or (isinstance(asks, Spread) and asks.never_falls(n))


def _rows_to_join(
    variables: Variables, asks: Sequence[Condition | AreaCondition | ByFailure], block: Block, open_rows: Truth
) -> NDArray[np.intp]:
    """Zones where these criteria, each possible alone, may exclude each other."""
    none = np.empty(0, dtype=np.intp)
    kind, name = variables
    if len(asks) < 2:
        return none
    if kind == "shares":
        assert block.shares is not None
        reading = reading_of(block.shares, recorded=name == "as recorded")
        free = (reading.unknown > 0).any(axis=1)
        for a in asks:
            if isinstance(a, AreaCondition):
                deep_sure, deep_could = reading.deep_enough(a)
                free |= (deep_could & ~deep_sure).any(axis=1)
        return np.flatnonzero(open_rows & free)
    bent = any(isinstance(a, OfMean) or (isinstance(a, Spread) and a.falls(block.n)) for a in asks)
    if block.low[name] is block.high[name] or not bent:
        return none
    return np.flatnonzero(open_rows & (block.high[name] > block.low[name]).any(axis=1))


def _joined(
    variables: Variables,
    asks: Sequence[Condition | AreaCondition | ByFailure],
    block: Block,
    rows: NDArray[np.intp],
    *,
    meet: bool,
) -> Possible:
    kind, name = variables
    if kind == "shares":
        assert block.shares is not None
        reading = reading_of(block.shares, recorded=name == "as recorded").rows(rows)
        return together(reading, [a for a in asks if isinstance(a, AreaCondition)], meet=meet)
    values = [a for a in asks if isinstance(a, Ranked | Spread | OfMean)]
    low, high = block.low[name][rows], block.high[name][rows]
    return can_meet_together(low, high, values) if meet else can_fail_together(low, high, values)


def _decided(
    meet: Possible, fail: Possible, alone: Sequence[Alone], requirement: Requirement
) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    """Outcome and reason of the whole requirement."""
    conforms = meet.possible & ~fail.possible
    fails = fail.possible & ~meet.possible
    decision = np.where(conforms, Outcome.CONFORMS, np.where(fails, Outcome.DOES_NOT_CONFORM, Outcome.UNDETERMINED))
    resolved = meet.certain & fail.certain
    why = np.where(
        conforms, Reason.MET, np.where(fails, Reason.NOT_MET, np.where(resolved, Reason.OPEN, Reason.NOT_RESOLVED))
    )
    by_parts = _part_by_part(requirement, iter(alone), meet=True).possible
    why[fails & by_parts] = Reason.NOT_TOGETHER
    return decision.astype(np.int8), why.astype(np.int8)


def decide(specification: Specification, cases: Cases) -> Decisions:
    """Decide every zone of a contract.

    Parameters
    ----------
    specification
        What is asked; zones that are asked the same are decided together.
    cases
        The values of all zones (see ``cases.cases``).
    """
    specification = with_pooled_sd(specification, cases)
    asked: dict[Requirement, list[int]] = {}
    known: dict[tuple[int, ...], list[int]] = {}
    for code, zone in enumerate(cases.zones):
        rules = tuple(i for i, rule in enumerate(specification.rules) if not rule.zones or zone in rule.zones)
        known.setdefault(rules, []).append(code)
    for codes in known.values():
        requirement = specification.requirement_for(cases.zones[codes[0]])
        if requirement is not None:
            asked.setdefault(requirement, []).extend(codes)
    outcome = np.full(len(cases.zones), -1, dtype=np.int8)
    tables = []
    for requirement, members in asked.items():
        table = _all_sizes(requirement, cases, np.array(sorted(members), dtype=np.int64), specification.rounding)
        outcome[table.group] = table.decision
        tables.append(table)
    held_back = _held_back(specification, cases, outcome)
    for table in tables:
        rows = np.isin(table.group, list(held_back))
        table.decision[rows], table.why[rows] = Outcome.UNDETERMINED, Reason.TOO_FEW_VALID
        outcome[table.group] = table.decision
    return Decisions(cases.zones, tuple(tables), outcome, held_back)


def _held_back(specification: Specification, cases: Cases, outcome: NDArray[np.int8]) -> dict[int, tuple[int, int]]:
    """Zones of which fewer values count than the contract asks for at least: how many do, and how many are asked."""
    if specification.pulls.least_valid is None and all(rule.least_valid is None for rule in specification.rules):
        return {}
    valid = np.bincount(cases.zone[cases.pull >= 0], minlength=len(cases.zones))
    least = {code: specification.least_valid_for(zone) for code, zone in enumerate(cases.zones) if outcome[code] >= 0}
    return {code: (int(valid[code]), least[code]) for code in least if valid[code] < least[code]}


def _all_sizes(requirement: Requirement, cases: Cases, codes: NDArray[np.int64], rounding: Rounding) -> Outcomes:
    asked = numbered(requirement)
    named = questions(asked)
    shares = any(depends_on_failure(c) for c in asked)
    mine = cases
    if codes.size < len(cases.zones):
        wanted = np.zeros(len(cases.zones), dtype=np.bool_)
        wanted[codes] = True
        mine = cases.keep(wanted[cases.zone])
    parts = [evaluate(requirement, block, rounding=rounding) for block in cut(mine, named, shares=shares)]
    there = np.bincount(mine.zone, minlength=len(cases.zones)) > 0
    empty = codes[~there[codes]]
    if empty.size or not parts:
        nothing = np.empty((empty.size, 0))
        bounds = dict.fromkeys(named, nothing)
        parts.append(evaluate(requirement, Block(empty, 0, bounds, bounds), rounding=rounding))
    return Outcomes.joined(parts) if len(parts) > 1 else parts[0]
