"""Where the twin's reading of a file falls short of the record's, the record's is taken over, and each time it is said.

The twin knows few words and one shape of table. So a row that the record leaves out and that reads like a mean or a
limit of others is left out here too; a pull whose zone or failure the twin does not find is not compared. A row that
looks like any other pull is never given up: if the record leaves that out, the two differ.
Imports: the standard library and this package.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from adhesion_stats.twin.model import NotKnown, Pull, Unchecked

__all__ = ["Recorded", "reconciled"]

Place = tuple[str, int]  # sheet ("" for text files) and row
_WORD = re.compile(r"[^\W\d_]{3,}")
_STEMS = (
    "mean", "average", "mittel", "moyen", "media", "média", "promedio", "medio", "médio", "średni", "min", "max",
    "std", "dev", "desv", "écart", "ecart", "odchyl", "cov", "limit", "soll", "grenz", "anforder", "requi", "exig",
    "richiest", "fractile", "frakt", "total", "sum", "range", "spann", "varian", "n=", "x̄", "vk",
)  # fmt: skip
_SHORT = {"s", "n", "sd", "v", "cv", "vk"}


@dataclass(frozen=True, slots=True)
class Recorded:
    """What the record says of a row, as far as it is needed to read on."""

    zone: str
    in_doubt: bool
    against_method: bool
    failed: bool  # whether a failure composition is recorded


def reconciled(pulls: Sequence[Pull], recorded: Mapping[Place, Recorded], said: list[Unchecked]) -> list[Pull]:
    """The pulls with what is taken over; what that is goes to ``said``. Raises ``NotKnown`` where nothing fits."""
    if recorded and not any((pull.sheet, pull.row) in recorded for pull in pulls):
        raise NotKnown("headings")
    zones = {one.zone for one in recorded.values()}
    found = []
    for pull in pulls:
        record = recorded.get((pull.sheet, pull.row))
        if record is not None:
            found.append(_with_record(pull, record, said))
        elif _sums_up(pull, zones):
            said.append(Unchecked(f"row {pull.row}", "row_left_out", " ".join(pull.texts)[:60]))
        else:
            found.append(pull)
    return found


def _sums_up(pull: Pull, zones: set[str]) -> bool:
    """Whether a row that the record leaves out reads like a mean, a limit or a remark, not like another pull."""
    if pull.value is None or (pull.zone not in zones and not pull.id):
        return True
    words = [text.lower() for text in pull.texts if text != pull.zone]
    name = pull.id.lower()
    return (
        bool(_WORD.search(name))
        or name.split(" ")[0].strip(".:=") in _SHORT
        or any(stem in text for text in words for stem in _STEMS)
    )


def _with_record(pull: Pull, record: Recorded, said: list[Unchecked]) -> Pull:
    unread = list(pull.unread)
    if any(one.code == "zone_blank" for one in unread) or (pull.zone_unnamed and pull.zone != record.zone):
        unread = [*unread, Unchecked(f"row {pull.row}", "zone_blank")]
        pull = replace(pull, zone=record.zone)
    if record.failed and pull.shares is None and not unread:
        unread.append(Unchecked(f"row {pull.row}", "failure_taken"))
    if record.against_method:
        said.append(Unchecked(pull.name, "method_taken"))
    if record.in_doubt:
        said.append(Unchecked(pull.name, "doubt_taken"))
        unread = [one for one in unread if one.code in {"zone_blank", "failure_taken"}]  # its value is unknown anyhow
    return replace(
        pull,
        unread=tuple(dict.fromkeys(unread)),
        in_doubt=record.in_doubt,
        against_method=record.against_method,
    )
