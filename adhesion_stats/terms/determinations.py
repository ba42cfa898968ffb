"""What an engineer decided all the same, as the specification's file records it: beside the decision, never over it.

::

    [[determination]]
    zone = "Screen floor"
    decided = "accepted by concession"
    about = "does not conform"      # the decision that it was made about; optional
    who = "The supervising engineer"
    when = 2026-05-04               # a date, or a text
    why = "Loads there stay below a quarter of the design load; letter of 4 May."

Imports: terms.checker. Must not import anything above floor 1.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from adhesion_stats.terms.checker import Checker

__all__ = ["Decided", "Determination", "determinations"]

Decided = Literal["conforms", "does not conform", "undetermined"]
_KEYS = ("zone", "decided", "about", "who", "when", "why")
_NEEDED = {
    "zone": "the zone that it is about",
    "decided": "what was decided",
    "who": "who decided it",
    "when": "the date on which it was decided",
    "why": "the grounds",
}


@dataclass(frozen=True, slots=True)
class Determination:
    """What ``who`` decided about ``zone`` on the day ``when``, and why.

    ``about`` is the computed decision that it was made about, None where the file does not say.
    """

    zone: str
    decided: str
    who: str
    when: str
    why: str
    about: Decided | None = None


def determinations(check: Checker, table: Mapping[str, object]) -> tuple[Determination, ...]:
    """Return the determinations of a specification's table; each problem is kept in ``check``."""
    found: list[Determination] = []
    for i, entry in enumerate(check.tables(table, "determination", "determination"), 1):
        path = f"determination[{i}]"
        check.keys(entry, path, _KEYS)
        texts = {name: _needed(check, entry, name, f"{path}.{name}", what) for name, what in _NEEDED.items()}
        about = check.choice(entry, "about", f"{path}.about", get_args(Decided))
        found.append(Determination(**texts, about=_decided(about)))
    return tuple(found)


def _needed(check: Checker, entry: Mapping[str, object], name: str, path: str, what: str) -> str:
    if name not in entry:
        check.problem("spec_missing_key", path, what=what)
        return ""
    value = entry[name]
    if name == "when" and isinstance(value, dt.date):  # a date with a time of day is one too
        return value.isoformat() if not isinstance(value, dt.datetime) else value.isoformat(" ", "minutes")
    text = check.text(entry, name, path)
    if text == "":
        check.problem("spec_empty", path)
    return text or ""


def _decided(text: str | None) -> Decided | None:
    return next((word for word in get_args(Decided) if word == text), None)
