"""Bytes of a plain file, and of nothing else: a pipe would wait for ever, a device would never end.

Imports: the standard library.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

__all__ = ["MOST_BYTES", "read_plain"]

MOST_BYTES = 1024 * 2**20


def read_plain(path: Path, *, most: int = MOST_BYTES, follow: bool = True) -> bytes:
    """Return the bytes of a plain file.

    Parameters
    ----------
    path
        The file.
    most
        Number of bytes that are read at most; a larger file is refused.
    follow
        Whether a link is followed, where the system can tell.

    Raises
    ------
    OSError
        When there is none, it is no plain file, or it is too large.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    # Not every system has this flag: without it a link is followed all the same.
    handle = os.open(path, flags if follow else flags | getattr(os, "O_NOFOLLOW", 0))
    with os.fdopen(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "it is no plain file but a pipe, a device or the like")
        content = file.read(most + 1)
    if len(content) > most:
        raise OSError(errno.EFBIG, f"it has more than {most >> 20} MB")
    return content
