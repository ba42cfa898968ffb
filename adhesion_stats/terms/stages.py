"""Which pulls a rule is about beyond its zone: the stage of the work, the round of a retest ladder; groups of zones.

::

    [[group]]
    name = "decks"
    zones = ["Deck 1", "Deck 2"]

    [[require]]
    groups = ["decks"]               # beside or in place of zones
    stage = "bare substrate"         # "bare substrate", "trial", "production", "after remedy"
    mean_at_least = "1.50 MPa"

    [[ladder]]
    on = "does not conform"          # or "undetermined"
    do = "revise and repeat"
    pulls = 3
    [[ladder]]
    do = "refer to the designer"     # always the last step

A step of the ladder is taken where the round before it came to what ``on`` says (default "does not conform"). The
pulls of the second round bear 2 in the column "round" of the readings, those of the third 3, and so on.

Imports: terms.checker. Must not import anything above floor 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from adhesion_stats.terms.checker import Checker

__all__ = ["STAGES", "LadderStep", "groups_of", "ladder_of", "stage_of", "zones_of_rule"]

STAGES = ("bare substrate", "trial", "production", "after remedy")
_REPEAT, _REFER = "revise and repeat", "refer to the designer"
_ON = ("does not conform", "undetermined")


@dataclass(frozen=True, slots=True)
class LadderStep:
    """What the contract asks after a round that came to ``on``: another round of ``pulls`` pulls, or the designer."""

    on: Literal["does not conform", "undetermined"]
    do: Literal["revise and repeat", "refer to the designer"]
    pulls: int | None = None


def groups_of(check: Checker, table: Mapping[str, object]) -> dict[str, tuple[str, ...]]:
    """Return the zones of each named group; every problem is kept in ``check``."""
    found: dict[str, tuple[str, ...]] = {}
    for i, entry in enumerate(check.tables(table, "group", "group"), 1):
        path = f"group[{i}]"
        check.keys(entry, path, ("name", "zones"))
        for key, what in (("name", "a name for the group"), ("zones", "a list of zone names")):
            if key not in entry:
                check.problem("spec_missing_key", f"{path}.{key}", what=what)
        name, zones = check.text(entry, "name", f"{path}.name"), check.zones(entry, "zones", f"{path}.zones")
        if name == "":
            check.problem("spec_empty", f"{path}.name")
        if name and name in found:
            check.problem("spec_group_twice", f"{path}.name", name=name)
        if name and zones:
            found[name] = zones
    return found


def zones_of_rule(
    check: Checker, entry: Mapping[str, object], path: str, groups: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...]:
    """Return the zones that a rule names itself and through groups; () where it stands for every zone."""
    zones = check.zones(entry, "zones", f"{path}.zones") or ()
    names = check.texts(entry, "groups", f"{path}.groups")
    if names is not None and not names:
        check.problem("spec_empty", f"{path}.groups")
    for name in names or ():
        if not groups:
            check.problem("spec_no_group", f"{path}.groups", name=name)
        elif check.one_of(name, f"{path}.groups", tuple(groups)):
            zones = (*zones, *groups[name])
    return tuple(dict.fromkeys(zones))


def stage_of(check: Checker, entry: Mapping[str, object], path: str) -> str:
    """Return the stage whose pulls a rule is about; "" where it names none."""
    return check.choice(entry, "stage", f"{path}.stage", STAGES) or ""


def ladder_of(check: Checker, table: Mapping[str, object]) -> tuple[LadderStep, ...]:
    """Return the steps of the retest ladder in order; every problem is kept in ``check``."""
    entries = check.tables(table, "ladder", "ladder")
    steps = []
    for i, entry in enumerate(entries, 1):
        path = f"ladder[{i}]"
        check.keys(entry, path, ("on", "do", "pulls"))
        on = check.choice(entry, "on", f"{path}.on", _ON)
        do = check.choice(entry, "do", f"{path}.do", (_REPEAT, _REFER))
        pulls = check.count(entry, "pulls", f"{path}.pulls", at_least=1)
        if "do" not in entry:
            check.problem("spec_missing_key", f"{path}.do", what=f'"{_REPEAT}" or "{_REFER}"')
        if do == _REFER and "pulls" in entry:
            check.problem("spec_key_needs_another", f"{path}.pulls", needs=f'do = "{_REPEAT}"')
        if do == _REFER and i < len(entries):
            check.problem("spec_ladder_goes_on", path)
        steps.append(
            LadderStep(
                "undetermined" if on == "undetermined" else "does not conform",
                _refer_or_repeat(do),
                pulls,
            )
        )
    return tuple(steps)


def _refer_or_repeat(do: str | None) -> Literal["revise and repeat", "refer to the designer"]:
    return "refer to the designer" if do == _REFER else "revise and repeat"
