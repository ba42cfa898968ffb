"""Writes tests/published/data/independent_outliers.csv: what other libraries say, recorded once.

They are not installed for the tests, so their numbers are kept. To record them again, in an environment of their own:

    pip install statsmodels==0.15.0 scikit-posthocs==0.17.1 GTC==1.5.1
    python tests/benchmarks/record_independent_outliers.py

Run as a file; imports nothing of the package.
"""

from __future__ import annotations

import csv
import importlib
import importlib.metadata
import math
from pathlib import Path

import numpy as np

DATA = Path(__file__).parents[1] / "published" / "data"

ROSNER = [
    *(-0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70),
    *(1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40),
    *(2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01),
]
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
ESD = "generalised ESD, r = 10, 5 %"
WIRE = [568.0, 570, 570, 570, 572, 572, 572, 578, 584, 596]


def _version(name: str) -> str:
    return f"{name} {importlib.metadata.version(name)}"


def outliers() -> list[tuple[str, str, str, float]]:
    """scikit-posthocs: values left by its generalised ESD and Grubbs tests."""
    library, sp = _version("scikit-posthocs"), importlib.import_module("scikit_posthocs")
    found = [
        (
            "rosner54",
            "generalised ESD, r = 10, 5 %: values left",
            library,
            float(len(sp.outliers_gesd(np.array(ROSNER), 10))),
        ),
    ]
    for name, data in (("uranium", URANIUM), ("wire", WIRE)):
        for alpha in (0.05, 0.01):
            left = sp.outliers_grubbs(np.array(data), alpha=alpha)
            found.append((name, f"Grubbs, two-sided, {alpha}: values left", library, float(len(left))))
    return found


def power() -> list[tuple[str, str, str, float]]:
    """statsmodels: power and sample size (as a real number) of the one-sided t test."""
    library, test = _version("statsmodels"), importlib.import_module("statsmodels.stats.power").TTestPower()
    found = []
    for n, distance in ((5, 0.8), (8, 1.0), (20, 0.5), (50, 0.2)):
        value = test.power(effect_size=distance, nobs=n, alpha=0.05, df=None, alternative="larger")
        found.append((f"n={n},d={distance}", "t test power, one-sided 5 %", library, float(value)))
    for distance, wanted in ((1.0, 0.9), (0.5, 0.8), (0.2, 0.9)):
        n = test.solve_power(effect_size=distance, alpha=0.05, power=wanted, alternative="larger")
        found.append((f"d={distance},power={wanted}", "t test, n as a real number", library, float(np.squeeze(n))))
    return found


def components() -> list[tuple[str, str, str, float]]:
    """statsmodels: restricted maximum likelihood for Dyestuff and Pastes."""
    import pandas as pd

    smf = importlib.import_module("statsmodels.formula.api")
    library = _version("statsmodels")
    dye = pd.read_csv(DATA / "dyestuff.csv")
    fit = smf.mixedlm("y ~ 1", dye, groups=dye["group"]).fit(reml=True)
    found = [
        ("dyestuff", "between", library, float(fit.cov_re.iloc[0, 0])),
        ("dyestuff", "within", library, float(fit.scale)),
    ]
    pastes = pd.read_csv(DATA / "pastes.csv")
    model = smf.mixedlm(
        "strength ~ 1", pastes, groups=pastes["batch"], re_formula="1", vc_formula={"cask": "0 + C(cask)"}
    )
    fit = model.fit(reml=True)
    found += [
        ("pastes", "between", library, float(fit.cov_re.iloc[0, 0])),
        ("pastes", "part", library, float(fit.vcomp[0])),
        ("pastes", "within", library, float(fit.scale)),
    ]
    return found


def budgets() -> list[tuple[str, str, str, float]]:
    """GTC: combined uncertainty and effective degrees of freedom."""
    library, gtc = _version("GTC"), importlib.import_module("GTC")
    parts: dict[str, list[tuple[float, float]]] = {
        "JCGM 100 G.4.1": [(0.25, 9), (0.57, 4), (0.82, 14)],
        "JCGM 100 H.1": [(25.0, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)],
    }
    found = []
    for name, inputs in parts.items():
        total = sum(gtc.ureal(1.0, u, df) for u, df in inputs)
        found += [
            (name, "combined", library, float(gtc.uncertainty(total))),
            (name, "df", library, float(gtc.dof(total))),
        ]
    load = gtc.ureal(4000.0, 40.0, 30)
    reading = gtc.ureal(0.0, 10.0 / math.sqrt(12.0))
    diameter = gtc.ureal(50.0, 0.1, 12)
    bending = gtc.ureal(1.0, 0.02 / math.sqrt(3.0))
    strength = 4 * (load + reading) / (math.pi * diameter**2) * bending
    found += [
        ("strength", "value", library, float(gtc.value(strength))),
        ("strength", "combined", library, float(gtc.uncertainty(strength))),
        ("strength", "df", library, float(gtc.dof(strength))),
    ]
    return found


def main() -> None:
    """Ask every library and write the table."""
    with (DATA / "independent_outliers.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("id", "quantity", "library", "value"))
        for row in (*outliers(), *power(), *components(), *budgets()):
            writer.writerow((*row[:3], repr(row[3])))


if __name__ == "__main__":
    main()
