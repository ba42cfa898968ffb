"""``adhesion-stats assess``: what it writes and prints, what it refuses, how it ends."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.end_to_end.conftest import Run
from tests.end_to_end.helpers import FILES, REPAIR, command, contents, environment

RECORD = ("--specification", str(REPAIR / "specification.toml"), "--output", "report")


def test_record_holds_six_files(demo_run: Run) -> None:
    """Notebook, page, results, manifest and the two inputs; nothing else."""
    assert set(contents(demo_run.report)) == FILES


def test_inputs_are_copied_byte_for_byte(demo_run: Run) -> None:
    """The record holds the readings and the specification as received."""
    for name in ("readings.csv", "specification.toml"):
        assert (demo_run.report / name).read_bytes() == (REPAIR / name).read_bytes()


def test_manifest_has_the_digest_of_every_other_file(demo_run: Run) -> None:
    """SHA-256 and size of each file but the manifest itself."""
    manifest = json.loads((demo_run.report / "manifest.json").read_bytes())
    assert set(manifest["files"]) == FILES - {"manifest.json"}
    for name, entry in manifest["files"].items():
        content = (demo_run.report / name).read_bytes()
        assert entry == {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}


def test_table_names_every_zone_with_its_decision(demo_run: Run) -> None:
    """Zone and decision stand on one line of what is printed, for each zone of results.json."""
    results = json.loads((demo_run.report / "results.json").read_bytes())
    lines = demo_run.done.stdout.splitlines()
    assert len(results["zones"]) == 14
    for zone in results["zones"]:
        assert [line for line in lines if zone["zone"] in line and zone["outcome"] in line], zone["zone"]


def test_last_line_says_where_the_report_lies(demo_run: Run) -> None:
    """The page's path ends what is printed."""
    last = demo_run.done.stdout.strip().splitlines()[-1]
    assert last.endswith(str(Path("report") / "assessment.html"))


def test_notebook_is_executed_without_error(demo_run: Run) -> None:
    """Every code cell ran, in order, and none raised."""
    notebook = json.loads((demo_run.report / "assessment.ipynb").read_bytes())
    cells = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    assert [cell["execution_count"] for cell in cells] == list(range(1, len(cells) + 1))
    outputs = [output for cell in cells for output in cell["outputs"]]
    assert not [output for output in outputs if output["output_type"] == "error"]


def test_two_runs_give_the_same_bytes(demo_run: Run, tmp_path: Path) -> None:
    """Another folder, time zone, language, hash seed and number of threads: every file is the same."""
    surroundings = {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "LANG": "C", "OMP_NUM_THREADS": "1"}
    done = command("assess", REPAIR / "readings.csv", *RECORD, folder=tmp_path, **surroundings)
    assert done.returncode == 0, done.stderr
    first, second = contents(demo_run.report), contents(tmp_path / "report")
    assert set(first) == set(second)
    assert [name for name in first if first[name] != second[name]] == []


def test_existing_folder_is_refused_and_left_alone(tmp_path: Path) -> None:
    """A record is never overwritten: exit 2, the folder as it was."""
    report = tmp_path / "report"
    report.mkdir()
    (report / "mine.txt").write_text("mine", encoding="utf-8")
    done = command("assess", REPAIR / "readings.csv", *RECORD, folder=tmp_path)
    assert done.returncode == 2
    assert "report" in done.stderr
    assert contents(tmp_path) == {"report/mine.txt": b"mine"}


@pytest.mark.parametrize(
    ("readings", "fail_on", "code"),
    [
        ("conforms.csv", "undetermined", 0),
        ("fails.csv", "nonconforming", 6),
        ("open.csv", "nonconforming", 0),
        ("open.csv", "undetermined", 6),
    ],
)
def test_fail_on(small: Path, readings: str, fail_on: str, code: int) -> None:
    """Exit 6 for the decisions that --fail-on names; the record is written all the same."""
    words = ("--specification", "terms.toml", "--output", "report", "--fail-on", fail_on)
    done = command("assess", readings, *words, folder=small)
    assert done.returncode == code, done.stderr
    assert (small / "report" / "assessment.html").is_file()


