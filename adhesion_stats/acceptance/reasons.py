"""Each outcome as a message that reads as one plain sentence: a code for the kind and how things stand, and facts as
text.

Codes are ``<kind>_<state>``, the kind as the criterion's class names it (``said``); ``..._unless`` (with a way out),
``mean_only``, ``mean_alike`` (within one failure), and ``..._deep`` where a depth of the break is asked. States:

=================== ================================================================================================
met, on_limit       decided from known values; on_limit: equal to the limit, which meets
not_met             likewise
met_whatever        met even at the worst that the unknown can be (fact ``value``)
not_met_whatever    not met even at the best (fact ``value``)
open                both are possible: facts ``low``, ``high``; open_up, open_down, open_wide: no upper, lower,
neither end choice              more values than planned, and the choice among them decides
too_few, no_values  the value can't be formed; so also needs_more (fact ``needed``), no_factor, not_formed
all_excused         every pull is excused by the way out
not_resolved        neither could be proven
sure_...            a probability of conformity is asked: sure_met, sure_not_met, sure_met_whatever,
                    sure_not_met_whatever, sure_open; facts ``sure`` or ``sure_low`` / ``sure_high``, ``least``
=================== ================================================================================================

A zone whose criteria can each be met but not together has the code ``not_together``. Sentences live in
``wording.acceptance``.

Imports: this room, quantities, messages, terms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from adhesion_stats.acceptance.forms import least_number
from adhesion_stats.acceptance.limits import ENTERED
from adhesion_stats.acceptance.outcomes import CriterionOutcome, Outcome, Reason, ZoneDecision
from adhesion_stats.messages import Fact, Message
from adhesion_stats.quantities import decimal_text, number_against, probability_text, shown_percent
from adhesion_stats.terms.criteria import (
    AreaCriterion,
    CharacteristicAtLeast,
    CountAtLeast,
    Criterion,
    EachPullAtLeast,
    HeldAt,
    MeanAtLeast,
    MeanLessSd,
    OfStrengths,
    PullsWithFailure,
    QualityIndex,
    ShareBelow,
    ShareOfPulls,
    SmallestAtLeast,
    StrengthCriterion,
    depends_on_failure,
)
from adhesion_stats.terms.failed import Failed

__all__ = [
    "KINDS",
    "STATES",
    "SURE_KINDS",
    "SURE_STATES",
    "criterion_reason",
    "failed_facts",
    "zone_reason",
]

KINDS = (
    "mean", "smallest", "characteristic", "count", "share", "pulls", "pulls_deep", "smallest_unless",
    "smallest_unless_deep", "count_unless", "count_unless_deep", "mean_only", "mean_only_deep", "mean_alike", "each",
    "less_sd", "index", "below", "cov", "of_mean", "part", "held",
)  # fmt: skip
STATES = (
    "met", "on_limit", "not_met", "met_whatever", "not_met_whatever", "open", "open_up", "open_down", "open_wide",
    "choice", "too_few", "no_values", "not_resolved", "all_excused", "needs_more", "no_factor", "not_formed",
)  # fmt: skip
SURE_KINDS = (
    "mean", "smallest", "characteristic", "less_sd", "count", "part", "held", "smallest_unless",
    "smallest_unless_deep", "count_unless", "count_unless_deep",
)  # fmt: skip
SURE_STATES = tuple(f"sure_{state}" for state in ("met", "not_met", "met_whatever", "not_met_whatever", "open"))
_LEAST_TOLD = 0.001  # probabilities nearer to 0 and to 1 are told as this
_STUCK = {
    Reason.CHOICE: "choice",
    Reason.NO_VALUES: "no_values",
    Reason.TOO_FEW: "too_few",
    Reason.NOT_RESOLVED: "not_resolved",
    Reason.NEEDS_MORE: "needs_more",
    Reason.NO_FACTOR: "no_factor",
    Reason.NOT_FORMED: "not_formed",
}


def zone_reason(decision: ZoneDecision) -> Message:
    """The zone's reason: that of its binding criterion, or that its criteria can't be met together."""
    if decision.held_back is not None:
        valid, least = decision.held_back
        return Message("too_few_valid", facts={"zone": decision.zone, "valid": valid, "least": least})
    if decision.reason in {Reason.NOT_TOGETHER, Reason.NOT_RESOLVED}:
        code = "not_together" if decision.reason == Reason.NOT_TOGETHER else "not_resolved"
        asked = [one.criterion for one in decision.criteria]
        unknown = {"unknown": decision.unknown, **_elsewhere(asked, decision)}
        return Message(code, facts={"zone": decision.zone, **unknown, "n": decision.n})
    return criterion_reason(decision.criteria[decision.binding], decision)


def criterion_reason(outcome: CriterionOutcome, decision: ZoneDecision) -> Message:
    """The reason for one criterion's outcome in a zone.

    Facts: ``zone``, ``key`` (criterion), ``source``, ``question``, ``n``, ``unknown``, ``value`` or ``low`` /
    ``high``, ``limit`` as text with unit; ``count``: ``reached``, ``could`` (at most), ``z``, ``planned``;
    composition: ``codes``, ``from``, ``upper`` (limit from above).
    """
    criterion, state = outcome.criterion, _state(outcome)
    kind = _kind(criterion)
    facts: dict[str, Fact] = {
        "zone": decision.zone, "key": criterion.key, "source": criterion.source, "n": decision.n, "unknown":
        decision.unknown, **_elsewhere([criterion], decision),
    }  # fmt: skip
    facts |= _values(outcome, state)
    if isinstance(criterion, AreaCriterion):
        facts |= {"codes": criterion.codes, "upper": outcome.at_most}
        if isinstance(criterion, PullsWithFailure):
            facts |= failed_facts(criterion.failed)
        return Message(f"{kind}{'_upper' if outcome.at_most else ''}_{state}", facts=facts)
    facts["question"] = criterion.question
    facts |= _by_failure(outcome)
    if not isinstance(criterion, EachPullAtLeast):
        facts |= _own_facts(criterion, outcome, decision.n)
    facts |= _sure(outcome, state)
    return Message(f"{kind}_{state}", facts=facts)


def _elsewhere(asked: Sequence[Criterion], decision: ZoneDecision) -> dict[str, Fact]:
    """Where that lies which is not known, in a zone whose own values all are: "pool" (the spread is shared with other
    zones), "failure" (what broke); nothing for other zones.
    """
    if decision.unknown:
        return {}
    if any(isinstance(one, CharacteristicAtLeast) and one.method == "pooled" for one in asked):
        return {"elsewhere": "pool"}
    return {"elsewhere": "failure"} if any(depends_on_failure(one) for one in asked) else {}


def _sure(outcome: CriterionOutcome, state: str) -> dict[str, Fact]:
    """The probability of conformity beside the one asked for, as text."""
    criterion = outcome.criterion
    if not state.startswith("sure_"):
        return {}
    assert isinstance(criterion, OfStrengths)
    assert criterion.conformity is not None
    assert outcome.sure is not None
    asked = criterion.conformity.at_least
    low, high = (probability_text(end, asked) for end in outcome.sure)
    facts: dict[str, Fact] = {"least": decimal_text(asked, max(2, _written_places(asked)))}
    if state == "sure_open":
        return facts | {"sure_low": low, "sure_high": high}
    if state in {"sure_met", "sure_not_met"}:
        return facts | {"sure": low, "value": _apart(outcome, outcome.low)}
    end = outcome.sure[1 if outcome.outcome == Outcome.DOES_NOT_CONFORM else 0]
    return facts | {"sure": probability_text(min(max(end, _LEAST_TOLD), 1.0 - _LEAST_TOLD), asked)}


def _written_places(value: float) -> int:
    return len(repr(value).partition(".")[2])


def _kind(criterion: Criterion) -> str:
    """The first part of the code: the kind, and how it depends on what broke."""
    kind = criterion.said
    failed = _description(criterion)
    if isinstance(criterion, MeanAtLeast):
        kind += "_only" if criterion.only is not None else "_alike" if criterion.alike_from is not None else ""
    elif isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None:
        kind += "_unless"
    return f"{kind}_deep" if failed is not None and failed.depth_mm is not None else kind


def _description(criterion: Criterion) -> Failed | None:
    """Which pulls the criterion tells apart, where it is one description."""
    if isinstance(criterion, MeanAtLeast):
        return criterion.only
    if isinstance(criterion, SmallestAtLeast | CountAtLeast):
        return criterion.unless
    return criterion.failed if isinstance(criterion, PullsWithFailure) else None


def failed_facts(failed: Failed) -> dict[str, Fact]:
    """Which pulls, as facts: ``codes``, ``from`` and ``depth`` as text ("" where no depth is asked)."""
    return {"codes": failed.codes, "from": shown_percent(failed.from_percent), "depth": failed.depth_text}


def _by_failure(outcome: CriterionOutcome) -> dict[str, Fact]:
    """What a criterion on strengths depends on, and how many pulls it is about: ``sure``, ``maybe`` (more)."""
    criterion = outcome.criterion
    failed = _description(criterion)
    facts: dict[str, Fact] = {} if failed is None else failed_facts(failed)
    if isinstance(criterion, MeanAtLeast) and criterion.alike_from is not None:
        facts["from"] = shown_percent(criterion.alike_from)
    if failed is not None or isinstance(criterion, EachPullAtLeast):
        facts |= {"sure": outcome.reached, "most": outcome.could}
    return facts


def _own_facts(criterion: StrengthCriterion, outcome: CriterionOutcome, n: int) -> dict[str, Fact]:
    """Facts that only some kinds have."""
    counts: dict[str, Fact] = {"reached": outcome.reached, "could": outcome.could}
    needed: dict[str, Fact] = (
        {"needed": max(least_number(criterion), n + 1)} if outcome.reason == Reason.NEEDS_MORE else {}
    )
    if isinstance(criterion, CountAtLeast):
        return counts | {"z": criterion.z, "planned": criterion.n}
    if isinstance(criterion, ShareOfPulls):
        return counts | {"z": criterion.z(n), "share": f"{criterion.percent} %"}
    if isinstance(criterion, HeldAt):
        return counts
    if isinstance(criterion, MeanLessSd):
        k = criterion.factor(n)
        return needed | {"k": "k" if k is None else f"{k:g}"}
    if isinstance(criterion, QualityIndex | ShareBelow):
        return needed | {"lower": criterion.limit.text}
    return needed


def _state(outcome: CriterionOutcome) -> str:
    if outcome.reason in _STUCK:
        return _STUCK[outcome.reason]
    if outcome.low == math.inf and _description(outcome.criterion) is not None:
        return "all_excused"
    if outcome.sure is not None:
        return f"sure_{_state_of_probability(outcome, outcome.sure)}"
    certain = outcome.low == outcome.high
    if outcome.outcome == Outcome.CONFORMS:
        return ("on_limit" if outcome.at_limit else "met") if certain else "met_whatever"
    if outcome.outcome == Outcome.DOES_NOT_CONFORM:
        return "not_met" if certain else "not_met_whatever"
    ends = (math.isinf(outcome.low), math.isinf(outcome.high))
    return {(False, False): "open", (False, True): "open_up", (True, False): "open_down", (True, True): "open_wide"}[
        ends
    ]


def _state_of_probability(outcome: CriterionOutcome, sure: tuple[float, float]) -> str:
    if outcome.outcome == Outcome.UNDETERMINED:
        return "open"
    whatever = "" if sure[0] == sure[1] and outcome.low == outcome.high else "_whatever"
    return ("met" if outcome.outcome == Outcome.CONFORMS else "not_met") + whatever


def _values(outcome: CriterionOutcome, state: str) -> dict[str, Fact]:
    """Values and limit as text; a value is written so that it doesn't look equal to a limit that it misses."""
    limit_places = _places(outcome)
    facts: dict[str, Fact] = {"limit": _text(outcome, outcome.limit, limit_places)}
    if state in {"open", "open_up", "open_down"}:
        facts |= {
            name: _apart(outcome, end)
            for name, end in (("low", outcome.low), ("high", outcome.high))
            if math.isfinite(end)
        }
    elif state in {"met", "on_limit", "not_met", "met_whatever", "not_met_whatever"}:
        failing = outcome.outcome == Outcome.DOES_NOT_CONFORM
        end = outcome.low if outcome.at_most == failing else outcome.high
        facts["value"] = _apart(outcome, end)
    return facts


def _places(outcome: CriterionOutcome) -> int:
    if isinstance(outcome.criterion, AreaCriterion | EachPullAtLeast):
        return 0 if float(outcome.limit).is_integer() else 1
    return outcome.criterion.asked.places


def _text(outcome: CriterionOutcome, value: float, places: int) -> str:
    return f"{decimal_text(value, places)} {outcome.unit}".rstrip()


def _apart(outcome: CriterionOutcome, value: float) -> str:
    """The value with the limit's places (three significant digits of the limit at least), more where it would look
    equal without being so.
    """
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    places = _places(outcome)
    if outcome.unit == "%" and not isinstance(outcome.criterion, AreaCriterion | EachPullAtLeast):
        places += 1
    if outcome.unit != "%" and outcome.limit * 10**places < 100:
        places += 1
    same = abs(value - outcome.limit) <= ENTERED * 100 * max(abs(value), abs(outcome.limit))
    return f"{number_against(value, outcome.limit, places, at_limit=same)} {outcome.unit}".rstrip()
