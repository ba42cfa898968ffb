"""Which pulls count: lost, without value, disputed, excluded in writing, broken at the dolly adhesive, retested.

A retest replaces a pull only where that pull is invalid by rule, lost, or excluded for a written reason, and only where
the retest itself counts. A retest of a valid pull does not count: the first pull stands, and the report shows what the
retest would change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Reason, Standing
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Exclusion, Specification

__all__ = ["Judgement", "judge"]


@dataclass(frozen=True)
class Judgement:
    """A standing and what had to be said on the way."""

    standing: Standing
    messages: tuple[Message, ...]


def judge(pulls: Pulls, specification: Specification, settled: Settled) -> Judgement:
    """Return the standing of each pull under one way to settle the silent rules.

    A pull whose adhesive share reaches ``settled.glue_from_percent`` is discarded or counts as a lower bound; one with
    no recorded failure is taken as no glue break (the missing record is said by intake).
    """
    n = len(pulls)
    standing = Standing(np.zeros(n, np.int64), ("",) * n, np.zeros(n, np.int64), np.zeros(n, np.bool_))
    glue_share = pulls.share(specification.glue.codes)
    no_value = pulls.bound == Bound.NOTHING
    broke_in_glue = np.nan_to_num(glue_share, nan=0.0) >= settled.glue_from_percent
    broke_in_glue |= no_value & (np.nan_to_num(glue_share, nan=0.0) > 0)  # no value, and the glue is named as the cause
    standing = standing.with_reason(pulls.lost, Reason.LOST)
    standing = standing.with_reason(no_value & ~pulls.lost & ~broke_in_glue, Reason.NO_VALUE)
    standing = standing.with_reason(np.array([bool(d) for d in pulls.doubts], np.bool_), Reason.DISPUTED)
    if settled.glue_then == "discard":
        standing = standing.with_reason(broke_in_glue, Reason.GLUE)
    else:
        standing = standing.with_reason(broke_in_glue & no_value, Reason.GLUE)
    at_least = broke_in_glue & ~no_value & (standing.reasons == 0)
    standing = Standing(standing.reasons, standing.who, standing.flags, at_least)
    messages: list[Message] = []
    standing = _excluded(pulls, specification.exclusions, standing, messages)
    standing = _retested(pulls, standing, messages, instead=settled.retest_instead)
    return Judgement(standing, tuple(messages))


def _place(pulls: Pulls, i: int) -> Place:
    return Place(pulls.file, pulls.sheet[i] or None, int(pulls.row[i]))


def _excluded(pulls: Pulls, exclusions: tuple[Exclusion, ...], standing: Standing, messages: list[Message]) -> Standing:
    """Add the exclusions that are written in the readings file or in the specification."""
    written = np.array([bool(text) for text in pulls.exclusion], np.bool_)
    standing = standing.with_reason(written, Reason.EXCLUDED, who="readings file")
    for exclusion in exclusions:
        hit = np.array(
            [
                name == exclusion.id and (not exclusion.zone or zone == exclusion.zone)
                for name, zone in zip(pulls.id, pulls.zone, strict=True)
            ],
            np.bool_,
        )
        if hit.sum() != 1:
            facts: Mapping[str, Fact] = {"id": exclusion.id, "zone": exclusion.zone, "found": int(hit.sum())}
            messages.append(Message("exclusion_not_found", Severity.WARNING, Place(pulls.file), facts))
        else:
            standing = standing.with_reason(hit, Reason.EXCLUDED, who=exclusion.who)
    return standing


def _original(pulls: Pulls, i: int) -> int | None:
    """Index of the pull that pull ``i`` repeats: the one of that id in the same zone, else the only one of that id."""
    named = [j for j, name in enumerate(pulls.id) if name == pulls.retest_of[i] and j != i]
    here = [j for j in named if pulls.zone[j] == pulls.zone[i]]
    if len(here) == 1:
        return here[0]
    return named[0] if len(named) == 1 and not here else None


def _retested(pulls: Pulls, standing: Standing, messages: list[Message], *, instead: bool) -> Standing:
    """Let each retest, in file order, replace its pull where that pull is not valid."""
    one: NDArray[np.bool_] = np.zeros(len(pulls), np.bool_)
    for i, name in enumerate(pulls.retest_of):
        if not name:
            continue
        j = _original(pulls, i)
        me, it = one.copy(), one.copy()
        me[i] = True
        if j is None:
            facts: Mapping[str, Fact] = {"pull": pulls.name(i), "original": name}
            messages.append(Message("retest_of_unknown", Severity.WARNING, _place(pulls, i), facts))
            continue
        it[j] = True
        facts = {"pull": pulls.name(i), "original": pulls.name(j), "zone": pulls.zone[i]}
        before = Reason(int(standing.reasons[j]))
        counts = not standing.reasons[i]
        if before & Reason.REPLACED:
            if counts:
                standing = standing.with_reason(me, Reason.RETEST_OF_VALID)
                messages.append(Message("retest_of_replaced", Severity.WARNING, _place(pulls, i), facts))
        elif before:
            if counts:
                standing = standing.with_reason(it, Reason.REPLACED)
                messages.append(Message("retest_replaces", Severity.NOTE, _place(pulls, i), facts))
        elif instead:
            if counts:
                standing = standing.with_reason(it, Reason.REPLACED)
        elif counts:
            standing = standing.with_reason(me, Reason.RETEST_OF_VALID)
            messages.append(Message("retest_of_valid", Severity.WARNING, _place(pulls, i), facts))
    return standing
