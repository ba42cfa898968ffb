"""The record of a plan: folder, forms that read back, page, drawings; the demo's plan against its README."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from matplotlib.patches import Polygon

from adhesion_stats import assess
from adhesion_stats.cli import main
from adhesion_stats.entrance import readings_from, specification_from
from adhesion_stats.errors import InvalidSpecification, RecordDiffers, UnwritableFolder, WrongUsage
from adhesion_stats.intake import readings_form
from adhesion_stats.locate import packaged
from adhesion_stats.plane import area
from adhesion_stats.planning import make_plan
from adhesion_stats.reporting.plan.cells import compare_with_plan
from adhesion_stats.reporting.plan.drawing import plan_svg, plot_plan
from adhesion_stats.reporting.plan.folder import form_rows, write_plan
from adhesion_stats.reporting.plan.page import render_plan
from adhesion_stats.reporting.plan.text import plan_text
from adhesion_stats.terms.parse import parse_specification
from tests.planning.examples import DECK, GOOD, HEAD, PLAN

DEMO = packaged("data", "demo", "planned-deck")


def facts(text: str) -> dict[str, object]:
    """The plan of a specification, as plain values."""
    return make_plan(parse_specification(text.encode(), file="s.toml")).as_dict()


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo's plan, as the command writes it."""
    folder = tmp_path_factory.mktemp("plan") / "made"
    assert main(["plan", str(DEMO / "specification.toml"), "--output", str(folder)]) == 0
    return folder


def test_the_folder_holds_everything_and_its_hashes(record: Path) -> None:
    """Page, notebook, forms, facts, the specification byte for byte, and the hash of each."""
    manifest = json.loads((record / "manifest.json").read_text())
    names = {path.name for path in record.iterdir()} - {"manifest.json"}
    assert set(manifest["files"]) == names
    assert {"plan.html", "plan.ipynb", "plan.json", "readings-form.xlsx", "readings-form.csv"} < names
    for name, entry in manifest["files"].items():
        assert hashlib.sha256((record / name).read_bytes()).hexdigest() == entry["sha256"]
    assert (record / "specification.toml").read_bytes() == (DEMO / "specification.toml").read_bytes()


def test_a_second_run_gives_the_same_bytes(record: Path, tmp_path: Path) -> None:
    """Every file of the record, the notebook included."""
    write_plan(DEMO / "specification.toml", tmp_path / "again", progress=lambda _: None)
    for path in record.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes(), path.name


