"""What the reader of OpenDocument spreadsheets does not tell: which rows and columns of a sheet are hidden or filtered.

Also whether the XML is whole: the reader does not end on one that is cut off. Must not know cells; ``guard`` has looked
at the container before.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from xml.etree import ElementTree as ET

__all__ = ["Hidden", "hidden_of"]

Hidden = tuple[list[tuple[int, int]], list[tuple[int, int]]]  # (first, how many) of rows, and of columns
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_GONE = frozenset({"collapse", "filter"})


def hidden_of(parts: Mapping[str, bytes]) -> list[Hidden]:
    """Hidden rows and columns of each sheet, in order; none where the workbook is no OpenDocument.

    Raises ``ET.ParseError`` for XML that is not whole, ``ValueError`` for a number of repeats that is none.

    >>> hidden_of({})
    []
    """
    content = parts.get("content.xml")
    if content is None:
        return []
    found: list[Hidden] = []
    at = {"row": 0, "column": 0}
    depth = 0
    # Document types, and with them entities, were refused by guard.
    for event, element in ET.iterparse(io.BytesIO(content), events=("start", "end")):  # noqa: S314 - see above
        tag = element.tag.removeprefix(_TABLE)
        if event == "end":
            depth -= tag == "table"
            element.clear()
        elif tag == "table":
            depth += 1
            if depth == 1:
                found.append(([], []))
                at = {"row": 0, "column": 0}
        elif depth == 1 and tag in {"table-row", "table-column"}:
            kind = tag.removeprefix("table-")
            many = int(element.get(f"{_TABLE}number-{kind}s-repeated", "1"))
            if element.get(f"{_TABLE}visibility") in _GONE:
                found[-1][kind == "column"].append((at[kind], many))
            at[kind] += many
    return found
