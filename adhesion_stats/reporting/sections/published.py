"""Published rules and methods in the report: what is still to be confirmed, and the account of every number used."""

from __future__ import annotations

from collections.abc import Sequence

from adhesion_stats.reporting.model import Block, Column, Line, Paragraph, Row
from adhesion_stats.reporting.results import Criterion, MessageDict, Results, Used, UsedNumber
from adhesion_stats.reporting.sections.parts import cell, line, table
from adhesion_stats.reporting.words import fill, word

__all__ = ["published_blocks", "reserve_lines", "reserve_text", "source_lines"]


def _names(messages: Sequence[MessageDict]) -> str:
    return ", ".join(dict.fromkeys(str(message["facts"]["name"]) for message in messages))


def reserve_lines(messages: Sequence[MessageDict]) -> tuple[Line, ...]:
    """The reserve beside a decision, as one line; none where nothing is to be confirmed."""
    return (Line(fill("to_confirm_line", names=_names(messages))),) if messages else ()


def reserve_text(messages: Sequence[MessageDict]) -> str:
    """The same as text; "" where nothing is to be confirmed."""
    return "".join(str(part) for part in fill("to_confirm_line", names=_names(messages))) if messages else ""


def source_lines(criterion: Criterion) -> tuple[Line, ...]:
    """The source of a criterion, and how sure the published numbers in it are."""
    lines = [line(criterion["source"] or word("nothing"))]
    published = criterion["published"]
    if published is not None and published["sure"] is not None:
        lines.append(line(word(f"sure_{published['sure']}"), quiet=True))
        if published["to_confirm"]:
            lines.append(line(word("to_confirm_short")))
    return tuple(lines)


def published_blocks(results: Results) -> list[Block]:
    """Every published number that the specification uses, with its place, source and how sure it is."""
    rows = [_row(used, number) for used in results["published"] for number in used["numbers"]]
    if not rows:
        return []
    columns = (
        Column(word("c_published"), wide=True),
        Column(word("c_key")),
        Column(word("c_value_as_published")),
        Column(word("c_clause")),
        Column(word("c_sure"), wide=True),
    )
    return [Paragraph((word("m_published"),)), table(word("t_published"), columns, rows, anchor="published")]


def _row(used: Used, number: UsedNumber) -> Row:
    value = [line(number["value"])]
    if number["instead"] is not None:
        value.append(Line(fill("contract_says", instead=number["instead"] or word("nothing"))))
    sure = [line(word(f"sure_{number['sure']}"))]
    if number["seen"]:
        sure.append(line(number["seen"], quiet=True))
    if used["confirmed"]:
        sure.append(Line(fill("confirmed_by", confirmed=used["confirmed"])))
    elif number["instead"] is None and number["sure"] != "verified":
        sure.append(line(word("to_confirm_short")))
    return Row(
        (
            cell(used["name"], line(f"{used['document']}, {used['edition']}", quiet=True)),
            cell(number["path"]),
            cell(*value),
            cell(number["clause"] or word("nothing")),
            cell(*sure),
        )
    )
