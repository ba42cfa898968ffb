"""Zone by zone: the tree of what is asked, each criterion with value and margin, the values with their equations, what
is open.
"""

from __future__ import annotations

from typing import TypeGuard

from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Decision,
    Facts,
    Fold,
    Items,
    Line,
    Link,
    Paragraph,
    Row,
    Section,
    Table,
    TreeNode,
    TreeView,
)
from adhesion_stats.reporting.numbers import Scale, count, measure, percent
from adhesion_stats.reporting.results import Criterion, Measurement, Results, Settled, Tree, Zone
from adhesion_stats.reporting.sections.determined import determination_blocks, letter
from adhesion_stats.reporting.sections.equations import criterion_equations, summary_equations
from adhesion_stats.reporting.sections.parts import (
    Anchors,
    cell,
    class_texts,
    criterion_line,
    criterion_of,
    joined,
    line,
    margin_line,
    outcome_word,
    population_lines,
    pull_link,
    scale_of,
    sentence,
    sentences,
    smallest_is_bound,
    table,
    value_line,
)
from adhesion_stats.reporting.sections.published import source_lines
from adhesion_stats.reporting.sections.site import extent_blocks
from adhesion_stats.reporting.sections.uncertainty import conformity_lines
from adhesion_stats.reporting.words import fill, word

__all__ = ["zones_section"]

_ALL_SHARE = 100.0  # a glue rule that starts above the whole area never acts


def _node(zone: Zone, tree: Tree) -> TreeNode:
    if isinstance(tree, str):
        criterion = criterion_of(zone, tree)
        assert criterion is not None, f"the tree of {zone['zone']!r} names the criterion {tree!r}, which is not there"
        return TreeNode(line(*criterion_line(criterion), ": ", outcome_word(criterion["outcome"])))
    ((joint, parts),) = tree.items()
    return TreeNode(line(word(joint)), tuple(_node(zone, part) for part in parts))


def _is_nested(tree: Tree | None) -> TypeGuard[dict[str, list[Tree]]]:
    """Whether the requirement is more than one criterion or a plain list of criteria that must all be met."""
    return isinstance(tree, dict) and not ("all_of" in tree and all(isinstance(part, str) for part in tree["all_of"]))


def _told_apart(results: Results, criterion: Criterion) -> list[Line]:
    """The pulls that a criterion on what broke tells apart, by name: excused, in the mean, below their limit."""
    found = criterion["by_failure"]
    if found is None:
        return []
    pulls = found["pulls"]
    if found["role"] == "each":
        groups = {
            "each_missing": [one for one in pulls if not one["possible"]],
            "each_open": [one for one in pulls if one["possible"] and not one["sure"]],
        }
    else:
        excused = found["role"] == "unless"
        groups = {
            "unless_sure" if excused else "only_sure": [one for one in pulls if one["sure"]],
            "unless_open" if excused else "only_open": [one for one in pulls if one["possible"] and not one["sure"]],
        }
    return [
        line(word(key).format(pulls=", ".join(results["pulls"][one["pull"]]["name"] for one in group)), quiet=True)
        for key, group in groups.items()
        if group
    ]


def _criteria(results: Results, zone: Zone, scale: Scale) -> Table:
    def row(criterion: Criterion) -> Row:
        what = [Line(criterion_line(criterion))]
        if criterion["key"] == zone["binding"]:
            what.append(line(word("binding"), quiet=True))
        margin = [margin_line(criterion)]
        if criterion["at_limit"]:
            margin.append(line(word("at_the_limit"), quiet=True))
        return Row(
            (
                Cell(tuple(what)),
                cell(value_line(criterion, scale)),
                Cell(tuple(margin)),
                cell(
                    outcome_word(criterion["outcome"]),
                    line(sentence(criterion["reason"]), quiet=True),
                    *conformity_lines(criterion),
                    *_told_apart(results, criterion),
                ),
                Cell(source_lines(criterion)),
            )
        )

    columns = (
        Column(word("c_criterion"), wide=True),
        Column(word("c_value"), numeric=True),
        Column(word("c_margin"), numeric=True),
        Column(word("c_decision"), wide=True),
        Column(word("c_source")),
    )
    key = (
        "t_criteria"
        if _is_nested(zone["tree"])
        else "t_criteria_all"
        if len(zone["criteria"]) > 1
        else "t_criteria_one"
    )
    caption = word(key).format(zone=zone["zone"])
    return table(caption, columns, [row(criterion) for criterion in zone["criteria"]])


def _values(results: Results, zone: Zone, scale: Scale) -> Facts:
    summary = zone["summary"]
    items = [(word("c_class"), cell(text)) for text in class_texts(zone)]
    items.append((word("v_n"), cell(count(summary["n"]))))
    if summary["mean"] is not None:
        lead = word("at_least") if summary["mean_is_lower_bound"] else ""
        items.append((word("v_mean"), cell(scale.strength(summary["mean"], unit=True, lead=lead))))
    if summary["sd"] is not None:
        items.append((word("v_sd"), cell(scale.spread(summary["sd"], unit=True))))
    if summary["cov"] is not None:
        items.append((word("v_cov"), cell(measure(100 * summary["cov"], 1, "%"))))
    for key in ("smallest", "median", "largest"):
        value = summary[key]
        if value is not None:
            bound = smallest_is_bound(results, zone) if key == "smallest" else summary["mean_is_lower_bound"]
            lead = word("at_least") if bound else ""
            items.append((word(f"v_{key}"), cell(scale.strength(value, unit=True, lead=lead))))
    return Facts(tuple(items), role="values")


