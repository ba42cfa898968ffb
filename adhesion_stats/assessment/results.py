"""The parts of an assessment as plain values: what results.json holds. Strengths in MPa, unrounded; missing = None."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict

import numpy as np

from adhesion_stats.acceptance import (
    Decisions,
    Outcome,
    ZoneDecision,
    conformity_of_zone,
    hangs_on,
    needs,
    required_number,
    zone_reason,
)
from adhesion_stats.assessment.by_failure import selection_cautions, with_pulls
from adhesion_stats.assessment.classes import class_facts
from adhesion_stats.assessment.determined import determination_facts, determination_messages
from adhesion_stats.assessment.extent import extent_facts, extent_step
from adhesion_stats.assessment.frequency import frequency_facts, holes_facts
from adhesion_stats.assessment.hints import cause_hints
from adhesion_stats.assessment.ladder import ladder_messages, population_facts
from adhesion_stats.assessment.measurements import measurement_facts, measurements_to_make
from adhesion_stats.assessment.next_steps import contract_steps, zone_steps
from adhesion_stats.assessment.parts import Parts
from adhesion_stats.assessment.published import published_facts, published_messages, to_confirm
from adhesion_stats.assessment.pull_facts import number_or_none, pull_facts, recording_step_text
from adhesion_stats.assessment.summary import SOURCES
from adhesion_stats.assessment.zone_facts import criteria_facts, failure_facts, summary_facts, tree
from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import Bound
from adhesion_stats.standing import Reason
from adhesion_stats.terms.criteria import CharacteristicAtLeast, Uncertain, criteria, limits
from adhesion_stats.terms.specification import Specification

__all__ = ["FORMAT", "FORMAT_VERSION", "results_of"]

FORMAT, FORMAT_VERSION = "adhesion_stats results", 2
_RULE_NAMES = {  # as the specification's keys name them
    "glue_from": "glue.from",
    "glue_then": "glue.then",
    "lost": "pulls.lost",
    "broke_there_from": "interface.broke_there_from",
}


def results_of(parts: Parts) -> dict[str, object]:
    """Return everything that a document needs, as plain values (see the schema of results.json)."""
    pulls, terms = parts.pulls, parts.specification
    places = _places(terms)
    failing = [zone for zone in parts.zones if parts.readings.outcome(zone) is Outcome.DOES_NOT_CONFORM]
    extents = extent_facts(pulls, parts.standing, terms, failing)
    zones = _zones(parts, extents)
    outcomes = [(zone, outcome.words) for zone, outcome in parts.outcomes_that_stand.items()]
    decision, reason = _contract(outcomes)
    step = terms.pulls.recording_step
    step_mpa = step.mpa if step is not None else pulls.recording_step_mpa
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "contract": asdict(terms.contract),
        "inputs": {
            "readings": {"file": pulls.file, "sha256": pulls.digest, "rows": len(pulls)},
            "specification": {"file": terms.file, "sha256": terms.digest},
            "layout": _layout(parts.layout_source),
        },
        "unit": terms.unit,
        "places": places,
        "entry": {
            "unit": pulls.entry_unit,
            "recording_step_mpa": number_or_none(step_mpa),
            "recording_step_text": recording_step_text(step_mpa, terms.unit, max(places, 0)),
        },
        "rounding": {
            "method": terms.rounding.method,
            "ties": terms.rounding.ties,
            "record_to": terms.rounding.record_to.text if terms.rounding.record_to is not None else None,
        },
        "decision": {
            "outcome": decision,
            "reason": reason.as_dict(),
            "zones": {outcome.words: sum(found == outcome.words for _, found in outcomes) for outcome in Outcome},
            "next": [message.as_dict() for message in _contract_next(parts, decision, outcomes)],
            "to_confirm": [message.as_dict() for message in to_confirm(terms)],
        },
        "published": published_facts(terms),
        "zones": zones,
        "rezoned": [found.as_dict() for found in parts.rezoned],
        "pulls": pull_facts(pulls, parts.standing, parts.screening, terms),
        "messages": [message.as_dict() for message in _messages(parts)],
        "screening": _screening(parts),
        "on_site": {
            "frequency": frequency_facts(pulls, parts.standing, terms, parts.populations.of),
            "extents": extents,
            "holes": holes_facts(pulls),
        },
        "cautions": [message.as_dict() for message in _cautions(terms)],
        "method": {"sources": _sources(parts)},
        "uncertainty": _uncertainty(terms.uncertain),
    }


def _uncertainty(uncertain: Uncertain | None) -> dict[str, object] | None:
    """The stated uncertainty of each measured strength, by component; None where none is stated."""
    if uncertain is None:
        return None
    return {
        "source": uncertain.source,
        "components": [
            {
                "name": part.name,
                "stated_as": part.form.replace("_", " "),
                "text": part.text,
                "coverage_factor": part.coverage_factor,
                "standard_mpa": part.standard_mpa,
                "standard_share": part.standard_share,
                "common": part.common,
            }
            for part in uncertain.parts
        ],
    }


def _layout(source: tuple[str, str] | None) -> dict[str, object] | None:
    return None if source is None else {"file": source[0], "sha256": source[1]}


def _places(terms: Specification) -> int:
    """Decimal places of strengths in the report: those of the finest limit in the report's unit."""
    places = [
        limit.places
        for rule in terms.rules
        for criterion in criteria(rule.requirement)
        for limit in limits(criterion)
        if limit.unit == terms.unit
    ]
    return max(places) if places else 2


