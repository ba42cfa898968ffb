"""NIST Statistical Reference Datasets, univariate: mean and standard deviation against the certified values.

Digits of agreement are printed (``pytest -s``). The ceilings are what double-precision input allows: the observations
of NumAcc3, say, are no binary fractions, and rounding them already costs the digits beyond 9.5. Taken as the decimals
that were recorded, nothing is lost. Beside other libraries: docs/digits-of-agreement.md.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import mean_and_sd, mean_and_sd_as_recorded
from tests.published_data import agreement
from tests.strd import UNIVARIATE, univariate

# Digits that the sd reaches at best with double-precision input; the mean reaches 15 everywhere.
CEILING = {
    "PiDigits": 15.0,
    "Lottery": 15.0,
    "Lew": 15.0,
    "Mavro": 13.1,
    "Michelso": 13.8,
    "NumAcc1": 15.0,
    "NumAcc2": 15.0,
    "NumAcc3": 9.5,
    "NumAcc4": 8.3,
}


@pytest.mark.parametrize("name", UNIVARIATE)
def test_digits_of_agreement(name: str) -> None:
    """Mean to 15 digits, sd at the ceiling of the set (stated to one decimal, hence 0.05)."""
    n, certified_mean, certified_sd = UNIVARIATE[name]
    x = univariate(name)
    assert x.size == n
    mean, sd = mean_and_sd(np.sort(x)[np.newaxis, :])
    of_mean, of_sd = agreement(float(mean[0]), certified_mean), agreement(float(sd[0]), certified_sd)
    print(f"{name:<9} n = {n:<5} mean {of_mean:4.1f} digits, sd {of_sd:4.1f} digits (ceiling {CEILING[name]:4.1f})")
    assert of_mean >= 14.95
    assert of_sd >= CEILING[name] - 0.05


@pytest.mark.parametrize("name", UNIVARIATE)
def test_values_as_recorded_reach_every_digit(name: str) -> None:
    """As decimals, mean and sd agree to all 15 certified digits, in NumAcc3 and NumAcc4 too."""
    _, certified_mean, certified_sd = UNIVARIATE[name]
    mean, sd = mean_and_sd_as_recorded(univariate(name))
    assert agreement(mean, certified_mean) >= 14.3
    assert agreement(sd, certified_sd) >= 14.3


@pytest.mark.parametrize("values", [[1.0], [1.0, float("inf")], [[1.0, 2.0]]])
def test_what_is_no_list_of_finite_values_is_refused(values: list[float]) -> None:
    """One value, an infinite one, a table."""
    with pytest.raises(InvalidSample, match="expected"):
        mean_and_sd_as_recorded(np.array(values))
