"""The kinds of requirement, as frozen data. What they mean for numbers is decided in ``acceptance``.

A requirement is a criterion, or all of / any of several requirements. A limit keeps the text in which it was written.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "PULL_OFF",
    "AllOf",
    "AnyOf",
    "CharacteristicAtLeast",
    "CharacteristicMethod",
    "CountAtLeast",
    "Criterion",
    "FailureShare",
    "Limit",
    "MeanAtLeast",
    "PullsWithFailure",
    "Requirement",
    "SmallestAtLeast",
    "StrengthCriterion",
    "criteria",
]

PULL_OFF = "pull-off"  # the question that takes each value as it is, whatever broke

CharacteristicMethod = Literal["tolerance", "en1990-unknown", "en1990-known"]


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit as written: ``text`` "1.50 MPa", its number, unit, decimal places, and the same in MPa.

    ``share`` is 0.75 where the limit was written as "75 % of 2.00 MPa": ``value`` is then 1.5, and ``places`` are
    those of the written value, or more where the product needs them.
    """

    text: str
    value: float
    unit: str
    places: int
    mpa: float
    share: float | None = None


@dataclass(frozen=True, slots=True)
class _Criterion:
    """What every criterion has: its key within the requirement, its source as the contract names it."""

    key: str
    source: str


@dataclass(frozen=True, slots=True)
class MeanAtLeast(_Criterion):
    """The mean of the zone's values is at or above the limit."""

    question: str
    limit: Limit


@dataclass(frozen=True, slots=True)
class SmallestAtLeast(_Criterion):
    """No value of the zone lies below the limit."""

    question: str
    limit: Limit


@dataclass(frozen=True, slots=True)
class CharacteristicAtLeast(_Criterion):
    """The characteristic value by a named method is at or above the limit.

    ``content`` and ``confidence`` belong to "tolerance"; "en1990-..." is the 5 % fractile of EN 1990:2002 Annex D;
    "en1990-known" takes exactly one of ``known_cov`` [-] and ``known_sd`` (as a limit-like quantity).
    """

    question: str
    limit: Limit
    method: CharacteristicMethod
    content: float | None = None
    confidence: float | None = None
    known_cov: float | None = None
    known_sd: Limit | None = None


@dataclass(frozen=True, slots=True)
class CountAtLeast(_Criterion):
    """At least ``z`` of ``n`` planned values are at or above the limit."""

    question: str
    limit: Limit
    z: int
    n: int


@dataclass(frozen=True, slots=True)
class FailureShare(_Criterion):
    """The mean share of the area that failed by ``codes``, over the zone's pulls, at least / at most a limit [%].

    ``places`` are the decimal places of the limit as written; None: those it needs.
    """

    codes: tuple[str, ...]
    at_least: float | None
    at_most: float | None
    places: int | None = None


@dataclass(frozen=True, slots=True)
class PullsWithFailure(_Criterion):
    """The share of the zone's pulls that failed by ``codes`` over ``from_percent`` or more of their area [%].

    ``places`` as in ``FailureShare``.
    """

    codes: tuple[str, ...]
    from_percent: float
    at_least: float | None
    at_most: float | None
    places: int | None = None


StrengthCriterion = MeanAtLeast | SmallestAtLeast | CharacteristicAtLeast | CountAtLeast
Criterion = StrengthCriterion | FailureShare | PullsWithFailure


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
