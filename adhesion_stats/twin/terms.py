"""What the contract asks, from the TOML of the specification by ``tomllib``: plain tables, read key by key.

A key that the twin does not know is said where it matters; whether the file is a valid specification is not the twin's
question. Published rules are looked up in the library's TOML files, which hold facts and no code.
Imports: the standard library and this package.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from adhesion_stats.twin.model import GLUE_CODES, NotKnown
from adhesion_stats.twin.quantities import Limit, measure, percent

__all__ = ["AllOf", "AnyOf", "Criterion", "Requirement", "Rule", "Terms", "criteria", "terms_of"]

KINDS = (
    "mean_at_least", "smallest_at_least", "smallest_at_least_of_mean", "characteristic_at_least",
    "mean_less_sd_at_least", "quality_index_at_least", "share_below_at_most", "cov_at_most", "pulls_at_or_above",
    "held_at", "failure_share", "pulls_with_failure", "each_pull",
)  # fmt: skip
# What may stand beside the kind in a criterion; of another key nobody told the twin what it means.
_KEYS = {
    "question", "source", "governs", "guard", "zones", "groups", "stage", "required", "least_valid", "k",
    "lower_limit", "at_least", "at_most", "of", "at_least_share", "unless_failed", "only_failed",
    "within_same_failure", "from", "depth_from", "otherwise", "method", "content", "confidence", "known_cov",
    "known_sd", "pooled_over",
}  # fmt: skip
_TABLES_KNOWN = {
    "contract", "report", "pulls", "glue", "interface", "rounding", "screening", "method", "readings", "plan",
    "exclude", "determination", "ladder", "group", "require", "uncertainty",
}  # fmt: skip
AREA_KINDS = ("failure_share", "pulls_with_failure")


@dataclass(frozen=True)
class Criterion:
    """One criterion: its key in the results, its kind (the TOML key that names it), and its table as written."""

    key: str
    kind: str
    table: Mapping[str, object]

    @property
    def question(self) -> str:
        """What a criterion on strengths asks: "pull-off", an interface or a layer; "" for one on areas."""
        return "" if self.kind in AREA_KINDS else str(self.table.get("question", "pull-off"))

    @property
    def strange(self) -> str:
        """A key of its table that the twin does not know, "" for none."""
        return next((key for key in self.table if key not in _KEYS and key != self.kind), "")


@dataclass(frozen=True)
class AllOf:
    """Every part must be met."""

    parts: tuple[Requirement, ...]


@dataclass(frozen=True)
class AnyOf:
    """One part must be met."""

    parts: tuple[Requirement, ...]


Requirement = Criterion | AllOf | AnyOf


@dataclass(frozen=True)
class Rule:
    """A requirement, the zones that it is for (none: every zone), and numbers of pulls."""

    zones: tuple[str, ...]
    requirement: Requirement
    required: int | None = None
    least_valid: int = 0
    stage: str = ""


@dataclass(frozen=True)
class Terms:
    """What the twin takes from a specification."""

    rules: tuple[Rule, ...]
    whole: Mapping[str, object]
    ladder: tuple[Mapping[str, object], ...] = ()
    exclusions: tuple[tuple[str, str], ...] = ()
    zones: tuple[str, ...] = ()

    def table(self, name: str) -> Mapping[str, object]:
        """One table of the file, {} where it is not there."""
        found = self.whole.get(name, {})
        return found if isinstance(found, Mapping) else {}

    @property
    def strange(self) -> tuple[str, ...]:
        """Tables of the file that the twin does not know."""
        return tuple(name for name in self.whole if name not in _TABLES_KNOWN)

    @property
    def glue_codes(self) -> tuple[str, ...]:
        """Codes at or in the dolly adhesive."""
        codes = self.table("glue").get("codes")
        return tuple(str(code) for code in codes) if isinstance(codes, list) else GLUE_CODES

    def limit(self, table: str, key: str) -> Limit | None:
        """A strength of a table, such as the ceiling."""
        found = self.table(table).get(key)
        return None if found is None else measure(str(found), "strength")

    def share(self, table: str, key: str) -> Fraction | None:
        """A share [%] of a table."""
        found = self.table(table).get(key)
        return None if found is None else percent(str(found))[0]

    @property
    def rounded(self) -> bool:
        """Whether a value is rounded before it is compared."""
        return self.table("rounding").get("method") == "rounded"

    @property
    def ties_up(self) -> bool:
        """Whether ties are rounded away from zero; else to even."""
        return self.table("rounding").get("ties") == "up"

    @property
    def by_measurement(self) -> bool:
        """Whether several pulls make one value."""
        return self.table("pulls").get("count_by") == "measurement"

    def of_zone(self, zone: str) -> Requirement | None:
        """What is asked of a zone: every rule that names it or stands for all."""
        found = [rule.requirement for rule in self.rules if not rule.zones or zone in rule.zones]
        if not found:
            return None
        return found[0] if len(found) == 1 else AllOf(tuple(found))

    def required(self, zone: str) -> int:
        """How many values a zone needs: the number asked for, or the number that its z-of-n criteria plan."""
        named = [rule.required for rule in self.rules if rule.required and (not rule.zones or zone in rule.zones)]
        own = self.table("pulls").get("required", 0)
        asked = max(named) if named else own if isinstance(own, int) else 0
        requirement = self.of_zone(zone)
        return max(asked, 0 if requirement is None else _planned(requirement))

    def least_valid(self, zone: str) -> int:
        """How many values must count for anything to be decided."""
        named = [rule.least_valid for rule in self.rules if not rule.zones or zone in rule.zones]
        own = self.table("pulls").get("least_valid", 0)
        return max([*named, own if isinstance(own, int) else 0])


def criteria(requirement: Requirement) -> Iterator[Criterion]:
    """The criteria of a requirement in the order in which they are written."""
    if isinstance(requirement, Criterion):
        yield requirement
    else:
        for part in requirement.parts:
            yield from criteria(part)


def _planned(requirement: Requirement) -> int:
    if isinstance(requirement, AllOf):
        return max(_planned(part) for part in requirement.parts)
    if isinstance(requirement, AnyOf):
        return min(_planned(part) for part in requirement.parts)
    n = requirement.table.get("of", 0)
    return n if requirement.kind == "pulls_at_or_above" and isinstance(n, int) else 0


def _tables(value: object) -> list[Mapping[str, object]]:
    return [entry for entry in value if isinstance(entry, Mapping)] if isinstance(value, list) else []


def terms_of(content: bytes, published: Sequence[bytes]) -> Terms:
    """The terms of a specification; ``published`` holds the library's TOML files with published rules and methods."""
    whole = dict(tomllib.loads(content.decode("utf-8-sig")))
    entries = _tables(whole.get("require"))
    if any("use" in text for text in (repr(entries), repr(whole.get("method", "")))):
        whole, entries = _with_published(whole, entries, published)
    groups = {str(group["name"]): _texts(group.get("zones")) for group in _tables(whole.get("group"))}
    rules = tuple(rule for i, entry in enumerate(entries, 1) for rule in _rules(entry, str(i), groups))
    excluded = tuple((str(entry.get("zone", "")), str(entry["id"])) for entry in _tables(whole.get("exclude")))
    terms = Terms(rules, whole, tuple(_tables(whole.get("ladder"))), excluded)
    planned = tuple(str(zone.get("name")) for zone in _tables(terms.table("plan").get("zone")))
    named = [*_texts(terms.table("pulls").get("zones")), *(zone for rule in rules for zone in rule.zones)]
    named += [zone for zone in planned if terms.of_zone(zone) is not None]
    return replace(terms, zones=tuple(dict.fromkeys(named)))


