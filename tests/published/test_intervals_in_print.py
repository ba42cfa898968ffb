"""Intervals in print: Hahn & Meeker's five units, NBS Handbook 91, NIST/SEMATECH e-Handbook 1.3.5 and 7.2.4.1.

Hahn & Meeker's example is known by its summary (n = 5, mean 50.10, s = 1.31); five values with exactly this mean and
standard deviation stand for it. Its results, and those of NBS Handbook 91 to more digits than the book prints, were
recomputed outside this package.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats.statistics import (
    confidence_interval_mean,
    confidence_interval_sd,
    describe,
    prediction_interval_mean,
    prediction_interval_sd,
    sd_test,
    share_interval_exact,
    t_test,
    tolerance_bound_lower,
)
from tests.published_data import rows

Values = NDArray[np.float64]


def _five() -> Values:
    shape = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    five: Values = 50.10 + 1.31 * shape / np.std(shape, ddof=1)
    return five[np.newaxis]


def _natrella(dataset: str, group: str = "") -> Values:
    table = rows("natrella_small_sets.csv")
    found = [float(row["y"]) for row in table if (row["dataset"], row["group"]) == (dataset, group)]
    return np.sort(np.array([found]))


def _limits(pair: tuple[Values, Values]) -> tuple[object, object]:
    return float(pair[0][0]), float(pair[1][0])


FIVE = {
    "mean": (confidence_interval_mean(_five(), confidence=0.95), (48.473420, 51.726580)),
    "sd": (confidence_interval_sd(_five(), confidence=0.95), (0.784864, 3.764358)),
    "one future value": (prediction_interval_mean(_five(), m=1, confidence=0.95), (46.115709, 54.084291)),
    "mean of the next 3": (prediction_interval_mean(_five(), m=3, confidence=0.95), (47.443806, 52.756194)),
    "sd of the next 3": (prediction_interval_sd(_five(), m=3, confidence=0.95), (0.209103, 4.274920)),
}


@pytest.mark.parametrize("name", FIVE)
def test_hahn_and_meeker_five_units(name: str) -> None:
    """95 % intervals to half of the sixth decimal."""
    actual, printed = FIVE[name]
    assert _limits(actual) == (pytest.approx(printed[0], abs=5.1e-7), pytest.approx(printed[1], abs=5.1e-7))


def test_hahn_and_meeker_lower_bound() -> None:
    """90 % content, 95 % confidence: 45.637310."""
    bound = tolerance_bound_lower(_five(), content=0.90, confidence=0.95)
    assert bound[0] == pytest.approx(45.637310, abs=5.1e-7)


@pytest.mark.parametrize(
    ("dataset", "mean", "sd", "low", "high"),
    [
        ("mica_washers_in", 0.1260, 0.0035901099, 0.0024694, 0.0065541),
        ("burn_time_s", 51.98, 10.3726992, 7.134708, 18.936505),
        ("battery_Ah", 140.0, 3.4641016, 2.382731, 6.324099),
    ],
)
def test_nbs_handbook_91_spreads(dataset: str, mean: float, sd: float, low: float, high: float) -> None:
    """Mean, standard deviation and its 95 % interval."""
    x = _natrella(dataset)
    d = describe(x)
    digits = 5.1e-8 if dataset == "mica_washers_in" else 5.1e-7
    assert d.mean[0] == pytest.approx(mean, abs=5e-5)
    assert d.sd[0] == pytest.approx(sd, abs=5.1e-11 if dataset == "mica_washers_in" else 5.1e-8)
    limits = _limits(confidence_interval_sd(x, confidence=0.95))
    assert limits == (pytest.approx(low, abs=digits), pytest.approx(high, abs=digits))


def test_nbs_handbook_91_upper_bound_of_the_washers() -> None:
    """90 % lie below 0.1344534 with 95 % confidence: the lower bound of the mirror image."""
    mirrored = np.sort(-_natrella("mica_washers_in"))
    bound = -tolerance_bound_lower(mirrored, content=0.90, confidence=0.95)
    assert bound[0] == pytest.approx(0.1344534, abs=5.1e-8)


def test_nbs_handbook_91_latent_heat() -> None:
    """13 and 8 values: pooled t 3.4722448 (p 0.00255100), Welch 3.2498674 on 12.0271085 (0.00693933)."""
    a, b = _natrella("latent_heat", "1"), _natrella("latent_heat", "2")
    assert describe(a).mean[0] == pytest.approx(80.0207692, abs=5e-8)
    assert describe(b).mean[0] == pytest.approx(79.97875, abs=5e-6)
    pooled, welch = (
        t_test(a, b, spreads="equal", confidence=0.95, recording_step=0.0),
        t_test(a, b, spreads="unequal", confidence=0.95, recording_step=0.0),
    )
    assert pooled.statistic[0] == pytest.approx(3.4722448, abs=5e-8)
    assert pooled.p_value[0] == pytest.approx(0.00255100, abs=5e-9)
    assert welch.statistic[0] == pytest.approx(3.2498674, abs=5e-8)
    assert welch.degrees_of_freedom[0] == pytest.approx(12.0271085, abs=5e-8)
    assert welch.p_value[0] == pytest.approx(0.00693933, abs=5e-9)


def test_nbs_handbook_91_steel_hardness() -> None:
    """7 and 5 values: pooled t 1.7537107 on 10 (p 0.110018), Welch 1.9805920 on 8.7885265 (0.0797517)."""
    a, b = _natrella("steel_hardness", "1"), _natrella("steel_hardness", "2")
    pooled, welch = (
        t_test(a, b, spreads="equal", confidence=0.95, recording_step=0.0),
        t_test(a, b, spreads="unequal", confidence=0.95, recording_step=0.0),
    )
    assert (describe(a).mean[0], describe(b).mean[0]) == (pytest.approx(165.0), pytest.approx(155.2))
    assert (pooled.statistic[0], pooled.degrees_of_freedom[0]) == (pytest.approx(1.7537107, abs=5e-8), 10.0)
    assert pooled.p_value[0] == pytest.approx(0.110018, abs=5e-7)
    assert welch.statistic[0] == pytest.approx(1.9805920, abs=5e-8)
    assert welch.degrees_of_freedom[0] == pytest.approx(8.7885265, abs=1e-7)  # 8.78852659: cut, not rounded
    assert welch.p_value[0] == pytest.approx(0.0797517, abs=5e-8)


def test_e_handbook_1_3_5_3() -> None:
    """Miles per gallon, 249 and 79 cars: t -12.6205913 on 326, interval -11.947653 to -8.725216; Welch -12.9462733."""
    table = rows("nist_auto83b.csv")
    groups = sorted({row["group"] for row in table}, key=lambda name: name != "US")
    a, b = (np.sort(np.array([[float(row["mpg"]) for row in table if row["group"] == name]])) for name in groups)
    pooled, welch = (
        t_test(a, b, spreads="equal", confidence=0.95, recording_step=0.0),
        t_test(a, b, spreads="unequal", confidence=0.95, recording_step=0.0),
    )
    assert (a.shape[1], b.shape[1]) == (249, 79)
    assert (pooled.statistic[0], pooled.degrees_of_freedom[0]) == (pytest.approx(-12.6205913, abs=5e-8), 326.0)
    assert _limits((pooled.low, pooled.high)) == (
        pytest.approx(-11.947653, abs=5e-7),
        pytest.approx(-8.725216, abs=5e-7),
    )
    assert welch.statistic[0] == pytest.approx(-12.9462733, abs=5e-8)
    assert welch.degrees_of_freedom[0] == pytest.approx(136.8750, abs=5e-5)


def test_e_handbook_1_3_5_8() -> None:
    """Gear diameters, sigma_0 = 0.1: chi-square 0.3903, points 73.3611 and 128.4220, sd 0.0055 to 0.0073."""
    x = np.sort(np.array([[float(row["y"]) for row in rows("nist_gear.csv")]]))
    found = sd_test(x, sd=0.1, confidence=0.95, recording_step=0.0)
    assert found.statistic[0] == pytest.approx(0.3903, abs=5e-5)
    assert found.critical_low == pytest.approx(73.3611, abs=5e-5)
    assert found.critical_high == pytest.approx(128.4220, abs=5e-5)
    assert found.p_lower[0] < 1e-60
    low, high = _limits(confidence_interval_sd(x, confidence=0.95))
    assert (low, high) == (pytest.approx(0.0055, abs=5e-5), pytest.approx(0.0073, abs=5e-5))


def test_e_handbook_7_2_4_1() -> None:
    """4 of 20 at 90 %: 0.0713538843 to 0.4010281173; printed 0.07134838 and 0.4010294 by coarse root finding."""
    low, high = _limits(share_interval_exact(np.array([4]), n=20, confidence=0.90))
    assert (low, high) == (pytest.approx(0.0713538843, abs=5e-11), pytest.approx(0.4010281173, abs=5e-11))
    assert (low, high) == (pytest.approx(0.07134838, abs=6e-6), pytest.approx(0.4010294, abs=2e-6))
