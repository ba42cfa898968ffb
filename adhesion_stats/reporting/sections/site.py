"""Pulls made against pulls asked, and how far a weak patch may reach: what an assessment says about the site."""

from __future__ import annotations

from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Items,
    Line,
    Number,
    Paragraph,
    Part,
    Row,
    RowGroup,
    Table,
)
from adhesion_stats.reporting.numbers import Scale, count, measure
from adhesion_stats.reporting.results import Extent, FrequencyRule, LowPull, Results, ZoneFrequency
from adhesion_stats.reporting.sections.parts import Anchors, cell, line, sentences, table, zone_link
from adhesion_stats.reporting.words import fill, word

__all__ = ["extent_blocks", "frequency_blocks"]


def frequency_blocks(results: Results, anchors: Anchors) -> list[Block]:
    """Pulls made against pulls asked by every rule of the plan, and the holes to make good; nothing without a plan."""
    found = results["on_site"]["frequency"]
    if not found:
        return []
    columns = (
        Column(word("c_fr_rule")),
        Column(word("c_fr_asked"), numeric=True),
        Column(word("c_fr_counted"), numeric=True),
        Column(word("c_fr_missing"), numeric=True),
        Column(word("c_fr_parts"), wide=True),
    )
    groups = tuple(_group(zone, anchors) for zone in found)
    lacking = sum(any(rule["missing"] for rule in zone["rules"]) for zone in found)
    code = "fr_none_missing" if not lacking else "fr_missing_one" if lacking == 1 else "fr_missing"
    blocks: list[Block] = [Paragraph(fill(code, **({"zones": count(lacking)} if lacking > 1 else {})))]
    blocks.append(Table(word("t_frequency"), columns, groups, anchor="frequency"))
    days = any(rule["kind"] == "day" for zone in found for rule in zone["rules"])
    return [*blocks, Paragraph((*_holes(results), *((" ", word("fr_note")) if days else ())), role="note")]


def _holes(results: Results) -> tuple[Part, ...]:
    holes = results["on_site"]["holes"]
    if holes["area_mm2"] is None:
        return fill("fr_holes", count=count(holes["count"]))
    return fill("fr_holes_area", count=count(holes["count"]), area=measure(holes["area_mm2"] / 100.0, 0, "cm²"))


def _group(zone: ZoneFrequency, anchors: Anchors) -> RowGroup:
    rows = tuple(_rule(zone, rule) for rule in zone["rules"])
    area: tuple[Part, ...] = () if zone["area_m2"] is None else (", ", measure(zone["area_m2"], 1, "m²"))
    return RowGroup(rows, line(zone_link(anchors, zone["zone"]), *area))


def _rule(zone: ZoneFrequency, rule: FrequencyRule) -> Row:
    numbers: dict[str, Part] = (
        {}
        if rule["kind"] in {"contract", "zone", "risk"}
        else {
            "times": count(rule["times"]),
            "each": count(rule["each"]),
        }
    )
    source = (" ", *fill("plan_source", source=rule["source"])) if rule["source"] else ()
    return Row(
        (
            Cell((Line((*fill(f"fr_{rule['kind']}", **numbers), *source)),)),
            cell(count(rule["asked"])),
            cell(count(zone["counted"])),
            cell(count(rule["missing"])),
            Cell(_parts(rule)) if rule["parts"] else cell(line(word("nothing"), quiet=True)),
        )
    )


def _parts(rule: FrequencyRule) -> tuple[Line, ...]:
    lines = [
        Line(
            fill(
                "fr_part",
                name=part["name"] or word("fr_part_unnamed"),
                counted=count(part["counted"]),
                asked=count(part["asked"]),
            )
        )
        for part in rule["parts"] or ()
    ]
    if rule["not_recorded"]:
        lines.append(Line(fill("not_recorded_for", n=count(rule["not_recorded"])), quiet=True))
    return tuple(lines)


def extent_blocks(results: Results, zone: str, scale: Scale) -> list[Block]:
    """Where to pull next to bound the weak patches of a zone, the nearest sound pulls, and the area in doubt."""
    found = [extent for extent in results["on_site"]["extents"] if extent["zone"] == zone]
    blocks: list[Block] = []
    for extent in found:
        if extent["says"]:
            blocks.append(Items(word("extent"), sentences(extent["says"])))
        if any(low["neighbours"] for low in extent["low"]):
            blocks.append(_neighbours(extent, scale))
        limit = scale.strength(extent["limit_mpa"], unit=True)
        blocks.append(Paragraph(fill("extent_note", limit=limit), role="note"))
    return blocks


def _neighbours(extent: Extent, scale: Scale) -> Table:
    columns = (
        Column(word("c_ex_low")),
        Column(word("c_ex_side")),
        Column(word("c_ex_sound")),
        Column(word("c_strength"), scale.unit, numeric=True),
        Column(word("c_ex_distance"), "m", numeric=True),
        Column(word("c_ex_next"), "m", numeric=True),
    )
    rows = [row for low in extent["low"] for row in _sides(low, scale)]
    return table(word("t_extent"), columns, rows)


def _sides(low: LowPull, scale: Scale) -> list[Row]:
    rows = []
    for side in low["neighbours"]:
        place = side["next"]
        at: tuple[Part, ...] = (word("extent_close"),)
        if place is not None:
            at = (_metres(place["x_m"]), "; ", _metres(place["y_m"]))
        rows.append(
            Row(
                (
                    cell(line(low["pull"], " (", scale.strength(low["strength"], unit=True), ")")),
                    cell(word(f"side_of_{side['side']}")),
                    cell(side["pull"]),
                    cell(scale.strength(side["strength"])),
                    cell(_metres(side["distance_m"])),
                    cell(line(*at)),
                )
            )
        )
    return rows


def _metres(value: float) -> Number:
    return measure(value, 2)
