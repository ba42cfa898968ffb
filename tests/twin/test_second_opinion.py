"""The twin agrees with the library where both are right, and finds what is changed or wrong on either side."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from adhesion_stats.acceptance import forms
from adhesion_stats.assessment import summary
from adhesion_stats.errors import UnusableReadings
from adhesion_stats.judging import screening
from adhesion_stats.reporting.second_opinion import second_opinion_lines
from adhesion_stats.statistics import describe
from tests.twin.contracts import contract, readings
from tests.twin.sides import DEMO, assessed, opinion

Results = dict[str, Any]
_KINDS = Path(__file__).parents[1] / "cases"
CASES = sorted(p for p in _KINDS.glob("*/*.*") if p.suffix in {".csv", ".xlsx"})[::6]

READINGS = b"""zone,id,strength [MPa],failure
Deck,1,1.82,A
Deck,2,1.61,"A 80 %, A/B 20 %"
Deck,3,1.74,A
Deck,4,1.55,A/B
Ramp,5,1.20,A/B
Ramp,6,> 1.40,Y
Ramp,7,1.75,A
"""
TERMS = b"""[contract]
title = "Invented"
invented = true
[pulls]
required = 3
lost = "unknown"
[glue]
from = "50 %"
then = "at least"
[[require]]
all_of = [
  { mean_at_least = "1.50 MPa" },
  { smallest_at_least = "1.00 MPa" },
  { characteristic_at_least = "0.80 MPa", method = "tolerance", content = 0.95, confidence = 0.75 },
]
"""


@pytest.mark.parametrize(
    ("folder", "file", "terms"),
    [
        ("repair-contract", "readings.csv", "specification.toml"),
        ("repair-contract", "readings.csv", "specification-silent.toml"),
        ("repair-contract", "readings-as-received.xlsx", "specification.toml"),
        ("psi-contract", "readings.csv", "specification.toml"),
        ("planned-deck", "readings-so-far.csv", "specification.toml"),
    ],
)
def test_the_demos_agree(folder: str, file: str, terms: str) -> None:
    """Units, loads, retests, exclusions, lost pulls, bounds, silent rules, a workbook with merged cells: the same."""
    content, specification = (DEMO / folder / file).read_bytes(), (DEMO / folder / terms).read_bytes()
    results, understood = assessed(content, specification, file=file)
    found = opinion(content, specification, results, file=file, understood=understood)
    assert found.differing == ()
    assert found.unchecked == ()
    assert found.outcome == "agrees"
    assert len(found.pairs) > 50
    assert found.pulls == len(results["pulls"])  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(5))
def test_random_contracts_agree(seed: int) -> None:
    """Every kind of criterion on bounded, lost and retested pulls: no number and no decision differs."""
    r = random.Random(seed)  # noqa: S311 - the same contracts every time
    content, specification = readings(r, zones=2).encode(), contract(r).encode()
    results, understood = assessed(content, specification)
    found = opinion(content, specification, results, understood=understood)
    assert found.differing == ()
    assert found.read
    assert len(found.pairs) > 10


def _zone(results: Results, name: str = "Deck") -> Any:
    return next(zone for zone in results["zones"] if zone["zone"] == name)


ALTERATIONS: list[tuple[str, Callable[[Results], None], str]] = [
    ("a mean", lambda r: _zone(r)["summary"].update(mean=_zone(r)["summary"]["mean"] * (1 + 2e-9)), "mean"),
    ("a standard deviation", lambda r: _zone(r)["summary"].update(sd=0.1), "sd"),
    ("a smallest value", lambda r: _zone(r)["summary"].update(smallest=1.61), "smallest"),
    ("a spread where there is none", lambda r: _zone(r, "Ramp")["summary"].update(sd=0.2), "sd"),
    ("a number of pulls", lambda r: _zone(r)["summary"].update(n=5), "counted"),
    ("a share of the area", lambda r: _zone(r)["failure"]["percent"].update(A=71.0), "composition"),
    ("a characteristic value", lambda r: _zone(r)["summary"]["characteristic"][0].update(value=1.3), "characteristic"),
    ("a factor", lambda r: _zone(r)["summary"]["characteristic"][0].update(k=2.5), "factor"),
    ("a p-value", lambda r: r["screening"]["zones"][0].update(p=0.04), "grubbs_p"),
    ("a flag", lambda r: r["screening"]["zones"][1].update(flagged=True), "dixon_flag"),
    ("a limit", lambda r: _zone(r)["criteria"][0]["asked"].update(value=1.4), "limit"),
    ("a value of a criterion", lambda r: _zone(r)["criteria"][1].update(low=1.2), "value"),
    ("an outcome of a criterion", lambda r: _zone(r, "Ramp")["criteria"][0].update(outcome="conforms"), "criterion"),
    ("a criterion left out", lambda r: _zone(r)["criteria"].pop(), "limit"),
    ("a decision", lambda r: _zone(r, "Ramp").update(outcome="conforms"), "decision"),
    ("the decision of the contract", lambda r: r["decision"].update(outcome="conforms"), "contract"),
    ("a strength", lambda r: r["pulls"][1].update(strength=1.62), "pull_strength"),
    ("a pull moved to another zone", lambda r: r["pulls"][1].update(zone="Ramp"), "pull_zone"),
    ("a pull that counts as exact", lambda r: r["pulls"][5].update(counts_as="exact"), "pull_counts"),
    ("a pull left out", lambda r: r["pulls"].pop(4), "pull"),
    ("a pull that nobody made", lambda r: r["pulls"].append({**r["pulls"][0], "row": 99}), "pull"),
    ("a zone left out", lambda r: r["zones"].pop(), "zone"),
]


@pytest.fixture(scope="module")
def known() -> tuple[Results, str]:
    """The library's results of the small contract."""
    return assessed(READINGS, TERMS)


