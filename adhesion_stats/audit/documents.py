"""Do page and notebook say what the results say, and is the notebook the one that the library ships?

The page is a function of the results: it is made again from the recorded ones and compared byte for byte. The notebook
inside the folder is never run; its cells are compared with the shipped one, and what they show with a run of the
shipped notebook on the raw files. Where other versions of the libraries that draw made the record, pictures can't be
compared byte for byte; then the text is, and that is said.
"""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.record import read_results

__all__ = ["CellChange", "check_cells", "check_outputs", "check_page"]

_LARGEST_DIFF = 4000  # characters of a changed cell that are shown


@dataclass(frozen=True, slots=True)
class CellChange:
    """A cell of the notebook that is not the shipped one: what it is about, and a difference of its lines."""

    cell: str
    what: str
    lines: tuple[str, ...]


_NAMES = re.compile(r"</?\s*([\w:-]+)|[\s\"'/]([\w:-]+)\s*=")
_LEADS_OUT = re.compile(
    r"href\s*=\s*[\"']?\s*(?!\s|[\"']?#)|url\(\s*[\"']?(?![\"']?#)|@import|javascript:", re.IGNORECASE
)


def _parts(page: str) -> tuple[str, str]:
    """A page without its pictures, and its pictures. By searching, not by a parser: a page may be made to stall one."""
    text, *rest = page.split("<svg")
    pictures: list[str] = []
    for part in rest:
        picture, end, after = part.partition("</svg>")
        if not end:  # no picture: it stays in the text, and differs there
            text += "<svg" + part
            continue
        pictures.append(picture)
        text += after
    return text, "\n".join(pictures)


def _vocabulary(pictures: str) -> set[str]:
    """Names of elements and attributes."""
    return {element or attribute for element, attribute in _NAMES.findall(pictures)}


def check_page(
    name: str,
    content: bytes,
    results: Mapping[str, object],
    revision: Mapping[str, object] | None,
    *,
    same_versions: bool,
) -> list[Message]:
    """Compare a received page with the page that the recorded results give."""
    from adhesion_stats.reporting.page import render_page

    expected = render_page(results, revision)
    if content == expected.encode():
        return []
    if same_versions:
        return [_said("audit_page_altered", name)]
    try:
        received = content.decode("utf-8")
    except UnicodeDecodeError:
        return [_said("audit_page_altered", name)]
    (text, pictures), (our_text, our_pictures) = _parts(received), _parts(expected)
    if text != our_text:
        return [_said("audit_page_differs", name, severity=Severity.WARNING)]
    if not _vocabulary(pictures) <= _vocabulary(our_pictures) or _LEADS_OUT.search(pictures):
        return [_said("audit_page_altered", name)]  # a picture that does something, or brings something from elsewhere
    return [_said("audit_pictures_not_compared", name, severity=Severity.NOTE)]


def read_notebook(content: bytes) -> dict[str, object] | None:
    """The notebook, as far as it is one: an object with a list of cells that are objects; else None."""
    try:
        found = read_results(content)
    except ValueError:
        return None
    cells = found.get("cells")
    return found if isinstance(cells, list) and all(isinstance(cell, dict) for cell in cells) else None


def check_cells(name: str, content: bytes, shipped: Mapping[str, object]) -> tuple[list[Message], list[CellChange]]:
    """Compare the cells of a received notebook with those of the shipped one, whatever they show."""
    received = read_notebook(content)
    if received is None:
        return [_said("audit_not_a_notebook", name)], []
    changes = list(_changed_cells(_cells(received), _cells(shipped)))
    return ([_said("audit_cells_changed", name, count=len(changes))] if changes else []), changes


def check_outputs(name: str, content: bytes, expected: bytes, *, same_versions: bool) -> list[Message]:
    """Compare a received notebook, its cells as shipped, with a run of the shipped one on the same raw files."""
    if content == expected:
        return []
    received, ours = read_notebook(content), read_notebook(expected)
    assert received is not None  # its cells were compared before
    assert ours is not None
    if _without_outputs(received) != _without_outputs(ours):
        return [_said("audit_notebook_altered", name)]
    if same_versions:
        return [_said("audit_outputs_altered", name)]
    if [_texts(cell) for cell in _cells(received)] != [_texts(cell) for cell in _cells(ours)]:
        return [_said("audit_outputs_differ", name, severity=Severity.WARNING)]
    return [_said("audit_pictures_not_compared", name, severity=Severity.NOTE)]


def _cells(notebook: Mapping[str, object]) -> list[dict[str, object]]:
    cells = notebook["cells"]
    assert isinstance(cells, list)
    return cells


def _said(code: str, name: str, *, severity: Severity = Severity.ERROR, **facts: Fact) -> Message:
    return Message(code, severity, Place(name), {"name": name, **facts})


def _source(cell: Mapping[str, object]) -> str:
    source = cell.get("source", "")
    return "".join(map(str, source)) if isinstance(source, list) else str(source)


def _changed_cells(
    received: Sequence[Mapping[str, object]], ours: Sequence[Mapping[str, object]]
) -> Iterator[CellChange]:
    """Cells whose kind, source or metadata is another one, that are missing, added or moved."""

    def key(cell: Mapping[str, object]) -> tuple[str, str, str]:
        return str(cell.get("cell_type")), _source(cell), json.dumps(cell.get("metadata"), sort_keys=True, default=str)

    left, right = [key(cell) for cell in received], [key(cell) for cell in ours]
    matcher = difflib.SequenceMatcher(a=right, b=left, autojunk=False)
    for what, a, b, c, d in matcher.get_opcodes():
        for i in range(max(b - a, d - c) if what != "equal" else 0):
            shipped = right[a + i] if a + i < b else None
            found = left[c + i] if c + i < d else None
            place = str((ours[a + i] if shipped is not None else received[c + i]).get("id", "without id"))
            kind = "added" if shipped is None else "missing" if found is None else "changed"
            yield CellChange(place[:60], kind, _difference(shipped, found))


def _difference(shipped: tuple[str, str, str] | None, found: tuple[str, str, str] | None) -> tuple[str, ...]:
    first = [] if shipped is None else [*shipped[1].splitlines(), f"[{shipped[0]}, {shipped[2]}]"]
    second = [] if found is None else [*found[1][:_LARGEST_DIFF].splitlines(), f"[{found[0]}, {found[2][:200]}]"]
    lines = difflib.unified_diff(first, second, "shipped", "received", lineterm="")
    return tuple(line[:400] for line in lines)[:80]


def _without_outputs(notebook: Mapping[str, object]) -> object:
    bare = [{k: v for k, v in cell.items() if k not in {"outputs", "execution_count"}} for cell in _cells(notebook)]
    return {**notebook, "cells": bare}


def _texts(cell: Mapping[str, object]) -> list[object]:
    """What a cell shows, without pictures."""
    outputs = cell.get("outputs", [])
    found: list[object] = []
    for output in outputs if isinstance(outputs, list) else []:
        if isinstance(output, dict):
            data = output.get("data")
            shown = {k: v for k, v in data.items() if k != "image/png"} if isinstance(data, dict) else None
            found.append({**output, "data": shown} if data is not None else output)
    return found
