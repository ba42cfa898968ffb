"""Published tables as their sources give them: read at once, or refused with a question that one line decides.

Sources: tests/published/data/real/README.md. Where a source gives no unit, the unit is chosen for the test.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import Reading, read_bytes, understand_bytes
from adhesion_stats.pulls import Bound
from adhesion_stats.reporting.layout_file import layout_text
from adhesion_stats.terms.layout import Layout

DATA = Path(__file__).parents[1] / "published" / "data" / "real"
PASTE, LABORATORIES = "paste_strength_batch_cask.csv", "seven_laboratories_nine_materials.csv"
WIRES = "wire_connection_strength_by_failure_mode.csv"


def decided(name: str, *lines: str) -> Reading:
    """The file read by the layout that is written about it, after the number sign was taken away from ``lines``."""
    content = (DATA / name).read_bytes()
    text = layout_text(*understand_bytes(content, file=name))
    for line in lines:
        assert text.count(f"\n#{line}\n") == 1, (line, text)
        text = text.replace(f"\n#{line}\n", f"\n{line}\n")
    return read_bytes(content, file=name, layout=Layout.from_toml(text))


@pytest.mark.parametrize(
    ("name", "zones", "means", "factor"),
    [
        ("mortar_tension_bond_kgfcm2.csv", ("modified", "unmodified"), (16.764, 17.042), 0.0980665),
        # psi: 4.4482216152605 N / (25.4 mm)², NIST SP 811 (2008), appendix B.8
        (
            "cement_tensile_by_mixing_technique_psi.csv",
            ("1", "2", "3", "4"),
            (2971.0, 3156.25, 2933.75, 2666.25),
            4.4482216152605 / 25.4**2,
        ),
        ("concrete_flexural_strength_MPa.csv", ("(unnamed)",), (8.140741,), 1.0),
    ],
)
def test_tables_with_a_unit_are_read_at_once(
    name: str, zones: tuple[str, ...], means: tuple[float, ...], factor: float
) -> None:
    """Zones and means are those that the sources give."""
    pulls = read_bytes((DATA / name).read_bytes(), file=name).pulls
    found = [np.mean([f for f, z in zip(pulls.strength_mpa, pulls.zone, strict=True) if z == zone]) for zone in zones]
    assert pulls.zones == zones
    assert found == pytest.approx([mean * factor for mean in means], rel=1e-6)
    assert not any(pulls.doubts)


@pytest.mark.parametrize("name", [PASTE, LABORATORIES, WIRES])
def test_a_table_without_a_unit_is_refused_with_the_line_that_decides(name: str) -> None:
    """No unit is guessed; heading, row and the mend are named."""
    with pytest.raises(UnusableReadings, match=r'row 2, column "(strength|value)".*\[units\] strength = "MPa"'):
        read_bytes((DATA / name).read_bytes(), file=name)


def test_paste_is_read_with_one_setting() -> None:
    """60 values, 10 batches; all of them as one sample have s = 3.238."""
    pulls = decided(PASTE, 'strength = "kgf/cm²"').pulls
    assert (len(pulls), len(pulls.zones)) == (60, 10)
    assert np.std(pulls.strength_mpa / 0.0980665, ddof=1) == pytest.approx(3.238, abs=5e-4)


def test_laboratories_are_read_with_one_setting() -> None:
    """7 x 9 x 3 values; material E: mean 1.98095, repeatability s_r 0.03958, reproducibility s_R 0.06274."""
    reading = decided(LABORATORIES, 'strength = "MPa"')
    assert (len(reading.pulls), len(reading.pulls.zones)) == (189, 9)
    cells = reading.pulls.strength_mpa[[zone == "E" for zone in reading.pulls.zone]].reshape(7, 3)
    between, within = cells.mean(axis=1).var(ddof=1), cells.var(axis=1, ddof=1).mean()
    found = (cells.mean(), math.sqrt(within), math.sqrt(between - within / 3 + within))
    assert found == pytest.approx((1.98095, 0.03958, 0.06274), abs=5e-6)


def test_wires_are_read_with_unit_and_the_meaning_of_a_word() -> None:
    """20 pulls, 10 at the bond (A/B) and 10 in the wire (B); means 1280 at the bond, 1285 of all."""
    reading = decided(WIRES, 'strength = "kPa"', 'wire = "B"')
    pulls = reading.pulls
    at_bond = pulls.share(("A/B",)) == 100.0
    assert (pulls.share(("B",)) == 100.0).tolist() == np.logical_not(at_bond).tolist()
    assert (len(pulls), int(at_bond.sum())) == (20, 10)
    assert pulls.strength_mpa[at_bond].mean() == pytest.approx(1.280, rel=1e-12)
    assert pulls.strength_mpa.mean() == pytest.approx(1.285, rel=1e-12)
    assert set(pulls.bound.tolist()) == {Bound.EXACT}
    assert "failure_unclear" not in {message.code for message in reading.messages}


def test_wires_without_the_word_say_what_was_not_accepted() -> None:
    """The unit alone reads the values; the ten wire breaks stay unrecorded and that is said."""
    reading = decided(WIRES, 'strength = "kPa"')
    (said,) = [message for message in reading.messages if message.code == "failure_unclear"]
    assert said.facts["count"] == 10
    assert int(reading.pulls.recorded.sum()) == 10
