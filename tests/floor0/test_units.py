"""Unit words and their factors, checked against NIST SP 811 (2008), appendix B.8, and exact definitions."""

from __future__ import annotations

import pint
import pytest

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.units import _TABLES, Quantity, factor


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("MPa", "strength", 1.0),
        ("N/mm²", "strength", 1.0),
        ("N/mm2", "strength", 1.0),
        ("kPa", "strength", 0.001),
        ("bar", "strength", 0.1),
        ("kgf/cm²", "strength", 0.0980665),  # SP 811 B.8: 9.80665 E+04 Pa
        ("kp/cm2", "strength", 0.0980665),
        ("psi", "strength", 0.45359237 * 9.80665 / 25.4**2),  # pound, standard gravity, inch: exact definitions
        ("lb/in²", "strength", 0.45359237 * 9.80665 / 25.4**2),
        ("kN", "load", 1000.0),
        ("lbf", "load", 4.4482216152605),  # SP 811 B.8: exact
        ("kgf", "load", 9.80665),
        ("in", "length", 25.4),
        ('2"'[1:], "length", 25.4),
        ("mil", "length", 0.0254),
        ("m²", "area", 1.0),
        ("sq ft", "area", 0.09290304),  # SP 811 B.8: 9.290304 E-02, exact
    ],
)
def test_factors(text: str, quantity: Quantity, value: float) -> None:
    """Each unit word has the factor of its definition, to the last bit or one unit of it."""
    assert factor(text, quantity) == pytest.approx(value, rel=3e-16)


def test_bar_is_exactly_a_tenth() -> None:
    """Factors are formed exactly and rounded once: a bar is 0.1 MPa, not 0.09999999999999999."""
    assert factor("bar", "strength") == 0.1


@pytest.mark.parametrize(("psi", "mpa"), [(100, 0.689), (150, 1.034), (200, 1.379), (300, 2.068), (400, 2.758)])
def test_psi_table(psi: float, mpa: float) -> None:
    """Round psi limits in MPa to the three decimals that trade tables print."""
    assert round(psi * factor("psi", "strength"), 3) == mpa


def test_usual_rate_and_size_facts_agree() -> None:
    """Facts that the trade quotes (common practice, no published source) agree with the factors to their digits."""
    assert round(30 * factor("psi/s", "rate"), 3) == 0.207
    assert 50**2 / 20**2 == 6.25
    assert round(20 * factor("mil", "length") * 1000) == 508  # 500 µm is "about 20 mil"


def test_a_word_of_another_quantity_is_unknown() -> None:
    """A load unit is no unit of strength; the error names the known ones."""
    with pytest.raises(UnknownUnit, match="MPa"):
        factor("kN", "strength")


@pytest.mark.parametrize("quantity", ["strength", "load", "length", "rate", "area"])
def test_every_word_agrees_with_the_full_list_of_pint(quantity: Quantity) -> None:
    """The few definitions used here give what pint's own list of units gives (its floats err in the last bits)."""
    inside = {"strength": "MPa", "load": "N", "length": "mm", "rate": "MPa/s", "area": "m**2"}[quantity]
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    for word, expression in _TABLES[quantity].items():
        assert factor(word, quantity) == pytest.approx(registry.Quantity(1.0, expression).to(inside).m, rel=1e-14), word
