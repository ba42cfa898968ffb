"""The risk of any rule by simulation: blocks of simulated zones, decided by ``evaluate`` as real ones are.

Every mean of a grid gets the same draws, scaled (common random numbers): curves are smooth, and two rules are compared
on the same zones.

Imports: numpy, floor 0, this room, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, Shares
from adhesion_stats.acceptance.conditions import Ranked, Spread
from adhesion_stats.acceptance.evaluate import evaluate
from adhesion_stats.acceptance.forms import condition
from adhesion_stats.acceptance.limits import record
from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.pulls import GLUE_CODES
from adhesion_stats.statistics.operating import ThreeWay
from adhesion_stats.statistics.strengths import Ratio
from adhesion_stats.terms.criteria import (
    PULL_OFF,
    Criterion,
    Requirement,
    StrengthCriterion,
    criteria,
    depends_on_failure,
    questions,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["Draws", "bounds_of", "decided", "decided_on", "simulated", "standard_error", "strengths_of"]

Values = NDArray[np.float64]

_NEXT_TO_NOTHING = 1e-6  # of the mean


@dataclass(frozen=True, eq=False)
class Draws:
    """Zones drawn once: normal scores of the strengths, and which pulls give less than their value; (s, n, m) each, m
    the pulls of one value.
    """

    score: Values
    lot: Values

    @classmethod
    def of(cls, generator: np.random.Generator, assumed: Assumed, *, zones: int, n: int) -> Draws:
        """Draw ``zones`` zones of n values."""
        m = assumed.per_measurement
        score = generator.standard_normal((zones, n, m))
        if assumed.between is not None and m > 1:
            shared = generator.standard_normal((zones, n, 1))
            score = math.sqrt(assumed.between) * shared + math.sqrt(1.0 - assumed.between) * score
        return cls(score, generator.random((zones, n, m)))

    def columns(self, places: slice | NDArray[np.intp]) -> Draws:
        """The values at these places of every zone."""
        return Draws(self.score[:, places], self.lot[:, places])

    def highest_first(self) -> Draws:
        """The same zones, each with its values from the highest to the lowest, as they would be without bounds."""
        ranked = np.argsort(-self.score.mean(axis=2), axis=1)[:, :, np.newaxis]
        return Draws(np.take_along_axis(self.score, ranked, axis=1), np.take_along_axis(self.lot, ranked, axis=1))


def decided(
    requirement: Requirement, draws: Draws, *, mean_mpa: float, cov: float, assumed: Assumed, rounding: Rounding
) -> NDArray[np.int8]:
    """(s,) ``Outcome`` of each drawn zone at one true mean [MPa]."""
    strength = strengths_of(requirement, draws, mean_mpa=mean_mpa, cov=cov, assumed=assumed, rounding=rounding)
    return decided_on(requirement, strength, draws, assumed=assumed, rounding=rounding, views={})


def strengths_of(
    requirement: Requirement, draws: Draws, *, mean_mpa: float, cov: float, assumed: Assumed, rounding: Rounding
) -> Values:
    """(s, n, m) strengths of the drawn pulls [MPa], recorded in steps where the contract asks for it."""
    strength = mean_mpa * Ratio(assumed.distribution, cov).value_at(draws.score)
    if rounding.record_to is not None:
        strength = record(strength.ravel(), rounding.record_to, rounding.ties).reshape(strength.shape)
    if any(_takes_positive(c, strength.shape[1], rounding) for c in criteria(requirement)):
        strength = np.maximum(strength, _NEXT_TO_NOTHING * mean_mpa)
    return strength


def decided_on(
    requirement: Requirement,
    strength: Values,
    draws: Draws,
    *,
    assumed: Assumed,
    rounding: Rounding,
    views: Mapping[str, tuple[Values, Values]],
) -> NDArray[np.int8]:
    """(s,) ``Outcome`` of drawn zones of these strengths (s, n, m).

    ``views``: bounds (s, n) of the values of questions that were made from them.
    """
    asked = list(criteria(requirement))
    low, high = {}, {}
    for question in questions(asked) or (PULL_OFF,):
        low[question], high[question] = views.get(question) or bounds_of(strength, draws, assumed, question)
    shares = _shares(draws, assumed, low, high) if any(depends_on_failure(c) for c in asked) else None
    group = np.arange(strength.shape[0], dtype=np.int64)
    for question, values in low.items():
        low[question], high[question] = _ascending(values, high[question])
    return evaluate(requirement, Block(group, strength.shape[1], low, high, shares), rounding=rounding).decision


def _takes_positive(criterion: Criterion, n: int, rounding: Rounding) -> bool:
    """Whether the criterion may take logarithms: a normal distribution then ends just above zero, as strengths do."""
    return isinstance(criterion, StrengthCriterion) and not isinstance(
        condition(criterion, n, rounding), Ranked | Spread
    )


def bounds_of(strength: Values, draws: Draws, assumed: Assumed, question: str) -> tuple[Values, Values]:
    """Bounds (s, n) of every value of a question, in the order of the draws; the same array twice where all are known.

    A measurement with a lost pull is not valid: it may have any value up to the ceiling.
    """
    elsewhere = assumed.elsewhere(question) > 0.0
    if assumed.all_known and not elsewhere:
        known = _mean(strength)
        return known, known
    lost, glue = _lost_and_glue(draws, assumed)
    at_least = glue | (_codes(draws, assumed) != question) if elsewhere else glue
    high = _mean(np.where(at_least, np.maximum(strength, assumed.ceiling_mpa), strength))
    any_lost = lost.any(axis=2)
    return np.where(any_lost, 0.0, _mean(strength)), np.where(any_lost, assumed.ceiling_mpa, high)


def _mean(pulls: Values) -> Values:
    """The values (s, n) that the pulls (s, n, m) make."""
    return np.asarray(pulls[:, :, 0] if pulls.shape[2] == 1 else pulls.mean(axis=2))


def _lost_and_glue(draws: Draws, assumed: Assumed) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    lost = draws.lot < assumed.lost_share
    return lost, ~lost & (draws.lot < assumed.lost_share + assumed.glue_share)


def _codes(draws: Draws, assumed: Assumed) -> NDArray[np.str_]:
    """The code in which each pull broke that gave its value; those that didn't have one too, of no consequence."""
    edges = np.cumsum([share for _, share in assumed.broke])
    first = assumed.lost_share + assumed.glue_share
    rest = (draws.lot - first) / max(1.0 - first, 1e-300)
    drawn = np.searchsorted(edges, rest, side="right").clip(0, len(assumed.broke) - 1)
    codes: NDArray[np.str_] = np.array([code for code, _ in assumed.broke])[drawn]
    return codes


