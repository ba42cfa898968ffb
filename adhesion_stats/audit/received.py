"""A record as it was received: its files read once, as bytes, without trusting the folder they lie in.

Nothing of the folder is executed, followed or unpacked. A link, a folder, a device or a name that a record can't have
is refused as found; the bytes that are hashed are the bytes that everything after works on.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from adhesion_stats.errors import WrongUsage
from adhesion_stats.messages import Message, Place, Severity

__all__ = ["LARGEST_FILE", "LARGEST_RECORD", "MOST_FILES", "Received", "receive"]

MOST_FILES = 500
LARGEST_FILE = 400 * 2**20  # bytes; a page of 300 zones has 8 MiB
LARGEST_RECORD = 1000 * 2**20


@dataclass(frozen=True)
class Received:
    """The files of a folder by name, and what was found there that no record holds."""

    folder: Path
    files: Mapping[str, bytes]
    problems: tuple[Message, ...]


def receive(folder: Path) -> Received:
    """Read the files of ``folder``.

    Raises
    ------
    WrongUsage
        When there is no such folder, it can't be read, or it holds more than a record can.
    """
    try:
        if not folder.is_dir():
            raise WrongUsage(f"{folder} is no folder; name the folder of a record, such as reports/demo-run.")
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        raise WrongUsage(f"{folder} can't be read: {error.strerror}.") from error
    if len(entries) > MOST_FILES:
        raise WrongUsage(
            f"{folder} holds {len(entries)} entries; a record holds at most {MOST_FILES}. Is it the folder?"
        )
    files: dict[str, bytes] = {}
    problems: list[Message] = []
    for entry in entries:
        if not _is_text(entry.name):
            shown = entry.name.encode("utf-8", "backslashreplace").decode()
            problems.append(_found("audit_not_a_file", shown, kind="a name that is no text"))
            continue
        if entry.is_symlink() or not entry.is_file(follow_symlinks=False):
            kind = "a link" if entry.is_symlink() else "a folder" if entry.is_dir(follow_symlinks=False) else "no file"
            problems.append(_found("audit_not_a_file", entry.name, kind=kind))
            continue
        if entry.stat(follow_symlinks=False).st_size > LARGEST_FILE:
            raise WrongUsage(
                f"{entry.name} in {folder} is larger than any file of a record ({LARGEST_FILE >> 20} MiB)."
            )
        content = _content(Path(entry.path))
        if content is None:
            problems.append(_found("audit_unreadable", entry.name))
            continue
        files[entry.name] = content
        if sum(map(len, files.values())) > LARGEST_RECORD:
            raise WrongUsage(f"{folder} is larger than a record can be ({LARGEST_RECORD >> 20} MiB).")
    return Received(folder, files, tuple(problems))


def _is_text(name: str) -> bool:
    """Whether a name is valid Unicode; bytes of another alphabet reach Python as something that is not."""
    return not any("\ud800" <= c <= "\udfff" for c in name)


def _found(code: str, name: str, **facts: str) -> Message:
    return Message(code, Severity.ERROR, Place(name), {"name": name, **facts})


def _content(path: Path) -> bytes | None:
    """The bytes of a plain file; None where it became something else meanwhile or can't be read."""
    with contextlib.suppress(OSError), _opened(path) as handle:
        if stat.S_ISREG(os.fstat(handle).st_mode):
            with os.fdopen(os.dup(handle), "rb") as file:
                content = file.read(LARGEST_FILE + 1)
            return content if len(content) <= LARGEST_FILE else None
    return None


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[int]:
    # Not every system has these flags: without them a link put there since the look at the entry would be followed.
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    handle = os.open(path, flags)
    try:
        yield handle
    finally:
        os.close(handle)
