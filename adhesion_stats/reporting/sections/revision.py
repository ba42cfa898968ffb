"""What a revision takes the place of, why, and what changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NotRequired, TypedDict, cast

from adhesion_stats.reporting.model import Block, Column, Paragraph, Row, Section
from adhesion_stats.reporting.results import Rezoning
from adhesion_stats.reporting.sections.parts import cell, table
from adhesion_stats.reporting.sections.rezoned import rezoned_blocks
from adhesion_stats.reporting.words import fill, word

__all__ = ["revision_section"]


class _Change(TypedDict):
    what: str
    before: str
    now: str


class _Revision(TypedDict):
    format: str
    format_version: int
    revises: str
    reason: str
    changes: list[_Change]
    inputs: list[_Change]
    rezoned: NotRequired[Rezoning | None]  # absent in records of earlier versions


def revision_section(revision: Mapping[str, object]) -> Section:
    """The section, from the contents of revision.json. Raises ValueError for another format."""
    if (revision.get("format"), revision.get("format_version")) != ("adhesion_stats revision", 1):
        raise ValueError("expected the contents of a revision.json, version 1")
    data = cast("_Revision", revision)
    blocks: list[Block] = [
        Paragraph(fill("r_revises", digest=data["revises"])),
        Paragraph(fill("r_reason", reason=data["reason"])),
    ]
    if data["changes"]:
        blocks.append(_table("r_t_changes", data["changes"]))
    else:
        blocks.append(Paragraph((word("r_no_change"),)))
    rezoned = data.get("rezoned")
    if rezoned is not None:
        blocks += rezoned_blocks(rezoned)
    if data["inputs"]:
        blocks.append(_table("r_t_inputs", data["inputs"]))
    return Section(word("h_revision"), "revision", tuple(blocks))


def _table(caption: str, changes: list[_Change]) -> Block:
    rows = [Row((cell(c["what"]), cell(c["before"]), cell(c["now"]))) for c in changes]
    columns = (Column(word("a_c_what")), Column(word("r_before"), wide=True), Column(word("r_now"), wide=True))
    return table(word(caption), columns, rows)