def _shares(draws: Draws, assumed: Assumed, low: dict[str, Values], high: dict[str, Values]) -> Shares:
    """What broke in every value: a pull wholly in one code, a measurement in those of its pulls; nothing known of a
    lost one.
    """
    glue_code = GLUE_CODES[0]
    codes = tuple(dict.fromkeys((*(code for code, _ in assumed.broke), glue_code)))
    lost, glue = _lost_and_glue(draws, assumed)
    broke = np.where(glue, glue_code, _codes(draws, assumed))
    any_lost = lost.any(axis=2)
    known = np.stack([np.where(any_lost, 0.0, _mean(np.where(broke == code, 100.0, 0.0))) for code in codes], axis=-1)
    return Shares(codes, GLUE_CODES, known, np.where(any_lost, 100.0, 0.0), dict(low), dict(high))


def _ascending(low: Values, high: Values) -> tuple[Values, Values]:
    """Rows ascending by low, then high; the same array twice where they were."""
    if low is high:
        both = np.sort(low, axis=1)
        return both, both
    order = np.lexsort((high, low), axis=-1)
    return np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)


def simulated(
    requirement: Requirement, draws: Draws, *, mean_mpa: Values, cov: float, assumed: Assumed, rounding: Rounding
) -> ThreeWay:
    """Shares of the drawn zones by outcome, at each true mean (g,) [MPa]."""
    shares = np.empty((3, mean_mpa.size))
    for i, mean in enumerate(mean_mpa.tolist()):
        found = decided(requirement, draws, mean_mpa=mean, cov=cov, assumed=assumed, rounding=rounding)
        shares[:, i] = np.bincount(found, minlength=3) / found.size
    return ThreeWay(shares[Outcome.CONFORMS], shares[Outcome.DOES_NOT_CONFORM], shares[Outcome.UNDETERMINED])


def standard_error(probability: Values, simulations: int) -> Values:
    """Standard error of simulated probabilities; never 0, since no event seen is not an event that can't be."""
    share = (probability * simulations + 1.0) / (simulations + 2.0)
    return np.asarray(np.sqrt(share * (1.0 - share) / simulations))
