"""The document says what the results hold: every number, pull and decision, in the order of the reader's questions."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Iterator
from decimal import Decimal
from typing import cast

import pytest

from adhesion_stats.quantities import decimal_text
from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.figures.probability import quantiles
from adhesion_stats.reporting.model import Document, Fold, Number, OutcomeWord, Section, Table
from adhesion_stats.reporting.results import Results, messages_from, results_from
from adhesion_stats.units import factor
from tests.reporting.conftest import results_named
from tests.reporting.contract_check import shape_faults


def values_of(thing: object) -> Iterator[object]:
    """All values of the document model inside a value."""
    yield thing
    if dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            yield from values_of(getattr(thing, field.name))
    elif isinstance(thing, tuple):
        for part in thing:
            yield from values_of(part)


def numbers_in(thing: object) -> Iterator[float]:
    """All numbers inside a results dictionary."""
    if isinstance(thing, dict):
        for part in thing.values():
            yield from numbers_in(part)
    elif isinstance(thing, list):
        for part in thing:
            yield from numbers_in(part)
    elif isinstance(thing, int | float) and not isinstance(thing, bool):
        yield float(thing)


def section_of(document: Document, anchor: str) -> Section:
    """The section with this anchor, at any depth."""
    return next(v for v in values_of(document.sections) if isinstance(v, Section) and v.anchor == anchor)


def rows_of(table: Table) -> list[list[str]]:
    """Cells of a table as texts."""
    return [[str(cell) for cell in row.cells] for group in table.groups for row in group.rows]


def table_of(document: Document, anchor: str) -> Table:
    """The table with this anchor."""
    return next(v for v in values_of(document.sections) if isinstance(v, Table) and v.anchor == anchor)


def test_examples_have_the_shape_of_results(results: dict[str, object]) -> None:
    """The invented results of these tests are results, so that what is shown here is shown of real ones."""
    assert shape_faults(results) == []


def test_every_number_comes_from_the_results(results: dict[str, object]) -> None:
    """Each number of the document is a value of the results, a count of pulls or zones, or a plotting position."""
    known = set(numbers_in(results))
    known |= {100 * value for value in known} | {(1 + value) / 2 for value in known if 0 < value < 1}
    known |= {quantile for n in range(5, 20) for quantile in quantiles(n)}
    printed = [v for v in values_of(assessment_document(results)) if isinstance(v, Number)]
    strange = [number for number in printed if number.value not in known and number.value != int(number.value)]
    assert len(printed) > 20
    assert strange == []


def test_every_number_is_rounded_once_from_its_value(results: dict[str, object]) -> None:
    """The digits printed are those of the unrounded value in the unit that stands beside it."""
    unit = factor(str(results["unit"]), "strength")
    for number in (v for v in values_of(assessment_document(results)) if isinstance(v, Number)):
        text = number.text.replace("−", "-").lstrip("+")
        if text.startswith("<"):
            continue
        places = max(0, -cast("int", Decimal(text).as_tuple().exponent))
        assert text in {decimal_text(number.value / by, places) for by in (1.0, unit)}


def test_sections_follow_the_questions_of_a_reader() -> None:
    """Decision, basis, figures, zones, method, findings, cautions, appendix."""
    anchors = [section.anchor for section in assessment_document(results_named("demo")).sections]
    assert anchors == [
        "decision", "basis", "figures", "zone-by-zone", "method", "findings", "cautions", "appendix",
    ]  # fmt: skip


def test_every_zone_and_its_decision_stand_on_the_first_screen(results: dict[str, object]) -> None:
    """One row for each zone, in the order of the results, with its decision, margin, counts and what is next."""
    data, document = results_from(results), assessment_document(results)
    rows = rows_of(table_of(document, "zones"))
    assert [row[0] for row in rows] == [zone["zone"] for zone in data["zones"]]
    assert [row[1].split("\n")[0] for row in rows] == [zone["outcome"] for zone in data["zones"]]
    for row, zone in zip(rows, data["zones"], strict=True):
        assert row[3].startswith(str(zone["pulls"]["counted"]))
        assert row[8]


def test_contract_decision_is_stated_with_its_reason() -> None:
    """The decision of the contract and its reason open the document."""
    first = section_of(assessment_document(results_named("demo")), "decision").blocks[0]
    assert next(v for v in values_of(first) if isinstance(v, OutcomeWord)).outcome == "does not conform"
    assert "5 zones do not conform." in "".join(str(v) for v in values_of(first) if isinstance(v, str))


def test_no_pull_is_dropped(results: dict[str, object]) -> None:
    """Every pull of the file stands in the appendix once, and every pull that does not count stands with its reason."""
    data, document = results_from(results), assessment_document(results)
    rows = rows_of(table_of(document, "all-pulls"))
    assert sorted(row[0] for row in rows) == sorted(pull["name"] for pull in data["pulls"])
    out = [pull for pull in data["pulls"] if pull["status"] != "counted"]
    if out:
        shown = {row[0]: row for row in rows_of(table_of(document, "not-counted"))}
        assert set(shown) == {pull["name"] for pull in out}
        assert all(row[4] for row in shown.values())


def test_bounds_are_never_printed_as_plain_values() -> None:
    """A lower bound reads "at least", as value, as mean of such values and as margin."""
    row = next(
        r for r in rows_of(table_of(assessment_document(results_named("demo")), "zones")) if r[0] == "Span 3, lane"
    )
    plain = [text.replace("\N{NO-BREAK SPACE}", " ") for text in row]
    assert plain[2].startswith("at least −0.01 MPa")
    assert plain[4].startswith("at least 1.20")
    assert plain[5].startswith("at least 1.49")


def test_mean_on_the_limit_is_said_to_meet_it() -> None:
    """A mean of exactly 1.50 against 1.50 shows no margin and says that equal meets."""
    row = next(
        r for r in rows_of(table_of(assessment_document(results_named("demo")), "zones")) if r[0] == "Abutment east"
    )
    assert row[2].startswith("0.00\N{NO-BREAK SPACE}MPa")
    assert "exactly on the limit" in row[2]


def test_invented_data_is_said_and_real_data_is_not() -> None:
    """The banner stands exactly where the contract says that its data are invented."""
    assert assessment_document(results_named("demo")).banner.startswith("Invented data")
    assert assessment_document(results_named("single_pull")).banner == ""


def test_nested_requirement_is_shown_as_a_tree() -> None:
    """All-of inside any-of is drawn; a plain list of criteria is not drawn twice."""
    document = assessment_document(results_named("demo"))
    kinds = {a: [type(b).__name__ for b in section_of(document, a).blocks] for a in ("zone-1", "zone-12")}
    assert "TreeView" not in kinds["zone-1"]
    assert "TreeView" in kinds["zone-12"]


def test_silent_rules_show_the_decision_under_each_reading() -> None:
    """Where the contract is silent, each reading stands with its decision, and only the columns that differ."""
    section = section_of(assessment_document(results_named("demo")), "zone-5")
    inside = [b.block if isinstance(b, Fold) else b for b in section.blocks]  # folded where all readings agree
    table = next(b for b in inside if isinstance(b, Table) and "silent" in b.caption)
    assert [column.title for column in table.columns] == [
        "Break at the dolly adhesive", "Pulls lost before loading", "Decision",
    ]  # fmt: skip
    assert len(rows_of(table)) == 2


def test_zone_of_which_nothing_is_asked_is_not_decided() -> None:
    """A zone without requirement shows its pulls and values and no decision."""
    results = copy.deepcopy(results_named("single_pull"))
    zone = cast("Results", results)["zones"][0]
    zone.update({"outcome": None, "binding": None, "criteria": [], "tree": None})
    row = rows_of(table_of(assessment_document(results), "zones"))[0]
    assert row[1].startswith("nothing asked")
    assert row[2] == "–"


def test_other_formats_are_refused() -> None:
    """Results of another version are not read as if they were ours."""
    with pytest.raises(ValueError, match="version 2"):
        assessment_document({**results_named("demo"), "format_version": 1})


def test_findings_stand_with_place_and_weight() -> None:
    """Each finding of the results is a row; the worst come first."""
    data = results_named("demo")
    section = section_of(assessment_document(data), "findings")
    rows = rows_of(next(b for b in section.blocks if isinstance(b, Table)))
    assert [row[0] for row in rows] == ["warning", "note"]
    assert rows[1][1] == "row 12"
    assert len(rows) == len(messages_from(data))


def test_the_counts_of_zones_add_up_where_of_one_nothing_is_asked() -> None:
    """All zones are told by count: those of which nothing is asked too."""
    results = copy.deepcopy(results_named("demo"))
    shown = cast("Results", results)
    zone = shown["zones"][0]
    shown["decision"]["zones"][zone["outcome"] or ""] -= 1
    zone.update({"outcome": None, "binding": None, "criteria": [], "tree": None})
    words = assessment_document(results).sections[0].blocks
    texts = [part for value in words for part in values_of(value) if isinstance(part, str | Number)]
    start, end = texts.index(" zones: "), texts.index(" of which nothing is asked.")
    first = max(i for i in range(start) if isinstance(texts[i], Number))
    numbers = [part.value for part in texts[first:end] if isinstance(part, Number)]
    assert numbers[0] == sum(numbers[1:]) == len(shown["zones"])
    assert numbers[4] == 1
