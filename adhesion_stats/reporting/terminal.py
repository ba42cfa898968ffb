"""The short table that the command line prints: one zone per row, plain text of at most a hundred columns.

Names come from files: control characters are shown as escapes, so that none reaches the terminal, and wide characters
are given the two columns that a terminal gives them. No colour, no box characters: it also reads well in a log.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import cast

from adhesion_stats.reporting.results import Results, Rezoning, Zone, results_from
from adhesion_stats.reporting.sections.determined import determination_line
from adhesion_stats.reporting.sections.parts import (
    class_texts,
    criterion_of,
    population_lines,
    scale_of,
    sentence,
    smallest_is_bound,
)
from adhesion_stats.reporting.sections.published import reserve_lines, reserve_text
from adhesion_stats.reporting.sections.rezoned import rezoned_text
from adhesion_stats.reporting.sections.uncertainty import conformity_lines
from adhesion_stats.reporting.words import word

__all__ = [
    "GAP",
    "MOST_NAME",
    "WIDTH",
    "display_width",
    "fitted",
    "line_of",
    "rezoned_lines",
    "rezoned_rows",
    "summary_table",
    "visible",
    "wrapped",
]

WIDTH = 100  # columns
MOST_NAME = 24
_MOST_CLASS = 16
GAP = "  "


def visible(text: str) -> str:
    """The text in one line, with characters that would command a terminal shown as escapes."""
    return "".join(
        c if c.isprintable() else " " if unicodedata.category(c) == "Zs" else c.encode("unicode_escape").decode()
        for c in text
    )


def display_width(text: str) -> int:
    """How many columns a terminal gives the text (Unicode East Asian Width; combining marks take none)."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in {"W", "F"} else 1 for c in text
    )


def wrapped(text: str, width: int) -> Iterator[str]:
    """Lines of at most ``width`` columns, broken at blanks; a word that is longer is broken where it must."""
    line = ""
    for token in text.split(" "):
        rest = token
        if display_width(token) > width:
            if line:
                yield line
                line = ""
            *full, rest = _pieces(token, width)
            yield from full
        if line and display_width(f"{line} {rest}") > width:
            yield line
            line = rest
        else:
            line = f"{line} {rest}" if line else rest
    yield line


def _pieces(text: str, width: int) -> list[str]:
    """The text cut into pieces of at most ``width`` columns each (one character at least)."""
    found: list[str] = []
    start = columns = 0
    for i, c in enumerate(text):
        more = display_width(c)
        if i > start and columns + more > width:
            found.append(text[start:i])
            start, columns = i, 0
        columns += more
    return [*found, text[start:]]


def _padded(text: str, width: int, *, right: bool = False) -> str:
    blanks = " " * max(0, width - display_width(text))
    return blanks + text if right else text + blanks


def _cells(data: Results, zone: Zone) -> tuple[str, ...]:
    pulls, summary = zone["pulls"], zone["summary"]
    required = "-" if pulls["required"] is None else str(pulls["required"])
    mean = "-" if summary["mean"] is None else _strength(data, zone, "mean", summary["mean"])
    smallest = "-" if summary["smallest"] is None else _strength(data, zone, "smallest", summary["smallest"])
    if summary["smallest"] is not None and smallest_is_bound(data, zone):
        smallest = f">= {smallest}"
    if summary["mean"] is not None and summary["mean_is_lower_bound"]:
        mean = f">= {mean}"
    counted = f"{pulls['counted']} / {required}"
    return (
        visible(zone["zone"]),
        counted,
        mean,
        smallest,
        word(zone["outcome"] or "not_asked"),
        *((visible("; ".join(class_texts(zone)) or "-"),) if _sorted(data) else ()),
        visible(
            " ".join(
                [
                    *population_lines(zone),
                    sentence(zone["reason"]),
                    *_conformity(zone),
                    *(str(one) for one in reserve_lines(zone["to_confirm"])),
                    *(str(determination_line(one)) for one in zone["determinations"]),
                ]
            )
        ),
    )


