"""The ways to read a contract where it is silent: which ``Settled`` have to be decided.

A rule that the contract states has one value in all of them. A silent rule is varied over every value that makes a
difference for the pulls at hand: a threshold share matters only where it separates recorded shares.
"""

from __future__ import annotations

from itertools import product
from typing import Literal

import numpy as np

from adhesion_stats.pulls import Pulls
from adhesion_stats.terms.criteria import PULL_OFF, criteria, questions
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Specification

__all__ = ["NEVER", "SAME_SHARE", "settlements", "silent_rules"]

NEVER = 101.0  # a threshold above every share [%]
SAME_SHARE = 1e-7  # shares [%] this close are one: those of several codes are added up in floats
USUAL_SHARE = 50.0  # which reading is shown first, where the contract is silent; it decides nothing


def _shares(pulls: Pulls, codes: tuple[str, ...]) -> list[float]:
    """The distinct shares above 0 of ``codes`` among the pulls [%], ascending."""
    share = pulls.share(codes)
    return [float(s) for s in np.unique(share[share > 0])]


def _shown_first(thresholds: list[float]) -> list[float]:
    """The thresholds with the one nearest above the usual share first."""
    first = next((t for t in thresholds if t >= USUAL_SHARE), thresholds[-1])
    return [first, *(t for t in thresholds if t != first)]


def _questions(specification: Specification) -> tuple[str, ...]:
    asked = questions(criterion for rule in specification.rules for criterion in criteria(rule.requirement))
    return tuple(question for question in asked if question != PULL_OFF)


def silent_rules(specification: Specification, pulls: Pulls) -> tuple[str, ...]:
    """Name the rules on which the contract is silent and which the pulls make matter.

    Any of "glue_from", "glue_then", "lost", "broke_there_from".
    """
    silent: list[str] = []
    glue = _shares(pulls, specification.glue.codes)
    if glue and specification.glue.from_percent is None and glue != [100.0]:
        silent.append("glue_from")
    start = specification.glue.from_percent
    if glue and specification.glue.then is None and (start is None or glue[-1] >= start - SAME_SHARE):
        silent.append("glue_then")
    if specification.pulls.lost is None and bool(pulls.lost.any()):
        silent.append("lost")
    asked = _questions(specification)
    if specification.broke_there_from_percent is None and any(
        share < 100 for code in asked for share in _shares(pulls, (code,))
    ):
        silent.append("broke_there_from")
    return tuple(silent)


def settlements(specification: Specification, pulls: Pulls) -> tuple[Settled, ...]:
    """Return every way to settle the silent rules; the first is the one whose numbers a report shows.

    The threshold from which a pull "broke there" needs its two ends only: a higher threshold turns exact values into
    lower bounds and never the other way, so what lies between is covered by the upper end.
    """
    silent = silent_rules(specification, pulls)
    glue = _shares(pulls, specification.glue.codes)
    if specification.glue.from_percent is not None:
        starts = [specification.glue.from_percent]
    elif "glue_from" in silent:
        starts = _shown_first(glue if 100.0 in glue else [*glue, NEVER])
    else:
        starts = [100.0]
    thens: list[Literal["at least", "discard"]] = ["discard", "at least"]
    if specification.glue.then is not None:
        thens = [specification.glue.then]
    elif "glue_then" not in silent:
        thens = ["discard"]
    losts: list[Literal["unknown", "left out"]] = ["unknown", "left out"]
    if specification.pulls.lost is not None:
        losts = [specification.pulls.lost]
    elif "lost" not in silent:
        losts = ["unknown"]
    if specification.broke_there_from_percent is not None:
        theres = [specification.broke_there_from_percent]
    elif "broke_there_from" in silent:
        shares = [s for code in _questions(specification) for s in _shares(pulls, (code,))]
        theres = [100.0, min(shares)]
    else:
        theres = [100.0]
    return tuple(
        Settled(start, then, there, lost) for start, then, there, lost in product(starts, thens, theres, losts)
    )
