"""What an engineer decided all the same, and a paragraph about the zone that can stand in a letter."""

from __future__ import annotations

from adhesion_stats.reporting.model import Block, Items, Line, Paragraph
from adhesion_stats.reporting.numbers import count
from adhesion_stats.reporting.results import Determination, Zone
from adhesion_stats.reporting.sections.parts import sentence
from adhesion_stats.reporting.sections.published import reserve_lines
from adhesion_stats.reporting.words import fill, word

__all__ = ["determination_blocks", "determination_line", "letter"]


def determination_line(one: Determination) -> Line:
    """What was decided, by whom and when."""
    return Line(fill("determined", decided=one["decided"], who=one["who"], when=one["when"]))


def _in_full(one: Determination) -> Line:
    key = "determined_about" if one["about"] is not None else "determined_why"
    about = word(f"is_{one['about']}") if one["about"] is not None else ""
    return Line((*determination_line(one).parts, " ", *fill(key, about=about, why=one["why"])))


def determination_blocks(zone: Zone) -> list[Block]:
    """The determinations about a zone with their grounds, and that the computed decision stands beside them."""
    if not zone["determinations"]:
        return []
    items = tuple(_in_full(one) for one in zone["determinations"])
    return [Items(word("determinations"), items), Paragraph((word("determined_note"),), role="note")]


def letter(zone: Zone) -> Paragraph:
    """A paragraph about a zone's decision, in plain sentences."""
    pulls = zone["pulls"]
    text = fill(
        "letter_zone" if pulls["required"] is None else "letter_required_zone",
        zone=zone["zone"],
        is_outcome=word(f"is_{zone['outcome'] or 'not_asked'}"),
        counted=count(pulls["counted"]),
        required=count(pulls["required"] or 0),
        reason=sentence(zone["reason"]),
    )
    decided = [part for one in zone["determinations"] for part in (" ", *determination_line(one).parts)]
    reserve = [part for one in reserve_lines(zone["to_confirm"]) for part in (" ", *one.parts)]
    return Paragraph((*text, *reserve, *decided))
