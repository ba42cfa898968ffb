"""Words for messages: one table of sentences per room, one function that fills them.

A template is a :meth:`str.format` text over the message's facts, e.g. ``"{zone} has {n} pulls, {required} are required"``.
``[row was|rows were]`` is the first where the fact ``count`` is 1, else the second; ``[~a|b]`` is ``a`` where the fact
``unknown`` is above 0, else ``b``, in which ``{elsewhere}`` says where that lies which is not known.
Tuples are joined with commas. A code without a template is a fault of ours and raises ``KeyError``; a test keeps every
code that the package can emit in a table.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.wording.acceptance import ACCEPTANCE, ELSEWHERE
from adhesion_stats.wording.assessment import ASSESSMENT
from adhesion_stats.wording.audit import AUDIT
from adhesion_stats.wording.intake import INTAKE
from adhesion_stats.wording.judging import DOUBTS, JUDGING
from adhesion_stats.wording.planning import PLANNING
from adhesion_stats.wording.record import RECORD
from adhesion_stats.wording.terms import TERMS

__all__ = ["SENTENCES", "message_of", "say", "say_dict", "say_place", "say_with_place"]

SENTENCES: dict[str, str] = {
    **INTAKE,
    **TERMS,
    **JUDGING,
    **ACCEPTANCE,
    **ASSESSMENT,
    **PLANNING,
    **RECORD,
    **AUDIT,
}

_LONGEST = 1000  # characters of one text of a file in a message
_KNOWN = re.compile(r"\[~([^\[\]|]*)\|([^\[\]|]*)\]")
_NUMBER = re.compile(r"\[([^\[\]|]*)\|([^\[\]|]*)\]")


def _printable(text: str) -> str:
    """Text of a file shown as text: control characters (terminal escapes among them) become visible escapes, and of a
    very long one the beginning stands for all.
    """
    shown = "".join(c if c.isprintable() or c == " " else repr(c)[1:-1] for c in text[:_LONGEST])
    return shown if len(text) <= _LONGEST else f"{shown}… ({len(text)} characters)"


def _plain(fact: Fact) -> object:
    if isinstance(fact, tuple):
        return ", ".join(_printable(part) for part in fact)
    if isinstance(fact, str):
        return _printable(fact)
    return fact


def _doubts(fact: Fact) -> object:
    """Codes of doubts in words."""
    return ", ".join(DOUBTS.get(code, code) for code in fact) if isinstance(fact, tuple) else fact


def say(message: Message) -> str:
    """Return the message as one English sentence (or a few), without its place."""
    one = message.facts.get("count") == 1
    here = message.facts.get("unknown") != 0
    # The choices between one and many, and here and elsewhere, are made before any text of a file comes in.
    template = _KNOWN.sub(lambda found: found[1] if here else found[2], SENTENCES[message.code])
    template = _NUMBER.sub(lambda found: found[1] if one else found[2], template)
    facts = {name: _doubts(fact) if name == "doubts" else _plain(fact) for name, fact in message.facts.items()}
    facts["elsewhere"] = ELSEWHERE.get(str(facts.get("elsewhere")), "")
    return template.format(**facts)


def message_of(table: Mapping[str, object]) -> Message:
    """Return the message that ``Message.as_dict`` wrote (without the name of its file)."""
    facts = table["facts"]
    sheet, row, column = table["sheet"], table["row"], table["column"]
    assert isinstance(facts, Mapping)
    return Message(
        str(table["code"]),
        Severity(str(table["severity"])),
        Place(
            None,
            sheet if isinstance(sheet, str) else None,
            row if isinstance(row, int) else None,
            column if isinstance(column, str) else None,
        ),
        {name: tuple(fact) if isinstance(fact, list) else fact for name, fact in facts.items()},
    )


def say_dict(table: Mapping[str, object]) -> str:
    """Return the sentence of a message stored as a dictionary."""
    return say(message_of(table))


def say_place(place: Place) -> str:
    """Return the place in words: ``readings.xlsx, sheet "Deck", row 7, column "Load, kN"`` (empty when nothing is known)."""
    parts: list[str] = []
    if place.file:
        parts.append(_printable(place.file))
    if place.sheet:
        parts.append(f'sheet "{_printable(place.sheet)}"')
    if place.row is not None:
        parts.append(f"row {place.row}")
    if place.column:
        parts.append(f'column "{_printable(place.column)}"')
    return ", ".join(parts)


def say_with_place(message: Message) -> str:
    """Return ``place: sentence``."""
    place = say_place(message.place)
    return f"{place}: {say(message)}" if place else say(message)