def _contract(outcomes: Sequence[tuple[str, str]]) -> tuple[str, Message]:
    """The contract's decision from its zones, and why."""

    def named(outcome: Outcome) -> tuple[str, ...]:
        return tuple(zone for zone, found in outcomes if found == outcome.words)

    failing, undetermined = named(Outcome.DOES_NOT_CONFORM), named(Outcome.UNDETERMINED)
    total = len(outcomes)
    if failing:
        facts: dict[str, Fact] = {"failing": len(failing), "zones": total, "names": failing}
        code = "contract_fails" if len(failing) > 1 else "contract_fails_one" if total > 1 else "contract_fails_only"
        return Outcome.DOES_NOT_CONFORM.words, Message(code, facts=facts)
    if undetermined:
        facts = {"open": len(undetermined), "zones": total, "names": undetermined}
        only = "contract_undetermined_one" if total > 1 else "contract_undetermined_only"
        code = "contract_undetermined" if len(undetermined) > 1 else only
        return Outcome.UNDETERMINED.words, Message(code, facts=facts)
    if not total:
        return Outcome.UNDETERMINED.words, Message("contract_no_zone")
    if total == 1:
        return Outcome.CONFORMS.words, Message("contract_conforms_one")
    return Outcome.CONFORMS.words, Message("contract_conforms", facts={"zones": total})


def _contract_next(parts: Parts, decision: str, outcomes: Sequence[tuple[str, str]]) -> list[Message]:
    """What to do next for the contract: the designer for zones that fail, another round where the ladder asks it."""
    rounds = tuple(
        zone for zone, rung in parts.rungs.items() if rung.due is not None and rung.due.code.startswith("ladder_repeat")
    )
    if not rounds:
        return contract_steps(decision, outcomes)
    again = Message("next_contract_round", facts={"count": len(rounds), "zones": rounds})
    others = [(zone, outcome) for zone, outcome in outcomes if zone not in rounds]
    if all(outcome == Outcome.CONFORMS.words for _, outcome in others):
        return [again]
    return [again, *contract_steps(decision, others)]


def _rule_names(parts: Parts) -> tuple[str, ...]:
    return tuple(_RULE_NAMES[rule] for rule in parts.silent)


def _zones(parts: Parts, extents: Sequence[dict[str, object]]) -> list[dict[str, object]]:
    decisions = parts.readings.shown.decisions
    failures = list(failure_facts(parts.pulls, parts.standing, parts.zones))
    hanging = hangs_on(parts.specification, parts.cases, decisions, parts.pulls)
    needed = needs(parts.specification, parts.cases, decisions)
    return [
        _zone(parts, i, decisions, failures[i], hanging.get(zone, ()), needed.get(zone, ()), extent_step(extents, zone))
        for i, zone in enumerate(parts.zones)
    ]


