"""What README.md tells people to type works."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat

from adhesion_stats import read_specification
from adhesion_stats.terms.instruments import Instrument
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.parse import parse_specification
from tests.end_to_end.helpers import REPAIR, ROOT, command, environment

TEXT = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Code blocks of that language, top to bottom."""
    return re.findall(rf"^```{language}\n(.*?)^```$", TEXT, flags=re.MULTILINE | re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the two files that the README's lines name."""
    for name in ("readings.csv", "specification.toml"):
        shutil.copy(REPAIR / name, tmp_path / name)
    return tmp_path


def test_commands_run_one_after_another(folder: Path) -> None:
    """form, check, assess, sign and audit, as they stand in the README, with keys as its lines make them."""
    key = Ed25519PrivateKey.generate()
    (folder / "engineer.pem").write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    (folder / "engineer.pub.pem").write_bytes(public)
    lines = [line for block in blocks("") for line in block.splitlines() if line.startswith("adhesion-stats ")]
    assert [shlex.split(line)[1] for line in lines] == ["form", "check", "assess", "sign", "audit"]
    for line in lines:
        done = command(*shlex.split(line)[1:], folder=folder)
        assert done.returncode == 0, (line, done.stderr)
    assert (folder / "my-report" / "assessment.html").is_file()
    assert (folder / "my-readings.xlsx").is_file()
    assert json.loads((folder / "my-audit" / "audit.json").read_bytes())["outcome"] == "reproduced"


def test_python_example_runs(folder: Path) -> None:
    """The three lines give the contract's decision."""
    (code,) = blocks("python")
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment(), capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout.strip()) == (0, "does not conform"), done.stderr


def test_specification_example_is_valid(tmp_path: Path) -> None:
    """The example can be saved and read; its limits and rules are those that the text explains."""
    (example,) = blocks("toml")
    (tmp_path / "example.toml").write_text(example, encoding="utf-8")
    terms = read_specification(tmp_path / "example.toml")
    assert (terms.pulls.required, terms.pulls.lost) == (5, "unknown")
    assert (terms.glue.from_percent, terms.glue.then) == (50.0, "at least")


@pytest.mark.parametrize("line", re.findall(r"^\| `([a-z_]+ = .*?)` \|", TEXT, flags=re.MULTILINE))
def test_each_criterion_of_the_table_is_valid(line: str) -> None:
    """Each row of the table of criteria, put into a requirement, parses."""
    text = f'[contract]\ntitle = "t"\n[[require]]\nall_of = [ {{ {line} }} ]\n'
    assert parse_specification(text.encode(), file="row.toml").rules


def test_all_kinds_of_criteria_are_in_the_table() -> None:
    """A kind that the parser knows and the README does not is a kind nobody finds."""
    from adhesion_stats.terms.kinds import KINDS

    assert set(re.findall(r"^\| `([a-z_]+) = ", TEXT, flags=re.MULTILINE)) == set(KINDS)


def test_run_py_knows_the_words_of_the_readme() -> None:
    """The words demo and tests are commands of run.py, and the demo's files are there."""
    spec = importlib.util.spec_from_file_location("run_py", ROOT / "run.py")
    assert spec is not None
    assert spec.loader is not None
    run = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(run)
    assert set(re.findall(r"^python3 run\.py (\w+)", TEXT, flags=re.MULTILINE)) == {"demo", "tests"}
    assert {"demo", "tests"} <= set(run.COMMANDS)
    for name in ("readings.csv", "specification.toml"):
        assert (ROOT / run.DEMO / name).is_file()


def test_exit_codes_are_those_of_the_command() -> None:
    """The table of exit codes and the command's constants agree."""
    from adhesion_stats import cli
    from adhesion_stats.audit import command as audit

    said = {int(code) for code in re.findall(r"^\| (\d) \|", TEXT, flags=re.MULTILINE)}
    of_audits = {audit.REPRODUCED, audit.USAGE, audit.UNUSABLE, audit.DIFFERS, audit.ALTERED}
    assert said == {cli.RAN, cli.OUR_FAULT, cli.USAGE, cli.UNUSABLE, cli.DECIDED_AGAINST} | of_audits


@pytest.mark.parametrize("link", sorted(set(re.findall(r"\]\(([^)#]+)\)", TEXT))))
def test_links_lead_somewhere(link: str) -> None:
    """Each link names a file or folder of the project."""
    assert not link.startswith("http")
    assert (ROOT / link.replace("/", os.sep)).exists()


def test_options_of_the_table_are_those_of_the_commands() -> None:
    """Each option that the table of commands names exists, and each option of a command is named somewhere."""
    from adhesion_stats.cli import _parser

    (commands,) = [action.choices for action in _parser()._actions if isinstance(action.choices, dict)]
    rows = re.findall(rf"^\| `({'|'.join(commands)}) (.*?)`", TEXT, flags=re.MULTILINE)
    anywhere = set(re.findall(r"--[a-z0-9-]+", TEXT))
    for name, parser in commands.items():
        named = {option for of, words in rows if of == name for option in re.findall(r"--[a-z0-9-]+", words)}
        known = {option for action in parser._actions for option in action.option_strings} - {"-h", "--help"}
        assert named <= known, name
        assert known <= anywhere, name
        assert named <= known, name


def test_page_on_layouts_is_valid_and_complete() -> None:
    """Its examples are layouts, and together they show every key that a layout knows."""
    page = (ROOT / "docs" / "layout.md").read_text(encoding="utf-8")
    examples = re.findall(r"^```toml\n(.*?)^```$", page, flags=re.MULTILINE | re.DOTALL)
    layouts = [Layout.from_toml(example) for example in examples]
    empty = Layout()
    shown = {f.name for f in fields(Layout) for layout in layouts if getattr(layout, f.name) != getattr(empty, f.name)}
    assert shown == {f.name for f in fields(Layout)} - {"evidence"}
    gauges = [gauge for layout in layouts for gauge in layout.instruments.values()]
    assert all(any(getattr(gauge, f.name) for gauge in gauges) for f in fields(Instrument))
