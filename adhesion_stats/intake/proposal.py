"""Which column is what: the proposal of a layout, each part with its evidence.

A layout given by a person decides before the words of the headings do. Nothing is read here but headings and the rows
around them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from adhesion_stats.intake.cells import cells_of
from adhesion_stats.intake.folding import fold
from adhesion_stats.intake.heading_rows import KEY_FIELDS
from adhesion_stats.intake.headings import Heading, understand
from adhesion_stats.intake.proof import held_at, held_quantity, proof_heading
from adhesion_stats.messages import Fact, Severity
from adhesion_stats.terms.layout import Evidence

if TYPE_CHECKING:
    from adhesion_stats.intake.findings import Findings
    from adhesion_stats.intake.grid import Grid
    from adhesion_stats.intake.heading_rows import HeadingRow
    from adhesion_stats.terms.layout import Layout

__all__ = ["Plan", "plan_columns"]

_PROOFS = {"strength": "proof", "load": "proof_load"}
_PROOF_FIELDS = frozenset({*_PROOFS.values(), "held"})
_PLAIN_ZONE = 2  # rank up to which a heading is a plain word for a zone
_ZONE_INSTEAD = ("system", "primer", "panel")


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
    asked: set[str] = field(default_factory=set)  # fields that several columns could be


def plan_columns(grid: Grid, heading: HeadingRow, layout: Layout, findings: Findings) -> Plan:
    """Say which column is what; what can't be decided is an error in ``findings``."""
    plan = Plan()
    known = [_understood(text, unit) for text, unit in zip(heading.texts, heading.units, strict=True)]
    known = _zones_apart(_proofs_apart(known, layout, heading.texts), layout)
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
    _sums_only(candidates, known)
    for name, columns in candidates.items():
        if name in plan.columns:
            _compare_later(plan, name, columns, known)
            plan.unused += columns
            continue
        _choose(plan, name, columns, known, grid, row, findings)
    _place_as_id(plan, known, grid, heading)
    _proof_as_measure(plan, known)
    _held_in_heading(plan, known, taken)
    _dolly(plan, known)
    _zone_instead(plan, known, grid, row, layout, findings)
    _say_planned_zone(plan, known, grid, row, findings)
    used = {
        *plan.columns.values(),
        *plan.shares.values(),
        *(c for columns in plan.parallel.values() for c, _ in columns),
    }
    plan.unused = sorted({c for c, text in enumerate(heading.texts) if text and c not in used})
    return plan


_LARGEST = ("max", "largest", "highest", "hochst", "grosst", "massim")
_OTHER_SUMS = ("mean", "min", "mittel", "average", "moyen", "media", "kleinst", "srednia")


def _sums_only(candidates: dict[str, list[int]], known: list[Heading]) -> None:
    """A largest strength beside a mean or smallest one sums a zone up: it is no reading."""
    barred = any(not said.field and any(word in fold(said.text) for word in _OTHER_SUMS) for said in known)
    largest = [c for c in candidates.get("strength", ()) if fold(known[c].text).startswith(_LARGEST)]
    if barred and largest:
        candidates["strength"] = [c for c in candidates["strength"] if c not in largest]
        if not candidates["strength"]:
            del candidates["strength"]


def _understood(text: str, unit: str) -> Heading:
    said = understand(text)
    if unit and not said.unit:
        with_unit = understand(f"{text} [{unit}]")
        if not with_unit.field:
            return said  # a unit that does not belong to such a column
        return Heading(text, with_unit.field or said.field, said.rank, with_unit.unit or unit, said.code)
    return said


def _zones_apart(known: list[Heading], layout: Layout) -> list[Heading]:
    """Where a file has two columns of zones, as planned and as tested, the second one is the zone; a column of either
    kind alone is the zone.
    """
    plain = [said for said in known if said.field == "zone" and said.rank <= _PLAIN_ZONE]
    new = any(said.field == "new_zone" for said in known)
    planned = any(said.field == "planned_zone" for said in known)
    two = new + planned + bool(plain) > 1 or "zone" in layout.columns
    to = {"new_zone": "zone", "planned_zone": "planned_zone" if two else "zone"}
    if new and plain and not planned:
        return [
            replace(said, field="planned_zone")
            if said in plain
            else replace(said, field=to.get(said.field, said.field))
            for said in known
        ]
    return [replace(said, field=to.get(said.field, said.field)) for said in known]


def _say_planned_zone(plan: Plan, known: list[Heading], grid: Grid, row: int, findings: Findings) -> None:
    """Say which of two columns of zones the pulls are judged by."""
    if not {"zone", "planned_zone"} <= plan.columns.keys():
        return
    zone, planned = (known[plan.columns[name]].text for name in ("zone", "planned_zone"))
    facts: dict[str, Fact] = {"zone": zone, "planned": planned}
    findings.add("two_zone_columns", Severity.NOTE, sheet=grid.sheet, row=row, column=zone, facts=facts)


def _proofs_apart(known: list[Heading], layout: Layout, texts: tuple[str, ...]) -> list[Heading]:
    """Columns of a proof stress or load are not those of strengths; words that also name the load at failure mean a
    proof load only beside a column that says whether it held.
    """
    asked = any(said.field == "held" for said in known) or "held" in layout.columns
    named = {_named(texts, wanted) for name, wanted in layout.columns.items() if name in _PROOFS}
    return [
        replace(said, field=_PROOFS[said.field])
        if said.field in _PROOFS and c not in named and proof_heading(said.text, weak=asked)
        else said
        for c, said in enumerate(known)
    ]


def _proof_as_measure(plan: Plan, known: list[Heading]) -> None:
    """Where nothing else is measured, a proof stress or load is the value; one that was held by its heading says so."""
    if "strength" in plan.columns or "load" in plan.columns:
        return
    for measure, proof in _PROOFS.items():
        if proof not in plan.columns:
            continue
        at = plan.columns[measure] = plan.columns[proof]
        if proof in plan.units:
            plan.units[measure] = plan.units[proof]
        plan.evidence[f"columns.{measure}"] = Evidence(f'nothing but proof loads; heading "{known[at].text}"')
        if "held" not in plan.columns and held_quantity(known[at].text):
            plan.columns["held"] = at
            plan.evidence["columns.held"] = Evidence(f'heading "{known[at].text}"')


def _held_in_heading(plan: Plan, known: list[Heading], taken: set[int]) -> None:
    """A column headed "held at 1.5 MPa" beside strengths says which pulls held that stress."""
    if {"held", "proof", "proof_load"} & plan.columns.keys() or "strength" not in plan.columns:
        return
    found = [c for c, said in enumerate(known) if c not in taken and not said.field and held_at(said.text) is not None]
    if len(found) == 1:
        plan.columns["held"] = found[0]
        plan.evidence["columns.held"] = Evidence(f'heading "{known[found[0]].text}"')


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
    if name == "id":  # beside another name, "n" is a number of tests
        columns = [c for c in columns if fold(known[c].text) != "n"] or columns
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
    if (name in KEY_FIELDS or name in _PROOF_FIELDS) and len(ask) > 1:
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
        plan.asked.add(name)
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


def _compare_later(plan: Plan, name: str, columns: list[int], known: list[Heading]) -> None:
    """Beside a column that a layout names, the same quantity in other units is compared as it is without a layout."""
    units = [fold(plan.units.get(name, "")), *(fold(known[c].unit) for c in columns)]
    if name in {"strength", "load"} and all(units) and len(set(units)) == len(units):
        plan.parallel[name] = [(c, known[c].unit) for c in columns]


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
