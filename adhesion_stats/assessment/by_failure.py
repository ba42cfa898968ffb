"""What a criterion that depends on what broke asks, as facts for results.json; the caution that goes with a selection.

Imports: acceptance, messages, terms.
"""

from __future__ import annotations

from collections.abc import Iterable

from adhesion_stats.acceptance import Cases, CriterionOutcome, ZoneDecision
from adhesion_stats.acceptance.block import cut
from adhesion_stats.acceptance.by_failure import pulls_told_apart
from adhesion_stats.messages import Message
from adhesion_stats.terms.criteria import (
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    Limit,
    MeanAtLeast,
    PullsWithFailure,
    SmallestAtLeast,
    depends_on_failure,
    questions,
)
from adhesion_stats.terms.failed import Failed
from adhesion_stats.terms.specification import Rounding

__all__ = ["by_failure_facts", "limit_facts", "selection_cautions", "with_pulls"]


def limit_facts(limit: Limit) -> dict[str, object]:
    """A limit as written, its number, unit, places, and the same in MPa."""
    return {
        "text": limit.text,
        "value": limit.value,
        "unit": limit.unit,
        "places": limit.places,
        "mpa": limit.mpa,
    }


def _which(failed: Failed) -> dict[str, object]:
    return {
        "codes": list(failed.codes),
        "from_percent": failed.from_percent,
        "depth_mm": failed.depth_mm,
        "depth": failed.depth_text or None,
    }


def by_failure_facts(found: CriterionOutcome) -> dict[str, object] | None:
    """How the criterion depends on the failure of each pull; None where it does not.

    ``role``: "unless" (these pulls are excused), "only" (the mean is over these), "alike" (means within one failure),
    "each" (limits by failure), "counted" (pulls with a depth). ``sure`` and ``most``: how many pulls surely, and at
    most, are excused, averaged, or reach their limit.
    """
    criterion = found.criterion
    facts: dict[str, object] = {
        "role": "", "which": None, "from_percent": None, "limits": [], "otherwise": None, "sure": found.reached,
        "most": found.could, "pulls": [],
    }  # fmt: skip
    if isinstance(criterion, EachPullAtLeast):
        cases = [{**_which(case.failed), "limit": limit_facts(case.limit)} for case in criterion.cases]
        otherwise = None if criterion.otherwise is None else limit_facts(criterion.otherwise)
        return facts | {"role": "each", "limits": cases, "otherwise": otherwise}
    if isinstance(criterion, MeanAtLeast) and criterion.only is not None:
        return facts | {"role": "only", "which": _which(criterion.only)}
    if isinstance(criterion, MeanAtLeast) and criterion.alike_from is not None:
        return facts | {"role": "alike", "from_percent": criterion.alike_from, "sure": None, "most": None}
    if isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None:
        number: dict[str, object] = {} if isinstance(criterion, SmallestAtLeast) else {"sure": None, "most": None}
        return facts | {"role": "unless", "which": _which(criterion.unless), **number}
    if isinstance(criterion, PullsWithFailure) and criterion.depth_mm is not None:
        return facts | {"role": "counted", "which": _which(criterion.failed), "sure": None, "most": None}
    return None


def with_pulls(
    facts: list[dict[str, object]], decision: ZoneDecision, mine: Cases, rounding: Rounding
) -> list[dict[str, object]]:
    """Return the criteria of a zone with the pulls that each of them tells apart, where values are pulls.

    Each entry of ``pulls`` names a pull (its index) and whether it surely (``sure``) or possibly is excused, averaged
    or reaches its limit; pulls that surely are not stand only where limits depend on the failure.
    """
    asked = [found.criterion for found in decision.criteria]
    told = [k for k, criterion in enumerate(asked) if facts[k]["by_failure"] is not None]
    if not told or any(mine.measurement):
        return facts
    block = next(iter(cut(mine, questions(asked), shares=True)), None)
    for k in told:
        apart = None if block is None else pulls_told_apart(asked[k], block, rounding)
        if apart is None:
            continue
        sure, could = (side[0].tolist() for side in apart)
        states = [
            {"pull": int(pull), "sure": bool(s), "possible": bool(c)}
            for pull, s, c in zip(mine.pull.tolist(), sure, could, strict=True)
            if pull >= 0 and (c or isinstance(asked[k], EachPullAtLeast))
        ]
        by_failure = facts[k]["by_failure"]
        assert isinstance(by_failure, dict)
        facts[k] = facts[k] | {"by_failure": by_failure | {"pulls": states}}
    return facts


def selection_cautions(asked: Iterable[Criterion]) -> list[Message]:
    """A mean over the pulls of one failure is a selection: said wherever a contract asks for one."""
    selects = any(isinstance(criterion, MeanAtLeast) and depends_on_failure(criterion) for criterion in asked)
    return [Message("caution_selection")] if selects else []
