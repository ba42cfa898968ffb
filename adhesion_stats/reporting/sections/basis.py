"""What the decision rests on: pulls counted and not, and why; required and made; whether preparation was the same
throughout.
"""

from __future__ import annotations

from collections.abc import Iterable

from adhesion_stats.reporting.model import Block, Cell, Column, Line, Number, Paragraph, Part, Row, Section, Table
from adhesion_stats.reporting.numbers import Scale, count, measure
from adhesion_stats.reporting.results import Pull, Results, Zone
from adhesion_stats.reporting.sections.parts import (
    Anchors,
    cell,
    failure_line,
    line,
    pull_link,
    pull_strength,
    scale_of,
    sentences,
    table,
    zone_link,
)
from adhesion_stats.reporting.sections.rezoned import rezoned_blocks
from adhesion_stats.reporting.sections.site import frequency_blocks
from adhesion_stats.reporting.words import CONDITIONS_IN_WORDS, LABELS_IN_WORDS, fill, word

__all__ = ["basis_section", "reason_lines"]

_MOST_WORDS = 4  # different texts of one column and zone that a cell shows
# What a reader compares between zones; positions, remarks, photos and groupings stand with the pulls.
_LABELS = (
    "cut",
    "hollow",
    "primer",
    "system",
    "layer_names",
    "instrument",
    "certificate",
    "operator",
    "party",
    "stage",
)
_CONDITIONS = tuple(name for name in CONDITIONS_IN_WORDS if name not in {"x_m", "y_m"})


def reason_lines(pull: Pull) -> tuple[Line, ...]:
    """Why the pull does not count, or what to know about it, in words."""
    lines = list(sentences(pull["reasons"])) + list(sentences(pull["flags"]))
    if pull["exclusion"] and not any(pull["exclusion"] in str(said) for said in lines):
        lines.append(Line(fill("exclusion", reason=pull["exclusion"])))
    if pull["retest_of"]:
        lines.append(Line(fill("retest_of", pull=pull["retest_of"]), quiet=True))
    return tuple(lines)


def _who(pull: Pull) -> str:
    return word("who_rule") if pull["who"] == "rule" else pull["who"] or word("nothing")


def _statement(results: Results) -> Paragraph:
    made, pulls = len(results["pulls"]), results["pulls"]
    counted = sum(pull["status"] == "counted" for pull in pulls)
    bounded = sum(pull["status"] == "counted" and pull["counts_as"] != "exact" for pull in pulls)
    out = made - counted
    parts = fill(
        "basis_bounds" if bounded else "basis_all",
        file=results["inputs"]["readings"]["file"],
        made=count(made),
        counted=count(counted),
        bounded=count(bounded),
    )
    return Paragraph((*parts, " ", *(fill("basis_out", out=count(out)) if out else (word("basis_none_out"),))), "lead")


def _counts(results: Results, anchors: Anchors) -> Table:
    def row(zone: Zone) -> Row:
        pulls = zone["pulls"]
        required: Part = word("nothing") if pulls["required"] is None else count(pulls["required"])
        order = ("made", "counted", "exact", "bounded", "not_counted", "lost")
        numbers: list[Part] = [count(pulls[name]) for name in order]  # type: ignore[literal-required]
        cells = [cell(part) for part in (*numbers, required, count(pulls["unknown"]))]
        return Row((cell(zone_link(anchors, zone["zone"])), *cells))

    titles = (
        "c_made",
        "c_counted",
        "c_exact",
        "c_bounded",
        "c_not_counted",
        "c_lost",
        "c_required",
        "c_unknown",
    )
    columns = [Column(word("c_zone")), *(Column(word(title), numeric=True) for title in titles)]
    return table(word("t_counts"), columns, [row(zone) for zone in results["zones"]], anchor="counts")


def _out(results: Results, anchors: Anchors, scale: Scale) -> Table | None:
    rows = [
        Row(
            (
                cell(pull_link(pull)),
                cell(zone_link(anchors, pull["zone"])),
                cell(pull_strength(pull, scale)),
                cell(word(f"status_{pull['status']}")),
                Cell(reason_lines(pull)),
                cell(_who(pull)),
            )
        )
        for pull in results["pulls"]
        if pull["status"] != "counted"
    ]
    columns = (
        Column(word("c_pull")),
        Column(word("c_zone")),
        Column(word("c_strength"), results["unit"], numeric=True),
        Column(word("c_status")),
        Column(word("c_reason"), wide=True),
        Column(word("c_who")),
    )
    return table(word("t_out"), columns, rows, anchor="not-counted") if rows else None


def _second_look(results: Results, anchors: Anchors, scale: Scale) -> Table | None:
    rows = []
    for pull in results["pulls"]:
        if pull["status"] != "counted" or (pull["counts_as"] == "exact" and not pull["flags"]):
            continue
        lines = list(reason_lines(pull))
        if pull["counts_as"] == "at_least":
            lines.insert(0, line(word("is_lower_bound")))
        elif pull["counts_as"] == "at_most":
            lines.insert(0, line(word("is_upper_bound")))
        first = (cell(pull_link(pull)), cell(zone_link(anchors, pull["zone"])), cell(pull_strength(pull, scale)))
        failure = failure_line(pull["failure"]) or (word("not_recorded"),)
        rows.append(Row((*first, cell(Line(failure)), Cell(tuple(lines)))))
    columns = (
        Column(word("c_pull")),
        Column(word("c_zone")),
        Column(word("c_strength"), results["unit"], numeric=True),
        Column(word("c_failure")),
        Column(word("c_what"), wide=True),
    )
    return table(word("t_second_look"), columns, rows, anchor="second-look") if rows else None


