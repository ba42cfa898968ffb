"""What must hold of every decision, whatever the values."""

from __future__ import annotations

import dataclasses
import itertools

import hypothesis.strategies as st
import numpy as np
from hypothesis import given, settings

from adhesion_stats.acceptance import Cases, Decisions, Outcome, decide
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor
from tests.acceptance.build import Row, cases_of, row, settled, specification

STRENGTHS = st.integers(10, 400).map(lambda i: i / 100)
FAILURES = st.sampled_from(
    [
        None,
        {"A": 33.3, "A/B": 66.7},
        {"A": 16.1, "A/B": 83.9},
        {"A": 0.7, "B": 99.3},
        {"A": 100.0},
        {"A": 60.0, "A/B": 40.0},
        {"A/B": 70.0, "Y": 30.0},
        {"Y": 100.0},
    ]
)
PULLS = st.builds(
    row,
    STRENGTHS,
    zone=st.sampled_from(["a", "b", "c"]),
    bound=st.sampled_from(["exact", "exact", "exact", "at least", "at most"]),
    failure=FAILURES,
    held=st.sampled_from([False, False, True]),
)
LIMITS = st.integers(10, 250).map(lambda i: i / 100)
QUESTIONS = st.sampled_from(["pull-off", "A/B"])
CRITERIA = st.one_of(
    st.tuples(st.just("mean"), QUESTIONS, LIMITS),
    st.tuples(st.just("smallest"), QUESTIONS, LIMITS),
    st.tuples(st.just("z of n"), QUESTIONS, LIMITS, st.just(2), st.just(4)),
    st.tuples(st.just("tolerance"), QUESTIONS, LIMITS, st.sampled_from([0.8, 0.95]), st.sampled_from([0.5, 0.75])),
    st.tuples(st.just("en cov"), QUESTIONS, LIMITS, st.just(0.15)),
    st.tuples(st.just("share"), st.just(("A",)), st.sampled_from(["at least", "at most"]), st.sampled_from([30, 60])),
    st.tuples(st.just("pulls"), st.just(("A/B",)), st.just(40), st.just("at most"), st.sampled_from([25, 50])),
)
REQUIREMENTS = st.one_of(
    CRITERIA,
    st.tuples(st.sampled_from(["all", "any"]), CRITERIA, CRITERIA),
    st.tuples(st.just("all"), st.tuples(st.just("any"), CRITERIA, CRITERIA), CRITERIA),
)
ZONES = ("a", "b", "c")


def spec_of(requirement: tuple[object, ...], ceiling: float | None) -> Specification:
    """Four pulls required, so that the z-of-n criterion agrees."""
    return specification(requirement, required=4, ceiling=ceiling)


def columns(found: Decisions, zone: str) -> list[bytes]:
    """Everything decided of one zone, as bytes."""
    table, i = found.find(zone)
    names = (
        "low",
        "high",
        "outcome",
        "reason",
        "at_limit",
        "decision",
        "why",
        "binding",
        "n",
        "unknown",
        "reached",
        "could",
    )
    return [np.ascontiguousarray(getattr(table, name)[i]).tobytes() for name in names]


@given(st.lists(PULLS, max_size=14), REQUIREMENTS, st.sampled_from([None, 3.0]), st.randoms(use_true_random=False))
@settings(max_examples=150)
def test_the_order_of_rows_is_of_no_consequence(
    rows: list[Row], requirement: tuple[object, ...], ceiling: float | None, random: object
) -> None:
    """The same rows in another order give the same bits."""
    spec = spec_of(requirement, ceiling)
    first = decide(spec, cases_of(rows, spec, zones=ZONES))
    shuffled = list(rows)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    again = decide(spec, cases_of(shuffled, spec, zones=ZONES))
    for zone in ZONES:
        assert columns(first, zone) == columns(again, zone)


