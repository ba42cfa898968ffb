"""The document of a plan: how many pulls and by which rule, where to pull, how places were drawn, cautions, input."""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Document,
    Facts,
    Figure,
    Items,
    Line,
    Number,
    Paragraph,
    Part,
    Row,
    Section,
    Signature,
    Table,
)
from adhesion_stats.reporting.numbers import count, measure, percent
from adhesion_stats.reporting.plan.facts import AskedFacts, PlanFacts, ZoneFacts, plan_from
from adhesion_stats.reporting.sections.parts import cell, joined, line, sentences, table
from adhesion_stats.reporting.words import fill, word

__all__ = ["places_of", "plan_document"]

_HEAD = ("structure", "client", "engineer", "document", "test_method", "note")
_COARSE_M = 0.01


def plan_document(plan: Mapping[str, object]) -> Document:
    """The document of a plan, from the contents of plan.json alone.

    Raises ValueError for another format or version, and KeyError for a message that has no sentence.
    """
    data = plan_from(plan)
    contract = data["contract"]
    head = [(word(key), cell(text)) for key in _HEAD if (text := str(contract[key]))]  # type: ignore[literal-required]
    return Document(
        language=word("language"),
        title=contract["title"],
        subtitle=word("plan"),
        banner=word("plan_invented") if contract["invented"] else "",
        head=Facts(tuple(head), role="head"),
        sections=(
            _numbers_section(data),
            _places_section(data),
            _method_section(data),
            _cautions_section(data),
            _inputs_section(data),
        ),
    )


def _numbers_section(data: PlanFacts) -> Section:
    zones = len(data["zones"])
    code = "plan_total" if zones > 1 else "plan_total_one_zone"
    each = data["rules"]["per_measurement"]
    total = fill(code, pulls=count(data["pulls"]), **({"zones": count(zones)} if zones > 1 else {}))
    if each is not None:
        values = sum(len(zone["measurements"] or ()) for zone in data["zones"]) or data["pulls"]
        total = (*total, " ", *fill("plan_total_measured", values=count(values), each=count(each)))
    columns = (
        Column(word("c_zone")),
        Column(word("c_plan_area"), numeric=True),
        Column(word("c_plan_pulls"), numeric=True),
        Column(word("c_plan_by"), wide=True),
        Column(word("c_plan_others"), wide=True),
        Column(word("c_plan_retests"), numeric=True),
    )
    blocks: list[Block] = [
        Paragraph(total, role="lead"),
        table(word("t_plan_zones"), columns, [_zone_row(zone) for zone in data["zones"]], cards=True),
    ]
    if data["messages"]:
        blocks.append(Items(word("h_plan_settle"), sentences(data["messages"])))
    return Section(word("h_plan"), "plan", tuple(blocks), _risk_sections(data))


def _zone_row(zone: ZoneFacts) -> Row:
    others = [asked for i, asked in enumerate(zone["asked"]) if i != zone["decides"]]
    retests = sum(len(position["retests"]) for position in zone["positions"])
    area: Cell = cell(word("nothing"))
    if zone["area_m2"] is not None:
        from_ = word("plan_area_outline" if zone["area_from"] == "outline" else "plan_area_contract")
        area = cell(measure(zone["area_m2"], 1, "m²"), line(from_, quiet=True))
    parts = [
        line(*fill(f"plan_parts_{kind}", names=", ".join(names)), quiet=True) for kind, names in zone["parts"].items()
    ]
    return Row(
        (
            cell(zone["zone"], *parts),
            area,
            cell(count(zone["pulls"]), *_measured(zone)),
            Cell((_rule(zone["asked"][zone["decides"]]),)),
            Cell(tuple(_rule(asked) for asked in others)) if others else cell(line(word("plan_no_other"), quiet=True)),
            cell(count(retests)),
        )
    )


def _measured(zone: ZoneFacts) -> tuple[Line, ...]:
    """How many measurements the pulls of a zone make, where they do."""
    if zone["measurements"] is None:
        return ()
    each = zone["pulls"] // len(zone["measurements"])
    return (line(*fill("plan_measurements", values=count(len(zone["measurements"])), each=count(each)), quiet=True),)


def _rule(asked: AskedFacts) -> Line:
    """A rule with its numbers put in, and its source."""
    numbers: dict[str, Part] = {"pulls": count(asked["pulls"])}
    if asked["kind"] not in {"contract", "zone", "risk"}:
        numbers |= {"each": count(asked["each"]), "times": count(asked["times"])}
    if asked["kind"] == "area":
        numbers |= {
            "first": _as_written(asked["first_area"]),
            "then": _as_written(asked["then_each"]),
            "counts": word("plan_begun" if asked["begun"] else "plan_full"),
        }
    parts = fill(f"plan_rule_{asked['kind']}", **numbers)
    if asked["per_measurement"] > 1:
        values = asked["pulls"] // asked["per_measurement"]
        made_of = fill("plan_measurements", values=count(values), each=count(asked["per_measurement"]))
        parts = (*parts, " (", *made_of, ")")
    return Line((*parts, " ", *fill("plan_source", source=asked["source"])) if asked["source"] else parts)


