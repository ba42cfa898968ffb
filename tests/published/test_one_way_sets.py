"""One-way analysis of variance of data sets in print: F and p-value.

GEAR: NIST/SEMATECH e-Handbook 1.3.5.4 (F 2.297, p 0.0227). Four groups of five: e-Handbook 7.4.7.1 (NIST Dataplot).
Cement, five by five: NBS Handbook 91 (NIST Dataplot, NATR341). Plant growth, insect sprays, chickens: data sets of R, F
and p as R 4.2.2 gives them. Mucociliary clearance: Hollander & Wolfe, Nonparametric Statistical Methods. Dyestuff:
Statistical Methods in Research and Production (1947); its second set is simulated (lme4).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from adhesion_stats.statistics import OneWay, one_way, precision
from tests.published_data import rows

FOUR_GROUPS = (
    (6.9, 5.4, 5.8, 4.6, 4.0),
    (8.3, 6.8, 7.8, 9.2, 6.5),
    (8.0, 10.5, 8.1, 6.9, 9.3),
    (5.8, 3.8, 6.1, 5.6, 6.2),
)
CLEARANCE = ((2.9, 3.0, 2.5, 2.6, 3.2), (3.8, 2.7, 4.0, 2.4), (2.8, 3.4, 3.7, 2.2, 2.0))


def _of(groups: tuple[tuple[float, ...], ...]) -> OneWay:
    codes = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    return one_way(np.array([[value for group in groups for value in group]]), group=codes, recording_step=0.0)


def _file(name: str, dataset: str = "") -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    table = [row for row in rows(name) if row.get("dataset", "") == dataset]
    names = sorted({row["group"] for row in table})
    return np.array([float(row["y"]) for row in table]), np.array([names.index(row["group"]) for row in table])


@pytest.mark.parametrize(
    ("name", "df", "statistic", "p"),
    [
        ("nist_gear.csv", (9, 90), "2.296912413", "0.0226608193"),
        ("plantgrowth.csv", (2, 27), "4.84608786238", "0.01590995832562"),
        ("insectsprays.csv", (5, 66), "34.70228206", ""),
        ("chickwts.csv", (5, 65), "15.36479977", ""),
    ],
)
def test_files(name: str, df: tuple[int, int], statistic: str, p: str) -> None:
    """F and p to the last digit."""
    values, codes = _file(name)
    found = one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert (found.df_between, found.df_within) == df
    assert found.statistic == pytest.approx(float(statistic), abs=0.51 * 10.0 ** -len(statistic.partition(".")[2]))
    if p:
        assert found.p_value == pytest.approx(float(p), abs=0.51 * 10.0 ** -len(p.partition(".")[2]))


def test_gear_as_the_e_handbook_prints_it() -> None:
    """F 2.297, p 0.0227."""
    values, codes = _file("nist_gear.csv")
    found = one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert (round(float(found.statistic[0]), 3), round(float(found.p_value[0]), 4)) == (2.297, 0.0227)


def test_insect_sprays_far_out_in_the_tail() -> None:
    """P 3.1826e-17."""
    values, codes = _file("insectsprays.csv")
    assert one_way(values[np.newaxis], group=codes, recording_step=0.0).p_value == pytest.approx(
        3.1826e-17, abs=5.1e-22
    )


def test_four_groups_of_five() -> None:
    """F 9.723839940, p 0.0006844539."""
    found = _of(FOUR_GROUPS)
    assert found.statistic == pytest.approx(9.723839940, abs=5e-10)
    assert found.p_value == pytest.approx(0.0006844539, abs=5e-11)


def test_unequal_groups() -> None:
    """Five, four and five values: F 0.560073260."""
    assert _of(CLEARANCE).statistic == pytest.approx(0.560073260, abs=5e-10)


def test_cement() -> None:
    """Five by five: F 1.850556965, p 0.1587809, pooled s 23.324236."""
    values, codes = _file("natrella_small_sets.csv", "cement_briquettes")
    found = one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert found.statistic == pytest.approx(1.850556965, abs=5.1e-10)
    assert found.p_value == pytest.approx(0.1587809, abs=5.1e-8)
    assert found.sd_within == pytest.approx(23.324236, abs=5.1e-7)


def test_dyestuff_in_both_ways() -> None:
    """F 4.598266, and the sums of squares (56357.5 and 58830) that the components of variance rest on."""
    values, codes = _file("dyestuff.csv")
    found = one_way(values[np.newaxis], group=codes, recording_step=0.0)
    assert (found.between[0], found.within[0]) == (56357.5, 58830.0)
    assert found.statistic == pytest.approx(4.598266, abs=5e-7)


def test_second_dyestuff_has_a_negative_component() -> None:
    """F 0.5577671: the estimate between batches is negative, and 0 where it is cut."""
    values, codes = _file("dyestuff2.csv")
    assert one_way(values[np.newaxis], group=codes, recording_step=0.0).statistic == pytest.approx(
        0.5577671, abs=5.1e-8
    )
    found = precision(values, level=np.zeros(values.size, dtype=np.int64), laboratory=codes)
    assert float(found.between_variance[0]) < 0.0
    assert float(found.between_sd[0]) == 0.0
