"""The command starts at once: what is slow to import waits until it is needed."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("IPython", "matplotlib", "openpyxl", "pandas", "papermill", "pint", "scipy.stats")

REPORT = f"; print('HEAVY', sorted(set({HEAVY!r}) & set(sys.modules)))"


def heavy_modules(code: str) -> str:
    """The slow libraries that a new Python has loaded after some code, as it prints them."""
    done = subprocess.run([sys.executable, "-c", code + REPORT], capture_output=True, text=True, check=False)
    assert "HEAVY" in done.stdout, done.stderr
    return done.stdout.rpartition("HEAVY ")[2].strip()


@pytest.mark.parametrize("word", ["--help", "--version"])
def test_help_loads_nothing_heavy(word: str) -> None:
    """Asking how the command works costs no more than Python itself."""
    lines = [
        "import contextlib, sys",
        "from adhesion_stats.cli import main",
        f"with contextlib.suppress(SystemExit): main([{word!r}])",
        "pass",
    ]
    code = "\n".join(lines)
    assert heavy_modules(code) == "[]"


def test_import_of_the_package_loads_nothing_heavy() -> None:
    """Nor does the import of the package, until one of its names is used."""
    assert heavy_modules("import sys, adhesion_stats") == "[]"


def test_heavy_module_is_seen() -> None:
    """The check above sees a slow library."""
    assert heavy_modules("import sys, scipy.stats") == "['scipy.stats']"
