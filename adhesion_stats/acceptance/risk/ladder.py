r"""A retest ladder: what a zone comes to over all its rounds, where nothing is mended between them.

Each round is decided by its own pulls. Where it comes to what the step after it is for, that step is due: another
round, or the designer. The rounds are independent, so the whole ladder is a chain: with :math:`d_r` the probability
that the step after round r is due,

.. math::  P(\text{conforms}) = c_1 + d_1 (c_2 + d_2 (c_3 + \dots)), \quad
           P(\text{referred}) = d_1 d_2 \dots d_r \text{ for a step } r \text{ that asks the designer}

It is exact where every round is computed exactly; else the standard errors of the rounds add up, since rounds of one
rule are drawn once.

Imports: numpy, this room, terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.risk.assumed import limits_mpa
from adhesion_stats.acceptance.risk.characteristic import Rule, mean_where
from adhesion_stats.acceptance.risk.simulated import standard_error
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.operating import ThreeWay
from adhesion_stats.terms.stages import LadderStep

__all__ = ["Climbed", "Ladder", "climbed", "ladder_of"]

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Climbed:
    """What a zone comes to over the whole ladder, at each true mean (g,) [-]; the first four sum to 1.

    Attributes
    ----------
    conforms, does_not_conform, undetermined
        Where a round's outcome stands and no step is due.
    referred
        That the designer decides.
    by_round : (r, g)
        Conforms in this round.
    reached : (r, g)
        That this round is made.
    standard_error : (g,)
        Bound of the standard error of the first four; 0 where all rounds are exact.
    """

    conforms: Values
    does_not_conform: Values
    undetermined: Values
    referred: Values
    by_round: Values
    reached: Values
    standard_error: Values


def climbed(rounds: Sequence[ThreeWay], steps: Sequence[LadderStep], errors: Sequence[Values]) -> Climbed:
    """Return what comes of rounds with these outcomes under these steps.

    Parameters
    ----------
    rounds
        Outcomes of each round alone, (g,) each; one more than the steps that ask for another round.
    steps
        The steps of the ladder, in order.
    errors
        Standard error of each round, (g,) each.
    """
    reach = np.ones_like(rounds[0].conforms)
    fails, open_, referred = np.zeros_like(reach), np.zeros_like(reach), np.zeros_like(reach)
    by_round, reached = [], []
    for number, found in enumerate(rounds):
        reached.append(reach)
        by_round.append(reach * found.conforms)
        step = steps[number] if number < len(steps) else None
        due_on_failure = step is not None and step.on == "does not conform"
        due_when_open = step is not None and step.on == "undetermined"
        fails = fails + (0.0 if due_on_failure else reach * found.does_not_conform)
        open_ = open_ + (0.0 if due_when_open else reach * found.undetermined)
        if step is None:
            break
        due = reach * (found.does_not_conform if due_on_failure else found.undetermined)
        if step.do == "refer to the designer":
            referred = due
            break
        reach = due
    error = np.minimum(np.sum([*errors], axis=0), 0.5)
    return Climbed(np.sum(by_round, axis=0), fails, open_, referred, np.stack(by_round), np.stack(reached), error)


@dataclass(frozen=True, eq=False)
class Ladder:
    """The rules of the rounds of a zone, and the steps between them."""

    rounds: tuple[Rule, ...]
    steps: tuple[LadderStep, ...]

    @property
    def exact(self) -> bool:
        """Whether no round is simulated."""
        return not any(rule.simulations for rule in self.rounds)

    def at(self, mean_mpa: Values, cov: float) -> Climbed:
        """Return what a zone comes to at each true mean (g,) [MPa], the same in every round."""
        known: dict[int, ThreeWay] = {}  # rounds of as many pulls are one rule
        outcomes = [known.setdefault(id(rule), rule.at(mean_mpa, cov)) for rule in self.rounds]
        errors = [
            np.max([standard_error(p, rule.simulations) for p in (o.conforms, o.does_not_conform)], axis=0)
            if rule.simulations
            else np.zeros_like(o.conforms)
            for rule, o in zip(self.rounds, outcomes, strict=True)
        ]
        return climbed(outcomes, self.steps, errors)

    def pulls(self, found: Climbed) -> Values:
        """Return how many pulls are made on average, (g,)."""
        numbers = np.array([rule.pulls for rule in self.rounds[: found.reached.shape[0]]], dtype=np.float64)
        return np.asarray(numbers @ found.reached)

    def mean_where_accepted(self, probabilities: Sequence[float], cov: float) -> Values:
        """Return the true means [MPa] at which the ladder ends in "conforms" with these probabilities, ``nan`` for
        none.
        """
        return mean_where(
            lambda mean: self.at(mean, cov).conforms, probabilities, limits_mpa(self.rounds[0].requirement),
            coarse=not self.exact,
        )  # fmt: skip


def ladder_of(rounds: Sequence[Rule], steps: Sequence[LadderStep]) -> Ladder:
    """Return the ladder of these rounds.

    Raises
    ------
    WrongUsage
        If there is no step, the rounds are not one more than the steps that ask for another one, or a spread is pooled.
    """
    repeats = sum(step.do == "revise and repeat" for step in steps)
    if not steps or len(rounds) != repeats + 1:
        raise WrongUsage(f"expected {repeats + 1} rounds for {len(steps)} steps of a ladder; got {len(rounds)}")
    if any(rule.pool is not None for rule in rounds):
        raise WrongUsage("the spread of this rule is pooled over zones: the rounds of one of them are not independent")
    return Ladder(tuple(rounds), tuple(steps))
