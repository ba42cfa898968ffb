"""MIL-STD-414 (1957), section B, standard deviation unknown: examples B-1 to B-3 and rows of tables B-1 and B-3.

The data of the examples and the M values are seen in the public R package AQLSchemes (its example and its tables); the
digits that the standard prints were reported from memory of it and are used as rounded values only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome, decide
from adhesion_stats.acceptance.conditions import Spread
from adhesion_stats.acceptance.forms import condition, share_below
from adhesion_stats.terms.criteria import StrengthCriterion, criteria
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding
from tests.acceptance.build import cases_of, requirement_of
from tests.acceptance.test_hand_worked import rows_of

# Operating temperatures of five specimens; a lower limit of 180 stands here in place of degrees as 180 MPa.
VALUES = (197.0, 188.0, 184.0, 205.0, 201.0)


def decided(criterion: str, *values: float) -> tuple[Outcome, float]:
    """Outcome and value of one criterion."""
    spec = parse_specification(f'[contract]\ntitle = "t"\n[[require]]\n{criterion}\n'.encode(), file="t.toml")
    found = decide(spec, cases_of(rows_of(*values), spec))["Z"]
    return found.outcome, found.criteria[0].low


def test_quality_index_and_estimate_of_the_lower_limit() -> None:
    """B-3: mean 195, s = 8.80, Q_L = (195 - 180) / 8.80 = 1.70; estimate 0.6169 % (the printed table of the estimate,
    entered with Q rounded to 1.70, gives 0.66 %).
    """
    outcome, index = decided('quality_index_at_least = 1.53\nlower_limit = "180 MPa"', *VALUES)
    assert (outcome, round(index, 7)) == (Outcome.CONFORMS, 1.7038855)
    outcome, share = decided('share_below_at_most = "3.32 %"\nlower_limit = "180 MPa"', *VALUES)
    assert (outcome, round(share, 7)) == (Outcome.CONFORMS, 0.6168968)
    assert round(float(share_below(np.array([1.70]), 5)[0]), 2) == 0.66


def test_upper_limit_mirrored() -> None:
    """B-1 and B-2: Q_U = (209 - 195) / 8.80 = 1.59 against k = 1.53, estimate 2.18 % (printed 2.19 %) against
    M = 3.32 %: accept. An upper limit is a lower limit of the mirrored values.
    """
    mirrored = tuple(418.0 - v for v in VALUES)  # mean 223, the limit stays 209
    outcome, index = decided('quality_index_at_least = 1.53\nlower_limit = "209 MPa"', *mirrored)
    assert (outcome, round(index, 7)) == (Outcome.CONFORMS, 1.5902931)
    outcome, share = decided('share_below_at_most = "3.32 %"\nlower_limit = "209 MPa"', *mirrored)
    assert (outcome, round(share, 7)) == (Outcome.CONFORMS, 2.1823118)
    assert abs(share - 2.19) < 0.01


@pytest.mark.parametrize(
    ("n", "k", "m"),
    [
        (3, 1.12, 7.59), (4, 1.17, 10.88), (5, 1.24, 9.80), (7, 1.33, 8.40), (10, 1.41, 7.26), (15, 1.47, 6.55),
        (20, 1.51, 6.18), (25, 1.53, 5.98), (35, 1.57, 5.58), (50, 1.61, 5.21),
        (5, 1.53, 3.33), (7, 1.62, 3.54), (10, 1.72, 3.27), (15, 1.79, 3.06), (20, 1.82, 2.93), (35, 1.89, 2.66),
    ],
)  # fmt: skip
def test_both_forms_of_a_plan_are_one_plan(n: int, k: float, m: float) -> None:
    """AQL 2.5 and 1.0, normal inspection: the factor behind the printed M is the printed k (two decimals; M is rounded
    too, which moves k by up to 0.006).
    """
    text = f'[contract]\ntitle = "t"\n[[require]]\nshare_below_at_most = "{m:.2f} %"\nlower_limit = "1.50 MPa"\n'
    (criterion,) = criteria(requirement_of(parse_specification(text.encode(), file="t.toml")))
    assert isinstance(criterion, StrengthCriterion)
    asks = condition(criterion, n, Rounding())
    assert isinstance(asks, Spread)
    assert abs(asks.k - k) <= 0.0065
    assert math.isclose(float(share_below(np.array([asks.k]), n)[0]), m, rel_tol=1e-12)


@pytest.mark.parametrize(
    ("mean", "sd", "limit", "n", "share"),
    [(255.0, 15.0, 225.0, 42, 0.0206956259972)],
)
def test_estimates_of_further_public_examples(mean: float, sd: float, limit: float, n: int, share: float) -> None:
    """Estimate with sd unknown, from the package's own examples (computed there)."""
    assert float(share_below(np.array([(mean - limit) / sd]), n)[0]) / 100 == pytest.approx(share, rel=1e-9)
