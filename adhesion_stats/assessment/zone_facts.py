"""Facts about each zone's decision: its criteria with what they can reach, the tree of its requirement, its failure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from adhesion_stats.acceptance import ConformityFound, CriterionOutcome, ZoneDecision, criterion_reason, factor_of
from adhesion_stats.assessment.by_failure import by_failure_facts, limit_facts
from adhesion_stats.assessment.published import criterion_published
from adhesion_stats.assessment.summary import Characteristic, ZoneSummary
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    AreaCriterion,
    CharacteristicAtLeast,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    HeldAt,
    MeanAtLeast,
    MeanLessSd,
    PullsWithFailure,
    Requirement,
    ShareOfPulls,
    depends_on_failure,
)
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor

__all__ = ["criteria_facts", "failure_facts", "summary_facts", "tree"]


def tree(requirement: Requirement) -> object:
    """Return the requirement as nested ``{"all_of": [...]}`` / ``{"any_of": [...]}`` of criterion keys."""
    if isinstance(requirement, AllOf):
        return {"all_of": [tree(part) for part in requirement.parts]}
    if isinstance(requirement, AnyOf):
        return {"any_of": [tree(part) for part in requirement.parts]}
    return requirement.key


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _factor(criterion: Criterion, n: int) -> float | None:
    """The factor k of a characteristic value at ``n``, None where the kind or the method has none."""
    if isinstance(criterion, MeanLessSd):
        return criterion.factor(n)
    return factor_of(criterion, n) if isinstance(criterion, CharacteristicAtLeast) else None


def _asked(found: CriterionOutcome, n: int) -> dict[str, object]:
    """What the criterion asks; the keys that its kind doesn't have are None."""
    criterion = found.criterion
    asked: dict[str, object] = dict.fromkeys(("question", "limit", "share_limit", "z", "of", "method"))
    if isinstance(criterion, AreaCriterion):
        asked["share_limit"] = {
            "sense": "at most" if found.at_most else "at least",
            "percent": found.limit,
            "codes": list(criterion.codes),
            "from_percent": criterion.from_percent if isinstance(criterion, PullsWithFailure) else None,
        }
        return asked
    asked["question"] = criterion.question
    if isinstance(criterion, EachPullAtLeast):
        return asked
    limit = criterion.strength_limit
    if limit is not None:
        asked["limit"] = limit_facts(limit)
    if isinstance(criterion, CountAtLeast):
        asked |= {"z": criterion.z, "of": criterion.n}
    if isinstance(criterion, ShareOfPulls | HeldAt):
        asked |= {"z": criterion.z(n) if isinstance(criterion, ShareOfPulls) else n, "of": n}
    if isinstance(criterion, CharacteristicAtLeast):
        asked["method"] = {
            "name": criterion.method,
            "content": criterion.content,
            "confidence": criterion.confidence,
            "known_cov": criterion.known_cov,
            "known_sd": criterion.known_sd.text if criterion.known_sd is not None else None,
            "pooled_over": list(criterion.pooled_over),
        }
    return asked


def _unit_mpa(criterion: Criterion) -> float:
    """What one unit of the criterion's values is in MPa; 1 for shares."""
    unit = criterion.asked.unit
    return 1.0 if unit in {"", "%"} else factor(unit, "strength")


def _criterion(
    decision: ZoneDecision, found: CriterionOutcome, conformity: ConformityFound | None
) -> dict[str, object]:
    unit_mpa = _unit_mpa(found.criterion)
    needed = found.needed
    if conformity is not None and conformity.asked is not None and conformity.needed is not None:
        needed = conformity.needed
    away = (found.low - needed, found.high - needed)
    if found.at_most:
        away = (needed - found.high, needed - found.low)
    return {
        "key": found.criterion.key,
        "kind": found.criterion.kind,
        "source": found.criterion.source,
        **_asked(found, decision.n),
        "by_failure": by_failure_facts(found),
        "asked": {
            "sense": "at most" if found.at_most else "at least",
            "value": found.limit,
            "unit": found.unit,
            "places": found.criterion.asked.places,
        },
        "n": decision.n,
        "low": _finite(found.low * unit_mpa),
        "high": _finite(found.high * unit_mpa),
        "low_is_open": math.isinf(found.low),
        "high_is_open": math.isinf(found.high),
        "k": _factor(found.criterion, decision.n),
        "total": _total(decision, found),
        "outcome": found.outcome.words,
        "at_limit": found.at_limit,
        "margin_low": _finite(away[0]),
        "margin_high": _finite(away[1]),
        "reason": criterion_reason(found, decision).as_dict(),
    }


