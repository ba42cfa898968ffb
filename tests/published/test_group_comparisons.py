"""Further comparisons of groups in print. This project has none of them: scipy does them, and comes to these numbers.

So what ``one_way`` and ``two_samples`` leave out (unequal spreads of more than two groups, tests of spread, ranks, all
pairs, pairs with a control) is to be had from scipy. Plant growth, insect sprays, chickens: data sets of R 4.2.2, whose
oneway.test, bartlett.test, kruskal.test and TukeyHSD, and car 3.1-1 (Levene), give these numbers; gears: NIST/SEMATECH
e-Handbook 1.3.5.7 (Bartlett 20.7859) and 1.3.5.10 (Levene 1.7059); four groups: e-Handbook 7.4.7.1 (all pairs).
Control and two treatments: Dunnett, Journal of the American Statistical Association 50 (1955) 1096-1121.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tests.published.test_one_way_sets import CLEARANCE, FOUR_GROUPS
from tests.published_data import rows

Groups = list[NDArray[np.float64]]


def _groups(name: str) -> Groups:
    if name == "four groups":
        return [np.array(group) for group in FOUR_GROUPS]
    if name == "clearance":
        return [np.array(group) for group in CLEARANCE]
    table = rows(name)
    return [
        np.array([float(row["y"]) for row in table if row["group"] == g]) for g in sorted({r["group"] for r in table})
    ]


# Welch's F and its second degrees of freedom, Bartlett, Levene by means and by medians, Kruskal-Wallis H.
PRINTED = {
    "plantgrowth.csv": ("5.180972408", "2.878573787", "1.236962954", "1.119185695", "7.988228749"),
    "insectsprays.csv": ("36.06544389", "25.95982532", "6.455352710", "3.821356313", "54.69134462"),
    "nist_gear.csv": ("2.055802427", "20.78587343", "2.159459856", "1.705917693", "17.03123870"),
    "chickwts.csv": ("19.66172436", "3.259689084", ".987329011", ".749263894", "37.34271769"),
    "four groups": ("8.072769412", ".453051107", ".341094204", ".232728296", "13.36581325"),
    "clearance": (".391905478", "3.279414405", "4.781469208", "4.476854344", ".7714285714"),
}


@pytest.mark.parametrize("name", PRINTED)
def test_statistics_of_scipy_are_the_printed_ones(name: str) -> None:
    """To the last digit: unequal spreads, tests of spread, ranks."""
    groups = _groups(name)
    found = (
        stats.f_oneway(*groups, equal_var=False).statistic,
        stats.bartlett(*groups).statistic,
        stats.levene(*groups, center="mean").statistic,
        stats.levene(*groups, center="median").statistic,
        stats.kruskal(*groups).statistic,
    )
    for ours, printed in zip(found, PRINTED[name], strict=True):
        assert ours == pytest.approx(float(printed), abs=0.51 * 10.0 ** -len(printed.partition(".")[2]))


def test_all_pairs_of_four_groups() -> None:
    """95 % intervals .2926 to 4.4674, 1.1326 to 5.3074, -4.3074 to -.1326 and p-values, as R prints them."""
    found = stats.tukey_hsd(*_groups("four groups"))
    interval = found.confidence_interval(0.95)
    bounds = np.stack([np.asarray(interval.low), np.asarray(interval.high)])
    for (i, j), low, high, p in (
        ((1, 0), 0.2926316, 4.4673684, 0.0227934),
        ((2, 0), 1.1326316, 5.3073684, 0.0022108),
        ((3, 1), -4.3073684, -0.1326316, 0.0351545),
        ((3, 2), -5.1473684, -0.9726316, 0.0034506),
    ):
        assert bounds[:, i, j] == pytest.approx((low, high), abs=5e-7)
        assert np.asarray(found.pvalue)[i, j] == pytest.approx(p, abs=5.1e-8)


def test_all_pairs_of_unequal_spread() -> None:
    """Games and Howell: .4745549, .1128892, .0237035 for plant growth."""
    found = stats.tukey_hsd(*_groups("plantgrowth.csv"), equal_var=False)
    assert [np.asarray(found.pvalue)[i, j] for i, j in ((0, 1), (0, 2), (1, 2))] == pytest.approx(
        [0.4745549, 0.1128892, 0.0237035], abs=5.1e-8
    )


def test_treatments_against_a_control() -> None:
    """T .857032126 and 3.693752311; p .6201 and .00583 two-sided, to scipy's own error (it integrates by chance)."""
    control = np.array([7.40, 8.50, 7.20, 8.24, 9.84, 8.32])
    a, b = np.array([9.76, 8.80, 7.68, 9.36]), np.array([12.80, 9.68, 12.16, 9.20, 10.55])
    found = stats.dunnett(a, b, control=control, rng=np.random.default_rng(1))
    assert found.statistic == pytest.approx([0.857032126, 3.693752311], abs=5e-10)
    assert found.pvalue == pytest.approx([0.62010198, 0.00582536], abs=3e-4)
