"""What a contract asks, as frozen data. ``terms.parse`` makes it from a TOML file; nothing here reads files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from adhesion_stats.pulls import GLUE_CODES
from adhesion_stats.terms.criteria import AllOf, AnyOf, CharacteristicMethod, Limit, Requirement, Uncertain
from adhesion_stats.terms.determinations import Determination
from adhesion_stats.terms.method_checks import MethodChecks
from adhesion_stats.terms.plan import PlanTerms
from adhesion_stats.terms.stages import LadderStep
from adhesion_stats.terms.use import Used

__all__ = [
    "CharacteristicAsked",
    "Contract",
    "Exclusion",
    "GlueRule",
    "MethodChecks",
    "PullRules",
    "Rounding",
    "Screening",
    "Specification",
    "ZoneRule",
]


@dataclass(frozen=True)
class Contract:
    """What stands on the report's head: free text as the contract names things; all optional but the title."""

    title: str
    structure: str = ""
    client: str = ""
    engineer: str = ""
    test_method: str = ""
    document: str = ""
    note: str = ""
    invented: bool = False


@dataclass(frozen=True)
class PullRules:
    """How many pulls, and what the unknown ones may be.

    ``lost``: "unknown" (a lost pull is a value from 0 up, also beyond the required number), "left out" (it only counts
    as not made), or None: the contract is silent, both readings are decided. ``count_by`` "measurement": the pulls of
    one measurement give one value, their mean, and ``required`` counts measurements; one with fewer pulls that count
    than ``pulls_per_measurement`` is not valid. With fewer than ``least_valid`` values that count nothing is decided.
    """

    required: int | None = None
    zones: tuple[str, ...] = ()
    ceiling: Limit | None = None
    lost: Literal["unknown", "left out"] | None = None
    recording_step: Limit | None = None
    count_by: Literal["pull", "measurement"] = "pull"
    pulls_per_measurement: int | None = None
    least_valid: int | None = None


@dataclass(frozen=True)
class GlueRule:
    """What a break at or in the dolly adhesive means; None = the contract is silent, both readings are decided.

    From a share of ``from_percent`` on, the pull is "at least" (a lower bound) or is discarded and tested again
    ("discard"); below it the value is taken as it is.
    """

    codes: tuple[str, ...] = GLUE_CODES
    from_percent: float | None = None
    then: Literal["at least", "discard"] | None = None


@dataclass(frozen=True)
class Rounding:
    """How a value is compared with its limit.

    "unrounded" (the default here, and a choice of ours: ASTM E29 names this method and the next and prefers neither)
    or "rounded": to the last place of the limit as written, ties to "even" or "up" (away from zero). ``record_to``
    rounds each strength first, as some test methods ask (0.01 MPa, 1 psi).
    """

    method: Literal["unrounded", "rounded"] = "unrounded"
    ties: Literal["even", "up"] = "even"
    record_to: Limit | None = None


@dataclass(frozen=True)
class Screening:
    """Outlier tests that point at pulls (they exclude none). ``tests`` empty: none asked."""

    tests: tuple[Literal["grubbs", "dixon"], ...] = ("grubbs", "dixon")
    side: Literal["low", "high", "both"] = "low"
    level: float = 0.05
    dixon_convention: str = "E178"


@dataclass(frozen=True)
class CharacteristicAsked:
    """A characteristic value that the report shows beside the decision; fields as in ``CharacteristicAtLeast``."""

    method: CharacteristicMethod
    content: float | None = None
    confidence: float | None = None
    known_cov: float | None = None
    known_sd: Limit | None = None
    pooled_over: tuple[str, ...] = ()


@dataclass(frozen=True)
class Exclusion:
    """A pull that an engineer takes out for a written physical cause."""

    zone: str
    id: str
    reason: str
    who: str


@dataclass(frozen=True)
class ZoneRule:
    """A requirement and the zones it stands for (empty: every zone); ``required`` overrides the contract's number.

    ``stage``: only pulls of that stage count for it ("": all that no other rule of the zone takes by their stage).
    """

    zones: tuple[str, ...]
    requirement: Requirement
    required: int | None = None
    stage: str = ""
    least_valid: int | None = None


@dataclass(frozen=True)
class Classes:
    """Classes to sort zones into (empty ``zones``: every zone), from the highest to the lowest: names, what each asks.

    ``at_least``: the class that is asked for, which stands among the rules too; None: nothing is decided by them.
    """

    zones: tuple[str, ...]
    names: tuple[str, ...]
    asked: tuple[Requirement, ...]
    at_least: str | None = None

    def upto(self, number: int) -> Requirement:
        """What a zone meets that is in class ``number`` (0 the highest) or a higher one."""
        return AnyOf(self.asked[: number + 1]) if number else self.asked[0]


@dataclass(frozen=True)
class Specification:
    """A contract's terms. ``digest`` is the SHA-256 of the file's bytes (hex); ``unit`` that of the report."""

    contract: Contract
    rules: tuple[ZoneRule, ...]
    unit: str
    pulls: PullRules = field(default_factory=PullRules)
    glue: GlueRule = field(default_factory=GlueRule)
    broke_there_from_percent: float | None = None
    screening: Screening = field(default_factory=Screening)
    method: MethodChecks = field(default_factory=MethodChecks)
    exclusions: tuple[Exclusion, ...] = ()
    determinations: tuple[Determination, ...] = ()
    ladder: tuple[LadderStep, ...] = ()
    classes: tuple[Classes, ...] = ()
    plan: PlanTerms | None = None
    uses: tuple[Used, ...] = ()  # published rules and methods that the file uses, with the account of their numbers
    rounding: Rounding = field(default_factory=Rounding)
    interval_confidence: float = 0.95
    characteristic: tuple[CharacteristicAsked, ...] = ()
    planned_pulls: Mapping[str, int] = field(default_factory=dict)  # numbers of a plan that a decision is to wait for
    readings: Mapping[str, object] | None = None  # the readings layout as written, parsed by terms.layout
    uncertain: Uncertain | None = None  # of each measured strength, as the contract states it
    file: str = ""
    digest: str = ""

    def requirement_for(self, zone: str) -> Requirement | None:
        """Return what is asked of ``zone``: all rules that name it or stand for every zone; None when none does."""
        found = [rule.requirement for rule in self.rules if not rule.zones or zone in rule.zones]
        if not found:
            return None
        return found[0] if len(found) == 1 else AllOf(tuple(found))

    def least_valid_for(self, zone: str) -> int:
        """Return how many values of ``zone`` must count for anything to be decided; 0 where nothing is said."""
        named = [rule.least_valid or 0 for rule in self.rules if not rule.zones or zone in rule.zones]
        return max([*named, self.pulls.least_valid or 0])

    def without_least_valid(self) -> Specification:
        """Return the same terms without least numbers of valid pulls."""
        rules = tuple(replace(rule, least_valid=None) for rule in self.rules)
        return replace(self, rules=rules, pulls=replace(self.pulls, least_valid=None))

    def required_for(self, zone: str) -> int | None:
        """Return how many pulls ``zone`` needs: the largest number that a rule for it names, else the contract's; that
        of ``planned_pulls`` where it is larger.
        """
        named = [
            rule.required for rule in self.rules if rule.required is not None and (not rule.zones or zone in rule.zones)
        ]
        asked = max(named) if named else self.pulls.required
        planned = self.planned_pulls.get(zone)
        return asked if planned is None else max(planned, asked or 0)
