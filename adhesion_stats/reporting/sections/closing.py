"""The end of the document: findings, cautions, blanks for signatures, all pulls, and the files that everything comes
from.
"""

from __future__ import annotations

from adhesion_stats.messages import worst_first
from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Items,
    Line,
    Link,
    Paragraph,
    Part,
    Row,
    RowGroup,
    Section,
    Severe,
    Signature,
    Table,
)
from adhesion_stats.reporting.numbers import Scale, measure
from adhesion_stats.reporting.results import Pull, Results, message_of
from adhesion_stats.reporting.sections.basis import reason_lines
from adhesion_stats.reporting.sections.parts import (
    Anchors,
    cell,
    failure_line,
    line,
    pull_strength,
    scale_of,
    sentences,
    table,
)
from adhesion_stats.reporting.words import word
from adhesion_stats.wording import say

__all__ = ["appendix_section", "cautions_section", "findings_section"]


def findings_section(results: Results) -> Section:
    """What reading and judging found, the worst first."""
    messages = worst_first([message_of(message) for message in results["messages"]])
    rows = []
    for message in messages:
        place = message.place
        where = [word("place_sheet").format(sheet=place.sheet)] if place.sheet else []
        where += [word("place_row").format(row=place.row)] if place.row is not None else []
        where += [word("place_column").format(column=place.column)] if place.column else []
        rows.append(
            Row(
                (
                    cell(Severe(message.severity.value, word(f"severity_{message.severity.value}"))),
                    cell(", ".join(where) or word("nothing")),
                    cell(say(message)),
                )
            )
        )
    columns = (Column(word("c_severity")), Column(word("c_place")), Column(word("c_finding"), wide=True))
    blocks: tuple[Block, ...] = (table(word("t_findings"), columns, rows),)
    return Section(word("h_findings"), "findings", blocks if rows else (Paragraph((word("findings_none"),)),))


def cautions_section(results: Results) -> Section:
    """What the data can't say, who decides, and room to sign."""
    blanks = (word("sign_name"), word("sign_date"), word("sign_signature"))
    roles = (word("sign_tested"), word("sign_assessed"), word("sign_checked"))
    blocks: list[Block] = [Paragraph((word("c_always"),), role="warning")]
    if results["cautions"]:
        blocks.append(Items("", sentences(results["cautions"])))
    blocks.append(Signature(word("signatures"), roles, blanks))
    return Section(word("h_cautions"), "cautions", tuple(blocks))


def _pull_row(pull: Pull, scale: Scale, *, loads: bool, areas: bool, corrected: bool) -> Row:
    def number(value: float | None) -> Part:
        return word("nothing") if value is None else measure(value, 0)

    failure = failure_line(pull["failure"])
    known = pull["counts_as"]
    cells = [
        cell(pull["name"]),
        cell(f"{pull['sheet']}, {pull['row']}" if pull["sheet"] else str(pull["row"])),
        cell(pull["entered"] or word("nothing")),
        *([cell(number(pull["load_n"]))] if loads else []),
        *([cell(number(pull["area_mm2"]))] if areas else []),
        *([cell(_indicated(pull, scale))] if corrected else []),
        cell(pull_strength(pull, scale)),
        cell(word(f"status_{pull['status']}")),
        cell(word(f"as_{known}") if known else word("nothing")),
        cell(Line(failure) if failure else line(word("not_recorded"), quiet=True)),
        cell(pull["date"] or word("nothing")),
        Cell(reason_lines(pull)),
    ]
    return Row(tuple(cells), Anchors.pull(pull["index"]))


def _indicated(pull: Pull, scale: Scale) -> Part:
    """Strength as the instrument showed it, where a certificate corrected it."""
    return word("nothing") if pull["indicated_mpa"] is None else scale.strength(pull["indicated_mpa"])


def _all_pulls(results: Results, anchors: Anchors) -> Table:
    scale, pulls = scale_of(results), results["pulls"]
    loads = any(pull["load_n"] is not None for pull in pulls)
    areas = any(pull["area_mm2"] is not None for pull in pulls)
    corrected = any(pull["indicated_mpa"] is not None for pull in pulls)
    columns = [
        Column(word("c_pull")),
        Column(word("c_row"), numeric=True),
        Column(word("c_entered"), numeric=True),
        *([Column(word("c_load"), "N", numeric=True)] if loads else []),
        *([Column(word("c_area"), "mm²", numeric=True)] if areas else []),
        *([Column(word("c_indicated"), results["unit"], numeric=True)] if corrected else []),
        Column(word("c_strength"), results["unit"], numeric=True),
        Column(word("c_status")),
        Column(word("c_as")),
        Column(word("c_failure")),
        Column(word("c_date"), tight=True),
        Column(word("c_remark"), wide=True),
    ]
    by_zone: dict[str, list[Row]] = {zone["zone"]: [] for zone in results["zones"]}
    for pull in pulls:
        row = _pull_row(pull, scale, loads=loads, areas=areas, corrected=corrected)
        by_zone.setdefault(pull["zone"], []).append(row)
    groups = []
    for name, rows in by_zone.items():
        back = anchors.zone(name)
        title = line(Link(name, back)) if back else line(name)
        groups.append(RowGroup(tuple(rows), title, anchors.pulls(name)))
    return Table(word("t_all_pulls"), tuple(columns), tuple(groups), anchor="all-pulls")


def appendix_section(results: Results, anchors: Anchors) -> Section:
    """All pulls and the hashes of the inputs."""
    inputs = results["inputs"]
    layout = inputs["layout"]
    files = [
        (inputs["readings"]["file"], "readings", inputs["readings"]["sha256"]),
        (inputs["specification"]["file"], "specification", inputs["specification"]["sha256"]),
        *([(layout["file"], "layout", layout["sha256"])] if layout is not None else []),
    ]
    rows = [Row((cell(file), cell(word(role)), cell(digest))) for file, role, digest in files]
    columns = (Column(word("c_file")), Column(word("c_role")), Column(word("c_hash"), wide=True))
    note = Paragraph((word("inputs_note"),), role="note")
    parts = (
        Section(word("h_all_pulls"), "pulls", (_all_pulls(results, anchors),)),
        Section(word("h_inputs"), "inputs", (table(word("t_inputs"), columns, rows), note)),
    )
    return Section(word("h_appendix"), "appendix", (), parts)
