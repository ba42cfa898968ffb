"""Consistency of preparation: what a zone mixes, and what departs from the contract's method. Excludes nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.coded import Coded
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.pulls import Pulls, not_given
from adhesion_stats.standing import Standing
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor

__all__ = ["preparation_messages"]

# Within one zone these must not differ without a word. Dollies of nominal 50 mm and 2 in. (50.8 mm) are two sizes.
_NEVER_MIXED = ("cut", "instrument", "stage", "party", "system")
_DOLLY_STEP_MM = 0.5


def preparation_messages(pulls: Pulls, standing: Standing, specification: Specification) -> tuple[Message, ...]:
    """Return what a reader must know about preparation: mixtures within a zone, then breaches of the named method."""
    return (*_mixed(pulls, standing), *_breaches(pulls, specification))


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
            if sizes.size > 1 and sizes[-1] - sizes[0] > _DOLLY_STEP_MM:
                facts = {"zone": zone, "what": "dolly size", "values": tuple(f"{size:.4g} mm" for size in sizes)}
                messages.append(Message("mixed_preparation", Severity.WARNING, Place(pulls.file), facts))
    return messages


def _names(pulls: Pulls, hit: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(f"{pulls.zone[i]}: {pulls.name(i)}" for i in np.flatnonzero(hit).tolist())


def _breaches(pulls: Pulls, specification: Specification) -> list[Message]:
    """One message per check of the method that some pulls don't meet, naming them; one where nothing was recorded."""
    checks = specification.method
    messages: list[Message] = []

    def report(what: str, asked: str, hit: NDArray[np.bool_], unknown: NDArray[np.bool_]) -> None:
        if hit.any():
            facts: dict[str, Fact] = {
                "what": what,
                "asked": asked,
                "count": int(hit.sum()),
                "pulls": _names(pulls, hit),
            }
            messages.append(Message("method_breach", Severity.WARNING, Place(pulls.file), facts))
        unknown = unknown & ~pulls.lost  # nothing could be recorded of a pull that was never loaded
        if unknown.any():
            facts = {"what": what, "asked": asked, "count": int(unknown.sum()), "total": int((~pulls.lost).sum())}
            messages.append(Message("method_not_recorded", Severity.WARNING, Place(pulls.file), facts))

    def column(name: str) -> NDArray[np.float64]:
        return pulls.conditions.get(name, not_given(len(pulls)))

    if checks.dolly_mm is not None:
        size = column("dolly_mm")
        asked = f"{checks.dolly_mm:.4g} mm"
        report("dolly size", asked, np.abs(size - checks.dolly_mm) > _DOLLY_STEP_MM, np.isnan(size))
    cut = pulls.labels.get("cut", Coded.same("", len(pulls)))
    if checks.cut is not None:
        asked = "cut" if checks.cut == "yes" else "not cut"
        other, unsaid = cut.where(lambda said: said not in {"", checks.cut}), cut.where(lambda said: not said)
        report("cut round the dolly", asked, other, unsaid)
    uncut = cut.where(lambda said: said == "no")
    never = np.zeros(len(pulls), np.bool_)
    for name, what, span, unit, one, exempt in (
        ("cut_depth_mm", "depth of the cut", checks.cut_depth_mm, "mm", 1.0, uncut),  # no cut has no depth
        (
            "rate_mpa_per_s",
            "loading rate",
            checks.rate_mpa_per_s,
            f"{specification.unit}/s",
            factor(specification.unit, "strength"),
            never,
        ),
    ):
        if span is not None:
            value = column(name)
            asked = f"{span[0] / one:.4g} to {span[1] / one:.4g} {unit}"
            slack = 1e-9 * span[1]
            report(what, asked, (value < span[0] - slack) | (value > span[1] + slack), np.isnan(value) & ~exempt)
    if checks.min_age_days is not None:
        age = column("age_days")
        report("age at test", f"at least {checks.min_age_days:g} d", age < checks.min_age_days, np.isnan(age))
    if checks.min_glue_hours is not None:
        hours = column("glue_age_days") * 24.0
        asked = f"at least {checks.min_glue_hours:g} h"
        report("curing of the dolly adhesive", asked, hours < checks.min_glue_hours - 1e-6, np.isnan(hours))
    if checks.share_step_percent is not None:
        step = checks.share_step_percent
        hit = pulls.failures.where(lambda shares: any(abs(one / step - round(one / step)) > 1e-9 for one in shares))
        report("failure shares", f"multiples of {step:g} %", hit, never)
    return messages
