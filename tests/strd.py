"""NIST Statistical Reference Datasets, univariate and one-way analysis of variance: observations and certified values.

Large sets are generated as their definitions say; ``test_nist_strd_anova.py`` compares them with the files that scipy
carries.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from mpmath import mp
from numpy.typing import NDArray

from tests.published_data import rows

Values = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True)
class CertifiedAnova:
    """Certified values of a set."""

    groups: int
    results: int
    between: float
    within: float
    statistic: float
    share_between: float
    sd_within: float


UNIVARIATE = {
    row["dataset"]: (int(row["n"]), float(row["mean"]), float(row["sd"]))
    for row in rows("strd_univariate_certified.csv")
}
ANOVA = {
    row["dataset"]: CertifiedAnova(
        int(row["groups"]),
        int(row["n"]),
        *(float(row[name]) for name in ("ss_between", "ss_within", "F", "r_squared", "resid_sd")),
    )
    for row in rows("strd_anova_certified.csv")
}


def univariate(name: str) -> Values:
    """The observations of a univariate set: from its file, or generated as its definition says."""
    if name == "PiDigits":
        with mp.workdps(5010):
            digits = [int(character) for character in str(mp.pi).replace(".", "")[:5000]]
        assert digits[956] == 8
        digits[956] = 3  # the file of the data set has a 3 here, and its certified values rest on it
        return np.array(digits, dtype=np.float64)
    if name == "NumAcc1":
        return np.array([10000001.0, 10000003.0, 10000002.0])
    if name.startswith("NumAcc"):
        whole = {"NumAcc2": "1", "NumAcc3": "1000000", "NumAcc4": "10000000"}[name]
        return np.array([float(f"{whole}.{tenths}") for tenths in ("2", *("1", "3") * 500)])
    return np.array([float(row["y"]) for row in rows(f"strd_{name}.csv")])


def anova(name: str) -> tuple[Values, Codes]:
    """Observations and group codes of a one-way set; SmLs01 to SmLs09 as their definition says."""
    if not name.startswith("SmLs"):
        found = rows(f"strd_{name}.csv")
        return np.array([float(row["y"]) for row in found]), np.array([int(row["group"]) for row in found])
    number = int(name[4:]) - 1
    whole, replicates = ("1", "1000000", "1000000000000")[number // 3], (21, 201, 2001)[number % 3]
    values, codes = [], []
    for code, tenth in enumerate((4, 3, 5, 3, 5, 3, 5, 3, 5), start=1):
        tenths = [tenth, *(tenth - 1, tenth + 1) * (replicates // 2)]
        values += [float(f"{whole}.{each}") for each in tenths]
        codes += [code] * replicates
    return np.array(values), np.array(codes)
