"""The second opinion of an audit: the twin, started in a fresh process on the raw files and the recorded results.

The twin (``adhesion_stats.twin``) shares no code with what made the record. It gets bytes and plain values: the raw
files, the layout of the folder, the headings as the installed library understood them (it says where it uses these),
and the library's published rules, which are facts in TOML files.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from adhesion_stats.audit.recompute import answer_of
from adhesion_stats.errors import WrongUsage
from adhesion_stats.locate import packaged
from adhesion_stats.record import canonical_bytes

__all__ = ["independent_opinion", "not_made"]

_FOLDERS = ("published", "methods")  # of adhesion_stats/terms


def independent_opinion(
    files: Mapping[str, tuple[str, bytes]], results: Mapping[str, object], understood: str
) -> dict[str, object]:
    """The twin's numbers beside those of ``results``, as plain values (``twin.SecondOpinion.as_dict``).

    Parameters
    ----------
    files
        Name and bytes of the raw files by role: readings, specification, and layout where there is one.
    results
        The recorded results.
    understood
        The layout as the installed library understood the readings (TOML), "" where it could not.
    """
    with tempfile.TemporaryDirectory(prefix="audit-") as name:
        folder = Path(name)
        for role, (_, content) in files.items():
            (folder / role).write_bytes(content)
        (folder / "results").write_bytes(canonical_bytes(results))
        (folder / "published").mkdir()
        for kind in _FOLDERS:
            for path in packaged("terms", kind).glob("*.toml"):
                (folder / "published" / f"{kind}-{path.name}").write_bytes(path.read_bytes())
        job = {"readings": files["readings"][0], "understood": understood}
        try:
            return answer_of("adhesion_stats.twin", folder, job)
        except WrongUsage:  # longer than any audit may take
            return not_made("", code="too_long")
        except RuntimeError as fault:  # a fault of the twin is said, and takes nothing else of the audit away
            return not_made(str(fault).strip().rpartition("\n")[2][:200])


def not_made(detail: str, *, code: str = "fault") -> dict[str, object]:
    """What stands in place of a second opinion that could not be had, and why (a code and what it is about)."""
    unchecked = [{"what": "", "code": code, "detail": detail}]
    return {"format_version": 1, "outcome": "not made", "pulls": 0, "pairs": [], "unchecked": unchecked}
