"""The commands ``audit``, ``sign`` and ``crate``: from arguments to an answer, an exit code, and new files.

Exit codes of an audit: 0 reproduced, 4 numbers differ (those of a second opinion too), 5 damaged or altered; 3 and 2
where, in a record that is whole, readings or specification can't be used by the installed version; 3 also where a
second opinion was asked for and the twin can't read the readings.
"""

from __future__ import annotations

import argparse
import datetime as dt
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, cast

from adhesion_stats.audit import Audit, Outside, audit_record, compare_records, rezoned_between
from adhesion_stats.audit.integrity import record_of
from adhesion_stats.audit.received import receive
from adhesion_stats.errors import WrongUsage
from adhesion_stats.messages import Message, Severity
from adhesion_stats.plain_file import read_plain
from adhesion_stats.record import canonical_bytes, new_folder, put
from adhesion_stats.record.manifest import MANIFEST
from adhesion_stats.record.signatures import fingerprint, public_key_of, signature_name, signed

if TYPE_CHECKING:
    from adhesion_stats.reporting.results import Rezoning

__all__ = ["exit_code", "run_audit", "run_crate", "run_sign"]

REPRODUCED, USAGE, UNUSABLE, DIFFERS, ALTERED = 0, 2, 3, 4, 5
_FROM_OUTSIDE = ("audit_manifest_hash", "audit_specification_hash", "audit_signature", "audit_not_a_signature")
_LARGEST_KEY = 2**20  # bytes; a key has a few hundred
_HEX = re.compile(r"[0-9a-fA-F]{64}")


def exit_code(audit: Audit) -> int:
    """The exit code for what an audit found."""

    def found(message: Message) -> bool:
        """Whether the message says of a whole record that it is not the one that came another way."""
        return message.severity is Severity.ERROR and message.code.startswith(_FROM_OUTSIDE)

    if audit.record.problems or any(found(message) for message in audit.messages):
        return ALTERED
    if audit.unusable is not None:
        return UNUSABLE if audit.unusable == "readings" else USAGE
    if audit.outcome == "reproduced":
        not_made = audit.second is not None and audit.second["outcome"] == "not made"
        return UNUSABLE if not_made else REPRODUCED
    return ALTERED if audit.outcome == "altered" else DIFFERS


def run_audit(arguments: argparse.Namespace) -> int:
    """Run ``adhesion-stats audit``."""
    from adhesion_stats.reporting.audit_document import audit_text

    output: Path | None = arguments.output
    if output is not None and (output.exists() or output.is_symlink()):
        raise WrongUsage(f"{output} exists already and is not overwritten. Name a new folder with --output.")
    if arguments.against is not None and arguments.independent:
        raise WrongUsage("--against compares two records as they are; ask for --independent in an audit of each.")
    if arguments.against is not None:
        return _against(arguments.folder, arguments.against)
    outside = _outside(arguments)
    print("Checking hashes and recomputing from the raw files", file=sys.stderr, flush=True)  # noqa: T201 - a command
    audit = audit_record(
        arguments.folder, readings=arguments.readings, outside=outside, independent=arguments.independent
    )
    found = audit.as_dict()
    content = canonical_bytes(found)
    print(content.decode() if arguments.json else audit_text(found), end="" if arguments.json else "\n")  # noqa: T201
    if output is not None:
        from adhesion_stats.reporting.audit_document import audit_page

        with new_folder(output) as inside:
            put(inside, "audit.json", content)
            put(inside, "audit.html", audit_page(found).encode())
        print(f"\nReport: {output / 'audit.html'}", file=sys.stderr if arguments.json else sys.stdout)
    return exit_code(audit)


