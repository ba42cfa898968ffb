"""Which row is the heading, and which column is what: the proposal of a layout, each part with its evidence.

A layout given by a person decides before the words of the headings do. Nothing is read here but headings and the rows
around them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from adhesion_stats.intake.cells import cells_of
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.headings import Heading, understand
from adhesion_stats.intake.quantities import dimensions
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.terms.layout import Evidence

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.terms.layout import Layout

__all__ = ["HeadingRow", "Plan", "find_heading", "first_table", "plan_columns"]

_SEARCH = 200  # rows in which a heading is looked for
_KEY_FIELDS = frozenset(
    {"zone", "id", "strength", "load", "diameter", "dolly", "area", "failure", "date", "unit", "bound", "lost", "share"}
)
_MEASURED = re.compile(r"\s*[<>≤≥]?\s*[-−]?\d+[.,]\d")  # a cell that begins so is a reading, no heading
_ZONE_INSTEAD = ("system", "primer", "panel")


@dataclass(frozen=True)
class HeadingRow:
    """Where the headings stand: index of the last heading row, of the first row below, texts and their meaning."""

    index: int
    first: int
    texts: tuple[str, ...]
    units: tuple[str, ...]  # of a row of units below the headings
    rows: tuple[int, ...] = ()  # indices of all heading and unit rows


@dataclass
class Plan:
    """Columns by field, and the columns of failure shares by code."""

    columns: dict[str, int] = field(default_factory=dict)
    shares: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    parallel: dict[str, list[tuple[int, str]]] = field(
        default_factory=dict
    )  # further columns of one quantity, other units
    unused: list[int] = field(default_factory=list)
    evidence: dict[str, Evidence] = field(default_factory=dict)


def _fields(texts: list[str]) -> set[tuple[str, str]]:
    return {(h.field, h.code) for text in texts if text.strip() and (h := understand(text.strip())).field}


def _measured(fields: set[tuple[str, str]]) -> bool:
    return bool({("strength", ""), ("load", "")} & fields)


def _joined(above: list[str], below: list[str]) -> list[str]:
    """Headings over two rows: the lower text where it says something, else both."""
    width = max(len(above), len(below))
    out = []
    for c in range(width):
        low = below[c].strip() if c < len(below) else ""
        high = above[c].strip() if c < len(above) else ""
        if low and high and _says_less(low, f"{high} {low}"):
            out.append(f"{high} {low}")
        else:
            out.append(low or high)
    return out


def _says_less(low: str, whole: str) -> bool:
    """Whether the lower text alone says less than with the one above it ("at failure" under "Load")."""
    alone, joined = understand(low), understand(whole)
    return not alone.field or (bool(joined.field) and joined.rank < alone.rank)


def _continues(above: list[str], below: list[str]) -> bool:
    """Whether every text of a row reads like a heading, a unit, or the rest of the heading above it."""
    for c, cell in enumerate(below):
        text = cell.strip()
        if not text:
            continue
        high = above[c].strip() if c < len(above) else ""
        whole = understand(f"{high} {text}").field if high else ""
        if text[0].isdigit() or not (understand(text).field or dimensions(text) or whole):
            return False
    return True


def _has_digit_below(grid: Grid, index: int, texts: list[str]) -> bool:
    measures = [c for c, text in enumerate(texts) if understand(text.strip()).field in {"strength", "load"}]
    for row in grid.rows[index + 1 : index + 6]:
        if any(c < len(row) and any(ch.isdigit() for ch in row[c]) for c in measures):
            return True
    return False


def find_heading(grid: Grid, layout: Layout) -> HeadingRow | None:
    """Return the heading row of a grid, or None where no row names a strength or a load."""
    if layout.heading_row is not None:
        if layout.heading_row not in grid.numbers:
            return None
        at = grid.numbers.index(layout.heading_row)
        return _with_unit_row(grid, at, [cell.strip() for cell in grid.rows[at]], (at,))
    wanted = {fold(text) for text in layout.columns.values()}
    best: tuple[tuple[int, bool, int], int, list[str], tuple[int, ...]] | None = None
    for i, row in enumerate(grid.rows[:_SEARCH]):
        if any(_MEASURED.match(cell) for cell in row):
            continue
        options: list[tuple[list[str], tuple[int, ...]]] = [(row, (i,))]
        if i and not grid.is_blank(i - 1) and _continues(grid.rows[i - 1], row):
            options.append((_joined(grid.rows[i - 1], row), (i - 1, i)))
        for texts, rows in options:
            fields = _fields(texts)
            named = sum(fold(text) in wanted for text in texts if text.strip())
            measured = _measured(fields) or (
                "strength" in layout.columns and fold(layout.columns["strength"]) in map(fold, texts)
            )
            if not measured:
                continue
            said = [understand(text.strip()) for text in texts]
            united = sum(h.field in {"strength", "load"} and bool(h.unit) for h in said)
            score = (len(fields) + 2 * named, _has_digit_below(grid, i, texts), united)
            if best is None or score > best[0]:
                best = (score, i, [text.strip() for text in texts], rows)
    if best is None:
        return None
    _, index, texts, rows = best
    if len(rows) == 1 and _from_above(grid, index, texts):
        rows = (index - 1, index)
    return _with_unit_row(grid, index, texts, rows)


def first_table(grid: Grid, heading: HeadingRow, layout: Layout) -> HeadingRow:
    """The heading of the first table: one above the best heading with readings between them is a table of its own."""
    at = [c for c, text in enumerate(heading.texts) if understand(text).field in {"strength", "load"}]
    above = range(heading.rows[0])
    if not any(c < len(grid.rows[i]) and _MEASURED.match(grid.rows[i][c]) for i in above for c in at):
        if not any(_MEASURED.match(cell) for i in above for cell in grid.rows[i]):
            return heading
    before = replace(grid, rows=grid.rows[: heading.rows[0]], numbers=grid.numbers[: heading.rows[0]])
    earlier = find_heading(before, layout)
    if earlier is None or len(_fields(list(earlier.texts))) < 2 or not _has_digit_below(before, earlier.index, list(earlier.texts)):
        return heading
    return first_table(before, earlier, layout)


def _from_above(grid: Grid, index: int, texts: list[str]) -> bool:
    """Give a column without a heading the one that stands alone in the row above ("Zone" over two rows); whether any
    did.
    """
    above = [cell.strip() for cell in grid.rows[index - 1]] if index else []
    if any(_MEASURED.match(cell) for cell in above):
        return False
    texts += [""] * (len(above) - len(texts))
    found = [c for c, cell in enumerate(above) if cell and not texts[c] and understand(cell).field in _KEY_FIELDS]
    found = [c for c in found if any(text.strip() for text in cells_of(grid.rows, c, index + 1)[0])]
    for c in found:
        texts[c] = above[c]
    return bool(found)


def _with_unit_row(grid: Grid, index: int, texts: list[str], rows: tuple[int, ...]) -> HeadingRow:
    while texts and not texts[-1] and not any(cell.strip() for cell in cells_of(grid.rows, len(texts) - 1, index)[0]):
        texts.pop()
    after = index + 1
    units = [""] * len(texts)
    if after < len(grid.rows):
        below = [cell.strip() for cell in grid.rows[after]]
        said = [cell for cell in below if cell not in {"", "-", "–", "[-]", "[–]", "(-)"}]
        if said and all(dimensions(cell) for cell in said):
            units = [(below[c] if c < len(below) and dimensions(below[c]) else "") for c in range(len(texts))]
            rows = (*rows, after)
            after += 1
    return HeadingRow(index, after, tuple(texts), tuple(units), rows)


def plan_columns(grid: Grid, heading: HeadingRow, layout: Layout, findings: Findings) -> Plan:
    """Say which column is what; what can't be decided is an error in ``findings``."""
    plan = Plan()
    known = [_understood(text, unit) for text, unit in zip(heading.texts, heading.units, strict=True)]
    taken: set[int] = set()
    row = grid.numbers[heading.index]
    for name, wanted in layout.columns.items():
        at = _named(heading.texts, wanted)
        if at is None:
            facts: dict[str, Fact] = {
                "key": f"columns.{name}",
                "wanted": wanted,
                "headings": tuple(t for t in heading.texts if t),
            }
            findings.add("layout_column_missing", Severity.ERROR, sheet=grid.sheet, row=row, facts=facts)
            continue
        plan.columns[name] = at
        taken.add(at)
        plan.evidence[f"columns.{name}"] = Evidence("as the layout says")
        if known[at].unit:
            plan.units[name] = known[at].unit
    _shares(plan, known, taken)
    candidates: dict[str, list[int]] = {}
    for c, said in enumerate(known):
        if c not in taken and said.field and said.field != "share":
            candidates.setdefault(said.field, []).append(c)
    for name, columns in candidates.items():
        if name in plan.columns:
            plan.unused += columns
            continue
        _choose(plan, name, columns, known, grid, row, findings)
    _place_as_id(plan, known, grid, heading)
    _dolly(plan, known)
    _zone_instead(plan, known, grid, row, layout, findings)
    used = {
        *plan.columns.values(),
        *plan.shares.values(),
        *(c for columns in plan.parallel.values() for c, _ in columns),
    }
    plan.unused = sorted({c for c, text in enumerate(heading.texts) if text and c not in used})
    return plan


