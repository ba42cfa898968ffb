"""A lone sample gives the same bits as in a crowd: every kernel for outliers, row by row."""

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
    "mandel": lambda x: _mandel(room.mandel(x, np.abs(x) + 0.1, n=3, alpha=0.2, recording_step=0.1)),
}


def _pair(screen: room.PairScreen) -> Arrays:
    return screen.statistic, screen.flagged, screen.within_step, screen.position


def _esd(screen: room.EsdScreen) -> Arrays:
    return screen.statistic, screen.position, screen.count, screen.count_as_recorded


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
