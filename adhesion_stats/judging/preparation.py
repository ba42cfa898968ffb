"""Consistency of preparation: what a zone mixes, and what departs from the contract's method. Excludes nothing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.judging.method import DOLLY_STEP_MM, breaches
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.terms.specification import Specification

__all__ = ["preparation_messages"]

# Within one zone these must not differ without a word.
_NEVER_MIXED = ("cut", "instrument", "stage", "party", "system")


def preparation_messages(pulls: Pulls, standing: Standing, specification: Specification) -> tuple[Message, ...]:
    """Return what a reader must know about preparation: mixtures within a zone, then breaches of the named method."""
    return (
        *_mixed(pulls, standing),
        *_breaches(pulls, specification),
        *_too_few(pulls, standing, specification),
    )


def _mixed(pulls: Pulls, standing: Standing) -> list[Message]:
    messages: list[Message] = []
    counted = standing.counted
    for zone in pulls.zones:
        rows = pulls.zone.rows_of(zone)
        here = rows[counted[rows]]
        for label in _NEVER_MIXED:
            column = pulls.labels.get(label)
            if column is not None:
                values = set(column.take(here)) - {""}
                if len(values) > 1:
                    facts: dict[str, Fact] = {"zone": zone, "what": label, "values": tuple(sorted(values))}
                    messages.append(Message("mixed_preparation", Severity.WARNING, Place(pulls.file), facts))
        dolly = pulls.conditions.get("dolly_mm")
        if dolly is not None:
            sizes = np.unique(dolly[here][~np.isnan(dolly[here])])
            if sizes.size > 1 and sizes[-1] - sizes[0] > DOLLY_STEP_MM:
                facts = {"zone": zone, "what": "dolly size", "values": tuple(f"{size:.4g} mm" for size in sizes)}
                messages.append(Message("mixed_preparation", Severity.WARNING, Place(pulls.file), facts))
    return messages


def _names(pulls: Pulls, hit: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(f"{pulls.zone[i]}: {pulls.name(i)}" for i in np.flatnonzero(hit).tolist())


def _breaches(pulls: Pulls, specification: Specification) -> Iterator[Message]:
    """One message per check of the method that some pulls don't meet, naming them; one where nothing was recorded."""
    for breach in breaches(pulls, specification):
        facts: dict[str, Fact] = {"what": breach.what, "asked": breach.asked}
        if breach.hit.any():
            invalid = breach.key in specification.method.invalid
            code = "method_breach_invalid" if invalid else "method_breach"
            hit: dict[str, Fact] = {"count": int(breach.hit.sum()), "pulls": _names(pulls, breach.hit)}
            yield Message(code, Severity.WARNING, Place(pulls.file), {**facts, **hit})
        unknown = breach.unknown & ~pulls.lost  # nothing could be recorded of a pull that was never loaded
        if unknown.any():
            lacking: dict[str, Fact] = {"count": int(unknown.sum()), "total": int((~pulls.lost).sum())}
            yield Message("method_not_recorded", Severity.WARNING, Place(pulls.file), {**facts, **lacking})


def _too_few(pulls: Pulls, standing: Standing, specification: Specification) -> Iterator[Message]:
    """The zones in which fewer pulls count than the method asks for."""
    least = specification.method.least_pulls
    if least is None:
        return
    counted = standing.counted
    for zone in pulls.zones:
        count = int(counted[pulls.zone.rows_of(zone)].sum())
        if count < least:
            facts: dict[str, Fact] = {"zone": zone, "counted": count, "least": least}
            yield Message("method_too_few", Severity.WARNING, Place(pulls.file), facts)
