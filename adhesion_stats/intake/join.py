"""Pulls of several tables or sheets -> one table of pulls."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded, Texts
from adhesion_stats.pulls import Pulls, not_given

if TYPE_CHECKING:
    from numpy.typing import NDArray


__all__ = ["join"]


def join(parts: list[Pulls], digest: str) -> Pulls:
    """One table of pulls from those of several sheets."""
    if len(parts) == 1:
        return replace(parts[0], digest=digest)
    codes = tuple(dict.fromkeys(code for part in parts for code in part.failure_codes))
    labels = {
        name: Coded.joined([p.labels.get(name, Coded.same("", len(p))) for p in parts])
        for name in dict.fromkeys(name for p in parts for name in p.labels)
    }
    conditions = {
        name: np.concatenate([p.conditions.get(name, not_given(len(p))) for p in parts])
        for p0 in parts
        for name in p0.conditions
    }

    def glue(name: str) -> Texts:
        return Coded.joined([getattr(part, name) for part in parts])

    def stack(name: str) -> NDArray[np.float64]:
        return np.concatenate([getattr(part, name) for part in parts])

    return Pulls(
        file=parts[0].file,
        digest=digest,
        sheet=glue("sheet"),
        row=np.concatenate([p.row for p in parts]),
        id=glue("id"),
        zone=glue("zone"),
        strength_mpa=stack("strength_mpa"),
        bound=np.concatenate([p.bound for p in parts]),
        load_n=stack("load_n"),
        indicated_mpa=stack("indicated_mpa"),
        indicated_load_n=stack("indicated_load_n"),
        area_mm2=stack("area_mm2"),
        failure_codes=codes,
        failures=Coded.joined([_by_codes(part, codes) for part in parts]),
        lost=np.concatenate([p.lost for p in parts]),
        retest_of=glue("retest_of"),
        exclusion=glue("exclusion"),
        doubts=Coded.joined([p.doubts for p in parts]),
        date=glue("date"),
        entered=glue("entered"),
        labels=labels,
        conditions=conditions,
        recording_step_mpa=min((p.recording_step_mpa for p in parts), key=lambda s: math.inf if math.isnan(s) else s),
        entry_unit=parts[0].entry_unit,
    )


def _by_codes(part: Pulls, codes: tuple[str, ...]) -> Coded[tuple[float, ...]]:
    """Failure compositions of one table by the codes of all."""
    at = [part.failure_codes.index(code) if code in part.failure_codes else None for code in codes]
    return part.failures.map(lambda shares: tuple(0.0 if k is None else shares[k] for k in at) if shares else ())
