"""How the numbers were made and how sure they are: comparison, rounding, outlier tests, documents."""

from __future__ import annotations

from adhesion_stats.reporting.model import Block, Column, Items, Line, Paragraph, Part, Row, Section, Table
from adhesion_stats.reporting.numbers import count, measure, percent, probability
from adhesion_stats.reporting.results import ByTest, Results
from adhesion_stats.reporting.sections.parts import Anchors, cell, line, pull_link, scale_of, sentence, table, zone_link
from adhesion_stats.reporting.sections.published import published_blocks
from adhesion_stats.reporting.sections.uncertainty import uncertainty_blocks
from adhesion_stats.reporting.words import fill, word

__all__ = ["method_section"]


def _comparison(results: Results) -> list[Block]:
    rounding, entry = results["rounding"], results["entry"]
    blocks: list[Block] = [Paragraph((word("m_decision"),)), Paragraph((word("m_hangs"),))]
    if rounding["method"] == "unrounded":
        compare: list[Part] = [word("m_unrounded")]
    else:
        compare = list(fill("m_rounded", ties=word(f"ties_{rounding['ties']}")))
    if rounding["record_to"]:
        compare = [*fill("m_record", step=rounding["record_to"]), " ", *compare]
    blocks.append(Paragraph(tuple(compare)))
    if entry["recording_step_text"]:
        blocks.append(Paragraph(fill("m_step", unit=entry["unit"], step=entry["recording_step_text"])))
    else:
        blocks.append(Paragraph((*fill("m_entered", unit=entry["unit"]), " ", word("m_step_none"))))
    return blocks


def _screening_table(results: Results, anchors: Anchors) -> Table:
    pulls = {pull["index"]: pull for pull in results["pulls"]}
    rows = []
    for tested in results["screening"]["zones"]:
        test = (
            word(f"test_{tested['test']}")
            if f"test_{tested['test']}" in ("test_grubbs", "test_dixon")
            else tested["test"]
        )
        name = f"{test} {tested['ratio']}" if tested["ratio"] else test
        numbers: list[Part] = [
            word("nothing") if tested["statistic"] is None else measure(tested["statistic"], 3),
            word("nothing") if tested["critical"] is None else measure(tested["critical"], 3),
            word("nothing") if tested["p"] is None else probability(tested["p"]),
        ]
        if tested["flagged"] and tested["pull"] in pulls:
            result = line(*fill("flagged_pull", pull=pull_link(pulls[tested["pull"]])))
        elif tested["note"] is not None:
            result = line(sentence(tested["note"]), quiet=True)
        else:
            result = line(word("flags_none"))
        rows.append(
            Row(
                (
                    cell(zone_link(anchors, tested["zone"])),
                    cell(name),
                    cell(count(tested["n"])),
                    *(cell(number) for number in numbers),
                    cell(result),
                )
            )
        )
    columns = (
        Column(word("c_zone")),
        Column(word("c_test")),
        Column(word("c_n"), numeric=True),
        Column(word("c_statistic"), numeric=True),
        Column(word("c_critical"), numeric=True),
        Column(word("c_p"), numeric=True),
        Column(word("c_result"), wide=True),
    )
    return table(word("t_screening"), columns, rows, anchor="screening")


def _by_test(found: ByTest) -> Line:
    return Line(
        fill(
            "m_by_test",
            test=word(f"test_{found['test']}"),
            zones=count(found["zones"]),
            flagged=count(found["flagged"]),
            expected=measure(found["expected_by_chance"], 2),
        )
    )


def _screening(results: Results, anchors: Anchors) -> list[Block]:
    screening = results["screening"]
    if not screening["tests"]:
        return [Paragraph((word("m_no_screening"),))]
    expected: Part = word("nothing")
    if screening["expected_by_chance"] is not None:
        expected = measure(screening["expected_by_chance"], 1)
    text = fill(
        "m_screening",
        tests=", ".join(word(f"test_{test}") for test in screening["tests"]),
        side=word(f"side_{screening['side']}"),
        level=percent(100 * screening["level"]),
        flagged=count(screening["flagged"]),
        expected=expected,
    )
    if "dixon" in screening["tests"]:
        text = (*text, " ", *fill("dixon_convention", convention=screening["dixon_convention"]))
    blocks: list[Block] = [Paragraph(text)]
    if len(screening["by_test"]) > 1:
        blocks.append(Items("", tuple(_by_test(found) for found in screening["by_test"])))
    if screening["zones"]:
        blocks.append(_screening_table(results, anchors))
    return blocks


def method_section(results: Results, anchors: Anchors) -> Section:
    """How it was computed."""
    blocks = [
        *_comparison(results),
        *uncertainty_blocks(results, scale_of(results)),
        *published_blocks(results),
        *_screening(results, anchors),
    ]
    if results["method"]["sources"]:
        blocks.append(Items(word("sources"), tuple(line(source) for source in results["method"]["sources"])))
    return Section(word("h_method"), "method", tuple(blocks))
