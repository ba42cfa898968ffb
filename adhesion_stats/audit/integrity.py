"""Is the record whole and untouched? Every hash, missing and extra files, whether its parts name each other rightly.

A manifest can be made anew by whoever changed the files: then only the recomputation, a hash from outside or a
signature tells. What is found here is damage, a slip, or a change by somebody who did not do that.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from adhesion_stats.audit.received import Received
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.record import canonical_bytes, read_results, schema_errors
from adhesion_stats.record.manifest import FORMAT, FORMAT_VERSION, MANIFEST, manifest_seal
from adhesion_stats.record.revision import REVISION
from adhesion_stats.record.schema import CURRENT
from adhesion_stats.record.signatures import is_signature
from adhesion_stats.reporting.assess_folder import NOTEBOOK, PAGE

__all__ = ["Record", "digest", "record_of"]

_PARAMETERS = ("readings", "specification", "layout", "results")
_SEALED = range(2, CURRENT + 1)  # forms of the results whose manifests have a seal
_DEEPEST = 60  # levels of nesting; results have fewer than ten


def digest(content: bytes) -> str:
    """SHA-256 (hex)."""
    return hashlib.sha256(content).hexdigest()


@dataclass(frozen=True)
class Record:
    """What a received folder says of itself, and what is wrong with it.

    Attributes
    ----------
    received
        The files.
    manifest
        Its contents; empty where there is none that can be read.
    parameters
        Names of the files by role (readings, specification, layout, results); "" where there is none.
    results
        The recorded results, None where they can't be read.
    revision
        What it says of the record that it takes the place of, None where it is no revision.
    problems
        Messages of severity error: the record is damaged or was altered.
    """

    received: Received
    manifest: Mapping[str, object]
    parameters: Mapping[str, str]
    results: Mapping[str, object] | None
    revision: Mapping[str, object] | None
    problems: tuple[Message, ...]

    @property
    def manifest_sha256(self) -> str:
        """SHA-256 of the manifest's bytes as received; "" where there is none."""
        content = self.received.files.get(MANIFEST)
        return "" if content is None else digest(content)

    def file(self, role: str) -> tuple[str, bytes] | None:
        """Name and bytes of the file with this role, None where there is none."""
        name = self.parameters.get(role, "")
        content = self.received.files.get(name)
        return None if not name or content is None else (name, content)


def record_of(received: Received) -> Record:
    """Return what the received files say of themselves, every inconsistency as a message."""
    problems = list(received.problems)
    manifest = _json(received, MANIFEST, problems)
    if manifest is None:
        return Record(received, {}, {}, None, None, tuple(problems))
    problems += _form(manifest)
    problems += _listed(received, manifest)
    parameters = _parameters(manifest)
    results = None
    if parameters.get("results"):
        results = _json(received, parameters["results"], problems)
    problems += _roles(received, parameters)
    if results is not None:
        problems += _results(received, manifest, parameters, results)
        if results.get("format_version") in _SEALED and "seal" not in manifest:
            problems.append(_error("audit_seal_broken", MANIFEST))
        if any(message.code == "audit_not_results" for message in problems):
            results = None
    revision = _json(received, REVISION, problems) if REVISION in received.files else None
    return Record(received, manifest, parameters, results, revision, tuple(problems))


def _error(code: str, where: str, **facts: Fact) -> Message:
    return Message(code, Severity.ERROR, Place(where), {"name": where, **facts})


def _json(received: Received, name: str, problems: list[Message]) -> Mapping[str, object] | None:
    """The JSON object in a file; a problem where it is missing or none."""
    content = received.files.get(name)
    if content is None:
        problems.append(_error("audit_missing", name))
        return None
    try:
        found = read_results(content)
    except ValueError as error:
        problems.append(_error("audit_not_json", name, problem=str(error)[:200]))
        return None
    if _depth(found) > _DEEPEST:
        problems.append(_error("audit_not_json", name, problem="it is nested too deeply"))
        return None
    return found


def _depth(value: object) -> int:
    """Levels of nesting, without recursion."""
    deepest, heap = 0, [(value, 1)]
    while heap:
        entry, level = heap.pop()
        deepest = max(deepest, level)
        parts = entry.values() if isinstance(entry, dict) else entry if isinstance(entry, list) else ()
        heap += [(part, level + 1) for part in parts]
    return deepest


def _form(manifest: Mapping[str, object]) -> Iterator[Message]:
    came = (manifest.get("format"), manifest.get("format_version"))
    if came != (FORMAT, FORMAT_VERSION):
        yield _error("audit_other_format", MANIFEST, found=f"{came[0]!r}, version {came[1]!r}", expected=FORMAT)
    seal = manifest.get("seal")
    if seal is not None and seal != manifest_seal(manifest):
        yield _error("audit_seal_broken", MANIFEST)


def _listed(received: Received, manifest: Mapping[str, object]) -> Iterator[Message]:
    """Each file of the manifest against the file of that name; files that it does not name."""
    listed = manifest.get("files")
    listed = listed if isinstance(listed, dict) else {}
    for name, entry in listed.items():
        expected = entry.get("sha256") if isinstance(entry, dict) else None
        content = received.files.get(name)
        if content is None:
            yield _error("audit_missing", name)
        elif digest(content) != expected:
            yield _error("audit_changed", name, expected=str(expected), found=digest(content))
    for name in received.files:
        if name not in listed and name != MANIFEST and not is_signature(name):
            yield _error("audit_extra", name)


def _parameters(manifest: Mapping[str, object]) -> dict[str, str]:
    found = manifest.get("parameters")
    found = found if isinstance(found, dict) else {}
    return {role: name for role in _PARAMETERS if isinstance(name := found.get(role, ""), str)}


def _roles(received: Received, parameters: Mapping[str, str]) -> Iterator[Message]:
    """The files that a recomputation needs must be named, and there."""
    for role in ("readings", "specification", "results"):
        name = parameters.get(role, "")
        if not name:
            yield _error("audit_role_missing", MANIFEST, role=role)
        elif name not in received.files:
            yield _error("audit_missing", name)
    for name in (PAGE, NOTEBOOK):
        if name not in received.files:
            yield _error("audit_missing", name)
    known = {*parameters.values(), MANIFEST, PAGE, NOTEBOOK, REVISION}
    for name in received.files:
        if name not in known and not is_signature(name):
            yield _error("audit_unexpected", name)
    named = [name for name in parameters.values() if name]
    for name in sorted({name for name in [*named, MANIFEST] if [*named, MANIFEST].count(name) > 1}):
        yield _error("audit_role_shared", MANIFEST, file=name)


def _results(
    received: Received, manifest: Mapping[str, object], parameters: Mapping[str, str], results: Mapping[str, object]
) -> Iterator[Message]:
    name = parameters["results"]
    wrong = schema_errors(results)
    if wrong:
        yield _error("audit_not_results", name, problem="; ".join(wrong[:3])[:400], count=len(wrong))
        return
    canonical = canonical_bytes(results)
    if canonical != received.files[name]:
        yield _error("audit_not_canonical", name)
    if digest(canonical) != manifest.get("results_sha256"):
        yield _error("audit_results_digest", name)
    inputs = results["inputs"]
    assert isinstance(inputs, dict)  # the schema says so
    for role in ("readings", "specification", "layout"):
        said, file = inputs.get(role), parameters.get(role, "")
        content = received.files.get(file)
        if (said is None) != (file == "") or (said is not None and content is not None and said["file"] != file):
            yield _error("audit_input_name", name, role=role)
        elif said is not None and content is not None and said["sha256"] != digest(content):
            yield _error("audit_input_changed", name, role=role, file=file)
