"""The calibration study as people read it: how often tests raise false alarms, how often bounds cover what they claim.

Reads the two tables of ``data/studies`` and says in words where they fall short. The figures are in
``figures.calibration``; no number is computed here that is not a difference of two of the tables.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.errors import WrongUsage
from adhesion_stats.reporting.model import Cell, Column, Line, Paragraph, Row, RowGroup, Section, Table

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "Rate",
    "coverage_summary",
    "decisive",
    "false_alarm_summary",
    "long_alarms",
    "read_coverage",
    "read_false_alarms",
    "short_bounds",
]

SHORT = 0.02  # a coverage this much below its claim is listed
ROWS = 10  # most lines of a population; what is left out is counted below the list
_STANDARD_ERRORS = 3.0


@dataclass(frozen=True, slots=True)
class Rate:
    """One row of a study: what is claimed and what was found among so many samples.

    ``subject`` is the test (with its side) or the bound; ``bounded`` says what was done with bounded pulls, "none"
    where there are none; ``claim`` is the nominal level or the confidence, and ``kind`` how the study means it.
    """

    subject: str
    population: str
    bounded: str
    n: int
    claim: float
    kind: str
    found: float
    samples: int

    @property
    def error(self) -> float:
        """Standard error of the share found, were the claim true."""
        return math.sqrt(self.claim * (1.0 - self.claim) / self.samples)

    @property
    def away(self) -> float:
        """Found less claimed, in standard errors."""
        return (self.found - self.claim) / self.error


def read_false_alarms(file: str | Path) -> tuple[Rate, ...]:
    """Read the table of false alarms; tests without a nominal level are left out.

    Raises
    ------
    WrongUsage
        When the file is not there or is not that table; the text says what was expected, and in which line.
    """

    def row(cells: dict[str, str]) -> Rate | None:
        if not cells["nominal"]:
            return None
        side = {"low": ", low side", "high": ", high side", "two": ", two-sided", "both": ""}[cells["sides"]]
        if cells["test"].startswith(("Cochran", "Mandel", "generalised", "Tietjen", "Shapiro", "Anderson", "log-rank")):
            side = ""
        return Rate(
            cells["test"] + side,
            cells["population"],
            "none",
            int(cells["n"]),
            float(cells["nominal"]),
            cells["claim"],
            float(cells["rate"]),
            int(cells["samples"]),
        )

    return _read(file, ("population", "test", "sides", "n", "nominal", "claim", "rate", "samples"), row)


def read_coverage(file: str | Path) -> tuple[Rate, ...]:
    """Read the table of coverage.

    Raises
    ------
    WrongUsage
        When the file is not there or is not that table; the text says what was expected, and in which line.
    """

    def row(cells: dict[str, str]) -> Rate:
        return Rate(
            cells["bound"],
            cells["population"],
            cells["bounded"],
            int(cells["n"]),
            float(cells["claim"]),
            cells["kind"],
            float(cells["coverage"]),
            int(cells["replicates"]),
        )

    return _read(file, ("bound", "population", "bounded", "n", "claim", "kind", "replicates", "coverage"), row)


def _read(file: str | Path, columns: tuple[str, ...], row: Callable[[dict[str, str]], Rate | None]) -> tuple[Rate, ...]:
    path = Path(file)
    if not path.is_file():
        raise WrongUsage(f"The study expects a table of rates; there is no file {str(file)!r}.")
    found = []
    with path.open(encoding="utf-8", newline="") as text:
        reader = csv.DictReader(text)
        missing = [column for column in columns if column not in (reader.fieldnames or ())]
        if missing:
            raise WrongUsage(f"The table {path.name!r} lacks these columns of a study: {', '.join(missing)}.")
        for cells in reader:
            try:
                one = row(cells)
            except (KeyError, TypeError, ValueError) as error:
                raise WrongUsage(f"Line {reader.line_num} of {path.name!r} is no row of a study: {error}.") from error
            if one is not None:
                found.append(one)
    if not found:
        raise WrongUsage(f"The table {path.name!r} has no rows.")
    return tuple(found)


def decisive(rows: Iterable[Rate]) -> list[Rate]:
    """Rows that count: first draws that were decided by a larger one are left out."""
    return [row for row in rows if row.kind != "drawn again"]


def false_alarm_summary(rows: Sequence[Rate]) -> Section:
    """What the study of false alarms says of the levels claimed in normal samples, in a few sentences."""
    normal = [row for row in rows if row.population == "normal"]
    exact = [row for row in decisive(normal) if row.kind in {"exact", "simulated"}]
    bound = [row for row in decisive(normal) if row.kind == "at most"]
    highest = max(row.away for row in bound)
    at_most = (
        f"Tests that claim at most their level: the largest of {len(bound)} rates lies {highest:.1f} standard errors "
        "above it."
    )
    held = _held("levels", exact, len([row for row in normal if row.kind == "drawn again"]))
    return Section("", "false-alarms", (held, Paragraph((at_most,))))


def coverage_summary(rows: Sequence[Rate]) -> Section:
    """What the study of coverage says of exact bounds and of those that claim a confidence at least."""
    exact = [row for row in rows if row.kind == "exact"]
    least = [row for row in rows if row.kind == "at least"]
    lowest = max(0.0, -min(row.away for row in least))
    at_least = (
        f"Bounds that claim a confidence at least: the lowest of {len(least)} lies {lowest:.1f} standard errors below "
        "its claim."
    )
    held = _held("bounds", exact, len([row for row in rows if row.kind == "drawn again"]))
    return Section("", "coverage", (held, Paragraph((at_least,))))


def _held(what: str, exact: Sequence[Rate], again: int) -> Paragraph:
    beyond = sum(abs(row.away) > _STANDARD_ERRORS for row in exact)
    scatter = math.sqrt(sum(row.away**2 for row in exact) / len(exact))
    sentence = (
        f"Of {len(exact)} {what} that are exact (or simulated to be) in their own population, {beyond} lie beyond "
        f"{_STANDARD_ERRORS:g} standard errors of the claim; together they scatter {scatter:.2f} times as chance does."
    )
    drawn = (
        f" Beyond at first, about as often as chance brings it, were {again}; they were drawn again with six times the "
        "samples."
    )
    return Paragraph((sentence + (drawn if again else ""),))


# -- where the claim is missed, in words


def short_bounds(rows: Sequence[Rate]) -> Section:
    """Bounds that cover two points less than they claim, or worse: one line for all n, the worst first."""
    short = [group for group in _groups(rows) if min(_over(row) for row in group) <= -SHORT]
    short.sort(key=lambda group: min(_over(row) for row in group))
    lines = [(group[0].population, (group[0].subject, group[0].bounded, _short_words(group))) for group in short]
    return _listed("Bounds that cover less than they claim", ("bound", "bounded pulls"), lines)


def _over(row: Rate) -> float:
    return row.found - row.claim


def _short_words(group: Sequence[Rate]) -> str:
    worst, best = min(group, key=_over), max(group, key=_over)
    words = f"covers {_percent(worst.found)} at n = {worst.n} where it claims {_percent(worst.claim)}"
    if len(group) == 1:
        return words
    if _over(best) <= -SHORT:
        words += "; short at every n"
    return f"{words}; best at n = {best.n}: {_percent(best.found)}"


def long_alarms(rows: Sequence[Rate], *, nominal: float) -> Section:
    """Tests that flag a seventh more often than they say, or worse, where nothing is wrong: the worst first."""
    mine = [row for row in rows if row.claim == nominal and row.population != "15 % weak patches"]
    found = [group for group in _groups(mine) if max(row.found for row in group) >= 1.15 * nominal]
    found.sort(key=lambda group: -max(row.found for row in group))
    lines = []
    for group in found:
        worst, least = max(group, key=lambda row: row.found), min(group, key=lambda row: row.found)
        words = f"flags {_percent(worst.found)} at n = {worst.n} where it says {_percent(nominal)}"
        if len(group) > 1:
            words += f"; least at n = {least.n}: {_percent(least.found)}"
        lines.append((worst.population, (worst.subject, words)))
    return _listed("Tests that flag more than they say", ("test",), lines)


def _percent(share: float) -> str:
    text = f"{100.0 * share:.1f}".removesuffix(".0")
    return f"{text} %"


def _groups(rows: Sequence[Rate]) -> list[list[Rate]]:
    """Rows of one subject, population and treatment of bounded pulls together."""
    found: dict[tuple[str, str, str], list[Rate]] = {}
    for row in decisive(rows):
        found.setdefault((row.subject, row.population, row.bounded), []).append(row)
    return list(found.values())


def _listed(caption: str, heads: tuple[str, ...], lines: Sequence[tuple[str, tuple[str, ...]]]) -> Section:
    """A table with a part for each population, its worst lines, and how many are left out."""
    columns = (*(Column(head) for head in heads), Column("what was found", wide=True))
    groups, left = [], 0
    for population in dict.fromkeys(name for name, _ in lines):
        mine = [cells for name, cells in lines if name == population]
        rows = tuple(Row(tuple(Cell((Line((text,)),)) for text in cells)) for cells in mine[:ROWS])
        groups.append(RowGroup(rows, Line((f"population: {population}",))))
        left += len(mine) - len(rows)
    rest = (Paragraph((f"{left} more fall short by less; the tables of the study have them all.",)),) if left else ()
    return Section("", "short", (Table(caption, columns, tuple(groups)), *rest))