def test_the_small_contract_agrees(known: tuple[Results, str]) -> None:
    """What the alterations start from."""
    found = opinion(READINGS, TERMS, known[0], understood=known[1])
    assert (found.outcome, found.unchecked) == ("agrees", ())


@pytest.mark.parametrize(("what", "alter", "quantity"), ALTERATIONS, ids=[what for what, _, _ in ALTERATIONS])
def test_an_altered_result_is_found(
    known: tuple[Results, str], what: str, alter: Callable[[Results], None], quantity: str
) -> None:
    """Each kind of entry, changed by itself, is named."""
    results = copy.deepcopy(known[0])
    alter(results)
    found = opinion(READINGS, TERMS, results, understood=known[1])
    assert found.outcome == "differs"
    assert quantity in {pair.what for pair in found.differing}, what


def _with_n(x: np.ndarray[Any, np.dtype[np.float64]]) -> Any:
    """What ``describe`` gives, with the standard deviation over n in place of n - 1."""
    from dataclasses import replace

    found = describe(x)
    n = x.shape[1]
    return replace(found, sd=found.sd * np.sqrt((n - 1) / n))


@pytest.mark.parametrize(
    ("place", "name", "wrong", "quantity"),
    [
        (summary, "describe", _with_n, "sd"),
        (forms, "k_one_sided", lambda **_: 1.645, "criterion"),
        (screening, "grubbs_p_value", lambda g, **_: np.full(g.shape, 0.5), "grubbs_p"),
        (screening, "dixon_p_value", lambda r, **_: 1.0 - r, "dixon_p"),
        (forms, "MEAN", 0.2, "criterion"),
    ],
)
def test_a_wrong_kernel_is_found(
    monkeypatch: pytest.MonkeyPatch, place: object, name: str, wrong: object, quantity: str
) -> None:
    """A fault in one of the library's kernels reaches its results and not the twin."""
    monkeypatch.setattr(place, name, wrong)
    terms = TERMS.replace(b"1.50 MPa", b"1.70 MPa").replace(b"0.80 MPa", b"1.40 MPa")
    results, understood = assessed(READINGS, terms)
    found = opinion(READINGS, terms, results, understood=understood)
    assert found.outcome == "differs"
    assert quantity in {pair.what for pair in found.differing}


def test_lower_bounds_are_told_as_such(known: tuple[Results, str]) -> None:
    """The mean of Ramp is (1.20 + at least 1.40 + 1.75) / 3 = at least 1.45 MPa; its smallest value, 1.20, is exact."""
    found = opinion(READINGS, TERMS, known[0], understood=known[1])
    details = {(one.zone, one.what): one.detail for one in found.pairs if one.what in {"mean", "smallest"}}
    assert details == {
        ("Deck", "mean"): "",
        ("Deck", "smallest"): "",
        ("Ramp", "mean"): "at least",
        ("Ramp", "smallest"): "",
    }
    lines = second_opinion_lines(found.as_dict())  # type: ignore[arg-type]
    shown = "\n".join(lines).replace("\N{NO-BREAK SPACE}", " ")
    assert "at least 1.45 MPa" in shown
    assert "at least 1.2 MPa" not in shown


