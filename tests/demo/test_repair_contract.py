"""The repair contract against answers worked out by hand (arithmetic in data/demo/repair-contract/README.md)."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest

from adhesion_stats import read_readings, read_specification
from tests.demo.helpers import criterion, demo, pull, readme, results_of, rows_of_table, zone

CONFORMS, FAILS, OPEN = "conforms", "does not conform", "undetermined"


@dataclass(frozen=True)
class Answer:
    """Right answer of a zone: sums and counts by hand; None where a value has no upper end."""

    outcome: str
    made: int
    counted: int
    required: int
    mean_low: float
    mean_high: float | None
    smallest_low: float
    smallest_high: float | None


ANSWERS = {
    "Inlet deck": Answer(CONFORMS, 6, 6, 5, 11.90 / 6, 11.90 / 6, 1.52, 1.52),
    "Screen floor": Answer(FAILS, 5, 5, 5, 1.168, 1.168, 0.88, 0.88),
    "North wall": Answer(FAILS, 5, 5, 5, 1.62, 1.62, 0.96, 0.96),
    "South wall": Answer(FAILS, 5, 5, 5, 1.22, 1.22, 0.93, 0.93),
    "Valve chamber": Answer(OPEN, 5, 5, 5, 1.422, None, 1.12, 1.48),
    "Discharge deck": Answer(CONFORMS, 5, 5, 5, 1.956, None, 1.43, 1.62),
    "Stair landing": Answer(OPEN, 3, 3, 5, 1.148, None, 0.0, 1.58),
    "Cable duct": Answer(FAILS, 3, 3, 5, 0.69, None, 0.0, 0.72),
    "Pump hall floor": Answer(FAILS, 7, 7, 5, 12.07 / 7, 12.07 / 7, 0.62, 0.62),
    "Sluice wall": Answer(CONFORMS, 5, 5, 5, 1.50, 1.50, 1.11, 1.11),
    "Crane track": Answer(CONFORMS, 6, 6, 5, 12.17 / 6, 12.17 / 6, 1.58, 1.58),
    "Intake gallery": Answer(CONFORMS, 6, 5, 5, 1.712, 1.712, 1.41, 1.41),
    "Weir deck": Answer(FAILS, 6, 5, 5, 1.642, 1.642, 0.86, 0.86),
    "Gate pier": Answer(OPEN, 5, 4, 5, 1.478, None, 0.0, 1.48),
}
ROUND = 1e-12  # MPa; values of a few MPa, a handful of float operations


def near(value: float | None, expected: float | None) -> bool:
    """Whether two values agree, None being its own value."""
    if value is None or expected is None:
        return value is expected
    return abs(value - expected) < ROUND


@pytest.mark.parametrize("name", ANSWERS)
def test_decision_of_the_zone(name: str) -> None:
    """The zone is decided as by hand."""
    assert zone(results_of("repair-contract"), name)["outcome"] == ANSWERS[name].outcome


@pytest.mark.parametrize("name", ANSWERS)
def test_pulls_made_and_counted(name: str) -> None:
    """Every row of the zone is there; those that count are the ones counted by hand."""
    pulls = zone(results_of("repair-contract"), name)["pulls"]
    answer = ANSWERS[name]
    assert (pulls["made"], pulls["counted"], pulls["required"]) == (answer.made, answer.counted, answer.required)
    assert pulls["counted"] + pulls["not_counted"] == answer.made


@pytest.mark.parametrize("name", ANSWERS)
def test_mean_of_the_zone(name: str) -> None:
    """Lowest and highest mean that the unknowns allow, and its margin to 1.50 MPa."""
    mean = criterion(zone(results_of("repair-contract"), name), "mean")
    answer = ANSWERS[name]
    assert near(mean["low"], answer.mean_low)
    assert near(mean["high"], answer.mean_high)
    assert near(mean["margin_low"], answer.mean_low - 1.50)
    assert near(mean["margin_high"], None if answer.mean_high is None else answer.mean_high - 1.50)


@pytest.mark.parametrize("name", ANSWERS)
def test_smallest_of_the_zone(name: str) -> None:
    """Lowest and highest smallest value that the unknowns allow, and its margin to 1.00 MPa."""
    smallest = criterion(zone(results_of("repair-contract"), name), "smallest")
    answer = ANSWERS[name]
    assert near(smallest["low"], answer.smallest_low)
    assert near(smallest["high"], answer.smallest_high)
    assert near(smallest["margin_low"], answer.smallest_low - 1.00)
    assert near(smallest["margin_high"], None if answer.smallest_high is None else answer.smallest_high - 1.00)


def test_readme_states_the_same_decisions() -> None:
    """The table of the README and the assessment agree, zone by zone and in order."""
    said = [(row[0], row[1]) for row in rows_of_table(readme("repair-contract"), "zone")]
    decided = [(entry["zone"], entry["outcome"]) for entry in results_of("repair-contract")["zones"]]
    assert said == decided
    assert len(said) == 14


def test_contract_does_not_conform() -> None:
    """Five zones conform, six do not, three are undetermined: the contract does not conform."""
    decision = results_of("repair-contract")["decision"]
    assert decision["outcome"] == FAILS
    assert decision["zones"] == {CONFORMS: 5, FAILS: 6, OPEN: 3}


def test_substrate_break_fails_as_pull_off_and_is_open_as_bond() -> None:
    """South wall: the concrete broke below the limits, so the bond is known from below only."""
    south = zone(results_of("repair-contract"), "South wall")
    assert [criterion(south, kind)["outcome"] for kind in ("mean", "smallest")] == [FAILS, FAILS]
    mean, smallest = criterion(south, "mean", "A/B"), criterion(south, "smallest", "A/B")
    assert (mean["outcome"], smallest["outcome"]) == (OPEN, OPEN)
    assert near(mean["low"], 1.22)
    assert near(smallest["low"], 0.93)
    assert mean["high"] is None
    assert mean["high_is_open"]


def test_binding_criterion_is_the_one_closest_to_its_limit_by_ratio() -> None:
    """Inlet deck and Screen floor are bound by the mean, North wall by the smallest value."""
    results = results_of("repair-contract")
    kinds = {}
    for name in ("Inlet deck", "Screen floor", "North wall"):
        entry = zone(results, name)
        kinds[name] = next(c["kind"] for c in entry["criteria"] if c["key"] == entry["binding"])
    assert kinds == {"Inlet deck": "mean", "Screen floor": "mean", "North wall": "smallest"}


def test_mean_on_the_limit_meets_it() -> None:
    """Sluice wall: 7.50 / 5 is 1.50, although floats add the five to 7.499999999999999."""
    assert sum(sorted([1.72, 1.11, 1.76, 1.15, 1.76])) < 7.50
    mean = criterion(zone(results_of("repair-contract"), "Sluice wall"), "mean")
    assert mean["at_limit"]
    assert mean["outcome"] == CONFORMS


@pytest.mark.parametrize(("name", "word"), [("North wall", "P14"), ("Pump hall floor", "P40"), ("Weir deck", "P63R")])
def test_what_the_decision_hangs_on(name: str, word: str) -> None:
    """One pull, one flagged pull, one retest: the report names it."""
    assert word in json.dumps(zone(results_of("repair-contract"), name)["hangs_on"])


@pytest.mark.parametrize("name", ["Inlet deck", "Screen floor", "Crane track", "South wall", "Valve chamber"])
def test_decisions_that_hang_on_nothing(name: str) -> None:
    """No one pull changes these: (11.90 − 2.43) / 5 = 1.894, (5.84 − 0.88) / 4 = 1.24, (12.17 − 2.48) / 5 = 1.938"""
    assert zone(results_of("repair-contract"), name)["hangs_on"] == []


def test_only_the_low_pull_is_flagged() -> None:
    """Grubbs and Dixon both point at P40 and at no other pull; P40 still counts."""
    results = results_of("repair-contract")
    assert [entry["id"] for entry in results["pulls"] if entry["flags"]] == ["P40"]
    assert pull(results, "P40")["status"] == "counted"


def test_grubbs_and_dixon_of_the_flagged_pull() -> None:
    """G = 2.097 (by hand) against 1.938, r10 = 1.00 / 1.63 against 0.507 (one-sided 5 % points for n = 7)."""
    screened = {
        s["test"]: s for s in results_of("repair-contract")["screening"]["zones"] if s["zone"] == "Pump hall floor"
    }
    grubbs, dixon = screened["grubbs"], screened["dixon"]
    s = ((22.4763 - 12.07**2 / 7) / 6) ** 0.5
    assert grubbs["statistic"] == pytest.approx((12.07 / 7 - 0.62) / s, rel=1e-10)
    assert grubbs["critical"] == pytest.approx(1.938, abs=5e-4)
    assert dixon["statistic"] == pytest.approx(1.00 / 1.63, rel=1e-10)
    assert dixon["ratio"] == "r10"
    assert dixon["critical"] == pytest.approx(0.507, abs=1e-3)


def test_retest_of_a_pull_taken_out_in_writing_replaces_it() -> None:
    """P58 is shown as replaced with its written reason; P58R counts."""
    results = results_of("repair-contract")
    assert pull(results, "P58")["status"] == "replaced"
    assert pull(results, "P58")["exclusion"] == "dolly adhesive had not hardened"
    assert pull(results, "P58R")["status"] == "counted"


def test_retest_of_a_valid_pull_does_not_replace_it() -> None:
    """P63 counts, P63R does not."""
    results = results_of("repair-contract")
    assert pull(results, "P63")["status"] == "counted"
    assert pull(results, "P63R")["status"] == "excluded"


def test_lost_core_stays_in_sight() -> None:
    """P68 has no strength, is lost, and is one of the zone's five."""
    results = results_of("repair-contract")
    lost = pull(results, "P68")
    assert (lost["status"], lost["strength"]) == ("lost", None)
    assert zone(results, "Gate pier")["pulls"]["lost"] == 1


