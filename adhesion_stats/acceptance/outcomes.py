"""Decisions as columns: what each criterion came to in each zone, and what the zone came to.

``Outcomes``   zones that share one requirement: arrays zone x criterion
``Decisions``  all zones of a contract, each found by its name

Imports: numpy, terms.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.terms.criteria import Criterion, Requirement

__all__ = ["CriterionOutcome", "Decisions", "Outcome", "Outcomes", "Reason", "ZoneDecision"]

Values = NDArray[np.float64]
Small = NDArray[np.int8]
Codes = NDArray[np.int64]
Truth = NDArray[np.bool_]


class Outcome(IntEnum):
    """What is decided."""

    CONFORMS = 0
    DOES_NOT_CONFORM = 1
    UNDETERMINED = 2

    @property
    def words(self) -> str:
        """The outcome as it is written in records and reports."""
        return ("conforms", "does not conform", "undetermined")[self]


class Reason(IntEnum):
    """Why an outcome is what it is."""

    MET = 0  # every completion meets
    NOT_MET = 1  # none does
    OPEN = 2  # the unknown values decide
    CHOICE = 3  # more values than planned: the choice among them decides
    NO_VALUES = 4  # no value at all, none required
    TOO_FEW = 5  # a standard deviation needs two values
    NOT_TOGETHER = 6  # each way to meet has a criterion that rules out another one
    NOT_RESOLVED = 7  # too many corners to prove either, or no exact joint answer
    NEEDS_MORE = 8  # the method needs more values than there are
    NO_FACTOR = 9  # the contract's table of factors lacks this number of values
    TOO_FEW_VALID = 11  # fewer values count than the contract asks for at least
    NOT_FORMED = 10  # the method finds no value from these: all equal, or a value of 0


@dataclass(frozen=True, eq=False)
class Outcomes:
    """Zones that share a requirement: g zones, c criteria.

    Attributes
    ----------
    requirement, criteria
        What is asked, and its criteria in the order in which they are written.
    group : (g,) int64
        Zone codes, ascending.
    n : (g,) int64
        Values per zone, the unknown ones included.
    unknown : (g,) int64
        Values per zone that are known within bounds only (the question with most of them).
    limit : (c,), unit
        Limits as numbers in their units ("%" for shares).
    low, high : (g, c)
        Least and greatest value over all completions, in the limit's unit; may be infinite, never nan.
    outcome, reason : (g, c) int8
        ``Outcome`` and ``Reason`` of each criterion alone.
    at_limit : (g, c) bool
        The least or greatest value lies on the limit.
    needed : (g, c)
        What the value has to reach, in the limit's unit: the limit, or above it by the guard band where a probability
        of conformity is asked that depends on the value alone.
    sure_low, sure_high : (g, c)
        Least and greatest probability of conformity over all completions [-]; nan where none is asked.
    reached, could : (g, c) int64
        z of n: how many values certainly, and possibly, reach the limit; 0 for other kinds.
    decision, why : (g,) int8
        ``Outcome`` and ``Reason`` of the whole requirement.
    binding : (g,) int64
        The criterion that decides: the one with the smallest value / limit (limit / value for an upper limit), taken at
        the greatest value for a zone that does not conform (criteria that fail go first), at the least value
        otherwise (undetermined:
        criteria that are undetermined go first). Of several ways (any of) the one that comes closest.
    """

    requirement: Requirement
    criteria: tuple[Criterion, ...]
    group: Codes
    n: Codes
    unknown: Codes
    limit: Values
    unit: tuple[str, ...]
    at_most: Truth
    low: Values
    high: Values
    outcome: Small
    reason: Small
    at_limit: Truth
    needed: Values
    sure_low: Values
    sure_high: Values
    reached: Codes
    could: Codes
    decision: Small
    why: Small
    binding: Codes

    def __len__(self) -> int:
        return int(self.group.size)

    @property
    def value(self) -> Values:
        """(g, c) the end that decides [limit's unit]: the worse one, for a criterion that fails the better one."""
        best = np.where(self.at_most, self.low, self.high)
        worst = np.where(self.at_most, self.high, self.low)
        return np.where(self.outcome == Outcome.DOES_NOT_CONFORM, best, worst)

    @functools.cached_property
    def margin(self) -> Values:
        """(g,) value - what it has to reach (``needed``) of the binding criterion, in its unit (the other way
        round for an upper limit); may be infinite.
        """
        rows = np.arange(len(self))
        away = self.value[rows, self.binding] - self.needed[rows, self.binding]
        return np.where(self.at_most[self.binding], -away, away)

    @classmethod
    def joined(cls, parts: Sequence[Outcomes]) -> Outcomes:
        """Several tables of the same requirement as one, by ascending zone code."""
        first = parts[0]
        order = np.argsort(np.concatenate([p.group for p in parts]), kind="stable")
        columns = (
            "group",
            "n",
            "unknown",
            "low",
            "high",
            "outcome",
            "reason",
            "at_limit",
            "needed",
            "sure_low",
            "sure_high",
            "reached",
            "could",
            "decision",
            "why",
            "binding",
        )
        merged = {name: np.concatenate([getattr(p, name) for p in parts])[order] for name in columns}
        return cls(
            requirement=first.requirement, criteria=first.criteria, limit=first.limit, unit=first.unit,
            at_most=first.at_most, **merged,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class CriterionOutcome:
    """One criterion in one zone; values in the limit's unit.

    ``needed``: what the value has to reach (see ``Outcomes``). ``sure``: least and greatest probability of conformity;
    None where none is asked.
    """

    criterion: Criterion
    limit: float
    unit: str
    at_most: bool
    low: float
    high: float
    outcome: Outcome
    reason: Reason
    at_limit: bool
    needed: float
    reached: int = 0
    could: int = 0
    sure: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class ZoneDecision:
    """One zone; ``binding`` is a place in ``criteria``, ``margin`` is in that criterion's unit."""

    zone: str
    n: int
    unknown: int
    outcome: Outcome
    reason: Reason
    criteria: tuple[CriterionOutcome, ...]
    binding: int
    margin: float
    requirement: Requirement
    held_back: tuple[int, int] | None = None


@dataclass(frozen=True, eq=False)
class Decisions:
    """The decisions of a contract.

    Attributes
    ----------
    zones
        All zones, in the order given.
    tables
        One ``Outcomes`` per requirement; their zone codes are indices into ``zones``.
    outcome : (z,) int8
        ``Outcome`` per zone; -1 where nothing is asked of a zone.
    held_back
        Zone code -> (values that count, least number of them): zones of which too few count for a decision.
    """

    zones: tuple[str, ...]
    tables: tuple[Outcomes, ...]
    outcome: Small
    held_back: Mapping[int, tuple[int, int]] = field(default_factory=dict)

    @property
    def not_asked(self) -> tuple[str, ...]:
        """Zones for which the specification asks nothing."""
        return tuple(self.zones[i] for i in np.flatnonzero(self.outcome < 0).tolist())

    @property
    def contract(self) -> Outcome | None:
        """Does not conform if a zone does not; else undetermined if a zone is; else conforms. None: no zone is
        asked anything.
        """
        asked = self.outcome[self.outcome >= 0]
        if not asked.size:
            return None
        if (asked == Outcome.DOES_NOT_CONFORM).any():
            return Outcome.DOES_NOT_CONFORM
        return Outcome.UNDETERMINED if (asked == Outcome.UNDETERMINED).any() else Outcome.CONFORMS

    @functools.cached_property
    def code(self) -> Mapping[str, int]:
        """Index of each zone, by its name."""
        return {zone: code for code, zone in enumerate(self.zones)}

    def find(self, zone: str) -> tuple[Outcomes, int]:
        """Table and row of a zone. Raises ``KeyError`` for a zone of which nothing is asked, or that is not there."""
        code = self.code.get(zone, -1)
        for table in self.tables:
            row = int(np.searchsorted(table.group, code))
            if row < len(table) and int(table.group[row]) == code:
                return table, row
        raise KeyError(zone)

    def __getitem__(self, zone: str) -> ZoneDecision:
        table, i = self.find(zone)
        return ZoneDecision(
            zone=zone,
            n=int(table.n[i]),
            unknown=int(table.unknown[i]),
            outcome=Outcome(int(table.decision[i])),
            reason=Reason(int(table.why[i])),
            criteria=tuple(
                CriterionOutcome(
                    criterion=criterion,
                    limit=float(table.limit[c]),
                    unit=table.unit[c],
                    at_most=bool(table.at_most[c]),
                    low=float(table.low[i, c]),
                    high=float(table.high[i, c]),
                    outcome=Outcome(int(table.outcome[i, c])),
                    reason=Reason(int(table.reason[i, c])),
                    at_limit=bool(table.at_limit[i, c]),
                    needed=float(table.needed[i, c]),
                    sure=None
                    if np.isnan(table.sure_low[i, c])
                    else (float(table.sure_low[i, c]), float(table.sure_high[i, c])),
                    reached=int(table.reached[i, c]),
                    could=int(table.could[i, c]),
                )
                for c, criterion in enumerate(table.criteria)
            ),
            held_back=self.held_back.get(int(table.group[i])),
            binding=int(table.binding[i]),
            margin=float(table.margin[i]),
            requirement=table.requirement,
        )

    def __iter__(self) -> Iterator[ZoneDecision]:
        """The decisions in the order of ``zones``, without zones of which nothing is asked."""
        for zone, outcome in zip(self.zones, self.outcome.tolist(), strict=True):
            if outcome >= 0:
                yield self[zone]
