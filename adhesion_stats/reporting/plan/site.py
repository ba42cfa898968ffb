"""What ``adhesion-stats next`` prints between two pulls: short sentences for each zone, or one JSON object."""

from __future__ import annotations

import json
from pathlib import Path

from adhesion_stats.assessment import assess
from adhesion_stats.entrance import read_readings, read_specification
from adhesion_stats.messages import Message
from adhesion_stats.planning import ZoneOnSite, make_plan, on_site, wait_for_plan
from adhesion_stats.reporting.sections.parts import sentence
from adhesion_stats.reporting.terminal import visible, wrapped
from adhesion_stats.reporting.words import word
from adhesion_stats.wording import message_of, say

__all__ = ["site_json", "site_text", "stands"]

_WIDTH = 60  # columns: a phone held upright, or a narrow window


def stands(readings: Path, specification: Path, *, layout: Path | None = None) -> tuple[ZoneOnSite, ...]:
    """Where each zone stands after the readings so far.

    Raises ``UnusableReadings`` and ``InvalidSpecification`` as assess does.
    """
    asked = read_specification(specification)
    plan = make_plan(asked) if asked.plan is not None and asked.plan.zones else None
    terms = wait_for_plan(asked, plan)
    assessment = assess(read_readings(readings, terms, layout), terms)
    zones = assessment.as_dict()["zones"]
    assert isinstance(zones, list)
    needed: dict[str, tuple[Message, ...]] = {
        zone["zone"]: tuple(message_of(message) for message in zone["needs"]) for zone in zones
    }
    return on_site(
        assessment.specification,  # in which zones are parted by stage and round, where the contract asks for it
        plan,
        assessment.pulls,
        assessment.standing,
        [way.cases for way in assessment.readings.ways],
        {zone: assessment.readings.outcome(zone) for zone in assessment.zones},
        needed,
    )


def site_text(zones: tuple[ZoneOnSite, ...]) -> str:
    """The zones one below the other, each with its sentences."""
    lines: list[str] = []
    for zone in zones:
        lines += ["", visible(zone.zone)]
        for message in zone.says:
            first = True
            for part in wrapped(visible(sentence_of(message)), _WIDTH - 2):
                lines.append(("- " if first else "  ") + part)
                first = False
    return "\n".join([*lines[1:], "", *wrapped(word("site_caution"), _WIDTH)])


def sentence_of(message: Message) -> str:
    """The message as a sentence."""
    return sentence(message.as_dict())  # type: ignore[arg-type]


def site_json(zones: tuple[ZoneOnSite, ...]) -> str:
    """The same as one JSON object; each message with its sentence."""
    found = []
    for zone in zones:
        facts = zone.as_dict()
        facts["says"] = [{**message.as_dict(), "text": say(message)} for message in zone.says]
        found.append(facts)
    return json.dumps({"zones": found}, ensure_ascii=True, indent=2, allow_nan=False)
