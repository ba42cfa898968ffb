"""A lone sample gives the same bits as in a crowd: every test of the room, row by row."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats import statistics as room

Arrays = tuple[NDArray[np.generic], ...]

KERNELS: dict[str, Callable[[NDArray[np.float64]], Arrays]] = {
    "grubbs_pair": lambda x: _pair(room.grubbs_pair(x, alpha=0.2, sides="two", recording_step=0.1)),
    "grubbs_pair_p_value": lambda x: (
        room.grubbs_pair_p_value(room.grubbs_pair_statistic(x, sides="low")[0], n=x.shape[1], sides="low"),
    ),
    "grubbs_ends": lambda x: _pair(room.grubbs_ends(x, alpha=0.2, recording_step=0.1)),
    "grubbs_ends_p_value": lambda x: (room.grubbs_ends_p_value(room.grubbs_ends_statistic(x), n=x.shape[1]),),
    "esd": lambda x: _esd(room.esd(x, r=3, alpha=0.2, levels="calibrated", recording_step=0.1)),
    "tietjen_moore_statistic": lambda x: (room.tietjen_moore_statistic(x, k=2),),
    "modified_z": lambda x: (room.modified_z(x), room.median_screen(x, limit=2.0, recording_step=0.1).outlying),
    "cochran": lambda x: (
        room.cochran_statistic(x * x),
        room.cochran_p_value(room.cochran_statistic(x * x), p=x.shape[1], degrees_of_freedom=3),
        room.cochran(x * x, degrees_of_freedom=3, alpha=0.3, recording_step=0.1).flagged,
    ),
    "grubbs": lambda x: _outlier(room.grubbs(x, alpha=0.2, sides="two", recording_step=0.1)),
    "dixon": lambda x: _outlier(room.dixon(x, alpha=0.2, sides="two", convention="Q", recording_step=0.1)),
    "tietjen_moore": lambda x: _tietjen(
        room.tietjen_moore(x, k=2, alpha=0.2, recording_step=0.1, samples=1000, rng=np.random.default_rng(1))
    ),
    "shapiro_wilk": lambda x: _normality(room.shapiro_wilk(_differing(x), recording_step=0.1)),
    "anderson_darling": lambda x: _normality(room.anderson_darling(_differing(_twice(x)), recording_step=0.1)),
    "t_test": lambda x: _t_test(room.t_test(x, _other(x), spreads="unequal", confidence=0.9, recording_step=0.1)),
    "sd_test": lambda x: _sd_test(room.sd_test(x, sd=0.5, confidence=0.9, recording_step=0.1)),
    "one_way": lambda x: _one_way(room.one_way(x, group=np.arange(x.shape[1]) % 3, recording_step=0.1)),
    "permutation_test": lambda x: _permutation(
        room.permutation_test(np.ascontiguousarray(x[:, :4]), np.ascontiguousarray(x[:, 3:6]), recording_step=0.1)
    ),
    "log_rank": lambda x: _log_rank(
        room.log_rank(_last_bounded(x), _last_bounded(_other(x)), weights="peto", recording_step=0.1)
    ),
    "bca_interval": lambda x: _bca(
        room.bca_interval(_twice(x), statistic=_median, confidence=0.9, resamples=1000, rng=np.random.default_rng(1))
    ),
    "mandel": lambda x: _mandel(room.mandel(x, np.abs(x) + 0.1, n=3, alpha=0.2, recording_step=0.1)),
}


def _pair(screen: room.PairScreen) -> Arrays:
    return screen.statistic, screen.flagged, screen.within_step, screen.position


def _esd(screen: room.EsdScreen) -> Arrays:
    return screen.statistic, screen.position, screen.count, screen.count_as_recorded


def _outlier(screen: room.OutlierScreen) -> Arrays:
    return screen.statistic, screen.high, screen.least, screen.flagged, screen.within_step


def _tietjen(screen: room.TietjenMooreScreen) -> Arrays:
    return screen.statistic, screen.position, screen.flagged, screen.within_step


def _normality(found: room.NormalityTest) -> Arrays:
    return found.statistic, found.p_value, found.p_largest


def _t_test(found: room.TTest) -> Arrays:
    return found.difference, found.statistic, found.degrees_of_freedom, found.p_value, found.p_largest, found.low


def _sd_test(found: room.SdTest) -> Arrays:
    return found.statistic, found.p_lower, found.p_upper, found.p_lower_largest, found.p_upper_largest


def _one_way(found: room.OneWay) -> Arrays:
    return found.between, found.within, found.statistic, found.p_value, found.p_largest, found.sd_within


def _permutation(found: room.PermutationTest) -> Arrays:
    return (
        found.difference,
        found.p_lower,
        found.p_upper,
        found.p_two_sided,
        found.p_lower_largest,
        found.p_upper_largest,
        found.p_two_sided_largest,
    )


def _log_rank(found: room.LogRank) -> Arrays:
    return found.statistic, found.p_value, found.p_largest, found.observed, found.expected


def _bca(found: room.BcaInterval) -> Arrays:
    return found.estimate, found.low, found.high, found.low_error, found.high_error


def _median(rows: NDArray[np.float64]) -> NDArray[np.float64]:
    middle: NDArray[np.float64] = rows[:, rows.shape[1] // 2] + 0.001 * rows.sum(axis=-1)
    return middle


def _other(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Another sample for each row, made of that row alone."""
    return np.sort((1.3 * x[:, ::2] - 0.4).round(1), axis=-1)


def _twice(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.sort(np.concatenate((x, (x + 0.3).round(1)), axis=-1), axis=-1)


def _differing(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows whose values differ; rounding leaves the last one a step above the first."""
    found = x.copy()
    found[:, -1] += 0.1
    return found


def _last_bounded(x: NDArray[np.float64]) -> room.Stack:
    high = x.copy()
    high[:, -1] = np.inf
    return room.Stack(np.arange(len(x)), x, high)


def _mandel(screen: room.MandelScreen) -> Arrays:
    return screen.h, screen.k, screen.h_flagged, screen.k_flagged


@pytest.mark.parametrize("name", KERNELS)
@pytest.mark.parametrize("n", [6, 9, 17])
def test_same_bits_alone(name: str, n: int) -> None:
    """Each row by itself equals its row of the block, to the last bit."""
    x = np.sort(np.random.default_rng(n).normal(2.5, 0.6, (150, n)).round(1), axis=-1)
    crowd = KERNELS[name](x)
    for row in range(0, 150, 7):
        alone = KERNELS[name](np.ascontiguousarray(x[row : row + 1]))
        for one, all_of_them in zip(alone, crowd, strict=True):
            assert np.array_equal(one[0], all_of_them[row])
