"""What every kind of criterion is made of: a limit as written, the number it compares with, and the names of its kind.

Imports: nothing of the package.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

__all__ = ["PULL_OFF", "Asked", "CriterionBase", "Limit", "OfStrengths"]

PULL_OFF = "pull-off"  # the question that takes each value as it is, whatever broke


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
class Asked:
    """The number that a criterion's value is compared with: as written, in its unit ("%" for shares), and which side
    meets.
    """

    limit: float
    unit: str
    places: int
    at_most: bool = False


@dataclass(frozen=True, slots=True)
class CriterionBase:
    """What every criterion has: its key within the requirement, its source as the contract names it."""

    kind: ClassVar[str]
    said: ClassVar[str]

    key: str
    source: str

    @property
    def asked(self) -> Asked:
        """The limit of the criterion's value."""
        raise NotImplementedError

    @property
    def strength_limit(self) -> Limit | None:
        """The strength that the criterion names; None for kinds without one."""
        return None


@dataclass(frozen=True, slots=True)
class OfStrengths(CriterionBase):
    """A criterion on the values of a question whose limit is a strength."""

    question: str
    limit: Limit

    @property
    def asked(self) -> Asked:
        """The limit of the criterion's value."""
        return Asked(self.limit.value, self.limit.unit, self.limit.places)

    @property
    def strength_limit(self) -> Limit | None:
        """The strength that the criterion names."""
        return self.limit
