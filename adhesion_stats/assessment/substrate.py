"""A limit on the bond above what the bare substrate of the same zone reached: said before work starts.

A pull through the finished system breaks at its weakest place, so it can hardly give more than the substrate alone did.
Compared like with like: a limit on the mean (or on a characteristic value) with the mean of the bare substrate, a limit
on the smallest value or on single pulls with its smallest value. Only exact values that count are taken.

Imports: judging's result, quantities, terms.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.quantities import shown
from adhesion_stats.standing import Standing
from adhesion_stats.terms.criteria import CharacteristicAtLeast, MeanAtLeast, criteria, limits
from adhesion_stats.terms.specification import Specification
from adhesion_stats.terms.stages import STAGES

__all__ = ["substrate_messages"]

_BARE = STAGES[0]


def substrate_messages(pulls: Pulls, standing: Standing, specification: Specification) -> Iterator[Message]:
    """Yield a warning for each limit that the bare substrate of a zone did not reach."""
    if "stage" not in pulls.labels:
        return
    bare = pulls.labels["stage"].where(lambda text: " ".join(text.casefold().split()) == _BARE)
    usable = bare & standing.counted & np.equal(pulls.bound, Bound.EXACT) & ~standing.at_least
    for zone in pulls.zones:
        here = pulls.zone.rows_of(zone)
        values = pulls.strength_mpa[here[usable[here]]]
        if not values.size:
            continue
        said: set[tuple[str, str]] = set()
        for rule in specification.rules:
            if rule.stage == _BARE or (rule.zones and zone not in rule.zones):
                continue
            for criterion in criteria(rule.requirement):
                of_mean = isinstance(criterion, MeanAtLeast | CharacteristicAtLeast)
                reached = float(np.mean(values)) if of_mean else float(np.min(values))
                for limit in limits(criterion):
                    if limit.mpa <= reached * (1 + 1e-12) or (limit.text, str(of_mean)) in said:
                        continue
                    said.add((limit.text, str(of_mean)))
                    facts: dict[str, Fact] = {
                        "zone": zone,
                        "limit": limit.text,
                        "value": shown(reached, limit.unit, max(limit.places, 2)),
                        "n": int(values.size),
                    }
                    code = "bond_above_substrate_mean" if of_mean else "bond_above_substrate_smallest"
                    yield Message(code, Severity.WARNING, Place(pulls.file), facts)
