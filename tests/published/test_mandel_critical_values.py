"""Mandel's h and k: critical values computed elsewhere, and entries of ASTM E691 (0.5 %) and ISO 5725-2:1994, tables 6
and 7 (1 and 5 %), recalled; they agree with computed ones.
"""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import mandel_h_critical, mandel_k_critical
from tests.published_data import half_last_digit, rows

TABLE = rows("mandel_h_k_critical.csv")


@pytest.mark.parametrize("row", TABLE, ids=[f"p{row['p']}" for row in TABLE])
def test_computed_values(row: dict[str, str]) -> None:
    """P = 3 to 40, n = 2 to 10, 0.5, 1 and 5 %, to half of the sixth decimal."""
    p = int(row["p"])
    for name, text in row.items():
        kind, *keys = name.split("_")
        if kind == "h":
            actual = mandel_h_critical(p=p, alpha=float(keys[0]))
        elif kind == "k":
            actual = mandel_k_critical(p=p, n=int(keys[1][1:]), alpha=float(keys[0]))
        else:
            continue
        assert actual == pytest.approx(float(text), abs=half_last_digit(text))


@pytest.mark.parametrize(("p", "cell"), [(8, "2.15"), (10, "2.29"), (14, "2.44"), (20, "2.56")])
def test_e691_h(p: int, cell: str) -> None:
    """H at 0.5 %."""
    assert mandel_h_critical(p=p, alpha=0.005) == pytest.approx(float(cell), abs=half_last_digit(cell))


@pytest.mark.parametrize(
    ("p", "n", "cell"), [(8, 2, "2.36"), (8, 3, "2.06"), (8, 4, "1.90"), (8, 5, "1.79"), (6, 3, "1.98")]
)
def test_e691_k(p: int, n: int, cell: str) -> None:
    """K at 0.5 %."""
    assert mandel_k_critical(p=p, n=n, alpha=0.005) == pytest.approx(float(cell), abs=half_last_digit(cell))


@pytest.mark.parametrize(("alpha", "h", "k_2", "k_3"), [(0.01, "2.06", "2.26", "1.96"), (0.05, "1.75", "1.88", "1.67")])
def test_iso_5725_2_p_8(alpha: float, h: str, k_2: str, k_3: str) -> None:
    """Eight laboratories: h, and k for two and three results."""
    assert mandel_h_critical(p=8, alpha=alpha) == pytest.approx(float(h), abs=half_last_digit(h))
    assert mandel_k_critical(p=8, n=2, alpha=alpha) == pytest.approx(float(k_2), abs=half_last_digit(k_2))
    assert mandel_k_critical(p=8, n=3, alpha=alpha) == pytest.approx(float(k_3), abs=half_last_digit(k_3))
