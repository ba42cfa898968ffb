"""Where files come in: specification and readings become values. The bytes are read once and hashed as read."""

from __future__ import annotations

from pathlib import Path

from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.intake import Reading, read_bytes
from adhesion_stats.messages import Message, Place, Severity
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification

__all__ = [
    "file_content",
    "layout_of",
    "read_readings",
    "read_specification",
    "readings_from",
    "specification_from",
]


def layout_of(specification: Specification | None) -> Layout | None:
    """Return the readings layout that the specification carries in its table ``[readings]``, if any."""
    if specification is None or specification.readings is None:
        return None
    return Layout.from_mapping(specification.readings, file=specification.file)


def file_content(path: Path, error: type[UnusableReadings | InvalidSpecification]) -> bytes:
    """Return the bytes of a file; raise ``error`` with its message where it can't be read."""
    try:
        return path.read_bytes()
    except OSError as problem:
        facts = {"problem": problem.strerror or str(problem)}
        raise error([Message("file_not_readable", Severity.ERROR, Place(str(path)), facts)]) from problem


def readings_from(content: bytes, *, file: str, specification: Specification | None = None) -> Reading:
    """Read readings from the bytes of a file called ``file``. Raises ``UnusableReadings`` with every problem."""
    return read_bytes(content, file=file, layout=layout_of(specification))


def specification_from(content: bytes, *, file: str) -> Specification:
    """Read a specification from the bytes of a file called ``file``. Raises ``InvalidSpecification``."""
    specification = parse_specification(content, file=file)
    layout_of(specification)  # a layout that can't be used is a fault of the specification, said here
    return specification


def read_readings(path: str | Path, specification: Specification | None = None) -> Reading:
    """Read a readings file (CSV, XLSX): pulls, messages about them, and the layout as understood.

    Where the specification has a table ``[readings]``, that layout decides what the file alone leaves open.
    Raises ``UnusableReadings`` with every problem of the file.
    """
    file = Path(path)
    return readings_from(file_content(file, UnusableReadings), file=file.name, specification=specification)


def read_specification(path: str | Path) -> Specification:
    """Read a specification (TOML). Raises ``InvalidSpecification`` with every problem of the file."""
    file = Path(path)
    return specification_from(file_content(file, InvalidSpecification), file=file.name)
