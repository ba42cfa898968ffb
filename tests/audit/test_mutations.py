"""Alterations of every kind are found, covered by a manifest made anew or not. The large study is a benchmark."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from adhesion_stats.audit import audit_record
from tests.audit.mutations import KINDS, Files, covered


def _found(folder: Path) -> bool:
    audit = audit_record(folder)
    return audit.outcome != "reproduced" or bool(audit.versions)


@pytest.mark.parametrize("cover", [False, True], ids=["as it is", "covered"])
@pytest.mark.parametrize("kind", KINDS)
def test_an_alteration_is_found(made: Path, tmp_path: Path, kind: str, *, cover: bool) -> None:
    """Alterations of each kind, in each way."""
    original: Files = {path.name: path.read_bytes() for path in made.iterdir()}
    for seed in range(2):
        files = KINDS[kind](original, np.random.default_rng(seed))
        files = covered(files) if cover else files
        folder = tmp_path / str(seed)
        folder.mkdir()
        for name, content in files.items():
            (folder / name).write_bytes(content)
        assert _found(folder), (kind, seed)
