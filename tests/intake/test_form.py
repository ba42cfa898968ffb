"""The blank form: same bytes every time, filled in it reads without a question, blank it is refused."""

from __future__ import annotations

import io

import openpyxl
import pytest

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import blank_form, read_bytes
from adhesion_stats.intake.form import FORM_COLUMNS
from adhesion_stats.messages import Severity


def filled(*rows: dict[str, object]) -> bytes:
    """Return the form with rows filled in by heading."""
    book = openpyxl.load_workbook(io.BytesIO(blank_form("xlsx")))
    sheet = book["Readings"]
    headings = [cell.value for cell in sheet[1]]
    for r, row in enumerate(rows, start=2):
        for heading, value in row.items():
            sheet.cell(r, headings.index(heading) + 1, value)
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_the_form_has_the_same_bytes_every_time(kind: str) -> None:
    """Nothing of the clock or the machine is in it."""
    assert blank_form(kind) == blank_form(kind)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_a_blank_form_is_refused(kind: str) -> None:
    """No reading stands below the headings."""
    with pytest.raises(UnusableReadings, match="No reading"):
        read_bytes(blank_form(kind), file="form")  # type: ignore[arg-type]


def test_a_filled_form_is_read_without_warning() -> None:
    """Every column comes back under its name, text stays text."""
    row = {
        "zone": "Deck",
        "id": "007",
        "strength [MPa]": 1.62,
        "load [N]": 3181,
        "diameter [mm]": 50,
        "A [%]": 80,
        "A/B [%]": 20,
        "cut": "yes",
        "cut depth [mm]": 15,
        "coating thickness [µm]": 800,
        "rate [MPa/s]": 0.05,
        "time to failure [s]": 32,
        "temperature [°C]": 18,
        "moisture [%]": 4,
        "hollow": "no",
        "x [m]": 1.5,
        "y [m]": 2.5,
        "panel": "P1",
        "primer": "none",
        "remark": "dry",
        "measurement": "M1",
        "retest of": "006",
        "lost before loading": "",
        "operator": "x",
        "photo": "12",
    }
    reading = read_bytes(filled(row, {"zone": "Deck", "id": "8", "lost before loading": "yes"}), file="form.xlsx")
    pulls = reading.pulls
    assert pulls.zone == ("Deck", "Deck")
    assert pulls.id == ("007", "8")
    assert pulls.failure(0) == {"A": 80.0, "A/B": 20.0}
    assert pulls.lost.tolist() == [False, True]
    assert pulls.retest_of == ("006", "")
    assert (pulls.labels["cut"][0], pulls.labels["hollow"][0], pulls.labels["primer"][0]) == ("yes", "no", "none")
    wanted = {
        "cut_depth_mm": 15.0,
        "coating_thickness_um": 800.0,
        "rate_mpa_per_s": 0.05,
        "time_to_failure_s": 32.0,
        "temperature_c": 18.0,
        "moisture_percent": 4.0,
        "x_m": 1.5,
        "y_m": 2.5,
        "dolly_mm": 50.0,
    }
    assert {name: float(pulls.conditions[name][0]) for name in wanted} == pytest.approx(wanted)
    warnings = [message.code for message in reading.messages if message.severity is not Severity.NOTE]
    assert warnings == []


def test_every_heading_of_the_form_is_known() -> None:
    """No column of our own form goes unused."""
    reading = read_bytes(filled({"zone": "Deck", "id": "1", "strength [MPa]": 1.62}), file="form.xlsx")
    assert "columns_not_used" not in {message.code for message in reading.messages}
    assert len(FORM_COLUMNS) > 30
