"""The lock: complete, one version for every Python, the same for runs and tests, and no host in it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = ("requirements.txt", "requirements-test.txt")
# The version parts only: markers ("; sys_platform == ...") may differ where the test lock asks on more systems.
LINE = re.compile(r"^([a-z0-9.-]+)==(\S+)", re.MULTILINE)


def locked(name: str) -> dict[str, str]:
    """{package: version} of a lock; a package with two versions is an error."""
    pairs = LINE.findall((ROOT / name).read_text(encoding="utf-8"))
    versions = dict(pairs)
    assert len(versions) == len(pairs), f"{name} holds two versions of one package"
    return versions


def asked(name: str) -> list[Requirement]:
    """The requirements of an input file."""
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    return [Requirement(line) for line in lines if line and line[0] not in "#-"]


def missing(requirements: list[Requirement], lock: dict[str, str]) -> list[str]:
    """Requirements that the lock does not meet."""
    return [
        str(requirement)
        for requirement in requirements
        if not requirement.specifier.contains(lock.get(canonicalize_name(requirement.name), "0"))
    ]


@pytest.mark.parametrize("name", LOCKS)
def test_lock_names_no_host(name: str) -> None:
    """Whoever installs uses the index of their own settings."""
    text = (ROOT / name).read_text(encoding="utf-8")
    assert re.findall(r"://|index-url|find-links|trusted-host|\bwww\.|@ ", text) == []


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_has_hashes(name: str) -> None:
    """Each entry is a pinned version followed by its hashes, and nothing else is in the file."""
    entries = re.split(r"\n(?=\S)", (ROOT / name).read_text(encoding="utf-8").strip())
    pattern = re.compile(r"[a-z0-9.-]+==\S+( ; [^\\\n]+)?( \\\n    --hash=sha256:[0-9a-f]{64})+")
    assert [entry for entry in entries if not pattern.fullmatch(entry)] == []
    assert len(entries) == len(locked(name))


def test_test_lock_contains_the_run_lock() -> None:
    """Tests run on exactly what is shipped."""
    assert locked("requirements.txt").items() <= locked("requirements-test.txt").items()


@pytest.mark.parametrize(
    ("source", "lock"), [("requirements.in", "requirements.txt"), ("requirements-test.in", "requirements-test.txt")]
)
def test_lock_meets_its_source(source: str, lock: str) -> None:
    """The lock was renewed after its source was changed."""
    assert missing(asked(source), locked(lock)) == []


def test_lock_meets_the_project() -> None:
    """The versions tried lie within the ranges that the project promises to work with."""
    dependencies = [Requirement(text) for text in PROJECT["project"]["dependencies"]]
    assert missing(dependencies, locked("requirements.txt")) == []
    dev = [Requirement(text) for text in PROJECT["project"]["optional-dependencies"]["dev"]]
    assert missing(dev, locked("requirements-test.txt")) == []


def test_lock_holds_what_the_build_needs() -> None:
    """The project is installed without an index, so its build backend is in the lock."""
    build = [Requirement(text) for text in PROJECT["build-system"]["requires"]]
    assert missing([*build, Requirement("editables")], locked("requirements.txt")) == []


def test_sources_ask_for_every_dependency() -> None:
    """A dependency of the project that no source asks for would be in the lock by accident."""
    names = {requirement.name for requirement in asked("requirements.in")}
    assert {Requirement(text).name for text in PROJECT["project"]["dependencies"]} <= names
