"""The import contracts bite: on a skeleton of the package, each forbidden import is added once and must be found."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

ROOMS = [
    *(
        "twin",
        "cli",
        "audit",
        "reporting",
        "record",
        "assessment",
        "study",
        "planning",
        "entrance",
        "intake",
        "judging",
        "acceptance",
    ),
    *(
        "statistics",
        "terms",
        "pulls",
        "standing",
        "sources",
        "units",
        "quantities",
        "plane",
        "errors",
        "locate",
        "wording",
        "messages",
    ),
]


@pytest.fixture
def skeleton(tmp_path: Path) -> Path:
    """A package with every room of the plan, all empty, under the project's own contracts."""
    package = tmp_path / "adhesion_stats"
    package.mkdir()
    (package / "__init__.py").touch()
    for room in ROOMS:
        (package / room).mkdir()
        (package / room / "__init__.py").touch()
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return package


def lint_imports(package: Path) -> tuple[int, str]:
    """Exit code and output of lint-imports on a package."""
    command = "import sys; sys.path.insert(0, '.'); from importlinter.cli import lint_imports_command as c; c()"
    done = subprocess.run(
        [sys.executable, "-c", command, "--no-logo", "--no-cache"],
        cwd=package.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def test_empty_rooms_keep_every_contract(skeleton: Path) -> None:
    """The skeleton itself is clean, so what the other tests find is what they added."""
    code, text = lint_imports(skeleton)
    assert code == 0, text
    assert "0 broken" in text


def test_rooms_may_be_missing(skeleton: Path) -> None:
    """Rooms that are planned and not yet built break nothing."""
    for room in ("audit", "study", "locate", "units"):
        shutil.rmtree(skeleton / room)
    code, text = lint_imports(skeleton)
    assert code == 0, text


FORBIDDEN = [
    ("reporting", "adhesion_stats.cli", "a floor up"),
    ("record", "adhesion_stats.reporting", "a floor up"),
    ("intake", "adhesion_stats.assessment", "a floor up"),
    ("statistics", "adhesion_stats.judging", "a floor up"),
    ("pulls", "adhesion_stats.statistics", "from the ground floor"),
    ("messages", "adhesion_stats.wording", "codes know no words"),
    ("intake", "adhesion_stats.judging", "sideways"),
    ("acceptance", "adhesion_stats.intake", "sideways"),
    ("assessment", "adhesion_stats.planning", "sideways"),
    ("terms", "adhesion_stats.statistics", "sideways"),
    ("statistics", "adhesion_stats.terms", "sideways"),
    ("statistics", "adhesion_stats.pulls", "domain words in statistics"),
    ("statistics", "pandas", "tables in statistics"),
    ("statistics", "pint", "units in statistics"),
    ("reporting", "adhesion_stats.statistics", "statistics in reporting"),
    ("reporting", "scipy", "statistics in reporting"),
    ("judging", "adhesion_stats.wording", "sentences below reporting"),
    ("twin", "adhesion_stats.messages", "anything shared with the twin"),
    ("twin", "numpy", "more than the standard library and mpmath in the twin"),
    ("audit", "adhesion_stats.twin", "the product leaning on the twin"),
]


@pytest.mark.parametrize(("room", "imported", "why"), FORBIDDEN)
def test_forbidden_import_is_found(skeleton: Path, room: str, imported: str, why: str) -> None:
    """One forbidden import anywhere in a room, inside a function even, breaks a contract and is named."""
    (skeleton / room / "deep.py").write_text(f"def f() -> None:\n    import {imported}\n", encoding="utf-8")
    code, text = lint_imports(skeleton)
    assert code == 1, why
    assert f"adhesion_stats.{room}.deep -> {imported}" in text
    assert "l.2" in text


def test_detour_is_found(skeleton: Path) -> None:
    """A way up through the package itself is a way up."""
    (skeleton / "__init__.py").write_text("from adhesion_stats.cli import main\n", encoding="utf-8")
    (skeleton / "statistics" / "__init__.py").write_text("from adhesion_stats import main\n", encoding="utf-8")
    code, text = lint_imports(skeleton)
    assert code == 1
    assert "adhesion_stats.statistics -> adhesion_stats" in text


def test_circle_on_the_ground_floor_is_found(skeleton: Path) -> None:
    """Modules of the ground floor may use each other, but not in a circle."""
    (skeleton / "pulls" / "__init__.py").write_text("import adhesion_stats.standing\n", encoding="utf-8")
    code, text = lint_imports(skeleton)
    assert code == 0, text
    (skeleton / "standing" / "__init__.py").write_text("import adhesion_stats.pulls\n", encoding="utf-8")
    code, text = lint_imports(skeleton)
    assert code == 1
    assert "No circles" in text


def test_circle_inside_a_room_is_found(skeleton: Path) -> None:
    """A circle between two modules of one room is found too."""
    (skeleton / "statistics" / "a.py").write_text("import adhesion_stats.statistics.b\n", encoding="utf-8")
    (skeleton / "statistics" / "b.py").write_text("import adhesion_stats.statistics.a\n", encoding="utf-8")
    code, text = lint_imports(skeleton)
    assert code == 1
    assert "No circles" in text


def test_module_without_a_room_is_found(skeleton: Path) -> None:
    """A new module that no floor names is refused until somebody says where it belongs."""
    (skeleton / "helpers.py").touch()
    code, text = lint_imports(skeleton)
    assert code == 1
    assert "adhesion_stats.helpers" in text or "helpers" in text.split("not listed as layers")[1]
