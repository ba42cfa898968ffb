"""What an engineer decided all the same, beside the computed decisions; what does not fit them is said."""

from __future__ import annotations

from collections.abc import Iterator

from adhesion_stats.assessment.parts import Parts
from adhesion_stats.messages import Message, Place, Severity

__all__ = ["determination_facts", "determination_messages"]


def determination_facts(parts: Parts, zone: str) -> list[dict[str, object]]:
    """Return the determinations about ``zone`` in the order of the file."""
    return [
        {"decided": one.decided, "about": one.about, "who": one.who, "when": one.when, "why": one.why}
        for one in parts.specification.determinations
        if one.zone == zone
    ]


def determination_messages(parts: Parts) -> Iterator[Message]:
    """Yield what is wrong with a determination: no such zone, or it was made about another decision than today's."""
    place = Place(parts.specification.file)
    for one in parts.specification.determinations:
        if one.zone not in parts.zones:
            yield Message("determination_without_zone", Severity.WARNING, place, {"zone": one.zone, "who": one.who})
            continue
        outcome = parts.readings.outcome(one.zone)
        now = outcome.words if outcome is not None else "nothing asked"
        if one.about is not None and one.about != now:
            facts = {"zone": one.zone, "who": one.who, "when": one.when, "about": one.about, "now": now}
            yield Message("determination_about_another", Severity.WARNING, place, facts)
