"""What a reader must know, as data: a code, its facts, and the place it is about. No sentences live here.

``adhesion_stats.wording`` turns a code and its facts into a sentence; a language is a set of such tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Fact", "Message", "Place", "Severity", "worst_first"]

Fact = str | int | float | bool | tuple[str, ...] | None


class Severity(StrEnum):
    """How much a message matters."""

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a file: all parts optional. ``column`` is the heading as written (or a cell address such as ``C7``)."""

    file: str | None = None
    sheet: str | None = None
    row: int | None = None
    column: str | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """One thing to know: ``code`` (snake_case), ``facts`` (plain values by name), severity, place."""

    code: str
    severity: Severity = Severity.NOTE
    place: Place = field(default_factory=Place)
    facts: Mapping[str, Fact] = field(default_factory=dict)

    def as_dict(self) -> dict[str, object]:
        """Plain dictionary for JSON (facts sorted by name; tuples become lists)."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "sheet": self.place.sheet,
            "row": self.place.row,
            "column": self.place.column,
            "facts": {
                name: list(fact) if isinstance(fact, tuple) else fact for name, fact in sorted(self.facts.items())
            },
        }


_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def worst_first(messages: list[Message] | tuple[Message, ...]) -> list[Message]:
    """Return the messages ordered by severity, then by place; stable otherwise."""
    return sorted(messages, key=lambda m: (_ORDER[m.severity], m.place.sheet or "", m.place.row or 0))
