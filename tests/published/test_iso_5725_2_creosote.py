"""ISO 5725-2:1994, thermometric titration of creosote oil: nine laboratories, five levels, two results.

Data recalled; every printed result comes out of them. Laboratory 1 is left out at all levels, laboratory 6 at level 5.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import (
    cells,
    cochran_critical,
    cochran_statistic,
    grubbs_critical,
    grubbs_statistic,
    precision,
)
from tests.published_data import half_last_digit, rows

DATA = rows("iso5725_2_creosote.csv")
KEPT = [row for row in DATA if row["lab"] != "1" and (row["lab"], row["level"]) != ("6", "5")]


def _columns(data: list[dict[str, str]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return (
        np.array([float(row["y"]) for row in data]),
        np.array([int(row["level"]) for row in data]),
        np.array([int(row["lab"]) for row in data]),
    )


@pytest.mark.parametrize(
    ("level", "laboratories", "recomputed", "printed"),
    [
        (1, 8, ("3.9406", ".0922", ".1708"), (".092", ".171")),
        (2, 8, ("8.2819", ".1789", ".4977"), (".179", ".498")),
        (3, 8, ("14.1781", ".1269", ".4004"), (".127", ".400")),
        (4, 8, ("15.5881", ".3368", ".5786"), (".337", ".579")),
        (5, 7, ("20.4121", ".3935", ".6370"), (".393", ".637")),
    ],
)
def test_precision(level: int, laboratories: int, recomputed: tuple[str, ...], printed: tuple[str, str]) -> None:
    """Mean, s_r, s_R, and s_r and s_R as printed."""
    values, levels, labs = _columns(KEPT)
    found = precision(values, level=levels, laboratory=labs)
    at = level - 1
    assert found.laboratories[at] == laboratories
    actual = (found.mean[at], found.repeatability_sd[at], found.reproducibility_sd[at])
    for value, text in zip((*actual, *actual[1:]), (*recomputed, *printed), strict=True):
        assert value == pytest.approx(float(text), abs=half_last_digit(text))


def test_cochran_and_grubbs_with_all_laboratories() -> None:
    """C .5665 .4499 .4924 .6667 .6358 (5 % .638, 1 % .754); G 1.9492 1.6445 2.5022 2.4705 2.1017 (2.215, 2.387)."""
    values, levels, labs = _columns(DATA)
    found = cells(values, level=levels, laboratory=labs)
    c = cochran_statistic(np.square(found.sd).reshape(5, 9))
    assert c == pytest.approx([0.5665, 0.4499, 0.4924, 0.6667, 0.6358], abs=0.00005)
    g, _ = grubbs_statistic(np.sort(found.mean.reshape(5, 9), axis=-1), sides="high")
    assert g == pytest.approx([1.9492, 1.6445, 2.5022, 2.4705, 2.1017], abs=0.00005)
    assert cochran_critical(p=9, degrees_of_freedom=1, alpha=0.05) == pytest.approx(0.638, abs=0.0005)
    assert cochran_critical(p=9, degrees_of_freedom=1, alpha=0.01) == pytest.approx(0.754, abs=0.0005)
    assert grubbs_critical(n=9, alpha=0.05, sides="two") == pytest.approx(2.215, abs=0.0005)
    assert grubbs_critical(n=9, alpha=0.01, sides="two") == pytest.approx(2.387, abs=0.0005)
