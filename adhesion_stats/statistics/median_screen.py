"""Median screen: how far each value lies from the median, in units of the median absolute deviation.

A rule of thumb, not a test: it resists many outliers at once, but has no level. In normal samples the usual limit of
3.5 flags a share that depends on n and is large for small n (``data/studies/false_alarms.csv``: about one
sample of five values in five).

Imports: numpy and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.statistics.checks import check_positive, check_sample

__all__ = ["MedianScreen", "median_absolute_deviation", "median_screen", "modified_z"]

Values = NDArray[np.float64]

# Upper quartile of the standard normal, to the four digits of the source.
_QUARTILE = 0.6745


@dataclass(frozen=True, eq=False)
class MedianScreen:
    """What the median screen says of g samples of n values each.

    Attributes
    ----------
    n : int
        Values per sample [-].
    limit : float
        Limit of the modified z [-].
    modified_z : (g, n) float64
        Signed modified z of each value, as recorded [-]; infinite for a value off the median where the median absolute
        deviation is 0.
    outlying : (g, n) bool
        Modified z beyond the limit on either side, surely so within the recording step.
    outlying_as_recorded : (g, n) bool
        The same with the recorded values taken at their word.
    """

    n: int
    limit: float
    modified_z: Values
    outlying: NDArray[np.bool_]
    outlying_as_recorded: NDArray[np.bool_]

    @property
    def flagged(self) -> NDArray[np.bool_]:
        """(g,): at least one value beyond the limit."""
        found: NDArray[np.bool_] = np.any(self.outlying, axis=-1)
        return found


def median_absolute_deviation(x: Values) -> tuple[Values, Values]:
    """Median of each row, and median of the absolute deviations from it.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 1
        Values, any unit.

    Returns
    -------
    median, deviation : (g,) float64
        In the unit of the values; the deviation is not scaled (times 1.4826 it estimates a normal sd).

    Raises
    ------
    InvalidSample
        If ``x`` is no block.

    Notes
    -----
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17; 1.3.5.6 (median absolute
    deviation; clause from memory, unverified).

    Examples
    --------
    Uranium isotope data of e-Handbook 1.3.5.17.1:

    >>> uranium = np.array([[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]])
    >>> median, deviation = median_absolute_deviation(uranium)
    >>> (float(median[0]), float(deviation[0]))
    (201.37, 0.995)
    """
    check_sample(x, at_least=1)
    median = _middle(x)
    return median, _middle(np.sort(np.abs(x - median[:, np.newaxis]), axis=-1))


def modified_z(x: Values) -> Values:
    r"""Modified z of each value: 0.6745 times its distance from the median over the median absolute deviation.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Values, any unit.

    Returns
    -------
    (g, n) float64
        Modified z [-]; 0 for values at the median, infinite for others where the median absolute deviation is 0.

    Raises
    ------
    InvalidSample
        If n < 3.

    Notes
    -----
    .. math::  M_i = 0.6745\,(x_i - \tilde x)/\mathrm{MAD}

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17 (modified Z-scores).

    Examples
    --------
    >>> uranium = np.array([[199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]])
    >>> float(modified_z(uranium)[0, -1])
    29.96
    """
    check_sample(x, at_least=3)
    median, deviation = median_absolute_deviation(x)
    away = x - median[:, np.newaxis]
    return _divided(_QUARTILE * away, deviation[:, np.newaxis])


def median_screen(x: Values, *, limit: float, recording_step: float) -> MedianScreen:
    """Which values lie further from the median than the limit allows.

    Parameters
    ----------
    x : (g, n) float64, ascending along the last axis, n >= 3
        Exact values, any unit.
    limit : float
        Limit of the modified z [-]; 3.5 is the source's advice.
    recording_step : float
        Step in which the values were recorded, in the unit of the values; 0 where they were not.

    Returns
    -------
    MedianScreen

    Raises
    ------
    InvalidSample
        If n < 3, the limit is not positive or the step is negative.

    Notes
    -----
    True values within half a step w of the recorded ones move a value and the median by w/2 each and the median
    absolute deviation by no more than w: a value is outlying only if it is so with a distance smaller by w and a median
    absolute deviation larger by w.

    Source: as ``modified_z``; the treatment of the recording step is this project's own.

    Examples
    --------
    >>> x = np.array([[1.5, 1.5, 1.5, 1.6], [1.5, 1.6, 1.6, 9.0]])
    >>> median_screen(x, limit=3.5, recording_step=0.1).outlying.tolist()
    [[False, False, False, False], [False, False, False, True]]
    """
    n = check_sample(x, at_least=3)
    bound = check_positive("limit", limit, zero_allowed=False)
    step = check_positive("recording_step", recording_step, zero_allowed=True)
    median, deviation = median_absolute_deviation(x)
    away = x - median[:, np.newaxis]
    z = _divided(_QUARTILE * away, deviation[:, np.newaxis])
    as_recorded = np.abs(z) > bound
    least = _divided(_QUARTILE * np.maximum(np.abs(away) - step, 0.0), deviation[:, np.newaxis] + step)
    return MedianScreen(
        n=n,
        limit=bound,
        modified_z=z,
        outlying=as_recorded & (least > bound) if step > 0.0 else as_recorded,
        outlying_as_recorded=as_recorded,
    )


def _middle(ordered: Values) -> Values:
    n = ordered.shape[1]
    low = ordered[:, (n - 1) // 2]
    middle: Values = low + 0.5 * (ordered[:, n // 2] - low)
    return middle


def _divided(away: Values, spread: Values) -> Values:
    """Away / spread; where spread is 0: 0 for no distance, infinite for some."""
    beyond = np.where(away == 0.0, 0.0, np.copysign(np.inf, away))
    divided: Values = np.divide(away, spread, out=beyond, where=np.broadcast_to(spread > 0.0, away.shape))
    return divided
