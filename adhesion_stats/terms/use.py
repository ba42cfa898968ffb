"""``use = "name"`` in a specification: a published rule or method put in, its holes filled, the contract over it.

::

    [[require]]
    use = "EN 1504-3:2005 R4"
    zones = ["Deck"]
    smallest_at_least = "1.60 MPa"      # fills a hole, or stands in place of the published number
    confirmed = "A. Author, 2026-05-04, the contract's copy, table 3"

    [method]
    use = "ISO 4624:2016"

This happens before the specification is read: what comes out is a table as if the contract had written the rule out, so
there is one parser and one validator. A key beside ``use`` replaces the one value of that key in the rule, wherever it
stands there; tables [glue], [rounding] and [pulls] of the contract stand over those of a method, key by key.

``confirmed`` says who compared the numbers with the document, when, and where they were seen. Without it a number that
is not verified acts all the same, and every decision on it reads "to be confirmed".
Imports: terms.checker, terms.library. Must not import anything above floor 1.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.library import BY_CONTRACT, FRAGMENTS, Number, Published, leaves, library, nearest, shown

__all__ = ["Used", "UsedNumber", "criterion_key", "for_zones", "merged_rule", "with_published"]

_OF_THE_CONTRACT = ("use", "confirmed")
_INDEX = re.compile(r"\[(\d+)\]")
_QUIET = {
    "rule": {"mean_at_least": "1 MPa"},
    "method": {},
}  # stands in for an unknown name, so that one fault is said once


@dataclass(frozen=True, slots=True)
class UsedNumber:
    """A published number in a specification: its path there, and what the contract says in its place (None: nothing).

    ``instead`` is "" where the contract replaced the part of the rule in which the number stood.
    """

    path: str
    number: Number
    instead: str | None


@dataclass(frozen=True)
class Used:
    """A published rule or method as a specification uses it, at ``path`` ("require[1]", "method"), for ``zones``.

    ``zones`` is empty where it stands for every zone; ``confirmed`` is "" where nobody confirmed it.
    """

    path: str
    published: Published
    zones: tuple[str, ...]
    confirmed: str
    numbers: tuple[UsedNumber, ...]

    @property
    def to_confirm(self) -> tuple[UsedNumber, ...]:
        """The numbers that act, are not verified, and that nobody confirmed."""
        if self.confirmed:
            return ()
        return tuple(one for one in self.numbers if one.instead is None and one.number.sure != "verified")

    @property
    def replaced(self) -> tuple[UsedNumber, ...]:
        """The numbers that the contract replaced."""
        return tuple(one for one in self.numbers if one.instead is not None)

    def is_for(self, zone: str) -> bool:
        """Tell whether it stands for ``zone``."""
        return not self.zones or zone in self.zones


def criterion_key(path: str) -> str:
    """The key of the criterion in which a path of a specification lies.

    >>> criterion_key("require[2].all_of[1].mean_at_least")
    '2.1'
    """
    return ".".join(_INDEX.findall(path))


def with_published(check: Checker, table: Mapping[str, object]) -> tuple[dict[str, object], tuple[Used, ...]]:
    """Return the table of a specification with every ``use`` put in, and what was used; problems go to ``check``."""
    whole, uses = dict(table), list[Used]()
    entries = table.get("require")
    if isinstance(entries, list):
        whole["require"] = [
            _require(check, entry, f"require[{i}]", uses) if isinstance(entry, Mapping) else entry
            for i, entry in enumerate(entries, 1)
        ]
    method = table.get("method")
    if isinstance(method, Mapping) and "use" in method:
        _method(check, whole, method, uses)
    return whole, tuple(uses)


def for_zones(uses: tuple[Used, ...], zones: tuple[tuple[str, ...], ...]) -> tuple[Used, ...]:
    """The uses with the zones of their rules, entry i for ``require[i]``: a rule may name groups of zones."""
    return tuple(
        replace(used, zones=zones[int(_INDEX.findall(used.path)[0]) - 1]) if used.published.kind == "rule" else used
        for used in uses
    )


def _require(check: Checker, entry: Mapping[str, object], path: str, uses: list[Used]) -> dict[str, object]:
    """One table of [[require]], all_of or any_of, with what it uses put in."""
    if "use" in entry:
        return _used(check, entry, path, uses)
    found = dict(entry)
    for kind in ("all_of", "any_of"):
        parts = entry.get(kind)
        if isinstance(parts, list):
            found[kind] = [
                _require(check, part, f"{path}.{kind}[{i}]", uses) if isinstance(part, Mapping) else part
                for i, part in enumerate(parts, 1)
            ]
    return found


def _named(
    check: Checker, entry: Mapping[str, object], path: str, kind: Literal["rule", "method"]
) -> tuple[Published | None, str]:
    """The published rule or method that ``use`` names, and the confirmation."""
    name = check.text(entry, "use", f"{path}.use")
    confirmed = check.text(entry, "confirmed", f"{path}.confirmed")
    if confirmed == "":
        check.problem("spec_empty", f"{path}.confirmed")
    if name is None:
        return None, confirmed or ""
    found = library().get(name)
    if found is None:
        check.problem("spec_use_unknown", f"{path}.use", name=name, near=nearest(name, kind=kind) or ("none like it",))
    elif found.kind != kind:
        code = "spec_use_is_method" if found.kind == "method" else "spec_use_is_rule"
        check.problem(code, f"{path}.use", name=name)
        found = None
    return found, confirmed or ""


def _used(check: Checker, entry: Mapping[str, object], path: str, uses: list[Used]) -> dict[str, object]:
    """A table of a requirement as if the contract had written the rule out."""
    published, confirmed = _named(check, entry, path, "rule")
    own = {key: value for key, value in entry.items() if key not in _OF_THE_CONTRACT}
    if published is None:
        return {
            **_QUIET["rule"],
            **{key: value for key, value in own.items() if key in {"zones", "groups", "stage", "required"}},
        }
    rule = copy.deepcopy(dict(published.fragment["require"]))
    if "[" in path.partition("]")[2]:  # inside all_of or any_of: the number of pulls belongs to the whole requirement
        rule.pop("required", None)
    merged = merged_rule(check, rule, own, path, published)
    numbers = _numbers(published, {"require": merged}, {"require": path})
    _holes(check, published, {"require": merged}, {"require": path})
    uses.append(Used(path, published, (), confirmed, numbers))
    _name_source(merged, published, numbers, path)
    return merged


def _method(check: Checker, whole: dict[str, object], method: Mapping[str, object], uses: list[Used]) -> None:
    """[method] and the tables that a method brings besides, key by key under the contract's own."""
    published, confirmed = _named(check, method, "method", "method")
    whole["method"] = {key: value for key, value in method.items() if key not in _OF_THE_CONTRACT}
    if published is None:
        return
    merged: dict[str, dict[str, object]] = {}
    for name in FRAGMENTS["method"]:
        own = whole.get(name)
        if name in published.fragment and (own is None or isinstance(own, Mapping)):
            merged[name] = {**copy.deepcopy(dict(published.fragment[name])), **(own or {})}
    paths = {name: name for name in merged}
    numbers = _numbers(published, merged, paths)
    _holes(check, published, merged, paths)
    whole.update(merged)
    uses.append(Used("method", published, (), confirmed, numbers))


