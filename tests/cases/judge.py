"""Judges a reading against the outcome that is right for a file: values, bounds, failures, dates, and what must be
said.

Outcomes: READ (no question, right values), READ+NOTE (also says everything that must be said), EITHER (READ+NOTE or
REFUSE),
REFUSE (no result; names file, place, column and text).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.messages import Severity
from adhesion_stats.pulls import UNNAMED_ZONE, Bound
from adhesion_stats.wording import say_with_place

if TYPE_CHECKING:
    from adhesion_stats.intake import Reading

Said = Callable[[str], bool]


@dataclass(frozen=True)
class Case:
    """What is right for one file. ``says``: texts that must occur in what is shown; ``refusal``: those of a refusal."""

    outcome: str
    readings: Sequence[Mapping[str, object]] = ()
    says: Sequence[str] = ()
    refusal: Sequence[str] = ()
    notes: Mapping[str, object] = field(default_factory=dict)


def shown(reading: Reading) -> str:
    """Everything that a user sees about a reading by default."""
    return "\n".join(say_with_place(message) for message in reading.messages)


def judge(case: Case, read: Callable[[], Reading], file: str) -> list[str]:
    """Return what is wrong (empty: the case passes)."""
    try:
        reading = read()
    except UnusableReadings as refused:
        return _judge_refusal(case, refused, file)
    if case.outcome == "REFUSE":
        return ["read, though it must be refused"]
    return _judge_values(case, reading) + [f"not said: {text!r}" for text in case.says if text not in shown(reading)]


def _judge_refusal(case: Case, refused: UnusableReadings, file: str) -> list[str]:
    text = str(refused)
    if case.outcome not in {"REFUSE", "EITHER"}:
        return [f"refused, though it must be read: {text}"]
    wrong = [f"refusal does not say: {part!r}" for part in case.refusal if part not in text]
    errors = [message for message in refused.messages if message.severity is Severity.ERROR]
    if not errors:
        wrong.append("a refusal without an error")
    wrong += [f"{message.code}: file not named" for message in errors if message.place.file != file]
    if not any(message.place.row is not None and message.place.column for message in errors):
        wrong.append("no error names row and column")
    return wrong


def _judge_values(case: Case, reading: Reading) -> list[str]:
    pulls = reading.pulls
    if len(pulls) != len(case.readings):
        return [f"{len(pulls)} pulls, expected {len(case.readings)}"]
    wrong: list[str] = []
    places = {(pulls.zone[i], pulls.id[i], k): i for k, i in _numbered(pulls.zone, pulls.id)}
    seen: dict[tuple[str, str], int] = {}
    for right in case.readings:
        zone = str(right["zone"])
        zone = UNNAMED_ZONE if zone == "(unnamed)" else zone
        name = str(right["id"])
        k = seen.get((zone, name), 0)
        seen[zone, name] = k + 1
        i = places.get((zone, name, k))
        if i is None:
            wrong.append(f"no pull {name!r} in zone {zone!r}")
            continue
        wrong += [f"{zone}/{name}: {problem}" for problem in _judge_pull(right, reading, i)]
    return wrong


def _numbered(zones: Sequence[str], ids: Sequence[str]) -> list[tuple[int, int]]:
    seen: dict[tuple[str, str], int] = {}
    out = []
    for i, key in enumerate(zip(zones, ids, strict=True)):
        out.append((seen.get(key, 0), i))
        seen[key] = seen.get(key, 0) + 1
    return out


def _judge_pull(right: Mapping[str, object], reading: Reading, i: int) -> list[str]:
    pulls = reading.pulls
    wrong: list[str] = []
    value, bound = float(pulls.strength_mpa[i]), Bound(int(pulls.bound[i]))
    expected = right["strength_MPa"]
    if right.get("flagged"):
        if not pulls.doubts[i]:
            wrong.append("must be flagged")
    elif expected is None:
        if not math.isnan(value) or bound is not Bound.NOTHING:
            wrong.append(f"value {value} ({bound.name}), expected none")
    else:
        tolerance = float(str(right.get("tolerance", 0.0005)))
        if not abs(value - float(str(expected))) <= tolerance:
            wrong.append(f"value {value}, expected {expected}")
        wanted = {"at least": Bound.AT_LEAST, "at most": Bound.AT_MOST}.get(
            str(right.get("qualifier", "")), Bound.EXACT
        )
        if bound is not wanted:
            wrong.append(f"bound {bound.name}, expected {wanted.name}")
        if pulls.doubts[i]:
            wrong.append(f"doubted: {pulls.doubts[i]}")
    return wrong + _judge_facts(right, reading, i)


def _judge_facts(right: Mapping[str, object], reading: Reading, i: int) -> list[str]:
    """What is wrong with composition and date of a pull."""
    pulls = reading.pulls
    wrong: list[str] = []
    if "mode" in right:
        mode = right["mode"]
        found = pulls.failure(i)
        if mode == "not accepted":
            if found:
                wrong.append(f"composition {found}, expected none")
        elif found != mode:
            wrong.append(f"composition {found}, expected {mode}")
    if right.get("counts_as_reading") is False and right["strength_MPa"] is not None:
        glue = sum(share for code, share in pulls.failure(i).items() if code in {"-/Y", "Y", "Y/Z"})
        if glue <= 0:
            wrong.append("no share of the dolly adhesive, so nothing can tell that it does not count")
    if "date" in right and pulls.date[i] != (right["date"] or ""):
        wrong.append(f"date {pulls.date[i]!r}, expected {right['date']!r}")
    return wrong
