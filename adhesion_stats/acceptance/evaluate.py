"""The decision: is the requirement met by every completion of the unknown values, by none, or by some?

``evaluate``  one requirement on a block of zones of equal size (also simulated ones)
``decide``    a specification on all zones of a contract

Conforms: every completion meets the whole requirement. Does not conform: none does. Else undetermined. With some
completion that meets and some completion that fails as the two questions, everything follows from sets of criteria
that share one completion (``logic``), each set split into the criteria that share variables: those on the values of
one question (``completions``), those on failure shares (``composition``). A criterion whose value can't be formed
from so few values may be either. No loop over zones; every factor is looked up once per n.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, Shares, cut
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.completions import Possible, can_fail_together, can_meet_together, largest_number
from adhesion_stats.acceptance.composition import (
    SLACK,
    AreaCondition,
    Reading,
    area_condition,
    names_glue,
    reachable,
    together,
)
from adhesion_stats.acceptance.conditions import Condition, Ranked, Spread, Trouble, Unformed, condition
from adhesion_stats.acceptance.limits import Threshold, at_limit, meets
from adhesion_stats.acceptance.logic import Sets, numbered, ways_to_fail, ways_to_meet
from adhesion_stats.acceptance.outcomes import Decisions, Outcome, Outcomes, Reason
from adhesion_stats.acceptance.reach import lowest, peak, spread, spread_at_top
from adhesion_stats.statistics.describe import mean_and_sd
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CountAtLeast,
    Criterion,
    FailureShare,
    PullsWithFailure,
    Requirement,
)
from adhesion_stats.terms.specification import Rounding, Specification

__all__ = ["decide", "evaluate"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
_FIRST = 1e9  # puts criteria that decide ahead of the others, whatever their value / limit
Variables = tuple[
    str, str
]  # what a criterion depends on: ("question", "pull-off"), ("shares", "covered area unknown"), ...


@dataclass(frozen=True, eq=False)
class _Alone:
    """One criterion, taken alone, over the g zones of a block."""

    variables: Variables
    asks: Condition | AreaCondition
    low: Values
    high: Values
    possible: tuple[Truth, Truth]  # some completion meets; some completion fails
    certain: tuple[Truth, Truth]
    at_limit: Truth
    counts: tuple[NDArray[np.int64], NDArray[np.int64]]  # z of n: values that reach the limit certainly, possibly


class _Values:
    """The values of a block for one question, with what several criteria ask of them; computed once, on first use."""

    def __init__(self, low: Values, high: Values) -> None:
        self.low, self.high = low, high

    @cached_property
    def mean_and_sd(self) -> tuple[Values, Values]:
        """(g,) each, of the lower bounds."""
        return mean_and_sd(self.low)

    @cached_property
    def open_rows(self) -> NDArray[np.intp]:
        """Zones with an unknown value."""
        if self.low is self.high:
            return np.empty(0, dtype=np.intp)
        return np.flatnonzero((self.high > self.low).any(axis=1))

    @cached_property
    def largest(self) -> Values:
        """(g,) the largest finite number among the bounds of each zone."""
        top: Values = np.maximum(np.abs(self.low[:, 0]), np.abs(self.low[:, -1]))  # rows ascend
        if self.open_rows.size:
            top[self.open_rows] = largest_number(self.low[self.open_rows], self.high[self.open_rows])
        return top

    def certain_of_rank(self, rank: int) -> Values:
        """(g,) the rank-th largest lower bound; 0 where the rank is beyond the values that are there."""
        g, n = self.low.shape
        return self.low[:, n - rank] if rank <= n else np.zeros(g)

    def ranked_from_top(self, rank: int) -> Values:
        """(g,) the rank-th largest upper bound; without end where the rank is below 1 (values not there suffice)."""
        g, n = self.low.shape
        if rank < 1:
            return np.full(g, np.inf)
        ranked = self.low[:, n - rank].copy()
        if self.open_rows.size:
            ranked[self.open_rows] = np.sort(self.high[self.open_rows], axis=1)[:, n - rank]
        return ranked


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
    known = {question: _Values(low, block.high[question]) for question, low in block.low.items()}
    alone = [_alone(i, criterion, block, known, rounding) for i, criterion in enumerate(asked)]
    meet = _some_completion(requirement, ways_to_meet(requirement), alone, block, meet=True)
    fail = _some_completion(requirement, ways_to_fail(requirement), alone, block, meet=False)
    decision, why = _decided(meet, fail, alone, requirement)
    return _table(requirement, asked, alone, block, decision, why)


def _alone(i: int, criterion: Criterion, block: Block, known: Mapping[str, _Values], rounding: Rounding) -> _Alone:
    if isinstance(criterion, FailureShare | PullsWithFailure):
        return _area_alone(i, criterion, block, rounding)
    asks = condition(criterion, block.n, rounding)
    if isinstance(asks, Unformed):
        return _unformed(i, asks, block.g)
    values = known[criterion.question]
    low, high = values.low, values.high
    variables = ("question", criterion.question)
    top = np.maximum(values.largest, asks.limit.at * asks.limit.unit_mpa)
    sure = np.ones(block.g, dtype=np.bool_)
    if isinstance(asks, Ranked):
        least, most = values.certain_of_rank(asks.worst), values.ranked_from_top(asks.best)
    else:
        least, most, top, sure = _spread_ends(asks, values, top)
        if not (asks.never_falls(block.n) or asks.falls(block.n)) or asks.own_k < 0:
            variables = ("alone", str(i))  # falls in every value, or is convex: never joined with others
    unit = asks.limit.unit_mpa
    slack = asks.tolerance * top / unit
    alone = _from_ends(variables, asks, asks.limit, least / unit, most / unit, slack, sure)
    if isinstance(criterion, CountAtLeast):
        return replace(alone, counts=_counts(criterion, asks.limit, low / unit, high / unit, slack))
    return alone


def _counts(
    criterion: CountAtLeast, limit: Threshold, low: Values, high: Values, slack: Values
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """How many values (bounds in the limit's unit) reach the limit certainly, and possibly; planned ones that are
    not there may.
    """
    sure = meets(low, limit, slack=slack[:, np.newaxis]).sum(axis=1)
    could = meets(high, limit, slack=slack[:, np.newaxis]).sum(axis=1)
    return sure, could + max(criterion.n - low.shape[1], 0)


def _spread_ends(asks: Spread, values: _Values, top: Values) -> tuple[Values, Values, Values, Truth]:
    """Ends of scale * mean - k sd - shift [MPa], the largest number involved, and whether both ends are exact."""
    mean, sd = values.mean_and_sd
    n = values.low.shape[1]
    sure = np.ones(mean.size, dtype=np.bool_)
    least = mean if asks.own_k == 0.0 else mean - asks.own_k * sd
    most = least
    rows = values.open_rows
    if rows.size:
        least, most, top = least.copy(), least.copy(), top.copy()
        lows, highs = values.low[rows], values.high[rows]
        if asks.falls(n):
            value, level = peak(lows, highs, asks.own_k)
            most[rows] = value
            top[rows] = np.maximum(top[rows], np.where(np.isinf(level), 0.0, np.abs(level)))
            least[rows], sure[rows] = lowest(lows, highs, asks.own_k)
        elif asks.own_k < 0 and not asks.never_falls(n):
            # Convex: between the least mean and no proven end above; left open unless the least value meets.
            least[rows], most[rows], sure[rows] = spread(lows, 0.0), np.inf, False
        else:
            most[rows] = spread_at_top(highs, asks.own_k)
    ends = (asks.scale * least - asks.shift_mpa, asks.scale * most - asks.shift_mpa)
    return (*ends, top, sure) if asks.scale > 0 else (*ends[::-1], top, sure)


def _area_alone(i: int, criterion: FailureShare | PullsWithFailure, block: Block, rounding: Rounding) -> _Alone:
    if block.n == 0:
        return _unformed(i, Unformed(Trouble.NO_VALUES), block.g)
    assert block.shares is not None  # cut and evaluate are given the same requirement
    recorded = names_glue(criterion, block.shares.glue)
    asks = area_condition(criterion, rounding)
    least, most = reachable(_reading(block.shares, recorded=recorded), asks)
    variables = ("shares", "as recorded" if recorded else "covered area unknown")
    return _from_ends(variables, asks, asks.limit, least, most, SLACK, np.ones(block.g, dtype=np.bool_))


def _reading(shares: Shares, *, recorded: bool) -> Reading:
    return Reading.of(shares, glue_as_recorded=recorded)


def _from_ends(
    variables: Variables,
    asks: Condition | AreaCondition,
    limit: Threshold,
    least: Values,
    most: Values,
    slack: Values | float,
    sure: Truth,
) -> _Alone:
    met_least, met_most = meets(least, limit, slack=slack), meets(most, limit, slack=slack)
    met_worst, met_best = (met_most, met_least) if limit.at_most else (met_least, met_most)
    on = at_limit(least, limit, slack=slack) | at_limit(most, limit, slack=slack)
    nothing = np.zeros(least.size, dtype=np.int64)
    certain = (met_best, ~met_worst & (sure | ~met_best))
    return _Alone(variables, asks, least, most, (met_best, ~met_worst), certain, on, (nothing, nothing))


def _unformed(i: int, asks: Unformed, g: int) -> _Alone:
    either = np.ones(g, dtype=np.bool_)
    nowhere = np.full(g, np.inf)
    nothing = np.zeros(g, dtype=np.int64)
    return _Alone(
        ("alone", str(i)), asks, -nowhere, nowhere, (either, either), (either, either), ~either, (nothing, nothing)
    )


def _some_completion(
    requirement: Requirement, sets: Sets | None, alone: Sequence[_Alone], block: Block, *, meet: bool
) -> Possible:
    """Whether some completion meets (fails) the whole requirement."""
    if sets is None:
        return _part_by_part(requirement, iter(alone), meet=meet)
    found = Possible(np.zeros(block.g, dtype=np.bool_), np.zeros(block.g, dtype=np.bool_))
    for numbers in sorted(sets, key=sorted):
        found = found | _one_set([alone[i] for i in sorted(numbers)], block, meet=meet)
    return found


def _part_by_part(requirement: Requirement, alone: object, *, meet: bool) -> Possible:
    """The parts combined one by one: a bound, never a proof that some completion does it."""
    if isinstance(requirement, AllOf | AnyOf):
        parts = [_part_by_part(part, alone, meet=meet) for part in requirement.parts]
        joint = isinstance(requirement, AllOf) == meet
        found = parts[0]
        for part in parts[1:]:
            found = found & part if joint else found | part
        return Possible(found.possible, np.zeros_like(found.possible))
    one: _Alone = next(alone)  # type: ignore[call-overload]
    return Possible(one.possible[0 if meet else 1], one.certain[0 if meet else 1])


def _one_set(members: Sequence[_Alone], block: Block, *, meet: bool) -> Possible:
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
    return both


def _rows_to_join(
    variables: Variables, asks: Sequence[Condition | AreaCondition], block: Block, open_rows: Truth
) -> NDArray[np.intp]:
    """Zones where these criteria, each possible alone, may exclude each other."""
    none = np.empty(0, dtype=np.intp)
    kind, name = variables
    if len(asks) < 2:
        return none
    if kind == "shares":
        assert block.shares is not None
        reading = _reading(block.shares, recorded=name == "as recorded")
        return np.flatnonzero(open_rows & (reading.unknown > 0).any(axis=1))
    if block.low[name] is block.high[name] or not any(isinstance(a, Spread) and a.falls(block.n) for a in asks):
        return none
    return np.flatnonzero(open_rows & (block.high[name] > block.low[name]).any(axis=1))


def _joined(
    variables: Variables,
    asks: Sequence[Condition | AreaCondition],
    block: Block,
    rows: NDArray[np.intp],
    *,
    meet: bool,
) -> Possible:
    kind, name = variables
    if kind == "shares":
        assert block.shares is not None
        whole = _reading(block.shares, recorded=name == "as recorded")
        reading = Reading(whole.codes, whole.known[rows], whole.unknown[rows])
        return together(reading, [a for a in asks if isinstance(a, AreaCondition)], meet=meet)
    values = [a for a in asks if isinstance(a, Ranked | Spread)]
    low, high = block.low[name][rows], block.high[name][rows]
    return can_meet_together(low, high, values) if meet else can_fail_together(low, high, values)


def _decided(
    meet: Possible, fail: Possible, alone: Sequence[_Alone], requirement: Requirement
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


def _table(
    requirement: Requirement,
    asked: tuple[Criterion, ...],
    alone: Sequence[_Alone],
    block: Block,
    decision: NDArray[np.int8],
    why: NDArray[np.int8],
) -> Outcomes:
    unknown = np.zeros(block.g, dtype=np.int64)
    for question, low in block.low.items():
        if low is not block.high[question]:
            unknown = np.maximum(unknown, (block.high[question] > low).sum(axis=1))
    outcome, reason = np.empty((block.g, len(alone)), np.int8), np.empty((block.g, len(alone)), np.int8)
    for c, one in enumerate(alone):
        outcome[:, c], reason[:, c] = _criterion_outcome(one, block)
    limits = [_limit_and_unit(criterion) for criterion in asked]
    at_most = np.array([unit == "%" and up for _, unit, up in limits], dtype=np.bool_)
    table = Outcomes(
        requirement=requirement,
        criteria=asked,
        group=block.group,
        n=np.full(block.g, block.n, dtype=np.int64),
        unknown=unknown,
        limit=np.array([value for value, _, _ in limits], dtype=np.float64),
        unit=tuple(unit for _, unit, _ in limits),
        at_most=at_most,
        low=np.stack([one.low for one in alone], axis=1),
        high=np.stack([one.high for one in alone], axis=1),
        outcome=outcome,
        reason=reason,
        at_limit=np.stack([one.at_limit for one in alone], axis=1),
        reached=np.stack([one.counts[0] for one in alone], axis=1),
        could=np.stack([one.counts[1] for one in alone], axis=1),
        decision=decision,
        why=_with_trouble(why, alone),
        binding=np.zeros(block.g, dtype=np.int64),
    )
    table.binding[:] = _binding(requirement, table)
    return table


def _limit_and_unit(criterion: Criterion) -> tuple[float, str, bool]:
    if isinstance(criterion, FailureShare | PullsWithFailure):
        if criterion.at_most is not None:
            return criterion.at_most, "%", True
        assert criterion.at_least is not None
        return criterion.at_least, "%", False
    return criterion.limit.value, criterion.limit.unit, False


def _criterion_outcome(one: _Alone, block: Block) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    can_meet, can_fail = one.possible
    outcome = np.where(~can_fail, Outcome.CONFORMS, np.where(can_meet, Outcome.UNDETERMINED, Outcome.DOES_NOT_CONFORM))
    either: Reason | NDArray[np.int64] = Reason.OPEN
    if isinstance(one.asks, Unformed):
        either = Reason.NO_VALUES if one.asks.trouble == Trouble.NO_VALUES else Reason.TOO_FEW
    elif isinstance(one.asks, Ranked) and one.asks.best != one.asks.worst and one.asks.worst - one.asks.best > 0:
        question = one.variables[1]
        exact = np.equal(block.low[question], block.high[question]).all(axis=1)
        either = np.where(exact & (one.asks.best >= 1), Reason.CHOICE, Reason.OPEN)
    sure = one.certain[0] & one.certain[1]
    open_reason = np.where(sure, either, Reason.NOT_RESOLVED)
    reason = np.where(~can_fail, Reason.MET, np.where(can_meet, open_reason, Reason.NOT_MET))
    return outcome.astype(np.int8), reason.astype(np.int8)


def _with_trouble(why: NDArray[np.int8], alone: Sequence[_Alone]) -> NDArray[np.int8]:
    """A zone that stays open because a value can't be formed says so."""
    troubles = [one.asks.trouble for one in alone if isinstance(one.asks, Unformed)]
    if not troubles:
        return why
    reason = Reason.NO_VALUES if Trouble.NO_VALUES in troubles else Reason.TOO_FEW
    return np.where(why == Reason.OPEN, reason, why).astype(np.int8)


def _binding(requirement: Requirement, table: Outcomes) -> NDArray[np.int64]:
    """Number (g,) of the binding criterion; see ``Outcomes.binding``."""
    if len(table.criteria) == 1:
        return np.zeros(len(table), dtype=np.int64)
    failing = table.decision == Outcome.DOES_NOT_CONFORM
    first = np.where(failing, Outcome.DOES_NOT_CONFORM, Outcome.UNDETERMINED)
    number = iter(range(len(table.criteria)))

    def key(part: Requirement) -> tuple[Values, NDArray[np.int64]]:
        if not isinstance(part, AllOf | AnyOf):
            c = next(number)
            leading = (table.decision != Outcome.CONFORMS) & (table.outcome[:, c] == first)
            return _ratio(table, c, failing) - np.where(leading, _FIRST, 0.0), np.full(len(table), c, dtype=np.int64)
        keys, numbers = zip(*(key(p) for p in part.parts), strict=True)
        stacked = np.stack(keys)
        chosen = np.argmin(stacked, axis=0) if isinstance(part, AllOf) else np.argmax(stacked, axis=0)
        columns = np.arange(len(table))
        return stacked[chosen, columns], np.stack(numbers)[chosen, columns]

    return key(requirement)[1]


def _ratio(table: Outcomes, c: int, failing: Truth) -> Values:
    """Value / limit, for an upper limit limit / value: below 1 where the limit is missed."""
    limit = float(table.limit[c])
    if table.at_most[c]:
        value = np.where(failing, table.low[:, c], table.high[:, c])
        return np.where(value > 0, limit / np.where(value > 0, value, 1.0), np.inf)
    value = np.where(failing, table.high[:, c], table.low[:, c])
    return value / limit if limit > 0 else np.full(len(table), np.inf)


def decide(specification: Specification, cases: Cases) -> Decisions:
    """Decide every zone of a contract.

    Parameters
    ----------
    specification
        What is asked; zones that are asked the same are decided together.
    cases
        The values of all zones (see ``cases.cases``).
    """
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
    return Decisions(cases.zones, tuple(tables), outcome)


def _all_sizes(requirement: Requirement, cases: Cases, codes: NDArray[np.int64], rounding: Rounding) -> Outcomes:
    asked = numbered(requirement)
    questions = tuple(dict.fromkeys(c.question for c in asked if not isinstance(c, FailureShare | PullsWithFailure)))
    shares = any(isinstance(c, FailureShare | PullsWithFailure) for c in asked)
    mine = cases
    if codes.size < len(cases.zones):
        wanted = np.zeros(len(cases.zones), dtype=np.bool_)
        wanted[codes] = True
        mine = cases.keep(wanted[cases.zone])
    parts = [evaluate(requirement, block, rounding=rounding) for block in cut(mine, questions, shares=shares)]
    there = np.bincount(mine.zone, minlength=len(cases.zones)) > 0
    empty = codes[~there[codes]]
    if empty.size or not parts:
        nothing = np.empty((empty.size, 0))
        bounds = dict.fromkeys(questions, nothing)
        parts.append(evaluate(requirement, Block(empty, 0, bounds, bounds), rounding=rounding))
    return Outcomes.joined(parts) if len(parts) > 1 else parts[0]
