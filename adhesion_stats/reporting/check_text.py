"""What the command ``check`` prints: what was read, as a preview and by zone, and the findings by kind.

Plain text of at most a hundred columns; text of a file is shown as text (see ``terminal``). Nothing is left out without
saying so: rows that are not printed are named by their numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from adhesion_stats.messages import Message, Severity
from adhesion_stats.reporting.codes import in_order
from adhesion_stats.reporting.numbers import percent
from adhesion_stats.reporting.terminal import GAP, MOST_NAME, WIDTH, display_width, fitted, line_of, visible, wrapped
from adhesion_stats.reporting.words import word
from adhesion_stats.wording import say_dict, say_with_place

__all__ = ["check_text"]

PullFacts = Mapping[str, object]

_STANDINGS = ("counted", "invalid", "excluded", "replaced", "lost")
_PREVIEW = 10  # pulls shown
_ALIKE = 5  # findings of one kind printed in full
_MOST = {"row": 10, "zone": 16, "id": 10, "entered": 16}  # columns of the terminal
_BOUND_SIGNS = {"at_least": ">= ", "at_most": "<= "}


def check_text(file: str, pulls: Sequence[PullFacts], messages: Sequence[Message], *, unit: str) -> str:
    """What was read from a file and what is wrong with it.

    Parameters
    ----------
    file
        Name of the readings file.
    pulls
        The pulls as results.json holds them.
    messages
        The findings, in the order in which they are to stand.
    unit
        In which the file gives strengths (or loads).

    Returns
    -------
    str
        Lines of at most ``WIDTH`` columns, without a line break at the end.
    """
    zones = len({str(pull["zone"]) for pull in pulls})
    lines = [*wrapped(word("check_head").format(file=visible(file), pulls=len(pulls), zones=zones), WIDTH)]
    if pulls:
        lines += ["", *_preview(pulls, unit), "", *_by_zone(pulls)]
    lines += _not_counted(pulls)
    return "\n".join([*lines, "", *_findings(messages)])


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], numeric: Sequence[int]) -> list[str]:
    widths = [max(display_width(row[i]) for row in (head, *rows)) for i in range(len(head))]
    rule = GAP.join("-" * width for width in widths)
    return [line_of(head, widths, numeric), rule, *(line_of(row, widths, numeric) for row in rows)]


def _preview(pulls: Sequence[PullFacts], unit: str) -> list[str]:
    """The first pulls, as written and as understood."""
    shown = pulls[:_PREVIEW]
    sheets = len({str(pull["sheet"]) for pull in pulls}) > 1
    written = fitted(word("check_written").format(unit=visible(unit)), _MOST["entered"])
    head = ("row", "zone", "id", written, "MPa", "failure", "status")
    rows = []
    for pull in shown:
        strength, failure = pull["strength"], pull["failure"]
        assert isinstance(failure, Mapping)
        place = f"{visible(str(pull['sheet']))}, {pull['row']}" if sheets else str(pull["row"])
        sign = _BOUND_SIGNS.get(str(pull["bound"]), "")
        rows.append(
            [
                fitted(place, _MOST["row"]),
                fitted(visible(str(pull["zone"])), _MOST["zone"]),
                fitted(visible(str(pull["id"])) or "-", _MOST["id"]),
                fitted(visible(str(pull["entered"])) or "-", _MOST["entered"]),
                f"{sign}{strength:.3f}" if isinstance(strength, float) else "-",
                visible(", ".join(f"{code} {percent(failure[code]).text} %" for code in in_order(failure))) or "-",
                word(f"status_{pull['status']}"),
            ]
        )
    taken = sum(max(display_width(row[i]) for row in (head, *rows)) for i in (0, 1, 2, 3, 4, 6)) + 6 * len(GAP)
    for row in rows:
        row[5] = fitted(row[5], WIDTH - taken)
    more = len(pulls) - len(shown)
    return _table(head, rows, (0, 3, 4)) + ([word("check_more").format(n=more)] if more else [])


def _by_zone(pulls: Sequence[PullFacts]) -> list[str]:
    """Pulls by zone and standing."""
    zones: dict[str, dict[str, int]] = {}
    for pull in pulls:
        counts = zones.setdefault(visible(str(pull["zone"])), dict.fromkeys(_STANDINGS, 0))
        counts[str(pull["status"])] += 1
    shown = [name for name in _STANDINGS if name == "counted" or any(counts[name] for counts in zones.values())]
    head = (word("c_zone").lower(), "pulls", *(word(f"status_{name}") for name in shown))
    rows = [(zone, str(sum(counts.values())), *(str(counts[name]) for name in shown)) for zone, counts in zones.items()]
    widths = [max(display_width(row[i]) for row in (head, *rows)) for i in range(len(head))]
    widths[0] = min(widths[0], MOST_NAME)
    numbers = range(1, len(head))
    lines = [line_of(head, widths, numbers), GAP.join("-" * width for width in widths)]
    for row in rows:
        first, *more = wrapped(row[0], widths[0])
        lines += [line_of((first, *row[1:]), widths, numbers), *more]
    return lines


def _not_counted(pulls: Sequence[PullFacts]) -> list[str]:
    """Each pull that does not count, by name, with the reasons."""
    found: list[list[str]] = []
    for pull in pulls:
        reasons = pull["reasons"]
        if pull["status"] != "counted" and isinstance(reasons, list):
            because = "; ".join(say_dict(reason) for reason in reasons)
            status = word(f"status_{pull['status']}")
            text = visible(f"{pull['zone']}, {pull['name']} ({status}): {because}")
            found.append(list(wrapped(text, WIDTH - 4)))
    if not found:
        return []
    lines = [line for first, *more in found for line in (f"  {first}", *(f"    {rest}" for rest in more))]
    return ["", word("check_not_counted").format(n=len(found)), *lines]


def _many(messages: Sequence[Message]) -> str:
    """How many rows some findings are about, else how many zones, else that they are about the file."""
    counts = [message.facts.get("count", 1 if message.place.row is not None else 0) for message in messages]
    rows = sum(count for count in counts if isinstance(count, int))
    zones = len({message.facts["zone"] for message in messages if "zone" in message.facts})
    if not rows and not zones:
        return word("check_file")
    n, name = (rows, "row") if rows else (zones, "zone")
    return word(f"check_{name}" if n == 1 else f"check_{name}s").format(n=n)


def _findings(messages: Sequence[Message]) -> list[str]:
    """The findings by kind, the worst first; of many alike the first in full and the places of the others."""
    if not messages:
        return [word("findings_none")]
    kinds: dict[tuple[Severity, str], list[Message]] = {}
    for message in messages:
        kinds.setdefault((message.severity, message.code), []).append(message)
    order = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}
    lines = [word("check_findings").format(n=len(messages), counts=_counts(messages))]
    for (severity, code), alike in sorted(kinds.items(), key=lambda item: order[item[0][0]]):
        lines += ["", f"{word(f'severity_{severity.value}')}, {_many(alike)} [{code}]"]
        for message in alike[:_ALIKE]:
            first, *more = wrapped(visible(say_with_place(message)), WIDTH - 4)
            lines += [f"  {first}", *(f"    {rest}" for rest in more)]
        rest = alike[_ALIKE:]
        if rest:
            places = ", ".join(str(message.place.row or message.place.sheet or "-") for message in rest)
            text = word("check_alike").format(n=len(rest), places=visible(places))
            first, *more = wrapped(text, WIDTH - 4)
            lines += [f"  {first}", *(f"    {part}" for part in more)]
    return lines


def _counts(messages: Sequence[Message]) -> str:
    """2 errors, 1 warning, 5 notes."""
    parts = []
    for severity in (Severity.ERROR, Severity.WARNING, Severity.NOTE):
        n = sum(message.severity is severity for message in messages)
        name = word(f"severity_{severity.value}")
        parts += [f"{n} {name}" if n == 1 else f"{n} {name}s"] if n else []
    return ", ".join(parts)
