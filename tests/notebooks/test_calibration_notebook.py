"""The notebook of the calibration study: its file, what it shows, and its figures by their data."""

from __future__ import annotations

import ast
import base64
import io
import json
import re
from pathlib import Path

import nbformat
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from adhesion_stats.errors import WrongUsage
from adhesion_stats.locate import packaged
from adhesion_stats.reporting.calibration import (
    Rate,
    coverage_summary,
    decisive,
    false_alarm_summary,
    long_alarms,
    read_coverage,
    read_false_alarms,
    short_bounds,
)
from adhesion_stats.reporting.calibration_cells import NOMINAL, TESTS
from adhesion_stats.reporting.calibration_tables import every_bound, every_level
from adhesion_stats.reporting.figures import calibration as figures
from adhesion_stats.reporting.kernel import in_own_thread
from adhesion_stats.reporting.notebook import execute_notebook, parameter_names

FILE = Path(__file__).parents[2] / "notebooks" / "calibration.ipynb"
STUDIES = packaged("data", "studies")
ALARMS = read_false_alarms(STUDIES / "false_alarms.csv")
BOUNDS = read_coverage(STUDIES / "coverage.csv")


# -- the file


def test_the_file_is_a_valid_thin_notebook() -> None:
    """No outputs, ids by hand and in order, parameters first, no loop, condition, function or arithmetic."""
    notebook = json.loads(FILE.read_text(encoding="utf-8"))
    nbformat.validate(notebook)
    allowed = (
        ast.Module, ast.ImportFrom, ast.alias, ast.Assign, ast.Expr, ast.Call, ast.Name, ast.Load, ast.Store,
        ast.Constant,
    )  # fmt: skip
    for number, cell in enumerate(notebook["cells"], start=1):
        assert re.fullmatch(rf"c{number:02d}-[a-z-]+", cell["id"])
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []
            assert cell["execution_count"] is None
            for node in ast.walk(ast.parse("".join(cell["source"]))):
                assert isinstance(node, allowed), (cell["id"], type(node).__name__)
    assert parameter_names(nbformat.read(FILE, as_version=4)) == ("false_alarms", "coverage")


def test_the_defaults_are_files_that_exist_beside_the_notebooks() -> None:
    """Somebody who opens the notebook in a clone and runs it sees the committed study."""
    source = "".join(json.loads(FILE.read_text(encoding="utf-8"))["cells"][1]["source"])
    names = re.findall(r'"(.+?)"', source)
    assert len(names) == 2
    assert all((FILE.parent / name).is_file() for name in names)


# -- executed


@pytest.fixture(scope="module")
def executed() -> bytes:
    """The notebook executed by the project's own way, on the committed tables."""
    return execute_notebook(
        nbformat.read(FILE, as_version=4),
        parameters={"false_alarms": "false_alarms.csv", "coverage": "coverage.csv"},
        files=[STUDIES / "false_alarms.csv", STUDIES / "coverage.csv"],
    )


def _outputs(content: bytes) -> list[dict[str, object]]:
    return [output for cell in json.loads(content)["cells"] for output in cell.get("outputs", [])]


@pytest.mark.slow
def test_it_runs_and_shows_five_figures_with_words(executed: bytes) -> None:
    """Pictures with alt text, tables of shortfalls in HTML and text, nothing on the error stream."""
    nbformat.validate(json.loads(executed))
    outputs = _outputs(executed)
    pictures = [output for output in outputs if "image/png" in output.get("data", {})]  # type: ignore[operator]
    assert len(pictures) == 5
    for picture in pictures:
        assert len(picture["metadata"]["image/png"]["alt"]) > 60  # type: ignore[index]
    assert [output for output in outputs if output.get("name") == "stderr"] == []
    text = "".join(output.get("data", {}).get("text/plain", "") for output in outputs)  # type: ignore[attr-defined]
    assert "Tests that flag more than they say" in text
    assert "Bounds that cover less than they claim" in text
    assert ", 0 lie beyond 3 standard errors of the claim" in text
    assert "Every test at 5 %" in text
    assert "Every bound (bounded pulls: 20 %)" in text


@pytest.mark.slow
def test_it_runs_where_it_lies_in_a_plain_notebook_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """Opened beside its folder and run as it is, by another program than ours."""
    from nbclient import NotebookClient

    monkeypatch.setenv("PYTHONPATH", str(FILE.parents[1]))
    monkeypatch.setenv("PYTHONWARNINGS", "ignore")
    notebook = nbformat.read(FILE, as_version=4)
    resources = {"metadata": {"path": str(FILE.parent)}}
    in_own_thread(lambda: NotebookClient(notebook, kernel_name="python3", resources=resources, timeout=300).execute())
    assert [cell for cell in notebook.cells if cell.cell_type == "code" and cell.execution_count is None] == []


# -- figures, by their data


