"""Outlines of a specification's plan: rectangles and polygons with their units become corners in metres.

Imports: plane, units, terms.checker. Must not import anything above floor 1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.plane import area, crossing_edges, overlap
from adhesion_stats.terms.checker import Checker
from adhesion_stats.units import factor

__all__ = ["M_PER_MM", "OUTLINE_KEYS", "KeepOut", "Points", "corners_of", "keep_outs_of"]

Points = NDArray[np.float64]
OUTLINE_KEYS = ("origin", "rectangle", "polygon", "unit")
M_PER_MM = 0.001


@dataclass(frozen=True, eq=False)
class KeepOut:
    """A part of a zone where nobody pulls: corners (m, 2) [m]."""

    name: str
    corners: Points


def keep_outs_of(check: Checker, entry: Mapping[str, object], path: str, outline: Points | None) -> tuple[KeepOut, ...]:
    """Return the keep-outs of a zone; one that lies outside its outline is a problem."""
    found: list[KeepOut] = []
    for i, part in enumerate(check.tables(entry, "keep_outs", f"{path}.keep_outs"), 1):
        where = f"{path}.keep_outs[{i}]"
        check.keys(part, where, ("name", *OUTLINE_KEYS))
        corners = corners_of(check, part, where)
        name = check.text(part, "name", f"{where}.name") or f"keep-out {i}"
        if corners is None:
            continue
        if outline is not None and not overlap(outline, corners):
            check.problem("spec_plan_keep_out_elsewhere", where, keep_out=name)
        found.append(KeepOut(name, corners))
    return tuple(found)


def corners_of(check: Checker, entry: Mapping[str, object], path: str) -> Points | None:
    """Corners (m, 2) [m] of a rectangle or polygon."""
    if ("rectangle" in entry) == ("polygon" in entry):
        check.problem("spec_one_kind", path, found=(), known=("rectangle", "polygon"))
        return None
    return _rectangle(check, entry, path) if "rectangle" in entry else _polygon(check, entry, path)


def _rectangle(check: Checker, entry: Mapping[str, object], path: str) -> Points | None:
    if "unit" in entry:
        check.problem("spec_key_not_here", f"{path}.unit", why="each side of a rectangle carries its own unit")
    sides = _pair(check, entry, "rectangle", f"{path}.rectangle", above_zero=True)
    if "origin" not in entry:
        check.problem("spec_missing_key", f"{path}.origin", what='the lower left corner, such as ["0 m", "0 m"]')
        return None
    origin = _pair(check, entry, "origin", f"{path}.origin", above_zero=False)
    if sides is None or origin is None:
        return None
    (x, y), (w, h) = origin, sides
    return np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])


def _pair(
    check: Checker, entry: Mapping[str, object], key: str, path: str, *, above_zero: bool
) -> tuple[float, float] | None:
    """Two lengths with their units [m]; below zero they may be where ``above_zero`` is false."""
    texts = check.texts(entry, key, path)
    if texts is None:
        return None
    if len(texts) != 2:
        check.problem("spec_wrong_type", path, expected='two lengths, such as ["6 m", "4 m"]', came=", ".join(texts))
        return None
    found: list[float] = []
    for text in texts:
        sign = -1.0 if text.strip().startswith("-") and not above_zero else 1.0
        value = check.measure({key: text.strip().removeprefix("-") if sign < 0 else text}, key, path, "length")
        if value is None:
            return None
        if above_zero and value == 0:
            check.problem("spec_out_of_range", path, expected="lengths above 0", came=text)
            return None
        found.append(round(sign * value * M_PER_MM, 9))
    return found[0], found[1]


def _polygon(check: Checker, entry: Mapping[str, object], path: str) -> Points | None:
    where = f"{path}.polygon"
    if "origin" in entry:
        check.problem("spec_key_not_here", f"{path}.origin", why="the corners of a polygon are its places")
    unit = check.text(entry, "unit", f"{path}.unit")
    scale = None
    if unit is None:
        if "unit" not in entry:
            check.problem("spec_missing_key", f"{path}.unit", what='the unit of the corners, such as "m"')
    else:
        try:
            scale = factor(unit, "length") * M_PER_MM
        except UnknownUnit as error:
            check.problem("spec_unknown_unit", f"{path}.unit", unit=error.text, known=error.known)
    listed = entry["polygon"]
    corners = listed if isinstance(listed, list) else []
    good = len(corners) >= 3 and all(
        isinstance(c, list)
        and len(c) == 2
        and all(isinstance(v, int | float) and not isinstance(v, bool) and math.isfinite(v) for v in c)
        for c in corners
    )
    if not good:
        expected = "three or more corners, each two numbers: [[0, 0], [12, 0], [12, 8]]"
        check.problem("spec_wrong_type", where, expected=expected, came=str(listed)[:60])
        return None
    points = np.round(np.array(corners, dtype=np.float64) * (scale or 1.0), 9)
    crossing = crossing_edges(points)
    if crossing is not None:
        check.problem("spec_plan_crossing", where, first=crossing[0] + 1, second=crossing[1] + 1)
        return None
    if area(points) == 0:
        check.problem("spec_out_of_range", where, expected="an area above 0", came="corners on one line")
        return None
    return points if scale is not None else None
