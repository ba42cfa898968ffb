"""What a rule asks, as plain facts that words are made of: the tree of requirements with each criterion's numbers.

Imports: terms. No words: kinds and facts.
"""

from __future__ import annotations

from adhesion_stats.terms.criteria import (
    PULL_OFF,
    AllOf,
    AnyOf,
    AreaCriterion,
    CharacteristicAtLeast,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    MeanAtLeast,
    MeanLessSd,
    PullsWithFailure,
    QualityIndex,
    Requirement,
    ShareOfPulls,
    SmallestAtLeast,
    limits,
)
from adhesion_stats.terms.failed import Failed

__all__ = ["criterion_facts", "requirement_facts"]

Facts = dict[str, object]


def requirement_facts(requirement: Requirement) -> Facts:
    """Return {"all_of": [...]}, {"any_of": [...]} or the facts of one criterion."""
    if isinstance(requirement, AllOf | AnyOf):
        joint = "all_of" if isinstance(requirement, AllOf) else "any_of"
        return {joint: [requirement_facts(part) for part in requirement.parts]}
    return criterion_facts(requirement)


def criterion_facts(criterion: Criterion) -> Facts:
    """Return a criterion's kind, the question it asks (None: the pull-off strength), its limits and what else it names.

    ``value``: the number that its value is compared with where that is no strength, as ``value``, ``unit``, ``places``.
    """
    question = getattr(criterion, "question", PULL_OFF)
    asked = criterion.asked
    facts: Facts = {
        "kind": criterion.said,
        "question": None if question == PULL_OFF else question,
        "limits": [limit.text for limit in limits(criterion)],
        "sense": "at most" if asked.at_most else "at least",
        "value": asked.limit,
        "unit": asked.unit,
        "places": asked.places,
    }
    return facts | _numbers(criterion) | _failure(criterion)


def _numbers(criterion: Criterion) -> Facts:
    """Counts, factors, levels and methods that kinds have beside their limit."""
    if isinstance(criterion, CountAtLeast):
        return {"z": criterion.z, "of": criterion.n}
    if isinstance(criterion, ShareOfPulls):
        return {"percent": float(criterion.percent)}
    if isinstance(criterion, MeanLessSd):
        return {"k": criterion.k}
    if isinstance(criterion, QualityIndex):
        return {"index": criterion.index}
    if isinstance(criterion, CharacteristicAtLeast):
        return {
            "method": criterion.method,
            "content": criterion.content,
            "confidence": criterion.confidence,
            "known_cov": criterion.known_cov,
            "known_sd": None if criterion.known_sd is None else criterion.known_sd.text,
        }
    return {}


def _failure(criterion: Criterion) -> Facts:
    """What a criterion says of the failure: by codes, excused pulls, the pulls in a mean, limits by failure."""
    found: Facts = {}
    if isinstance(criterion, AreaCriterion):
        found["codes"] = list(criterion.codes)
        if isinstance(criterion, PullsWithFailure):
            found |= {"from_percent": criterion.from_percent, "depth": criterion.depth_text}
    if isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None:
        found["unless"] = _failed(criterion.unless)
    if isinstance(criterion, MeanAtLeast):
        if criterion.only is not None:
            found["only"] = _failed(criterion.only)
        if criterion.alike_from is not None:
            found["alike_from"] = criterion.alike_from
    if isinstance(criterion, EachPullAtLeast):
        found["cases"] = [{"failed": _failed(case.failed), "limit": case.limit.text} for case in criterion.cases]
        found["otherwise"] = None if criterion.otherwise is None else criterion.otherwise.text
    return found


def _failed(failed: Failed) -> Facts:
    return {"codes": list(failed.codes), "from_percent": failed.from_percent, "depth": failed.depth_text}