def _understood(text: str, unit: str) -> Heading:
    said = understand(text)
    if unit and not said.unit:
        with_unit = understand(f"{text} [{unit}]")
        if not with_unit.field:
            return said  # a unit that does not belong to such a column
        return Heading(text, with_unit.field or said.field, said.rank, with_unit.unit or unit, said.code)
    return said


def _named(texts: tuple[str, ...], wanted: str) -> int | None:
    """Column that a layout names by its heading, or by its number (``#3``)."""
    if wanted.startswith("#") and wanted[1:].isdigit() and 0 < int(wanted[1:]) <= len(texts):
        return int(wanted[1:]) - 1
    exact = [c for c, text in enumerate(texts) if text == wanted.strip()]
    alike = exact or [c for c, text in enumerate(texts) if text and fold(text) == fold(wanted)]
    return alike[0] if len(alike) == 1 else None


def _shares(plan: Plan, known: list[Heading], taken: set[int]) -> None:
    """Columns of one letter each: at least two of them, or one that says percent."""
    found = [(c, said) for c, said in enumerate(known) if said.field == "share" and c not in taken]
    position = any(said.field == "x_m" for said in known) and [said.code for _, said in found] == ["Y"]
    if position and "y_m" not in plan.columns:
        plan.columns["y_m"] = found[0][0]
    elif len({said.code for _, said in found}) >= 2 or any(said.rank == 1 for _, said in found):
        for c, said in found:
            if said.code in plan.shares:
                plan.unused.append(c)
            else:
                plan.shares[said.code] = c
                plan.evidence[f"shares.{said.code}"] = Evidence(f'heading "{said.text}"')


