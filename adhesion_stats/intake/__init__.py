"""Readings file -> pulls, in three steps: a grid of cells, a layout (proposed or given), a strict read by that layout.

Must not know judging, acceptance, statistics or reports.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from adhesion_stats.intake.form import FormRow, blank_form, readings_form
from adhesion_stats.intake.read import Reading, read, understand_file
from adhesion_stats.terms.layout import Layout

if TYPE_CHECKING:
    from adhesion_stats.messages import Message

__all__ = ["FormRow", "Reading", "blank_form", "read_bytes", "read_file", "readings_form", "understand_bytes"]


def read_bytes(content: bytes, *, file: str, layout: Layout | None = None) -> Reading:
    """Read the pulls of a file from its bytes (CSV, XLSX, XLSM, ODS, Parquet; told by the bytes, not by the name).

    Parameters
    ----------
    content
        The whole file.
    file
        Its name, for messages.
    layout
        What a person decided about the file; whatever it leaves open is decided by the file itself, or asked.

    Raises
    ------
    UnusableReadings
        With every problem of the file, each with sheet, row, column and the text that can't be used.
    """
    return read(content, file=file, layout=layout or Layout())


def understand_bytes(content: bytes, *, file: str, layout: Layout | None = None) -> tuple[Layout, tuple[Message, ...]]:
    """Return the layout of a file as far as it can be understood, and what is said about the file; never refuses.

    Parameters as for :func:`read_bytes`.
    """
    return understand_file(content, file=file, layout=layout or Layout())


def read_file(path: str | Path, *, layout: Layout | None = None) -> Reading:
    """Read the pulls of a file; see :func:`read_bytes`. The file is read once and never written to."""
    place = Path(path)
    return read_bytes(place.read_bytes(), file=place.name, layout=layout)
