"""Sheets that are not one plain table -> plain tables: groups side by side, readings of a zone in one row, several
tables.

Only where the headings leave one way to read them; row numbers of the file are kept.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from adhesion_stats.intake.cells import as_lists, rows_where
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.headings import understand
from adhesion_stats.intake.quantities import is_unit
from adhesion_stats.intake.summary_rows import summary_kind

if TYPE_CHECKING:
    from adhesion_stats.intake.grid import Detail, Grid
    from adhesion_stats.intake.heading_rows import HeadingRow

__all__ = ["Unfolded", "tables_of", "unfold_groups", "unfold_rows"]

_MEASURES = frozenset({"strength", "load"})
_WIDEST = 200  # columns among which repeating sets are looked for
_NUMBERED = re.compile(r"(?P<stem>[^\d\[\](]*?)\s*(?P<number>\d{1,2})\s*(?:[\[(](?P<unit>[^\])]+)[\])])?")
_STEMS = frozenset(
    {
        "",
        "pull",
        "test",
        "reading",
        "value",
        "strength",
        "no",
        "nr",
        "p",
        "f",
        "t",
        "v",
        "x",
        "m",
        "wert",
        "messwert",
        "versuch",
        "probe",
        "einzelwert",
        "essai",
        "mesure",
        "valeur",
        "ensayo",
        "valor",
        "prova",
        "valore",
        "result",
        "ergebnis",
        "sample",
        "specimen",
        "n",
        "pull no",
        "test no",
        "mpa",
        "dolly",
        "disc",
    }
)


# No heading and no unit holds a digit but 2 (mm2, in2); to the others it is the same, so that ids are not asked singly.
_ALIKE = str.maketrans("01345678", "9" * 8)


@dataclass(frozen=True)
class Unfolded:
    """A plain grid, the index of its heading row, the names of the groups, and how many blank cells were no pulls."""

    grid: Grid
    heading: int
    names: tuple[str, ...]
    blanks: tuple[tuple[int, str, str], ...]
    left: tuple[tuple[int, str, str], ...] = ()  # rows with texts in none of these columns


def tables_of(grid: Grid, heading: HeadingRow) -> list[Grid]:
    """Cut a sheet at every further row of headings that differs from the first; one grid a table."""
    starts = []
    at = next((c for c, text in enumerate(heading.texts) if understand(text).field in _MEASURES), 0)
    for i in rows_where(grid.rows, at, heading.first, lambda cell: not cell[:1].isdigit()):
        texts = [cell.strip() for cell in grid.rows[i]]  # headings don't begin with a digit
        filled = [text for text in texts if text]
        if len(filled) < 2 or any(text[0].isdigit() for text in filled):
            continue
        fields = {said.field for text in filled if (said := understand(text.translate(_ALIKE))).field}
        padded = texts + [""] * (len(heading.texts) - len(texts))
        same = all(fold(text) == fold(known) for text, known in zip(padded, heading.texts, strict=False) if text)
        if len(fields) >= 2 and fields & _MEASURES and not same:
            starts.append(i)
    if not starts:
        return [grid]
    grid = as_lists(grid)
    edges = [0, *starts, len(grid.rows)]
    return [_part(grid, first, last) for first, last in itertools.pairwise(edges)]


def _part(grid: Grid, first: int, last: int) -> Grid:
    details = {(r - first, c): detail for (r, c), detail in grid.details.items() if first <= r < last}
    merged = tuple((a - first, b, c - first, d) for a, b, c, d in grid.merged if first <= a and c < last)
    hidden = frozenset(r - first for r in grid.hidden_rows if first <= r < last)
    return replace(
        grid,
        rows=grid.rows[first:last],
        numbers=grid.numbers[first:last],
        details=details,
        merged=merged,
        hidden_rows=hidden,
    )


def unfold_groups(grid: Grid, heading: HeadingRow) -> Unfolded | None:
    """Columns that repeat side by side, each set under a group name (or with a zone of its own) -> one table."""
    texts = list(heading.texts)
    found = _repeats(texts)
    if found is None:
        return None
    start, period, count = found
    blocks = [list(range(start + j * period, min(start + (j + 1) * period, len(texts)))) for j in range(count)]
    own_zone = any(understand(texts[c]).field == "zone" for c in blocks[0])
    shared = [c for c in range(len(texts)) if c < start]
    names = ["" for _ in blocks] if own_zone else _group_names(grid, heading.rows[0] - 1, blocks)
    if names is None and period == 1 and not any(understand(texts[c]).field == "zone" for c in shared):
        names = _zone_names(grid, heading, blocks)
    if names is None:
        return None
    labels = [texts[c] for c in shared], [texts[c] for c in blocks[0] if texts[c]]
    return _unfold(grid, heading, shared, blocks, labels, names, "" if own_zone else "zone")


def _repeats(texts: list[str]) -> tuple[int, int, int] | None:
    """(first column, columns a set, number of sets) of headings that repeat up to the last column, with a measure in
    each.
    """
    if len(texts) > _WIDEST:
        return None
    keys = [fold(text) for text in texts]
    for start in range(len(keys)):
        for period in range(1, (len(keys) - start + 1) // 2 + 1):
            count, rest = divmod(len(keys) - start, period)
            if count + (1 if rest else 0) < 2:
                continue
            if rest and rest != period - 1:
                continue
            if rest:  # the blank column that parts two sets is missing after the last one
                if keys[start + period - 1]:
                    continue
                count += 1
            same = all(keys[start + k] == keys[start + k % period] for k in range(len(keys) - start))
            if same and any(understand(text).field in _MEASURES for text in texts[start : start + period]):
                return start, period, count
    return None


def _group_names(grid: Grid, above: int, blocks: list[list[int]]) -> list[str] | None:
    """The one text that stands above each set of columns; None where there is none or two are alike."""
    if above < 0:
        return None
    row = grid.rows[above]
    names = []
    for block in blocks:
        said = [row[c].strip() for c in block if c < len(row) and row[c].strip()]
        if len(said) != 1:
            return None
        names.append(said[0])
    return names if len(set(names)) == len(names) else None


def _zone_names(grid: Grid, heading: HeadingRow, blocks: list[list[int]]) -> list[str] | None:
    """Names of columns of one measure each, which stand in a row of the heading itself and each say that it is a zone
    ("Zone A | Zone B" over "MPa | MPa").
    """
    names = _group_names(grid, heading.index - 1, blocks)
    return names if names and all(understand(name).field == "zone" for name in names) else None


def unfold_rows(grid: Grid, unit: str) -> Unfolded | None:
    """One row a zone with its readings side by side under numbered headings -> one row a reading.

    ``unit`` is that of the strengths where no heading says it.
    """
    for i, row in enumerate(grid.rows[:50]):
        cells = [cell.strip() for cell in row]
        matches = [(c, found) for c, cell in enumerate(cells) if (found := _numbered(cell))]
        run = _run(matches)
        others = [c for c, cell in enumerate(cells) if cell and c not in {c for c, _ in run}]
        zone = [c for c in others if understand(cells[c]).field == "zone"]
        if (
            len(run) < 2
            or len(zone) != 1
            or any(_is_measure(cells[c]) for c in others)
            or (_measured_stem(run[0][1]) and not _one_row_each(grid, i, zone[0]))
        ):
            continue
        said = next((found["unit"] for _, found in run if found["unit"] and is_unit(found["unit"], "strength")), "")
        stem = run[0][1]["stem"].strip()
        said = (
            said or (stem if is_unit(stem, "strength") else "") or _unit_beside(grid, i, cells) or _unit_above(grid, i)
        )
        said = said or unit
        if not said:
            continue
        shared = [c for c in others if understand(cells[c]).field not in {"", "unit", "strength", "load"}]
        labels = [cells[c] for c in shared], [f"strength [{said}]"]
        from adhesion_stats.intake.heading_rows import HeadingRow

        heading = HeadingRow(i, i + 1, tuple(cells), ("",) * len(cells), (i,))
        return _unfold(
            grid,
            heading,
            shared,
            [[c] for c, _ in run],
            labels,
            [found.string[: found.end("number")] for _, found in run],
            "id",
        )
    return None


def _numbered(cell: str) -> re.Match[str] | None:
    """A heading that ends in a number, with its unit in brackets or behind ("f1 MPa", "Test 2", "Zug 3 [N/mm²]")."""
    if not 0 < len(cell) <= 60:
        return None
    name, _, last = cell.rpartition(" ")
    return _NUMBERED.fullmatch(
        f"{name} [{last}]" if name and last[0] not in "[(" and is_unit(last, "strength") else cell
    )


def _is_measure(heading: str) -> bool:
    """Whether a heading names a strength or load that is no mean or other summary ("fm MPa")."""
    said = understand(heading)
    bare = fold(heading.replace(said.unit, "")) if said.unit else fold(heading)
    return said.field in _MEASURES and not summary_kind(heading) and bare not in {"fm", "f m", "xm", "fmean", "f mean"}


def _measured_stem(found: re.Match[str]) -> bool:
    """Whether the numbered headings name a strength themselves."""
    return fold(found["stem"]) not in _STEMS and understand(found["stem"]).field == "strength"


def _one_row_each(grid: Grid, index: int, zone: int) -> bool:
    """Whether each zone has one row, so that numbered strengths beside it are readings and no steps of one pull."""
    names = [row[zone].strip() for row in grid.rows[index + 1 :] if zone < len(row) and row[zone].strip()]
    return len(names) == len(set(names))


def _unit_beside(grid: Grid, index: int, cells: list[str]) -> str:
    """The one unit in a column of units; "" where there is none or they differ."""
    at = [c for c, cell in enumerate(cells) if understand(cell).field == "unit"]
    found = {row[c].strip() for c in at for row in grid.rows[index + 1 :] if c < len(row)} - {""}
    unit = found.pop() if len(found) == 1 else ""
    return unit if is_unit(unit, "strength") else ""


def _unit_above(grid: Grid, index: int) -> str:
    for row in grid.rows[max(0, index - 3) : index]:
        for cell in row:
            said = understand(cell.strip())
            if said.field == "strength" and said.unit:
                return said.unit
    return ""


def _run(matches: list[tuple[int, re.Match[str]]]) -> list[tuple[int, re.Match[str]]]:
    """Longest run of neighbouring columns with one stem and numbers that count up by one."""
    best: list[tuple[int, re.Match[str]]] = []
    current: list[tuple[int, re.Match[str]]] = []
    for c, found in matches:
        stem = fold(found["stem"])
        known = stem in _STEMS or is_unit(found["stem"], "strength") or _measured_stem(found)
        follows = (
            current
            and c == current[-1][0] + 1
            and stem == fold(current[-1][1]["stem"])
            and int(found["number"]) == int(current[-1][1]["number"]) + 1
        )
        current = [*current, (c, found)] if follows else [(c, found)] if known else []
        best = max(best, current, key=len)
    return best


def _unfold(
    grid: Grid,
    heading: HeadingRow,
    shared: list[int],
    blocks: list[list[int]],
    labels: tuple[list[str], list[str]],
    names: list[str],
    field: str,
) -> Unfolded:
    """Put the sets of columns below each other; ``field`` is the column that gets the names of the sets."""
    grid = as_lists(grid)
    first = heading.rows[0]
    head = [*labels[0], *labels[1], *([field] if field else [])]
    rows: list[list[str]] = [*grid.rows[:first], head]
    numbers = [*grid.numbers[:first], grid.numbers[heading.index]]
    details: dict[tuple[int, int], Detail] = {key: detail for key, detail in grid.details.items() if key[0] < first}
    blanks: list[tuple[int, str, str]] = []
    hidden: set[int] = set()
    kept = [c for c in blocks[0] if heading.texts[c]]
    offsets = [c - blocks[0][0] for c in kept]

    def cell(r: int, c: int) -> str:
        return grid.rows[r][c] if c < len(grid.rows[r]) else ""

    for j, block in enumerate(blocks):
        for r in range(heading.first, len(grid.rows)):
            columns = [block[0] + offset for offset in offsets]
            mine = any(cell(r, c).strip() for c in columns)
            lone = not any(cell(r, c).strip() for other in blocks for c in other) and any(
                cell(r, c).strip() for c in shared
            )
            if not mine and not (lone and j == 0):
                if not lone and any(cell(r, c).strip() for c in shared):
                    blanks.append((grid.numbers[r], names[j], ""))
                continue
            source = [*shared, *columns]
            for k, c in enumerate(source):
                if (r, c) in grid.details:
                    details[len(rows), k] = grid.details[r, c]
            if r in grid.hidden_rows or not grid.hidden_columns.isdisjoint(columns):
                hidden.add(len(rows))
            rows.append([*(cell(r, c) for c in source), *([names[j] if mine else ""] if field else [])])
            numbers.append(grid.numbers[r])
    known = {*shared, *(c for block in blocks for c in block)}
    left = tuple(
        (grid.numbers[r], "", " | ".join(text.strip() for text in grid.rows[r] if text.strip())[:120])
        for r in range(heading.first, len(grid.rows))
        if not grid.is_blank(r) and not any(cell(r, c).strip() for c in known)
    )
    plain = replace(
        grid,
        rows=rows,
        numbers=numbers,
        details=details,
        merged=(),
        hidden_rows=frozenset(hidden),
        hidden_columns=frozenset(k for k, c in enumerate(shared) if c in grid.hidden_columns),
    )
    return Unfolded(plain, first, tuple(name for name in names if name), tuple(blanks), left)