def _texts(value: object) -> tuple[str, ...]:
    return tuple(str(entry) for entry in value) if isinstance(value, list) else ()


def _rules(entry: Mapping[str, object], key: str, groups: Mapping[str, tuple[str, ...]]) -> Iterator[Rule]:
    """A table of ``[[require]]`` as a rule; one that only sorts zones into classes asks nothing."""
    zones = _texts(entry.get("zones"))
    for name in _texts(entry.get("groups")):
        zones = (*zones, *groups[name])
    if "classes" in entry:
        if "at_least" not in entry:
            return
        requirement = _class(entry, key)
    else:
        requirement = _requirement(entry, key)
    required, least = entry.get("required"), entry.get("least_valid")
    yield Rule(
        tuple(dict.fromkeys(zones)),
        requirement,
        required if isinstance(required, int) else None,
        least if isinstance(least, int) else 0,
        str(entry.get("stage", "")),
    )


def _class(entry: Mapping[str, object], key: str) -> Requirement:
    """What meets the class that is asked for: that class or a higher one."""
    classes = _tables(entry["classes"])
    parts = []
    for i, part in enumerate(classes, 1):
        parts.append(_requirement({k: v for k, v in part.items() if k != "name"}, f"{key}.{i}"))
        if part["name"] == entry["at_least"]:
            break
    return AnyOf(tuple(parts)) if len(parts) > 1 else parts[0]


