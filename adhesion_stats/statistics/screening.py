"""What outlier tests have in common: their result, and how many flags chance alone brings.

A flag points at a value; it removes nothing. With many samples tested, a share of about the level is flagged although
nothing is wrong: ``flags_by_chance`` says how many, so that the count of flags can be read against it. ``holm`` gives
the p-values that hold for all samples together; read them beside the plain ones, never instead: over many small samples
they hide nearly every true outlier.

Imports: numpy, scipy.special and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics.checks import check_size

__all__ = ["SIDES", "ChanceFlags", "OutlierScreen", "Sides", "flags_by_chance", "holm"]

Values = NDArray[np.float64]
Sides = Literal["low", "high", "two"]
SIDES: tuple[Sides, ...] = ("low", "high", "two")


@dataclass(frozen=True, eq=False)
class OutlierScreen:
    """What an outlier test says of g samples of n values each.

    Attributes
    ----------
    n : int
        Values per sample [-].
    sides : {"low", "high", "two"}
        Which end was looked at; ``two`` is the end that stands out more.
    critical : float
        Critical value of the statistic at the level asked for [-].
    statistic : (g,) float64
        Test statistic of the suspect, from the values as recorded [-].
    high : (g,) bool
        True where the suspect is the largest value of its row, False where it is the smallest.
    least : (g,) float64
        Smallest statistic that the suspect can have, over all true values within the recording step [-]; its p-value is
        the largest. The statistic itself for a step of 0.
    flagged : (g,) bool
        Statistic above the critical value, whatever the true values were within the recording step.
    within_step : (g,) bool
        Statistic above the critical value as recorded, but not for every set of true values that would be recorded
        alike: no flag.
    """

    n: int
    sides: Sides
    critical: float
    statistic: Values
    high: NDArray[np.bool_]
    least: Values
    flagged: NDArray[np.bool_]
    within_step: NDArray[np.bool_]

    @property
    def position(self) -> NDArray[np.int64]:
        """(g,): column of the suspect in the ascending block, 0 or n - 1."""
        return np.where(self.high, self.n - 1, 0)


@dataclass(frozen=True)
class ChanceFlags:
    """Number of flags that chance alone brings over independent samples in which nothing is wrong.

    Attributes
    ----------
    samples : int
        Samples tested [-].
    expected : float
        Expected number of flags [-].
    sd : float
        Its standard deviation [-].
    any : float
        Probability of at least one flag [-].
    """

    samples: int
    expected: float
    sd: float
    any: float

    def at_least(self, observed: int) -> float:
        """Probability of ``observed`` or more flags by chance [-]; above one flag by the Poisson approximation."""
        count = check_size(observed, at_least=0)
        if count == 0:
            return 1.0
        if count == 1:
            return self.any
        return float(special.pdtrc(count - 1, self.expected))


def flags_by_chance(*, levels: Values) -> ChanceFlags:
    r"""Number of samples expected to be flagged by chance, given the level of each test.

    Parameters
    ----------
    levels : (m,) float64
        Probability of a false flag in each sample tested [-], each from 0 to 1; samples too small for the test are left
        out.

    Returns
    -------
    ChanceFlags

    Raises
    ------
    InvalidSample
        If a level lies outside 0 to 1.

    Notes
    -----
    .. math::  E = \sum \alpha_i, \qquad \sigma^2 = \sum \alpha_i (1 - \alpha_i), \qquad
               P(\text{any}) = 1 - \prod (1 - \alpha_i)

    Source: elementary probability of independent events.

    Examples
    --------
    Forty samples at 5 %: two flags are to be expected, and none at all would be luck.

    >>> chance = flags_by_chance(levels=np.full(40, 0.05))
    >>> (chance.expected, chance.any)
    (2.0, 0.871)
    """
    level = np.asarray(levels, dtype=np.float64)
    if level.ndim != 1 or not bool(((level >= 0.0) & (level <= 1.0)).all()):
        raise InvalidSample("expected a list of levels from 0 to 1, one per sample tested (5 % is 0.05)")
    certain = bool((level == 1.0).any())
    none = 0.0 if certain else float(np.exp(np.sum(np.log1p(-level))))
    return ChanceFlags(
        samples=int(level.size),
        expected=float(np.sum(level)),
        sd=float(np.sqrt(np.sum(level * (1.0 - level)))),
        any=1.0 - none,
    )


def holm(p_values: Values) -> Values:
    r"""Holm's adjusted p-values of a family of tests.

    Flagging what lies at or below alpha keeps the probability of **any** false flag among all tests at or below alpha,
    whatever their dependence. The price is power: of 40 samples of five values, an outlier that its own test sees in
    two cases of five is seen in one of fifty or fewer.

    Parameters
    ----------
    p_values : (m,) float64
        One p-value per test [-], each from 0 to 1, in any order.

    Returns
    -------
    (m,) float64
        Adjusted p-values [-], in the same order; none is smaller than its plain one.

    Raises
    ------
    InvalidSample
        If the list has another shape or a value lies outside 0 to 1.

    Notes
    -----
    In ascending order :math:`\tilde p_{(i)} = \max_{j \le i} \min(1, (m - j + 1)\, p_{(j)})`.

    Source: Scandinavian Journal of Statistics 6 (1979) 65-70.

    Examples
    --------
    >>> holm(np.array([0.01, 0.04, 0.03]))
    array([0.03, 0.06, 0.06])
    """
    p = np.asarray(p_values, dtype=np.float64)
    if p.ndim != 1 or not bool(((p >= 0.0) & (p <= 1.0)).all()):
        raise InvalidSample("expected a list of p-values from 0 to 1, one per test")
    order = np.argsort(p, kind="stable")
    adjusted = np.empty_like(p)
    adjusted[order] = np.minimum(1.0, np.maximum.accumulate((p.size - np.arange(p.size)) * p[order]))
    return adjusted
