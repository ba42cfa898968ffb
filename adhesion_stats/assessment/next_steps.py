"""What to do next, per zone and for the contract: facts only; the engineer and the contract decide."""

from __future__ import annotations

from collections.abc import Sequence

from adhesion_stats.messages import Message
from adhesion_stats.pulls import Pulls
from adhesion_stats.standing import Reason, Standing

__all__ = ["contract_steps", "zone_steps"]


def zone_steps(
    pulls: Pulls, standing: Standing, zone: str, *, outcome: str, not_made: int, silent: Sequence[str], hangs: bool
) -> list[Message]:
    """Return the next steps for a zone, the most useful first.

    ``not_made``: required pulls without a value; ``silent``: silent rules under which the decision differs;
    ``hangs``: the decision hangs on a flagged pull or on a single one.
    """
    rows = pulls.zone.rows_of(zone)
    reasons = standing.reasons[rows]

    def names(reason: Reason) -> tuple[str, ...]:
        hit = ((reasons & int(reason)) != 0) & ((reasons & int(Reason.REPLACED)) == 0)
        return tuple(pulls.name(i) for i in rows[hit].tolist())

    steps: list[Message] = []
    disputed, glue = names(Reason.DISPUTED), names(Reason.GLUE)
    if disputed:
        steps.append(Message("next_settle_values", facts={"pulls": disputed}))
    if outcome == "does not conform":
        steps.append(Message("next_refer"))
    elif outcome == "undetermined":
        if silent:
            steps.append(Message("next_ask_contract", facts={"rules": tuple(silent)}))
        if glue:
            steps.append(Message("next_repeat_glue", facts={"pulls": glue}))
        more = not_made - len(glue) - len(disputed)
        if more > 0:
            steps.append(Message("next_make_pulls" if more > 1 else "next_make_one_pull", facts={"count": more}))
        if not steps:
            steps.append(Message("next_more_evidence"))
    if hangs:
        steps.append(Message("next_look_for_cause"))
    return steps or [Message("next_nothing")]


def contract_steps(outcome: str, zones: Sequence[tuple[str, str]]) -> list[Message]:
    """Return the next steps for the contract; ``zones`` are pairs of name and outcome."""
    failing = tuple(zone for zone, found in zones if found == "does not conform")
    open_ = tuple(zone for zone, found in zones if found == "undetermined")
    steps: list[Message] = []
    if failing:
        code = "next_contract_failing" if len(failing) > 1 else "next_contract_failing_one"
        steps.append(Message(code, facts={"count": len(failing), "zones": failing}))
    if open_:
        code = "next_contract_open" if len(open_) > 1 else "next_contract_open_one"
        steps.append(Message(code, facts={"count": len(open_), "zones": open_}))
    return steps or [Message("next_contract_nothing" if outcome == "conforms" else "next_contract_no_zone")]
