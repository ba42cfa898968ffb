"""The figures of the document: which are drawn, of which zones, with their text for who can't see them and their
numbers as a table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from adhesion_stats.reporting.codes import in_order
from adhesion_stats.reporting.figures.marks import mark_of
from adhesion_stats.reporting.figures.positions import next_places, placed
from adhesion_stats.reporting.figures.probability import plotted_pulls, quantiles, why_not
from adhesion_stats.reporting.model import (
    Block,
    Column,
    Figure,
    Items,
    Line,
    Paragraph,
    Part,
    Row,
    RowGroup,
    Section,
    Table,
)
from adhesion_stats.reporting.numbers import Scale, count, measure, percent
from adhesion_stats.reporting.results import Results, Zone, results_from
from adhesion_stats.reporting.sections.parts import (
    cell,
    joined,
    limit_text,
    line,
    pull_link,
    pull_strength,
    scale_of,
    table,
)
from adhesion_stats.reporting.words import broke_at, fill, word

__all__ = ["figures_section"]

ROWS_A_FIGURE = 20  # rows that a figure may have before it is parted: it must fit a page of paper
PLOTS_A_FIGURE = 20


def _parts(zones: list[Zone], most: int) -> Iterator[list[Zone]]:
    """Zones in parts of nearly equal length."""
    parts = max(1, -(-len(zones) // most))
    for i in range(parts):
        yield zones[len(zones) * i // parts : len(zones) * (i + 1) // parts]


def _pulls_numbers(results: Results, zones: list[Zone], scale: Scale) -> Table:
    columns = (
        Column(word("c_zone")),
        Column(word("limits"), wide=True),
        Column(word("c_mean"), results["unit"], numeric=True),
        Column(word("c_counted_values"), results["unit"], wide=True),
        Column(word("c_others"), results["unit"], wide=True),
    )
    rows = []
    for zone in zones:
        mine = [pull for pull in results["pulls"] if pull["zone"] == zone["zone"]]
        limited = [criterion for criterion in zone["criteria"] if criterion["limit"]]
        limits = [(word(f"lim_{c['kind']}").format(z=c["z"], of=c["of"], limit=limit_text(c)),) for c in limited]
        mean = zone["summary"]["mean"]
        lead = word("at_least") if zone["summary"]["mean_is_lower_bound"] else ""
        counted: list[tuple[Part, ...]] = []
        others: list[tuple[Part, ...]] = []
        for pull in mine:
            kind, strength = mark_of(pull), pull_strength(pull, scale)
            if pull["status"] == "counted":
                counted.append((strength, f" ({word('key_flagged')})") if kind == "flagged" else (strength,))
            else:
                others.append((pull_link(pull), ": ", strength, f" ({word(f'key_{kind}')})"))
        rows.append(
            Row(
                (
                    cell(zone["zone"]),
                    cell(Line(joined(limits)) if limits else word("nothing")),
                    cell(word("nothing") if mean is None else scale.strength(mean, lead=lead)),
                    cell(Line(joined(counted)) if counted else word("nothing")),
                    cell(Line(joined(others)) if others else word("nothing")),
                )
            )
        )
    return table(word("numbers_of"), columns, rows)


def _failure_numbers(results: Results, zones: list[Zone]) -> Table:
    codes = in_order(
        code for zone in results["zones"] for code, share in zone["failure"]["percent"].items() if share > 0
    )
    columns = (
        Column(word("c_zone")),
        *(Column(broke_at(code), "%", numeric=True) for code in codes),
        Column(word("c_recorded"), numeric=True),
    )
    rows = []
    for zone in zones:
        failure = zone["failure"]
        shares: list[Part] = [percent(failure["percent"].get(code, 0.0), unit="") for code in codes]
        both = {"n": count(failure["recorded"]), "all": count(failure["recorded"] + failure["not_recorded"])}
        if not failure["recorded"]:
            shares = [word("nothing")] * len(codes)
        rows.append(Row((cell(zone["zone"]), *(cell(s) for s in shares), cell(Line(fill("pulls_recorded", **both))))))
    return table(word("numbers_of"), columns, rows)


def _probability_numbers(results: Results, zones: list[Zone], scale: Scale) -> Table:
    columns = (
        Column(word("c_pull")),
        Column(word("c_order"), numeric=True),
        Column(word("c_strength"), results["unit"], numeric=True),
        Column(word("c_quantile"), numeric=True),
    )
    groups = []
    for zone in zones:
        pulls = plotted_pulls(results, zone["zone"])
        rows = []
        for i, (pull, quantile) in enumerate(zip(pulls, quantiles(len(pulls)), strict=True), 1):
            parts = (pull_link(pull), count(i), pull_strength(pull, scale), measure(quantile, 3))
            rows.append(Row(tuple(cell(part) for part in parts)))
        groups.append(RowGroup(tuple(rows), line(zone["zone"])))
    return Table(word("numbers_of"), columns, tuple(groups))


def _positions_numbers(results: Results, scale: Scale) -> Table:
    columns = (
        Column(word("c_pull")),
        Column(word("c_zone")),
        Column("x", "m", numeric=True),
        Column("y", "m", numeric=True),
        Column(word("c_strength"), results["unit"], numeric=True),
        Column(word("c_marked")),
    )
    rows = [
        Row(
            (
                cell(pull_link(pull)),
                cell(pull["zone"]),
                cell(measure(x, 2)),
                cell(measure(y, 2)),
                cell(pull_strength(pull, scale)),
                cell(word(f"key_{mark_of(pull)}")),
            )
        )
        for x, y, pull in placed(results)
    ]
    rows += [
        Row(
            (
                cell(word("numbers_next").format(pull=low)),
                cell(zone),
                cell(measure(x, 2)),
                cell(measure(y, 2)),
                cell(word("nothing")),
                cell(word("key_pull_next")),
            )
        )
        for x, y, low, zone in next_places(results)
    ]
    return table(word("numbers_of"), columns, rows)


def _extent_alt(results: Results) -> str:
    """What the drawing says of the area in doubt, for who can't see it."""
    said = []
    for extent in results["on_site"]["extents"]:
        lows = ", ".join(low["pull"] for low in extent["low"])
        places = "; ".join(f"({x:.2f}; {y:.2f})" for x, y, _, _ in next_places(results, [extent["zone"]]))
        text = word("alt_extent_low").format(zone=extent["zone"], pulls=lows)
        if extent["area_in_doubt_m2"] is not None:
            text += word("alt_extent_area").format(area=measure(extent["area_in_doubt_m2"], 1, "m²"))
        if places:
            text += word("alt_extent_next").format(places=places)
        said.append(text + ".")
    return "".join(f" {text}" for text in said)


