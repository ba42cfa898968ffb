"""The wheel holds what a run needs, and the main job works from it in an empty folder."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project built as a wheel, without an index."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Python of an environment that has the wheel and the locked packages, and does not know the clone.

    The packages come from the environment of the tests through a path file. Path files of that environment, the one
    of the clone among them, are not followed from there.
    """
    folder = tmp_path_factory.mktemp("installed") / "venv"
    venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(folder)
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    own = subprocess.check_output(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], text=True
    ).strip()
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(own)
    Path(own, "packages.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return python


def run(python: Path, folder: Path, *words: str | Path) -> subprocess.CompletedProcess[str]:
    """Run a Python in a folder, without the variables that would show it the clone."""
    variables = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    return subprocess.run([python, *words], cwd=folder, env=variables, capture_output=True, text=True, check=False)


def tracked(*folders: str) -> set[str]:
    """Files of some folders as they lie in the clone."""
    found = (path for folder in folders for path in (ROOT / folder).rglob("*") if path.is_file())
    return {path.relative_to(ROOT).as_posix() for path in found if ".ipynb_checkpoints" not in path.parts}


def test_wheel_brings_notebooks_and_demo_data(wheel: Path) -> None:
    """Every file of these folders travels inside the package, byte for byte."""
    wanted = tracked("notebooks", "data/demo", "data/studies")
    assert any(name.endswith(".ipynb") for name in wanted)
    with zipfile.ZipFile(wheel) as archive:
        for name in sorted(wanted):
            assert archive.read(f"adhesion_stats/_packaged/{name}") == (ROOT / name).read_bytes(), name
        page = "docs/findings.md"  # the command "check" points to it
        assert archive.read(f"adhesion_stats/_packaged/{page}") == (ROOT / page).read_bytes()


def test_wheel_holds_the_package_and_nothing_else(wheel: Path) -> None:
    """No tests, reports or caches; the licence and the mark of typed packages are there."""
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    assert {name.split("/")[0] for name in names} == {"adhesion_stats", "adhesion_stats-0.1.0.dist-info"}
    assert not [name for name in names if "__pycache__" in name]
    assert "adhesion_stats/py.typed" in names
    assert "adhesion_stats-0.1.0.dist-info/licenses/LICENSE" in names
    package = {name for name in tracked("adhesion_stats") if "__pycache__" not in name}
    assert package <= set(names)


def test_installed_package_finds_its_own_files(installed: Path, tmp_path: Path) -> None:
    """The installed package looks inside itself, not into the clone it was built from."""
    code = "from adhesion_stats.locate import packaged; print(packaged('data', 'demo'))"
    done = run(installed, tmp_path, "-c", code)
    assert done.returncode == 0, done.stderr
    assert Path(done.stdout.strip()).is_relative_to(installed.parents[1])


@pytest.mark.slow
def test_main_job_works_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    """The demo contract is assessed in an empty folder, by the installed package and its notebook alone."""
    code = "from adhesion_stats.locate import packaged; print(packaged('data', 'demo', 'repair-contract'))"
    demo = Path(run(installed, tmp_path, "-c", code).stdout.strip())
    terms: list[str | Path] = ["--specification", demo / "specification.toml"]
    done = run(
        installed, tmp_path, "-m", "adhesion_stats", "assess", demo / "readings.csv", *terms, "--output", "report"
    )
    assert done.returncode == 0, done.stdout + done.stderr
    made = {path.name for path in (tmp_path / "report").iterdir()}
    assert {"assessment.html", "assessment.ipynb", "results.json", "manifest.json"} <= made
    assert (tmp_path / "report" / "readings.csv").read_bytes() == (demo / "readings.csv").read_bytes()
    assert {path.name for path in tmp_path.iterdir()} == {"report"}
