"""Facts about each pull for the record: what was read, what was judged, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from adhesion_stats.judging import ScreeningTable, breaches, named_by, repeated
from adhesion_stats.messages import Fact, Message, Place
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.quantities import shown
from adhesion_stats.standing import Reason, Standing, Status
from adhesion_stats.terms.specification import Specification

__all__ = ["Retests", "number_or_none", "pull_facts"]


def number_or_none(value: float) -> float | None:
    """Return None for nan."""
    return None if math.isnan(value) else float(value)


def _place(pulls: Pulls, i: int) -> Place:
    return Place(pulls.file, pulls.sheet[i] or None, int(pulls.row[i]))


def _say(code: str, **facts: Fact) -> Message:
    return Message(code, facts=facts)


@dataclass(frozen=True)
class Retests:
    """Which counted pull stands for which: by retest the pull that it repeats, by repeated pull the retest of it,
    directly or by way of other retests; no entry where no counted pull does.
    """

    valid_original: Mapping[int, int]
    instead_of: Mapping[int, int]

    @classmethod
    def of(cls, pulls: Pulls, standing: Standing) -> Retests:
        """The retests of a table of pulls."""
        original: dict[int, int] = {}
        instead: dict[int, int] = {}
        for i, earlier in repeated(pulls).items():
            counted = [j for j in earlier if not standing.reasons[j]]
            if counted:
                original[i] = counted[0]
            if not standing.reasons[i]:
                for j in earlier:
                    instead.setdefault(j, i)
        return cls(original, instead)


def _reason_messages(
    pulls: Pulls,
    standing: Standing,
    i: int,
    terms: Specification,
    retests: Retests,
    departs: Mapping[int, tuple[str, ...]],
) -> tuple[Message, ...]:
    """Why pull ``i`` does not count, one message per reason; empty when it counts."""
    reasons = Reason(int(standing.reasons[i]))
    if not reasons:
        return ()
    found = [
        *_own_reasons(pulls, reasons, i, terms),
        *(_written_reasons(pulls, i, terms) if Reason.EXCLUDED in reasons else ()),
        *_retest_reasons(pulls, reasons, i, retests),
        *([_say("reason_method", what=departs[i])] if Reason.METHOD in reasons else ()),
    ]
    return tuple(replace(message, place=_place(pulls, i)) for message in found)


def _own_reasons(pulls: Pulls, reasons: Reason, i: int, terms: Specification) -> Iterator[Message]:
    """What the pull's own row says against it."""
    if Reason.LOST in reasons:
        yield _say("reason_lost")
    if Reason.NO_VALUE in reasons:
        yield _say("reason_no_value")
    if Reason.GLUE in reasons:
        if pulls.bound[i] == Bound.NOTHING:
            yield _say("reason_glue_no_value")
        else:
            share = sum(percent for code, percent in pulls.failure(i).items() if code in terms.glue.codes)
            yield _say("reason_glue", share=f"{share:.4g} %")
    if Reason.DISPUTED in reasons:
        yield _say("reason_disputed", doubts=pulls.doubts[i])


def _written_reasons(pulls: Pulls, i: int, terms: Specification) -> Iterator[Message]:
    """Every exclusion that names the pull, in the readings and in the specification: none hides another."""
    if pulls.exclusion[i]:
        yield _say("reason_excluded", who="readings file", text=pulls.exclusion[i])
    for exclusion in terms.exclusions:
        if named_by(pulls, exclusion) == (i,):
            yield _say("reason_excluded", who=exclusion.who, text=exclusion.reason)


def _retest_reasons(pulls: Pulls, reasons: Reason, i: int, retests: Retests) -> Iterator[Message]:
    if Reason.REPLACED in reasons:
        stands = retests.instead_of.get(i)
        yield _say("reason_replaced", retest=pulls.name(stands) if stands is not None else "")
    if Reason.RETEST_OF_VALID in reasons:
        first = retests.valid_original.get(i)
        if first is not None:
            yield _say("reason_retest_of_valid", original=pulls.name(first))
        else:
            yield _say("reason_retest_of_replaced", original=pulls.retest_of[i])