def test_an_existing_folder_is_refused(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A record is never overwritten."""
    before = {path: path.read_bytes() for path in record.iterdir()}
    assert main(["plan", str(DEMO / "specification.toml"), "--output", str(record)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in record.iterdir()} == before
    with pytest.raises(UnwritableFolder):
        write_plan(DEMO / "specification.toml", record, progress=lambda _: None)


def test_nothing_is_left_of_a_plan_that_can_not_be_made(tmp_path: Path) -> None:
    """No folder, no temporary one, where positions have no room or names clash."""
    crowded = tmp_path / "s.toml"
    crowded.write_text(HEAD + PLAN.replace("200 mm", "9 m") + DECK)
    with pytest.raises(InvalidSpecification):
        write_plan(crowded, tmp_path / "out", progress=lambda _: None)
    clash = tmp_path / "plan.json"
    clash.write_text(GOOD)
    with pytest.raises(WrongUsage):
        write_plan(clash, tmp_path / "out", progress=lambda _: None)
    assert {path.name for path in tmp_path.iterdir()} == {"s.toml", "plan.json"}


def values_of(ids: list[str]) -> list[float]:
    """A value for each pull, 1.80 and up."""
    return [round(1.80 + 0.01 * i, 2) for i in range(len(ids))]


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_the_form_filled_in_reads_and_assesses_without_findings(record: Path, kind: str) -> None:
    """Values written into the form of the plan: every pull is counted where it was planned, nothing to remark but that
    the sheets with explanations hold no readings.
    """
    content = (record / f"readings-form.{kind}").read_bytes()
    if kind == "xlsx":
        book = openpyxl.load_workbook(io.BytesIO(content))
        sheet = book["Readings"]
        headings = [cell.value for cell in sheet[1]]
        rows = [row for row in sheet.iter_rows(min_row=2) if row[1].value]
        for row, value in zip(rows, values_of([str(row[1].value) for row in rows]), strict=True):
            row[headings.index("strength [MPa]")].value = value
            row[headings.index("A [%]")].value = 100
        target = io.BytesIO()
        book.save(target)
        filled = target.getvalue()
    else:
        table = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
        at, share = table[0].index("strength [MPa]"), table[0].index("A [%]")
        for entry, value in zip(table[1:], values_of([row[1] for row in table[1:]]), strict=True):
            entry[at], entry[share] = f"{value:.2f}", "100"
        text = io.StringIO(newline="")
        csv.writer(text).writerows(table)
        filled = text.getvalue().encode()
    terms = specification_from((DEMO / "specification.toml").read_bytes(), file="specification.toml")
    reading = readings_from(filled, file=f"form.{kind}", specification=terms)
    assert [message.code for message in reading.messages] == (["sheets_not_read"] if kind == "xlsx" else [])
    plan = json.loads((record / "plan.json").read_text())
    planned = [(p["id"], z["zone"], p["x_m"], p["y_m"]) for z in plan["zones"] for p in z["positions"]]
    read = reading.pulls
    assert list(zip(read.id, read.zone, read.conditions["x_m"], read.conditions["y_m"], strict=True)) == planned
    assert assess(reading, terms).decision == "conforms"


def test_a_form_takes_known_headings_only() -> None:
    """A heading that the form does not have is an error, not a lost column."""
    with pytest.raises(KeyError, match="nowhere"):
        readings_form("csv", [{"nowhere": 1.0}])


def test_text_of_the_specification_stays_text(tmp_path: Path) -> None:
    """A zone named like markup or like a formula is its name on page, in drawing, terminal and form."""
    name = '=1+1 <b>&\\"\\u001b[31m'
    plan = facts(GOOD.replace('"Deck"', f'"{name}"'))
    page = render_plan(plan)
    assert "<b>" not in page
    assert "=1+1 &lt;b&gt;&amp;" in page
    assert "\x1b" not in page
    assert "\x1b" not in plan_text(plan)
    rows, _ = form_rows(plan, dolly_mm=50.0)
    book = openpyxl.load_workbook(io.BytesIO(readings_form("xlsx", [{**row, "zone": "=1+1"} for row in rows])))
    cell = book["Readings"]["A2"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_the_page_needs_nothing_else(record: Path) -> None:
    """No script, no address, one drawing a zone in two widths."""
    page = (record / "plan.html").read_text()
    assert not re.search(r"<script|(?:src|href)=[\"']?(?:https?:|//)", page)
    assert page.count('role="img"') == 2 * 3
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def drawn(zone: str) -> tuple[Mapping[str, object], object]:
    """The demo's plan and the axes of a zone."""
    plan = make_plan(specification_from((DEMO / "specification.toml").read_bytes(), file="s")).as_dict()
    return plan, plot_plan(plan, zone)


def test_the_drawing_shows_every_position_to_scale() -> None:
    """Marks stand at the planned coordinates; a metre is as long in both directions; the outline has its area."""
    plan = make_plan(specification_from((DEMO / "specification.toml").read_bytes(), file="s")).as_dict()
    ax = plot_plan(plan, "Deck")
    zones = plan["zones"]
    assert isinstance(zones, list)
    positions = zones[0]["positions"]
    marks = {line.get_gid(): line for line in ax.get_lines()}
    x, y = (np.asarray(values).tolist() for values in marks["pull"].get_data())
    assert list(zip(x, y, strict=True)) == [(p["x_m"], p["y_m"]) for p in positions]
    assert len(np.asarray(marks["retest"].get_xdata())) == 9
    numbers = [text.get_text() for text in ax.texts if text.get_text().isdigit()]
    assert numbers == [str(i) for i in range(1, 10)]
    assert {"24.00 m", "16.00 m"} <= {text.get_text() for text in ax.texts}
    ax.figure.canvas.draw()
    a, b, c = (ax.transData.transform(point) for point in ((0, 0), (1, 0), (0, 1)))
    assert b[0] - a[0] == pytest.approx(c[1] - a[1], rel=1e-6)
    outline = next(patch for patch in ax.patches if patch.get_gid() == "outline")
    assert isinstance(outline, Polygon)
    assert area(np.asarray(outline.get_xy())[:-1]) == 324.0


def test_a_drawing_has_the_same_bytes_each_time() -> None:
    """No date, no random id."""
    plan = facts(GOOD)
    assert plan_svg(plan, "Deck") == plan_svg(plan, "Deck")
    with pytest.raises(KeyError):
        plot_plan(plan, "Nowhere")


def test_a_changed_plan_is_noticed(tmp_path: Path, record: Path) -> None:
    """The notebook's comparison names what differs."""
    plan = json.loads((record / "plan.json").read_text())
    assert "agree with plan.json" in compare_with_plan(plan, record / "plan.json")
    plan["zones"][1]["positions"][0]["x_m"] += 0.01
    with pytest.raises(RecordDiffers, match=r"zones\[1\]\.positions\[0\]\.x_m"):
        compare_with_plan(plan, record / "plan.json")


def test_the_demo_plan_is_what_its_readme_says(record: Path) -> None:
    """Numbers of pulls worked out by hand, printed in the README and by the command."""
    plan = json.loads((record / "plan.json").read_text())
    numbers = {
        zone["zone"]: (zone["area_m2"], [a["pulls"] for a in zone["asked"]], zone["pulls"]) for zone in plan["zones"]
    }
    assert numbers == {"Deck": (324.0, [5, 9, 8, 5], 9), "Ramp": (52.5, [5, 6, 5], 6), "Landing": (12.0, [5, 3, 5], 5)}
    readme = (DEMO / "README.md").read_text()
    for zone, (square_metres, _, pulls) in numbers.items():
        assert re.search(rf"\| {zone} \| {square_metres:g} m² \|.*\| \*\*{pulls}\*\* \|", readme), zone
    for zone in plan["zones"]:
        good, bad = (f"{100 * zone['risk'][key]:.1f} %" for key in ("good", "bad"))
        assert re.search(rf"\| {zone['zone']} \| {zone['pulls']} \| {good} \| {bad} \|", readme), (good, bad)
    assert plan_text(plan).startswith("20 pulls in 3 zones.")
