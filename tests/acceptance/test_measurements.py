"""Values counted by measurement: each the mean of its pulls; over every completion of the pulls, and by hand."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, decide, hangs_on
from adhesion_stats.acceptance.collect import Cases, cases
from adhesion_stats.coded import Coded
from adhesion_stats.standing import Reason
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from tests.acceptance.build import Row, pulls_of, row, settled, standing_of

RULES = {
    "mean": '{ mean_at_least = "1.50 MPa" }',
    "smallest": '{ smallest_at_least = "1.30 MPa" }',
    "z of n": '{ pulls_at_or_above = "1.40 MPa", at_least = 2, of = 2 }',
    "fractile": '{ characteristic_at_least = "1.20 MPa", method = "en1990-known", known_cov = 0.10 }',
}


def specification(rule: str, *, required: int | None = None, each: int = 2, more: str = "") -> Specification:
    """A contract that counts by measurement."""
    number = "" if required is None else f"required = {required}\n"
    text = (
        f'[contract]\ntitle = "t"\n[pulls]\ncount_by = "measurement"\npulls_per_measurement = {each}\n{number}{more}'
        f"[[require]]\nall_of = [{rule}]\n"
    )
    return parse_specification(text.encode(), file="t.toml")


def cases_of(rows: list[tuple[str, Row]], spec: Specification, *, lost: str = "unknown", doubtful: int = -1) -> Cases:
    """The values of one zone; each row with the name of its measurement."""
    plain = [r for _, r in rows]
    pulls = replace(pulls_of(plain), labels={"measurement": Coded.of(name for name, _ in rows)})
    standing = standing_of(plain)
    if doubtful >= 0:
        mask = np.arange(len(plain)) == doubtful
        standing = standing.with_reason(mask, Reason.DISPUTED)
    return cases(pulls, standing, spec, settled(lost=lost), ("Z",))


def outcome(rows: list[tuple[str, Row]], spec: Specification, **how: object) -> Outcome:
    """The decision about the zone."""
    return decide(spec, cases_of(rows, spec, **how))["Z"].outcome  # type: ignore[arg-type]


def test_the_value_of_a_measurement_is_the_mean_of_its_pulls() -> None:
    """M1 (1.60 + 1.40 + 1.80) / 3 = 1.60, M2 (1.20 + 1.90 + 1.70) / 3 = 1.60: the single 1.20 is no value."""
    values = [("M1", 1.6), ("M2", 1.2), ("M1", 1.4), ("M2", 1.9), ("M1", 1.8), ("M2", 1.7)]
    spec = specification(RULES["smallest"], each=3)
    found = cases_of([(name, row(value)) for name, value in values], spec)
    assert list(found.measurement) == ["M1", "M2"]
    assert np.round(found.low["pull-off"], 12).tolist() == [1.6, 1.6]
    assert found.low["pull-off"].tolist() == found.high["pull-off"].tolist()
    assert decide(spec, found)["Z"].outcome == Outcome.CONFORMS


def test_a_bound_carries_through_the_mean() -> None:
    """1.20 and at least 1.30: the measurement is at least 1.25, and with a ceiling of 2.00 at most 1.60."""
    rows = [("M1", row(1.2)), ("M1", row(1.3, bound="at least"))]
    spec = specification(RULES["smallest"], more='ceiling = "2.00 MPa"\n')
    found = cases_of(rows, spec)
    assert (found.low["pull-off"].tolist(), found.high["pull-off"].tolist()) == ([1.25], [1.6])
    assert decide(spec, found)["Z"].outcome == Outcome.UNDETERMINED


def test_a_measurement_without_enough_pulls_is_of_unknown_value() -> None:
    """M2 has one of two pulls: whatever it showed, the measurement is not there, and the zone is open."""
    rows = [("M1", row(1.6)), ("M1", row(1.7)), ("M2", row(9.0))]
    spec = specification(RULES["smallest"])
    found = cases_of(rows, spec)
    assert sorted(zip(found.low["pull-off"].tolist(), found.high["pull-off"].tolist(), strict=True)) == [
        (0.0, math.inf),
        (1.65, 1.65),
    ]
    assert outcome(rows, spec) == Outcome.UNDETERMINED
    assert outcome(rows[:2], spec) == Outcome.CONFORMS


def test_the_required_number_counts_measurements() -> None:
    """Four pulls are two measurements: enough for two, one short of three."""
    rows = [("M1", row(1.6)), ("M1", row(1.7)), ("M2", row(1.6)), ("M2", row(1.8))]
    assert outcome(rows, specification(RULES["mean"], required=2)) == Outcome.CONFORMS
    assert outcome(rows, specification(RULES["mean"], required=3)) == Outcome.UNDETERMINED


def test_a_lost_pull_widens_its_measurement_or_is_left_out() -> None:
    """1.60 and 1.70 beside a lost one: 1.65, or from (1.60 + 1.70 + 0) / 3 = 1.10 up."""
    rows = [("M1", row(1.6)), ("M1", row(1.7)), ("M1", row(None, lost=True))]
    spec = specification(RULES["smallest"])
    assert outcome(rows, spec, lost="left out") == Outcome.CONFORMS
    assert outcome(rows, spec, lost="unknown") == Outcome.UNDETERMINED
    assert cases_of(rows, spec).low["pull-off"].tolist() == pytest.approx([1.1])


def test_a_value_in_doubt_belongs_to_its_measurement() -> None:
    """It counts as a pull of the measurement and may be anything from 0 up: (1.60 + 0) / 2 = 0.80 or more."""
    rows = [("M1", row(1.6)), ("M1", row(1.7))]
    assert cases_of(rows, specification(RULES["mean"]), doubtful=1).low["pull-off"].tolist() == [0.8]


def test_a_pull_without_a_measurement_is_one_of_its_own() -> None:
    """Two nameless pulls are two measurements, each one pull short."""
    rows = [("", row(1.6)), ("", row(1.7))]
    assert len(cases_of(rows, specification(RULES["mean"], each=1))) == 2
    assert outcome(rows, specification(RULES["mean"], each=2)) == Outcome.UNDETERMINED


def test_what_broke_is_the_mean_over_the_pulls() -> None:
    """A 100 % and A 20 %: the measurement failed in A over 60 % of its area."""
    rows = [("M1", row(1.6, failure={"A": 100.0})), ("M1", row(1.6, failure={"A": 20.0, "B": 80.0}))]
    for limit, met in ((60, Outcome.CONFORMS), (61, Outcome.DOES_NOT_CONFORM)):
        spec = specification(f'{{ pulls_with_failure = ["A"], from = "{limit} %", at_least = "100 %" }}')
        assert outcome(rows, spec) == met


def test_a_decision_hangs_on_a_measurement_by_its_name() -> None:
    """Without the measurement "north pier" (1.00) the smallest of the others, 1.50, would meet 1.30."""
    rows = [(name, row(v)) for name, v in (("a", 1.5), ("a", 1.5), ("b", 1.6), ("b", 1.6))]
    rows += [("north pier", row(0.9)), ("north pier", row(1.1))]
    spec = specification(RULES["smallest"])
    values = cases_of(rows, spec)
    found = hangs_on(spec, values, decide(spec, values), pulls_of([r for _, r in rows]))["Z"]
    assert [(m.code, m.facts["pull"], m.facts["outcome"]) for m in found if "one" in m.code] == [
        ("hangs_on_one_measurement", "north pier", "conforms")
    ]


LEVELS = (0.0, 0.7, 1.1, 1.3, 1.4, 1.5, 1.9, 2.6, 4.0, 50.0)


def meets(kind: str, values: list[float]) -> bool:
    """The four rules by plain arithmetic; k of EN 1990 for a known coefficient of variation is 1.645 (1 + 1/n)^0.5."""
    mean = math.fsum(values) / len(values)
    if kind == "mean":
        return mean >= 1.5 - 1e-9
    if kind == "smallest":
        return min(values) >= 1.3 - 1e-9
    if kind == "z of n":
        return sum(v >= 1.4 - 1e-9 for v in values) >= 2
    k = 1.6448536269514722 * math.sqrt(1 + 1 / len(values))
    return mean * (1 - k * 0.10) >= 1.2 - 1e-9


@pytest.mark.parametrize("kind", sorted(RULES))
@pytest.mark.parametrize("seed", [1, 2])
def test_the_decision_is_that_of_every_completion_of_the_pulls(kind: str, seed: int) -> None:
    """Two measurements of two pulls, exact or bounded: every level of the unknown pulls is tried."""
    rng = np.random.default_rng(seed)
    seen = dict.fromkeys(Outcome, 0)
    for _ in range(120):
        rows: list[tuple[str, Row]] = []
        options: list[list[float]] = []
        for name in ("M1", "M1", "M2", "M2"):
            value = float(np.round(rng.uniform(0.8, 2.2), 1))
            bound = str(rng.choice(["exact", "exact", "at least", "at most"]))
            rows.append((name, row(value, bound=bound)))
            inside = [v for v in LEVELS if (v >= value if bound == "at least" else v <= value)]
            options.append([value] if bound == "exact" else [value, *inside])
        both = {meets(kind, [(a + b) / 2, (c + d) / 2]) for a, b, c, d in itertools.product(*options)}
        expected = Outcome.UNDETERMINED if len(both) == 2 else Outcome.CONFORMS if True in both else None
        found = outcome(rows, specification(RULES[kind]))
        assert found == (Outcome.DOES_NOT_CONFORM if expected is None else expected), rows
        seen[found] += 1
    assert min(seen.values()) > 0, seen
