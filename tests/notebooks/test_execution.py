"""How a notebook is executed: checked parameters, a private kernel, the same bytes, failures in words."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from nbformat import NotebookNode

from adhesion_stats.errors import NotebookFailed, WrongUsage
from adhesion_stats.reporting import kernel as kernels
from adhesion_stats.reporting import notebook as runner
from adhesion_stats.reporting.kernel import Transport
from adhesion_stats.reporting.notebook import check_parameters, execute_notebook, parameter_names
from tests.notebooks.standin import standin

ROOT = Path(__file__).parents[2]


def _texts(content: bytes, cell: str = "c02-cell") -> str:
    """Everything that a cell of an executed notebook printed."""
    (found,) = (c for c in json.loads(content)["cells"] if c["id"] == cell)
    return "".join(o.get("text", "") + o.get("data", {}).get("text/plain", "") for o in found["outputs"])


def _run(*sources: str, parameters: dict[str, str] | None = None, files: list[Path] | None = None) -> bytes:
    return execute_notebook(standin(*sources), parameters=parameters or {"readings": "x"}, files=files or [])


# -- parameters


def test_parameters_reach_the_notebook_as_the_very_text() -> None:
    """Braces, quotes, backslashes, line breaks, letters of any language: no text is code or a format."""
    text = "a{b} \"c\" 'd' \\n \n ü 文 $(x) {{}} #"
    found = _run("print(ascii(readings))", parameters={"readings": text})
    assert _texts(found).strip() == ascii(text)


@pytest.mark.parametrize(
    ("parameters", "words"),
    [
        ({"reading": "x"}, "'reading' is not known to the notebook.*Known are: readings, limit"),
        ({"x; import os #": "x"}, "is not a plain name"),
        ({"class": "x"}, "'class' is not a plain name"),
        ({"readings": 3}, "'readings' must be text, not 3"),
        ({"readings": Path("x")}, "'readings' must be text"),
        ({"readings": None}, "'readings' must be text"),
        ({"a": "x", "b": "x"}, "'a' is not known to the notebook; 'b' is not known"),
    ],
)
def test_wrong_parameters_are_refused_before_papermill_sees_them(parameters: dict[str, str], words: str) -> None:
    """Misspelt names, names that are code, values that are not text: refused, all at once."""
    with pytest.raises(WrongUsage, match=words):
        check_parameters(parameters, ("readings", "limit"))


def test_executing_checks_the_parameters() -> None:
    """The check stands before the execution, not only beside it."""
    with pytest.raises(WrongUsage, match="is not known"):
        _run("1", parameters={"reading": "x"})


@pytest.mark.parametrize("line", ['a = "x" + "y"', "a = 3", 'a: str = "x"', 'a = "x=y"', "", "import os", 'a = "\\n"'])
def test_a_parameter_cell_holds_plain_lines_only(line: str) -> None:
    """What papermill's inspection would overlook is refused in the notebook itself."""
    with pytest.raises(NotebookFailed, match="every line is to be"):
        parameter_names(standin(parameters=f'readings = ""\n{line}\nlimit = ""'))


def test_a_notebook_without_parameter_cell_is_refused() -> None:
    """Papermill would put the parameters at the top, where later cells could overwrite them."""
    notebook = standin()
    notebook.cells[1].metadata.tags = []
    with pytest.raises(NotebookFailed, match="one cell tagged 'parameters'; this one has 0"):
        parameter_names(notebook)


# -- the same bytes


NOISY = """
import os, sys, time, warnings
print(object(), os.getcwd(), os.getpid() * 0)
print("first"); sys.stdout.flush(); time.sleep(0.05); print("second")
warnings.warn("from this cell", UserWarning)
{w: hash(w) for w in ("a", "b")}, list({"a", "b", "c", "d"}), object()
"""


def test_two_runs_give_the_same_bytes() -> None:
    """Addresses, folders, timings, ids and the cutting of streams do not reach the bytes."""
    first, second = _run(NOISY), _run(NOISY)
    assert first == second
    text = first.decode()
    assert "first\\nsecond" in text
    assert "UserWarning: from this cell" in text
    assert tempfile.gettempdir() not in text
    assert str(ROOT) not in text


