"""The demo data itself: sums in the READMEs, files made by rule, the panels' structure."""

from __future__ import annotations

import math
import re
from collections import Counter
from decimal import Decimal

import numpy as np
import pytest

from adhesion_stats import read_readings
from tests.demo.helpers import demo, readme
from tests.demo.make_demo import panels, workbook

NUMBER = r"\d+(?:\.\d+)?"
SUM = re.compile(rf"((?:{NUMBER} \+ )+{NUMBER}) = ({NUMBER})")
QUOTIENT = re.compile(rf"({NUMBER}) / ({NUMBER}) = ({NUMBER})")
DIFFERENCE = re.compile(rf"({NUMBER}) − ({NUMBER}) = ([+−]?{NUMBER})")
PSI = re.compile(rf"(\d{{3}})(?: / 3\.14159 =| ->) ({NUMBER}) -> (\d+)")


def agrees(value: Decimal, printed: str) -> bool:
    """Whether a value rounds to the printed digits."""
    number = Decimal(printed.replace("−", "-"))
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    return abs(value - number) <= Decimal(5).scaleb(exponent - 1)


@pytest.mark.parametrize(("folder", "least"), [("repair-contract", 14), ("psi-contract", 4)])
def test_sums_in_the_readme(folder: str, least: int) -> None:
    """Each sum written out is right to the last digit."""
    found = SUM.findall(readme(folder))
    assert len(found) >= least
    for terms, total in found:
        assert sum(Decimal(term) for term in terms.split(" + ")) == Decimal(total), terms


@pytest.mark.parametrize(("folder", "least"), [("repair-contract", 14), ("psi-contract", 4)])
def test_quotients_and_differences_in_the_readme(folder: str, least: int) -> None:
    """Each quotient and difference is right to the digits printed."""
    text = readme(folder)
    quotients, differences = QUOTIENT.findall(text), DIFFERENCE.findall(text)
    assert min(len(quotients), len(differences)) >= least
    for above, below, result in quotients:
        if below != "3.14159":
            assert agrees(Decimal(above) / Decimal(below), result), (above, below)
    for first, second, result in differences:
        assert agrees(Decimal(first) - Decimal(second), result), (first, second)


def test_strengths_from_loads_in_the_readme() -> None:
    """Each strength in psi is its load over π in², to 0.01 psi, and recorded to the nearest psi."""
    found = PSI.findall(readme("psi-contract"))
    assert len(found) == 27
    for load, strength, recorded in found:
        assert f"{float(load) / math.pi:.2f}" == strength
        assert round(float(load) / math.pi) == int(recorded)


def test_panels_are_made_again_from_their_seed() -> None:
    """The committed panels are what the script makes."""
    assert demo("primer-panels", "readings.csv").read_text(encoding="utf-8") == panels()


def test_workbook_is_made_again_byte_for_byte() -> None:
    """The committed workbook is what the script makes from the readings."""
    assert demo("repair-contract", "readings-as-received.xlsx").read_bytes() == workbook()


def test_panels_have_the_structure_that_the_readme_states() -> None:
    """Three primers and a control, four panels each, four pulls a panel; one lost; some breaks in the adhesive."""
    pulls = read_readings(demo("primer-panels", "readings.csv")).pulls
    assert len(pulls) == 64
    per_panel = Counter(zip(pulls.labels["primer"], pulls.labels["panel"], strict=True))
    assert set(per_panel.values()) == {4}
    assert Counter(primer for primer, _ in per_panel) == {"control": 4, "P": 4, "Q": 4, "R": 4}
    assert {pulls.labels["panel"][i] for i in np.flatnonzero(pulls.lost)} == {"Q3"}
    assert np.isnan(pulls.strength_mpa[pulls.lost]).all()
    assert 5 <= int((pulls.share(("Y",)) >= 50).sum()) <= 12


def test_panels_differ_more_than_their_pulls_would() -> None:
    """A panel effect was put in: the mean square between panels of one primer exceeds that within panels."""
    pulls = read_readings(demo("primer-panels", "readings.csv")).pulls
    panel = np.array(pulls.labels["panel"])
    primer = np.array(pulls.labels["primer"])
    names = sorted(set(panel[~pulls.lost]))
    within = np.mean([pulls.strength_mpa[panel == name].var(ddof=1) for name in names])
    means = {name: float(pulls.strength_mpa[panel == name].mean()) for name in names}
    groups = [[means[n] for n in names if primer[panel == n][0] == p] for p in ("control", "P", "Q", "R")]
    between = 4 * sum(float(np.var(g, ddof=1)) * (len(g) - 1) for g in groups) / sum(len(g) - 1 for g in groups)
    assert between / within > 1.5
