"""Which pulls count: lost, without value, disputed, broken at the dolly adhesive, against the method, excluded in
writing, retested.

A retest replaces a pull only where that pull is invalid by rule, lost, or excluded for a written reason, and only where
the retest itself counts. A retest of a valid pull does not count: the first pull stands, and the report shows what the
retest would change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.coded import Coded
from adhesion_stats.judging.method import invalid_by_method
from adhesion_stats.judging.silence import SAME_SHARE
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Reason, Standing
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Exclusion, Specification

__all__ = ["Judgement", "judge", "named_by", "repeated"]

_LONGEST_CHAIN = 100  # retests of retests; a contract allows two or three


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
    standing = Standing(np.zeros(n, np.int64), Coded.same("", n), np.zeros(n, np.int64), np.zeros(n, np.bool_))
    glue_share = pulls.share(specification.glue.codes)
    no_value = pulls.bound == Bound.NOTHING
    broke_in_glue = np.nan_to_num(glue_share, nan=0.0) >= settled.glue_from_percent - SAME_SHARE
    broke_in_glue |= no_value & (np.nan_to_num(glue_share, nan=0.0) > 0)  # no value, and the glue is named as the cause
    standing = standing.with_reason(pulls.lost, Reason.LOST)
    standing = standing.with_reason(no_value & ~pulls.lost & ~broke_in_glue, Reason.NO_VALUE)
    standing = standing.with_reason(pulls.doubts.where(bool), Reason.DISPUTED)
    if settled.glue_then == "discard":
        standing = standing.with_reason(broke_in_glue, Reason.GLUE)
    else:
        standing = standing.with_reason(broke_in_glue & no_value, Reason.GLUE)
    standing = standing.with_reason(invalid_by_method(pulls, specification), Reason.METHOD)
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
    written = pulls.exclusion.where(bool)
    standing = standing.with_reason(written, Reason.EXCLUDED, who="readings file")
    for exclusion in exclusions:
        named = named_by(pulls, exclusion)
        if len(named) != 1:
            facts: Mapping[str, Fact] = {"id": exclusion.id, "zone": exclusion.zone, "found": len(named)}
            if exclusion.zone:
                messages.append(Message("exclusion_not_found", Severity.WARNING, Place(pulls.file), facts))
            else:
                messages.append(Message("exclusion_not_found_anywhere", Severity.WARNING, Place(pulls.file), facts))
        else:
            standing = standing.with_reason(_among(len(pulls), list(named)), Reason.EXCLUDED, who=exclusion.who)
    return standing


def named_by(pulls: Pulls, exclusion: Exclusion) -> tuple[int, ...]:
    """Rows of the pulls that an exclusion of the specification names; it holds only where there is exactly one."""
    rows = pulls.id.rows_of(exclusion.id).tolist()
    return tuple(i for i in rows if not exclusion.zone or pulls.zone[i] == exclusion.zone)


def _original(pulls: Pulls, i: int) -> int | None:
    """Index of the pull that pull ``i`` repeats: the one of that id in the same zone, else the only one of that id."""
    name, zone = pulls.retest_of[i], pulls.zone[i]
    named, near = pulls.id.rows_of(name), pulls.zone.rows_of(zone)
    if len(named) < len(near):  # the same id may stand in every zone, or all pulls in one
        here = [j for j in named.tolist() if j != i and pulls.zone[j] == zone]
    else:
        here = [j for j in near.tolist() if j != i and pulls.id[j] == name]
    if len(here) == 1:
        return int(here[0])
    others = named[named != i]
    return int(others[0]) if len(others) == 1 and not here else None


def repeated(pulls: Pulls, messages: list[Message] | None = None) -> dict[int, list[int]]:
    """For each retest the pulls that it repeats, the nearest first, back to the first pull; earlier pulls come first.

    A retest whose original can't be found, or that would go back to itself, is said in ``messages`` and taken as a
    first pull.
    """
    said = [] if messages is None else messages
    original: dict[int, int] = {}
    for i in np.flatnonzero(pulls.retest_of.where(bool)).tolist():
        j = _original(pulls, i)
        facts: Mapping[str, Fact] = {"pull": pulls.name(i), "original": pulls.retest_of[i]}
        if j is None:
            said.append(Message("retest_of_unknown", Severity.WARNING, _place(pulls, i), facts))
        elif i in (j, *(earlier := _back(original, j))):
            said.append(Message("retest_of_itself", Severity.WARNING, _place(pulls, i), facts))
        elif len(earlier) >= _LONGEST_CHAIN:
            said.append(Message("retest_chain_too_long", Severity.WARNING, _place(pulls, i), facts))
        else:
            original[i] = j
    back = {i: _back(original, i) for i in original}
    return {i: back[i] for i in sorted(back, key=lambda i: (len(back[i]), i))}


def _back(original: Mapping[int, int], i: int) -> list[int]:
    """The pulls that ``i`` repeats, directly or by way of other retests, nearest first."""
    found: list[int] = []
    while i in original:
        i = original[i]
        found.append(i)
    return found


def _retested(pulls: Pulls, standing: Standing, messages: list[Message], *, instead: bool) -> Standing:
    """Let one pull stand for a first pull and all that repeat it, also by way of other retests.

    That is the first pull where it is valid (or in doubt: nobody has said that it is not), else the first retest that
    is, in the order first pull, its retests, their retests, and in file order among these.
    """
    stands: dict[int, int] = {}  # first pull -> the valid pull that stands for it
    repeats = repeated(pulls, messages)
    reasons = standing.reasons.copy()
    spare: list[int] = []  # retests that do not count
    for i, earlier in repeats.items():
        first = earlier[-1]
        if reasons[first] in (0, int(Reason.DISPUTED)):  # a doubtful value is not invalid by rule
            stands.setdefault(first, first)
        if reasons[i]:
            continue
        holder = stands.get(first)
        if holder is None or (instead and holder in earlier):
            stands[first] = i
            reasons[earlier] |= int(Reason.REPLACED)
            if holder is None:
                facts = _retest_facts(pulls, i, earlier[0])
                messages.append(Message("retest_replaces", Severity.NOTE, _place(pulls, i), facts))
            continue
        reasons[i] |= int(Reason.RETEST_OF_VALID)
        spare.append(i)
        if holder in earlier:
            facts = _retest_facts(pulls, i, holder)
            messages.append(Message("retest_of_valid", Severity.WARNING, _place(pulls, i), facts))
        else:
            facts = _retest_facts(pulls, i, earlier[0])
            messages.append(Message("retest_of_replaced", Severity.WARNING, _place(pulls, i), facts))
    replaced = (reasons & int(Reason.REPLACED)) != 0
    open_values = (reasons & int(Reason.LOST | Reason.DISPUTED)) != 0
    # Another pull stands already: whatever the lost or doubtful value of such a retest, it would not count.
    spare += [i for i in repeats if repeats[i][-1] in stands and open_values[i] and not replaced[i]]
    standing = standing.with_reason(replaced, Reason.REPLACED)
    return standing.with_reason(_among(len(pulls), spare), Reason.RETEST_OF_VALID)


def _retest_facts(pulls: Pulls, i: int, original: int) -> dict[str, Fact]:
    return {"pull": pulls.name(i), "original": pulls.name(original), "zone": pulls.zone[original]}


def _among(n: int, rows: list[int]) -> NDArray[np.bool_]:
    mask: NDArray[np.bool_] = np.zeros(n, np.bool_)
    mask[rows] = True
    return mask
