"""The risk of a rule as one HTML page that needs nothing else: rules in words, their points, table, curves in a figure.

From the facts of ``planning.risk`` alone; same facts, same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl
import numpy as np
from numpy.typing import NDArray

from adhesion_stats.reporting.figures.operating import plot_operating_characteristic
from adhesion_stats.reporting.figures.svg import SETTINGS, axes_svg
from adhesion_stats.reporting.model import (
    Block,
    Column,
    Document,
    Facts,
    Figure,
    Items,
    Line,
    Paragraph,
    Row,
    Section,
    Table,
)
from adhesion_stats.reporting.page import document_page
from adhesion_stats.reporting.risk_columns import HELD, probability, risk_columns, strength, values
from adhesion_stats.reporting.risk_text import asked_sentence, assumptions, before_table, part_sentences, zones_named
from adhesion_stats.reporting.sections.parts import cell, line, table
from adhesion_stats.reporting.terminal import visible
from adhesion_stats.reporting.words import word

__all__ = ["render_risk", "risk_document", "risk_svg"]

Part = Mapping[str, Any]
_SIDE_BY_SIDE = (0.10, 0.50, 0.95)


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A curve as the figure takes it."""

    mean_mpa: NDArray[np.float64]
    conforms: NDArray[np.float64]
    does_not_conform: NDArray[np.float64]
    undetermined: NDArray[np.float64]


def render_risk(facts: Part) -> str:
    """The page of what ``planning.risk.risk_facts`` returned."""

    def svg(figure: Figure, narrow: bool) -> str:
        return risk_svg(facts, int(figure.zones[0]), narrow=narrow)

    return document_page(risk_document(facts), svg, skip=word("risk_page_skip"))


def risk_document(facts: Part) -> Document:
    """The document: one section a part, what is assumed, cautions."""
    parts: Sequence[Part] = facts["parts"]
    several = len(parts) > 1
    rest: tuple[Block, ...] = (
        Items("", tuple(line(text) for text in assumptions(facts["assumed"], facts["unit"]))),
        Paragraph((word("risk_cautions").format(seed=facts["assumed"]["seed"]),), role="warning"),
    )
    return Document(
        language=word("language"),
        title=facts["title"],
        subtitle=word("risk_page"),
        banner=word("plan_invented") if facts["invented"] else "",
        head=Facts(
            tuple(
                (word(key), cell(visible(name)))
                for key, name in (("risk_page_file", facts["file"]), ("risk_page_other", facts["against"]))
                if name
            ),
            role="head",
        ),
        sections=(
            *(_section(facts, i, several=several) for i in range(len(parts))),
            Section(word("risk_page_assumed"), "assumed", rest),
        ),
    )


def _section(facts: Part, i: int, *, several: bool) -> Section:
    part: Part = facts["parts"][i]
    unit: str = facts["unit"]
    stage = word("risk_stage").format(stage=part["stage"]) if part["stage"] else ""
    blocks: list[Block] = []
    if part["against"] is None:
        blocks.append(Paragraph((asked_sentence(part),), role="lead"))
    else:
        blocks.append(_side_by_side(facts, part, unit))
    blocks += [Paragraph((text,)) for text in before_table(part)]
    blocks.append(_figure(part, i, unit))
    blocks.append(Items("", tuple(line(text) for text in part_sentences(part, facts, unit))))
    return Section(f"{zones_named(part['zones'], several=several)}{stage}", f"risk-{i + 1}", tuple(blocks))


def _side_by_side(facts: Part, part: Part, unit: str) -> Table:
    """Both rules in their own words, their numbers of pulls, their points, and where they differ most."""
    rules: tuple[Part, Part] = (part, part["against"])

    def point(rule: Part, wanted: float) -> str:
        mean = next(p["mean_mpa"] for p in rule["accepted_at"] if p["probability"] == wanted)
        return word("risk_no_mean") if mean is None else strength(mean, unit)

    rows = [
        (word("risk_row_asked"), *(asked_sentence(rule).split("; ", 1)[1] for rule in rules)),
        (word("risk_row_values"), *(values(rule) for rule in rules)),
        *(
            (word(f"risk_row_{int(100 * wanted)}"), *(point(rule, wanted) for rule in rules))
            for wanted in _SIDE_BY_SIDE
        ),
        *(
            (
                word("risk_row_differ").format(mean=strength(one["mean_mpa"], unit)),
                probability(one["first"]),
                probability(one["second"]),
            )
            for one in part["differences"]
        ),
    ]
    columns = (
        Column(""),
        Column(visible(facts["file"])),
        Column(visible(facts["against"])),
    )
    return table(word("risk_side_caption"), columns, [Row(tuple(cell(text) for text in row)) for row in rows])


def _figure(part: Part, i: int, unit: str) -> Figure:
    columns = risk_columns(part, unit)
    if part["against"] is not None:
        columns.append((word("risk_c_other"), [probability(row["conforms"]) for row in part["against"]["rows"]]))
    heads = tuple(Column(head, numeric=True) for head, _ in columns)
    rows = [Row(tuple(cell(text) for text in row)) for row in zip(*(cells for _, cells in columns), strict=True)]
    ends = {point["probability"]: point["mean_mpa"] for point in part["accepted_at"]}
    told = [
        word("risk_alt_point").format(p=f"{100 * p:g}{HELD}%", mean=strength(mean, unit))
        for p, mean in ends.items()
        if mean is not None
    ]
    return Figure(
        "risk",
        (str(i),),
        f"curve-{i + 1}",
        word("risk_fig"),
        Line((word("risk_fig_other" if part["against"] else "risk_fig_ladder" if part["ladder"] else "risk_fig_one"),)),
        word("risk_alt").format(unit=unit, points="; ".join(told)),
        table(word("numbers_of"), heads, rows),
    )


def risk_svg(facts: Part, i: int, *, narrow: bool = False) -> str:
    """The curves of a part as an ``<svg>`` element: both rules, or one round and the whole ladder; same bytes."""
    part: Part = facts["parts"][i]
    curve = _drawn(part["curve"])
    other: _Drawn | None = None
    names = ("", "")
    if part["against"] is not None:
        other, names = _drawn(part["against"]["curve"]), (word("risk_curve_this"), word("risk_curve_that"))
    elif part["ladder"] is not None:
        over = np.array(part["ladder"]["curve"]["conforms"])
        other = _Drawn(curve.mean_mpa, over, 1.0 - over, np.zeros_like(over))
        names = (word("risk_curve_once"), word("risk_curve_ladder"))
    with mpl.rc_context(SETTINGS):  # type: ignore[arg-type]
        ax = plot_operating_characteristic(curve, unit=facts["unit"], other=other, names=names, narrow=narrow)
        return axes_svg(ax, name=f"risk{'-n' if narrow else ''}-{i + 1}")


def _drawn(curve: Part) -> _Drawn:
    keys = ("mean_mpa", "conforms", "does_not_conform", "undetermined")
    return _Drawn(*(np.array(curve[key], dtype=np.float64) for key in keys))
