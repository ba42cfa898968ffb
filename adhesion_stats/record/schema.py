"""The JSON Schema of ``results.json`` (draft 2020-12), which travels with the package, and a check against it.

The check is for tests, auditors and programs that read results; making a report does not need it.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from pathlib import Path

__all__ = ["results_schema", "schema_errors"]


def results_schema() -> dict[str, object]:
    """Return the schema as a dictionary of its own."""
    found = json.loads(Path(__file__).with_name("results.schema.json").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


@functools.cache
def _check_schema() -> None:
    import jsonschema

    jsonschema.Draft202012Validator.check_schema(results_schema())


def schema_errors(results: Mapping[str, object]) -> list[str]:
    """Return everything in which ``results`` leaves the schema, as ``place: what``, sorted by place; [] for nothing.

    Needs the library jsonschema, which nbformat brings.
    """
    import jsonschema

    _check_schema()
    validator = jsonschema.Draft202012Validator(results_schema())
    errors = sorted(validator.iter_errors(results), key=lambda e: [str(part).zfill(8) for part in e.absolute_path])
    return [f"{error.json_path}: {error.message[:300]}" for error in errors]