def _sorted(data: Results) -> bool:
    """Whether the contract sorts zones into classes."""
    return any(zone["classes"] for zone in data["zones"])


def _conformity(zone: Zone) -> list[str]:
    """The probability of conformity of the criterion that decides, where the reason does not say it already."""
    criterion = criterion_of(zone, zone["binding"])
    found = None if criterion is None else criterion["conformity"]
    if criterion is None or found is None or found["asked"] is not None or found["low"] is None:
        return []
    return ["".join(str(part) for part in conformity_lines(criterion)[0].parts)]


def _strength(data: Results, zone: Zone, kind: str, value: float) -> str:
    plain = [c for c in zone["criteria"] if c["question"] == "pull-off" and c["by_failure"] is None]
    criterion = next((c for c in plain if c["kind"] == kind), None)
    return scale_of(data).compared(value, None if criterion is None else criterion["limit"]).text


def summary_table(results: Mapping[str, object]) -> str:
    """The zones as a plain table: zone, pulls counted / required, mean, smallest, decision, class where the contract
    sorts zones into classes, reason; the contract's decision last.

    At most ``WIDTH`` columns wide; ends without a line break.
    """
    data = results_from(results)
    unit = data["unit"]
    sort = ("class",) if _sorted(data) else ()
    head = ("zone", "pulls", f"mean, {unit}", f"smallest, {unit}", "decision", *sort, "reason")
    rows = [_cells(data, zone) for zone in data["zones"]]
    last = len(head) - 1
    widths = [max(display_width(row[i]) for row in (head, *rows)) for i in range(last)]
    for i in (0, *range(5, last)):  # names come from files and may be long
        widths[i] = min(widths[i], MOST_NAME if i == 0 else _MOST_CLASS)
    widths.append(WIDTH - sum(widths) - len(GAP) * len(widths))
    lines = [line_of(head, widths), GAP.join("-" * width for width in widths)]
    for row in rows:
        columns = [
            [text] if 0 < i < 5 else list(wrapped(text, width))
            for i, (text, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines += [line_of(parts, widths) for parts in zip_longest(*columns, fillvalue="")]
    decision = data["decision"]
    whole = f"{word('the_contract')} {word('is_' + decision['outcome'])}. {visible(sentence(decision['reason']))}"
    if decision["to_confirm"]:
        whole = f"{whole} {visible(reserve_text(decision['to_confirm']))}"
    return "\n".join([*lines, "", *wrapped(whole, WIDTH)])


def rezoned_lines(results: Mapping[str, object], since: Mapping[str, object] | None) -> str:
    """Pulls that stand in another zone than planned, or than in the record that is revised; "" where none does.

    Begins with a blank line and ends with a line break.
    """
    found = [*results_from(results)["rezoned"], *(() if since is None else (cast("Rezoning", since),))]
    return "".join("\n" + "".join(f"{text}\n" for text in rezoned_rows(one)) for one in found)


def rezoned_rows(found: Rezoning) -> Iterator[str]:
    """Lines of at most ``WIDTH`` columns that name the pulls that moved and the decisions that change."""
    for text in rezoned_text(found).split("\n"):
        plain = visible(text)
        indent = " " * (len(plain) - len(plain.lstrip()))
        for k, part in enumerate(wrapped(plain.strip(), WIDTH - len(indent) - 2)):
            yield f"{indent}{'  ' * bool(indent and k)}{part}"


def fitted(text: str, width: int) -> str:
    """The text in at most ``width`` columns; what is cut off is marked by an ellipsis.

    >>> fitted("Inlet deck", 7)
    'Inlet …'
    """
    if display_width(text) <= width:
        return text
    return (_pieces(text, width - 1)[0] if width > 1 else "") + "…"


def line_of(cells: Sequence[str], widths: Sequence[int], numeric: Sequence[int] = (1, 2, 3)) -> str:
    """One row of a table; the columns of ``numeric`` stand to the right."""
    padded = (
        _padded(cell, width, right=i in numeric) for i, (cell, width) in enumerate(zip(cells, widths, strict=True))
    )
    return GAP.join(padded).rstrip()
