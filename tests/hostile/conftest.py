"""A record to be attacked, made once, and the watched box it is attacked in."""

from __future__ import annotations

from pathlib import Path

import pytest

from adhesion_stats.reporting.assess_folder import write_assessment
from tests.audit.conftest import READINGS, SPECIFICATION
from tests.hostile.box import Outcome, run


@pytest.fixture(scope="session")
def pristine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record as its maker left it."""
    folder = tmp_path_factory.mktemp("pristine")
    (folder / "readings.csv").write_text(READINGS)
    (folder / "terms.toml").write_text(SPECIFICATION)
    write_assessment(folder / "readings.csv", folder / "terms.toml", folder / "record", progress=lambda _: None)
    return folder / "record"


@pytest.fixture(scope="session")
def key(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A private key."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    path = tmp_path_factory.mktemp("key") / "key.pem"
    made = Ed25519PrivateKey.generate()
    path.write_bytes(made.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    return path


@pytest.fixture(scope="session", autouse=True)
def _server(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    """The server behind the boxes has started, and loaded what it loads, before the first case is timed."""
    return run(["--version"], tmp_path_factory.mktemp("first"))