def _tables(table: dict[str, object]) -> Iterator[dict[str, object]]:
    """The table and every table within it."""
    yield table
    for value in table.values():
        for inner in value if isinstance(value, list) else (value,):
            if isinstance(inner, dict):
                yield from _tables(inner)


def merged_rule(
    check: Checker, rule: dict[str, object], own: Mapping[str, object], path: str, published: Published
) -> dict[str, object]:
    """The rule with each key of the contract in the one place where the rule has that key, else beside its own."""
    places = {key: [table for table in _tables(rule) if key in table] for key in own}
    for key, value in own.items():
        if len(places[key]) > 1:
            check.problem("spec_use_several", f"{path}.{key}", name=published.name, key=key, count=len(places[key]))
            continue
        (places[key][0] if places[key] else rule)[key] = value
    return rule


def _numbers(
    published: Published, merged: Mapping[str, Mapping[str, object]], paths: Mapping[str, str]
) -> tuple[UsedNumber, ...]:
    """Each published number, and what stands in its place."""
    now = {f"{name}.{key}": value for name, table in merged.items() for key, value in leaves(table)}
    found: list[UsedNumber] = []
    for number in published.numbers:
        name, _, rest = number.key.partition(".")
        value = shown(now[number.key]) if number.key in now else ""
        found.append(UsedNumber(f"{paths[name]}.{rest}", number, None if value == number.value else value))
    return tuple(found)


def _holes(
    check: Checker, published: Published, merged: Mapping[str, dict[str, object]], paths: Mapping[str, str]
) -> None:
    """Say each hole that is still open; an example stands in for it, so that the rest can be read."""
    for hole in published.holes:
        name, _, rest = hole.key.partition(".")
        if dict(leaves(merged[name])).get(rest) != BY_CONTRACT:
            continue
        key = rest.rpartition(".")[2]
        where = f"{paths[name]}.{key}"
        example = hole.example if isinstance(hole.example, int) else f'"{hole.example}"'
        facts = {"name": published.name, "what": hole.what, "key": key, "example": str(example)}
        check.problem("spec_use_hole", where, **facts)
        for table in _tables(merged[name]):
            if table.get(key) == BY_CONTRACT:
                table[key] = hole.example


def _name_source(table: dict[str, object], published: Published, numbers: tuple[UsedNumber, ...], path: str) -> None:
    """Give each criterion of the rule that names no source the document and the places of its numbers."""
    for kind in ("all_of", "any_of"):
        parts = table.get(kind)
        if isinstance(parts, list):
            for i, part in enumerate(parts, 1):
                if isinstance(part, dict):
                    _name_source(part, published, numbers, f"{path}.{kind}[{i}]")
            return
    if "source" in table:
        return
    mine = [one.number.clause for one in numbers if one.path.rpartition(".")[0] == path and one.number.clause]
    table["source"] = ", ".join(dict.fromkeys((published.name, *mine)))
