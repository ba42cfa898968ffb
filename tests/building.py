"""Small tables of pulls and specifications for tests, written as compactly as the cases need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from adhesion_stats.coded import Coded
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification

NAN = float("nan")


@dataclass(frozen=True)
class Pull:
    """One pull; the defaults are a valid pull of which only the strength is known."""

    strength: float = NAN
    zone: str = "Z"
    id: str = ""
    failure: dict[str, float] = field(default_factory=dict)
    bound: Bound | None = None
    lost: bool = False
    retest_of: str = ""
    exclusion: str = ""
    doubts: tuple[str, ...] = ()
    cut: str = ""
    dolly_mm: float = NAN
    x_m: float = NAN
    y_m: float = NAN


def pulls(rows: Sequence[Pull], *, recording_step_mpa: float = NAN) -> Pulls:
    """Return the table of ``rows``; a nameless pull gets the id p1, p2, ..."""
    codes = tuple(sorted({code for row in rows for code in row.failure}))
    strength = np.array([row.strength for row in rows], np.float64)
    bound = [
        row.bound if row.bound is not None else Bound.NOTHING if np.isnan(row.strength) else Bound.EXACT for row in rows
    ]
    nothing = np.full(len(rows), NAN)
    return Pulls(
        file="readings.csv",
        digest="0" * 64,
        sheet=Coded.same("", len(rows)),
        row=np.arange(2, len(rows) + 2, dtype=np.int64),
        id=Coded.of(row.id or f"p{i}" for i, row in enumerate(rows, 1)),
        zone=Coded.of(row.zone for row in rows),
        strength_mpa=strength,
        bound=np.array(bound, np.int8),
        load_n=nothing,
        area_mm2=nothing,
        failure_codes=codes,
        failures=Coded.of(tuple(row.failure.get(code, 0.0) for code in codes) if row.failure else () for row in rows),
        lost=np.array([row.lost for row in rows], np.bool_),
        retest_of=Coded.of(row.retest_of for row in rows),
        exclusion=Coded.of(row.exclusion for row in rows),
        doubts=Coded.of(row.doubts for row in rows),
        date=Coded.same("", len(rows)),
        entered=Coded.of("" if np.isnan(row.strength) else f"{row.strength:g}" for row in rows),
        labels={"cut": Coded.of(row.cut for row in rows)} if any(row.cut for row in rows) else {},
        conditions={
            name: np.array([getattr(row, name) for row in rows], np.float64)
            for name in ("dolly_mm", "x_m", "y_m")
            if any(not np.isnan(getattr(row, name)) for row in rows)
        },
        recording_step_mpa=recording_step_mpa,
    )


def strengths(*values: float, zone: str = "Z") -> list[Pull]:
    """Return exact pulls of these strengths [MPa]."""
    return [Pull(value, zone=zone) for value in values]


def specification(text: str) -> Specification:
    """Return the specification of ``text`` with a title before it."""
    return parse_specification(f'[contract]\ntitle = "Test"\n{text}'.encode(), file="specification.toml")