def _flags(table: ScreeningTable | None) -> dict[int, list[Message]]:
    """The outlier tests that point at a pull, by pull."""
    found: dict[int, list[Message]] = {}
    for row in () if table is None else table.rows:
        if row.flagged and row.pull is not None and row.statistic is not None and row.p is not None:
            facts: dict[str, Fact] = {
                "side": row.side,
                "statistic": f"{row.statistic:.3f}",
                "p": f"{row.p:.3f}" if row.p >= 0.001 else f"{row.p:.1e}",
                "ratio": row.ratio,
            }
            found.setdefault(row.pull, []).append(Message(f"flag_{row.test}", facts=facts))
    return found


def _counts_as(pulls: Pulls, standing: Standing, i: int) -> str | None:
    if standing.reasons[i]:
        open_value = standing.status(i) is Status.LOST or Reason(int(standing.reasons[i])) == Reason.DISPUTED
        return "unknown" if open_value else None
    if standing.at_least[i] or pulls.bound[i] == Bound.AT_LEAST:
        return "at_least"
    return "at_most" if pulls.bound[i] == Bound.AT_MOST else "exact"


def _departures(pulls: Pulls, terms: Specification) -> dict[int, tuple[str, ...]]:
    """By pull: from what of the method it departs, where that makes it invalid, with what was asked."""
    found: dict[int, tuple[str, ...]] = {}
    for breach in breaches(pulls, terms) if terms.method.invalid else ():
        if breach.key in terms.method.invalid:
            for i in np.flatnonzero(breach.hit).tolist():
                found[i] = (*found.get(i, ()), f"{breach.what} ({breach.asked})")
    return found


_BOUND_WORDS = {Bound.AT_LEAST: "at_least", Bound.AT_MOST: "at_most"}


def pull_facts(
    pulls: Pulls, standing: Standing, table: ScreeningTable | None, terms: Specification
) -> list[dict[str, object]]:
    """Return one dictionary per pull, in file order; see the schema of results.json."""
    flags, retests, departs = _flags(table), Retests.of(pulls, standing), _departures(pulls, terms)
    return [
        {
            "index": i,
            "sheet": pulls.sheet[i] or None,
            "row": int(pulls.row[i]),
            "id": pulls.id[i],
            "name": pulls.name(i),
            "zone": pulls.zone[i],
            "strength": number_or_none(float(pulls.strength_mpa[i])),
            "entered": pulls.entered[i],
            "bound": _BOUND_WORDS.get(Bound(int(pulls.bound[i]))),
            "load_n": number_or_none(float(pulls.load_n[i])),
            "area_mm2": number_or_none(float(pulls.area_mm2[i])),
            "indicated_mpa": number_or_none(float(pulls.indicated_mpa[i])),
            "indicated_load_n": number_or_none(float(pulls.indicated_load_n[i])),
            "status": standing.status(i).value,
            "counts_as": _counts_as(pulls, standing, i),
            "reasons": [message.as_dict() for message in _reason_messages(pulls, standing, i, terms, retests, departs)],
            "who": standing.who[i],
            "flags": [message.as_dict() for message in flags.get(i, ())],
            "failure": pulls.failure(i),
            "date": pulls.date[i] or None,
            "retest_of": pulls.retest_of[i],
            "exclusion": pulls.exclusion[i],
            "labels": {name: column[i] for name, column in sorted(pulls.labels.items()) if column[i]},
            "conditions": {name: number_or_none(float(column[i])) for name, column in sorted(pulls.conditions.items())},
        }
        for i in range(len(pulls))
    ]


def recording_step_text(step_mpa: float, unit: str, places: int) -> str | None:
    """Return the recording step in the report's unit, None where there is none."""
    return None if math.isnan(step_mpa) or step_mpa == 0 else shown(step_mpa, unit, places)
