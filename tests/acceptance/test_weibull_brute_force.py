"""The Weibull criterion with unknown values against a grid of completions, each with its own bound."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from adhesion_stats.acceptance.evaluate import decide
from adhesion_stats.acceptance.outcomes import Outcome, Reason
from adhesion_stats.statistics import tolerance_bound_weibull
from adhesion_stats.terms.parse import parse_specification
from tests.acceptance.build import Row, cases_of, row

CEILING = 3.0
CONTENT, CONFIDENCE = 0.90, 0.75
GRID = 5


def random_zone(rng: np.random.Generator) -> tuple[list[Row], list[np.ndarray]]:
    """Three to five pulls, none to two of them bounded, and the values that each of them may have on a grid."""
    rows: list[Row] = []
    values: list[np.ndarray] = []
    n = int(rng.integers(3, 6))
    unknown = int(rng.choice([0, 0, 1, 1, 2]))
    for i, value in enumerate(np.round(rng.uniform(1.2, 2.6, n), 2).tolist()):
        bound = "exact" if i >= unknown else str(rng.choice(["at least", "at most"]))
        rows.append(row(value, bound=bound))
        ends = {"exact": (value, value), "at least": (value, CEILING), "at most": (0.02, value)}[bound]
        values.append(np.linspace(*ends, 1 if bound == "exact" else GRID))
    return rows, values


def bounds_of_completions(values: list[np.ndarray]) -> np.ndarray:
    """The characteristic value of every completion on the grid [MPa]."""
    made = np.sort(np.array(list(itertools.product(*values))), axis=1)
    spread = made[:, 0] < made[:, -1]
    return np.asarray(
        tolerance_bound_weibull(np.ascontiguousarray(made[spread]), content=CONTENT, confidence=CONFIDENCE)
    )


def highest(values: list[np.ndarray]) -> float:
    """The highest bound near the best completion of the grid: finer and finer grids around it."""
    best = -np.inf
    for _ in range(6):
        made = np.array(list(itertools.product(*values)))
        ordered = np.sort(made, axis=1)
        spread = ordered[:, 0] < ordered[:, -1]
        bounds = tolerance_bound_weibull(ordered[spread], content=CONTENT, confidence=CONFIDENCE)
        k = int(np.argmax(bounds))
        best, at = max(best, float(bounds[k])), made[spread][k]
        values = [
            v if v.size == 1 else np.linspace(max(v[0], c - v[1] + v[0]), min(v[-1], c + v[1] - v[0]), GRID)
            for v, c in zip(values, at.tolist(), strict=True)
        ]
    return best


@pytest.mark.parametrize("seed", [5])
def test_a_weibull_decision_is_never_against_a_completion(seed: int) -> None:
    """Exact values: decided as the bound says. Unknown ones: what is called sure holds for all completions of the grid,
    and what is called open has one that meets and one that fails, unless it was said not to be resolved.
    """
    rng = np.random.default_rng(seed)
    seen = dict.fromkeys(Outcome, 0)
    for _ in range(16):
        rows, values = random_zone(rng)
        limit = float(np.round(rng.uniform(0.2, 1.4), 2))
        text = (
            f'[contract]\ntitle = "t"\n[pulls]\nceiling = "{CEILING} MPa"\n[[require]]\ncharacteristic_at_least = '
            f'"{limit} MPa"\nmethod = "weibull"\ncontent = {CONTENT}\nconfidence = {CONFIDENCE}\n'
        )
        spec = parse_specification(text.encode(), file="t.toml")
        found = decide(spec, cases_of(rows, spec))["Z"]
        bounds = bounds_of_completions(values)
        told = (limit, rows, found.outcome.words, bounds.min(), bounds.max())
        if len(bounds) == 1:
            assert found.outcome == (Outcome.CONFORMS if bounds[0] >= limit else Outcome.DOES_NOT_CONFORM), told
        elif found.outcome == Outcome.CONFORMS:
            assert bounds.min() >= limit, told
        elif found.outcome == Outcome.DOES_NOT_CONFORM:
            assert bounds.max() < limit, told
        elif found.reason != Reason.NOT_RESOLVED:
            assert bounds.min() < limit, told
            assert limit <= bounds.max() or limit <= highest(values) + 1e-9, told
        seen[found.outcome] += 1
    assert min(seen.values()) > 0, seen
