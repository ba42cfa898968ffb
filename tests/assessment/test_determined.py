"""A determination stands beside the decision; hints point at causes; neither changes an outcome."""

from __future__ import annotations

import pytest

from adhesion_stats.assessment import assess
from adhesion_stats.assessment.hints import cause_hints
from adhesion_stats.entrance import readings_from
from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.model import Equation, Fold, Items, Section
from adhesion_stats.reporting.terminal import summary_table
from adhesion_stats.terms.parse import parse_specification

_TERMS = """[contract]
title = "t"
[[require]]
all_of = [
  { mean_at_least = "1.50 MPa" },
  { smallest_at_least = "1.00 MPa" },
  { failure_share = ["A"], at_least = "60 %" },
]
"""
_DECIDED = """[[determination]]
zone = "%s"
decided = "accepted by concession"
about = "%s"
who = "Engineer"
when = 2026-05-04
why = "light loads there"
"""
_ROWS = "zone,id,strength MPa,failure\nDeck,1,1.20,A/B\nDeck,2,1.60,A/B\nDeck,3,1.40,80% A 20% A/B\n"


def results(text: str = _TERMS) -> dict[str, object]:
    """Results for the rows under a specification."""
    terms = parse_specification(text.encode(), file="s.toml")
    return assess(readings_from(_ROWS.encode(), file="r.csv", specification=terms), terms).as_dict()


def zone_of(found: dict[str, object]) -> dict[str, object]:
    """The one zone."""
    zones = found["zones"]
    assert isinstance(zones, list)
    (zone,) = zones
    assert isinstance(zone, dict)
    return zone


def codes(found: dict[str, object]) -> list[str]:
    """Codes of the findings."""
    messages = found["messages"]
    assert isinstance(messages, list)
    return [message["code"] for message in messages]


def test_a_determination_changes_no_decision() -> None:
    """The zone keeps its computed decision; what was determined stands beside it, also in the terminal's table."""
    plain, decided = results(), results(_TERMS + _DECIDED % ("Deck", "does not conform"))
    assert zone_of(plain)["outcome"] == zone_of(decided)["outcome"] == "does not conform"
    assert plain["decision"] == decided["decision"]
    assert zone_of(decided)["determinations"] == [
        {
            "decided": "accepted by concession",
            "about": "does not conform",
            "who": "Engineer",
            "when": "2026-05-04",
            "why": "light loads there",
        }
    ]
    assert "accepted by concession" in " ".join(summary_table(decided).split())
    assert not any(code.startswith("determination") for code in codes(decided))


@pytest.mark.parametrize(
    ("zone", "about", "code"),
    [("Deck", "undetermined", "determination_about_another"), ("Dock", "undetermined", "determination_without_zone")],
)
def test_a_determination_that_does_not_fit_is_said(zone: str, about: str, code: str) -> None:
    """It was made about another decision than today's, or about a zone that nobody knows."""
    assert code in codes(results(_TERMS + _DECIDED % (zone, about)))


def test_formulas_carry_the_numbers_of_the_hand_calculation() -> None:
    """(1.20 + 1.60 + 1.40) / 3 = 4.20 / 3 = 1.40 < 1.50; smallest 1.20 >= 1.00; 80 / 3 = 26.7 % of A < 60 %."""
    document = assessment_document(results())
    zones = next(section for section in document.sections if section.anchor == "zone-by-zone")
    (zone,) = zones.sections
    said = [str(block).replace("\N{NO-BREAK SPACE}", " ") for block in zone.blocks if isinstance(block, Equation)]
    assert said[0] == "x\u0304 = (Σ x) / (n) = (4.20) / (3) = 1.40 MPa < 1.50 MPa"
    assert said[1] == "x_min = 1.20 MPa ≥ 1.00 MPa"
    assert said[2] == "p\u0304 = (Σ p) / (n) = (80 %) / (3) = 26.7 % < 60 %"


def test_the_letter_and_the_grounds_stand_with_the_zone() -> None:
    """A reader finds a paragraph to quote and the grounds of what was determined."""
    document = assessment_document(results(_TERMS + _DECIDED % ("Deck", "does not conform")))
    (zone,) = next(section for section in document.sections if section.anchor == "zone-by-zone").sections
    assert isinstance(zone, Section)
    letter = next(str(block.block) for block in zone.blocks if isinstance(block, Fold))
    assert letter.startswith("Zone “Deck” does not conform; 3 pulls count. ")
    assert "accepted by concession (Engineer, 2026-05-04)" in letter
    items = [str(item) for block in zone.blocks if isinstance(block, Items) for item in block.items]
    assert any("light loads there" in item for item in items)


@pytest.mark.parametrize(
    ("percent", "code"),
    [
        ({"A": 80.0, "A/B": 20.0}, "hint_substrate"),
        ({"A/B": 50.0, "A": 30.0, "B": 20.0}, "hint_first_face"),
        ({"B/C": 60.0, "C/D": 10.0, "A": 30.0}, "hint_face"),
        ({"B": 30.0, "C": 30.0, "A": 40.0}, "hint_layer"),
        ({"Y": 30.0, "Y/Z": 30.0, "A": 40.0}, "hint_adhesive"),
    ],
)
def test_where_to_look_follows_what_broke(percent: dict[str, float], code: str) -> None:
    """The kind of place that broke most, over half of the area or more, gives the hint."""
    assert [hint.code for hint in cause_hints("does not conform", percent)] == [code]


def test_no_hint_without_need_or_without_a_clear_place() -> None:
    """A zone that conforms gets none, nor one that broke everywhere."""
    assert cause_hints("conforms", {"A": 100.0}) == []
    assert cause_hints(None, {"A": 100.0}) == []
    assert cause_hints("undetermined", {"A": 40.0, "A/B": 40.0, "B": 20.0}) == []


def test_the_share_of_a_hint_reads_as_in_the_table() -> None:
    """72.5 % is neither 72 nor 73; a whole share shows no decimals."""
    (hint,) = cause_hints("undetermined", {"A": 72.5, "B": 27.5})
    assert hint.facts["share"] == "72.5 %"
    (hint,) = cause_hints("undetermined", {"A": 80.0, "B": 20.0})
    assert hint.facts["share"] == "80 %"


def test_a_factor_reads_as_it_was_written() -> None:
    """K = 1.4 stands as 1.4 in the criterion, as in its reason."""
    terms = '[contract]\ntitle = "t"\n[[require]]\nmean_less_sd_at_least = "1.00 MPa"\nk = 1.4\n'
    document = assessment_document(results(terms))
    (zone,) = next(section for section in document.sections if section.anchor == "zone-by-zone").sections
    said = " ".join(block.name for block in zone.blocks if isinstance(block, Equation))
    assert "mean − 1.4 standard deviations" in said.replace("\N{NO-BREAK SPACE}", " ")


def test_readings_of_a_silent_contract_that_agree_take_one_line() -> None:
    """Nothing hangs on the glue rule here: one sentence stands for the table, which can be opened."""
    terms = parse_specification(_TERMS.encode(), file="s.toml")
    rows = _ROWS + "Deck,4,1.10,60% A 40% Y\n"
    found = assess(readings_from(rows.encode(), file="r.csv", specification=terms), terms).as_dict()
    assert {reading["outcome"] for reading in zone_of(found)["settled"]} == {"does not conform"}  # type: ignore[attr-defined]
    (zone,) = next(s for s in assessment_document(found).sections if s.anchor == "zone-by-zone").sections
    titles = [block.title for block in zone.blocks if isinstance(block, Fold)]
    assert any(title.endswith("ways to read it the zone does not conform.") for title in titles)
