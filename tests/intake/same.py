"""Whether two results are the same to the last bit, and if not, where they differ first."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from adhesion_stats.coded import Coded

__all__ = ["same"]


def same(one: object, other: object, *, but: set[str] | frozenset[str] = frozenset(), at: str = "") -> str:
    """Return "" for the same (nan being nan), else the place and the two values; fields in ``but`` may differ."""
    if type(one) is not type(other):
        return f"{at}: {type(one).__name__} and {type(other).__name__}"
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        equal = one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()
        return "" if equal else f"{at}: {one!r} and {other!r}"
    if isinstance(one, Coded) and isinstance(other, Coded):
        return same(tuple(one), tuple(other), but=but, at=at)
    if dataclasses.is_dataclass(one) and not isinstance(one, type):
        names = [field.name for field in dataclasses.fields(one) if field.name not in but]
        pairs = [(name, getattr(one, name), getattr(other, name)) for name in names]
    elif isinstance(one, Mapping) and isinstance(other, Mapping):
        if list(one) != list(other):
            return f"{at}: {list(one)} and {list(other)}"
        pairs = [(str(key), one[key], other[key]) for key in one]
    elif isinstance(one, list | tuple) and isinstance(other, list | tuple):
        if len(one) != len(other):
            return f"{at}: {one!r} and {other!r}"
        pairs = [(str(k), a, b) for k, (a, b) in enumerate(zip(one, other, strict=True))]
    elif isinstance(one, float) and isinstance(other, float):
        return "" if one.hex() == other.hex() else f"{at}: {one!r} and {other!r}"
    else:
        return "" if one == other else f"{at}: {one!r} and {other!r}"
    return next((where for name, a, b in pairs if (where := same(a, b, but=but, at=f"{at}.{name}"))), "")
