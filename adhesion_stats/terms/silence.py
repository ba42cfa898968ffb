"""One way to settle the rules on which a contract is silent.

A contract that does not say what a dolly-adhesive break means, or what a lost pull may have been, is decided under each
way to read it. ``Settled`` is one such way; where the contract speaks, every ``Settled`` says the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Settled"]


@dataclass(frozen=True, slots=True)
class Settled:
    """Rules with no open end left.

    Attributes
    ----------
    glue_from_percent
        From this share of adhesive failure on [%], the pull is a glue break; below, its value is taken as it is.
        Above 100 means: no share makes it one.
    glue_then
        What a glue break is: "at least" (a lower bound) or "discard" (invalid; another pull is needed).
    broke_there_from_percent
        From this share of the asked interface or layer on [%], the pull broke there (its value is exact for it).
    lost
        "unknown": each lost pull is a value from 0 up; "left out": only pulls missing from the required number are.
    retest_instead
        True: a retest of a valid pull counts instead of it (shown beside the decision, never the decision itself).
    """

    glue_from_percent: float
    glue_then: Literal["at least", "discard"]
    broke_there_from_percent: float
    lost: Literal["unknown", "left out"]
    retest_instead: bool = False
