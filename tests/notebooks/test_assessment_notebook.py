"""The notebook of an assessment: its file, and what it does with the demo contract."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import nbformat
import pytest

from adhesion_stats import assess, read_readings, read_specification
from adhesion_stats.errors import NotebookFailed, WrongUsage
from adhesion_stats.locate import packaged
from adhesion_stats.record import canonical_bytes
from adhesion_stats.reporting.kernel import in_own_thread
from adhesion_stats.reporting.notebook import execute_assessment_notebook, parameter_names

FILE = Path(__file__).parents[2] / "notebooks" / "assessment.ipynb"
CONTRACT = packaged("data", "demo", "repair-contract")


# -- the file


def test_the_file_is_a_valid_notebook_without_outputs() -> None:
    """Nothing executed is committed: no outputs, no counts, no metadata beyond tags."""
    notebook = json.loads(FILE.read_text(encoding="utf-8"))
    nbformat.validate(notebook)
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []
            assert cell["execution_count"] is None
        assert set(cell["metadata"]) <= {"tags"}
    assert notebook["metadata"]["kernelspec"]["name"] == "python3"
    assert set(notebook["metadata"]) == {"kernelspec", "language_info"}


def test_ids_are_written_by_hand_unique_and_in_order() -> None:
    """Ids number the cells from c01 on, with a word each."""
    ids = [cell["id"] for cell in json.loads(FILE.read_text(encoding="utf-8"))["cells"]]
    assert [i[:3] for i in ids] == [f"c{n:02d}" for n in range(1, len(ids) + 1)]
    assert all(re.fullmatch(r"c\d\d-[a-z-]+", i) for i in ids)


def test_the_parameter_cell_is_the_first_code_cell_and_holds_plain_texts() -> None:
    """Four names, each a plain text, tagged for papermill."""
    notebook = nbformat.read(FILE, as_version=4)
    first = next(cell for cell in notebook.cells if cell.cell_type == "code")
    assert first.metadata.tags == ["parameters"]
    assert parameter_names(notebook) == ("readings", "specification", "layout", "results")


def test_the_defaults_are_files_that_exist_beside_the_notebooks() -> None:
    """Somebody who opens the notebook where it lies and runs it sees the demo contract."""
    names = re.findall(
        r'"(.+?)"', next(c for c in json.loads(FILE.read_text())["cells"] if c["id"] == "c02-parameters")["source"][0]
    )
    assert names
    assert all((FILE.parent / name).is_file() for name in names)


def test_the_notebook_holds_no_logic() -> None:
    """Imports, calls and assignments; no loop, no condition, no function, no arithmetic."""
    import ast

    allowed = (
        ast.Module, ast.ImportFrom, ast.alias, ast.Assign, ast.Expr, ast.Call, ast.Name, ast.Load, ast.Store,
        ast.Constant, ast.Attribute,
    )  # fmt: skip
    for cell in json.loads(FILE.read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] == "code":
            for node in ast.walk(ast.parse("".join(cell["source"]))):
                assert isinstance(node, allowed), (cell["id"], type(node).__name__)


# -- executed on the demo contract


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as a report's folder is when the notebook is executed."""
    folder = tmp_path_factory.mktemp("report")
    for name in ("readings.csv", "specification.toml"):
        shutil.copyfile(CONTRACT / name, folder / name)
    terms = read_specification(folder / "specification.toml")
    results = assess(read_readings(folder / "readings.csv", terms), terms).as_dict()
    (folder / "results.json").write_bytes(canonical_bytes(results))
    return folder


def _execute(folder: Path, results: str = "results.json") -> bytes:
    return execute_assessment_notebook(
        folder=folder, readings="readings.csv", specification="specification.toml", results=results
    )


@pytest.fixture(scope="module")
def executed(folder: Path) -> bytes:
    """The executed notebook."""
    return _execute(folder)


def _output(content: bytes, cell: str, kind: str = "text/plain") -> str:
    (found,) = (c for c in json.loads(content)["cells"] if c["id"] == cell)
    return "".join(o.get("text", "") + o.get("data", {}).get(kind, "") for o in found["outputs"])


def test_the_last_cell_compares_and_says_so(executed: bytes, folder: Path) -> None:
    """One sentence, which names how many zones and entries agree."""
    zones = len(json.loads((folder / "results.json").read_bytes())["zones"])
    last = json.loads(executed)["cells"][-1]
    assert last["id"] == "c25-comparison"
    assert re.fullmatch(
        rf"Recomputed from the raw files: the decision for the contract, the decisions for {zones} zones and all \d+ "
        r"entries agree with results\.json to the last bit\.\n",
        _output(executed, last["id"]),
    )


def test_every_zone_is_shown_with_its_decision(executed: bytes, folder: Path) -> None:
    """The table of decisions has a row for each zone, in HTML and in plain text."""
    results = json.loads((folder / "results.json").read_bytes())
    text = _output(executed, "c06-decision")
    for zone in results["zones"]:
        assert f"{zone['zone']} | {zone['outcome']};" in text


