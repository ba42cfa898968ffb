"""The second opinion as a section of an audit, and as lines for a terminal: the record's numbers beside the twin's.

From the contents of audit.json alone; nothing is computed here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TypedDict

from adhesion_stats.reporting.model import Block, Cell, Column, Paragraph, Row, Section
from adhesion_stats.reporting.numbers import count
from adhesion_stats.reporting.sections.parts import cell, table
from adhesion_stats.reporting.terminal import MOST_NAME, WIDTH, display_width, line_of, visible, wrapped
from adhesion_stats.reporting.words import word

__all__ = ["SecondOpinionDict", "second_opinion_lines", "second_opinion_section"]

_MOST_ROWS = 2000
_SHORT = ("decision", "mean", "sd", "smallest")  # what a terminal shows of each zone
_MOST_ZONES = 30


class PairDict(TypedDict):
    """A number or word of the record beside the twin's."""

    zone: str
    what: str
    detail: str
    unit: str
    recorded: str | float | None
    twin: str | float | None
    agrees: bool
    relative: float | None


class UncheckedDict(TypedDict):
    """What the twin did not check, and why."""

    what: str
    code: str
    detail: str


class SecondOpinionDict(TypedDict):
    """What the twin says, as in audit.json."""

    format_version: int
    outcome: str
    pulls: int
    pairs: list[PairDict]
    unchecked: list[UncheckedDict]


def second_opinion_section(data: SecondOpinionDict | None) -> Section:
    """Everything side by side: what differs first, what was not checked next, then zone by zone."""
    blocks: list[Block] = []
    if data is None:
        blocks.append(Paragraph((word("s_not_asked"),)))
        return Section(word("a_h_second"), "second", tuple(blocks))
    blocks += [Paragraph((word("s_what"),)), Paragraph((_answer(data),))]
    differing = [pair for pair in data["pairs"] if not pair["agrees"]]
    if differing:
        rows = [Row((cell(pair["zone"] or word("nothing")), *_cells(pair))) for pair in differing[:_MOST_ROWS]]
        blocks.append(table(word("s_t_differing"), [Column(word("s_c_zone")), *_columns()], rows))
    blocks += _not_checked(data)
    zones: dict[str, list[PairDict]] = {}
    for pair in data["pairs"][:_MOST_ROWS]:
        zones.setdefault(pair["zone"], []).append(pair)
    for zone, pairs in zones.items():
        caption = word("s_t_zone").format(zone=zone) if zone else word("s_t_contract")
        blocks.append(table(caption, _columns(), [Row(tuple(_cells(pair))) for pair in pairs]))
    if len(data["pairs"]) > _MOST_ROWS:
        blocks.append(Paragraph((word("n_more").format(n=count(len(data["pairs"]) - _MOST_ROWS)),), role="note"))
    return Section(word("a_h_second"), "second", tuple(blocks))


def _answer(data: SecondOpinionDict) -> str:
    if data["outcome"] == "not made":
        return word("s_not_made").format(why=f"{_why(data['unchecked'][0])}.")
    differing = sum(not pair["agrees"] for pair in data["pairs"])
    largest = max((pair["relative"] or 0.0 for pair in data["pairs"] if pair["agrees"]), default=0.0)
    return word("s_differs" if differing else "s_agrees").format(
        differing=count(differing),
        pairs=count(len(data["pairs"])),
        pulls=count(data["pulls"]),
        largest=f"{largest:.0e}" if largest else word("s_none"),
    )


def _columns() -> list[Column]:
    return [
        Column(word("s_c_what"), wide=True),
        Column(word("s_c_record"), tight=True),
        Column(word("s_c_twin"), tight=True),
        Column(word("s_c_difference"), tight=True),
    ]


def _cells(pair: PairDict) -> list[Cell]:
    ours, twins, difference = _texts(pair)
    return [cell(_quantity(pair)), cell(ours), cell(twins), cell(difference)]


def _quantity(pair: PairDict) -> str:
    name = f"q_{pair['what']}"
    return word(name).format(detail=pair["detail"])


