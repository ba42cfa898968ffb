"""Mandel's pentosans data: seven laboratories, nine materials, three results (NIST Dataplot, MANDEL6.DAT).

No published result was seen; the figures for material 1 are recomputed by the formulas of ASTM E691.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import precision
from tests import oracle_outliers as oracle
from tests.published_data import rows

DATA = rows("mandel_pentosans.csv")


def test_precision() -> None:
    """Material 1: mean .4048, s_r .01499, s_R .11373; every material as in exact fractions."""
    names = sorted({row["material"] for row in DATA}, key=int)
    found = precision(
        np.array([float(row["y"]) for row in DATA]),
        level=np.array([names.index(row["material"]) for row in DATA]),
        laboratory=np.array([int(row["lab"]) for row in DATA]),
    )
    assert found.mean[0] == pytest.approx(0.4048, abs=0.00005)
    assert found.repeatability_sd[0] == pytest.approx(0.01499, abs=0.000005)
    assert found.reproducibility_sd[0] == pytest.approx(0.11373, abs=0.000005)
    for at, name in enumerate(names):
        cells: dict[str, list[float]] = {}
        for row in DATA:
            if row["material"] == name:
                cells.setdefault(row["lab"], []).append(float(row["y"]))
        expected = oracle.precision(list(cells.values()))
        assert found.repeatability_sd[at] == pytest.approx(expected.repeatability, rel=1e-12)
        assert found.reproducibility_sd[at] == pytest.approx(expected.reproducibility, rel=1e-12)
