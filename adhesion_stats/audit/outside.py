"""What an auditor knows from elsewhere: a hash of the manifest or of the specification, public keys of signers.

A sender who changes the raw file and makes everything anew leaves a record without a fault. Only something that came
another way shows that. What was there to compare with, and what not, is always said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from adhesion_stats.audit.integrity import Record, digest
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.record.manifest import MANIFEST
from adhesion_stats.record.signatures import fingerprint, is_signature, read_signature

__all__ = ["Outside", "check_outside"]


@dataclass(frozen=True)
class Outside:
    """What came another way: SHA-256 (hex) or "" where there is none; public keys (32 bytes) by signer."""

    manifest_sha256: str = ""
    specification_sha256: str = ""
    public_keys: Mapping[str, bytes] = field(default_factory=dict)


def check_outside(record: Record, outside: Outside) -> Iterator[Message]:
    """Compare a record with what is known from elsewhere; say what could not be compared."""
    if outside.manifest_sha256:
        yield _hash("manifest", MANIFEST, outside.manifest_sha256, record.manifest_sha256)
    named = record.file("specification")
    if outside.specification_sha256:
        found = "" if named is None else digest(named[1])
        yield _hash("specification", "" if named is None else named[0], outside.specification_sha256, found)
    else:
        yield Message("audit_specification_not_compared", Severity.NOTE)
    proven = bool(outside.manifest_sha256)
    for message in _signatures(record, outside):
        proven = proven or message.code == "audit_signature_known"
        yield message
    if not proven:
        yield Message("audit_nothing_from_outside", Severity.WARNING)


def _hash(what: str, name: str, expected: str, found: str) -> Message:
    same = expected.lower() == found
    facts: dict[str, Fact] = {"expected": expected.lower(), "found": found or "nothing"}
    code = f"audit_{what}_hash_{'agrees' if same else 'differs'}"
    return Message(code, Severity.NOTE if same else Severity.ERROR, Place(name or None), facts)


def _signatures(record: Record, outside: Outside) -> Iterator[Message]:
    manifest = record.received.files.get(MANIFEST, b"")
    seen: set[str] = set()
    for name, content in record.received.files.items():
        if not is_signature(name):
            continue
        try:
            one = read_signature(name, content, manifest)
        except ValueError as error:
            yield Message("audit_not_a_signature", Severity.ERROR, Place(name), {"name": name, "problem": str(error)})
            continue
        facts: dict[str, Fact] = {"signer": one.signer, "key": one.key}
        expected = outside.public_keys.get(one.signer)
        if not one.valid:
            yield Message("audit_signature_broken", Severity.ERROR, Place(name), facts)
        elif expected is None:
            yield Message("audit_signature_unknown_key", Severity.WARNING, Place(name), facts)
        elif expected != one.public_key:
            facts["expected"] = fingerprint(expected)
            yield Message("audit_signature_other_key", Severity.ERROR, Place(name), facts)
        else:
            seen.add(one.signer)
            yield Message("audit_signature_known", Severity.NOTE, Place(name), facts)
    files = {name for name in record.received.files if is_signature(name)}
    for signer in outside.public_keys:
        if f"manifest.{signer}.sig" not in files:
            yield Message("audit_signature_missing", Severity.ERROR, facts={"signer": signer})
