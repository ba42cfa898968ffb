"""ISO 5725-2:1994, sulphur in coal: eight laboratories, four levels, three to five results in a cell.

Data recalled; every printed result comes out of them. Printed to three decimals, recomputed to four.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import cells, precision
from tests.published_data import half_last_digit, rows

DATA = rows("iso5725_2_coal_sulfur.csv")
VALUES = np.array([float(row["y"]) for row in DATA])
LEVEL = np.array([int(row["level"]) for row in DATA])
LABORATORY = np.array([int(row["lab"]) for row in DATA])


@pytest.mark.parametrize(
    ("level", "recomputed", "printed"),
    [
        (1, (".6904", ".0151", ".0216", ".0264"), (".015", ".026")),
        (2, ("1.2523", ".0288", ".0533", ".0606"), (".029", ".061")),
        (3, ("1.6674", ".0171", ".0303", ".0348"), (".017", ".035")),
        (4, ("3.2496", ".0261", ".0521", ".0582"), (".026", ".058")),
    ],
)
def test_precision(level: int, recomputed: tuple[str, ...], printed: tuple[str, str]) -> None:
    """Mean, s_r, s_L, s_R; s_r and s_R as printed."""
    found = precision(VALUES, level=LEVEL, laboratory=LABORATORY)
    at = level - 1
    actual = (found.mean[at], found.repeatability_sd[at], found.between_sd[at], found.reproducibility_sd[at])
    for value, text in zip(actual, recomputed, strict=True):
        assert value == pytest.approx(float(text), abs=half_last_digit(text))
    for value, text in zip((actual[1], actual[3]), printed, strict=True):
        assert value == pytest.approx(float(text), abs=half_last_digit(text))


def test_cell_means_of_level_1() -> None:
    """.708 .680 .667 .660 .690 .733 .703 .677."""
    found = cells(VALUES, level=LEVEL, laboratory=LABORATORY)
    expected = [0.708, 0.680, 0.667, 0.660, 0.690, 0.733, 0.703, 0.677]
    assert found.mean[found.level == 1] == pytest.approx(expected, abs=0.00051)  # .7075 is printed .708
