"""The kinds of requirement, as frozen data. What they mean for numbers is decided in ``acceptance``.

A requirement is a criterion, or all of / any of several requirements. A limit keeps the text in which it was written.

Each kind carries two names: ``kind``, as results name it, and ``said``, the stem of its sentences' codes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from adhesion_stats.terms.criterion import (
    PULL_OFF,
    Asked,
    Conformity,
    CriterionBase,
    Limit,
    OfStrengths,
    Uncertain,
    UncertainPart,
)
from adhesion_stats.terms.failed import Failed
from adhesion_stats.terms.value_criteria import (
    CovAtMost,
    HeldAt,
    MeanLessSd,
    QualityIndex,
    ShareBelow,
    ShareOfPulls,
    SmallestOfMean,
)

__all__ = [
    "PULL_OFF",
    "AllOf",
    "AnyOf",
    "AreaCriterion",
    "Asked",
    "CharacteristicAtLeast",
    "CharacteristicMethod",
    "Conformity",
    "CountAtLeast",
    "CovAtMost",
    "Criterion",
    "EachPullAtLeast",
    "FailureLimit",
    "FailureShare",
    "HeldAt",
    "Limit",
    "MeanAtLeast",
    "MeanLessSd",
    "OfStrengths",
    "PullsWithFailure",
    "QualityIndex",
    "Requirement",
    "ShareBelow",
    "ShareOfPulls",
    "SmallestAtLeast",
    "SmallestOfMean",
    "StrengthCriterion",
    "Uncertain",
    "UncertainPart",
    "criteria",
    "depends_on_failure",
    "limits",
    "questions",
    "view",
]

CharacteristicMethod = Literal[
    "tolerance",
    "tolerance-known-sd",
    "pooled",
    "lognormal",
    "weibull",
    "order-statistic",
    "en1990-unknown",
    "en1990-known",
    "en14358-normal",
    "en14358-lognormal",
    "iso12491",
]


@dataclass(frozen=True, slots=True)
class MeanAtLeast(OfStrengths):
    """The mean of the zone's values is at or above the limit.

    ``only``: the mean of the pulls that failed so. ``alike_from`` [% of area, above 50]: the mean of each group of
    pulls that failed alike, a pull belonging to the code that has that share of its area or more. Not both.
    """

    kind = "mean"
    said = "mean"

    only: Failed | None = None
    alike_from: float | None = None


@dataclass(frozen=True, slots=True)
class SmallestAtLeast(OfStrengths):
    """No value of the zone lies below the limit; a pull that failed as ``unless`` says is excused."""

    kind = "smallest"
    said = "smallest"

    unless: Failed | None = None


@dataclass(frozen=True, slots=True)
class CharacteristicAtLeast(OfStrengths):
    """The characteristic value by a named method is at or above the limit.

    ``content`` and ``confidence`` belong to the tolerance bounds; "en1990-...", "en14358-..." and "iso12491" are 5 %
    fractiles. Methods with a known spread take exactly one of ``known_cov`` [-] and ``known_sd`` (as a limit-like
    quantity). ``pooled_over`` names the zones whose spread is pooled beforehand (empty: those of the
    rule); ``pooled`` is set from the values when it is decided.
    """

    kind = "characteristic"
    said = "characteristic"

    method: CharacteristicMethod
    content: float | None = None
    confidence: float | None = None
    known_cov: float | None = None
    known_sd: Limit | None = None
    pooled_over: tuple[str, ...] = ()
    pooled: tuple[float, float, int] | None = None  # least and greatest pooled sd [MPa], degrees of freedom


@dataclass(frozen=True, slots=True)
class CountAtLeast(OfStrengths):
    """At least ``z`` of ``n`` planned values are at or above the limit, or of pulls that failed as ``unless`` says."""

    kind = "count"
    said = "count"

    z: int
    n: int
    unless: Failed | None = None


@dataclass(frozen=True, slots=True)
class FailureLimit:
    """The limit for pulls that failed so."""

    failed: Failed
    limit: Limit


@dataclass(frozen=True, slots=True)
class EachPullAtLeast(CriterionBase):
    """Each pull is at or above the limit that its failure asks for.

    A pull that fits several of ``cases`` may be meant by any of them; one that fits none is held to ``otherwise``, and
    where that is None the contract is silent about it. Its value is the share of the pulls that reach their limit.
    """

    kind = "each pull"
    said = "each"

    question: str
    cases: tuple[FailureLimit, ...]
    otherwise: Limit | None = None

    @property
    def asked(self) -> Asked:
        """The limit of the criterion's value: all pulls."""
        return Asked(100.0, "%", 0)


