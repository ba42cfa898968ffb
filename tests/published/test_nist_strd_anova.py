"""NIST Statistical Reference Datasets, analysis of variance: F, sums of squares and residual standard deviation.

Certified values: https://www.itl.nist.gov/div898/strd/anova/anova.html, as in the files that scipy carries
(scipy/stats/tests/data/nist_anova, work of the United States Government). Digits of agreement beside other libraries:
docs/digits-of-agreement.md.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy
from scipy import stats

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import one_way, precision, t_test
from tests.published_data import agreement
from tests.strd import ANOVA, anova

# Digits of the residual sd at best with values in double precision, two passes; ``precision`` works on those.
CEILING_OF_SD = {"SmLs04": 10.1, "SmLs05": 10.1, "SmLs06": 10.1, "SmLs07": 4.1, "SmLs08": 4.1, "SmLs09": 4.1}


@pytest.mark.parametrize("name", ANOVA)
def test_certified_values_to_the_last_digit(name: str) -> None:
    """All 15 certified digits of F, both sums of squares, R squared and the residual sd, in every set."""
    values, codes = anova(name)
    certified, found = ANOVA[name], one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert (found.groups, found.results) == (certified.groups, certified.results)
    for ours, theirs in (
        (found.statistic, certified.statistic),
        (found.between, certified.between),
        (found.within, certified.within),
        (found.share_between, certified.share_between),
        (found.sd_within, certified.sd_within),
    ):
        assert agreement(float(ours[0]), theirs) >= 14.3  # half a unit of the last certified digit


@pytest.mark.parametrize("name", ANOVA)
def test_repeatability_is_at_the_ceiling_of_double_precision(name: str) -> None:
    """The residual sd is the repeatability of one level; the order of the values does not matter."""
    values, codes = anova(name)
    order = np.random.default_rng(1).permutation(values.size)
    found = precision(values[order], level=np.zeros(values.size, dtype=np.int64), laboratory=codes[order])
    assert agreement(float(found.repeatability_sd[0]), ANOVA[name].sd_within) >= CEILING_OF_SD.get(name, 10.0)


@pytest.mark.parametrize("name", ANOVA)
def test_data_and_certified_values_are_those_of_the_files(name: str) -> None:
    """As in the files that scipy carries, value by value."""
    file = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    if not file.is_file():
        pytest.skip("this scipy comes without its test data")
    lines = file.read_text(encoding="ascii").splitlines()
    begin, end = (int(part) for part in re.findall(r"Data +\(lines (\d+) to (\d+)\)", "\n".join(lines))[0])
    data = [line.split() for line in lines[begin - 1 : end]]
    values, codes = anova(name)
    assert [float(value) for _, value in data] == values.tolist()
    assert [int(code) for code, _ in data] == codes.tolist()
    between = next(line.split() for line in lines if line.startswith("Between"))
    assert [float(cell) for cell in (between[-3], between[-1])] == [ANOVA[name].between, ANOVA[name].statistic]


def test_two_groups_are_the_square_of_the_t_test() -> None:
    """F = t squared, and the same p-value, for two groups of three and four."""
    a, b = np.array([1.1, 2.0, 3.2]), np.array([2.0, 3.1, 4.7, 5.0])
    found = one_way(np.concatenate((a, b))[np.newaxis], group=np.array([0] * 3 + [1] * 4), recording_step=0.0)
    t = t_test(a[np.newaxis], b[np.newaxis], spreads="equal", confidence=0.95, recording_step=0.0)
    assert found.statistic == pytest.approx(t.statistic**2, rel=1e-13)
    assert found.p_value == pytest.approx(t.p_value, rel=1e-12)


def test_p_values_are_scipys() -> None:
    """Relative 1e-12, groups of unequal size."""
    rng = np.random.default_rng(3)
    codes = np.repeat([7, 2, 9], [3, 5, 4])
    values = rng.normal(2.5, 0.3, 12).round(2)
    expected = stats.f_oneway(*(values[codes == code] for code in (7, 2, 9)))
    found = one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert (found.statistic[0], found.p_value[0]) == pytest.approx((expected.statistic, expected.pvalue), rel=1e-11)


def test_groups_without_spread_are_infinitely_apart() -> None:
    """Nothing varies within: F = inf, p = 0; nothing at all: refused."""
    found = one_way(np.array([[1.0, 1.0, 2.0, 2.0]]), group=np.array([0, 0, 1, 1]), recording_step=0.0)
    assert (found.statistic[0], found.p_value[0], found.sd_within[0]) == (float("inf"), 0.0, 0.0)
    with pytest.raises(InvalidSample, match="all of set 0 are equal"):
        one_way(np.full((1, 4), 0.1), group=np.array([0, 0, 1, 1]), recording_step=0.0)


@pytest.mark.parametrize(
    ("values", "codes", "text"),
    [
        ([1.0, 2.0], [0, 1], "two groups or more, one of them with two values"),
        ([1.0, 2.0, 3.0], [0, 0, 0], "two groups or more"),
        ([1.0, 2.0, float("nan")], [0, 0, 1], "exact, finite values"),
        ([1.0, 2.0, 3.0], [0, 0], "group of each column"),
    ],
)
def test_what_is_no_analysis_is_refused(values: list[float], codes: list[int], text: str) -> None:
    """Too few groups or values, not finite, shapes that differ."""
    with pytest.raises(InvalidSample, match=text):
        one_way(np.array([values]), group=np.array(codes), recording_step=0.0)
