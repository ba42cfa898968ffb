"""One sample is the same call as a crowd, with the same bits: every bound and test of whole blocks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats import statistics as room

Values = NDArray[np.float64]
X = np.sort(np.random.default_rng(11).gamma(30.0, 0.1, (5000, 9)), axis=-1)

KERNELS: dict[str, Callable[[Values], Values]] = {
    "two-sided": lambda x: room.tolerance_interval(x, content=0.9, confidence=0.95)[0],
    "lognormal": lambda x: room.tolerance_bound_lognormal(x, content=0.95, confidence=0.75),
    "Weibull": lambda x: room.tolerance_bound_weibull(x[-20:], content=0.95, confidence=0.75),
    "interval of sd": lambda x: room.confidence_interval_sd(x, confidence=0.9)[1],
    "interval of CoV": lambda x: room.confidence_interval_cov(x, confidence=0.9)[1],
    "share below": lambda x: room.share_below_normal(x, limit=2.0, confidence=0.9).high,
    "smallest of next": lambda x: room.prediction_bound_smallest(x, m=3, confidence=0.9),
    "EN 14358": lambda x: room.en14358_lognormal(x, factors="formula"),
    "Shapiro-Wilk": lambda x: room.shapiro_wilk(x, recording_step=0.0).p_value,
    "Anderson-Darling": lambda x: room.anderson_darling(x, recording_step=0.0).p_value,
    "Kaplan-Meier": lambda x: room.kaplan_meier(room.Stack(np.arange(len(x)), x, x), confidence=0.9).low[:, 3],
}


@pytest.mark.parametrize("name", KERNELS)
def test_one_row_gives_the_bits_that_it_gives_in_a_crowd(name: str) -> None:
    """The last row of 5000, and the last but three."""
    crowd = KERNELS[name](X)
    for back in (1, 4):
        at = X.shape[0] - back
        alone = KERNELS[name](X[at : at + 1].copy())
        assert alone[-1] == crowd[-back]
