"""Questions that every kernel asks before it computes: is this a sample of the agreed shape, is this a level?

Nothing is repaired here: a wrong input raises ``InvalidSample`` and says what was expected and what came.

Imports: numpy, ``blocks`` and ``adhesion_stats.errors``. Must not import any other room, pandas or scipy.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.blocks import Stack

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["check_choice", "check_correlation", "check_level", "check_positive", "check_sample", "check_size"]


def check_sample(x: NDArray[np.float64] | Stack, *, at_least: int) -> int:
    """Number of values per row of a block that keeps the kernel contract.

    Only shape, type, memory order and the ends of the rows are looked at; that rows ascend is what ``stacks`` and
    ``blocks`` guarantee, and looking again would cost as much as the statistic. The ends show a bound passed as a
    value: what has no upper bound is infinite and stands last, as does what is missing.

    Parameters
    ----------
    x : (g, n) float64, C-contiguous
    at_least : int
        Smallest n that the caller can use [-].

    Raises
    ------
    InvalidSample
        If ``x`` is no such array, has fewer than ``at_least`` columns, or a row ends in something that is not finite.
    """
    if isinstance(x, Stack):
        raise InvalidSample(
            f"expected exact values; got a stack of which {x.r} of {x.n} values per sample are known within bounds "
            "only. Pass exact_values to leave those out, or use a function for bounded values"
        )
    if x.dtype != np.float64 or x.ndim != 2:
        raise InvalidSample(
            f"expected a float64 array of shape (g, n), one sample per row; got {x.dtype} of shape {x.shape}"
        )
    if not x.flags.c_contiguous:
        raise InvalidSample("expected a C-contiguous array of shape (g, n); use numpy.ascontiguousarray")
    n = int(x.shape[1])
    if n < at_least:
        raise InvalidSample(f"expected at least {at_least} values per sample; got {n}")
    if n and not bool(np.isfinite(x[:, 0]).all() and np.isfinite(x[:, -1]).all()):
        row = int(np.argmin(np.isfinite(x[:, 0]) & np.isfinite(x[:, -1])))
        raise InvalidSample(
            f"expected exact, finite values; row {row} has {x[row, 0]!r} and {x[row, -1]!r} at its ends. A value that "
            "is known within bounds only can't be passed as one"
        )
    return n


def check_size(n: int, *, at_least: int, at_most: int | None = None) -> int:
    """The sample size ``n`` itself, if it is a whole number within the stated range; else ``InvalidSample``."""
    try:
        whole = operator.index(n)
    except TypeError:
        raise InvalidSample(f"expected a whole number of values n; got {n!r}") from None
    if whole < at_least or (at_most is not None and whole > at_most):
        span = f"n >= {at_least}" if at_most is None else f"{at_least} <= n <= {at_most}"
        raise InvalidSample(f"expected a sample size {span}; got n = {whole}")
    return whole


def check_level(name: str, value: float) -> float:
    """The level (alpha, confidence, content) as a float, if strictly between 0 and 1; else ``InvalidSample``."""
    if not 0.0 < value < 1.0:
        raise InvalidSample(f"expected {name} strictly between 0 and 1 (5 % is 0.05); got {value!r}")
    return float(value)


def check_correlation(name: str, value: float) -> float:
    """The correlation as a float, if strictly between -1 and 1; else ``InvalidSample``."""
    if not -1.0 < value < 1.0:
        raise InvalidSample(f"expected a {name} above -1 and below 1; got {value!r}")
    return float(value)


def check_choice(name: str, value: str, *, among: Sequence[str]) -> None:
    """Raise ``InvalidSample`` unless the value is one of those that the function knows."""
    if value not in among:
        raise InvalidSample(f"expected {name} to be one of {', '.join(among)}; got {value!r}")


def check_positive(name: str, value: float, *, zero_allowed: bool) -> float:
    """The value as a float, if finite and positive (or zero, where allowed); else ``InvalidSample``."""
    if not math.isfinite(value) or value < 0.0 or (value == 0.0 and not zero_allowed):
        wanted = "zero or a positive number" if zero_allowed else "a positive number"
        raise InvalidSample(f"expected {name} to be {wanted}; got {value!r}")
    return float(value)
