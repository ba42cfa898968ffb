"""Where to look for the cause, from what broke. Common practice, no published source; never part of a decision.

A hint is given for a zone that does not conform or is undetermined, where the counted pulls broke over half of their
area or more in one place. It names what is usually looked at first, not what is wrong.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from adhesion_stats.messages import Fact, Message, Severity
from adhesion_stats.pulls import GLUE_CODES
from adhesion_stats.quantities import shown_percent

__all__ = ["MOSTLY", "cause_hints"]

MOSTLY = 50.0  # % of the area, mean over the counted pulls: more often there than anywhere else


def _where(code: str) -> str:
    """The kind of place: substrate, its face, a layer, the face between two layers, or the dolly adhesive."""
    if code in GLUE_CODES or code == "Z":
        return "adhesive"
    if code == "A":
        return "substrate"
    if code.startswith("A/"):
        return "first_face"
    return "face" if "/" in code else "layer"


def cause_hints(outcome: str | None, percent: Mapping[str, float]) -> list[Message]:
    """Return where to look, for a zone's outcome and its mean failure composition by code [%]."""
    if outcome not in {"does not conform", "undetermined"}:
        return []
    found: dict[str, list[str]] = {}
    for code in percent:
        found.setdefault(_where(code), []).append(code)
    hints = []
    for where, codes in found.items():
        share = math.fsum(percent[code] for code in codes)
        if share >= MOSTLY:
            facts: dict[str, Fact] = {
                "codes": tuple(codes),
                "share": shown_percent(share, 0 if share.is_integer() else 1),
            }
            hints.append(Message(f"hint_{where}", Severity.NOTE, facts=facts))
    return hints
