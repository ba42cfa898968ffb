"""The manifest: every file, every version, no clock."""

import datetime as dt
import hashlib
import importlib
import json
import re
import tomllib
from pathlib import Path

import pytest

from adhesion_stats.errors import WrongUsage
from adhesion_stats.record import manifest_bytes, time_from_environment
from adhesion_stats.record.manifest import DISTRIBUTIONS, vector_level

NOON = dt.datetime(2026, 1, 2, 12, 0, tzinfo=dt.UTC)


def _manifest(folder: Path, created: dt.datetime | None = None) -> dict[str, object]:
    content = manifest_bytes(folder=folder, results_digest="ab" * 32, parameters={"readings": "r.csv"}, created=created)
    found = json.loads(content)
    assert isinstance(found, dict)
    return found


def test_every_file_stands_with_size_and_hash(tmp_path: Path) -> None:
    """Files, also those in folders below, by name; the manifest itself does not hold itself."""
    (tmp_path / "r.csv").write_bytes(b"zone\n")
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "ü.txt").write_bytes(b"")
    (tmp_path / "manifest.json").write_bytes(b"{}")
    assert _manifest(tmp_path)["files"] == {
        "deep/ü.txt": {"bytes": 0, "sha256": hashlib.sha256(b"").hexdigest()},
        "r.csv": {"bytes": 5, "sha256": hashlib.sha256(b"zone\n").hexdigest()},
    }


def test_no_time_unless_given(tmp_path: Path) -> None:
    """Without a time two manifests are the same bytes; a given time stands in UTC."""
    assert "created" not in _manifest(tmp_path)
    east = NOON.astimezone(dt.timezone(dt.timedelta(hours=5)))
    assert _manifest(tmp_path, east)["created"] == "2026-01-02T12:00:00Z"


def test_a_time_without_zone_is_refused(tmp_path: Path) -> None:
    """A time without zone means another moment on another machine."""
    with pytest.raises(ValueError, match="needs a time zone"):
        _manifest(tmp_path, NOON.replace(tzinfo=None))


def test_parameters_are_texts(tmp_path: Path) -> None:
    """A parameter that is not text is refused by name."""
    with pytest.raises(ValueError, match="'n' must be text"):
        manifest_bytes(folder=tmp_path, results_digest="", parameters={"n": 3}, created=None)  # type: ignore[dict-item]


def test_a_link_is_refused(tmp_path: Path) -> None:
    """A link could point out of the record."""
    (tmp_path / "link").symlink_to("/etc/hostname")
    with pytest.raises(ValueError, match="is a link"):
        _manifest(tmp_path)


def test_versions_cover_every_dependency_of_the_project() -> None:
    """Each direct dependency of pyproject.toml is among the versions; no output hangs on that of the twin."""
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    direct = {re.split(r"[^A-Za-z0-9_-]", name, maxsplit=1)[0].lower() for name in project["dependencies"]}
    assert direct - {"mpmath"} <= set(DISTRIBUTIONS)


def test_versions_are_those_installed(tmp_path: Path) -> None:
    """The version of numpy in the manifest is that of the numpy in use."""
    import numpy as np

    versions = _manifest(tmp_path)["versions"]
    assert isinstance(versions, dict)
    assert versions["numpy"] == np.__version__
    assert None not in {versions[name] for name in DISTRIBUTIONS}


def test_source_date_epoch() -> None:
    """The environment variable of reproducible builds is read as seconds in UTC; absent means no time."""
    assert time_from_environment({}) is None
    assert time_from_environment({"SOURCE_DATE_EPOCH": "1767355200"}) == NOON


@pytest.mark.parametrize("text", ["", "-1", "1e9", "tomorrow", "9" * 30, "٣"])
def test_an_unusable_source_date_epoch_is_refused(text: str) -> None:
    """Not silently taken as "no time"."""
    with pytest.raises(WrongUsage, match="SOURCE_DATE_EPOCH is"):
        time_from_environment({"SOURCE_DATE_EPOCH": text})


def test_the_vector_level_is_one_of_numpys_or_unknown() -> None:
    """The manifest names what the last bits of an exponential depend on."""
    features = importlib.import_module("numpy._core._multiarray_umath").__cpu_features__
    level = vector_level()
    assert level is None or features[level]
