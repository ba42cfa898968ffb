"""Pulls that stand in another zone than before, and the decisions by both zonings: for the page, the notebook, and a
revision.
"""

from __future__ import annotations

from adhesion_stats.reporting.model import Block, Column, Paragraph, Part, Row
from adhesion_stats.reporting.numbers import count
from adhesion_stats.reporting.results import Outcome, Rezoning
from adhesion_stats.reporting.sections.parts import cell, outcome_word, table
from adhesion_stats.reporting.words import fill, word

__all__ = ["rezoned_blocks", "rezoned_text"]


def rezoned_blocks(found: Rezoning) -> list[Block]:
    """The pulls that moved, from where to where, and what is decided by the earlier zones and by those of now."""
    columns = (
        Column(word("rz_before")),
        Column(word("rz_now")),
        Column(word("c_pulls"), numeric=True),
        Column(word("rz_names"), wide=True),
    )
    moves = [
        Row((cell(before), cell(now), cell(count(len(names))), cell(", ".join(names))))
        for (before, now), names in _moves(found).items()
    ]
    outcomes = (Column(word("c_zone")), Column(word("rz_by_before"), wide=True), Column(word("rz_by_now"), wide=True))
    decided = [
        *((zone["zone"], zone["before"], zone["now"]) for zone in found["zones"]),
        (word("the_contract"), found["contract"]["before"], found["contract"]["now"]),
    ]
    rows = [Row((cell(name), cell(_outcome(before)), cell(_outcome(now)))) for name, before, now in decided]
    return [
        Paragraph((word(f"rz_{found['source']}"),)),
        table(word("rz_t_moved"), columns, moves),
        table(word("rz_t_decided"), outcomes, rows),
        *(Paragraph((text,), role="note") for text in _said(found)),
    ]


def rezoned_text(found: Rezoning) -> str:
    """The same in lines for the terminal; names as they are."""
    lines = [word(f"rz_{found['source']}")]
    lines += [f"  {before} -> {now}: {', '.join(names)}" for (before, now), names in _moves(found).items()]
    for zone in found["zones"]:
        if zone["before"] != zone["now"]:
            before, now = (_words(zone[side]) for side in ("before", "now"))
            lines.append(f"  {zone['zone']}: {word('rz_by_before')}: {before}. {word('rz_by_now')}: {now}.")
    return "\n".join([*lines, *_said(found)])


def _moves(found: Rezoning) -> dict[tuple[str, str], list[str]]:
    """Names of the pulls by earlier zone and zone of now."""
    moves: dict[tuple[str, str], list[str]] = {}
    for one in found["moved"]:
        moves.setdefault((one["before"], one["now"]), []).append(one["name"])
    return moves


def _said(found: Rezoning) -> list[str]:
    changed = any(zone["before"] != zone["now"] for zone in found["zones"])
    said = [word("rz_changed" if changed else "rz_same")]
    if found["unmatched"]:
        said.append("".join(str(part) for part in fill("rz_unmatched", count=count(found["unmatched"]))))
    return said


def _outcome(outcome: Outcome | None) -> Part:
    return word("rz_absent") if outcome is None else outcome_word(outcome)


def _words(outcome: Outcome | None) -> str:
    return word("rz_absent") if outcome is None else word(outcome)
