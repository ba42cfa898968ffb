"""First screen: the decision for the contract and for each zone, how far from the limit, what it hangs on, what to do
next.
"""

from __future__ import annotations

from adhesion_stats.reporting.codes import in_order
from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Decision,
    Items,
    Line,
    Link,
    Paragraph,
    Part,
    Row,
    Section,
)
from adhesion_stats.reporting.numbers import Scale, count
from adhesion_stats.reporting.results import Results, Zone
from adhesion_stats.reporting.sections.determined import determination_line
from adhesion_stats.reporting.sections.parts import (
    Anchors,
    cell,
    class_texts,
    criterion_of,
    failure_line,
    limit_text,
    line,
    margin_line,
    messages_cell,
    outcome_word,
    population_lines,
    scale_of,
    sentence,
    sentences,
    smallest_is_bound,
    table,
    zone_link,
)
from adhesion_stats.reporting.sections.published import reserve_lines
from adhesion_stats.reporting.words import broke_at, fill, word

__all__ = ["decision_section"]

_MOST_LINES = 3


def _counted(zone: Zone) -> Cell:
    pulls = zone["pulls"]
    if pulls["required"] is None:
        lines = [Line(fill("counted_only", counted=count(pulls["counted"])))]
    else:
        code = "counted_of" if pulls["counted"] <= pulls["required"] else "counted_beyond"
        lines = [Line(fill(code, counted=count(pulls["counted"]), required=count(pulls["required"])))]
    if pulls["bounded"]:
        lines.append(Line(fill("as_bounds", n=count(pulls["bounded"])), quiet=True))
    return Cell(tuple(lines))


def _against_limit(zone: Zone, kind: str, value: float | None, scale: Scale, *, lower_bound: bool) -> Cell:
    plain = [c for c in zone["criteria"] if c["question"] == "pull-off" and c["by_failure"] is None]
    criterion = next((c for c in plain if c["kind"] == kind), None)
    limit = line(word("no_limit"), quiet=True)
    if criterion is not None:
        limit = Line(fill("limit_line", limit=limit_text(criterion)), quiet=True)
    if value is None:
        return cell(word("nothing"), limit)
    lead = word("at_least") if lower_bound else ""
    return cell(scale.compared(value, None if criterion is None else criterion["limit"], lead=lead), limit)


def _margin(zone: Zone) -> Cell:
    criterion = criterion_of(zone, zone["binding"])
    if criterion is None:
        return cell(word("nothing"))
    on = Line(fill("margin_on", criterion=word(f"short_{criterion['kind']}")), quiet=True)
    if criterion["at_limit"]:
        return cell(margin_line(criterion), on, line(word("at_the_limit"), quiet=True))
    return cell(margin_line(criterion), on)


def _broke(zone: Zone) -> Cell:
    failure = zone["failure"]
    shares = failure_line(failure["percent"])
    if not shares:
        return cell(line(word("not_recorded"), quiet=True))
    lines = [Line(shares)]
    if failure["not_recorded"]:
        lines.append(Line(fill("not_recorded_for", n=count(failure["not_recorded"])), quiet=True))
    return Cell(tuple(lines))


def _hangs(zone: Zone, anchors: Anchors) -> Cell:
    """What the decision hangs on: the first few, the rest one jump away."""
    lines = sentences(zone["hangs_on"])
    if len(lines) <= _MOST_LINES:
        return messages_cell(zone["hangs_on"], word("hangs_on_nothing"))
    more = fill("n_more", n=str(len(lines) - _MOST_LINES + 1))
    link = Link("".join(str(part) for part in more), anchors.zone(zone["zone"]))
    return Cell((*lines[: _MOST_LINES - 1], line(link)))


def _sorted(results: Results) -> bool:
    """Whether the contract sorts zones into classes."""
    return any(zone["classes"] for zone in results["zones"])


def _class(zone: Zone) -> Cell:
    return Cell(tuple(map(line, class_texts(zone))) or (line(word("nothing"), quiet=True),))


def _row(results: Results, zone: Zone, anchors: Anchors, scale: Scale) -> Row:
    summary = zone["summary"]
    return Row(
        (
            cell(zone_link(anchors, zone["zone"])),
            cell(
                outcome_word(zone["outcome"]),
                *(line(text, quiet=True) for text in population_lines(zone)),
                *reserve_lines(zone["to_confirm"]),
                *(determination_line(one) for one in zone["determinations"]),
                line(sentence(zone["reason"]), quiet=True),
            ),
            *((_class(zone),) if _sorted(results) else ()),
            _margin(zone),
            _counted(zone),
            _against_limit(zone, "smallest", summary["smallest"], scale, lower_bound=smallest_is_bound(results, zone)),
            _against_limit(zone, "mean", summary["mean"], scale, lower_bound=summary["mean_is_lower_bound"]),
            _broke(zone),
            _hangs(zone, anchors),
            messages_cell(zone["next"], word("nothing")),
        )
    )


def _letters(results: Results) -> tuple[Part, ...]:
    codes = in_order(
        code for zone in results["zones"] for code, share in zone["failure"]["percent"].items() if share > 0
    )
    return fill("letters", names="; ".join(broke_at(code) for code in codes)) if codes else ()


def decision_section(results: Results, anchors: Anchors) -> Section:
    """The section that answers the reader's question."""
    decision, scale = results["decision"], scale_of(results)
    zones = decision["zones"]
    if len(results["zones"]) == 1:
        counts = fill("one_zone_count", is_outcome=word(f"is_{results['zones'][0]['outcome'] or 'not_asked'}"))
    else:
        unasked = sum(zone["outcome"] is None for zone in results["zones"])
        counts = fill(
            "zones_count_unasked" if unasked else "zones_count",
            unasked=count(unasked),
            zones=count(sum(zone["population"] is None or zone["population"]["stands"] for zone in results["zones"])),
            conforms=count(zones["conforms"]),
            fails=count(zones["does not conform"]),
            open=count(zones["undetermined"]),
        )
    columns = (
        Column(word("c_zone")),
        Column(word("c_decision"), wide=True),
        *((Column(word("c_class")),) if _sorted(results) else ()),
        Column(word("c_margin"), numeric=True),
        Column(word("c_counted"), numeric=True),
        Column(word("c_smallest"), results["unit"], numeric=True),
        Column(word("c_mean"), results["unit"], numeric=True),
        Column(word("c_broke")),
        Column(word("c_hangs"), wide=True),
        Column(word("c_next"), wide=True),
    )
    rows = [_row(results, zone, anchors, scale) for zone in results["zones"]]
    blocks: list[Block] = [
        Decision(line(outcome_word(decision["outcome"])), word("the_contract"), line(sentence(decision["reason"]))),
        Paragraph(counts),
    ]
    if decision["to_confirm"]:
        blocks.append(Items(word("to_confirm"), sentences(decision["to_confirm"]), role="next"))
    if decision["next"]:
        blocks.append(Items(word("h_next"), sentences(decision["next"]), role="next"))
    blocks.append(table(word("t_zones"), columns, rows, anchor="zones", cards=True))
    blocks.append(Paragraph((word("margin_note"), " ", *_letters(results)), role="note"))
    return Section(word("h_decision"), "decision", tuple(blocks))