def _texts(values: Iterable[str], of: int) -> Cell:
    given = [value for value in values if value]
    different = list(dict.fromkeys(given))
    if not different:
        return cell(line(word("nothing"), quiet=True))
    more = f" (+{len(different) - _MOST_WORDS})" if len(different) > _MOST_WORDS else ""
    return _with_missing(line(", ".join(different[:_MOST_WORDS]) + more), len(given), of)


def _with_missing(main: Line, given: int, of: int) -> Cell:
    if given == of:
        return cell(main)
    return cell(main, Line(fill("recorded_some", n=count(given), all=count(of)), quiet=True))


def _range(values: Iterable[float | None], places: int, of: int) -> Cell:
    return _between([measure(value, places) for value in _sorted(values)], of)


def _rates(values: Iterable[float | None], scale: Scale, of: int) -> Cell:
    """Loading rates in the unit of the report per second, one place more than strengths."""
    return _between([scale.strength(value, more=1) for value in _sorted(values)], of)


def _sorted(values: Iterable[float | None]) -> list[float]:
    return sorted(value for value in values if value is not None)


def _between(given: list[Number], of: int) -> Cell:
    if not given:
        return cell(line(word("nothing"), quiet=True))
    low, high = given[0], given[-1]
    return _with_missing(
        line(low) if low.text == high.text else Line(fill("value_to", low=low, high=high)), len(given), of
    )


def _dates(pulls: list[Pull]) -> Cell:
    given = sorted(pull["date"] for pull in pulls if pull["date"])
    ends = list(dict.fromkeys((given[0], given[-1]))) if given else []
    return (
        _with_missing(Line(fill("value_to", low=ends[0], high=ends[1])), len(given), len(pulls))
        if len(ends) > 1
        else (_texts((pull["date"] or "" for pull in pulls), len(pulls)))
    )


def _preparation(results: Results, anchors: Anchors, scale: Scale) -> list[Block]:
    pulls = results["pulls"]
    by_zone: dict[str, list[Pull]] = {zone["zone"]: [] for zone in results["zones"]}
    for pull in pulls:
        by_zone.setdefault(pull["zone"], []).append(pull)
    labels = [name for name in _LABELS if any(pull["labels"].get(name) for pull in pulls)]
    conditions = [name for name in _CONDITIONS if any(pull["conditions"].get(name) is not None for pull in pulls)]
    area = any(pull["area_mm2"] is not None for pull in pulls)
    dates = any(pull["date"] for pull in pulls)
    missing = [word("date")] * (not dates) + [LABELS_IN_WORDS[n] for n in ("cut", "instrument") if n not in labels]
    missing += [CONDITIONS_IN_WORDS[n][0] for n in ("cut_depth_mm", "rate_mpa_per_s") if n not in conditions]
    blocks: list[Block] = []
    if labels or conditions or area or dates:
        columns = [Column(word("c_zone"))]
        columns += [Column(word("date"), tight=True)] * dates + [Column(LABELS_IN_WORDS[name]) for name in labels]
        columns += [Column(word("area"), "mm²", numeric=True)] * area
        units = {n: CONDITIONS_IN_WORDS[n][1] for n in conditions} | {"rate_mpa_per_s": f"{scale.unit}/s"}
        columns += [Column(CONDITIONS_IN_WORDS[n][0], units[n], numeric=True) for n in conditions]
        rows = []
        for name, mine in by_zone.items():
            of = len(mine)
            cells = [cell(zone_link(anchors, name))] + [_dates(mine)] * dates
            cells += [_texts((pull["labels"].get(label, "") for pull in mine), of) for label in labels]
            cells += [_range((pull["area_mm2"] for pull in mine), 0, of)] * area
            cells += [
                _rates((pull["conditions"].get(n) for pull in mine), scale, of)
                if n == "rate_mpa_per_s"
                else _range((pull["conditions"].get(n) for pull in mine), CONDITIONS_IN_WORDS[n][2], of)
                for n in conditions
            ]
            rows.append(Row(tuple(cells)))
        blocks.append(table(word("t_preparation"), columns, rows, anchor="preparation"))
    else:
        return [Paragraph((word("preparation_none"),))]
    if missing:
        lowered = ", ".join(name[:1].lower() + name[1:] for name in missing)
        blocks.append(Paragraph(fill("preparation_missing", names=lowered), role="note"))
    return blocks


def basis_section(results: Results, anchors: Anchors) -> Section:
    """Which pulls the decision rests on."""
    scale = scale_of(results)
    tables = (_counts(results, anchors), _out(results, anchors, scale), _second_look(results, anchors, scale))
    blocks: list[Block] = [_statement(results), *(made for made in tables if made is not None)]
    blocks += [block for found in results["rezoned"] for block in rezoned_blocks(found)]
    return Section(
        word("h_basis"), "basis", (*blocks, *frequency_blocks(results, anchors), *_preparation(results, anchors, scale))
    )