def _requirement(entry: Mapping[str, object], key: str) -> Requirement:
    for joint, kind in (("all_of", AllOf), ("any_of", AnyOf)):
        if joint in entry:
            return kind(tuple(_requirement(part, f"{key}.{i}") for i, part in enumerate(_tables(entry[joint]), 1)))
    named = [kind for kind in KINDS if kind in entry]
    # What is no kind that the twin knows keeps its name, so that it can be said.
    return Criterion(key, named[0] if len(named) == 1 else next(iter(entry)), entry)


# ------------------------------------------------------------------------------------------- published rules


def _with_published(
    whole: dict[str, object], entries: list[Mapping[str, object]], published: Sequence[bytes]
) -> tuple[dict[str, object], list[Mapping[str, object]]]:
    library: dict[str, Mapping[str, object]] = {}
    for content in published:
        file = tomllib.loads(content.decode())
        for kind in ("rule", "method"):
            library |= {str(entry["name"]): entry for entry in _tables(file.get(kind))}
    whole["require"] = entries = [_used(entry, library, inside=False) for entry in entries]
    method = whole.get("method")
    if isinstance(method, Mapping) and "use" in method:
        found = _named(method, library)
        for name in ("method", "glue", "rounding", "pulls"):
            own, theirs = whole.get(name, {}), found.get(name, {})
            if isinstance(own, Mapping) and isinstance(theirs, Mapping):
                whole[name] = {**theirs, **{k: v for k, v in own.items() if k not in {"use", "confirmed"}}}
    return whole, entries


def _named(entry: Mapping[str, object], library: Mapping[str, Mapping[str, object]]) -> Mapping[str, object]:
    name = str(entry["use"])
    if name not in library:
        raise NotKnown("published", name)
    return library[name]


def _used(
    entry: Mapping[str, object], library: Mapping[str, Mapping[str, object]], *, inside: bool
) -> Mapping[str, object]:
    """A table with the published rule that it uses written out; the contract's keys take the place of the rule's."""
    if "use" in entry:
        found = _named(entry, library).get("require")
        rule: dict[str, object] = copy.deepcopy(dict(found)) if isinstance(found, Mapping) else {}
        if inside:
            rule.pop("required", None)
        for key, value in entry.items():
            if key not in {"use", "confirmed"}:
                places = [table for table in _nested(rule) if key in table]
                (places[0] if len(places) == 1 else rule)[key] = value
        return rule
    whole = dict(entry)
    for joint in ("all_of", "any_of"):
        if joint in entry:
            whole[joint] = [_used(part, library, inside=True) for part in _tables(entry[joint])]
    return whole


def _nested(table: dict[str, object]) -> Iterator[dict[str, object]]:
    yield table
    for value in table.values():
        for inner in value if isinstance(value, list) else (value,):
            if isinstance(inner, dict):
                yield from _nested(inner)
