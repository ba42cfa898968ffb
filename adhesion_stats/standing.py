"""What was judged about each pull: does it count, and if not, why and on whose word. Facts stay in ``Pulls``."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntFlag, StrEnum
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Texts

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Flag", "Reason", "Standing", "Status"]


class Status(StrEnum):
    """What a pull is to the decision."""

    COUNTED = "counted"
    INVALID = "invalid"
    EXCLUDED = "excluded"
    REPLACED = "replaced"
    LOST = "lost"


class Reason(IntFlag):
    """Why a pull does not count (several may hold)."""

    NO_VALUE = 1  # no value was measured and nothing says why
    LOST = 2  # lost before loading
    GLUE = 4  # broke at or in the dolly adhesive
    DISPUTED = 8  # intake could not settle the value
    EXCLUDED = 16  # a reason is written in the file or the specification
    REPLACED = 32  # invalid, and a retest stands for it
    RETEST_OF_VALID = 64  # repeats a pull that is valid; the first pull stands
    METHOD = 128  # breaks a rule of the test method


class Flag(IntFlag):
    """Pointed at by an outlier test; still counted."""

    GRUBBS_LOW = 1
    GRUBBS_HIGH = 2
    DIXON_LOW = 4
    DIXON_HIGH = 8


_NOT_COUNTED_ORDER = (
    (Reason.REPLACED, Status.REPLACED),
    (Reason.EXCLUDED, Status.EXCLUDED),
    (Reason.RETEST_OF_VALID, Status.EXCLUDED),
    (Reason.LOST, Status.LOST),
)


@dataclass(frozen=True)
class Standing:
    """Judgement of each pull: reasons (bit set), who says so, flags. Append-only.

    Attributes
    ----------
    reasons : (n,) int64
        ``Reason`` bits; 0 means that the pull counts.
    who : (n,)
        "rule", or the text of the person or file that excluded the pull; "" for a pull that counts.
    flags : (n,) int64
        ``Flag`` bits.
    at_least : (n,) bool
        Counts as a lower bound although its value is exact as read (dolly adhesive broke, under the glue rule).
    """

    reasons: NDArray[np.int64]
    who: Texts
    flags: NDArray[np.int64]
    at_least: NDArray[np.bool_]

    @property
    def counted(self) -> NDArray[np.bool_]:
        """(n,) whether the pull counts."""
        return np.equal(self.reasons, 0)

    def status(self, i: int) -> Status:
        """Status of pull ``i``."""
        reasons = Reason(int(self.reasons[i]))
        if not reasons:
            return Status.COUNTED
        for reason, status in _NOT_COUNTED_ORDER:
            if reason & reasons:
                return status
        return Status.INVALID

    def with_reason(self, where: NDArray[np.bool_], reason: Reason, who: str = "rule") -> Standing:
        """Return a standing with ``reason`` added where ``where`` is true."""
        reasons = np.where(where, self.reasons | int(reason), self.reasons)
        if not where.any():
            return self
        unnamed = where & self.who.where(lambda before: before in {"", "rule"})  # what a person said stays
        return replace(self, reasons=reasons, who=self.who.put(unnamed, who).tidy)

    def with_flag(self, where: NDArray[np.bool_], flag: Flag) -> Standing:
        """Return a standing with ``flag`` added where ``where`` is true."""
        return replace(self, flags=np.where(where, self.flags | int(flag), self.flags))