def test_what_it_does_not_know_is_said_and_not_passed() -> None:
    """A Weibull bound of unknown values leaves its criterion, the zone and the contract undecided by the twin."""
    terms = TERMS.replace(b'method = "tolerance"', b'method = "weibull"')
    results, understood = assessed(READINGS, terms)
    found = opinion(READINGS, terms, results, understood=understood)
    assert found.outcome == "agrees"
    said = {(one.what, one.code) for one in found.unchecked}
    assert said == {("Ramp: 1.3", "fitted_unknown"), ("Ramp", "decision"), ("", "contract")}
    assert "decision" not in {pair.what for pair in found.pairs if pair.zone == "Ramp"}
    weibull = [pair for pair in found.pairs if (pair.zone, pair.what) == ("Deck", "characteristic")]
    assert [(pair.detail, pair.agrees) for pair in weibull] == [("weibull", True)]


def test_a_file_that_it_can_not_read_gives_no_opinion() -> None:
    """Nothing read is not agreement."""
    results, _ = assessed(READINGS, TERMS)
    found = opinion(READINGS, TERMS, results, file="readings.ods")
    assert (found.outcome, found.pairs, found.read) == ("not made", (), False)
    assert [(one.code, one.detail) for one in found.unchecked] == [("form", "ods")]


def test_a_cell_that_it_can_not_read_leaves_its_zone_out() -> None:
    """Words that only the library knows are not guessed: that zone is not compared, the others are."""
    content = READINGS.replace(b"1.20,A/B", b"1.20,cohesive in concrete")
    results, understood = assessed(content, TERMS)
    found = opinion(content, TERMS, results, understood=understood)
    assert ("Ramp: row 6", "failure") in {(one.what, one.code) for one in found.unchecked}
    assert "Ramp" not in {pair.zone for pair in found.pairs}
    assert "Deck" in {pair.zone for pair in found.pairs}


def test_a_row_about_others_is_left_out_and_said_so() -> None:
    """A mean in another language is a word that the twin does not know: it leaves the row out as the record does."""
    content = READINGS + "Deck,Średnia,1.68,\n".encode()
    results, understood = assessed(content, TERMS)
    found = opinion(content, TERMS, results, understood=understood)
    assert found.outcome == "agrees"
    assert [(one.what, one.code) for one in found.unchecked] == [("row 9", "row_left_out")]


def test_a_pull_whose_zone_it_does_not_find_leaves_the_zone_out() -> None:
    """A zone that stands in its first row only: the twin does not carry it down by itself, and compares the others."""
    content = READINGS.replace(b"Ramp,6", b",6").replace(b"Ramp,7", b",7")
    layout = "carry_zone_down = true"
    results, understood = assessed(READINGS, TERMS)
    found = opinion(content, TERMS, results, understood=understood)
    assert {pair.zone for pair in found.pairs} == {"Deck", ""} or {pair.zone for pair in found.pairs} == {"Deck"}
    assert found.outcome == "agrees"
    assert ("Ramp: row 7", "zone_blank") in {(one.what, one.code) for one in found.unchecked}
    assert opinion(content, TERMS, results, layout=layout, understood=understood).unchecked == ()


@pytest.mark.parametrize("path", CASES, ids=[path.name for path in CASES])
def test_messy_files_raise_no_false_alarm(path: Path) -> None:
    """Files as people write them: the twin agrees, or says what it does not read."""
    content = path.read_bytes()
    terms = TERMS.replace(b"required = 3\n", b"")
    try:
        results, understood = assessed(content, terms, file=path.name)
    except UnusableReadings:
        return
    found = opinion(content, terms, results, file=path.name, understood=understood)
    assert found.differing == ()
    assert found.read or len(found.unchecked) == 1


def test_published_rules_are_read_from_their_files() -> None:
    """A rule that the contract uses by name, with one number of its own, is the same rule for the twin."""
    terms = (
        TERMS[: TERMS.index(b"[[require]]")]
        + b'[[require]]\nuse = "EN 1504-3:2005 R4"\nsmallest_at_least = "1.60 MPa"\n'
    )
    results, understood = assessed(READINGS, terms)
    found = opinion(READINGS, terms, results, understood=understood)
    assert (found.outcome, found.unchecked) == ("agrees", ())
    assert "decision" in {pair.what for pair in found.pairs}