def _choose(
    plan: Plan, name: str, columns: list[int], known: list[Heading], grid: Grid, row: int, findings: Findings
) -> None:
    if name in {"strength", "load"}:
        columns = _measures_only(columns, known, grid)
    best = min(known[c].rank for c in columns)
    first = [c for c in columns if known[c].rank == best]
    ask = first if name not in {"strength", "load"} else columns
    units = [known[c].unit for c in columns]
    if (
        name in {"strength", "load"}
        and len(columns) > 1
        and all(units)
        and len({fold(unit) for unit in units}) == len(units)
    ):
        plan.parallel[name] = [(c, known[c].unit) for c in columns[1:]]  # one quantity in several units: compared later
        ask, first = [columns[0]], [columns[0]]
    if name in _KEY_FIELDS and len(ask) > 1:
        texts = tuple(known[c].text for c in ask)
        same = len({fold(text) for text in texts}) == 1
        code = "same_heading_twice" if same else "several_columns"
        facts: dict[str, Fact] = {
            "field": name,
            "heading": texts[0],
            "headings": texts,
            "columns": tuple(str(c + 1 + grid.first_column) for c in ask),
            "key": name,
            "numbers": tuple(f"#{c + 1}" for c in ask),
        }
        findings.add(code, Severity.ERROR, sheet=grid.sheet, row=row, column=texts[0], facts=facts)
        return
    chosen = first[0]
    said = known[chosen]
    plan.columns[name] = chosen
    if said.unit:
        plan.units[name] = said.unit
    others = tuple(known[c].text for c in columns if c != chosen)
    plan.evidence[f"columns.{name}"] = Evidence(f'heading "{said.text}"', others)
    plan.unused += [c for c in columns if c != chosen]
    if said.rank == 6:
        findings.add(
            "column_by_unit",
            Severity.NOTE,
            sheet=grid.sheet,
            row=row,
            column=said.text,
            facts={"heading": said.text, "field": name, "unit": said.unit},
        )
    if said.renamed:
        findings.add(
            "unit_decides_column",
            Severity.NOTE,
            sheet=grid.sheet,
            row=row,
            column=said.text,
            facts={"heading": said.text, "field": name, "unit": said.unit},
        )


