"""From the answers about each criterion and about the whole requirement to a table of outcomes; which criterion binds.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.alone import Alone
from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.conditions import Likely, Ranked, Trouble, Unformed
from adhesion_stats.acceptance.outcomes import Outcome, Outcomes, Reason
from adhesion_stats.terms.criteria import AllOf, AnyOf, Criterion, OfStrengths, Requirement

__all__ = ["table_of"]

Values = NDArray[np.float64]
Truth = NDArray[np.bool_]
_TROUBLE = {
    Trouble.NO_VALUES: Reason.NO_VALUES,
    Trouble.ONE_VALUE: Reason.TOO_FEW,
    Trouble.TOO_FEW: Reason.NEEDS_MORE,
    Trouble.NO_FACTOR: Reason.NO_FACTOR,
}
_FIRST = 1e9  # puts criteria that decide ahead of the others, whatever their value / limit


def table_of(
    requirement: Requirement,
    asked: tuple[Criterion, ...],
    alone: Sequence[Alone],
    block: Block,
    decision: NDArray[np.int8],
    why: NDArray[np.int8],
) -> Outcomes:
    """Return the table of a block: each criterion's outcome alone, the whole requirement's, the binding criterion."""
    unknown = np.zeros(block.g, dtype=np.int64)
    for question, low in block.low.items():
        if low is not block.high[question]:
            unknown = np.maximum(unknown, (block.high[question] > low).sum(axis=1))
    outcome, reason = np.empty((block.g, len(alone)), np.int8), np.empty((block.g, len(alone)), np.int8)
    for c, one in enumerate(alone):
        outcome[:, c], reason[:, c] = _criterion_outcome(one, block)
    limits = [criterion.asked for criterion in asked]
    nowhere = np.full(block.g, np.nan)
    sure = [(nowhere, nowhere) if one.probability is None else one.probability for one in alone]
    table = Outcomes(
        requirement=requirement,
        criteria=asked,
        group=block.group,
        n=np.full(block.g, block.n, dtype=np.int64),
        unknown=unknown,
        limit=np.array([a.limit for a in limits], dtype=np.float64),
        unit=tuple(a.unit for a in limits),
        at_most=np.array([a.at_most for a in limits], dtype=np.bool_),
        low=np.stack([one.low for one in alone], axis=1),
        high=np.stack([one.high for one in alone], axis=1),
        outcome=outcome,
        reason=reason,
        at_limit=np.stack([one.at_limit for one in alone], axis=1),
        needed=np.broadcast_to([_needed(c, one) for c, one in zip(asked, alone, strict=True)], outcome.shape).copy(),
        sure_low=np.stack([low for low, _ in sure], axis=1),
        sure_high=np.stack([high for _, high in sure], axis=1),
        reached=np.stack([one.counts[0] for one in alone], axis=1),
        could=np.stack([one.counts[1] for one in alone], axis=1),
        decision=decision,
        why=_with_trouble(why, alone),
        binding=np.zeros(block.g, dtype=np.int64),
    )
    table.binding[:] = _binding(requirement, table)
    return table


def _needed(criterion: Criterion, one: Alone) -> float:
    """What the criterion's value has to reach: the limit, or the acceptance limit of a probability asked."""
    if (
        not isinstance(criterion, OfStrengths)
        or criterion.conformity is None
        or isinstance(one.asks, Unformed | Likely)
    ):
        return criterion.asked.limit
    return one.asks.limit.at


def _criterion_outcome(one: Alone, block: Block) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    can_meet, can_fail = one.possible
    outcome = np.where(~can_fail, Outcome.CONFORMS, np.where(can_meet, Outcome.UNDETERMINED, Outcome.DOES_NOT_CONFORM))
    either: Reason | NDArray[np.int64] = Reason.OPEN
    if isinstance(one.asks, Unformed):
        either = _TROUBLE[one.asks.trouble]
    elif one.stuck is not None:
        either = np.where(one.stuck, Reason.NOT_FORMED, Reason.OPEN)
    elif isinstance(ranked := _measured(one), Ranked) and ranked.worst > ranked.best:
        assert one.question is not None
        exact = np.equal(block.low[one.question], block.high[one.question]).all(axis=1)
        either = np.where(exact & (ranked.best >= 1), Reason.CHOICE, Reason.OPEN)
    if one.nothing is not None:
        either = np.where(one.nothing, Reason.NO_VALUES, Reason.OPEN)
    sure = one.certain[0] & one.certain[1] | (False if one.stuck is None else one.stuck)
    open_reason = np.where(sure, either, Reason.NOT_RESOLVED)
    reason = np.where(~can_fail, Reason.MET, np.where(can_meet, open_reason, Reason.NOT_MET))
    return outcome.astype(np.int8), reason.astype(np.int8)


def _measured(one: Alone) -> object:
    """The condition on the measured values."""
    return one.asks.measured if isinstance(one.asks, Likely) else one.asks


def _with_trouble(why: NDArray[np.int8], alone: Sequence[Alone]) -> NDArray[np.int8]:
    """A zone that stays open because a value can't be formed says so."""
    still = (why == Reason.OPEN) | (why == Reason.NOT_RESOLVED)
    for one in alone:
        if one.nothing is not None:
            why = np.where((why == Reason.OPEN) & one.nothing, Reason.NO_VALUES, why).astype(np.int8)
        if one.stuck is not None:
            why = np.where(still & one.stuck, Reason.NOT_FORMED, why).astype(np.int8)
    troubles = [one.asks.trouble for one in alone if isinstance(one.asks, Unformed)]
    if not troubles:
        return why
    return np.where(why == Reason.OPEN, _TROUBLE[min(troubles)], why).astype(np.int8)


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
    limit = table.needed[:, c]
    if table.at_most[c]:
        value = np.where(failing, table.low[:, c], table.high[:, c])
        return np.where(value > 0, limit / np.where(value > 0, value, 1.0), np.inf)
    value = np.where(failing, table.high[:, c], table.low[:, c])
    ratio: Values = np.divide(value, limit, out=np.full(len(table), np.inf), where=limit > 0)
    return ratio