def test_surroundings_do_not_reach_the_bytes(tmp_path: Path) -> None:
    """Another hash seed, locale, time zone, terminal, folder, home with start-up files and kernels: same bytes."""
    home = tmp_path / "home"
    startup = home / ".ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "00-mine.py").write_text(
        "print('START-UP RAN'); readings = 'theirs'; import builtins; builtins.len = None"
    )
    (home / ".ipython" / "profile_default" / "ipython_config.py").write_text("raise SystemExit('CONFIG RAN')")
    spec = home / ".local" / "share" / "jupyter" / "kernels" / "python3"
    spec.mkdir(parents=True)
    (spec / "kernel.json").write_text('{"argv": ["false"], "display_name": "x", "language": "python"}')
    (home / ".config" / "matplotlib").mkdir(parents=True)
    (home / ".config" / "matplotlib" / "matplotlibrc").write_text("figure.figsize: 1, 1\n")
    cell = (
        "import time, matplotlib\nprint(readings, time.tzname, matplotlib.rcParams['figure.figsize'], len({'a', 'b'}))"
    )
    program = (
        "import sys; from tests.notebooks.standin import standin\n"
        "from adhesion_stats.reporting.notebook import execute_notebook\n"
        f"cells = ({NOISY!r}, {cell!r})\n"
        "sys.stdout.buffer.write(execute_notebook(standin(*cells), parameters={'readings': 'x'}, files=[]))"
    )
    bare = {name: text for name, text in os.environ.items() if not name.startswith(("IPYTHON", "JUPYTER", "MPL"))}
    plain = bare | {"PYTHONPATH": str(ROOT)}
    changed = plain | {
        "HOME": str(home), "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "LC_ALL": "C.UTF-8", "COLUMNS": "40",
        "JUPYTER_PATH": str(home / ".local" / "share" / "jupyter"), "IPYTHONDIR": str(home / ".ipython"),
        "MPLCONFIGDIR": str(home / ".config" / "matplotlib"), "PYTHONWARNINGS": "ignore", "PYTHONSTARTUP": "/nowhere",
    }  # fmt: skip
    found = []
    for environment, folder in ((plain, ROOT), (changed, tmp_path)):
        run = subprocess.run(
            [sys.executable, "-c", program], env=environment, cwd=folder, capture_output=True, check=True
        )
        assert run.stderr == b""  # no progress bar, no warning about transports, no log
        found.append(run.stdout)
    assert found[0] == found[1]
    assert b"START-UP" not in found[1]


@pytest.mark.parametrize("transport", ["ipc", "tcp"])
def test_both_transports_give_the_same_bytes(transport: Transport) -> None:
    """TCP, which systems without socket files need, leads to the same notebook."""
    if transport == "ipc" and os.name != "posix":
        pytest.skip("no socket files for zmq on this system")
    found = execute_notebook(standin("print(readings)"), parameters={"readings": "x"}, files=[], transport=transport)
    assert found == _run("print(readings)")


def test_the_injected_cell_is_ours() -> None:
    """Constant id and text, whatever formatter is installed."""
    cells = json.loads(_run("1"))["cells"]
    assert [c["id"] for c in cells] == ["c00-words", "c01-parameters", "c00-injected-parameters", "c02-cell"]
    assert cells[2]["source"] == '# Set by the command that made this report:\nreadings = "x"'
    assert "papermill" not in json.dumps(cells)


# -- a private place


def test_files_are_copies_in_a_private_folder(tmp_path: Path) -> None:
    """The kernel runs beside copies; what it writes and changes there touches nothing else."""
    source = tmp_path / "pulls {1} ü.csv"
    source.write_text("zone\n")
    cell = "from pathlib import Path\np = Path(readings)\nprint(p.read_text())\np.write_text('changed')"
    found = _run(cell, parameters={"readings": source.name}, files=[source])
    assert "zone" in _texts(found)
    assert source.read_text() == "zone\n"
    assert [p.name for p in tmp_path.iterdir()] == [source.name]


def test_a_file_named_like_a_library_is_not_imported(tmp_path: Path) -> None:
    """Readings named cycler.py are data, not a module."""
    (tmp_path / "cycler.py").write_text("raise SystemExit('a data file was executed')")
    found = _run("import cycler; print(hasattr(cycler, 'Cycler'))", files=[tmp_path / "cycler.py"])
    assert _texts(found).strip() == "True"