@pytest.mark.parametrize(("name", "value"), [("P25", 1.12), ("P26", 1.18), ("P29", 1.94), ("P31", 1.43)])
def test_glue_breaks_count_as_lower_bounds(name: str, value: float) -> None:
    """Half of the area or more at the dolly adhesive: at least the value."""
    found = pull(results_of("repair-contract"), name)
    assert (found["counts_as"], found["strength"]) == ("at_least", value)


def test_glue_breaks_have_to_reach_the_sum_by_hand() -> None:
    """Valve chamber: P25 and P26 together would have to reach 7.50 − 4.81 = 2.69 MPa, 1.345 each."""
    (need,) = zone(results_of("repair-contract"), "Valve chamber")["needs"]
    assert need["code"] == "needs_level"
    assert float(str(need["facts"]["level"]).split()[0]) == pytest.approx(1.345, abs=0.0051)


def test_mixed_cut_and_uncut_is_said() -> None:
    """Crane track has cut and uncut pulls; the report says so and leaves the decision as it is."""
    results = results_of("repair-contract")
    (mixed,) = [message for message in results["messages"] if message["code"] == "mixed_preparation"]
    assert (mixed["facts"]["zone"], mixed["facts"]["what"]) == ("Crane track", "cut")
    (breach,) = [message for message in results["messages"] if message["code"] == "method_breach"]
    assert breach["facts"]["pulls"] == [f"Crane track: {name}" for name in ("P53", "P54", "P55")]