def _measurements(results: Results, zone: Zone, scale: Scale) -> list[Block]:
    """The measurements with their pulls and values, where the contract counts by measurement."""
    found = zone["measurements"]
    if found is None:
        return []

    def value(one: Measurement) -> Line:
        if one["low"] is None:
            return line(word("measurement_not_valid"), quiet=True)
        low = scale.strength(one["low"], unit=True)
        if one["high"] is None:
            return line(scale.strength(one["low"], unit=True, lead=word("at_least")))
        if one["high"] == one["low"]:
            return line(low)
        return Line(fill("value_to", low=scale.strength(one["low"]), high=scale.strength(one["high"], unit=True)))

    columns = (Column(word("c_measurement")), Column(word("c_pulls")), Column(word("c_value"), numeric=True))
    rows = [
        Row(
            (
                cell(one["name"]),
                Cell((Line(joined([(pull_link(results["pulls"][i]),) for i in one["pulls"]])),)),
                cell(value(one)),
            )
        )
        for one in found["listed"]
    ]
    said = fill("measurements_valid", valid=count(found["valid"]), required=count(found["required"] or found["valid"]))
    return [
        table(word("t_measurements").format(zone=zone["zone"]), columns, rows),
        Paragraph(said, role="note"),
    ]


def _glue(reading: Settled) -> Line:
    if reading["glue_from_percent"] > _ALL_SHARE:
        return line(word("glue_never"))
    key = "glue_at_least" if reading["glue_then"] == "at least" else "glue_discard"
    return Line(fill(key, share=percent(reading["glue_from_percent"])))


def _settled(zone: Zone) -> list[Block]:
    """The readings that matter: of rules on which the contract is silent, and a retest that would turn the decision."""
    readings = [r for r in zone["settled"] if not r["retest_instead"] or r["outcome"] != zone["outcome"]]
    if len(readings) < 2:
        return []
    columns = {
        "c_glue": [_glue(r) for r in readings],
        "c_there": [Line(fill("from_share", share=percent(r["broke_there_from_percent"]))) for r in readings],
        "c_lost_rule": [line(word(f"lost_{r['lost']}")) for r in readings],
        "c_retest": [line(word("retest_yes" if r["retest_instead"] else "retest_no")) for r in readings],
    }
    varied = [key for key, lines in columns.items() if len({str(text) for text in lines}) > 1]
    rows = [
        Row((*(cell(columns[key][i]) for key in varied), cell(outcome_word(r["outcome"]))))
        for i, r in enumerate(readings)
    ]
    titles = [Column(word(key)) for key in (*varied, "c_decision")]
    whole = table(word("t_settled"), titles, rows)
    if len({r["outcome"] for r in readings}) == 1:  # nothing hangs on them: one line, the rest for who wants to see it
        said = fill("settled_same", ways=count(len(readings)), is_outcome=word(f"is_{zone['outcome'] or 'not_asked'}"))
        return [Fold("".join(str(part) for part in said), whole)]
    return [whole, Paragraph((word("settled_note"),), role="note")]


def _zone(results: Results, zone: Zone, anchors: Anchors, scale: Scale) -> Section:
    blocks: list[Block] = [Decision(line(outcome_word(zone["outcome"])), "", line(sentence(zone["reason"])))]
    blocks += [Paragraph((text,)) for text in population_lines(zone)]
    if zone["to_confirm"]:
        blocks.append(Items(word("to_confirm"), sentences(zone["to_confirm"]), role="next"))
    blocks += determination_blocks(zone)
    if zone["needs"]:
        blocks.append(Items(word("needs"), sentences(zone["needs"])))
    if zone["hangs_on"]:
        blocks.append(Items(word("hangs"), sentences(zone["hangs_on"])))
    elif zone["outcome"] is not None:
        blocks.append(Paragraph((word("hangs_none"),), role="note"))
    if zone["next"]:
        blocks.append(Items(word("next"), sentences(zone["next"]), role="next"))
    blocks += extent_blocks(results, zone["zone"], scale)
    if zone["hints"]:
        blocks.append(Items(word("hints"), sentences(zone["hints"])))
    if _is_nested(zone["tree"]):
        blocks.append(TreeView(word("tree"), _node(zone, zone["tree"])))
    if zone["criteria"]:
        blocks.append(_criteria(results, zone, scale))
        if any(c["by_failure"] and c["by_failure"]["role"] in {"only", "alike"} for c in zone["criteria"]):
            said = [sentence(m) for m in results["cautions"] if m["code"] == "caution_selection"]
            blocks += [Paragraph((text,), role="note") for text in said]
    blocks += _measurements(results, zone, scale)
    blocks += _settled(zone)
    blocks.append(_values(results, zone, scale))
    blocks += criterion_equations(zone, scale)
    blocks += summary_equations(zone["summary"], scale)
    if zone["summary"]["unsaid"]:
        blocks.append(Items(word("unsaid"), sentences(zone["summary"]["unsaid"])))
    if zone["outcome"] is not None:
        blocks.append(Fold(word("letter"), letter(zone)))
    link = line(Link(word("zone_pulls"), anchors.pulls(zone["zone"])))
    return Section(zone["zone"], anchors.zone(zone["zone"]), tuple(blocks), aside=link)


def zones_section(results: Results, anchors: Anchors) -> Section:
    """One part for each zone."""
    scale = scale_of(results)
    return Section(
        word("h_zones"), "zone-by-zone", (), tuple(_zone(results, zone, anchors, scale) for zone in results["zones"])
    )