def _texts(pair: PairDict) -> tuple[str, str, str]:
    """Both entries with as many digits as the eye needs to tell them apart, and their difference."""
    digits = 6 if pair["agrees"] else 12

    def text(value: str | float | None) -> str:
        if value is None:
            return word("nothing")
        shown = value if isinstance(value, str) else f"{value:.{digits}g}"
        if pair["detail"] == "at least" and not isinstance(value, str):
            shown = f"{word('at_least')}{shown}"
        return f"{shown}\N{NO-BREAK SPACE}{pair['unit']}" if pair["unit"] and not isinstance(value, str) else shown

    relative = pair["relative"]
    difference = word("s_same" if pair["agrees"] else "s_differs_word")
    if relative is not None:
        difference = f"{relative:.0e}" if relative else word("s_none")
    return text(pair["recorded"]), text(pair["twin"]), difference


def _why(one: UncheckedDict) -> str:
    return word(f"u_{one['code']}").format(detail=one["detail"])


def _counted(data: SecondOpinionDict) -> str:
    n = len(data["unchecked"])
    return word("s_unchecked_one") if n == 1 else word("s_unchecked").format(count=count(n))


def _not_checked(data: SecondOpinionDict) -> Iterator[Block]:
    if data["outcome"] == "not made":
        return
    if not data["unchecked"]:
        yield Paragraph((word("s_all_checked"),))
        return
    yield Paragraph((f"{_counted(data)}.",), role="warning")
    rows = [Row((cell(one["what"] or word("nothing")), cell(_why(one)))) for one in data["unchecked"][:_MOST_ROWS]]
    yield table(word("s_t_unchecked"), [Column(word("s_c_what")), Column(word("s_c_why"), wide=True)], rows)


def second_opinion_lines(data: SecondOpinionDict) -> Iterator[str]:
    """The answer, what differs, the main numbers of each zone side by side, and what was not checked."""
    yield from _wrapped(f"{word('a_h_second')}: {_answer(data)}")
    for pair in [pair for pair in data["pairs"] if not pair["agrees"]][:_MOST_ZONES]:
        ours, twins, difference = _texts(pair)
        zone = f"{pair['zone']}, " if pair["zone"] else ""
        yield from _wrapped(
            word("s_pair").format(what=f"{zone}{_quantity(pair)}", ours=ours, twins=twins, by=difference)
        )
    if data["outcome"] == "not made":
        return
    yield from _short(data["pairs"])
    if data["unchecked"]:
        yield f"{_counted(data)}:"
        for (why, n), names in _grouped(data["unchecked"]):
            yield from _wrapped(f"- {names}{' …' if n > 3 else ''}: {why}")


def _wrapped(text: str) -> Iterator[str]:
    return wrapped(visible(text), WIDTH)


def _short(pairs: Sequence[PairDict]) -> Iterator[str]:
    """Decision, mean and standard deviation of each zone, the record's first and the twin's below it."""
    zones: dict[str, dict[str, PairDict]] = {}
    for pair in pairs:
        if pair["what"] in _SHORT and pair["zone"]:
            zones.setdefault(pair["zone"], {})[pair["what"]] = pair
    if not zones:
        return
    titles = [word("s_c_zone"), "", word("q_decision"), word("q_mean"), word("q_sd"), word("q_smallest")]
    rows = [titles]
    for zone, known in list(zones.items())[:_MOST_ZONES]:
        sides = [[_texts(known[what])[side] if what in known else "" for what in _SHORT] for side in (0, 1)]
        rows.append([visible(zone), word("s_c_record"), *sides[0]])
        rows.append(["", word("s_c_twin"), *sides[1]])
    widths = [min(max(display_width(row[i]) for row in rows), MOST_NAME) for i in range(len(titles))]
    yield from (line_of(row, widths, numeric=(3, 4, 5)) for row in rows)
    yield word("s_more").format(count=count(len(pairs) - sum(len(known) for known in zones.values())))


def _grouped(unchecked: Sequence[UncheckedDict]) -> Iterator[tuple[tuple[str, int], str]]:
    """Each reason once, with how often it holds and the first three that it is about."""
    reasons = Counter(_why(one) for one in unchecked)
    for why, n in reasons.items():
        names = [one["what"] for one in unchecked if _why(one) == why and one["what"]][:3]
        yield (why, n), ", ".join(names) or word("nothing")
