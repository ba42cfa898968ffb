"""The notebook that starts before its files are there: it waits for them, and ends when they never come."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from adhesion_stats.errors import NotebookFailed, WrongUsage
from adhesion_stats.reporting import notebook as runner
from adhesion_stats.reporting.notebook import assessment_notebook_ahead
from tests.notebooks.standin import standin

PARAMETERS = 'readings = ""\nspecification = ""\nlayout = ""\nresults = ""'
NAMES = {"readings": "a.csv", "specification": "b.toml", "results": ""}


@pytest.fixture(autouse=True)
def _notebook(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take a stand-in whose first cell needs no files."""
    notebook = standin(
        "print('ready')", "from pathlib import Path\nprint(Path(readings).read_text())", parameters=PARAMETERS
    )
    notebook.cells[2].metadata["tags"] = ["imports"]
    monkeypatch.setattr(runner, "_assessment_notebook", lambda: notebook)


def _write(folder: Path) -> None:
    (folder / "a.csv").write_text("pulls as written late")
    (folder / "b.toml").write_text("")


def test_the_files_may_come_late(tmp_path: Path) -> None:
    """Files are written while the kernel starts; the cell that reads them sees them."""
    with assessment_notebook_ahead(**NAMES) as go_on:
        time.sleep(1.5)
        _write(tmp_path)
        future = go_on(tmp_path)
        content = future.result(timeout=60)
    assert b"pulls as written late" in content


@pytest.mark.parametrize("after", [0.0, 0.3, 1.5])
def test_an_error_meanwhile_ends_the_kernel(after: float) -> None:
    """The caller's own error goes on, soon, and no thread remains."""

    def fail() -> None:
        time.sleep(after)
        raise ZeroDivisionError

    started = time.monotonic()
    with pytest.raises(ZeroDivisionError), assessment_notebook_ahead(**NAMES):
        fail()
    assert time.monotonic() - started < after + 10
    assert not [t for t in threading.enumerate() if t.name.startswith(("report", "notebook"))]


def test_leaving_without_files_ends_the_kernel() -> None:
    """A block that never says where the files are is left at once."""
    with assessment_notebook_ahead(**NAMES):
        pass
    assert not [t for t in threading.enumerate() if t.name.startswith(("report", "notebook"))]


def test_an_error_while_the_notebook_runs_ends_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C does not wait for a long cell."""
    begun = tmp_path / "begun"
    long = f"import time; open({str(begun)!r}, 'w').close(); time.sleep(300)"
    monkeypatch.setattr(runner, "_assessment_notebook", lambda: standin(long, parameters=PARAMETERS))
    _write(tmp_path)

    def interrupt(go_on: Callable[[Path], object]) -> None:
        go_on(tmp_path)
        while not begun.exists():
            time.sleep(0.05)
        raise KeyboardInterrupt

    started = time.monotonic()
    with pytest.raises(KeyboardInterrupt), assessment_notebook_ahead(**NAMES) as go_on:
        interrupt(go_on)
    assert time.monotonic() - started < 200


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    """The folder that was named lacks a file: the error comes with the result."""
    with pytest.raises(WrongUsage, match=r"needs the file 'a\.csv'"), assessment_notebook_ahead(**NAMES) as go_on:
        go_on(tmp_path).result(timeout=60)


def test_a_failing_cell_is_said(tmp_path: Path) -> None:
    """The failure of the notebook comes with the result."""
    _write(tmp_path)
    (tmp_path / "a.csv").unlink()
    (tmp_path / "a.csv").write_bytes(b"\xff")
    with pytest.raises(NotebookFailed, match="UnicodeDecodeError"), assessment_notebook_ahead(**NAMES) as go_on:
        go_on(tmp_path).result(timeout=60)


def test_names_are_checked_before_anything_starts() -> None:
    """A name with a path is refused at once."""
    with pytest.raises(WrongUsage, match="name of a file"), assessment_notebook_ahead(**(NAMES | {"readings": "../x"})):
        pass
