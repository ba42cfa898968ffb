"""Several pulls within a small patch as one value: the mean of its pulls, where a contract counts by measurement.

Each pull of a measurement that counts enters with its bounds; one whose value is in doubt lies between 0 and the
declared ceiling, and so does a lost one where lost pulls are unknown. A mean never falls as one of its values grows,
and reaches all between: the mean of the lower bounds and that of the upper bounds are exact bounds of the measurement.
What broke is averaged the same way (share of the area of all its discs), and the depth of the break lies between the
least and the greatest of its pulls.

A measurement with fewer pulls than ``pulls_per_measurement`` (counted ones and ones in doubt) is not valid. It was
begun, and what it would have given is unknown: a value from 0 up, as is each measurement that is required and was not
made.

Imports: numpy, floor 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.pulls import Pulls

__all__ = ["Grouping", "grouping", "mean_of", "name_of", "reduced", "unknown_measurements"]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]
Truth = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Grouping:
    """Which pulls belong together.

    Attributes
    ----------
    group : (m,) int64
        Number of the measurement of each value.
    zone : (q,) int64
        Zone code of each measurement.
    names
        The q names, as the readings write them; that of the pull where it has none.
    first : (q,) int64
        Row of the first pull of each measurement.
    valid : (q,) bool
        Whether it has as many pulls as it needs.
    """

    group: Codes
    zone: Codes
    names: tuple[str, ...]
    first: Codes
    valid: Truth


def name_of(pulls: Pulls, i: int) -> str:
    """Return the measurement that pull ``i`` belongs to as the readings name it, "" where they name none."""
    return " ".join(pulls.labels["measurement"][i].split()) if "measurement" in pulls.labels else ""


def grouping(pulls: Pulls, rows: Codes, zone: Codes, retained: Truth, *, needed: int) -> Grouping:
    """Group values by measurement.

    Parameters
    ----------
    rows, zone : (m,) int64
        Row of ``pulls`` and zone code of each value; a pull that names no measurement is one of its own.
    retained : (m,) bool
        Whether the value counts towards the ``needed`` pulls of a valid measurement.
    """
    known: dict[tuple[int, str, int], int] = {}
    group = np.zeros(rows.size, np.int64)
    for k, (i, code) in enumerate(zip(rows.tolist(), zone.tolist(), strict=True)):
        name = name_of(pulls, i)
        group[k] = known.setdefault((code, name, -1 if name else i), len(known))
    q = len(known)
    first = np.full(q, np.iinfo(np.int64).max, np.int64)
    np.minimum.at(first, group, rows)
    enough = np.bincount(group, weights=retained, minlength=q) >= needed
    names = tuple(name or pulls.name(int(first[g])) for (_, name, _), g in known.items())
    return Grouping(group, np.array([key[0] for key in known], np.int64), names, first, np.asarray(enough, np.bool_))


def mean_of(found: Grouping, low: Values, high: Values) -> tuple[Values, Values]:
    """Return the means (q,) of lower and of upper bounds; in one order, so that exact values give equal bits."""
    order = np.lexsort((high, low, found.group))
    starts = np.searchsorted(found.group[order], np.arange(len(found.names)))
    number = np.bincount(found.group, minlength=len(found.names))
    if not starts.size:
        return np.zeros(0), np.zeros(0)
    return np.add.reduceat(low[order], starts) / number, np.add.reduceat(high[order], starts) / number


def reduced(found: Grouping, columns: Values) -> Values:
    """Return the means (q, c) of columns (m, c), such as shares of the area."""
    total = np.zeros((len(found.names), columns.shape[1]))
    np.add.at(total, found.group, columns)
    return total / np.maximum(np.bincount(found.group, minlength=len(found.names)), 1)[:, np.newaxis]


def unknown_measurements(found: Grouping, required: Sequence[int]) -> Codes:
    """Return the zone codes of measurements that are wholly unknown: required and not valid, or begun and not valid."""
    valid = np.bincount(found.zone[found.valid], minlength=len(required))
    begun = np.bincount(found.zone[~found.valid], minlength=len(required))
    number = np.maximum(np.array(required, np.int64) - valid, begun)
    return np.repeat(np.arange(len(required), dtype=np.int64), number)