def _zone(
    parts: Parts,
    i: int,
    decisions: Decisions,
    failure: dict[str, object],
    hanging: Sequence[Message],
    needed: Sequence[Message],
    bound: Sequence[Message],
) -> dict[str, object]:
    zone = parts.zones[i]
    outcome = parts.readings.outcome(zone)
    decision = decisions[zone] if outcome is not None else None
    differ = outcome is not None and len({way.outcome(zone) for way in parts.readings.ways}) > 1
    hangs = [
        *_silent(parts, zone, differ=differ),
        *_gathered(hanging),
        *_retest(parts, zone, outcome),
        *_exclusion(parts, zone, outcome),
        *_zoning(parts, zone),
    ]
    count = _pull_numbers(parts, i, decision)
    words = outcome.words if outcome is not None else None
    percent = failure["percent"]
    assert isinstance(percent, dict)  # as failure_facts makes it
    by_measurement = parts.specification.pulls.count_by == "measurement"
    not_made = 0 if by_measurement else max(0, (count["required"] or 0) - (count["counted"] or 0))
    steps = zone_steps(
        parts.pulls,
        parts.standing,
        zone,
        outcome=outcome.words if outcome is not None else "",
        not_made=not_made,
        silent=_rule_names(parts) if differ else (),
        hangs=outcome is not Outcome.CONFORMS
        and any(message.code in {"hangs_on_one_pull", "hangs_on_any_pull", "hangs_on_flagged"} for message in hangs),
    )
    if by_measurement and outcome is Outcome.UNDETERMINED and (to_make := measurements_to_make(parts, zone)):
        steps = [step for step in steps if step.code != "next_more_evidence"]
        steps.append(Message("next_make_measurements", facts={"count": to_make}))
    rung = parts.rungs.get(zone)
    if rung is not None and rung.due is not None:
        steps = [rung.due, *(step for step in steps if step.code != "next_refer")]
    elif rung is not None and rung.state != "stands":
        steps = []
    return {
        "zone": zone,
        "measurements": measurement_facts(parts, zone),
        "population": population_facts(zone, parts.rungs, parts.specification),
        "outcome": outcome.words if outcome is not None else None,
        "reason": _zone_reason(parts, zone, decision, differ=differ).as_dict(),
        "binding": decision.criteria[decision.binding].criterion.key if decision is not None else None,
        "pulls": count,
        "summary": summary_facts(parts.summaries[i], parts.specification.interval_confidence),
        "to_confirm": [message.as_dict() for message in to_confirm(parts.specification, zone)],
        "criteria": _criteria(parts, i, decision),
        "tree": tree(decision.requirement) if decision is not None else None,
        "needs": [message.as_dict() for message in needed] if outcome is Outcome.UNDETERMINED else [],
        "hangs_on": [message.as_dict() for message in hangs],
        "settled": [
            {
                "glue_from_percent": way.settled.glue_from_percent,
                "glue_then": way.settled.glue_then,
                "broke_there_from_percent": way.settled.broke_there_from_percent,
                "lost": way.settled.lost,
                "retest_instead": way.settled.retest_instead,
                "outcome": found.words if (found := way.outcome(zone)) is not None else None,
            }
            for way in (*parts.readings.ways, *(parts.readings.instead if _repeats(parts, zone) else ()))
        ],
        "failure": failure,
        "next": [message.as_dict() for message in (*steps, *bound)] if outcome is not None else [],
        "hints": [message.as_dict() for message in cause_hints(words, percent)],
        "determinations": determination_facts(parts, zone),
        "classes": class_facts(parts.classes, zone),
    }


def _criteria(parts: Parts, i: int, decision: ZoneDecision | None) -> list[dict[str, object]]:
    """The criteria of a zone, with the pulls that those on what broke tell apart."""
    if decision is None:
        return []
    uncertain, mine = parts.specification.uncertain, parts.cases.of(parts.zones[i])
    conformity = None if uncertain is None else conformity_of_zone(decision, mine, uncertain)
    facts = criteria_facts(decision, parts.specification, conformity)
    if all(one["by_failure"] is None for one in facts):
        return facts
    return with_pulls(facts, decision, mine, parts.specification.rounding)


