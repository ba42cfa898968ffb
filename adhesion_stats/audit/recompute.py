"""The results again, from the raw files alone, in a fresh process with the installed library.

The raw files are copied under fixed names into a private folder; the process gets a short environment and nothing of
the received folder but bytes. What the recomputation says is compared entry by entry with the record.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from adhesion_stats.audit.worker import RESULTS
from adhesion_stats.errors import WrongUsage
from adhesion_stats.record import Change, Comparison, Difference, changes, compare_results, read_results

__all__ = ["LONGEST", "Recomputation", "answer_of", "recompute", "relative", "what_changed"]

LONGEST = 900.0  # s; a contract of a thousand zones takes less than a minute
_KEPT = ("HOME", "LANG", "LC_ALL", "PATH", "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "USERPROFILE", "WINDIR")


@dataclass(frozen=True)
class Recomputation:
    """What came of the recomputation.

    Attributes
    ----------
    results
        The results, None where the raw files can't be used.
    unusable
        "readings" or "specification" where these can't be used, with ``messages`` (as dictionaries) that say why.
    layout
        The layout as the readings were understood, as TOML; "" where they can't be used.
    """

    results: Mapping[str, object] | None
    unusable: str | None
    messages: Sequence[Mapping[str, object]]
    layout: str = ""


def recompute(
    *, readings: tuple[str, bytes], specification: tuple[str, bytes], layout: tuple[str, bytes] | None
) -> Recomputation:
    """Recompute from the raw files (name and bytes of each).

    Raises
    ------
    WrongUsage
        When it takes longer than ``LONGEST`` seconds.
    RuntimeError
        When the process ends without an answer: our own fault.
    """
    with tempfile.TemporaryDirectory(prefix="audit-") as name:
        folder = Path(name)
        (folder / "readings").write_bytes(readings[1])
        (folder / "specification").write_bytes(specification[1])
        if layout is not None:
            (folder / "layout").write_bytes(layout[1])
        job = {
            "readings": readings[0],
            "specification": specification[0],
            "layout": "" if layout is None else layout[0],
        }
        answer = answer_of("adhesion_stats.audit.worker", folder, job)
        results = None
        if answer["unusable"] is None:
            results = read_results((folder / RESULTS).read_bytes())
    unusable, messages = answer["unusable"], answer["messages"]
    assert isinstance(messages, list)
    return Recomputation(results, unusable if isinstance(unusable, str) else None, messages, str(answer["layout"]))


def answer_of(module: str, folder: Path, job: Mapping[str, object]) -> dict[str, object]:
    """What a module answers to a job, started in a fresh process with ``folder`` as its working folder.

    Raises as ``recompute`` does.
    """
    root = Path(__file__).resolve().parents[2]
    environment = {name: os.environ[name] for name in _KEPT if name in os.environ}
    environment |= {"PYTHONPATH": str(root), "PYTHONSAFEPATH": "1", "PYTHONHASHSEED": "0", "PYTHONUTF8": "1"}
    environment |= {"PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(  # noqa: S603 - a module of ours; nothing of the folder is an argument
            [sys.executable, "-m", module],
            input=json.dumps(job).encode(),
            capture_output=True,
            cwd=folder,
            env=environment,
            timeout=LONGEST,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise WrongUsage(f"The recomputation took longer than {LONGEST:.0f} s and was ended.") from error
    if done.returncode:
        said = done.stderr.decode("utf-8", "backslashreplace")[-2000:]
        raise RuntimeError(f"the recomputation ended with code {done.returncode}:\n{said}")
    found = json.loads(done.stdout)
    assert isinstance(found, dict)
    return found


def relative(difference: Difference) -> float | None:
    """By how much two numbers differ, relative to the larger one; None where these are no two numbers."""
    a, b = difference.recorded, difference.recomputed
    if isinstance(a, bool) or isinstance(b, bool) or not isinstance(a, int | float) or not isinstance(b, int | float):
        return None
    largest = max(abs(a), abs(b))
    return abs(a - b) / largest if largest and math.isfinite(largest) else 0.0


def what_changed(
    recorded: Mapping[str, object], recomputed: Mapping[str, object], *, older: bool
) -> tuple[Comparison, list[Change]]:
    """Compare two results; beside all differences, the decisions and standings that are not the same.

    ``older``: the record is of an older form, which holds less; only what it holds is compared.
    """
    if not older:
        return compare_results(recorded, recomputed), list(changes(recorded, recomputed))
    same = {**recomputed, "format_version": recorded["format_version"]}
    return compare_results(recorded, same, recorded_only=True), list(changes(recorded, recomputed))
