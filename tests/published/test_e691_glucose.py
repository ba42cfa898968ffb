"""ASTM E691, glucose in serum: eight laboratories, five materials, three results (NIST Dataplot).

Material C holds 148.30 at laboratory 4 as filed; the practice's final table is the one with 138.30. Its row C
(134.7264, 1.5434, 2.1482) is recalled; all others are recomputed from the data by the practice's formulas.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import cells, mandel, precision
from tests.published_data import half_last_digit, rows

DATA = rows("e691_glucose.csv")
VALUES = np.array([float(row["y"]) for row in DATA])
MATERIAL = np.array([ord(row["material"]) - ord("A") for row in DATA])
LABORATORY = np.array([int(row["lab"]) for row in DATA])


@pytest.mark.parametrize(
    ("material", "cells_printed"),
    [
        ("A", ("41.5183", ".6061", "1.0632", "1.0632", "2.98", "2.98")),
        ("B", ("79.6796", "1.0028", "1.4949", "1.5796", "4.19", "4.42")),
        ("C", ("135.1429", "2.6559", "2.7483", "3.4770", "7.70", "9.74")),
        ("D", ("194.7171", "2.5950", "2.6251", "3.3657", "7.35", "9.42")),
        ("E", ("294.4921", "2.6931", "3.9350", "4.1923", "11.02", "11.74")),
    ],
)
def test_as_filed(material: str, cells_printed: tuple[str, ...]) -> None:
    """Mean, sd of cell means, s_r, s_R, r, R of each material."""
    found = precision(VALUES, level=MATERIAL, laboratory=LABORATORY)
    at = ord(material) - ord("A")
    actual = (
        found.mean[at],
        found.sd_of_means[at],
        found.repeatability_sd[at],
        found.reproducibility_sd[at],
        found.repeatability_limit[at],
        found.reproducibility_limit[at],
    )
    for value, text in zip(actual, cells_printed, strict=True):
        assert value == pytest.approx(float(text), abs=half_last_digit(text))


def test_negative_between_laboratory_variance() -> None:
    """Material A: s_R would be 1.0588, less than s_r = 1.0632, and is set to s_r."""
    found = precision(VALUES, level=MATERIAL, laboratory=LABORATORY)
    assert found.between_variance[0] < 0.0 == found.between_sd[0]
    raw = np.sqrt(found.between_variance[0] + found.repeatability_sd[0] ** 2)
    assert raw == pytest.approx(1.0588, abs=0.00005)


def test_final_row_of_material_c() -> None:
    """With 138.30: 134.7263, 1.7397, 1.5434, 2.1482, 4.32, 6.01. The practice prints 134.7264 for 134.72625."""
    mended = np.where(VALUES == 148.30, 138.30, VALUES)
    found = precision(mended, level=MATERIAL, laboratory=LABORATORY)
    assert found.mean[2] == pytest.approx(134.7264, abs=0.00016)
    assert found.sd_of_means[2] == pytest.approx(1.7397, abs=0.00005)
    assert found.repeatability_sd[2] == pytest.approx(1.5434, abs=0.00005)
    assert found.reproducibility_sd[2] == pytest.approx(2.1482, abs=0.00005)
    assert found.repeatability_limit[2] == pytest.approx(4.32, abs=0.005)
    assert found.reproducibility_limit[2] == pytest.approx(6.01, abs=0.00501)  # 6.0149


def test_consistency() -> None:
    """At 0.5 %: k flags C at laboratory 4 (2.41) and E at 2 (2.33), B at 4 (1.85) is just below; h flags none."""
    by_cell = cells(VALUES, level=MATERIAL, laboratory=LABORATORY)
    screen = mandel(by_cell.mean.reshape(5, 8), by_cell.sd.reshape(5, 8), n=3, alpha=0.005, recording_step=0.0)
    assert [(int(m), int(lab)) for m, lab in np.argwhere(screen.k_flagged)] == [(2, 3), (4, 1)]
    for (material, laboratory), value in {(2, 3): 2.41, (4, 1): 2.33, (1, 3): 1.85}.items():
        assert screen.k[material, laboratory] == pytest.approx(value, abs=0.005)
    assert not screen.h_flagged.any()
    assert np.abs(screen.h).max() == pytest.approx(2.14, abs=0.005)
    assert int(np.abs(screen.h).argmax()) == 2 * 8 + 3
