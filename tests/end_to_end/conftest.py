"""One assessment of the demo for all tests of the command line, and small contracts to try it on."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.end_to_end.helpers import REPAIR, command


@dataclass(frozen=True)
class Run:
    """A finished command and the folder it wrote."""

    done: subprocess.CompletedProcess[str]
    report: Path


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """The repair contract of the demo, assessed once."""
    folder = tmp_path_factory.mktemp("demo-run")
    done = command(
        "assess", REPAIR / "readings.csv", "--specification", REPAIR / "specification.toml", "--output", "report",
        folder=folder,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return Run(done, folder / "report")


SPECIFICATION = """
[contract]
title = "A small contract"
[pulls]
required = 3
lost = "unknown"
[glue]
from = "50 %"
then = "at least"
[[require]]
mean_at_least = "1.50 MPa"
"""


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A folder with one specification and three readings files: one conforms, one does not, one is undetermined."""
    (tmp_path / "terms.toml").write_text(SPECIFICATION, encoding="utf-8")
    heading = "id,zone,strength [MPa]\n"
    (tmp_path / "conforms.csv").write_text(heading + "1,A,1.9\n2,A,1.7\n3,A,1.8\n", encoding="utf-8")
    (tmp_path / "fails.csv").write_text(heading + "1,A,1.2\n2,A,1.1\n3,A,1.4\n", encoding="utf-8")
    (tmp_path / "open.csv").write_text(heading + "1,A,1.9\n2,A,1.7\n", encoding="utf-8")
    return tmp_path
