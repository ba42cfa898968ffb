"""The documents of the demo contracts, from their files through the whole assessment."""

from __future__ import annotations

import functools

import pytest

from adhesion_stats import assess, read_readings, read_specification
from adhesion_stats.locate import packaged
from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.model import OutcomeWord
from adhesion_stats.reporting.page import render_page
from adhesion_stats.reporting.terminal import summary_table
from tests.reporting.contract_check import shape_faults
from tests.reporting.test_document import rows_of, table_of, values_of

CONTRACTS = (
    "repair-contract/specification.toml",
    "repair-contract/specification-silent.toml",
    "psi-contract/specification.toml",
)


@functools.cache
def results_of(contract: str) -> dict[str, object]:
    """Results of a demo contract."""
    specification = packaged("data", "demo") / contract
    terms = read_specification(specification)
    return assess(read_readings(specification.with_name("readings.csv"), terms), terms).as_dict()


@pytest.mark.parametrize("contract", CONTRACTS)
def test_results_have_the_shape_that_documents_expect(contract: str) -> None:
    """What the assessment makes is what the documents are made from, key by key."""
    assert shape_faults(results_of(contract)) == []


@pytest.mark.parametrize("contract", CONTRACTS)
def test_every_message_has_words_and_every_decision_stands(contract: str) -> None:
    """The page renders (each message has its sentence) and shows the decision of each zone as the results have it."""
    results = results_of(contract)
    document = assessment_document(results)
    zones = results["zones"]
    assert isinstance(zones, list)
    assert [row[1].split("\n")[0] for row in rows_of(table_of(document, "zones"))] == [z["outcome"] for z in zones]
    assert any(isinstance(value, OutcomeWord) for value in values_of(document))
    assert "invented" in render_page(results)
    assert all(str(zone["zone"]) in summary_table(results) for zone in zones)