def test_the_order_of_pulls_leaves_a_mean_share_as_it_is() -> None:
    """Shares of which the float sum depends on the order: the same bits in every order."""
    shares = [0.1, 33.3, 16.1, 0.7, 99.3]
    spec = specification(("share", ("A",), "at least", 30))
    found = set()
    for order in itertools.permutations(shares):
        rows = [row(2.0, failure={"A": share, "B": 100.0 - share}) for share in order]
        found.add(decide(spec, cases_of(rows, spec))["Z"].criteria[0].low)
    assert len(found) == 1


@given(st.lists(PULLS, max_size=18), REQUIREMENTS, st.sampled_from([None, 3.0]))
@settings(max_examples=150)
def test_a_zone_alone_is_decided_as_in_a_crowd(
    rows: list[Row], requirement: tuple[object, ...], ceiling: float | None
) -> None:
    """Each zone decided alone gives the same bits as all zones together."""
    spec = spec_of(requirement, ceiling)
    crowd = decide(spec, cases_of(rows, spec, zones=ZONES))
    for zone in ZONES:
        mine = [r for r in rows if r["zone"] == zone]
        alone = decide(spec, cases_of(mine, spec, zones=(zone,)))
        assert columns(alone, zone) == columns(crowd, zone)


def test_ten_thousand_zones_alone_and_in_a_crowd() -> None:
    """Mean, smallest and characteristic value of 4000 random zones: 300 of them decided alone give the same bits."""
    rng = np.random.default_rng(3)
    sizes = rng.integers(2, 9, 4000)
    zone = np.repeat(np.arange(4000), sizes)
    low = rng.normal(2.0, 0.5, zone.size).round(2).clip(0.0)
    high = np.where(rng.random(zone.size) < 0.15, np.where(rng.random(zone.size) < 0.5, np.inf, low + 0.7), low)
    parts = (("mean", "pull-off", 1.8), ("smallest", "pull-off", 1.0), ("tolerance", "pull-off", 0.7, 0.95, 0.75))
    spec = specification(("all", *parts))
    names = tuple(str(i) for i in range(4000))
    whole = Cases(names, zone, np.arange(zone.size), {"pull-off": low}, {"pull-off": high})
    crowd = decide(spec, whole)
    assert sorted(set(crowd.outcome.tolist())) == [0, 1, 2]
    for code in rng.choice(4000, 300, replace=False).tolist():
        own = zone == code
        lone = Cases(
            (str(code),),
            np.zeros(own.sum(), np.int64),
            np.arange(own.sum()),
            {"pull-off": low[own]},
            {"pull-off": high[own]},
        )
        assert columns(decide(spec, lone), str(code)) == columns(crowd, str(code))


UNITS = ("N/mm²", "psi", "kPa", "kgf/cm²")


@given(st.lists(PULLS, min_size=1, max_size=8), REQUIREMENTS, st.sampled_from(UNITS))
@settings(max_examples=200)
def test_strengths_decide_the_same_in_every_unit(rows: list[Row], requirement: tuple[object, ...], unit: str) -> None:
    """Unrounded method: strengths entered in another unit, converted at the door, decide the same, on the limit too."""
    spec = spec_of(requirement, None)
    one = factor(unit, "strength")
    entered = [r | {"value": float(r["value"]) / one} for r in rows]  # type: ignore[arg-type]
    at_the_door = [r | {"value": float(r["value"]) * one} for r in entered]  # type: ignore[arg-type]
    first = decide(spec, cases_of(rows, spec, zones=ZONES))
    again = decide(spec, cases_of(at_the_door, spec, zones=ZONES))
    assert again.outcome.tolist() == first.outcome.tolist()
    for zone in ZONES:
        a, b = first[zone], again[zone]
        assert [(c.outcome, c.at_limit) for c in a.criteria] == [(c.outcome, c.at_limit) for c in b.criteria]


