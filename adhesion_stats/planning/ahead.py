"""Between two pulls: which values of the next pull leave a zone able to conform, and which make it conform at once.

The next pull stands for one of the values that are not known yet (a pull not made, or the retest of a lost or doubtful
one); where the contract names no number it is one value more. Every value that can be recorded is tried: a grid of
multiples of the recording step, all in one evaluation, so the answer is exact on that grid for every kind of
requirement. A zone *can still conform* at a value when some completion of what then remains unknown conforms under some
way to read the contract; it *conforms at once* when every completion does under every way.

A strength criterion that asks for an interface or a layer takes the next pull as broken there; what broke otherwise
stays open for criteria on failure.

Imports: numpy, acceptance, terms. No words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance import Cases, Outcome, evaluate
from adhesion_stats.acceptance.block import cut
from adhesion_stats.terms.criteria import Limit, Requirement, criteria, depends_on_failure, limits, questions
from adhesion_stats.terms.specification import Rounding, Specification
from adhesion_stats.units import factor

__all__ = ["NextPull", "Run", "next_pull", "recording_grid"]

_REACH = 4  # the grid goes up to so many times the highest limit or value
_MOST = 20_000  # values of a grid
_BEYOND = 2**20  # multiples of the grid's end that stand for "without end"


@dataclass(frozen=True, slots=True)
class Run:
    """Values from ``low`` to ``high``, both included, in the unit of the grid; ``high`` None: without end."""

    low: Decimal
    high: Decimal | None


@dataclass(frozen=True, slots=True)
class NextPull:
    """What the next pull of a zone may be.

    Attributes
    ----------
    unit, step
        The grid on which values are recorded.
    step_from
        Where the step comes from: "contract" (recording step), "rounding" (record_to), "limit" (last place of a limit).
    can_still
        Runs of values with which the zone can still conform; empty: none.
    at_once
        Runs of values with which it conforms whatever the others give; empty: none.
    """

    unit: str
    step: Decimal
    step_from: str
    can_still: tuple[Run, ...]
    at_once: tuple[Run, ...]


def recording_grid(specification: Specification, requirement: Requirement) -> tuple[Decimal, str, str] | None:
    """Step, unit and origin of the grid on which strengths are recorded; None where no strength is asked for."""
    named = [limit for c in criteria(requirement) for limit in limits(c)]
    if not named:
        return None
    for step, origin in (
        (specification.pulls.recording_step, "contract"),
        (specification.rounding.record_to, "rounding"),
    ):
        if step is not None:
            return _decimal(step), step.unit, origin
    finest = max(named, key=lambda limit: (limit.unit == specification.unit, limit.places))
    return Decimal(1).scaleb(-finest.places), finest.unit, "limit"


def _decimal(step: Limit) -> Decimal:
    return Decimal(repr(step.value)).normalize()


def next_pull(specification: Specification, ways: Sequence[Cases], zone: str) -> NextPull | None:
    """Return what the next pull of ``zone`` may be.

    Parameters
    ----------
    specification
        The contract's terms.
    ways
        The cases under every way to settle what the contract leaves silent, the shown one first.
    zone
        Name of the zone.

    Returns
    -------
    NextPull or None
        None where nothing is asked of the zone's strengths.
    """
    requirement = specification.requirement_for(zone)
    grid = None if requirement is None else recording_grid(specification, requirement)
    if requirement is None or grid is None:
        return None
    step, unit, origin = grid
    one = factor(unit, "strength")
    mine = [cases.of(zone) for cases in ways]
    highest = max(
        [limit.mpa for c in criteria(requirement) for limit in limits(c)]
        + [float(low.max()) for cases in mine for low in cases.low.values() if low.size]
    )
    number = int(min(_MOST, np.ceil(_REACH * highest / one / float(step))))
    multiples = np.arange(number + 1, dtype=np.int64)

    def outcomes(tried: NDArray[np.int64]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        values = np.array([float(step * int(k)) for k in tried.tolist()]) * one
        found = np.stack([_decided(requirement, cases, values, specification.rounding) for cases in mine])
        return (found != Outcome.DOES_NOT_CONFORM).any(axis=0), (found == Outcome.CONFORMS).all(axis=0)

    can, at_once = outcomes(multiples)
    far = outcomes(np.array([number * _BEYOND], dtype=np.int64))

    def runs(good: NDArray[np.bool_], which: int) -> tuple[Run, ...]:
        edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(np.int8)))
        found: list[Run] = []
        for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            last: int | None = end - 1
            if last == number:
                last = None if bool(far[which][0]) else _last_good(number, which)
            found.append(Run(step * begin, None if last is None else step * last))
        return tuple(found)

    def _last_good(good: int, which: int) -> int:
        """The last multiple up to which it holds, beyond the grid: there it holds, then fails for good."""
        bad = number * _BEYOND
        while bad - good > 1:
            middle = (good + bad) // 2
            if bool(outcomes(np.array([middle], dtype=np.int64))[which][0]):
                good = middle
            else:
                bad = middle
        return good

    return NextPull(unit, step, origin, runs(can, 0), runs(at_once, 1))


def _decided(
    requirement: Requirement, mine: Cases, values: NDArray[np.float64], rounding: Rounding
) -> NDArray[np.int8]:
    """Outcome (g,) of one zone with its next pull at each of ``values`` (g,) [MPa]."""
    g, m = len(values), len(mine)
    open_ = np.flatnonzero(mine.pull < 0)
    stays = np.delete(np.arange(m), open_[:1])  # the next pull takes the place of one value that is not known
    low = {q: np.concatenate([np.tile(v[stays], g), values]) for q, v in mine.low.items()}
    high = {q: np.concatenate([np.tile(v[stays], g), values]) for q, v in mine.high.items()}
    one = np.arange(g, dtype=np.int64)
    many = Cases(
        zones=tuple(str(i) for i in range(g)),
        zone=np.concatenate([np.repeat(one, len(stays)), one]),
        pull=np.concatenate([np.tile(mine.pull[stays], g), np.full(g, -1, dtype=np.int64)]),
        low=low,
        high=high,
        codes=mine.codes,
        glue=mine.glue,
        known=np.concatenate([np.tile(mine.known[stays], (g, 1)), np.zeros((g, len(mine.codes)))]),
        unrecorded=np.concatenate([np.tile(mine.unrecorded[stays], g), np.full(g, 100.0)]),
        depth_low=np.concatenate([np.tile(mine.depth_low[stays], g), np.zeros(g)]),
        depth_high=np.concatenate([np.tile(mine.depth_high[stays], g), np.full(g, np.inf)]),
        flagged=np.zeros(g * (len(stays) + 1), dtype=np.bool_),
    )
    asked = list(criteria(requirement))
    shares = any(depends_on_failure(c) for c in asked)
    found = np.empty(g, dtype=np.int8)
    for block in cut(many, questions(asked), shares=shares):
        table = evaluate(requirement, block, rounding=rounding)
        found[table.group] = table.decision
    return found