def _lines(figure: Figure) -> dict[str, tuple[list[float], list[float]]]:
    """Lines of data by name: x and y."""
    found = {}
    for ax in figure.axes:
        for line in ax.get_lines():
            if "|" in str(line.get_gid()):
                xs, ys = line.get_data()
                found[str(line.get_gid())] = (np.asarray(xs).tolist(), np.asarray(ys).tolist())
    return found


def test_false_alarms_are_drawn_as_found() -> None:
    """One line a test and side, every n, in percent; as many as the table has."""
    lines = _lines(figures.plot_false_alarms(ALARMS, nominal=NOMINAL))
    rows = [row for row in decisive(ALARMS) if row.population == "normal" and row.claim == NOMINAL]
    assert {name.split("|")[0] for name in lines} == {row.subject for row in rows}
    xs, ys = lines["Grubbs, low side|normal|none"]
    expected = sorted((row.n, 100 * row.found) for row in rows if row.subject == "Grubbs, low side")
    assert xs == [n for n, _ in expected]
    assert ys == pytest.approx([rate for _, rate in expected])


def test_every_population_is_drawn_elsewhere() -> None:
    """Six populations for a test that takes all; the claim with its band in each plot."""
    figure = figures.plot_levels_elsewhere(ALARMS, nominal=NOMINAL, tests=TESTS)
    lines = _lines(figure)
    assert len([name for name in lines if name.startswith("Grubbs, low side|")]) == 6
    assert all(any(line.get_gid() == "claim" for line in ax.get_lines()) for ax in figure.axes)
    assert all(any(patch.get_gid() == "band" for patch in ax.collections) for ax in figure.axes)


def test_the_wall_of_coverage_has_both_treatments_in_each_plot() -> None:
    """Nine bounds by five populations, none without its two lines."""
    lines = _lines(figures.plot_coverage(BOUNDS))
    assert len(lines) == 2 * len(figures.BOUNDS) * len(figures.POPULATIONS)


def test_exact_bounds_lie_inside_their_band() -> None:
    """What is drawn is coverage less claim in points, within three standard errors."""
    lines = _lines(figures.plot_exact_bounds(BOUNDS))
    assert len(lines) >= 30
    errors = {(row.subject, row.population, row.n): 300 * row.error for row in BOUNDS if row.kind == "exact"}
    for name, (xs, ys) in lines.items():
        subject, population, _ = name.split("|")
        for x, y in zip(xs, ys, strict=True):
            assert abs(y) <= errors[subject, population, int(x)]


def test_fits_are_drawn_beside_plain_standard_errors() -> None:
    """Calibrated and plain limits in each of five pairs of population and family."""
    lines = _lines(figures.plot_fits(BOUNDS))
    assert len([name for name in lines if "by standard error" in name]) >= 4
    assert len([name for name in lines if name.endswith("|20 %") and "by standard error" not in name]) >= 4


def test_lines_hold_in_grey_and_nothing_is_red_beside_green() -> None:
    """Lines of one plot differ by stroke or marker, not by colour alone; no colour is a strong red or green."""
    for styles in (figures._OF_SIDE, figures._OF_POPULATION, figures._OF_BOUNDED):
        shapes = {(style.stroke, style.marker, style.filled) for style in styles.values()}
        assert len(shapes) == len(styles)
        for style in styles.values():
            red, green, blue = to_rgb(style.colour)
            assert not (green > red + 0.15 and green > blue + 0.15)
            assert not (red > 0.75 and green < 0.25)


def test_the_picture_is_the_same_each_time() -> None:
    """Same bytes twice, and not an empty page: a few thousand dark dots."""
    contents = []
    for _ in range(2):
        written = io.BytesIO()
        figures.plot_fits(BOUNDS).savefig(written, format="png", dpi=60, metadata={"Software": None})
        contents.append(base64.b64encode(written.getvalue()))
    assert contents[0] == contents[1]


# -- words


def _row(found: float, *, n: int = 5, kind: str = "approximate", population: str = "normal") -> Rate:
    return Rate("a bound", population, "none", n, 0.75, kind, found, 100_000)


def test_shortfalls_are_said_in_words() -> None:
    """The worst n first; whether it is short at every n; what is not short by two points is not listed."""
    rows = [_row(0.55), _row(0.60, n=6), _row(0.74, population="lognormal"), _row(0.5, kind="drawn again", n=9)]
    table = short_bounds(rows).blocks[0]
    text = str([cell for group in table.groups for row in group.rows for cell in map(str, row.cells)])  # type: ignore[union-attr]
    assert "covers 55 % at n = 5 where it claims 75 %; short at every n; best at n = 6: 60 %" in text
    assert "74" not in text