def _gathered(hanging: Sequence[Message]) -> list[Message]:
    """The pulls without any one of which the same outcome would follow, as one message."""
    gathered: list[Message] = []
    alike: dict[Fact, list[Message]] = {}
    for message in hanging:
        if message.code == "hangs_on_one_pull":
            alike.setdefault(message.facts["outcome"], []).append(message)
    for outcome, messages in alike.items():
        if len(messages) == 1:
            gathered += messages
        else:
            names = tuple(str(message.facts["pull"]) for message in messages)
            facts: dict[str, Fact] = {"pulls": names, "outcome": outcome}
            gathered.append(Message("hangs_on_any_pull", Severity.WARNING, facts=facts))
    return [*gathered, *(message for message in hanging if message.code != "hangs_on_one_pull")]


def _zone_reason(parts: Parts, zone: str, decision: ZoneDecision | None, *, differ: bool) -> Message:
    if decision is None:
        return Message("zone_without_requirement", Severity.WARNING, facts={"zone": zone})
    if differ:
        first = decision.outcome.words
        other = next(
            found.words
            for way in parts.readings.ways
            if (found := way.outcome(zone)) is not None and found.words != first
        )
        return Message("zone_silent_rule", facts={"rules": _rule_names(parts), "first": first, "other": other})
    return zone_reason(decision)


def _silent(parts: Parts, zone: str, *, differ: bool) -> list[Message]:
    if not differ:
        return []
    found = [way.outcome(zone) for way in parts.readings.ways]
    facts: dict[str, Fact] = {
        "rules": _rule_names(parts),
        "ways": len(found),
        "conforms": found.count(Outcome.CONFORMS),
        "fails": found.count(Outcome.DOES_NOT_CONFORM),
        "open": found.count(Outcome.UNDETERMINED),
    }
    return [Message("hangs_on_silent_rule", Severity.WARNING, facts=facts)]


def _retest(parts: Parts, zone: str, outcome: Outcome | None) -> list[Message]:
    """For each retest of a valid pull in the zone: what the decision would be with the retests instead."""
    if not parts.readings.instead or outcome is None:
        return []
    instead = parts.readings.outcome_instead(zone)
    valid = parts.retests.valid_original
    return [
        Message(
            "hangs_on_retest" if instead is not outcome else "retest_changes_nothing",
            Severity.WARNING if instead is not outcome else Severity.NOTE,
            facts={
                "retest": parts.pulls.name(i),
                "original": parts.pulls.name(valid[i]),
                "outcome": instead.words if instead is not None else None,
            },
        )
        for i in _repeats(parts, zone)
        if i in valid
    ]


def _exclusion(parts: Parts, zone: str, outcome: Outcome | None) -> list[Message]:
    """What the decision would be with the pulls counted that were excluded in writing; said where it is another one."""
    names = tuple(parts.pulls.name(i) for i in _rows_with(parts, zone, Reason.EXCLUDED))
    if not names or outcome is None or (included := parts.readings.outcome_included(zone)) is outcome:
        return []
    facts: dict[str, Fact] = {"pulls": names, "outcome": included.words if included is not None else None}
    return [Message("hangs_on_exclusion", Severity.WARNING, facts=facts)]


def _zoning(parts: Parts, zone: str) -> list[Message]:
    """What the decision would be with each pull in the zone that was planned; said where it is another one."""
    return [
        Message("hangs_on_zoning", Severity.WARNING, facts={"outcome": before or "nothing asked"})
        for found in parts.rezoned
        for name, before, _ in found.changed
        if name == zone
    ]


def _repeats(parts: Parts, zone: str) -> list[int]:
    """The pulls of the zone that repeat a valid pull and do not count."""
    return _rows_with(parts, zone, Reason.RETEST_OF_VALID)


def _rows_with(parts: Parts, zone: str, reason: Reason) -> list[int]:
    """The pulls of a zone that have a reason not to count."""
    rows = parts.pulls.zone.rows_of(zone)
    found: list[int] = rows[(parts.standing.reasons[rows] & int(reason)) != 0].tolist()
    return found