def _total(decision: ZoneDecision, found: CriterionOutcome) -> float | None:
    """The sum from which a mean was formed [MPa, or % of area], or the number of pulls that a share of pulls means."""
    if found.low != found.high or not isinstance(found.criterion, MeanAtLeast | AreaCriterion):
        return None
    n = decision.n
    if isinstance(found.criterion, MeanAtLeast) and depends_on_failure(found.criterion):
        if found.criterion.only is None or found.reached != found.could:
            return None
        n = found.reached  # the pulls that failed so
    total = found.low * _unit_mpa(found.criterion) * n
    return float(round(total / 100.0)) if isinstance(found.criterion, PullsWithFailure) else total


def criteria_facts(
    decision: ZoneDecision, terms: Specification, conformity: Sequence[ConformityFound] | None
) -> list[dict[str, object]]:
    """Return one dictionary per criterion, in the order in which they are written; see the schema of results.json.

    ``conformity``: in the same order; None where no uncertainty of measurement is stated.
    """
    facts = []
    for i, found in enumerate(decision.criteria):
        own = None if conformity is None else conformity[i]
        one = {
            **_criterion(decision, found, own),
            "published": criterion_published(terms, found.criterion.key),
        }
        facts.append(one | {"conformity": None if own is None else _conformity(found, own)})
    return facts


def _conformity(found: CriterionOutcome, own: ConformityFound) -> dict[str, object]:
    """The probability of conformity; the guard band is what the value needs beyond the limit, in its unit."""
    return {
        "asked": own.asked,
        "low": own.low,
        "high": own.high,
        "uncertainty": own.uncertainty,
        "needed": own.needed,
        "guard_band": None if own.needed is None else own.needed - found.limit,
        "errors": "common" if own.common_only else "all",
    }


def _characteristic(found: Characteristic) -> dict[str, object]:
    return {
        "method": found.asked.method,
        "content": 0.95 if found.asked.content is None else found.asked.content,
        "confidence": found.asked.confidence,
        "known_cov": found.asked.known_cov,
        "known_sd": found.asked.known_sd.text if found.asked.known_sd is not None else None,
        "k": found.k,
        "rank": found.rank,
        "reached": found.reached,
        "value": found.value,
        "source": found.source,
    }


def summary_facts(summary: ZoneSummary, confidence: float) -> dict[str, object]:
    """Return a zone's summary; strengths in MPa."""
    return {
        "n": summary.n,
        "mean": summary.mean,
        "sd": summary.sd,
        "cov": summary.cov,
        "smallest": summary.smallest,
        "largest": summary.largest,
        "median": summary.median,
        "mean_is_lower_bound": summary.bounded > 0 and summary.mean is not None,
        "interval": None
        if summary.interval is None
        else {"confidence": confidence, "low": summary.interval[0], "high": summary.interval[1]},
        "characteristic": [_characteristic(found) for found in summary.characteristic],
        "unsaid": [message.as_dict() for message in summary.unsaid],
    }


def _layer_order(code: str) -> tuple[int, str]:
    """Layers from the substrate out, each interface after the layer below it, the dolly adhesive last."""
    return (ord(code[0]) if code[0] != "-" else ord("X"), code)


def failure_facts(pulls: Pulls, standing: Standing, zones: tuple[str, ...]) -> Iterator[dict[str, object]]:
    """Yield, per zone, the mean composition over its counted pulls with a record [%], and how many have one."""
    counted, recorded = standing.counted, pulls.recorded
    columns = sorted(range(len(pulls.failure_codes)), key=lambda c: _layer_order(pulls.failure_codes[c]))
    for zone in zones:
        here = pulls.zone.rows_of(zone)
        here = here[counted[here]]
        rows = here[recorded[here]]
        shares = np.nan_to_num(pulls.failure_percent[rows], nan=0.0)
        means = {pulls.failure_codes[c]: math.fsum(shares[:, c]) / rows.size for c in columns if rows.size}
        yield {
            "percent": {code: float(mean) for code, mean in means.items() if mean > 0},
            "recorded": int(rows.size),
            "not_recorded": int(here.size) - int(rows.size),
        }
