"""Where files come in: specification and readings become values. The bytes are read once and hashed as read."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.intake import Reading, read_bytes, understand_bytes
from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.plain_file import read_plain
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification

__all__ = [
    "file_content",
    "layout_content",
    "layout_from",
    "layout_in_force",
    "layout_of",
    "read_readings",
    "read_specification",
    "readings_from",
    "specification_from",
    "understood_layout",
]


def layout_of(specification: Specification | None) -> Layout | None:
    """Return the readings layout that the specification carries in its table ``[readings]``, if any."""
    if specification is None or specification.readings is None:
        return None
    return Layout.from_mapping(specification.readings, file=specification.file)


def file_content(path: Path, error: type[UnusableReadings | InvalidSpecification]) -> bytes:
    """Return the bytes of a file; raise ``error`` with its message where it can't be read."""
    try:
        return read_plain(path)
    except OSError as problem:
        facts = {"problem": problem.strerror or str(problem)}
        raise error([Message("file_not_readable", Severity.ERROR, Place(str(path)), facts)]) from problem


def layout_from(content: bytes, *, file: str) -> Layout:
    """Read a layout from the bytes of a file called ``file``. Raises ``InvalidSpecification``."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        facts = {"problem": f"byte {problem.start + 1} is no text in UTF-8"}
        raise InvalidSpecification([Message("layout_not_toml", Severity.ERROR, Place(file), facts)]) from problem
    return Layout.from_toml(text, file=file)


def layout_in_force(
    layout: Layout | None, specification: Specification | None, *, file: str
) -> tuple[Layout | None, tuple[Message, ...]]:
    """Return the layout to read by, and what is to be said about it.

    A layout file beats the table ``[readings]`` of the specification key by key; what it leaves open is taken from
    there. Every key that both give, and not alike, is named.
    """
    contract = layout_of(specification)
    if layout is None or contract is None or specification is None:
        return layout or contract, ()
    differing = layout.differs_from(contract)
    facts: dict[str, Fact] = {"specification": specification.file, "keys": differing or ("none of its keys",)}
    said = Message("layout_over_specification", Severity.WARNING if differing else Severity.NOTE, Place(file), facts)
    return layout.with_defaults_of(contract), (said,)


def readings_from(
    content: bytes,
    *,
    file: str,
    specification: Specification | None = None,
    layout: tuple[str, bytes] | None = None,
) -> Reading:
    """Read readings from the bytes of a file called ``file``; ``layout``: name and bytes of a layout file.

    Raises ``UnusableReadings`` with every problem of the readings, ``InvalidSpecification`` for those of the layout.
    """
    given = None if layout is None else layout_from(layout[1], file=layout[0])
    used, said = layout_in_force(given, specification, file="" if layout is None else layout[0])
    try:
        reading = read_bytes(content, file=file, layout=used)
    except UnusableReadings as refused:
        raise UnusableReadings((*refused.messages, *said)) from refused
    source = None if layout is None else (layout[0], hashlib.sha256(layout[1]).hexdigest())
    return replace(reading, messages=(*reading.messages, *said), layout_source=source)


def specification_from(content: bytes, *, file: str) -> Specification:
    """Read a specification from the bytes of a file called ``file``. Raises ``InvalidSpecification``."""
    specification = parse_specification(content, file=file)
    layout_of(specification)  # a layout that can't be used is a fault of the specification, said here
    return specification


def read_readings(
    path: str | Path, specification: Specification | None = None, layout: str | Path | None = None
) -> Reading:
    """Read a readings file (CSV, XLSX, ODS, Parquet): pulls, messages about them, and the layout as understood.

    Parameters
    ----------
    path
        The readings file.
    specification
        Its table ``[readings]``, if it has one, is a layout that decides what the file alone leaves open.
    layout
        A layout file (TOML), which beats that table key by key; None or "" for none.

    Raises
    ------
    UnusableReadings
        With every problem of the readings file.
    InvalidSpecification
        With every problem of the layout file.
    """
    file = Path(path)
    content = file_content(file, UnusableReadings)
    return readings_from(content, file=file.name, specification=specification, layout=layout_content(layout))


def understood_layout(
    path: str | Path, specification: Specification | None = None, layout: str | Path | None = None
) -> Layout:
    """Return the layout of a readings file as far as it can be understood, also where the file can't be used.

    Parameters as for :func:`read_readings`.
    """
    file = Path(path)
    given = layout_content(layout)
    written = None if given is None else layout_from(given[1], file=given[0])
    used, _ = layout_in_force(written, specification, file="" if given is None else given[0])
    return understand_bytes(file_content(file, UnusableReadings), file=file.name, layout=used)[0]


def layout_content(path: str | Path | None) -> tuple[str, bytes] | None:
    """Return name and bytes of a layout file, None for none. Raises ``InvalidSpecification`` where it can't be read."""
    if path is None or path == "":
        return None
    file = Path(path)
    return file.name, file_content(file, InvalidSpecification)


def read_specification(path: str | Path) -> Specification:
    """Read a specification (TOML). Raises ``InvalidSpecification`` with every problem of the file."""
    file = Path(path)
    return specification_from(file_content(file, InvalidSpecification), file=file.name)