def _measures_only(columns: list[int], known: list[Heading], grid: Grid) -> list[int]:
    """Candidates for strength or load without those that hold no numbers ("result: pass") or go by their unit alone."""
    sample = grid.rows[:400]
    digits = {c: sum(any(ch.isdigit() for ch in row[c]) for row in sample if c < len(row)) for c in columns}
    most = max(digits.values())
    kept = [c for c in columns if 5 * digits[c] > most] or columns
    named = [c for c in kept if known[c].rank < 6]
    return named or kept


def _place_as_id(plan: Plan, known: list[Heading], grid: Grid, heading: HeadingRow) -> None:
    """A column such as "position" in which no name occurs twice names the pulls, not the zones, where no other does."""
    at = plan.columns.get("zone")
    if at is None or "id" in plan.columns or known[at].rank < 3:
        return
    texts, counts = cells_of(grid.rows, at, heading.first)
    names = [text.strip() for text in texts if text.strip()]
    once = all(count == 1 for text, count in zip(texts, counts.tolist(), strict=True) if text.strip())
    if len(names) > 1 and once and len(set(names)) == len(names):
        plan.columns["id"] = plan.columns.pop("zone")
        plan.evidence.pop("columns.zone", None)
        plan.evidence["columns.id"] = Evidence(f'heading "{known[at].text}", no name occurs twice', ("zone",))


def _dolly(plan: Plan, known: list[Heading]) -> None:
    """A nominal dolly size serves as tested size where no other is given."""
    if "diameter" not in plan.columns and "area" not in plan.columns and "dolly" in plan.columns:
        plan.columns["diameter"] = plan.columns.pop("dolly")
        if "dolly" in plan.units:
            plan.units["diameter"] = plan.units.pop("dolly")
        text = known[plan.columns["diameter"]].text
        plan.evidence["columns.diameter"] = Evidence(f'heading "{text}"')
        plan.evidence.pop("columns.dolly", None)


def _zone_instead(plan: Plan, known: list[Heading], grid: Grid, row: int, layout: Layout, findings: Findings) -> None:
    """Without a column that says zone, a column that groups the pulls by another name is taken, and that is said."""
    at = plan.columns.get("zone")
    if layout.zone is not None:
        plan.columns.pop("zone", None)
        return
    if at is None:
        name = next((name for name in _ZONE_INSTEAD if name in plan.columns), None)
        if name is None:
            return
        at = plan.columns["zone"] = plan.columns[name]
        plan.evidence["columns.zone"] = Evidence(f'no heading says zone; "{known[at].text}" groups the pulls')
    elif known[at].rank < 4 or ("id" in plan.columns and plan.columns["id"] == at) or "zone" in layout.columns:
        return
    findings.add(
        "zone_by_other_name",
        Severity.NOTE,
        sheet=grid.sheet,
        row=row,
        column=known[at].text,
        facts={"heading": known[at].text},
    )
