"""What was read from a file and what is wrong with it, before any decision: the facts behind the command ``check``."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from adhesion_stats.acceptance import cases, zones_of
from adhesion_stats.assessment.at_hand import at_hand_messages
from adhesion_stats.assessment.measurements import measurement_messages
from adhesion_stats.assessment.published import published_messages
from adhesion_stats.assessment.pull_facts import pull_facts
from adhesion_stats.assessment.sense import sense_messages
from adhesion_stats.assessment.substrate import substrate_messages
from adhesion_stats.intake import Reading
from adhesion_stats.judging import judge, parted, preparation_messages, settlements, silent_rules
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Standing, Status
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Contract, Specification

__all__ = ["Check", "check", "standing_messages"]

# Without a specification nothing is decided, so a threshold only sorts the list: mostly glue = not counted.
_UNASKED = Settled(glue_from_percent=50.0, glue_then="discard", broke_there_from_percent=100.0, lost="unknown")


@dataclass(frozen=True)
class Check:
    """The pulls as facts (one dictionary each, see results.json), and every message about them."""

    pulls: Pulls
    standing: Standing
    facts: tuple[dict[str, object], ...]
    messages: tuple[Message, ...]


def check(reading: Reading, specification: Specification | None = None) -> Check:
    """Judge the pulls of a file without deciding anything.

    With a specification its rules for glue breaks, exclusions and retests hold; without one, a pull that broke at or in
    the dolly adhesive over half of its area or more is listed as not counted, and any such share is pointed at.
    """
    pulls = reading.pulls
    terms = specification or Specification(contract=Contract(""), rules=(), unit="MPa")
    settled = _UNASKED if specification is None else settlements(specification, pulls)[0]
    judgement = judge(pulls, terms, settled)
    messages = [*reading.messages, *judgement.messages]
    if "glue_from" in silent_rules(terms, pulls):
        messages.extend(_glue_undecided(pulls, judgement.standing, terms.glue.codes))
    messages.extend(preparation_messages(pulls, judgement.standing, terms))
    messages.extend(standing_messages(pulls, judgement.standing))
    if specification is not None:
        messages.extend(parted(pulls, terms).messages)
        messages.extend(measurement_messages(pulls, judgement.standing, terms))
        messages.extend(substrate_messages(pulls, judgement.standing, terms))
        messages.extend(sense_messages(specification, pulls))
        messages.extend(_at_hand(pulls, specification, settled))
    messages.extend(published_messages(terms))
    facts = pull_facts(pulls, judgement.standing, None, terms)
    return Check(pulls, judgement.standing, tuple(facts), tuple(messages))


def _glue_undecided(pulls: Pulls, standing: Standing, codes: tuple[str, ...]) -> list[Message]:
    share = np.nan_to_num(pulls.share(codes), nan=0.0)
    partly = [i for i in np.flatnonzero((share > 0) & (share < 100)).tolist() if pulls.bound[i] != Bound.NOTHING]
    return [
        Message(
            "glue_share_undecided",
            Severity.WARNING,
            Place(pulls.file, pulls.sheet[i] or None, int(pulls.row[i])),
            {"pull": pulls.name(i), "share": f"{share[i]:.4g} %", "status": standing.status(i).value},
        )
        for i in partly
    ]


def _at_hand(pulls: Pulls, specification: Specification, settled: Settled) -> list[Message]:
    """What the pulls at hand can't do whatever their values are, in the populations that would be decided."""
    parts = parted(pulls, specification)
    zones = zones_of(parts.pulls, parts.specification)
    standing = judge(parts.pulls, parts.specification, settled).standing
    return at_hand_messages(parts.specification, cases(parts.pulls, standing, parts.specification, settled, zones))


def standing_messages(pulls: Pulls, standing: Standing) -> list[Message]:
    """Say per zone what does not count, what is a bound only, and where nothing counts at all."""
    messages: list[Message] = []
    for zone in pulls.zones:
        members = pulls.zone.rows_of(zone).tolist()
        counted = [i for i in members if not standing.reasons[i]]
        if not counted:
            facts: dict[str, Fact] = {"zone": zone, "made": len(members)}
            messages.append(Message("zone_without_counted", Severity.WARNING, Place(pulls.file), facts))
        left_out = [i for i in members if standing.reasons[i]]
        if left_out and counted:
            facts = {
                "zone": zone,
                "counted": len(counted),
                "made": len(members),
                "pulls": tuple(f"{pulls.name(i)} ({Status(standing.status(i)).value})" for i in left_out),
            }
            messages.append(Message("pulls_not_counted", Severity.WARNING, Place(pulls.file), facts))
        bounded = [i for i in counted if pulls.bound[i] != Bound.EXACT or standing.at_least[i]]
        if bounded:
            facts = {
                "zone": zone,
                "bounded": len(bounded),
                "counted": len(counted),
                "pulls": tuple(pulls.name(i) for i in bounded),
            }
            messages.append(Message("pulls_bounded", Severity.WARNING, Place(pulls.file), facts))
    return messages
