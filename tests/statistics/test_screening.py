"""How many flags chance alone brings."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import flags_by_chance


def test_expectation_and_spread_are_those_of_all_outcomes() -> None:
    """Three tests at different levels: sum over the eight outcomes, written out."""
    levels = [0.05, 0.10, 0.30]
    expected = square = any_flag = 0.0
    for outcome in itertools.product((0, 1), repeat=3):
        probability = math.prod(level if flag else 1.0 - level for level, flag in zip(levels, outcome, strict=True))
        expected += probability * sum(outcome)
        square += probability * sum(outcome) ** 2
        any_flag += probability * (sum(outcome) > 0)
    chance = flags_by_chance(levels=np.array(levels))
    assert chance.samples == 3
    assert chance.expected == pytest.approx(expected)
    assert chance.sd == pytest.approx(math.sqrt(square - expected**2))
    assert chance.any == pytest.approx(any_flag)


def test_no_samples_no_flags() -> None:
    """Nothing tested, nothing expected."""
    chance = flags_by_chance(levels=np.array([]))
    assert (chance.samples, chance.expected, chance.any) == (0, 0.0, 0.0)


def test_tail_by_poisson_is_close_to_the_binomial_one() -> None:
    """For 200 samples at 5 % the probability of 15 or more flags is right within a hundredth."""
    chance = flags_by_chance(levels=np.full(200, 0.05))
    exact = sum(math.comb(200, k) * 0.05**k * 0.95 ** (200 - k) for k in range(15, 201))
    assert chance.at_least(15) == pytest.approx(exact, abs=0.01)
    assert (chance.at_least(0), chance.at_least(1)) == (1.0, chance.any)


@pytest.mark.parametrize("levels", [[0.05, 5.0], [-0.1], [float("nan")]])
def test_levels_are_probabilities(levels: list[float]) -> None:
    """5 is no level; 0.05 is."""
    with pytest.raises(InvalidSample, match="levels from 0 to 1"):
        flags_by_chance(levels=np.array(levels))
