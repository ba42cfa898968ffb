"""The probability of conformity beside each criterion of a zone, asked or not, and what the value would have to reach.

Imports: this room, terms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.block import Block, cut
from adhesion_stats.acceptance.by_failure import decided_by_failure
from adhesion_stats.acceptance.collect import Cases
from adhesion_stats.acceptance.conditions import Likely, Unformed
from adhesion_stats.acceptance.ends import ValuesOf, ends_of
from adhesion_stats.acceptance.forms import condition
from adhesion_stats.acceptance.likely import acceptance_limit, doubt_of, probability_ends, uncertainty_of_value
from adhesion_stats.acceptance.membership import with_views
from adhesion_stats.acceptance.outcomes import CriterionOutcome, Outcome, ZoneDecision
from adhesion_stats.terms.criteria import (
    AreaCriterion,
    EachPullAtLeast,
    OfStrengths,
    Uncertain,
    depends_on_failure,
    questions,
    view,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["ConformityFound", "conformity_of_zone"]

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ConformityFound:
    """What is known of one criterion in view of the uncertainty of measurement.

    Attributes
    ----------
    asked
        The probability asked for; None: the decision is by the measured value alone.
    low, high
        Least and greatest probability of conformity over all completions [-]; None where it is not computed.
    uncertainty
        Standard uncertainty of the criterion's value [MPa]; None where it is not known exactly, or not normal.
    needed
        What the value has to reach for the probability asked, in the limit's unit; None where none is asked or no
        number can be named.
    common_only
        Whether the errors common to all pulls act alone, since the scatter holds the others already.
    """

    asked: float | None
    low: float | None
    high: float | None
    uncertainty: float | None
    needed: float | None
    common_only: bool


_NOTHING = ConformityFound(None, None, None, None, None, common_only=False)


def conformity_of_zone(decision: ZoneDecision, mine: Cases, uncertain: Uncertain) -> tuple[ConformityFound, ...]:
    """One entry for each criterion of a zone, in their order; ``mine``: the values of the zone."""
    asked = [found.criterion for found in decision.criteria]
    block = next(iter(cut(mine, questions(asked), shares=any(depends_on_failure(c) for c in asked))), None)
    if block is None:
        return tuple(_NOTHING for _ in asked)
    block = with_views(block, asked)
    return tuple(_found(found, block, uncertain) for found in decision.criteria)


def _found(found: CriterionOutcome, block: Block, uncertain: Uncertain) -> ConformityFound:
    criterion = found.criterion
    if isinstance(criterion, AreaCriterion | EachPullAtLeast) or decided_by_failure(criterion):
        return _NOTHING
    measured = replace(criterion, conformity=None) if isinstance(criterion, OfStrengths) else criterion
    asks = condition(measured, block.n, Rounding())
    if isinstance(asks, Unformed):
        return _NOTHING
    low, high = block.low[view(criterion)], block.high[view(criterion)]
    ends, unit = ends_of(asks, ValuesOf(low, high)), asks.limit.unit_mpa
    doubt = doubt_of(criterion, uncertain, asks)
    sure = found.sure
    if sure is None and (ends.stuck is None or not ends.stuck[0]):
        between = probability_ends(asks, doubt, low, high, (ends.least * unit, ends.most * unit))
        sure = None if between is None else (float(between[0][0]), float(between[1][0]))
    exact = not bool((high > low).any())
    return ConformityFound(
        asked=criterion.conformity.at_least if isinstance(criterion, OfStrengths) and criterion.conformity else None,
        low=None if sure is None else sure[0],
        high=None if sure is None else sure[1],
        uncertainty=uncertainty_of_value(asks, doubt, low[0], float(ends.least[0]) * unit) if exact else None,
        needed=_needed(found, block.n, low[0], np.sort(high[0])),
        common_only=doubt.errors.common_only and uncertain.has_independent,
    )


def _needed(found: CriterionOutcome, n: int, low: Values, high: Values) -> float | None:
    """What the value has to reach; of a probability of all values together at the end that decides."""
    criterion = found.criterion
    if not isinstance(criterion, OfStrengths) or criterion.conformity is None or found.sure is None:
        return None
    asks = condition(criterion, n, Rounding())
    if not isinstance(asks, Likely):
        return found.needed
    fails = found.outcome == Outcome.DOES_NOT_CONFORM
    row, value = (high, found.high) if fails else (low, found.low)
    return acceptance_limit(asks, row, value) if math.isfinite(value) else None