def test_nothing_is_left_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The private folder goes, after success and after failure; the process keeps its working folder."""
    short = Path(tempfile.mkdtemp(prefix="t", dir=tempfile.gettempdir()))
    monkeypatch.setattr(tempfile, "tempdir", str(short))
    before = Path.cwd()
    _run("1")
    with pytest.raises(NotebookFailed):
        _run("1/0")
    assert list(short.iterdir()) == []
    assert Path.cwd() == before
    short.rmdir()


@pytest.mark.skipif(os.name != "posix", reason="socket files")
def test_a_long_temporary_folder_is_no_obstacle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths of socket files are limited to about a hundred bytes; a shorter place is taken."""
    deep = tmp_path / ("d" * 100)
    deep.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(deep))
    assert _texts(_run("print(readings)")).strip() == "x"


def test_the_environment_of_the_kernel_is_a_short_list(tmp_path: Path) -> None:
    """Only what finds programs and libraries is passed on; settings folders are private."""
    found = kernels.kernel_environment(
        tmp_path, {"PATH": "/bin", "SECRET": "x", "IPYTHONDIR": "/home/i", "NPY_DISABLE_CPU_FEATURES": "AVX2"}
    )
    assert found["PATH"] == "/bin"
    assert found["NPY_DISABLE_CPU_FEATURES"] == "AVX2"
    assert found["IPYTHONDIR"] == str(tmp_path / "ipythondir")
    assert found["TZ"] == "UTC"  # whatever time zone the system has
    assert "SECRET" not in found


def test_the_list_of_fonts_is_all_that_comes_from_the_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The list saves a search of the system; settings beside it stay where they are."""
    mine, private = tmp_path / "mine", tmp_path / "private"
    mine.mkdir()
    private.mkdir()
    (mine / "fontlist-v1.json").write_text("{}")
    (mine / "matplotlibrc").write_text("figure.figsize: 1, 1")
    monkeypatch.setenv("MPLCONFIGDIR", str(mine))
    monkeypatch.setenv("HOME", str(tmp_path))
    kernels._warm_font_list(private)
    assert [path.name for path in private.iterdir()] == ["fontlist-v1.json"]


# -- threads


def test_it_runs_in_threads_beside_other_work() -> None:
    """Two notebooks at once in threads, no signal handler touched."""
    import signal

    before = signal.getsignal(signal.SIGTERM)
    with ThreadPoolExecutor(max_workers=2) as pool:
        runs = [pool.submit(_run, "print(readings)", parameters={"readings": str(i)}) for i in range(2)]
        found = [_texts(run.result(timeout=120)).strip() for run in runs]
    assert found == ["0", "1"]
    assert signal.getsignal(signal.SIGTERM) is before
    assert not [t for t in threading.enumerate() if t is not threading.main_thread() and not t.daemon]


# -- failures


def test_a_failing_cell_is_named_with_its_traceback() -> None:
    """The id of the cell, the error and the line stand in the text, without terminal codes."""
    with pytest.raises(NotebookFailed) as caught:
        _run("a = 1", "b = 0\na / b", "print('not reached')")
    text = str(caught.value)
    assert text.startswith("Cell c03-cell of the notebook failed: ZeroDivisionError: division by zero")
    assert "a / b" in text
    assert "\x1b" not in text
    assert re.search(r"\[\d+(;\d+)*m", text) is None


def test_an_exit_is_a_failure_too() -> None:
    """Papermill lets a plain sys.exit() pass; half a notebook is not a notebook."""
    with pytest.raises(NotebookFailed, match=r"Cell c02-cell .*SystemExit"):
        _run("import sys; sys.exit()", "print('not reached')")


def test_a_killed_kernel_is_said() -> None:
    """A kernel that dies in a cell is not waited for, and not tried again."""
    with pytest.raises(NotebookFailed, match="ended or did not start"):
        _run("import os; os._exit(3)")


def test_a_hanging_cell_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cell has a time limit."""
    monkeypatch.setattr(runner, "CELL_TIMEOUT_S", 1)
    with pytest.raises(NotebookFailed, match="took longer than 1 s"):
        _run("import time; time.sleep(60)")


def test_a_kernel_that_does_not_start_is_tried_twice_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """One more try, then an error with what the process printed."""
    tries = []
    genuine = runner._Run._attempt

    def counted(run: runner._Run, notebook: NotebookNode) -> bytes:
        tries.append(1)
        return genuine(run, notebook)

    monkeypatch.setattr(runner._Run, "_attempt", counted)
    monkeypatch.setattr(kernels, "COMMAND", ("-c", "import sys; sys.exit('no such port')"))
    with pytest.raises(NotebookFailed, match=r"did not start[\s\S]*no such port"):
        _run("1")
    assert len(tries) == 2
