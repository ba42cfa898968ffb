"""Sorting zones into classes: the class, or the interval of classes that the unknown values leave."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, decide
from adhesion_stats.assessment.classes import class_messages, zone_classes
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Specification
from adhesion_stats.wording import say
from tests.acceptance.build import cases_of, pulls_of, settled, standing_of
from tests.acceptance.test_hand_worked import rows_of

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
    (message,) = class_messages(spec, pulls_of(rows), standing_of(rows), settled(), ("Z",))
    assert say(message) == 'Zone "Z" falls into class A3 at least and A4 at most: the unknown values decide.'


@pytest.mark.parametrize("text", ['at_least = "A5"', "zzz = 1"])
def test_what_is_wrong_with_classes_is_said(text: str) -> None:
    """A class that is not listed, an unknown key."""
    with pytest.raises(InvalidSpecification):
        spec_of(text)
