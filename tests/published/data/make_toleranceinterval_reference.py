"""Writes toleranceinterval_reference.csv with the open library toleranceinterval 1.0.3 (PyPI, MIT licence).

Run once, where that library is installed: it brings plotting and symbolic libraries, which the tests need not have.

    python make_toleranceinterval_reference.py > toleranceinterval_reference.csv
"""

from __future__ import annotations

import csv
import importlib
import sys

import numpy as np

SAMPLE = (3.1, 2.8, 3.3, 2.9, 3.6, 3.0, 3.2, 2.7, 3.4, 3.5)


def main() -> None:
    """One- and two-sided bounds of the first n values, normal and lognormal, and by order statistics."""
    oneside = importlib.import_module("toleranceinterval.oneside")
    twoside = importlib.import_module("toleranceinterval.twoside")
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(("n", "content", "confidence", "lower_normal", "lower_lognormal", "low", "high"))
    for n in (3, 5, 10):
        x = np.array(SAMPLE[:n])
        for content in (0.90, 0.95, 0.99):
            for confidence in (0.75, 0.90, 0.95):
                lower = float(oneside.normal(x, 1.0 - content, confidence)[0])
                lower_log = float(oneside.lognormal(x, 1.0 - content, confidence)[0])
                low, high = twoside.normal(x, content, confidence, method="exact")[0]
                writer.writerow((n, content, confidence, lower, lower_log, float(low), float(high)))


if __name__ == "__main__":
    main()
