"""The JSON Schemas of ``results.json`` (draft 2020-12), which travel with the package, and a check against them.

One schema a version of the form: a record is checked against that of the version that it names.

The check is for tests, auditors and programs that read results; making a report does not need it.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jsonschema.protocols import Validator

__all__ = ["CURRENT", "results_schema", "schema_errors"]

CURRENT = 2  # version of the form that this version of the package writes


def results_schema(version: int = CURRENT) -> dict[str, object]:
    """Return the schema of a version of the form, as a dictionary of its own. Raises ValueError for an unknown one."""
    path = Path(__file__).with_name(f"results.{version}.schema.json")
    if not 1 <= version <= CURRENT:
        raise ValueError(f"results of the form {version} are not known here; known are 1 to {CURRENT}")
    found = json.loads(path.read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


@functools.cache
def _validator(version: int) -> Validator:
    import jsonschema

    schema = results_schema(version)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator: Validator = jsonschema.Draft202012Validator(schema)
    return validator


def schema_errors(results: Mapping[str, object]) -> list[str]:
    """Return everything in which ``results`` leaves the schema, as ``place: what``, sorted by place; [] for nothing.

    The schema is that of the version that the results name; of the current one where they name none that is known.
    Needs the library jsonschema, which nbformat brings.
    """
    named = results.get("format_version")
    known = isinstance(named, int) and not isinstance(named, bool) and 1 <= named <= CURRENT
    validator = _validator(named if known and isinstance(named, int) else CURRENT)
    errors = sorted(validator.iter_errors(results), key=lambda e: [str(part).zfill(8) for part in e.absolute_path])
    return [f"{error.json_path}: {error.message[:300]}" for error in errors]