def _risk_sections(data: PlanFacts) -> tuple[Section, ...]:
    """How often good and bad zones would be accepted with the planned pulls."""
    asked = data["rules"]["risk"]
    zones = [zone for zone in data["zones"] if zone["risk"] is not None]
    if asked is None or not zones:
        return ()
    wanted = fill(
        "plan_risk_asked",
        good=_as_written(asked["good_mean"]),
        bad=_as_written(asked["bad_mean"]),
        accept=percent(asked["accept_good_at_least_percent"]),
        refuse=percent(asked["accept_bad_at_most_percent"]),
        cov=percent(asked["cov_percent"]),
    )
    columns = (
        Column(word("c_zone")),
        Column(word("c_plan_pulls"), numeric=True),
        Column(word("c_plan_good"), numeric=True),
        Column(word("c_plan_bad"), numeric=True),
        Column(word("c_plan_met")),
        Column(word("c_plan_how")),
    )
    blocks: tuple[Block, ...] = (
        Paragraph(wanted),
        *_split(data),
        table(word("t_plan_risk"), columns, [_risk_row(zone) for zone in zones]),
        Paragraph(
            (word("plan_risk_note" if data["rules"]["per_measurement"] is None else "plan_risk_note_measured"),), "note"
        ),
    )
    return (Section(word("h_plan_risk"), "risk", blocks),)


def _split(data: PlanFacts) -> tuple[Paragraph, ...]:
    """How the spread of single pulls was parted, where values are measurements."""
    asked = data["rules"]["risk"]
    if asked is None or data["rules"]["per_measurement"] is None:
        return ()
    code = "plan_risk_split" if asked["between_given"] else "plan_risk_split_own"
    return (Paragraph(fill(code, between=percent(asked["between_percent"]))),)


def _risk_row(zone: ZoneFacts) -> Row:
    risk = zone["risk"]
    assert risk is not None
    how: tuple[Part, ...] = (word("plan_exact"),)
    if risk["standard_error"] > 0:
        how = fill("plan_simulated", error=measure(100 * risk["standard_error"], 1, "%"))
    return Row(
        (
            cell(zone["zone"]),
            cell(count(zone["pulls"]), *_measured(zone)),
            cell(measure(100 * risk["good"], 1, "%")),
            cell(measure(100 * risk["bad"], 1, "%")),
            cell(word("plan_met" if risk["met"] else "plan_not_met")),
            cell(line(*how)),
        )
    )


def _as_written(text: str | None) -> str:
    return (text or "").replace("m2", "m²").replace("ft2", "ft²").replace(" ", "\N{NO-BREAK SPACE}")


def _places_section(data: PlanFacts) -> Section:
    return Section(
        word("h_plan_zones"),
        "where",
        (Paragraph((word("plan_zones_note"),), role="note"),),
        tuple(_zone_section(zone) for zone in data["zones"]),
    )


def _zone_section(zone: ZoneFacts) -> Section:
    aside = Line(fill("plan_zone_aside", pulls=count(zone["pulls"])))
    if not zone["positions"]:
        blocks: tuple[Block, ...] = (Paragraph((word("plan_no_positions"),)),)
    else:
        blocks = (_figure(zone), _coordinates(zone))
    return Section(zone["zone"], f"zone-{zone['number']}", blocks, aside=aside)


def _figure(zone: ZoneFacts) -> Figure:
    outline = zone["outline"]
    assert outline is not None
    wide, high = (max(c[axis] for c in outline) - min(c[axis] for c in outline) for axis in (0, 1))
    measured = zone["measurements"] is not None
    caption: list[Part] = [word("plan_caption_measured" if measured else "plan_caption")]
    if zone["cells"] is not None and len(zone["cells"]) > 1:
        caption += fill(
            "plan_caption_cells_measured" if measured else "plan_caption_cells", n=count(len(zone["cells"]))
        )
    if zone["keep_outs"]:
        caption.append(word("plan_caption_keep_outs"))
    places = places_of(zone)
    retests = sum(len(position["retests"]) for position in zone["positions"])
    alt = word("plan_alt").format(
        zone=zone["zone"],
        wide=measure(wide, places, "m"),
        high=measure(high, places, "m"),
        pulls=len(zone["positions"]),
        retests=retests,
        measurements="" if not measured else word("plan_alt_measured").format(values=len(zone["measurements"] or ())),
    )
    return Figure(
        "plan",
        (zone["zone"],),
        f"drawing-{zone['number']}",
        word("plan_figure").format(zone=zone["zone"]),
        Line(tuple(caption)),
        alt,
        _corners(zone),
    )


