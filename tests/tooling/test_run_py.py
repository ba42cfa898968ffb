"""run.py: readable by old Pythons, careful with folders, honest about what is set up."""

from __future__ import annotations

import ast
import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCE = (ROOT / "run.py").read_text(encoding="utf-8")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """run.py as a module, working in an empty folder with locks of its own."""
    (tmp_path / "run.py").write_text(SOURCE, encoding="utf-8")
    for name in ("requirements.txt", "requirements-test.txt", "pyproject.toml"):
        (tmp_path / name).write_text(name, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("run_py", tmp_path / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    spec.loader.exec_module(module)
    return module


# ------------------------------------------------------------------------------------------------- old Pythons


def newer_syntax(source: str) -> list[str]:
    """Syntax that a Python older than 3.6 cannot read."""
    newer = (
        ast.JoinedStr,
        ast.AnnAssign,
        ast.NamedExpr,
        ast.Nonlocal,
        ast.AsyncFunctionDef,
        ast.Await,
        ast.Match,
        ast.TryStar,
        ast.MatMult,
        ast.YieldFrom,
    )
    found = []
    for node in ast.walk(ast.parse(source)):
        new = isinstance(node, newer)
        new = new or (isinstance(node, ast.arg) and node.annotation is not None)
        new = new or (isinstance(node, ast.FunctionDef) and (node.returns is not None or bool(node.args.kwonlyargs)))
        new = new or (isinstance(node, ast.FunctionDef) and bool(node.args.posonlyargs))
        new = new or (isinstance(node, ast.Raise) and node.cause is not None)
        new = new or (
            isinstance(node, ast.List | ast.Tuple | ast.Set) and any(isinstance(e, ast.Starred) for e in node.elts)
        )
        new = new or (isinstance(node, ast.Dict) and None in node.keys)
        if new:
            found.append(type(node).__name__)
    return found


def test_old_pythons_can_read_it() -> None:
    """An old Python must get as far as the sentence that it is too old."""
    assert newer_syntax(SOURCE) == []


@pytest.mark.parametrize("line", ["x = f'{1}'", "x: int = 1", "def f(a: int): pass", "[*a, 1]", "def f(*, a): pass"])
def test_newer_syntax_is_seen(line: str) -> None:
    """The check above sees the syntax that slips in most easily."""
    assert newer_syntax(line)


def test_old_python_gets_a_sentence(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """A Python that is too old is named together with the one needed."""
    monkeypatch.setattr(run, "OLDEST", (99, 0))
    with pytest.raises(run.CannotRun, match=r"needs Python 99\.0 or newer; this is Python 3\."):
        run.main(["demo"])


def test_oldest_python_is_the_project_s() -> None:
    """run.py and pyproject.toml agree on the oldest Python."""
    assert "OLDEST = (3, 11)" in SOURCE
    assert 'requires-python = ">=3.11"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_unknown_command_names_the_known_ones() -> None:
    """A typing mistake ends with exit code 2 and the list of commands, before anything is set up."""
    done = subprocess.run([sys.executable, ROOT / "run.py", "tset"], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "demo, lint, pytest, tests" in done.stderr
    assert "tset" in done.stderr


# ----------------------------------------------------------------------------------------------------- set-up


@pytest.fixture
def steps(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Replace what needs minutes and an index by a list of what was asked for."""
    done: list[str] = []

    def make_venv() -> None:
        done.append("venv")
        python = Path(run.script("python"))
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()
        Path(run.STAMP).unlink(missing_ok=True)

    def install(_: list[str], words: list[str]) -> None:
        done.append("project" if "-e" in words else Path(words[-1]).name)

    monkeypatch.setattr(run, "make_venv", make_venv)
    monkeypatch.setattr(run, "find_pip", lambda: ["pip"])
    monkeypatch.setattr(run, "install", install)
    return done


def test_set_up_happens_once(run: ModuleType, steps: list[str]) -> None:
    """The second run finds everything in place."""
    run.set_up("run")
    run.set_up("run")
    assert steps == ["venv", "requirements.txt", "project"]


def test_tests_are_added_to_a_run_environment(run: ModuleType, steps: list[str]) -> None:
    """After a demo the tests need only their own packages; after the tests the demo needs nothing."""
    run.set_up("run")
    run.set_up("tests")
    run.set_up("run")
    assert steps == ["venv", "requirements.txt", "project", "requirements-test.txt", "project"]


@pytest.mark.parametrize("name", ["requirements.txt", "pyproject.toml"])
def test_changed_lock_starts_from_nothing(run: ModuleType, steps: list[str], name: str) -> None:
    """Another lock or another project file makes the environment anew."""
    run.set_up("tests")
    (Path(run.ROOT) / name).write_text("changed", encoding="utf-8")
    run.set_up("tests")
    assert steps.count("venv") == 2


def test_interrupted_set_up_is_done_again(run: ModuleType, steps: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The stamp comes last: a stop in between leaves none."""

    def stop(_: list[str], words: list[str]) -> None:
        if "-e" in words:
            raise KeyboardInterrupt

    with monkeypatch.context() as interrupted:
        interrupted.setattr(run, "install", stop)
        with pytest.raises(KeyboardInterrupt):
            run.set_up("run")
    run.set_up("run")
    assert steps == ["venv", "venv", "requirements.txt", "project"]


def test_interrupted_addition_is_done_again(run: ModuleType, steps: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopping while the tests are added leaves no stamp either, since packages may be half there."""
    run.set_up("run")

    def stop(_: list[str], __: list[str]) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as interrupted:
        interrupted.setattr(run, "install", stop)
        with pytest.raises(KeyboardInterrupt):
            run.set_up("tests")
    assert not Path(run.STAMP).exists()
    run.set_up("tests")
    assert steps[-3:] == ["venv", "requirements-test.txt", "project"]


def test_somebody_else_s_environment_is_left_alone(run: ModuleType) -> None:
    """A .venv that run.py did not make is never removed."""
    theirs = Path(run.VENV) / "theirs.txt"
    theirs.parent.mkdir()
    theirs.touch()
    with pytest.raises(run.CannotRun, match="did not make"):
        run.set_up("run")
    assert theirs.exists()


def test_nothing_from_outside_changes_the_modules(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Variables that would bring other modules, or forbid bytecode, do not reach what is started."""
    for name in ("PYTHONPATH", "PYTHONHOME", "PYTHONDONTWRITEBYTECODE"):
        monkeypatch.setenv(name, "1")
    assert {"PYTHONPATH", "PYTHONHOME", "PYTHONDONTWRITEBYTECODE"}.isdisjoint(run.environment())


def test_without_any_pip_one_sentence_names_the_package(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither ensurepip nor a pip: the sentence says what to install."""
    monkeypatch.setattr(run, "quiet", lambda _: False)
    with pytest.raises(run.CannotRun, match="apt install python3-venv"):
        run.find_pip()


# ------------------------------------------------------------------------------------------- the demo's folder


@pytest.fixture
def demo_folder(run: ModuleType) -> Path:
    """A folder as an earlier demo left it."""
    folder = Path(run.ROOT, run.DEMO_OUTPUT)
    (folder / "inputs").mkdir(parents=True)
    (folder / "assessment.html").write_text("page", encoding="utf-8")
    (folder / "inputs" / "readings.csv").write_text("1", encoding="utf-8")
    run.remember_demo(run.DEMO_OUTPUT)
    return folder


def test_unchanged_demo_folder_is_made_again(run: ModuleType, demo_folder: Path) -> None:
    """What the demo made and nobody touched gives way to the next demo."""
    assert run.demo_folder() == run.DEMO_OUTPUT
    assert not demo_folder.exists()


@pytest.mark.parametrize("change", ["added", "edited", "removed", "folder"])
def test_changed_demo_folder_stays(run: ModuleType, demo_folder: Path, change: str) -> None:
    """A folder in which somebody worked stays; the demo takes the next free name."""
    page = demo_folder / "assessment.html"
    if change == "added":
        (demo_folder / "notes.txt").touch()
    elif change == "edited":
        page.write_text("my page", encoding="utf-8")
    elif change == "removed":
        page.unlink()
    else:
        (demo_folder / "mine").mkdir()
    assert run.demo_folder() == run.DEMO_OUTPUT + "-2"
    assert demo_folder.exists()


def test_folder_without_a_record_stays(run: ModuleType) -> None:
    """A folder of that name that no demo made is somebody's data, even an empty one."""
    folder = Path(run.ROOT) / run.DEMO_OUTPUT
    folder.mkdir(parents=True)
    assert run.demo_folder() == run.DEMO_OUTPUT + "-2"
    assert folder.exists()


@pytest.mark.parametrize(
    ("words", "folder"), [(["--output", "mine"], "mine"), (["--output=mine"], "mine"), ([], None), (["--output"], None)]
)
def test_named_output_is_found(run: ModuleType, words: list[str], folder: str | None) -> None:
    """A folder named on the command line is used as it is."""
    assert run.named_output(words) == folder


def test_record_lists_every_file(run: ModuleType, demo_folder: Path) -> None:
    """The record names each file with its hash."""
    record = json.loads((Path(run.ROOT) / run.DEMO_RECORD).read_text(encoding="utf-8"))
    assert set(record) == {"assessment.html", "inputs", "inputs/readings.csv"}
    assert record["assessment.html"] == run.digest(str(demo_folder / "assessment.html"))
