"""Shapiro-Wilk and Anderson-Darling on data sets in print.

W and p by R 4.2.2 (shapiro.test), A^2 and p by R nortest 1.0-4 (ad.test), confirmed by scipy and statsmodels. R takes
its normal quantiles from a 16-digit algorithm and scipy from a 7-digit one; both stay within 1e-9 in W. The
e-Handbook's samples of 1000 (1.3.5.14) are drawn by R's generator: data/make_r_random_403.R.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import anderson_darling, shapiro_wilk
from tests.published_data import half_last_digit, rows

ROSNER = (
    "-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70 1.76 1.77 1.81 1.91 "
    "1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 "
    "3.21 3.26 3.30 3.59 3.68 4.30 4.64 5.34 5.42 6.01"
)
SETS = {
    # Shapiro & Wilk, Biometrika 52 (1965): weights of eleven men
    "weights": "148 154 158 160 161 162 166 170 182 195 236",
    # the same paper, n = 7
    "seven": "6 1 -4 8 -2 5 0",
    # D'Agostino & Stephens 1986: weights of 20 leghorn chicks
    "chicks": "156 162 168 182 186 190 190 196 202 210 214 220 226 230 230 236 236 242 246 270",
    # Rosner 1983; e-Handbook 1.3.5.17.3
    "Rosner": ROSNER,
}
SHAPIRO = {
    "weights": ("0.7888146948", "0.0067038141"),
    "seven": ("0.9534758585", "0.7611937800"),
    "chicks": ("0.9756584600", "0.8667455609"),
    "Rosner": ("0.9060621368", "0.00046150"),
}
ANDERSON = {
    "weights": ("0.9467718796", "0.0104540"),
    "chicks": ("0.2141742582", "0.8259764"),
    "Rosner": ("1.7356891628", "0.00016610"),
}


def _sample(name: str) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.sort(np.array([[float(v) for v in SETS[name].split()]]))


@pytest.mark.parametrize("name", SHAPIRO)
def test_shapiro_wilk(name: str) -> None:
    """W within 1e-9 (see above), p within 5e-9 or half of its last digit."""
    found = shapiro_wilk(_sample(name), recording_step=0.0)
    w, p = SHAPIRO[name]
    assert found.statistic[0] == pytest.approx(float(w), abs=1e-9)
    assert found.p_value[0] == pytest.approx(float(p), abs=max(5e-9, half_last_digit(p)))


@pytest.mark.parametrize("name", ANDERSON)
def test_anderson_darling(name: str) -> None:
    """Half of the last digit of both."""
    found = anderson_darling(_sample(name), recording_step=0.0)
    a, p = ANDERSON[name]
    assert found.statistic[0] == pytest.approx(float(a), abs=half_last_digit(a))
    assert found.p_value[0] == pytest.approx(float(p), abs=half_last_digit(p))


def test_zarr13() -> None:
    """195 heat-flow-meter factors: W 0.9982721562, p 0.9992269; A^2 0.1264787831, p 0.98502."""
    x = np.sort(np.array([[float(row["y"]) for row in rows("nist_zarr13.csv")]]))
    by_w, by_a = shapiro_wilk(x, recording_step=0.0), anderson_darling(x, recording_step=0.0)
    assert by_w.statistic[0] == pytest.approx(0.9982721562, abs=1e-9)
    assert by_w.p_value[0] == pytest.approx(0.9992269, abs=5e-8)
    assert by_a.statistic[0] == pytest.approx(0.1264787831, abs=5e-11)
    assert by_a.p_value[0] == pytest.approx(0.98502, abs=5e-6)


def test_e_handbook_generated_samples() -> None:
    """1000 normal and 1000 double exponential values of R's generator, seed 403: in print A^2 0.3093 and 13.6652."""
    table = rows("r_random_403.csv")
    normal, double = (
        np.sort(np.array([[float(row[name]) for row in table]]), axis=-1) for name in ("normal", "double_exponential")
    )
    w, a = shapiro_wilk(normal, recording_step=0.0), anderson_darling(normal, recording_step=0.0)
    assert w.statistic[0] == pytest.approx(0.998591387, abs=5.1e-10)
    assert w.p_value[0] == pytest.approx(0.61526, abs=5e-6)
    assert a.statistic[0] == pytest.approx(0.3093433426, abs=5.1e-11)
    assert a.p_value[0] == pytest.approx(0.5567766, abs=5.1e-8)
    assert (round(float(a.statistic[0]), 4), round(float(a.p_value[0]), 4)) == (0.3093, 0.5568)
    w, a = shapiro_wilk(double, recording_step=0.0), anderson_darling(double, recording_step=0.0)
    assert w.statistic[0] == pytest.approx(0.943012026, abs=5.1e-10)
    assert w.p_value[0] == pytest.approx(3.6e-19, abs=0.06e-19)
    assert a.statistic[0] == pytest.approx(13.6651842, abs=5.1e-8)
    assert round(float(a.statistic[0]), 4) == 13.6652
    assert a.p_value[0] < 1e-20  # the fitted formula ends at 13; R's, continued, gives 3.7e-24
