"""Cochran's C: critical values computed elsewhere (exact and by the formula of the printed tables), and entries of ISO
5725-2:1994, table 4 (recalled; they agree with computed ones).
"""

from __future__ import annotations

import pytest
from scipy import special

from adhesion_stats.statistics import cochran_critical
from tests.published_data import half_last_digit, rows

TABLE = rows("cochran_critical.csv")


@pytest.mark.parametrize("row", TABLE, ids=[f"p{row['p_groups']}-n{row['n_per_group']}" for row in TABLE])
def test_computed_values(row: dict[str, str]) -> None:
    """P = 2 to 40, n = 2 to 6, 5 and 1 %: exact values to half of their eighth decimal, and never above the formula."""
    p, df = int(row["p_groups"]), int(row["n_per_group"]) - 1
    for percent, alpha in (("5pct", 0.05), ("1pct", 0.01)):
        exact, formula = row[f"exact_{percent}"], row[f"bonferroni_F_{percent}"]
        actual = cochran_critical(p=p, degrees_of_freedom=df, alpha=alpha)
        assert actual == pytest.approx(float(exact), abs=2.0 * half_last_digit(exact))
        assert actual <= float(formula) + half_last_digit(formula)
        by_formula = 1.0 - special.betaincinv(0.5 * (p - 1) * df, 0.5 * df, alpha / p)
        assert by_formula == pytest.approx(float(formula), abs=half_last_digit(formula))
        if float(formula) >= 0.5:
            assert actual == pytest.approx(by_formula, abs=1e-13)


@pytest.mark.parametrize(
    ("p", "n", "at_5", "at_1"),
    [
        (3, 2, ".967", ".993"),
        (5, 2, ".841", ".928"),
        (8, 3, ".516", ".615"),
        (10, 2, ".602", ".718"),
        (10, 3, ".445", ".536"),
    ],
)
def test_iso_5725_2_table_4(p: int, n: int, at_5: str, at_1: str) -> None:
    """Entries to half of the third decimal; .718 for .71746 at p = 10, n = 2 is one unit."""
    assert cochran_critical(p=p, degrees_of_freedom=n - 1, alpha=0.05) == pytest.approx(
        float(at_5), abs=half_last_digit(at_5)
    )
    tolerance = 0.001 if (p, n) == (10, 2) else half_last_digit(at_1)
    assert cochran_critical(p=p, degrees_of_freedom=n - 1, alpha=0.01) == pytest.approx(float(at_1), abs=tolerance)


@pytest.mark.parametrize(("p", "n", "at_5", "at_1"), [(20, 2, ".3894", ".4799"), (40, 6, ".0967", ".1135")])
def test_further_computed_entries(p: int, n: int, at_5: str, at_1: str) -> None:
    """Computed by the formula, four decimals; the exact ones are smaller by at most .00013."""
    for alpha, text in ((0.05, at_5), (0.01, at_1)):
        actual = cochran_critical(p=p, degrees_of_freedom=n - 1, alpha=alpha)
        assert -0.00018 < actual - float(text) < 0.00005