def _pull_numbers(parts: Parts, i: int, decision: ZoneDecision | None) -> dict[str, int | None]:
    zone = parts.zones[i]
    here = parts.pulls.zone.rows_of(zone)
    counted = here[parts.standing.reasons[here] == 0]
    exact = np.equal(parts.pulls.bound[counted], Bound.EXACT) & ~parts.standing.at_least[counted]
    by_pull = parts.specification.pulls.count_by == "pull"
    required = required_number(parts.specification, zone) if by_pull else 0  # else of measurements, not of pulls
    return {
        "made": here.size,
        "counted": counted.size,
        "exact": int(exact.sum()),
        "bounded": counted.size - int(exact.sum()),
        "not_counted": here.size - counted.size,
        "lost": int(parts.pulls.lost[here].sum()),
        "required": required or None,
        "unknown": int((parts.cases.pull[parts.cases.rows_of(i)] < 0).sum()) if decision is not None else 0,
    }


def _messages(parts: Parts) -> list[Message]:
    extra = [
        Message("zone_without_pulls", Severity.WARNING, facts={"zone": zone})
        for zone in parts.zones
        if not parts.pulls.zone.rows_of(zone).size
    ]
    return [
        *parts.messages,
        *extra,
        *published_messages(parts.specification),
        *ladder_messages(parts.rungs),
        *determination_messages(parts),
    ]


def _screening(parts: Parts) -> dict[str, object]:
    rule, table = parts.specification.screening, parts.screening
    by_test = [
        {"test": test, "zones": tested, "expected_by_chance": expected, "flagged": flagged}
        for test, tested, expected, flagged in table.by_test
    ]
    return {
        "tests": list(rule.tests),
        "side": rule.side,
        "level": rule.level,
        "dixon_convention": rule.dixon_convention,
        "zones": [
            {
                "zone": row.zone,
                "n": row.n,
                "test": row.test,
                "ratio": row.ratio,
                "statistic": row.statistic,
                "p": row.p,
                "critical": row.critical,
                "side": row.side,
                "pull": row.pull,
                "flagged": row.flagged,
                "note": row.note.as_dict() if row.note is not None else None,
            }
            for row in table.rows
        ],
        "by_test": by_test,
        "expected_by_chance": math.fsum(expected for _, _, expected, _ in table.by_test),
        "flagged": len({row.pull for row in table.rows if row.flagged}),
    }


def _cautions(terms: Specification) -> list[Message]:
    codes = ["caution_people", "caution_sample", "caution_weakest", "caution_instruments", "caution_normal"]
    if terms.rounding.method == "unrounded":
        codes.append("caution_rounding")
    if terms.uncertain is not None:
        codes.append("caution_uncertainty")
    if terms.contract.invented:
        codes.append("caution_invented")
    asked = [criterion for rule in terms.rules for criterion in criteria(rule.requirement)]
    if any(step.do == "revise and repeat" for step in terms.ladder):
        codes.append("caution_second_try")
    return [*(Message(code) for code in codes), *selection_cautions(asked)]


def _sources(parts: Parts) -> list[str]:
    """Documents that the numbers of this assessment come from."""
    used: dict[str, None] = {"Confidence interval of the mean: Student's t, NIST/SEMATECH e-Handbook, 1.3.5.2": None}
    for rule in parts.specification.rules:
        for criterion in criteria(rule.requirement):
            if isinstance(criterion, CharacteristicAtLeast):
                used[f"Characteristic value: {SOURCES[criterion.method]}"] = None
    for asked in parts.specification.characteristic:
        used[f"Characteristic value: {SOURCES[asked.method]}"] = None
    if "grubbs" in parts.specification.screening.tests:
        used["Outlier test of Grubbs: ASTM E178; critical values and p-values computed"] = None
    if "dixon" in parts.specification.screening.tests:
        used["Outlier test of Dixon: ASTM E178; critical values and p-values computed by quadrature"] = None
    if parts.specification.uncertain is not None:
        used["Probability of conformity and guard bands: JCGM 106:2012, clauses 7 and 8; budget: JCGM 100:2008"] = None
    used["Comparison with limits: ASTM E29 (unrounded and rounding methods)"] = None
    used["Failure letters and dolly: ISO 4624, EN 1542"] = None
    return list(used)
