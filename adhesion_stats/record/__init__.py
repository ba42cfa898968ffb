"""The record of an assessment: canonical bytes, manifest, and a folder that is there whole or not at all.

========== ==========================================================================================
canonical  results as bytes that depend on the results alone, and their SHA-256
schema     the JSON Schema of ``results.json``
manifest   ``manifest.json``: every file with its SHA-256, parameters, versions of everything that computes
folder     a new folder, made beside its final place and renamed once
compare    what differs between two results
========== ==========================================================================================

Nothing here computes a statistic, and nothing may import pandas or ``reporting``.
"""

from __future__ import annotations

from adhesion_stats.record.canonical import canonical_bytes, read_results, results_digest
from adhesion_stats.record.compare import Change, Comparison, Difference, changes, compare_results
from adhesion_stats.record.folder import new_folder, put, unfinished
from adhesion_stats.record.manifest import manifest_bytes, time_from_environment
from adhesion_stats.record.schema import results_schema, schema_errors

__all__ = [
    "Change",
    "Comparison",
    "Difference",
    "canonical_bytes",
    "changes",
    "compare_results",
    "manifest_bytes",
    "new_folder",
    "put",
    "read_results",
    "results_digest",
    "results_schema",
    "schema_errors",
    "time_from_environment",
    "unfinished",
]
