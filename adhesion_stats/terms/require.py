"""From the ``[[require]]`` tables of a specification to rules, and what can be wrong between them and the other terms.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CharacteristicAtLeast,
    Conformity,
    CountAtLeast,
    Criterion,
    MeanAtLeast,
    OfStrengths,
    Requirement,
    Uncertain,
    criteria,
    limits,
)
from adhesion_stats.terms.entry import Entry
from adhesion_stats.terms.kinds import KINDS
from adhesion_stats.terms.specification import Classes, PullRules, ZoneRule
from adhesion_stats.terms.stages import groups_of, stage_of, zones_of_rule
from adhesion_stats.terms.uncertainty import PROBABILITY_KEY, probability_asked

__all__ = ["check_rules", "first_unit", "rules_of"]

_JOINTS = ("all_of", "any_of")
_OWN = ("zones", "groups", "stage", "required", "least_valid")  # keys of a rule beside its requirement
_EVERY_KEY = tuple(
    dict.fromkeys((*_OWN, "source", *_JOINTS, *KINDS, *(key for kind in KINDS.values() for key in kind.every_key)))
)


_IN_LOGS_OR_FITTED = {"lognormal", "weibull", "en14358-normal", "en14358-lognormal"}  # exact for errors in shares


def rules_of(
    check: Checker, table: Mapping[str, object], uncertain: Uncertain | None
) -> tuple[tuple[ZoneRule, ...], tuple[Classes, ...]]:
    """The rules of the contract, in the order in which they are written, and the classes it sorts zones into.

    ``uncertain``: the stated uncertainty of the measured strengths.
    """
    entries = check.tables(table, "require", "require")
    if not entries:
        check.problem("spec_no_requirement", "require")
    groups = groups_of(check, table)
    rules: list[ZoneRule] = []
    classes: list[Classes] = []
    for i, entry in enumerate(entries, 1):
        path = f"require[{i}]"
        if "classes" in entry:
            found = _classes(check, entry, path, str(i), groups, uncertain)
            requirement = None if found is None else _class_asked(found)
            if found is not None:
                classes.append(found)
        else:
            requirement = _requirement(check, entry, path, str(i), uncertain, outer=True)
        if requirement is not None:
            zones, stage = zones_of_rule(check, entry, path, groups), stage_of(check, entry, path)
            required = check.count(entry, "required", f"{path}.required", at_least=1)
            least = check.count(entry, "least_valid", f"{path}.least_valid", at_least=1)
            rules.append(ZoneRule(zones, requirement, required, stage, least))
    return tuple(rules), tuple(classes)


def _classes(
    check: Checker,
    entry: Mapping[str, object],
    path: str,
    key: str,
    groups: Mapping[str, tuple[str, ...]],
    uncertain: Uncertain | None,
) -> Classes | None:
    """A rule that sorts zones into classes, the highest first."""
    check.keys(entry, path, (*_OWN, "classes", "at_least"))
    names: list[str] = []
    asked: list[Requirement] = []
    for i, part in enumerate(check.tables(entry, "classes", f"{path}.classes"), 1):
        at = f"{path}.classes[{i}]"
        name = check.text(part, "name", f"{at}.name")
        if not name:
            check.problem("spec_missing_key", f"{at}.name", what="the name of the class")
        inner = {k: v for k, v in part.items() if k != "name"}
        requirement = _requirement(check, inner, at, f"{key}.{i}", uncertain)
        if name and requirement is not None:
            names.append(name)
            asked.append(requirement)
    if not names:
        check.problem("spec_empty", f"{path}.classes")
        return None
    at_least = check.choice(entry, "at_least", f"{path}.at_least", names)
    return Classes(zones_of_rule(check, entry, path, groups), tuple(names), tuple(asked), at_least)


def _class_asked(classes: Classes) -> Requirement | None:
    """What meets the class that is asked for; None where none is."""
    return None if classes.at_least is None else classes.upto(classes.names.index(classes.at_least))


def _requirement(
    check: Checker,
    entry: Mapping[str, object],
    path: str,
    key: str,
    uncertain: Uncertain | None,
    *,
    outer: bool = False,
) -> Requirement | None:
    """One table of ``require``, ``all_of`` or ``any_of``: exactly one of a criterion, all_of, any_of."""
    named = [name for name in (*_JOINTS, *KINDS) if name in entry]
    own = _OWN if outer else ()
    if len(named) != 1:
        check.keys(entry, path, _EVERY_KEY)
        check.problem("spec_one_kind", path, found=tuple(named), known=(*_JOINTS, *KINDS))
        return None
    name = named[0]
    if name in KINDS:
        kind = KINDS[name]
        check.keys(entry, path, (*own, name, "source", *kind.every_key))
        found = kind.parse(Entry(check, entry, path, key, name))
        return found if PROBABILITY_KEY not in entry else _with_conformity(check, entry, path, found, uncertain)
    check.keys(entry, path, (*own, name))
    parts = [
        _requirement(check, part, f"{path}.{name}[{i}]", f"{key}.{i}", uncertain)
        for i, part in enumerate(check.tables(entry, name, f"{path}.{name}"), 1)
    ]
    known = tuple(part for part in parts if part is not None)
    if not parts:
        check.problem("spec_empty", f"{path}.{name}")
    if not known:
        return None
    return AllOf(known) if name == "all_of" else AnyOf(known)


def _with_conformity(
    check: Checker, entry: Mapping[str, object], path: str, found: Criterion | None, uncertain: Uncertain | None
) -> Criterion | None:
    """The criterion with the probability of conformity that its table asks for."""
    at_least = probability_asked(check, entry, path)
    at = f"{path}.{PROBABILITY_KEY}"
    if uncertain is None and not any(str(m.facts["path"]).startswith("uncertainty") for m in check.problems):
        check.problem("spec_missing_key", "uncertainty.component", what=f"the uncertainty that {at} needs")
    if found is None or at_least is None or uncertain is None:
        return found
    if isinstance(found, MeanAtLeast) and (found.only is not None or found.alike_from is not None):
        check.problem("spec_probability_of_part", at)
        return found
    in_shares = isinstance(found, CharacteristicAtLeast) and found.method in _IN_LOGS_OR_FITTED
    if in_shares and uncertain.mpa(common=True) > 0:
        assert isinstance(found, CharacteristicAtLeast)
        check.problem("spec_probability_in_shares", at, method=found.method)
        return found
    if not isinstance(found, OfStrengths):
        return found  # the parser knows no such key there
    return replace(found, conformity=Conformity(at_least, uncertain))


def check_rules(check: Checker, rules: tuple[ZoneRule, ...], pulls: PullRules) -> None:
    """What contradicts itself between the rules and the numbers of pulls."""
    _planned_numbers(check, rules, pulls)
    _reachable_limits(check, rules, pulls)


def _reachable_limits(check: Checker, rules: tuple[ZoneRule, ...], pulls: PullRules) -> None:
    """A declared ceiling below a limit would let no unknown value ever reach it: surely a slip."""
    if pulls.ceiling is None:
        return
    for i, rule in enumerate(rules, 1):
        for criterion in criteria(rule.requirement):
            for limit in limits(criterion):
                if pulls.ceiling.mpa < limit.mpa:
                    check.problem("spec_ceiling_too_low", f"require[{i}]", limit=limit.text, ceiling=pulls.ceiling.text)


def first_unit(rules: tuple[ZoneRule, ...]) -> str:
    """The unit of the first strength that a rule names; "" where none does."""
    named = (limit for rule in rules for criterion in criteria(rule.requirement) for limit in limits(criterion))
    return next((limit.unit for limit in named), "")


def _planned_numbers(check: Checker, rules: tuple[ZoneRule, ...], pulls: PullRules) -> None:
    """A criterion "z of n" plans n pulls: a required number that says otherwise contradicts it."""
    for i, rule in enumerate(rules, 1):
        for criterion in criteria(rule.requirement):
            required = rule.required if rule.required is not None else pulls.required
            if isinstance(criterion, CountAtLeast) and required is not None and required != criterion.n:
                check.problem("spec_two_numbers", f"require[{i}]", planned=criterion.n, required=required)
