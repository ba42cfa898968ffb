"""Published rules in an assessment: the reserve beside every decision, replaced numbers, the account of each number."""

from __future__ import annotations

import json
from typing import Any

from adhesion_stats.assessment import assess
from adhesion_stats.assessment.check import check
from adhesion_stats.entrance import readings_from, specification_from
from adhesion_stats.record import canonical_bytes, schema_errors
from adhesion_stats.reporting.page import render_page
from adhesion_stats.reporting.terminal import summary_table

R4 = '[[require]]\nuse = "EN 1504-3:2005 R4"\n'
CONFIRMED = 'confirmed = "A. Author, 2026-05-04, copy of the standard"\n'
READINGS = "zone,id,strength MPa,failure\n" + "".join(
    f"{zone},{i},{value},A\n" for zone in ("Deck", "Wall") for i, value in enumerate((2.1, 2.2, 2.3, 2.4, 2.2), 1)
)


def results(text: str) -> dict[str, Any]:
    """Results of five good pulls in each of two zones."""
    terms = specification_from(f'[contract]\ntitle = "t"\n{text}'.encode(), file="specification.toml")
    reading = readings_from(READINGS.encode(), file="readings.csv", specification=terms)
    found = json.loads(canonical_bytes(assess(reading, terms).as_dict()))
    assert schema_errors(found) == []
    assert isinstance(found, dict)
    return found


def test_the_reserve_stands_beside_contract_zone_and_criterion() -> None:
    """Numbers that nobody confirmed decide, and each place where the decision is read says so."""
    found = results(R4)
    assert found["decision"]["outcome"] == "conforms"
    assert [message["code"] for message in found["decision"]["to_confirm"]] == ["published_to_confirm"]
    for zone in found["zones"]:
        assert [message["facts"]["name"] for message in zone["to_confirm"]] == ["EN 1504-3:2005 R4"]
        assert [criterion["published"]["to_confirm"] for criterion in zone["criteria"]] == [True, True]
        assert [criterion["published"]["sure"] for criterion in zone["criteria"]] == ["secondary", "unverified"]
    assert "published_to_confirm" in {message["code"] for message in found["messages"]}


def test_the_reserve_is_read_on_the_page_and_in_the_terminal() -> None:
    """Both say "to be confirmed" with the name of the rule; once confirmed, neither does."""
    for text, hidden in ((R4, False), (R4 + CONFIRMED, True)):
        made = results(text)
        terminal = " ".join(summary_table(made).split())
        html = render_page(made)
        assert ("To be confirmed: numbers of EN 1504-3:2005 R4." not in terminal) is hidden
        assert ("To be confirmed: numbers of EN 1504-3:2005 R4." not in html) is hidden
        assert "EN 1504-3:2005 R4, table of performance requirements" in html


def test_a_confirmation_is_kept_with_its_words() -> None:
    """Who, when and where seen stand in results.json and among the messages."""
    found = results(R4 + CONFIRMED)
    (used,) = found["published"]
    assert (used["confirmed"], used["to_confirm"]) == ("A. Author, 2026-05-04, copy of the standard", False)
    assert found["decision"]["to_confirm"] == []
    said = [message for message in found["messages"] if message["code"] == "published_confirmed"]
    assert [message["facts"]["confirmed"] for message in said] == [used["confirmed"]]
    assert found["zones"][0]["criteria"][0]["published"]["confirmed"] == used["confirmed"]


def test_a_rule_for_one_zone_puts_no_reserve_on_another() -> None:
    """The wall is decided by the contract's own number."""
    found = results(R4 + 'zones = ["Deck"]\n[[require]]\nzones = ["Wall"]\nmean_at_least = "1.50 MPa"\n')
    reserve = {zone["zone"]: len(zone["to_confirm"]) for zone in found["zones"]}
    assert reserve == {"Deck": 1, "Wall": 0}
    assert found["zones"][1]["criteria"][0]["published"] is None


def test_the_contracts_number_is_said_beside_the_published_one() -> None:
    """The mean asked is the contract's; the message has both, and the criterion needs no confirmation."""
    found = results(R4 + 'mean_at_least = "1.80 MPa"\n')
    said = [message["facts"] for message in found["messages"] if message["code"] == "published_replaced"]
    assert [(facts["value"], facts["instead"]) for facts in said] == [("2.0 MPa", "1.80 MPa")]
    mean = found["zones"][0]["criteria"][0]
    assert (mean["limit"]["text"], mean["published"]["sure"]) == ("1.80 MPa", None)


def test_a_method_that_is_not_confirmed_puts_a_reserve_on_every_zone() -> None:
    """It may have made pulls invalid, or have rounded them."""
    found = results('[[require]]\nmean_at_least = "1.50 MPa"\n[method]\nuse = "ISO 4624:2016"\n')
    assert [len(zone["to_confirm"]) for zone in found["zones"]] == [1, 1]
    numbers = found["decision"]["to_confirm"][0]["facts"]["numbers"]
    assert numbers == ["failure_shares_step = 10 %", "least_pulls = 6"]  # the others were seen in the document


def test_an_edition_that_was_replaced_is_said() -> None:
    """NBR 13749:1996 was replaced by the edition of 2013; check says it too."""
    text = '[contract]\ntitle = "t"\n[[require]]\nuse = "NBR 13749:1996 external"\n'
    terms = specification_from(text.encode(), file="specification.toml")
    reading = readings_from(READINGS.encode(), file="readings.csv", specification=terms)
    said = {message.code: message.facts for message in check(reading, terms).messages}
    assert said["published_superseded"]["newer"] == "NBR 13749:2013"
