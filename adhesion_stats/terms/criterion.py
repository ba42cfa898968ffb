"""What every kind of criterion is made of: a limit as written, the number it compares with, the names of its kind, and
the uncertainty of the measured values where a probability of conformity is asked.

Imports: nothing of the package.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import ClassVar, Literal

__all__ = [
    "PULL_OFF",
    "Asked",
    "Conformity",
    "CriterionBase",
    "Limit",
    "OfStrengths",
    "Uncertain",
    "UncertainPart",
    "UncertaintyForm",
]

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


UncertaintyForm = Literal["standard", "expanded", "half_width", "step"]


@dataclass(frozen=True, slots=True)
class UncertainPart:
    """One component of the uncertainty of a measured strength, as stated: ``text`` "2 %" or "0.01 MPa".

    ``form``: how it was stated; ``mpa`` and ``share`` (of the reading): the figure stated, one of them 0;
    ``common``: one error that all pulls share, not one drawn anew for each.
    """

    name: str
    form: UncertaintyForm
    text: str
    mpa: float
    share: float
    coverage_factor: float | None
    common: bool

    @property
    def divisor(self) -> float:
        """What the figure stated is divided by to have a standard uncertainty (JCGM 100:2008, 4.3)."""
        if self.form == "expanded":
            assert self.coverage_factor is not None  # terms.uncertainty asks for it
            return self.coverage_factor
        return {"standard": 1.0, "half_width": math.sqrt(3.0), "step": math.sqrt(12.0)}[self.form]

    @property
    def standard_mpa(self) -> float:
        """Standard uncertainty [MPa] that does not depend on the reading."""
        return self.mpa / self.divisor

    @property
    def standard_share(self) -> float:
        """Standard uncertainty as a share of the reading [-]."""
        return self.share / self.divisor


@dataclass(frozen=True, slots=True)
class Uncertain:
    """The uncertainty of each measured strength, by component; ``source`` as the contract names it."""

    parts: tuple[UncertainPart, ...]
    source: str = ""

    @property
    def has_independent(self) -> bool:
        """Whether any component is drawn anew for each pull."""
        return any(not part.common for part in self.parts)

    def mpa(self, *, common: bool) -> float:
        """Standard uncertainty [MPa] of the components with a fixed amount that are common, or that are not."""
        return math.hypot(*(part.standard_mpa for part in self.parts if part.common == common))

    def share(self, *, common: bool) -> float:
        """Standard uncertainty as a share of the reading [-], likewise."""
        return math.hypot(*(part.standard_share for part in self.parts if part.common == common))


@dataclass(frozen=True, slots=True)
class Conformity:
    """The probability of conformity that a criterion asks for, and the uncertainty in view of which."""

    at_least: float
    of: Uncertain


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
    """A criterion on the values of a question whose limit is a strength.

    ``conformity``: it is met where the true value conforms with this probability; None: by the measured value alone.
    """

    question: str
    limit: Limit
    conformity: Conformity | None = field(default=None, kw_only=True)

    @property
    def asked(self) -> Asked:
        """The limit of the criterion's value."""
        return Asked(self.limit.value, self.limit.unit, self.limit.places)

    @property
    def strength_limit(self) -> Limit | None:
        """The strength that the criterion names."""
        return self.limit