def test_every_pull_is_shown(executed: bytes, folder: Path) -> None:
    """The appendix has each pull of the file."""
    text = _output(executed, "c23-appendix")
    for pull in json.loads((folder / "results.json").read_bytes())["pulls"]:
        assert f"\n{pull['name']} | {pull['row']} |" in text


def test_every_figure_has_a_text_for_who_can_not_see_it(executed: bytes) -> None:
    """Pictures come with alt text in their metadata."""
    outputs = [o for cell in json.loads(executed)["cells"] for o in cell.get("outputs", [])]
    pictures = [o for o in outputs if "image/png" in o.get("data", {})]
    assert len(pictures) >= 3
    assert all(len(o["metadata"]["image/png"]["alt"]) > 20 for o in pictures)


def test_nothing_was_printed_to_the_error_stream(executed: bytes) -> None:
    """No warning of a library stands in the report."""
    outputs = [o for cell in json.loads(executed)["cells"] for o in cell.get("outputs", [])]
    assert [o["text"] for o in outputs if o.get("name") == "stderr"] == []


def test_the_executed_notebook_is_valid_and_repeatable(executed: bytes, folder: Path) -> None:
    """A second execution gives the same bytes, which are a valid notebook."""
    nbformat.validate(json.loads(executed))
    assert _execute(folder) == executed


@pytest.mark.parametrize(
    ("path", "entry"),
    [
        (("zones", 0, "outcome"), "undetermined"),
        (("zones", 0, "summary", "mean"), 9.99),
        (("pulls", 3, "status"), "lost"),
    ],
)
def test_altered_results_make_the_last_cell_fail(
    tmp_path: Path, folder: Path, path: tuple[str | int, ...], entry: object
) -> None:
    """A decision, a number or a standing changed in results.json: the notebook refuses and names the place."""
    for file in folder.iterdir():
        shutil.copyfile(file, tmp_path / file.name)
    results = json.loads((folder / "results.json").read_bytes())
    inner = results
    for step in path[:-1]:
        inner = inner[step]
    assert inner[path[-1]] != entry
    inner[path[-1]] = entry
    (tmp_path / "results.json").write_bytes(canonical_bytes(results))
    place = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")
    with pytest.raises(NotebookFailed) as caught:
        _execute(tmp_path)
    text = str(caught.value)
    assert re.match(r"Cell c25-comparison of the notebook failed: RecordDiffers: 1 of \d+ entries are not what", text)
    assert f"\n  {place}: results.json has {entry!r}, recomputed is" in text


def test_without_results_nothing_is_compared(folder: Path) -> None:
    """An empty name means: only show."""
    assert "nothing was compared" in _output(_execute(folder, results=""), "c25-comparison")


@pytest.mark.parametrize("name", ["../readings.csv", "/etc/passwd", "missing.csv", "a\\b", ".."])
def test_only_files_of_the_folder_are_taken(folder: Path, name: str) -> None:
    """A name that leads elsewhere, or to nothing, is refused before a kernel starts."""
    with pytest.raises(WrongUsage, match="The notebook"):
        execute_assessment_notebook(folder=folder, readings=name, specification="specification.toml", results="")


def test_it_runs_where_it_lies_in_a_plain_notebook_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """Opened beside its folder and run as it is, by another program than ours, it shows the demo contract."""
    from nbclient import NotebookClient

    monkeypatch.setenv("PYTHONPATH", str(FILE.parents[1]))
    monkeypatch.setenv("PYTHONWARNINGS", "ignore")
    notebook = nbformat.read(FILE, as_version=4)

    def run() -> None:
        NotebookClient(
            notebook, kernel_name="python3", resources={"metadata": {"path": str(FILE.parent)}}, timeout=300
        ).execute()

    in_own_thread(run)
    assert "nothing was compared" in notebook.cells[-1].outputs[0].text
    assert len([c for c in notebook.cells if c.cell_type == "code" and c.execution_count is None]) == 0


HOSTILE = '<b>&"', "$x$", "</script><script>alert(1)</script>", "=1+1", "{{ zone }}", "\u202eevil"


def test_text_of_files_is_text_in_the_notebook(tmp_path: Path) -> None:
    """Names of zones that are markup or formulas are escaped, and nothing typesets them."""
    rows = [f'"{name.replace(chr(34), chr(34) * 2)}",{strength}' for name in HOSTILE for strength in (2.1, 2.2, 2.3)]
    (tmp_path / "readings.csv").write_text("Zone,Strength MPa\n" + "\n".join(rows) + "\n", encoding="utf-8")
    shutil.copyfile(CONTRACT / "specification.toml", tmp_path / "specification.toml")
    found = json.loads(_execute(tmp_path, results=""))
    html = [
        o["data"]["text/html"] for c in found["cells"] for o in c.get("outputs", []) if "text/html" in o.get("data", {})
    ]
    assert any("&lt;b&gt;&amp;&quot;" in part for part in html)
    for part in html:
        assert part.startswith('<div class="tex2jax_ignore mathjax_ignore">')
        assert "<b>" not in part
        assert "<script" not in part
        assert "\u202e" not in part
    assert any("$x$" in part for part in html)
    stray = [c for c in found["cells"] if c["cell_type"] == "markdown" and any(n in c["source"] for n in HOSTILE)]
    assert stray == []
