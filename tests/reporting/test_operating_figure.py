"""The figure of an operating characteristic as data: lines, names, units; never pixels."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.axes import Axes
from numpy.typing import NDArray

from adhesion_stats.acceptance.risk import OperatingCharacteristic, operating_characteristic
from adhesion_stats.reporting.figures import plot_operating_characteristic
from adhesion_stats.terms.checker import parse_limit
from adhesion_stats.terms.criteria import AllOf, MeanAtLeast, SmallestAtLeast

RULE = AllOf(
    (
        MeanAtLeast("1", "", "pull-off", parse_limit("1.50 MPa")),
        SmallestAtLeast("2", "", "pull-off", parse_limit("1.00 MPa")),
    )
)


def curve(n: int = 5, glue: float = 0.1) -> OperatingCharacteristic:
    """A curve over 1 to 3 MPa."""
    return operating_characteristic(RULE, n=n, mean_mpa=np.linspace(1.0, 3.0, 60), cov=0.2, glue_share=glue)


def drawn(ax: Axes) -> dict[str | None, tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Every line by its name."""
    return {line.get_gid(): (np.asarray(line.get_xdata()), np.asarray(line.get_ydata())) for line in ax.get_lines()}


def test_each_outcome_is_a_line_with_its_name_beside_it() -> None:
    """Three lines in percent, told apart by their dashes too, each with its own name in words."""
    found = curve()
    ax = plot_operating_characteristic(found)
    lines = drawn(ax)
    assert set(lines) == {"conforms", "does_not_conform", "undetermined"}
    assert lines["conforms"][1] == pytest.approx(100 * found.conforms)
    assert {text.get_text() for text in ax.texts} == {"conforms", "does not conform", "undetermined"}
    assert len({str(line.get_linestyle()) + str(line._dash_pattern) for line in ax.get_lines()}) == 3  # type: ignore[attr-defined]


def test_what_never_happens_has_no_line() -> None:
    """Without unknown values nothing is undetermined."""
    assert set(drawn(plot_operating_characteristic(curve(glue=0.0)))) == {"conforms", "does_not_conform"}


def test_the_axis_is_in_the_unit_asked_for() -> None:
    """1 MPa is 145 psi, and the label says psi."""
    ax = plot_operating_characteristic(curve(), unit="psi")
    assert drawn(ax)["conforms"][0][0] == pytest.approx(145.0377, abs=0.001)
    assert "psi" in ax.get_xlabel()


def test_two_rules_are_named_on_their_lines() -> None:
    """The second rule is one line more; both names stand there, control characters visible."""
    ax = plot_operating_characteristic(curve(), other=curve(10), names=("5 pulls", "10\x1b[2J pulls"))
    assert "other" in drawn(ax)
    texts = [text.get_text() for text in ax.texts]
    assert "conforms, 5 pulls" in texts
    assert any("10" in text for text in texts)
    assert not any("\x1b" in text for text in texts)


def test_names_cover_no_other_name() -> None:
    """Their boxes are apart."""
    ax = plot_operating_characteristic(curve(), other=curve(10), names=("5 pulls", "10 pulls"))
    figure = ax.get_figure(root=True)
    assert figure is not None
    boxes = [text.get_window_extent() for text in ax.texts]
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_it_draws_into_a_given_axes() -> None:
    """The axes that was given comes back."""
    first = plot_operating_characteristic(curve())
    assert plot_operating_characteristic(curve(), first) is first
