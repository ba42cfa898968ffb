"""Sorting zones into classes: the class, or the interval of classes that the unknown values leave."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, decide
from adhesion_stats.assessment import assess
from adhesion_stats.assessment.classes import class_messages, zone_classes
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.intake import read_bytes
from adhesion_stats.record.schema import schema_errors
from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.model import Table
from adhesion_stats.reporting.terminal import summary_table
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import say
from tests.acceptance.build import cases_of, pulls_of, settled, standing_of
from tests.acceptance.test_hand_worked import rows_of
from tests.reporting.contract_check import shape_faults

# Pairs of mean and smallest value: invented numbers, in the form that classes of old concrete have.
CLASSES = """classes = [
  { name = "A4", all_of = [ { mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.0 MPa" } ] },
  { name = "A3", all_of = [ { mean_at_least = "1.2 MPa" }, { smallest_at_least = "0.8 MPa" } ] },
  { name = "A2", all_of = [ { mean_at_least = "0.8 MPa" }, { smallest_at_least = "0.5 MPa" } ] },
]
"""


def spec_of(more: str = "") -> Specification:
    """A contract that sorts zones into classes."""
    return parse_specification(f'[contract]\ntitle = "t"\n[[require]]\n{CLASSES}{more}'.encode(), file="t.toml")


def sorted_into(*values: float | str) -> tuple[str | None, str | None]:
    """Highest and least class of one zone."""
    spec, rows = spec_of(), rows_of(*values)
    (one,) = zone_classes(spec.classes[0], spec, pulls_of(rows), standing_of(rows), settled(), ("Z",))
    return one.best, one.least


@pytest.mark.parametrize(
    ("values", "best", "least"),
    [
        ((1.4, 1.6, 1.6), "A4", "A4"),  # mean 4.6/3 = 1.53, smallest 1.4
        ((0.9, 1.9, 1.9), "A3", "A3"),  # mean 1.57 would do for A4, 0.9 does not
        ((0.7, 0.9, 0.9), "A2", "A2"),  # mean 2.5/3 = 0.83
        ((0.4, 0.9, 0.9), None, None),
        ((1.1, 1.3, ">1.3"), "A4", "A3"),  # mean 1.233 at least; 1.5 needs the third at 2.1
        ((0.4, 2.0, ">1.0"), None, None),  # the smallest is below every class
        ((1.0, 1.0, "<1.0"), "A2", None),  # mean 0.67 to 1.0, smallest 0 to 1.0
    ],
)
def test_class_or_interval_of_classes(values: tuple[float | str, ...], best: str | None, least: str | None) -> None:
    """The highest class that is possible and the one that is sure."""
    assert sorted_into(*values) == (best, least)


@pytest.mark.parametrize("seed", [5, 6])
def test_the_interval_is_that_of_all_completions_on_a_grid(seed: int) -> None:
    """Each completion has one class; the best and the worst of them are the ends."""
    rng = np.random.default_rng(seed)
    for _ in range(25):
        known = [float(v) for v in np.round(rng.uniform(0.4, 2.0, 3), 1)]
        bounds = [float(v) for v in np.round(rng.uniform(0.4, 1.4, 2), 1)]
        grid = [np.unique([b, *np.arange(0.0, 9.0, 0.1).round(1), 50.0]) for b in bounds]
        grid = [g[g >= b] for g, b in zip(grid, bounds, strict=True)]
        ranks = []
        for free in itertools.product(*grid):
            x = [*known, *free]
            mean, least = sum(x) / 5 + 1e-9, min(x) + 1e-9
            pairs = ((1.5, 1.0), (1.2, 0.8), (0.8, 0.5))
            ranks.append(next((i for i, (m, s) in enumerate(pairs) if mean >= m and least >= s), 3))
        names = ("A4", "A3", "A2", None)
        expected = (names[min(ranks)], names[max(ranks)])
        assert sorted_into(*known, *(f">{b}" for b in bounds)) == expected, (known, bounds)


def test_the_class_asked_for_decides_and_without_one_nothing_is_decided() -> None:
    """A3 is asked: A4 meets it too; without ``at_least`` no rule stands."""
    assert spec_of().rules == ()
    spec = spec_of('at_least = "A3"')
    zones: tuple[tuple[float | str, ...], ...] = ((1.6, 1.6), (1.3, 1.3), (1.0, 1.0), (1.0, ">1.0"))
    outcomes = [decide(spec, cases_of(rows_of(*values), spec))["Z"].outcome for values in zones]
    assert outcomes == [Outcome.CONFORMS, Outcome.CONFORMS, Outcome.DOES_NOT_CONFORM, Outcome.UNDETERMINED]


def test_the_class_is_said() -> None:
    """One sentence a zone."""
    spec, rows = spec_of(), rows_of(1.1, 1.3, ">1.3")
    found = zone_classes(spec.classes[0], spec, pulls_of(rows), standing_of(rows), settled(), ("Z",))
    (message,) = class_messages(found)
    assert say(message).startswith(
        'Zone "Z" falls into class A3 at least and A4 at most: what is unknown, or left open'
    )


ROWS = "A,1,1.6,\nA,2,1.6,\nB,1,1.1,\nB,2,1.3,\nB,3,>1.3,\nC,1,0.4,\nC,2,0.6,\nD,1,0.9,\nD,2,>0.4,\n"


def results_for(more: str = "", rows: str = ROWS) -> dict[str, object]:
    """The results of a small file."""
    reading = read_bytes(f"zone,id,strength MPa,failure\n{rows}".encode(), file="r.csv")
    return assess(reading, spec_of(more)).as_dict()


def classes_of(results: dict[str, object]) -> dict[str, tuple[str | None, str | None]]:
    """Highest and least class by zone."""
    zones = results["zones"]
    assert isinstance(zones, list)
    return {zone["zone"]: (one["best"], one["least"]) for zone in zones for one in zone["classes"]}


def test_the_class_is_a_field_of_the_results() -> None:
    """A: mean 1.6. B: as above. C: mean 0.5 is below 0.8. D: 0.9 and 0.4 or more: A4 at most, below A2 at least."""
    results = results_for()
    assert schema_errors(results) == []
    assert shape_faults(results) == []
    assert classes_of(results) == {"A": ("A4", "A4"), "B": ("A4", "A3"), "C": (None, None), "D": ("A3", None)}


def test_the_zone_tables_have_a_column_for_the_class() -> None:
    """On the page (and so in the notebook) and in the terminal; none where the contract has no classes."""
    results = results_for()
    (table,) = [b for b in assessment_document(results).sections[0].blocks if isinstance(b, Table)]
    at = [column.title for column in table.columns].index("Class")
    cells = [str(row.cells[at].lines[0].parts[0]) for row in table.groups[0].rows]
    assert cells == ["A4", "A3 to A4", "below A2", "below A2 to A3"]
    lines = summary_table(results).splitlines()
    assert lines[0].split() == ["zone", "pulls", "mean,", "MPa", "smallest,", "MPa", "decision", "class", "reason"]
    assert "below A2 to A3" in "\n".join(lines)
    plain = parse_specification(b'[contract]\ntitle = "t"\n[[require]]\nmean_at_least = "1.5 MPa"\n', file="t.toml")
    without = assess(read_bytes(b"zone,id,strength MPa\nA,1,1.6\n", file="r.csv"), plain).as_dict()
    assert "class" not in summary_table(without).splitlines()[0].split()
    titles = [
        c.title for b in assessment_document(without).sections[0].blocks if isinstance(b, Table) for c in b.columns
    ]
    assert "Class" not in titles


def test_a_rule_on_which_the_contract_is_silent_widens_the_interval() -> None:
    """Pull 3 broke in the adhesive over 60 % of its area: counted, 0.4 MPa is below every class; discarded, A4."""
    rows = "A,1,1.6,A\nA,2,1.6,A\nA,3,0.4,40% A 60% Y\n"
    assert classes_of(results_for(rows=rows)) == {"A": ("A4", None)}
    discard = '[glue]\nfrom = "50 %"\nthen = "discard"\n'
    assert classes_of(results_for(discard, rows)) == {"A": ("A4", "A4")}


def test_classes_of_some_zones_follow_them_through_stages() -> None:
    """A zone that is parted by stage is sorted under each of its names; a zone that is not named is not sorted."""
    more = 'zones = ["A"]\n[[require]]\nstage = "production"\nmean_at_least = "0.1 MPa"\n'
    text = b"zone,id,strength MPa,stage\nA,1,1.6,production\nA,2,1.3,bare substrate\nB,3,1.6,production\n"
    found = classes_of(assess(read_bytes(text, file="r.csv"), spec_of(more)).as_dict())
    assert found == {"A, production": ("A4", "A4"), "A": ("A3", "A3")}


@pytest.mark.parametrize("text", ['at_least = "A5"', "zzz = 1"])
def test_what_is_wrong_with_classes_is_said(text: str) -> None:
    """A class that is not listed, an unknown key."""
    with pytest.raises(InvalidSpecification):
        spec_of(text)
