"""Zones of equal size side by side: what ``evaluate`` takes, and how cases are cut into it.

Imports: numpy and this floor or below.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.statistics.blocks import Stack, blocks, stacks
from adhesion_stats.terms.criteria import PULL_OFF

__all__ = ["Block", "Shares", "cut"]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Shares:
    """What broke in the g zones of a block: ``known`` (g, n, c), ``unrecorded`` (g, n) [% of area].

    ``codes`` name the columns, ``glue`` the adhesive codes. ``low``, ``high`` {question: (g, n)} [MPa] bound the
    values and ``depths`` (g, n) each those of the depth of the break [mm] (None: nothing is known of it), in the
    same order as the shares. Which order that is is of no consequence.
    """

    codes: tuple[str, ...]
    glue: tuple[str, ...]
    known: Values
    unrecorded: Values
    low: Mapping[str, Values] = field(default_factory=dict)
    high: Mapping[str, Values] = field(default_factory=dict)
    depths: tuple[Values, Values] | None = None

    def depth(self) -> tuple[Values, Values]:
        """Least and greatest depth of the break [mm]."""
        if self.depths is not None:
            return self.depths
        return np.zeros(self.unrecorded.shape), np.full(self.unrecorded.shape, np.inf)


@dataclass(frozen=True, eq=False)
class Block:
    """g zones of n values each.

    Attributes
    ----------
    group : (g,) int64
        Zone codes, ascending.
    n
        Values per zone.
    low, high : {question: (g, n)} [MPa]
        Bounds of the values, each row ascending by low, then high; the same array twice where all are exact.
    shares
        Failure shares, where a criterion asks for them.
    """

    group: Codes
    n: int
    low: Mapping[str, Values]
    high: Mapping[str, Values]
    shares: Shares | None = None

    @property
    def g(self) -> int:
        """Number of zones."""
        return int(self.group.size)

    @classmethod
    def of(cls, stack: Stack, question: str = PULL_OFF) -> Block:
        """A stack as a block whose values answer one question."""
        return cls(stack.group, stack.n, {question: stack.low}, {question: stack.high})


def cut(cases: Cases, questions: Sequence[str], *, shares: bool) -> Iterator[Block]:
    """Cut cases into blocks of equal n (and equal number of unknown values, where one question is asked).

    Zones without values give no row.
    """
    by_question = {q: stacks(cases.zone, cases.low[q], cases.high[q]) for q in questions}
    if len(questions) == 1 and not shares:
        for stack in by_question[questions[0]]:
            yield Block.of(stack, questions[0])
        return
    for n, group, order in blocks(cases.zone, np.arange(len(cases), dtype=np.float64)):
        rows = order.astype(np.int64)
        yield Block(
            group,
            n,
            *_gathered(by_question, group, n),
            _shares(cases, questions, rows) if shares else None,
        )


def _shares(cases: Cases, questions: Sequence[str], rows: Codes) -> Shares:
    return Shares(
        cases.codes,
        cases.glue,
        cases.known[rows],
        cases.unrecorded[rows],
        {question: cases.low[question][rows] for question in questions},
        {question: cases.high[question][rows] for question in questions},
        (cases.depth_low[rows], cases.depth_high[rows]),
    )


def _gathered(
    by_question: Mapping[str, list[Stack]], group: Codes, n: int
) -> tuple[dict[str, Values], dict[str, Values]]:
    """Bounds of the zones ``group``, all of size n, from the stacks of each question."""
    lows, highs = {}, {}
    for question, found in by_question.items():
        low, high = np.empty((group.size, n)), np.empty((group.size, n))
        for stack in found:
            if stack.n == n:
                rows = np.searchsorted(group, stack.group)
                low[rows], high[rows] = stack.low, stack.high
        lows[question] = low
        highs[question] = low if np.array_equal(low, high) else high
    return lows, highs
