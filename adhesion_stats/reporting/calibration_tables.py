"""Every test and every bound of the calibration study in one table each: how far from its claim, in each population.

``calibration`` lists the worst in words; here nothing is left out. No number is computed that is not a difference
of the studies' own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from adhesion_stats.reporting.calibration import Rate, decisive
from adhesion_stats.reporting.model import Cell, Column, Line, Row, RowGroup, Section, Table
from adhesion_stats.reporting.words import word

__all__ = ["every_bound", "every_level", "worst_of"]

_HELD = 3.0  # standard errors within which an exact claim is said to hold


def every_level(rows: Sequence[Rate], *, nominal: float) -> Section:
    """Largest share flagged less the level, of every test in every population, in percentage points."""
    mine = [row for row in decisive(rows) if row.claim == nominal]
    caption = f"Every test at {100 * nominal:g} %: most that it flags beyond its level, percentage points"
    populations = tuple(dict.fromkeys(row.population for row in mine))
    return Section("", "every-level", (_grid(caption, "test", mine, populations, lambda row: row.found - row.claim),))


def every_bound(rows: Sequence[Rate]) -> Section:
    """Least coverage less the claim, of every bound in every population, in points; a table for each treatment."""
    found = decisive(rows)
    populations = tuple(dict.fromkeys(row.population for row in found))
    tables = []
    for bounded in dict.fromkeys(row.bounded for row in found):
        mine = [row for row in found if row.bounded == bounded]
        told = "no bounded pulls" if bounded == "none" else f"bounded pulls: {bounded}"
        caption = f"Every bound ({told}): most that it covers short of its claim, percentage points"
        tables.append(_grid(caption, "bound", mine, populations, lambda row: row.claim - row.found))
    return Section("", "every-bound", tuple(tables))


def worst_of(rows: Sequence[Rate], miss: Callable[[Rate], float]) -> str:
    """What one cell says: the largest miss beyond chance and its n, "none", or "holds" for an exact claim."""
    if all(row.kind in {"exact", "simulated"} for row in rows) and max(abs(row.away) for row in rows) <= _HELD:
        return "holds"
    beyond = [row for row in rows if miss(row) > _HELD * row.error]
    if not beyond:
        return "none"
    worst = max(beyond, key=miss)
    points = 100.0 * miss(worst)
    return f"{points:.2g} at n = {worst.n}" if points < 10.0 else f"{points:.0f} at n = {worst.n}"


def _grid(caption: str, head: str, rows: Sequence[Rate], every: Sequence[str], miss: Callable[[Rate], float]) -> Table:
    there = {row.population for row in rows}
    populations = [population for population in every if population in there]
    columns = (Column(head, wide=True), *(Column(name) for name in populations))
    lines = []
    for subject in sorted({row.subject for row in rows}, key=str.lower):
        cells = [Cell((Line((subject,)),))]
        for population in populations:
            here = [row for row in rows if row.subject == subject and row.population == population]
            cells.append(Cell((Line((worst_of(here, miss) if here else word("nothing"),)),)))
        lines.append(Row(tuple(cells)))
    return Table(caption, columns, (RowGroup(tuple(lines)),))