def _outside(arguments: argparse.Namespace) -> Outside:
    for option, text in (
        ("--manifest-sha256", arguments.manifest_sha256),
        ("--specification-sha256", arguments.specification_sha256),
    ):
        if text and _HEX.fullmatch(text) is None:
            raise WrongUsage(f"{option} takes 64 hexadecimal digits (a SHA-256); came: {text!r}.")
    keys: dict[str, bytes] = {}
    for entry in arguments.signed_by:
        signer, sign, path = str(entry).partition("=")
        if not sign or not path:
            raise WrongUsage(
                f"--signed-by takes a signer and a key file, such as engineer=engineer.pem; came: {entry!r}."
            )
        signature_name(signer)
        keys[signer] = public_key_of(_read(Path(path)))
    return Outside(arguments.manifest_sha256, arguments.specification_sha256, keys)


def _read(path: Path) -> bytes:
    try:
        return read_plain(path, most=_LARGEST_KEY)
    except OSError as error:
        raise WrongUsage(f"{path} can't be read: {error.strerror}.") from error


def _against(folder: Path, other: Path) -> int:
    """Compare two records entry by entry; neither is recomputed."""
    from adhesion_stats.reporting.audit_document import comparison_text
    from adhesion_stats.reporting.terminal import rezoned_rows

    first, second, comparison, changes = compare_records(folder, other)
    for record in (first, second):
        if record.results is None:
            raise WrongUsage(
                f"{record.received.folder} holds no results that can be read; audit it alone for the reasons."
            )
    assert comparison is not None  # both have results
    plain = Audit("numbers differ" if comparison.differences else "reproduced", first, (), comparison, tuple(changes))
    print(comparison_text(plain.as_dict(), folder.name, other.name))  # noqa: T201 - a command
    rezoned = rezoned_between(first, second)
    if rezoned is not None:
        print("\n" + "\n".join(rezoned_rows(cast("Rezoning", rezoned))))  # noqa: T201 - a command
    for record in (first, second):
        if record.problems:
            print(f"{record.received.folder} is damaged or altered; audit it alone.", file=sys.stderr)  # noqa: T201
    if first.problems or second.problems:
        return ALTERED
    return DIFFERS if comparison.differences else REPRODUCED


def run_sign(arguments: argparse.Namespace) -> int:
    """Run ``adhesion-stats sign``: one new file beside the manifest; nothing is changed."""
    folder: Path = arguments.folder
    record = record_of(receive(folder))
    if record.problems:
        print(f"{folder} is damaged or altered, and is not signed; audit it.", file=sys.stderr)  # noqa: T201 - a command
        return ALTERED
    manifest = record.received.files[MANIFEST]
    content = signed(manifest, signer=arguments.signer, private_key_pem=_read(arguments.key))
    name = signature_name(arguments.signer)
    try:
        put(folder, name, content)
    except FileExistsError:
        raise WrongUsage(f"{folder / name} exists already; a signature is never overwritten.") from None
    except OSError as error:
        raise WrongUsage(f"{folder / name} can't be written: {error.strerror}.") from error
    key = fingerprint(public_key_of(_read(arguments.key)))
    print(f"Signature: {folder / name}\nKey: {key}")  # noqa: T201 - a command
    return REPRODUCED


def run_crate(arguments: argparse.Namespace) -> int:
    """Run ``adhesion-stats crate``: a new folder with the record and what describes it to an archive."""
    from adhesion_stats.record.crate import crate_files

    date = None
    if arguments.date is not None:
        try:
            date = dt.date.fromisoformat(arguments.date)
        except ValueError as error:
            raise WrongUsage(f"--date takes a day such as 2026-05-04; came: {arguments.date!r}.") from error
    record = record_of(receive(arguments.folder))
    if record.problems or record.results is None:
        print(f"{arguments.folder} is damaged or altered; audit it.", file=sys.stderr)  # noqa: T201 - a command
        return ALTERED
    people = {role: str(getattr(arguments, role)) for role in ("author", "publisher", "agent")}
    files = crate_files(
        record.received.files, record.manifest, record.results, date=date, license_=arguments.license, people=people
    )
    with new_folder(arguments.output) as inside:
        for name, content in files.items():
            put(inside, name, content)
    print(f"Crate: {arguments.output}")  # noqa: T201 - a command
    return REPRODUCED
