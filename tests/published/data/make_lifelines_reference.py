"""Writes lifelines_reference.csv with the open library lifelines (PyPI, MIT licence).

Run once, in an environment of its own: lifelines asks for an older pandas than the tests have.

    python -m venv throw-away && throw-away/bin/pip install lifelines
    throw-away/bin/python make_lifelines_reference.py > lifelines_reference.csv
"""

from __future__ import annotations

import csv
import importlib
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
# Set -> file, column of the value, column that tells an exact value, and by what.
SETS: dict[str, tuple[str, str, str, tuple[str, ...]]] = {
    "shock_all": ("shock_absorber.csv", "km", "mode", ("Mode1", "Mode2")),
    "shock_mode1": ("shock_absorber.csv", "km", "mode", ("Mode1",)),
    "shock_mode2": ("shock_absorber.csv", "km", "mode", ("Mode2",)),
    "deviceG_Surge": ("device_g.csv", "kcycles", "mode", ("Surge",)),
    "deviceG_Wearout": ("device_g.csv", "kcycles", "mode", ("Wearout",)),
    "bury_norcen": ("bury_norcen.csv", "t", "event", ("1",)),
    "bury_weicen": ("bury_weicen.csv", "t", "event", ("1",)),
    "bury_lgncen": ("bury_lgncen.csv", "t", "event", ("1",)),
}


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def main() -> None:
    """Weibull and lognormal fits; Kaplan-Meier and log-rank of the two groups of Freireich."""
    lifelines = importlib.import_module("lifelines")
    statistics = importlib.import_module("lifelines.statistics")
    library = f"lifelines {lifelines.__version__}"
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(("id", "quantity", "library", "value"))

    def write(name: str, quantity: str, value: float) -> None:
        writer.writerow((name, quantity, library, repr(float(value))))

    for name, (file, column, told, exact) in SETS.items():
        table = _rows(file)
        values, event = np.array([float(row[column]) for row in table]), np.array([row[told] in exact for row in table])
        weibull = lifelines.WeibullFitter().fit(values, event)
        write(name, "weibull_shape", weibull.rho_)
        write(name, "weibull_scale", weibull.lambda_)
        write(name, "weibull_loglik", weibull.log_likelihood_)
        lognormal = lifelines.LogNormalFitter().fit(values, event)
        write(name, "lognormal_mu", lognormal.mu_)
        write(name, "lognormal_sigma", lognormal.sigma_)
        write(name, "lognormal_loglik", lognormal.log_likelihood_)
    groups = {}
    for group in ("control", "6-MP"):
        table = [row for row in _rows("freireich_gehan.csv") if row["group"] == group]
        groups[group] = (
            np.array([float(row["weeks"]) for row in table]),
            np.array([row["event"] == "1" for row in table]),
        )
    found = lifelines.KaplanMeierFitter().fit(*groups["6-MP"])
    for week in (6, 7, 10, 13, 16, 22, 23):
        write("freireich_6-MP", f"kaplan_meier_{week}", float(found.predict(week)))
    (a, da), (b, db) = groups["control"], groups["6-MP"]
    test = statistics.logrank_test(a, b, da, db)
    write("freireich", "logrank_chisq", test.test_statistic)
    write("freireich", "logrank_p", test.p_value)


if __name__ == "__main__":
    main()