def places_of(zone: ZoneFacts) -> int:
    """Decimal places of the zone's coordinates in metres."""
    return 2 if (zone["step_m"] or 0) >= _COARSE_M else 3


def _corners(zone: ZoneFacts) -> Table:
    """Corners of the outline and of each keep-out, in their order."""
    places = places_of(zone)
    outlines = [(word("plan_outline"), zone["outline"] or [])]
    outlines += [(part["name"], part["corners"]) for part in zone["keep_outs"]]
    columns = (
        Column(word("c_plan_shape")),
        Column(word("c_plan_corner"), numeric=True),
        Column(word("c_plan_x"), "m", numeric=True),
        Column(word("c_plan_y"), "m", numeric=True),
    )
    rows = [
        Row((cell(name), cell(count(i)), cell(measure(x, places)), cell(measure(y, places))))
        for name, corners in outlines
        for i, (x, y) in enumerate(corners, 1)
    ]
    return table(word("t_plan_corners"), columns, rows)


def _coordinates(zone: ZoneFacts) -> Table:
    """Where each pull and each retest stands."""
    places = places_of(zone)
    measured = zone["measurements"] is not None
    columns = (
        Column(word("c_plan_number"), numeric=True),
        *((Column(word("c_plan_measurement"), tight=True),) if measured else ()),
        Column(word("c_plan_id"), tight=True),
        Column(word("c_plan_x"), "m", numeric=True),
        Column(word("c_plan_y"), "m", numeric=True),
        Column(word("c_plan_retest_at"), "m"),
    )
    each = len(zone["positions"]) // len(zone["measurements"]) if zone["measurements"] else 1
    rows = []
    for i, position in enumerate(zone["positions"], 1):
        kept = [
            (f"{retest['id']} (", measure(retest["x_m"], places), "; ", measure(retest["y_m"], places), ")")
            for retest in position["retests"]
        ]
        rows.append(
            Row(
                (
                    cell(count((i - 1) // each + 1)),
                    *((cell(position["measurement"] or ""),) if measured else ()),
                    cell(position["id"]),
                    cell(measure(position["x_m"], places)),
                    cell(measure(position["y_m"], places)),
                    Cell((Line(joined(kept)),)) if kept else cell(word("nothing")),
                )
            )
        )
    return table(word("t_plan_positions").format(zone=zone["zone"]), columns, rows)


def _length(metres: float | None) -> Number:
    """A distance in millimetres."""
    value = 1000.0 * (metres or 0.0)
    return measure(value, 0 if abs(value - round(value)) < 1e-6 else 1, "mm")


def _method_section(data: PlanFacts) -> Section:
    rules = data["rules"]
    if not any(zone["positions"] for zone in data["zones"]):
        return Section(word("h_plan_method"), "method", (Paragraph((word("plan_no_positions"),)),))
    source = (
        word("plan_method_source").format(source=rules["source"]) if rules["source"] else word("plan_method_no_source")
    )
    measured = "" if rules["per_measurement"] is None else "_measured"
    blocks: list[Block] = [
        Paragraph((word(f"plan_method_{'strata' if rules['stratified'] else 'free'}{measured}"),)),
        Paragraph(
            fill(
                "plan_method_distances",
                edge=_length(rules["edge_distance_m"]),
                spacing=_length(rules["spacing_m"]),
                source=source,
            )
        ),
        Paragraph(fill("plan_method_rounding", coarse=measure(10, 0, "mm"), fine=measure(1, 0, "mm"))),
        Paragraph(fill("plan_method_seed", seed=count(rules["seed"] or 0))),
    ]
    if rules["per_measurement"] is not None:
        side = _length(rules["measurement_side_m"])
        blocks.insert(1, Paragraph(fill("plan_method_measured", each=count(rules["per_measurement"]), side=side)))
    if rules["retest_positions"]:
        blocks.append(Paragraph((word("plan_method_retests"),)))
    return Section(word("h_plan_method"), "method", tuple(blocks))


def _cautions_section(data: PlanFacts) -> Section:
    blanks = (word("sign_name"), word("sign_date"), word("sign_signature"))
    blocks: tuple[Block, ...] = (
        Paragraph(sentences(data["cautions"][:1])[0].parts, role="warning"),
        Items("", sentences(data["cautions"][1:])),
        Signature(word("signatures"), (word("plan_sign_made"), word("plan_sign_agreed")), blanks),
    )
    return Section(word("h_plan_cautions"), "cautions", blocks)


def _inputs_section(data: PlanFacts) -> Section:
    file = data["inputs"]["specification"]
    columns = (Column(word("c_file")), Column(word("c_role")), Column(word("c_hash"), wide=True))
    row = Row((cell(file["file"]), cell(word("specification")), cell(file["sha256"])))
    return Section(word("h_plan_inputs"), "inputs", (table(word("t_plan_inputs"), columns, [row]),))
