"""The audit's notebook: thin, and it says what the command says."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import nbformat

from adhesion_stats.reporting.kernel import in_own_thread
from adhesion_stats.reporting.notebook import execute_notebook, parameter_names

FILE = Path(__file__).parents[2] / "notebooks" / "audit.ipynb"


def test_the_file_is_a_valid_notebook_without_outputs() -> None:
    """Nothing executed is committed, and its parameters are plain texts."""
    notebook = json.loads(FILE.read_text(encoding="utf-8"))
    nbformat.validate(notebook)
    assert all(cell["outputs"] == [] for cell in notebook["cells"] if cell["cell_type"] == "code")
    names = parameter_names(nbformat.reads(json.dumps(notebook), as_version=4))
    assert names == ("folder", "readings", "manifest_sha256", "specification_sha256", "independent")


def test_the_default_folder_is_the_committed_record() -> None:
    """Somebody who opens the notebook where it lies audits the record of the demo."""
    source = next(c for c in json.loads(FILE.read_text())["cells"] if c["id"] == "c02-parameters")["source"]
    folder = source[0].split('"')[1]
    assert (FILE.parent / folder / "manifest.json").is_file()


def test_it_reproduces_a_record(made: Path, tmp_path: Path) -> None:
    """Executed on a record, it answers that this is reproduced; on an altered one, that it is not."""
    record = shutil.copytree(made, tmp_path / "record")
    notebook = nbformat.read(FILE, as_version=4)

    def answer(changed: str) -> str:
        files = sorted(path for path in record.iterdir() if path.name != changed)
        content = in_own_thread(lambda: execute_notebook(notebook, parameters={"folder": "."}, files=files))
        cells = {cell["id"]: cell for cell in json.loads(content)["cells"]}
        return str(cells["c06-answer"]["outputs"][0]["data"]["text/plain"])

    assert answer("").startswith("Reproduced.")
    assert answer("assessment.html").startswith("Damaged or altered.")