def test_nonconforming_contract_without_fail_on_ran(small: Path) -> None:
    """A decision is a result, not an error: exit 0."""
    done = command("assess", "fails.csv", "--specification", "terms.toml", "--output", "report", folder=small)
    assert done.returncode == 0, done.stderr
    assert json.loads((small / "report" / "results.json").read_bytes())["decision"]["outcome"] == "does not conform"


def test_wrong_specification_is_exit_2_with_every_problem(small: Path) -> None:
    """A misspelt key and an unknown unit are both named; nothing is written."""
    text = (small / "terms.toml").read_text(encoding="utf-8")
    (small / "wrong.toml").write_text(
        text.replace("required", "requird").replace("1.50 MPa", "1.50 MP"), encoding="utf-8"
    )
    done = command("assess", "open.csv", "--specification", "wrong.toml", "--output", "report", folder=small)
    assert done.returncode == 2
    assert "requird" in done.stderr
    assert "mean_at_least" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (small / "report").exists()


def test_unusable_readings_are_exit_3_with_row_and_column(small: Path) -> None:
    """A strength that is no number is named by row and heading; nothing is written."""
    (small / "wrong.csv").write_text("id,zone,strength [MPa]\n1,A,1.9\n2,A,1.x7\n3,A,1.8\n", encoding="utf-8")
    done = command("assess", "wrong.csv", "--specification", "terms.toml", "--output", "report", folder=small)
    assert done.returncode == 3
    assert "1.x7" in done.stderr
    assert "3" in done.stderr
    assert "strength" in done.stderr.lower()
    assert "Traceback" not in done.stderr
    assert not (small / "report").exists()


@pytest.mark.parametrize(("readings", "terms", "code"), [("none.csv", "terms.toml", 3), ("open.csv", "none.toml", 2)])
def test_missing_file_is_named(small: Path, readings: str, terms: str, code: int) -> None:
    """A file that is not there: exit 3 for readings, 2 for the specification, named without a traceback."""
    done = command("assess", readings, "--specification", terms, "--output", "report", folder=small)
    assert done.returncode == code
    assert "none." in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words", [(), ("assess",), ("assess", "a.csv"), ("judge", "a.csv"), ("assess", "a.csv", "--spec")]
)
def test_wrong_usage_is_exit_2(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Missing or unknown words: exit 2 and the usage."""
    done = command(*words, folder=tmp_path)
    assert done.returncode == 2
    assert "usage" in done.stderr


def test_fault_of_ours_is_exit_1(small: Path) -> None:
    """An unforeseen error ends with 1, not with a code that blames the files, and leaves no record."""
    code = (
        "import adhesion_stats.reporting.page as home\n"
        "from adhesion_stats.cli import main\n"
        "def broken(*_): raise RuntimeError('not foreseen')\n"
        "home.render_page = broken\n"
        "raise SystemExit(main(['assess', 'open.csv', '--specification', 'terms.toml', '--output', 'report']))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=small, env=environment(), capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "not foreseen" in done.stderr
    assert not (small / "report").exists()


@pytest.mark.skipif(os.name == "nt", reason="POSIX signals")
@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_interrupted_run_leaves_no_folder(tmp_path: Path, sent: signal.Signals) -> None:
    """Stopped while it writes: the target is not there; after a signal that can be caught nothing at all is."""
    words = [sys.executable, "-m", "adhesion_stats", "assess", str(REPAIR / "readings.csv"), *RECORD]
    with subprocess.Popen(
        words, cwd=tmp_path, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as run:
        end = time.monotonic() + 120
        while not list(tmp_path.rglob("results.json")):
            assert run.poll() is None, run.communicate()[1]
            assert time.monotonic() < end
            time.sleep(0.02)
        run.send_signal(sent)
        run.communicate(timeout=60)
    assert run.returncode != 0
    assert not (tmp_path / "report").exists()
    if sent != signal.SIGKILL:
        assert list(tmp_path.iterdir()) == []