def _cells(table: object) -> dict[tuple[str, str], str]:
    """Text of each cell by row and column."""
    columns = [column.title for column in table.columns]  # type: ignore[attr-defined]
    found = {}
    for row in table.groups[0].rows:  # type: ignore[attr-defined]
        texts = [str(cell) for cell in row.cells]
        found.update({(texts[0], column): text for column, text in zip(columns[1:], texts[1:], strict=True)})
    return found


def test_every_test_and_bound_is_listed_with_its_largest_miss() -> None:
    """No approximate row of either study is left out; the number is the worst of its n, recomputed here."""
    shown = _cells(every_level(ALARMS, nominal=NOMINAL).blocks[0])
    wanted: dict[tuple[str, str], list[Rate]] = {}
    for row in decisive(ALARMS):
        if row.claim == NOMINAL:
            wanted.setdefault((row.subject, row.population), []).append(row)
    assert {cell for cell, text in shown.items() if text != "–"} == set(wanted)
    for cell, rows in wanted.items():
        _compare(shown[cell], rows, [row.found - row.claim for row in rows])
    treatments = list(dict.fromkeys(row.bounded for row in decisive(BOUNDS)))
    tables = every_bound(BOUNDS).blocks
    assert len(tables) == len(treatments) >= 4
    for bounded, table in zip(treatments, tables, strict=True):
        shown, wanted = _cells(table), {}
        for row in decisive(BOUNDS):
            if row.bounded == bounded:
                wanted.setdefault((row.subject, row.population), []).append(row)
        assert {cell for cell, text in shown.items() if text != "–"} == set(wanted)
        for cell, rows in wanted.items():
            _compare(shown[cell], rows, [row.claim - row.found for row in rows])


def _compare(text: str, rows: list[Rate], misses: list[float]) -> None:
    worst = int(np.argmax(misses))
    if text == "holds":
        assert all(row.kind in {"exact", "simulated"} and abs(row.away) <= 3.0 for row in rows)
    elif text == "none":
        assert all(miss <= 3.0 * row.error for row, miss in zip(rows, misses, strict=True))
    else:
        points, _, n = text.partition(" at n = ")
        assert int(n) in {row.n for row, miss in zip(rows, misses, strict=True) if miss >= misses[worst] - 1e-12}
        assert float(points) == pytest.approx(100.0 * misses[worst], rel=0.06)


def test_exact_claims_hold_in_the_tables() -> None:
    """Every test that is exact or simulated to be says "holds" in normal samples, every exact bound in its own."""
    shown = _cells(every_level(ALARMS, nominal=NOMINAL).blocks[0])
    exact = {row.subject for row in ALARMS if row.population == "normal" and row.kind in {"exact", "simulated"}}
    assert len(exact) > 15
    assert {shown[test, "normal"] for test in exact} == {"holds"}
    shown = _cells(every_bound(BOUNDS).blocks[0])
    own = {(row.subject, row.population) for row in BOUNDS if row.kind == "exact" and row.bounded == "none"}
    assert len(own) > 25
    assert {shown[cell] for cell in own if cell[1] == "normal"} == {"holds"}


def test_long_alarms_leave_weak_patches_out() -> None:
    """Where a flag is wanted, flags are no false alarms."""
    rows = [
        Rate("a test", "normal", "none", 5, 0.05, "approximate", 0.10, 100_000),
        Rate("a test", "15 % weak patches", "none", 5, 0.05, "approximate", 0.40, 100_000),
    ]
    table = long_alarms(rows, nominal=0.05).blocks[0]
    text = str([str(cell) for group in table.groups for row in group.rows for cell in row.cells])  # type: ignore[union-attr]
    assert "flags 10 % at n = 5 where it says 5 %" in text
    assert "40 %" not in text


def test_what_is_beyond_three_standard_errors_is_counted() -> None:
    """An exact row that misses its claim is not passed over in the summary."""
    exact = [_row(0.75, kind="exact"), _row(0.70, kind="exact", n=6), _row(0.76, kind="at least", n=7)]
    assert "Of 2 bounds" in str(coverage_summary(exact).blocks[0])
    assert ", 1 lie beyond 3 standard errors" in str(coverage_summary(exact).blocks[0])
    assert ", 0 lie beyond" in str(false_alarm_summary(ALARMS).blocks[0])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (None, "no file"),
        ("a,b\n1,2\n", "lacks these columns of a study: bound, population"),
        ("bound,population,bounded,n,claim,kind,replicates,coverage\n", "has no rows"),
        ("bound,population,bounded,n,claim,kind,replicates,coverage\nb,p,none,x,0.5,exact,5,0.5\n", "Line 2 of"),
    ],
)
def test_what_is_no_study_is_refused(tmp_path: Path, text: str | None, message: str) -> None:
    """Missing file, columns, rows, or a number that is none: said with the place."""
    file = tmp_path / "coverage.csv"
    if text is not None:
        file.write_text(text, encoding="utf-8")
    with pytest.raises(WrongUsage, match=message):
        read_coverage(file)
