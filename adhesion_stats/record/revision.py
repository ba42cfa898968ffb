"""A revision: a new record that names the one it takes the place of, why, and what changed.

A finished record is never changed. ``revision.json`` in the new folder holds the SHA-256 of the old manifest, the
reason, and what differs: decisions, standings of pulls, the files that went in, terms that the results show, and pulls
that were moved to another zone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from adhesion_stats.errors import WrongUsage
from adhesion_stats.plain_file import read_plain
from adhesion_stats.record.canonical import canonical_bytes, read_results
from adhesion_stats.record.compare import changes
from adhesion_stats.record.manifest import MANIFEST
from adhesion_stats.record.schema import schema_errors

__all__ = ["FORMAT", "FORMAT_VERSION", "REVISION", "Predecessor", "predecessor", "revision_bytes"]

FORMAT, FORMAT_VERSION = "adhesion_stats revision", 1
REVISION = "revision.json"
Predecessor = tuple[str, Mapping[str, object]]  # SHA-256 (hex) of the manifest, recorded results
_TERMS = ("unit", "rounding", "screening")  # terms that the results carry themselves
_OF_SCREENING = ("tests", "side", "level", "dixon_convention")


def predecessor(folder: Path) -> Predecessor:
    """Return what a revision names of the record in ``folder``.

    Raises
    ------
    WrongUsage
        When it is no record, or is not the one that its manifest describes.
    """
    try:
        manifest = read_plain(folder / MANIFEST, follow=False)
        named = read_results(manifest)
        parameters = named["parameters"]
        assert isinstance(parameters, dict)
        content = read_plain(folder / Path(str(parameters["results"])).name, follow=False)
        results = read_results(content)
        wrong = schema_errors(results)
    except (OSError, KeyError, ValueError, AssertionError) as error:
        raise WrongUsage(f"{folder} is no record that can be revised: {error}") from error
    if wrong:
        raise WrongUsage(f"{folder} is no record that can be revised: its results are none ({wrong[0][:200]}).")
    if hashlib.sha256(content).hexdigest() != named.get("results_sha256"):
        raise WrongUsage(
            f"{folder} was changed after it was made (its results are not those of its manifest); audit it."
        )
    return hashlib.sha256(manifest).hexdigest(), results


def revision_bytes(
    old: Predecessor, results: Mapping[str, object], *, reason: str, rezoned: Mapping[str, object] | None = None
) -> bytes:
    """Return the contents of ``revision.json`` for new ``results``.

    ``rezoned``: pulls that stand in another zone than in the old record, with the decisions by both zonings.
    """
    digest, before = old
    return canonical_bytes(
        {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "revises": digest,
            "reason": reason,
            "changes": [{"what": c.what, "before": c.recorded, "now": c.recomputed} for c in changes(before, results)],
            "inputs": [
                {"what": what, "before": first, "now": second}
                for what, first, second in _inputs(before, results)
                if first != second
            ],
            "rezoned": rezoned,
        }
    )


def _inputs(before: Mapping[str, object], now: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
    """Files that went in, by their SHA-256, and terms."""
    for role in ("readings", "specification", "layout"):
        yield role, _hash(before, role), _hash(now, role)
    for term in _TERMS:
        yield term, _shown(before.get(term)), _shown(now.get(term))


def _hash(results: Mapping[str, object], role: str) -> str:
    inputs = results.get("inputs")
    entry = inputs.get(role) if isinstance(inputs, Mapping) else None
    return str(entry.get("sha256")) if isinstance(entry, Mapping) else "none"


def _shown(value: object) -> str:
    """A term in one line; of the screening only what the specification sets."""
    if not isinstance(value, Mapping):
        return str(value)
    kept = {k: v for k, v in value.items() if "tests" not in value or k in _OF_SCREENING}
    parts = ((k, ", ".join(map(str, v)) if isinstance(v, list) else v) for k, v in sorted(kept.items()))
    return "; ".join(f"{k}: {'none' if v is None or v == '' else v}" for k, v in parts)
