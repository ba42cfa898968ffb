"""A new folder that is there whole or not at all.

The files are written into a private temporary folder beside the target, brought to the disk, and moved into place by
one rename. Whoever looks sees either no target or the finished one: after an error, after Ctrl-C, after a kill at any
moment, with two runs at once. What a killed run leaves behind is a hidden folder with the ending ``.unfinished``,
which nothing takes for a record.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
import signal
import threading
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

from adhesion_stats.errors import UnwritableFolder
from adhesion_stats.messages import Message, Severity

__all__ = ["UNFINISHED", "new_folder", "put", "unfinished"]

UNFINISHED = ".unfinished"
_LONGEST_STEM = 40  # of the target's name inside the temporary one, so that a long name stays within 255 bytes
_TAKEN = {errno.EEXIST, errno.ENOTEMPTY, errno.ENOTDIR, errno.EISDIR}


def _refuse(code: str, **facts: str) -> UnwritableFolder:
    return UnwritableFolder([Message(code, Severity.ERROR, facts=facts)])


def _problem(error: OSError) -> str:
    return error.strerror or type(error).__name__


def put(folder: Path, name: str, content: bytes) -> Path:
    """Write a new file ``name`` (a plain file name) into ``folder``; an existing one is never overwritten.

    Raises
    ------
    ValueError
        When ``name`` would lead out of the folder.
    FileExistsError
        When the file is there already.
    """
    if name in {"", ".", ".."} or any(sign in name for sign in ("/", "\\", "\0")) or Path(name).name != name:
        raise ValueError(f"{name!r} is no plain file name")
    path = folder / name
    with path.open("xb") as file:
        file.write(content)
    return path


def unfinished(target: Path) -> list[Path]:
    """Return what earlier runs for ``target`` left behind when they were killed (or are still writing), sorted."""
    start = f".{target.name[:_LONGEST_STEM]}."
    if not target.parent.is_dir():
        return []
    return sorted(p for p in target.parent.iterdir() if p.name.startswith(start) and p.name.endswith(UNFINISHED))


@contextlib.contextmanager
def new_folder(target: Path) -> Iterator[Path]:
    """Give a private temporary folder to write into; on success it becomes ``target`` by one rename.

    Missing parent folders are made. A termination signal (SIGTERM, SIGHUP) that would end the process at once unwinds
    it instead, so that the temporary folder goes too; only in the main thread, and only while inside.

    Parameters
    ----------
    target
        The folder to make; nothing may be there, neither at the start nor at the end.

    Yields
    ------
    pathlib.Path
        The folder to write into: empty, on the same file system, readable by its owner alone.

    Raises
    ------
    UnwritableFolder
        When ``target`` exists, appears meanwhile, or can't be made.
    ValueError
        When the block succeeds without writing anything.
    """
    # A target such as "reports/.." has no name of its own.
    target = Path(os.path.abspath(target))  # noqa: PTH100 - resolve() would follow a link at the target itself
    if os.path.lexists(target):
        raise _refuse("folder_exists", folder=str(target))
    made: list[Path] = []
    stage = target.parent / f".{target.name[:_LONGEST_STEM]}.{secrets.token_hex(8)}{UNFINISHED}"
    try:
        with _termination_unwinds():
            content = _prepare(target, stage, made)
            yield content
            _publish(content, target)
    except BaseException as error:
        # The stage first, then the parents that were made for this run and are empty again.
        _remove(stage, error)
        for parent in reversed(made):
            with contextlib.suppress(OSError):  # somebody else uses it by now
                parent.rmdir()
        raise
    _remove(stage, None)


def _prepare(target: Path, stage: Path, made: list[Path]) -> Path:
    """Make the parents (noted in ``made``) and the stage; return the folder to write into."""
    try:
        for parent in reversed([target.parent, *target.parent.parents]):
            if not parent.is_dir():
                with contextlib.suppress(FileExistsError):
                    parent.mkdir()
                    made.append(parent)
        stage.mkdir(mode=0o700)
        # The stage keeps others out; the folder inside already has the rights that the finished one shall have.
        content = stage / "record"
        content.mkdir()
    except OSError as error:
        raise _refuse("folder_unwritable", folder=str(target), problem=_problem(error)) from error
    return content


def _publish(content: Path, target: Path) -> None:
    """Bring ``content`` to the disk and rename it to ``target``."""
    if not any(content.iterdir()):
        # An empty folder would be replaced by the rename of a second run: both would believe to have won.
        raise ValueError("nothing was written into the new folder")
    try:
        _sync(content)
        # POSIX renames onto an existing empty folder; look again, so that only one made in this very instant, with
        # nothing in it to lose, could be replaced. Everything else at the target makes the rename itself fail.
        if os.path.lexists(target):
            raise _refuse("folder_appeared", folder=str(target))
        content.rename(target)
        _sync_entries(target.parent)
    except OSError as error:
        if error.errno in _TAKEN or isinstance(error, FileExistsError):
            raise _refuse("folder_appeared", folder=str(target)) from error
        raise _refuse("folder_unwritable", folder=str(target), problem=_problem(error)) from error


def _sync(folder: Path) -> None:
    """Bring every file and folder below ``folder`` to the disk."""
    for path in sorted(folder.rglob("*")):
        if path.is_dir():
            _sync_entries(path)
        else:
            with path.open("rb+") as file:
                os.fsync(file.fileno())
    _sync_entries(folder)


def _sync_entries(folder: Path) -> None:
    """Bring the list of names in ``folder`` to the disk, where the system can."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        # Some network and FUSE file systems have no such call for folders; the files themselves are safe by then.
        if error.errno not in {errno.EINVAL, errno.ENOTSUP}:
            raise
    finally:
        os.close(descriptor)


def _remove(stage: Path, error: BaseException | None) -> None:
    """Remove the temporary folder; where that fails, say so on the error under way."""
    if not os.path.lexists(stage):
        return
    shutil.rmtree(stage, ignore_errors=True)
    if error is not None and os.path.lexists(stage):
        error.add_note(f"An unfinished folder could not be removed and may be deleted: {stage}")


@contextlib.contextmanager
def _termination_unwinds() -> Iterator[None]:
    """Let signals that would end the process at once raise ``SystemExit`` (128 + number) instead."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def unwind(number: int, _frame: FrameType | None) -> None:
        raise SystemExit(128 + number)

    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]
    ours = [number for number in numbers if signal.getsignal(number) is signal.SIG_DFL]
    try:
        for number in ours:
            signal.signal(number, unwind)
        yield
    finally:
        for number in ours:
            signal.signal(number, signal.SIG_DFL)
