"""Criteria that depend on what broke, worked out the slow way: every pull gets a value, a failure and a depth.

Plain Python, its own reading of the rules, nothing shared with the package. A pull is a dictionary: ``low``, ``high``
(bounds of the value; ``inf``: without end), ``known`` ({code: percent}), ``depth`` (None: not measured). Its
completions: the ends of the value, the limits and hairs beside them in between; the area that is not known or lies
under the adhesive given to codes in steps of 10 %; the depth on both sides of what is asked.

Criteria are dictionaries with ``kind``: "smallest", "count", "each", "mean", "pulls", and combine by ("all", ...) and
("any", ...). Each returns the set of truths that it could have on one completion: two where the contract is silent.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterator

GLUE = ("-/Y", "Y", "Y/Z")
NEAR = 1e-9
BEYOND = 1e6
Pull = tuple[float, tuple[tuple[str, float], ...], float]  # value, composition, depth
Asked = dict[str, object]
Tree = Asked | tuple[object, ...]


@functools.cache
def splits(amount: int, parts: int) -> list[tuple[int, ...]]:
    """Ways to share out an amount (in tens of percent)."""
    if parts == 1:
        return [(amount,)]
    return [(i, *rest) for i in range(amount + 1) for rest in splits(amount - i, parts - 1)]


def compositions(known: dict[str, float] | None, codes: tuple[str, ...]) -> Iterator[tuple[tuple[str, float], ...]]:
    """Every composition that the pull can have had; what the adhesive covered could have been any code."""
    kept = {code: share for code, share in (known or {}).items() if code not in GLUE}
    free = round((100 - sum(kept.values())) / 10)
    for split in splits(free, len(codes)):
        found = dict(kept)
        for code, share in zip(codes, split, strict=True):
            found[code] = found.get(code, 0.0) + 10.0 * share
        yield tuple(sorted((code, share) for code, share in found.items() if share > 0))


def completions(
    pull: dict[str, object], codes: tuple[str, ...], marks: tuple[float, ...], depths: tuple[float, ...]
) -> list[Pull]:
    """The completions of one pull."""
    low, high = float(pull["low"]), float(pull["high"])  # type: ignore[arg-type]
    values = {low, high if math.isfinite(high) else BEYOND}
    for mark in marks:
        values |= {v for v in (mark, mark - 1e-4, mark + 1e-4) if low <= v <= high}
    depth = pull["depth"]
    deep = [float(depth)] if depth is not None else [d + e for d in depths for e in (-0.5, 0.5)] or [0.0]  # type: ignore[arg-type]
    broke = list(compositions(pull["known"], codes))  # type: ignore[arg-type]
    return [(v, c, d) for v in sorted(values) for c in broke for d in deep]


def fits(pull: Pull, failed: Asked) -> bool:
    """Whether one completed pull is described by it."""
    share = sum([s for code, s in pull[1] if code in failed["codes"]])  # type: ignore[operator,misc]
    deep = failed.get("depth") is None or pull[2] >= failed["depth"]  # type: ignore[operator]
    return bool(share >= failed["from"] - NEAR and deep)  # type: ignore[operator]


def _mean(values: list[float]) -> float:
    return math.fsum(values) / len(values)


def truths(criterion: Asked, pulls: tuple[Pull, ...]) -> set[bool]:
    """What the criterion can be on one completion."""
    kind = criterion["kind"]
    if kind == "pulls":
        share = 100 * sum(fits(p, criterion) for p in pulls) / len(pulls)
        limit = float(criterion["percent"])  # type: ignore[arg-type]
        return {share <= limit + NEAR if criterion.get("side") == "at most" else share >= limit - NEAR}
    if kind == "each":
        answers = [_each(criterion, p) for p in pulls]
        return {all(choice) for choice in itertools.product(*answers)}
    limit = float(criterion["limit"]) - NEAR  # type: ignore[arg-type]
    if kind in {"smallest", "count"}:
        unless = criterion.get("unless")
        good = sum(p[0] >= limit or (unless is not None and fits(p, unless)) for p in pulls)  # type: ignore[arg-type]
        return {good >= (len(pulls) if kind == "smallest" else criterion["z"])}  # type: ignore[operator]
    assert kind == "mean", kind
    if "only" in criterion:
        members = [p[0] for p in pulls if fits(p, criterion["only"])]  # type: ignore[arg-type]
        return {_mean(members) >= limit} if members else {True, False}
    if "alike" in criterion:
        return _alike(pulls, float(criterion["alike"]), limit)  # type: ignore[arg-type]
    return {_mean([p[0] for p in pulls]) >= limit}


def _each(criterion: Asked, pull: Pull) -> set[bool]:
    """Whether one pull meets its limit: any of those that fit; the one otherwise where none does."""
    held = [limit for failed, limit in criterion["cases"] if fits(pull, failed)]  # type: ignore[attr-defined]
    if not held:
        if criterion["otherwise"] is None:
            return {True, False}
        held = [criterion["otherwise"]]
    return {pull[0] >= limit - NEAR for limit in held}


def _alike(pulls: tuple[Pull, ...], start: float, limit: float) -> set[bool]:
    """The means of groups; a pull in which no code has its share may go with any code that it shows."""
    options = []
    for _, broke, _ in pulls:
        sure = [code for code, share in broke if share >= start - NEAR]
        options.append(sure or [code for code, _ in broke])
    found = set()
    for choice in itertools.product(*options):
        groups: dict[str, list[float]] = {}
        for code, pull in zip(choice, pulls, strict=True):
            groups.setdefault(code, []).append(pull[0])
        found.add(all(_mean(group) >= limit for group in groups.values()))
    return found


def tree_truths(tree: Tree, pulls: tuple[Pull, ...]) -> set[bool]:
    """What the whole requirement can be on one completion."""
    if isinstance(tree, dict):
        return truths(tree, pulls)
    parts = [tree_truths(part, pulls) for part in tree[1:]]  # type: ignore[arg-type]
    join = all if tree[0] == "all" else any
    return {join(choice) for choice in itertools.product(*parts)}


def answers(tree: Tree, pulls: list[dict[str, object]], *, codes: tuple[str, ...]) -> set[bool]:
    """Every truth over all completions of all pulls."""
    asked = list(leaves(tree))
    marks = tuple(sorted({m for c in asked for m in _marks(c, len(pulls))}))
    depths = tuple(sorted({float(d) for c in asked for d in _depths(c)}))
    options = [completions(pull, codes, marks, depths) for pull in pulls]
    found: set[bool] = set()
    for choice in itertools.product(*options):
        found |= tree_truths(tree, choice)
        if len(found) == 2:
            break
    return found


def leaves(tree: Tree) -> Iterator[Asked]:
    """The criteria."""
    if isinstance(tree, dict):
        yield tree
    else:
        for part in tree[1:]:
            yield from leaves(part)  # type: ignore[arg-type]


def _marks(criterion: Asked, n: int) -> list[float]:
    if criterion["kind"] == "pulls":
        return []
    if criterion["kind"] == "each":
        found = [float(limit) for _, limit in criterion["cases"]]  # type: ignore[attr-defined]
        return found if criterion["otherwise"] is None else [*found, float(criterion["otherwise"])]  # type: ignore[arg-type]
    return [float(criterion["limit"])]  # type: ignore[arg-type]


def _depths(criterion: Asked) -> list[float]:
    described: list[Asked] = [criterion] if criterion["kind"] == "pulls" else []
    described += [criterion[name] for name in ("unless", "only") if criterion.get(name)]  # type: ignore[misc]
    described += [failed for failed, _ in criterion.get("cases", [])]  # type: ignore[attr-defined]
    return [float(d["depth"]) for d in described if d.get("depth") is not None]  # type: ignore[arg-type]