@given(
    st.lists(st.integers(50, 300), min_size=3, max_size=6),
    st.sampled_from(["mean", "smallest"]),
)
def test_a_value_that_equals_the_limit_on_paper_meets(hundredths: list[int], kind: str) -> None:
    """Mean or smallest computed in whole numbers and written as the limit: always met, always on the limit."""
    n = len(hundredths)
    total = sum(hundredths) if kind == "mean" else min(hundredths) * n
    limit = f"{total}/{n}"
    exact = total / n / 100
    decimals = f"{exact:.12f}".rstrip("0")
    if float(decimals) * n * 100 != total and kind == "mean":
        return  # the mean is no decimal number that a contract could write
    spec = specification((kind, "pull-off", f"{decimals if decimals[-1] != '.' else decimals + '0'} MPa"))
    found = decide(spec, cases_of([row(h / 100) for h in hundredths], spec))["Z"]
    assert found.outcome == Outcome.CONFORMS, limit
    assert found.criteria[0].at_limit


ORDER = {Outcome.CONFORMS: 2, Outcome.UNDETERMINED: 1, Outcome.DOES_NOT_CONFORM: 0}


@given(st.lists(PULLS, min_size=1, max_size=8), REQUIREMENTS, st.sampled_from([None, 3.0]), st.floats(0.0, 0.8))
@settings(max_examples=150)
def test_a_lower_limit_never_makes_it_worse(
    rows: list[Row], requirement: tuple[object, ...], ceiling: float | None, ease: float
) -> None:
    """Every strength limit lowered by the same share: no zone gets a worse outcome, compounds included."""

    def eased(part: tuple[object, ...]) -> tuple[object, ...]:
        if part[0] in {"all", "any"}:
            return (part[0], *(eased(p) for p in part[1:]))  # type: ignore[arg-type]
        if part[0] in {"share", "pulls"}:
            return part
        return (*part[:2], round(float(part[2]) * (1 - ease), 6) + 0.001, *part[3:])  # type: ignore[arg-type]

    hard, easy = spec_of(requirement, ceiling), spec_of(eased(requirement), ceiling)
    if ease < 0.05:
        easy = hard
    before = decide(hard, cases_of(rows, hard, zones=ZONES))
    after = decide(easy, cases_of(rows, easy, zones=ZONES))
    for a, b in zip(before.outcome.tolist(), after.outcome.tolist(), strict=True):
        assert ORDER[Outcome(b)] >= ORDER[Outcome(a)]


@given(st.lists(PULLS, min_size=2, max_size=8), REQUIREMENTS, st.integers(0, 7))
@settings(max_examples=150)
def test_knowing_more_never_contradicts(rows: list[Row], requirement: tuple[object, ...], which: int) -> None:
    """A bounded value that becomes exact at its bound leaves every decided zone as it was."""
    spec = spec_of(requirement, None)
    i = which % len(rows)
    known = list(rows)
    known[i] = rows[i] | {"bound": "exact", "held": False}
    how = settled(there_from=40.0)
    before = decide(spec, cases_of(rows, spec, how, zones=ZONES))
    after = decide(spec, cases_of(known, spec, how, zones=ZONES))
    for a, b in zip(before.outcome.tolist(), after.outcome.tolist(), strict=True):
        assert Outcome(a) in {Outcome.UNDETERMINED, Outcome(b)}


@given(st.lists(PULLS, max_size=10), REQUIREMENTS)
@settings(max_examples=100)
def test_no_outcome_holds_what_is_not_a_number(rows: list[Row], requirement: tuple[object, ...]) -> None:
    """Least and greatest values may be infinite and are never nan; the least never exceeds the greatest."""
    spec = dataclasses.replace(spec_of(requirement, None))
    for table in decide(spec, cases_of(rows, spec, zones=ZONES)).tables:
        assert not np.isnan(table.low).any()
        assert not np.isnan(table.high).any()
        assert (table.low <= table.high).all()
