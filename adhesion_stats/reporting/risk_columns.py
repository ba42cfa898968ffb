"""The table of a rule's risk, and how its numbers read: strengths, shares, probabilities, numbers of pulls.

One place for the terminal and the page. Plain text; a number and its unit hold together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from adhesion_stats.quantities import decimal_text, shown, shown_percent
from adhesion_stats.reporting.words import word
from adhesion_stats.units import factor

__all__ = ["HELD", "probability", "risk_columns", "share", "strength", "values"]

Facts = Mapping[str, Any]
HELD = "\N{NO-BREAK SPACE}"  # holds a number and its unit in one line


def risk_columns(part: Facts, unit: str) -> list[tuple[str, list[str]]]:
    """Return the columns of a rule's table, each with its head: true mean, share below, outcomes, ladder, contract."""
    rows: Sequence[Facts] = part["rows"]
    limit, ladder, together = part["limit_mpa"], part["ladder"], part["zones_together"]

    def of(key: str, among: Sequence[Facts] = rows) -> list[str]:
        return [probability(row[key]) for row in among]

    columns = [(word("risk_c_mean"), [strength(row["mean_mpa"], unit) for row in rows])]
    if limit is not None:
        key = "risk_c_below" if part["pulls"] == part["values"] else "risk_c_pulls_below"
        columns.append((word(key).format(limit=strength(limit, unit)), of("share_below")))
    columns += [(word("risk_c_conforms"), of("conforms")), (word("risk_c_fails"), of("does_not_conform"))]
    if any(row["undetermined"] > 0 for row in rows):
        columns.append((word("risk_c_open"), of("undetermined")))
    if ladder is not None:
        columns.append((word("risk_c_ladder"), of("conforms", ladder["rows"])))
        columns.append((word("risk_c_referred"), of("referred", ladder["rows"])))
    if together is not None:
        columns.append((word("risk_c_whole").format(zones=together), of("all_zones_conform")))
    return columns


def values(row: Facts, *, short: bool = False) -> str:
    """How many pulls, or measurements with their pulls."""
    if row["pulls"] == row["values"]:
        return word("risk_pulls_one" if row["pulls"] == 1 else "risk_pulls_many").format(pulls=row["pulls"])
    key = "risk_measurements_one" if row["values"] == 1 else "risk_measurements_many"
    key += "_short" if short else ""
    return word(key).format(values=row["values"], each=row["pulls"] // row["values"], pulls=row["pulls"])


def strength(mpa: float, unit: str) -> str:
    """Two decimals in MPa; in smaller units as many as keep three figures of a usual limit."""
    size = factor(unit, "strength")
    return shown(mpa, unit, 0 if size < 0.01 else 1 if size < 0.1 else 2).replace(" ", HELD)


def share(fraction: float) -> str:
    """A share as given: no decimal where it needs none."""
    text = decimal_text(100.0 * fraction, 1)
    return f"{text.removesuffix('.0')}{HELD}%"


def probability(share: float) -> str:
    """One decimal; what is not certain never reads 0.0 or 100.0 %."""
    if 0.0 < share < 0.0005:
        return f"<{HELD}0.1{HELD}%"
    if 0.9995 < share < 1.0:
        return f">{HELD}99.9{HELD}%"
    return shown_percent(100.0 * share, 1).replace(" ", HELD)
