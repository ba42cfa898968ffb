"""What differs between two results: recorded and recomputed.

Numbers agree when they are equal within ``RELATIVE`` or ``ABSOLUTE`` (the last bits of a logarithm change with the
processor); texts, counts, outcomes and the presence of every entry must agree exactly.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeGuard

__all__ = ["ABSOLUTE", "RELATIVE", "Change", "Comparison", "Difference", "changes", "compare_results"]

RELATIVE = 1e-9
ABSOLUTE = 1e-12  # for differences that are zero on paper, such as a margin on the limit


@dataclass(frozen=True, slots=True)
class Change:
    """Something that a reader decides by and that is not the same: a decision, or the standing of a pull."""

    what: str
    recorded: str
    recomputed: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One place where two results differ: path such as ``zones[3].summary.mean``, and both entries."""

    path: str
    recorded: object
    recomputed: object


@dataclass(frozen=True, slots=True)
class Comparison:
    """Outcome of a comparison.

    Attributes
    ----------
    differences
        Everything that does not agree, in the order of the record.
    entries
        How many entries were compared.
    inexact
        How many numbers agree within the tolerance but not to the last bit.
    largest
        Largest relative difference among these.
    """

    differences: tuple[Difference, ...]
    entries: int
    inexact: int
    largest: float


class _Absent:
    """Stands for an entry that one side does not have."""

    def __repr__(self) -> str:
        return "nothing"


_ABSENT = _Absent()


def _is_list(value: object) -> TypeGuard[Sequence[object]]:
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)


def _are_messages(value: object) -> TypeGuard[Sequence[object]]:
    return _is_list(value) and all(isinstance(part, Mapping) and {"code", "facts"} <= part.keys() for part in value)


def _leaves(
    recorded: object, recomputed: object, path: str, *, recorded_only: bool
) -> Iterator[tuple[str, object, object]]:
    """Walk both sides together; yield each pair of entries that are not both objects or both lists."""
    if isinstance(recorded, Mapping) and isinstance(recomputed, Mapping):
        new = () if recorded_only else (k for k in recomputed if k not in recorded)
        for key in [*recorded, *new]:
            place = f"{path}.{key}" if path else str(key)
            left, right = recorded.get(key, _ABSENT), recomputed.get(key, _ABSENT)
            yield from _leaves(left, right, place, recorded_only=recorded_only)
    elif recorded_only and _are_messages(recorded) and _are_messages(recomputed):
        # A later version may say more; each thing that the record says must still be said.
        for i, message in enumerate(recorded):
            yield f"{path}[{i}]", message, message if message in recomputed else _ABSENT
    elif _is_list(recorded) and _is_list(recomputed):
        for i in range(max(len(recorded), len(recomputed))):
            left = recorded[i] if i < len(recorded) else _ABSENT
            right = recomputed[i] if i < len(recomputed) else _ABSENT
            yield from _leaves(left, right, f"{path}[{i}]", recorded_only=recorded_only)
    else:
        yield path, recorded, recomputed


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def compare_results(
    recorded: Mapping[str, object], recomputed: Mapping[str, object], *, recorded_only: bool = False
) -> Comparison:
    """Compare two results entry by entry.

    Parameters
    ----------
    recorded, recomputed
        Results as in ``results.json``.
    recorded_only
        Leave out entries of objects, and messages, that the record does not have: for a record of an older form.

    Returns
    -------
    Comparison
        An empty ``differences`` means that they agree.

    Examples
    --------
    >>> compare_results({"mean": 1.5}, {"mean": 1.4}).differences
    (Difference(path='mean', recorded=1.5, recomputed=1.4),)
    """
    differences: list[Difference] = []
    entries = inexact = 0
    largest = 0.0
    for path, left, right in _leaves(recorded, recomputed, "", recorded_only=recorded_only):
        entries += 1
        if _is_number(left) and _is_number(right):
            if left == right:
                continue
            whole = isinstance(left, int) and isinstance(right, int)
            if not whole and math.isclose(left, right, rel_tol=RELATIVE, abs_tol=ABSOLUTE):
                inexact += 1
                largest = max(largest, abs(left - right) / max(abs(left), abs(right)))
                continue
        elif type(left) is type(right) and left == right:
            continue
        differences.append(Difference(path, left, right))
    return Comparison(tuple(differences), entries, inexact, largest)


def changes(recorded: Mapping[str, object], recomputed: Mapping[str, object]) -> Iterator[Change]:
    """Yield what people decide by and is not the same: the contract's decision, the zones', the pulls' standing."""
    first, second = (dict(_decisions(found)) for found in (recorded, recomputed))
    for what in dict.fromkeys([*first, *second]):
        pair = (first.get(what, "not there"), second.get(what, "not there"))
        if pair[0] != pair[1]:
            yield Change(what, *pair)


def _decisions(results: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """What was decided, by what it is about: the contract, each zone, each pull."""
    with contextlib.suppress(KeyError, TypeError, AttributeError):  # results that the schema refused: as far as they go
        decision, zones, pulls = results["decision"], results["zones"], results["pulls"]
        assert isinstance(decision, Mapping)
        assert isinstance(zones, list)
        assert isinstance(pulls, list)
        yield "contract", str(decision["outcome"])
        for zone in zones:
            yield f"zone {zone['zone']}", str(zone["outcome"] or "nothing asked")
        for pull in pulls:
            yield f"pull {pull['name']} (row {pull['row']})", str(pull["status"])