def test_every_row_of_the_file_is_in_the_results() -> None:
    """72 rows in, 72 pulls out, in the order of the file."""
    results = results_of("repair-contract")
    assert results["inputs"]["readings"]["rows"] == 72
    assert [entry["row"] for entry in results["pulls"]] == list(range(2, 74))


def test_demo_is_labelled_invented() -> None:
    """The specification and the README say so, and the label reaches the results."""
    assert results_of("repair-contract")["contract"]["invented"]
    assert results_of("psi-contract")["contract"]["invented"]
    for folder in ("repair-contract", "psi-contract", "primer-panels"):
        assert "**Invented.**" in readme(folder)


def test_silent_specification_hangs_on_the_glue_rule() -> None:
    """Without a glue rule only the Discharge deck changes: it conforms under one reading, under another it is open."""
    silent = results_of("repair-contract", "specification-silent.toml")
    stated = results_of("repair-contract")
    changed = {
        now["zone"]: (before["outcome"], now["outcome"])
        for before, now in zip(stated["zones"], silent["zones"], strict=True)
        if before["outcome"] != now["outcome"]
    }
    assert changed == {"Discharge deck": (CONFORMS, OPEN)}
    assert zone(silent, "Discharge deck")["hangs_on"] != []
    assert silent["decision"]["zones"] == {CONFORMS: 4, FAILS: 6, OPEN: 4}


def test_both_readings_of_the_silent_rule_are_shown() -> None:
    """Discharge deck: at least -> conforms; discarded from 60, 70 or 80 % -> undetermined, from 100 % -> conforms."""
    settled = zone(results_of("repair-contract", "specification-silent.toml"), "Discharge deck")["settled"]
    outcomes = {(s["glue_then"], s["glue_from_percent"]): s["outcome"] for s in settled}
    expected = {("at least", share): CONFORMS for share in (60.0, 70.0, 80.0, 100.0)}
    expected |= {("discard", share): OPEN for share in (60.0, 70.0, 80.0)} | {("discard", 100.0): CONFORMS}
    assert outcomes == expected


def test_workbook_as_received_gives_the_same_numbers() -> None:
    """The untidy workbook holds the same pulls: id, zone, strength, failure, conditions, remarks."""
    terms = read_specification(demo("repair-contract", "specification.toml"))
    tidy = read_readings(demo("repair-contract", "readings.csv"), terms).pulls
    untidy = read_readings(demo("repair-contract", "readings-as-received.xlsx"), terms).pulls
    columns = [
        "id",
        "zone",
        "strength_mpa",
        "bound",
        "failure",
        "lost",
        "retest_of",
        "exclusion",
        "date",
        "cut",
        "remark",
    ]
    columns += ["dolly_mm", "cut_depth_mm", "coating_thickness_um", "rate_mpa_per_s", "age_days", "x_m", "y_m"]
    one, other = tidy.to_frame()[columns], untidy.to_frame()[columns]
    assert len(other) == 72
    for column in columns:
        assert one[column].equals(other[column]), column


def test_workbook_as_received_is_decided_the_same() -> None:
    """Zones, outcomes, values and margins are the same from the untidy workbook."""
    tidy = results_of("repair-contract")
    untidy = results_of("repair-contract", readings="readings-as-received.xlsx")
    for one, other in zip(tidy["zones"], untidy["zones"], strict=True):
        for key in ("zone", "outcome", "binding", "pulls", "summary", "criteria"):
            assert one[key] == other[key], (one["zone"], key)
