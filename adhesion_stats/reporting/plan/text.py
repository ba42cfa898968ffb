"""What the command line prints of a plan: one zone a line, plain text of at most a hundred columns."""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.reporting.plan.document import plan_document
from adhesion_stats.reporting.plan.facts import plan_from
from adhesion_stats.reporting.sections.parts import sentence
from adhesion_stats.reporting.terminal import WIDTH, visible, wrapped
from adhesion_stats.reporting.words import word

__all__ = ["plan_text"]

_INDENT = "  "


def plan_text(plan: Mapping[str, object]) -> str:
    """How many pulls in all and by zone, by which rule, and what to settle first."""
    data = plan_from(plan)
    section = plan_document(plan).sections[0]
    lines = [str(section.blocks[0]).replace("\N{NO-BREAK SPACE}", " ")]
    for zone in data["zones"]:
        rule = zone["asked"][zone["decides"]]
        source = f" ({rule['source']})" if rule["source"] else ""
        text = word("plan_line").format(
            zone=visible(zone["zone"]),
            pulls=zone["pulls"],
            rule=word(f"plan_short_{rule['kind']}"),
            source=visible(source),
        )
        lines += [_INDENT + part for part in wrapped(text, WIDTH - len(_INDENT))]
    for message in data["messages"]:
        lines += list(wrapped(sentence(message), WIDTH))
    return "\n".join(lines)
