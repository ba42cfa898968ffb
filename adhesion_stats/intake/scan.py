"""Text of a separated file -> rows of cells with their line numbers. Quotes are honoured; an open one is found, not
swallowed.

Knows separators, quotes and lines; not headings, numbers or what a column means.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass

__all__ = ["NO_SEPARATOR", "SEPARATORS", "BadQuote", "Scanned", "lines_of", "plain_rows", "scan"]

SEPARATORS = (";", "\t", ",", "|")
NO_SEPARATOR = "none"


@dataclass(frozen=True, slots=True)
class BadQuote:
    """A quote mark opened at ``line`` that is closed nowhere, or not where a cell ends."""

    line: int
    text: str
    column: int


@dataclass(frozen=True)
class Scanned:
    """Rows, the line on which each begins, and the quotes that went wrong (their lines are then taken literally)."""

    rows: list[list[str]]
    numbers: list[int]
    bad_quotes: tuple[BadQuote, ...] = ()


def lines_of(text: str) -> list[str]:
    """Lines of a text, whatever system ended them; nothing but line feeds and carriage returns ends a line."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines and lines[-1] == "":
        lines.pop()
    return lines


def scan(lines: list[str], separator: str) -> Scanned:
    """Split lines into cells. A quoted cell may hold separators, doubled quotes and line breaks."""
    if separator == NO_SEPARATOR:
        return Scanned([[line] for line in lines], list(range(1, len(lines) + 1)))
    plain = plain_rows(lines, separator)
    if plain is not None:
        return Scanned(plain, list(range(1, len(lines) + 1)))
    rows: list[list[str]] = []
    numbers: list[int] = []
    bad: list[BadQuote] = []
    index = 0
    while index < len(lines):
        line = lines[index]
        numbers.append(index + 1)
        if '"' not in line:
            rows.append(line.split(separator))
            index += 1
            continue
        cells, after, problem = _quoted(lines, index, separator)
        if problem is not None or _swallowed(lines[index:after], separator, len(cells)):
            bad.append(problem or _first_open(lines, index, separator))
            cells, after = line.split(separator), index + 1
        rows.append(cells)
        index = after
    return Scanned(rows, numbers, tuple(bad))


def plain_rows(lines: list[str], separator: str) -> list[list[str]] | None:
    """Rows of a text in which every quoted cell is well formed and within its line; None for any other text."""
    loose = f'{separator} "'
    if any(loose in line for line in lines if '"' in line):
        return None
    try:
        rows = list(csv.reader(lines, delimiter=separator, strict=True))
    except csv.Error:
        return None
    return rows if len(rows) == len(lines) else None


def _swallowed(lines: list[str], separator: str, width: int) -> bool:
    """Whether a cell over several lines looks like whole rows that an open quote ran over."""
    return len(lines) > 1 and width > 1 and all(line.count(separator) + 1 == width for line in lines)


def _first_open(lines: list[str], index: int, separator: str) -> BadQuote:
    for column, cell in enumerate(lines[index].split(separator)):
        if cell.lstrip(" ").startswith('"'):
            return BadQuote(index + 1, cell.strip(), column)
    return BadQuote(index + 1, lines[index], 0)


def _quoted(lines: list[str], index: int, separator: str) -> tuple[list[str], int, BadQuote | None]:
    """Cells of the record that begins on line ``index``, index of the line after it, and what went wrong."""
    cells: list[str] = []
    line, at = lines[index], 0
    while True:
        start = at
        while start < len(line) and line[start] == " ":
            start += 1
        if not line.startswith('"', start):
            end = line.find(separator, at)
            cells.append(line[at:] if end < 0 else line[at:end])
        else:
            opened = BadQuote(index + 1, line[start:].partition(separator)[0], len(cells))
            text, line, index, end = _cell(lines, index, start + 1)
            if end < 0:
                return cells, index, opened
            rest = line[end:].partition(separator)
            if rest[0].strip(" "):
                return cells, index, opened
            cells.append(text)
            end = end + len(rest[0]) if rest[1] else -1
        if end < 0:
            return cells, index + 1, None
        at = end + len(separator)


def _cell(lines: list[str], index: int, at: int) -> tuple[str, str, int, int]:
    """Text of a quoted cell, then line, its index and the place behind the closing quote (-1: never closed)."""
    parts: list[str] = []
    line = lines[index]
    while True:
        close = line.find('"', at)
        if close < 0:
            parts.append(line[at:])
            index += 1
            if index >= len(lines):
                return "", "", index, -1
            parts.append("\n")
            line, at = lines[index], 0
        elif line.startswith('"', close + 1):
            parts.append(line[at : close + 1])
            at = close + 2
        else:
            parts.append(line[at:close])
            return "".join(parts), line, index, close + 1
