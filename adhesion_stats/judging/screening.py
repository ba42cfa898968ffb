"""Outlier tests over the zones: which pulls they point at. Nothing is excluded here; bounded pulls take no part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import InvalidSample
from adhesion_stats.messages import Message
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Flag, Standing
from adhesion_stats.statistics import blocks
from adhesion_stats.statistics.dixon import dixon, dixon_p_value, ratio_for
from adhesion_stats.statistics.grubbs import grubbs, grubbs_p_value
from adhesion_stats.statistics.screening import OutlierScreen, Sides, flags_by_chance
from adhesion_stats.terms.specification import Screening

__all__ = ["ScreeningRow", "ScreeningTable", "screen"]

FEWEST = 3  # neither test exists below
_SIDES: dict[str, Sides] = {"low": "low", "high": "high", "both": "two"}
_FLAGS = {
    ("grubbs", False): Flag.GRUBBS_LOW,
    ("grubbs", True): Flag.GRUBBS_HIGH,
    ("dixon", False): Flag.DIXON_LOW,
    ("dixon", True): Flag.DIXON_HIGH,
}


@dataclass(frozen=True)
class ScreeningRow:
    """One test on one zone: the suspect, its statistic, p-value and critical value; or a note why there is none."""

    zone: str
    test: str
    n: int
    side: str = ""
    ratio: str | None = None
    statistic: float | None = None
    p: float | None = None
    critical: float | None = None
    pull: int | None = None
    flagged: bool = False
    note: Message | None = None


@dataclass(frozen=True)
class ScreeningTable:
    """Rows in the order of zones, then tests; per test the zones tested and the flags that chance alone brings."""

    rows: tuple[ScreeningRow, ...]
    by_test: tuple[tuple[str, int, float, int], ...]  # test, zones tested, flags expected by chance, flags


def screen(
    pulls: Pulls, standing: Standing, rule: Screening, *, zones: tuple[str, ...], recording_step_mpa: float
) -> tuple[Standing, ScreeningTable]:
    """Return the standing with flags, and the table of tests.

    Only counted pulls with an exact value take part. ``recording_step_mpa`` [MPa]: the step in which strengths were
    recorded, 0 where they were computed; a suspect whose distance lies within the step is no flag.
    """
    exact = np.flatnonzero(standing.counted & (pulls.bound == Bound.EXACT) & ~standing.at_least)
    codes = pulls.zone.index_in(zones)[exact]
    order = np.lexsort((exact, pulls.strength_mpa[exact], codes))  # pulls of a zone by ascending value
    exact, codes = exact[order], codes[order]
    start = np.searchsorted(codes, np.arange(len(zones) + 1))
    rows: dict[tuple[int, str], ScreeningRow] = {}
    for i, zone in enumerate(zones):
        size = int(start[i + 1] - start[i])
        if size < FEWEST:
            for test in rule.tests:
                rows[i, test] = ScreeningRow(zone, test, size, note=Message("screening_too_few"))
    if exact.size:
        for n, group, x in blocks(codes, pulls.strength_mpa[exact]):
            if n < FEWEST:
                continue
            for test in rule.tests:
                for row in _block(test, rule, n, x, recording_step_mpa):
                    i = int(group[row.at])
                    pull = int(exact[start[i] + row.position]) if row.position is not None else None
                    rows[i, test] = row.as_row(zones[i], pull)
    flags = standing
    flagged: dict[Flag, list[int]] = {}
    for entry in rows.values():
        if entry.flagged and entry.pull is not None:
            flagged.setdefault(_FLAGS[entry.test, entry.side == "high"], []).append(entry.pull)
    for flag, at in flagged.items():
        here = np.zeros(len(pulls), np.bool_)
        here[at] = True
        flags = flags.with_flag(here, flag)
    table = tuple(rows[i, test] for i in range(len(zones)) for test in rule.tests)
    return flags, ScreeningTable(table, tuple(_by_test(test, table, rule.level) for test in rule.tests))


def _by_test(test: str, table: tuple[ScreeningRow, ...], level: float) -> tuple[str, int, float, int]:
    tested = [row for row in table if row.test == test and row.statistic is not None]
    chance = flags_by_chance(levels=np.full(len(tested), level)).expected if tested else 0.0
    return test, len(tested), float(chance), sum(row.flagged for row in tested)


@dataclass(frozen=True)
class _Found:
    at: int
    test: str
    n: int
    high: bool = False
    ratio: str | None = None
    statistic: float | None = None
    p: float | None = None
    critical: float | None = None
    position: int | None = None
    flagged: bool = False
    note: Message | None = None

    def as_row(self, zone: str, pull: int | None) -> ScreeningRow:
        side = "" if self.position is None else "high" if self.high else "low"
        return ScreeningRow(
            zone,
            self.test,
            self.n,
            side,
            self.ratio,
            self.statistic,
            self.p,
            self.critical,
            pull,
            self.flagged,
            self.note,
        )


def _block(test: str, rule: Screening, n: int, x: NDArray[np.float64], step: float) -> list[_Found]:
    """Test every row of one block of equal size."""
    sides = _SIDES[rule.side]
    ratio: str | None = None
    if test == "grubbs":
        result = grubbs(x, alpha=rule.level, sides=sides, recording_step=step)
        p = grubbs_p_value(result.statistic, n=n, sides=sides)
    else:
        try:
            known_ratio = ratio_for(n=n, convention=rule.dixon_convention)
        except InvalidSample:
            note = Message("screening_convention_ends", facts={"n": n})
            return [_Found(i, test, n, note=note) for i in range(len(x))]
        ratio = known_ratio
        result = dixon(x, alpha=rule.level, sides=sides, convention=rule.dixon_convention, recording_step=step)
        p = dixon_p_value(result.statistic, ratio=known_ratio, n=n, sides=sides)
    return [_found(i, test, n, ratio, result, p, bool(x[i, 0] == x[i, -1]), step) for i in range(len(x))]


def _found(
    i: int,
    test: str,
    n: int,
    ratio: str | None,
    result: OutlierScreen,
    p: NDArray[np.float64],
    equal: bool,
    step: float,
) -> _Found:
    if equal:
        return _Found(i, test, n, note=Message("screening_all_equal"))
    note = Message("screening_step", facts={"step": f"{step:.4g} MPa"}) if result.within_step[i] else None
    return _Found(
        i,
        test,
        n,
        bool(result.high[i]),
        ratio,
        float(result.statistic[i]),
        float(p[i]),
        float(result.critical),
        int(result.position[i]),
        bool(result.flagged[i]),
        note,
    )
