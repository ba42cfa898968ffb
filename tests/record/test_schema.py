"""The schema of results.json: a valid schema, strict, and the results of the demo contracts meet it."""

import copy
import json

import jsonschema
import pytest

from adhesion_stats import assess, read_readings, read_specification
from adhesion_stats.intake import read_bytes
from adhesion_stats.locate import packaged
from adhesion_stats.record import canonical_bytes, results_schema, schema_errors
from adhesion_stats.record.schema import CURRENT
from adhesion_stats.terms.parse import parse_specification

CONTRACTS = ("repair-contract", "psi-contract")


@pytest.fixture(scope="module", params=CONTRACTS)
def results(request: pytest.FixtureRequest) -> dict[str, object]:
    """Results of a demo contract, through their JSON text."""
    folder = packaged("data", "demo", str(request.param))
    specification = read_specification(folder / "specification.toml")
    assessment = assess(read_readings(folder / "readings.csv", specification), specification)
    found = json.loads(canonical_bytes(assessment.as_dict()))
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("version", range(1, CURRENT + 1))
def test_the_schema_is_a_schema(version: int) -> None:
    """It meets the rules of its own draft, and is for the version that it bears."""
    schema = results_schema(version)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["properties"]["format_version"] == {"const": version}  # type: ignore[index]


def test_results_of_no_known_form_have_no_schema() -> None:
    """There is no schema beyond the current one."""
    with pytest.raises(ValueError, match="not known here"):
        results_schema(CURRENT + 1)


def test_the_version_written_is_the_version_described(results: dict[str, object]) -> None:
    """What an assessment writes bears the version of the current schema."""
    assert results["format_version"] == CURRENT


def test_results_are_checked_against_the_schema_that_they_name(results: dict[str, object]) -> None:
    """Results of today under the number of an older form are not of that form."""
    assert schema_errors({**results, "format_version": 1}) != []


def test_every_object_is_closed() -> None:
    """Every object with named entries says that it has no others: a new entry needs a new schema."""
    open_objects = []

    def walk(node: object, path: str) -> None:
        if isinstance(node, dict):
            if "properties" in node and node.get("additionalProperties") is not False:
                open_objects.append(path)
            if "properties" in node and "all_of" not in node["properties"] and "any_of" not in node["properties"]:
                assert node["required"] == sorted(node["properties"]), path
            for name, part in node.items():
                walk(part, f"{path}.{name}")
        elif isinstance(node, list):
            for i, part in enumerate(node):
                walk(part, f"{path}[{i}]")

    walk(results_schema(), "schema")
    assert open_objects == []


def test_the_demo_meets_the_schema(results: dict[str, object]) -> None:
    """Nothing in the results of the demo contracts leaves the schema."""
    assert schema_errors(results) == []


def test_each_missing_entry_is_found(results: dict[str, object]) -> None:
    """Without any one of its entries the whole is not valid."""
    for name in results:
        less = {key: value for key, value in results.items() if key != name}
        assert schema_errors(less) == [f"$: {name!r} is a required property"]


def test_a_wrong_outcome_and_an_unknown_entry_are_found(results: dict[str, object]) -> None:
    """The place of each fault is named."""
    wrong = copy.deepcopy(results)
    zones = wrong["zones"]
    assert isinstance(zones, list)
    zones[0]["outcome"] = "passes"
    zones[1]["sumary"] = {}
    found = schema_errors(wrong)
    assert [error.split(":")[0] for error in found] == ["$.zones[0].outcome", "$.zones[1]"]


def test_a_zone_of_which_nothing_is_asked_meets_the_schema() -> None:
    """Its outcome and its tree are null, under every reading of the contract."""
    terms = '[contract]\ntitle = "t"\n[[require]]\nzones = ["A"]\nmean_at_least = "1.5 MPa"\n'
    specification = parse_specification(terms.encode(), file="t.toml")
    readings = read_bytes(b"zone,id,strength MPa\nA,1,1.6\nB,2,1.7\n", file="r.csv")
    results = json.loads(canonical_bytes(assess(readings, specification).as_dict()))
    assert results["zones"][1]["outcome"] is None
    assert schema_errors(results) == []