def _figures(kind: str, parts: list[list[Zone]], alts: list[str], numbers: list[Table]) -> list[Figure]:
    made = []
    for i, (zones, alt, table_) in enumerate(zip(parts, alts, numbers, strict=True), 1):
        title = word(f"fig_{kind}")
        if len(parts) > 1:
            title = word("part_of").format(title=title, i=i, n=len(parts))
        names = tuple(zone["zone"] for zone in zones)
        caption = line(word(f"cap_{kind}")) if i == 1 else line()
        made.append(Figure(kind, names, f"figure-{kind}-{i}", title, caption, alt, table_))
    return made


def figures_section(results: Mapping[str, object]) -> Section:
    """Every pull, what broke, probability plots where they can be, plan where positions are given."""
    data = results_from(results)
    scale, unit, zones = scale_of(data), data["unit"], data["zones"]
    parts = list(_parts(zones, ROWS_A_FIGURE))
    said = [
        " ".join(word("alt_decision").format(zone=z["zone"], outcome=word(z["outcome"] or "not_asked")) for z in p)
        for p in parts
    ]
    alts = [word("alt_pulls").format(unit=unit, decisions=text) for text in said]
    blocks: list[Block] = []
    blocks += _figures("pulls", parts, alts, [_pulls_numbers(data, part, scale) for part in parts])
    if any(zone["failure"]["recorded"] for zone in zones):
        alts = [word("alt_failure")] * len(parts)
        blocks += _figures("failure", parts, alts, [_failure_numbers(data, part) for part in parts])
    drawn = [zone for zone in zones if not why_not(data, zone)]
    if drawn:
        parts = list(_parts(drawn, PLOTS_A_FIGURE))
        alts = [word("alt_probability").format(unit=unit, n=len(part)) for part in parts]
        blocks += _figures("probability", parts, alts, [_probability_numbers(data, part, scale) for part in parts])
        left_out = [
            line(word("prob_not_drawn").format(zone=zone["zone"], why=why))
            for zone in zones
            if (why := why_not(data, zone))
        ]
        if left_out:
            blocks.append(Items(word("h_not_drawn"), tuple(left_out), role="small"))
    else:
        blocks.append(Paragraph((word("no_probability"),), role="note"))
    points = placed(data)
    if points:
        alt = word("alt_positions").format(n=len(points)) + _extent_alt(data)
        blocks += _figures("positions", [zones], [alt], [_positions_numbers(data, scale)])
    return Section(word("h_figures"), "figures", tuple(blocks))
