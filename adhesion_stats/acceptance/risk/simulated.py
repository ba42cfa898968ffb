"""The risk of any rule by simulation: blocks of simulated zones, decided by ``evaluate`` as real ones are.

Every mean of a grid gets the same draws, scaled (common random numbers): curves are smooth, and two rules are compared
on the same zones.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.evaluate import evaluate
from adhesion_stats.acceptance.limits import record
from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.statistics.operating import ThreeWay
from adhesion_stats.statistics.strengths import Ratio
from adhesion_stats.terms.criteria import PULL_OFF, Requirement, criteria
from adhesion_stats.terms.specification import Rounding

__all__ = ["Draws", "decided", "simulated", "standard_error"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Draws:
    """Zones drawn once: normal scores of the strengths, and which pulls give less than their value; (s, n) each."""

    score: Values
    lot: Values

    @classmethod
    def of(cls, generator: np.random.Generator, *, zones: int, n: int) -> Draws:
        """Draw ``zones`` zones of n pulls."""
        return cls(generator.standard_normal((zones, n)), generator.random((zones, n)))

    def columns(self, places: slice | NDArray[np.intp]) -> Draws:
        """The pulls at these places of every zone."""
        return Draws(self.score[:, places], self.lot[:, places])


def decided(
    requirement: Requirement, draws: Draws, *, mean_mpa: float, cov: float, assumed: Assumed, rounding: Rounding
) -> NDArray[np.int8]:
    """(s,) ``Outcome`` of each drawn zone at one true mean [MPa]."""
    strength = mean_mpa * Ratio(assumed.distribution, cov).value_at(draws.score)
    if rounding.record_to is not None:
        strength = record(strength.ravel(), rounding.record_to, rounding.ties).reshape(strength.shape)
    low, high = _bounds(strength, draws.lot, assumed)
    questions = dict.fromkeys(getattr(c, "question", PULL_OFF) for c in criteria(requirement))
    group = np.arange(low.shape[0], dtype=np.int64)
    block = Block(group, low.shape[1], dict.fromkeys(questions, low), dict.fromkeys(questions, high))
    return evaluate(requirement, block, rounding=rounding).decision


def _bounds(strength: Values, lot: Values, assumed: Assumed) -> tuple[Values, Values]:
    """Bounds of every value, rows ascending by low, then high; the same array twice where all are known."""
    if assumed.all_known:
        both = np.sort(strength, axis=1)
        return both, both
    lost = lot < assumed.lost_share
    glue = ~lost & (lot < assumed.lost_share + assumed.glue_share)
    low = np.where(lost, 0.0, strength)
    high = np.where(lost, assumed.ceiling_mpa, np.where(glue, np.maximum(strength, assumed.ceiling_mpa), strength))
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
