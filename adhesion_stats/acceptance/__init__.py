"""The decision room: is what the contract asks met, not met, or not decidable from what is known?

``cases``       every value that the decisions are about, with its bounds
``evaluate``    one requirement on zones of equal size; ``decide``: a specification on all zones
``needs``       what the unknown values would have to be where a zone is undetermined
``hangs_on``    on which pull, flags or way of rounding a decision hangs
``pulls_asked`` how many pulls each rule asks of a zone; ``binding``: the rule with most
``conformity_of_zone``  the probability that true values conform, in view of the uncertainty of measurement
``risk_figures``  how often a good and a bad zone conform with so many pulls
``whatever_the_values``  what n values can come to at all: criteria that they can't meet, or can't fail
``criterion_reason``, ``zone_reason``   each outcome as a message with facts
``risk``        the risk of a rule before the first pull: operating characteristics (a package of its own)

How it is done: ``limits`` (comparison), ``conditions`` (what each kind asks), ``reach`` and ``completions``
(unknown strengths), ``composition`` (unknown areas), ``alone`` (one criterion), ``logic`` (all of / any of),
``table`` (which criterion binds).

Imports: numpy, floor 0, terms, statistics. Must not import intake, judging, pandas or anything above.
"""

from __future__ import annotations

from adhesion_stats.acceptance.any_values import (
    Whatever,
    greatest_cov,
    no_failure_meets,
    only_bounds,
    whatever_the_values,
)
from adhesion_stats.acceptance.asked import Asked, binding, pulls_asked
from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.collect import Cases, cases, required_number, zones_of
from adhesion_stats.acceptance.conformity import ConformityFound, conformity_of_zone
from adhesion_stats.acceptance.evaluate import decide, evaluate
from adhesion_stats.acceptance.forms import factor_of, least_number
from adhesion_stats.acceptance.hanging import hangs_on
from adhesion_stats.acceptance.needed import needs
from adhesion_stats.acceptance.outcomes import CriterionOutcome, Decisions, Outcome, Outcomes, Reason, ZoneDecision
from adhesion_stats.acceptance.reasons import criterion_reason, zone_reason
from adhesion_stats.acceptance.risk.wanted import RiskFigures, risk_figures

__all__ = [
    "Asked",
    "Block",
    "Cases",
    "ConformityFound",
    "CriterionOutcome",
    "Decisions",
    "Outcome",
    "Outcomes",
    "Reason",
    "RiskFigures",
    "Whatever",
    "ZoneDecision",
    "binding",
    "cases",
    "conformity_of_zone",
    "criterion_reason",
    "decide",
    "evaluate",
    "factor_of",
    "greatest_cov",
    "hangs_on",
    "least_number",
    "needs",
    "no_failure_meets",
    "only_bounds",
    "pulls_asked",
    "required_number",
    "risk_figures",
    "whatever_the_values",
    "zone_reason",
    "zones_of",
]