@dataclass(frozen=True, slots=True)
class _OfAreas(CriterionBase):
    """A criterion on what broke: a share of area or of pulls, at least / at most a limit [%].

    ``places`` are the decimal places of the limit as written; None: those it needs.
    """

    codes: tuple[str, ...]

    @property
    def sides(self) -> tuple[float | None, float | None, int | None]:
        """Lower limit, upper limit, decimal places as written."""
        raise NotImplementedError

    @property
    def asked(self) -> Asked:
        """The limit of the criterion's value."""
        low, high, places = self.sides
        limit = high if high is not None else low
        assert limit is not None  # terms.parse takes exactly one of the two
        return Asked(limit, "%", places or 0, high is not None)


@dataclass(frozen=True, slots=True)
class FailureShare(_OfAreas):
    """The mean share of the area that failed by ``codes``, over the zone's pulls, at least / at most a limit [%].

    ``places`` are the decimal places of the limit as written; None: those it needs.
    """

    kind = "failure share"
    said = "share"

    at_least: float | None
    at_most: float | None
    places: int | None = None

    @property
    def sides(self) -> tuple[float | None, float | None, int | None]:
        """Lower limit, upper limit, decimal places as written."""
        return self.at_least, self.at_most, self.places


@dataclass(frozen=True, slots=True)
class PullsWithFailure(_OfAreas):
    """The share of the zone's pulls that failed by ``codes`` over ``from_percent`` or more of their area [%].

    ``places`` as in ``FailureShare``. ``depth_mm``: and whose break lies that deep or deeper (``depth_text``: as
    written).
    """

    kind = "pulls with failure"
    said = "pulls"

    from_percent: float
    at_least: float | None
    at_most: float | None
    places: int | None = None
    depth_mm: float | None = None
    depth_text: str = ""

    @property
    def failed(self) -> Failed:
        """Which pulls are counted."""
        return Failed(self.codes, self.from_percent, self.depth_mm, self.depth_text)

    @property
    def sides(self) -> tuple[float | None, float | None, int | None]:
        """Lower limit, upper limit, decimal places as written."""
        return self.at_least, self.at_most, self.places


StrengthCriterion = (
    MeanAtLeast
    | SmallestAtLeast
    | CharacteristicAtLeast
    | CountAtLeast
    | MeanLessSd
    | QualityIndex
    | ShareBelow
    | CovAtMost
    | SmallestOfMean
    | ShareOfPulls
    | HeldAt
)
AreaCriterion = FailureShare | PullsWithFailure
Criterion = StrengthCriterion | EachPullAtLeast | AreaCriterion


@dataclass(frozen=True, slots=True)
class AllOf:
    """Every part must be met."""

    parts: tuple[Requirement, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one part must be met."""

    parts: tuple[Requirement, ...]


Requirement = Criterion | AllOf | AnyOf


def criteria(requirement: Requirement) -> Iterator[Criterion]:
    """Yield the criteria of a requirement in the order in which they are written."""
    if isinstance(requirement, AllOf | AnyOf):
        for part in requirement.parts:
            yield from criteria(part)
    else:
        yield requirement


def questions(asked: Iterable[Criterion]) -> tuple[str, ...]:
    """The questions that the criteria ask of strengths, each once, in order."""
    return tuple(dict.fromkeys(c.question for c in asked if not isinstance(c, AreaCriterion)))


def depends_on_failure(criterion: Criterion) -> bool:
    """Tell whether the criterion can only be decided with what broke in each pull."""
    if isinstance(criterion, AreaCriterion | EachPullAtLeast):
        return True
    if isinstance(criterion, MeanAtLeast):
        return criterion.only is not None or criterion.alike_from is not None
    return isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None


def view(criterion: StrengthCriterion) -> str:
    """Return the key of the values that a criterion is decided on: its question, with the way out where it has one."""
    if isinstance(criterion, SmallestAtLeast | CountAtLeast) and criterion.unless is not None:
        return f"{criterion.question} unless {criterion.unless.key}"
    return criterion.question


def limits(criterion: Criterion) -> tuple[Limit, ...]:
    """Return the limits on strength that a criterion names, in the order in which they are written."""
    if isinstance(criterion, EachPullAtLeast):
        own = tuple(case.limit for case in criterion.cases)
        return own if criterion.otherwise is None else (*own, criterion.otherwise)
    return () if criterion.strength_limit is None else (criterion.strength_limit,)
