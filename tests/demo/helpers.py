"""What the demo tests share: assess a demo folder, find a zone or a criterion, read the tables of a README."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from adhesion_stats import assess, read_readings, read_specification
from adhesion_stats.locate import packaged
from adhesion_stats.reporting.results import Criterion, Pull, Results, Zone, results_from

__all__ = ["criterion", "demo", "pull", "readme", "results_of", "rows_of_table", "zone"]


def demo(*parts: str) -> Path:
    """Path of a file or folder of the demo data."""
    return packaged("data", "demo", *parts)


@cache
def results_of(folder: str, specification: str = "specification.toml", readings: str = "readings.csv") -> Results:
    """Assess one table of the demo data by the public functions."""
    terms = read_specification(demo(folder, specification))
    return results_from(assess(read_readings(demo(folder, readings), terms), terms).as_dict())


def zone(results: Results, name: str) -> Zone:
    """The zone of that name."""
    (found,) = [entry for entry in results["zones"] if entry["zone"] == name]
    return found


def criterion(entry: Zone, kind: str, question: str = "pull-off") -> Criterion:
    """The criterion of that kind and question in a zone."""
    (found,) = [c for c in entry["criteria"] if c["kind"] == kind and c["question"] == question]
    return found


def pull(results: Results, name: str) -> Pull:
    """The pull of that id."""
    (found,) = [entry for entry in results["pulls"] if entry["id"] == name]
    return found


def readme(folder: str) -> str:
    """Text of a folder's README."""
    return demo(folder, "README.md").read_text(encoding="utf-8")


def rows_of_table(text: str, heading: str) -> list[list[str]]:
    """Cells of the Markdown table whose first heading is ``heading``, without emphasis."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if re.match(rf"\|\s*{re.escape(heading)}\s*\|", line))
    rows: list[list[str]] = []
    for line in lines[start + 2 :]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip().replace("**", "") for cell in line.strip().strip("|").split("|")])
    return rows
