"""What criteria on strengths ask of n values, reduced to a few forms; ``forms`` finds the form of each kind.

``Ranked``   the value of some rank, counted from the largest, is at or above a threshold:
             smallest (rank n), at least z of n (rank z)
``Spread``   scale * mean - k * sd - shift is at or above a threshold:
             mean (k = 0), mean - k sd, characteristic value with unknown sd (k), known sd (shift), known coefficient
             of variation (scale); and limits on (mean - L) / sd, which ask the same (``Quotient``)
``OfMean``   the smallest value is at least a share of the mean
``Floored``  as ``Spread``, in logarithms, or with a floor under the sd
``Fitted``   a bound that is found by iteration
``Likely``   the probability that the true values conform is at least as large as asked

Imports: numpy, this room's limits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.limits import ENTERED, Threshold

__all__ = [
    "BetweenSds",
    "ByFailure",
    "Condition",
    "Fitted",
    "Floored",
    "Likely",
    "OfMean",
    "OfValues",
    "Quotient",
    "Ranked",
    "Spread",
    "Trouble",
    "Unformed",
]

Values = NDArray[np.float64]


class Trouble(IntEnum):
    """Why a value can't be formed."""

    NO_VALUES = 1
    ONE_VALUE = 2
    TOO_FEW = 3  # the method needs more values
    NO_FACTOR = 4  # the contract's table of factors lacks this number


@dataclass(frozen=True, slots=True)
class Unformed:
    """A criterion whose value can't be formed from so few values."""

    trouble: Trouble


@dataclass(frozen=True, slots=True)
class Ranked:
    """The value of rank ``best`` (``worst``), counted from the largest, decides whether the criterion can (must) be
    met.

    ``best`` below 1: the missing values alone could meet it.
    """

    best: int
    worst: int
    limit: Threshold
    tolerance: float = ENTERED


@dataclass(frozen=True, slots=True)
class Quotient:
    """What a ``Spread`` condition is about where its value is a function of Q = (mean - L) / sd.

    ``of`` turns Q into the value that is shown, ``limit`` is the threshold of that value. Where sd is 0, Q is infinite:
    positive where the mean reaches L.
    """

    of: Callable[[Values], Values]
    limit: Threshold


@dataclass(frozen=True, slots=True)
class Spread:
    """``scale * mean - k * sd - shift_mpa`` at or above the limit."""

    k: float
    scale: float
    shift_mpa: float
    limit: Threshold
    tolerance: float
    quotient: Quotient | None = None

    @property
    def own_k(self) -> float:
        """Factor of the equivalent condition mean - own_k * sd >= own_at."""
        return self.k / self.scale

    @property
    def own_at(self) -> float:
        """Threshold [MPa] of the equivalent condition mean - own_k * sd >= own_at."""
        return (self.limit.at * self.limit.unit_mpa + self.shift_mpa) / self.scale

    def never_falls(self, n: int) -> bool:
        """Whether the value never falls as one of the n values grows."""
        return self.scale > 0 and abs(self.own_k) * math.sqrt(n) <= 1.0

    def falls(self, n: int) -> bool:
        """Whether the value is concave in the values and can fall as one of them grows."""
        return self.scale > 0 and self.own_k * math.sqrt(n) > 1.0


@dataclass(frozen=True, slots=True)
class ByFailure:
    """A criterion that is decided pull by pull or over a part of the pulls, by what broke (see ``by_failure``)."""

    limit: Threshold


@dataclass(frozen=True, slots=True)
class OfMean:
    """100 * smallest value / mean at or above the limit [%]; with all values 0 it is 100."""

    limit: Threshold
    tolerance: float


@dataclass(frozen=True, slots=True)
class Floored:
    """mean - k * max(sd, floor) at or above the limit, of the logarithms (``logs``; floor absolute) or of the values
    (floor a share of the mean).
    """

    k: float
    floor: float
    logs: bool
    limit: Threshold
    tolerance: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """The bound that ``bound`` (rows (g, n), ascending, values above zero and not all equal -> (g,)) finds [MPa]."""

    bound: Callable[[Values], Values]
    limit: Threshold
    tolerance: float


@dataclass(frozen=True, slots=True)
class BetweenSds:
    """mean - k * sd at or above the limit, for one sd of several zones that lies somewhere between two bounds [MPa]."""

    k: float
    sd: tuple[float, float]
    limit: Threshold
    tolerance: float


@dataclass(frozen=True, slots=True)
class Likely:
    """The probability of conformity of n values (rows (g, n) [MPa] -> (g,)) at or above that of ``limit``.

    ``of`` is told whether the best or the worst choice of values is meant, where more or fewer are there than planned.
    It never falls as a value grows. ``measured``: the condition on the measured values, whose value is shown.
    """

    of: Callable[[Values, bool], Values]
    measured: Ranked | Spread
    limit: Threshold
    tolerance: float


OfValues = Ranked | Spread | OfMean | Floored | Fitted | BetweenSds | Likely
Condition = OfValues | Unformed
