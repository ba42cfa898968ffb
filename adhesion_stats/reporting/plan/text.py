"""What the command line prints of a plan: one zone a line, plain text of at most a hundred columns."""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.reporting.plan.document import plan_document
from adhesion_stats.reporting.plan.facts import ZoneFacts, plan_from
from adhesion_stats.reporting.sections.parts import sentence
from adhesion_stats.reporting.terminal import WIDTH, visible, wrapped
from adhesion_stats.reporting.words import word

__all__ = ["plan_text"]

_INDENT = "  "


def _measured(zone: ZoneFacts) -> str:
    values = len(zone["measurements"] or ())
    return word("plan_line_measured").format(pulls=zone["pulls"], values=values, each=zone["pulls"] // values)


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
            pulls=zone["pulls"] if zone["measurements"] is None else _measured(zone),
            rule=word(f"plan_short_{rule['kind']}"),
            source=visible(source),
        )
        lines += [_INDENT + part for part in wrapped(text, WIDTH - len(_INDENT))]
    for message in data["messages"]:
        lines += list(wrapped(sentence(message), WIDTH))
    return "\n".join(lines)
