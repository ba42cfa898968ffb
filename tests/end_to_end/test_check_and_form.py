"""``adhesion-stats check``, ``form`` and ``--help``."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

from tests.end_to_end.helpers import REPAIR, command, environment

PULL = {"row", "sheet", "id", "zone", "strength_mpa", "bound", "status", "reasons", "failure", "date"}
FINDING = {"code", "severity", "sheet", "row", "column", "text"}


def checked(folder: Path, *words: str | Path) -> dict[str, list[dict[str, object]]]:
    """The object that ``check --json`` prints."""
    done = command("check", *words, "--json", folder=folder)
    assert done.returncode == 0, done.stderr
    found: dict[str, list[dict[str, object]]] = json.loads(done.stdout)
    return found


def test_json_has_the_agreed_shape(tmp_path: Path) -> None:
    """One object with pulls and findings; each entry has exactly the agreed keys and words."""
    found = checked(tmp_path, REPAIR / "readings.csv", "--specification", REPAIR / "specification.toml")
    assert set(found) == {"pulls", "findings"}
    assert len(found["pulls"]) == 72
    for entry in found["pulls"]:
        assert set(entry) == PULL
        assert entry["status"] in {"counted", "invalid", "excluded", "replaced", "lost"}
        assert entry["bound"] in {None, "at_least", "at_most"}
    for entry in found["findings"]:
        assert set(entry) == FINDING
        assert entry["severity"] in {"note", "warning", "error"}
        assert entry["text"]


def test_json_gives_values_as_read(tmp_path: Path) -> None:
    """Strength unrounded in MPa, shares in percent, ISO date, row of the file."""
    first = checked(tmp_path, REPAIR / "readings.csv")["pulls"][0]
    expected = {"row": 2, "id": "P01", "zone": "Inlet deck", "strength_mpa": 2.14, "bound": None, "status": "counted"}
    assert {key: first[key] for key in expected} == expected
    assert first["failure"] == {"A": 80, "A/B": 20}
    assert first["date"] == "2025-05-12"
    assert first["reasons"] == []


def test_json_of_a_lost_core(tmp_path: Path) -> None:
    """No measured value: strength null and not counted."""
    lost = [entry for entry in checked(tmp_path, REPAIR / "readings.csv")["pulls"] if entry["id"] == "P68"]
    assert [(entry["strength_mpa"], entry["status"]) for entry in lost] == [(None, "lost")]


def test_json_of_a_bound_and_of_a_missing_value(small: Path) -> None:
    """A cell "> 3.5" is at_least 3.5; an empty strength is null and not counted."""
    (small / "bounds.csv").write_text("id,zone,strength [MPa]\n1,A,> 3.5\n2,A,\n007,NA,1.25\n", encoding="utf-8")
    one, two, three = checked(small, "bounds.csv")["pulls"]
    assert (one["strength_mpa"], one["bound"]) == (3.5, "at_least")
    assert two["strength_mpa"] is None
    assert two["status"] != "counted"
    assert (three["id"], three["zone"]) == ("007", "NA")


def test_json_of_unusable_readings(small: Path) -> None:
    """Exit 3, and the object says what is wrong where."""
    (small / "wrong.csv").write_text("id,zone,strength [MPa]\n1,A,1.9\n2,A,1.x7\n", encoding="utf-8")
    done = command("check", "wrong.csv", "--json", folder=small)
    assert done.returncode == 3
    found = json.loads(done.stdout)
    errors = [finding for finding in found["findings"] if finding["severity"] == "error"]
    assert [(finding["row"], "1.x7" in finding["text"]) for finding in errors] == [(3, True)]


def test_check_prints_what_was_read(tmp_path: Path) -> None:
    """Without --json the answer is text for people: it names the file and the pull that does not count."""
    words = ("check", REPAIR / "readings.csv", "--specification", REPAIR / "specification.toml")
    done = command(*words, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "readings.csv" in done.stdout
    assert "P58" in done.stdout


@pytest.mark.parametrize("name", ["form.xlsx", "form.csv"])
def test_form_is_written_once(tmp_path: Path, name: str) -> None:
    """A blank form; a second call does not overwrite it."""
    assert command("form", name, folder=tmp_path).returncode == 0
    before = (tmp_path / name).read_bytes()
    again = command("form", name, folder=tmp_path)
    assert again.returncode == 2
    assert (tmp_path / name).read_bytes() == before


def test_form_of_another_kind_is_refused(tmp_path: Path) -> None:
    """.docx is no readings form: exit 2, nothing written."""
    done = command("form", "form.docx", folder=tmp_path)
    assert done.returncode == 2
    assert list(tmp_path.iterdir()) == []


def test_form_in_a_missing_folder_is_refused(tmp_path: Path) -> None:
    """The folder is named; no traceback."""
    done = command("form", "nowhere/form.csv", folder=tmp_path)
    assert done.returncode == 2
    assert "nowhere" in done.stderr
    assert "Traceback" not in done.stderr


def _filled(headings: list[str]) -> dict[str, str]:
    """A pull: id, zone, strength and two failure shares, each under the heading that begins with its word."""
    values: dict[str, str] = {}
    for word, value in (("id", "7"), ("zone", "Deck"), ("strength", "1.85"), ("A", "70"), ("A/B", "30")):
        (heading,) = [h for h in headings if h.split()[0] == word]
        values[heading] = value
    return values


def test_filled_csv_form_is_read(tmp_path: Path) -> None:
    """A row typed into the CSV form comes back as the pull it is."""
    assert command("form", "form.csv", folder=tmp_path).returncode == 0
    with (tmp_path / "form.csv").open(encoding="utf-8-sig", newline="") as handle:
        rows = list(csv.reader(handle))
    headings = next(row for row in rows if any("zone" in cell.lower() for cell in row))
    values = _filled(headings)
    with (tmp_path / "form.csv").open("a", encoding="utf-8", newline="") as handle:
        csv.writer(handle).writerow([values.get(heading, "") for heading in headings])
    (pull,) = checked(tmp_path, "form.csv")["pulls"]
    assert (pull["id"], pull["zone"], pull["strength_mpa"], pull["failure"]) == (
        "7",
        "Deck",
        1.85,
        {"A": 70, "A/B": 30},
    )


def test_filled_workbook_form_is_read(tmp_path: Path) -> None:
    """A row typed into the workbook form comes back as the pull it is."""
    assert command("form", "form.xlsx", folder=tmp_path).returncode == 0
    book = openpyxl.load_workbook(tmp_path / "form.xlsx")
    sheet = book.worksheets[0]
    rows = list(sheet.iter_rows())
    line = next(row for row in rows if any("zone" in str(cell.value or "").lower() for cell in row))
    headings = [str(cell.value or "") for cell in line]
    for heading, value in _filled([h for h in headings if h]).items():
        cell = sheet.cell(line[0].row + 1, headings.index(heading) + 1)
        cell.value = value if heading in {"id", "zone"} else float(value)
    book.save(tmp_path / "filled.xlsx")
    (pull,) = checked(tmp_path, "filled.xlsx")["pulls"]
    assert (pull["id"], pull["zone"], pull["strength_mpa"], pull["failure"]) == (
        "7",
        "Deck",
        1.85,
        {"A": 70, "A/B": 30},
    )


@pytest.mark.parametrize("words", [["--help"], ["assess", "--help"], ["check", "--help"], ["form", "--help"]])
def test_help_loads_no_heavy_library(tmp_path: Path, words: list[str]) -> None:
    """Help starts at once: pandas, scipy.stats, pint and matplotlib stay unloaded."""
    code = (
        "import sys\n"
        "from adhesion_stats.cli import main\n"
        "try:\n"
        f"    main({words!r})\n"
        "except SystemExit as end:\n"
        "    assert end.code == 0, end.code\n"
        "print(sorted({'pandas', 'scipy.stats', 'pint', 'matplotlib'} & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env=environment(), capture_output=True, text=True, check=True
    )
    assert "usage: adhesion-stats" in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"


def test_version(tmp_path: Path) -> None:
    """--version says the version of the package."""
    from adhesion_stats import __version__

    assert command("--version", folder=tmp_path).stdout.split() == ["adhesion-stats", __version__]
