"""What mean - k sd can reach over a box, against dense searches and closed forms."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import optimize

from adhesion_stats.acceptance.reach import at_level, interval_of_levels, level_of_mean, lowest, peak, spread


def value(x: list[float], k: float) -> float:
    """Mean - k sd, plainly."""
    m = math.fsum(x) / len(x)
    return m - k * math.sqrt(math.fsum((v - m) ** 2 for v in x) / (len(x) - 1))


def _falling(x: np.ndarray, k: float) -> float:
    """What the optimiser makes small."""
    return -value(x.tolist(), k)


def random_box(rng: np.random.Generator, *, ceiling: bool) -> tuple[np.ndarray, np.ndarray]:
    """2 to 6 values, 1 to 4 of them unknown."""
    n = int(rng.integers(2, 7))
    low = np.sort(rng.uniform(0.5, 3.0, n))
    high = low.copy()
    free = rng.permutation(n)[: int(rng.integers(1, min(n, 4) + 1))]
    low[free] *= rng.choice([0.0, 1.0], free.size)
    high[free] = low[free] + rng.uniform(0.1, 3.0, free.size) if ceiling else np.inf
    return low[np.newaxis], high[np.newaxis]


@pytest.mark.parametrize("ceiling", [True, False])
def test_the_peak_is_where_a_general_optimiser_finds_it(ceiling: bool) -> None:
    """300 random boxes: no start of a bounded quasi-Newton search ends higher, nor any common level."""
    rng = np.random.default_rng(5)
    for _ in range(300):
        low, high = random_box(rng, ceiling=ceiling)
        n = low.shape[1]
        k = float(rng.uniform(1.02, 4.0)) / math.sqrt(n) * (2.0 if rng.random() < 0.5 else 1.0)
        best, level = peak(low, high, k)
        if math.isinf(best[0]):
            x = np.where(np.isinf(high), 1e6, high)[0]
            assert value(at_level(low, high, np.array([1e6]))[0].tolist(), k) > 1e3, x
            continue
        top = np.where(np.isinf(high), 60.0, high)[0]
        found = -np.inf
        for start in (low[0], np.minimum(top, low[0] + 0.5), np.clip(level[0], low[0], top)):
            ends = list(zip(low[0].tolist(), top.tolist(), strict=True))
            result = optimize.minimize(_falling, start + 1e-9, args=(k,), method="L-BFGS-B", bounds=ends)
            found = max(found, -float(result.fun))
        assert found <= best[0] + 1e-9
        assert value(at_level(low, high, level)[0].tolist(), k) == pytest.approx(best[0], rel=1e-12)
        grid = max(value(at_level(low, high, np.array([t]))[0].tolist(), k) for t in np.linspace(0, 12, 400))
        assert grid <= best[0] + 1e-12


def test_one_unknown_value_peaks_at_the_published_form() -> None:
    """b* = m + sqrt(SS / ((n-1)(k² - 1/n))), m and SS of the other values: 1.20 1.25 1.22 1.24 and one unknown, k =
    1.4.
    """
    low, high = np.array([[0.0, 1.20, 1.22, 1.24, 1.25]]), np.array([[np.inf, 1.20, 1.22, 1.24, 1.25]])
    # m = 4.91/4 = 1.2275; SS = 0.0275² + 0.0075² + 0.0125² + 0.0225² = 0.001475; 4 (1.96 - 0.2) = 7.04
    _, level = peak(low, high, 1.4)
    assert level[0] == pytest.approx(1.2275 + math.sqrt(0.001475 / 7.04), rel=1e-12)


def test_the_lowest_value_is_the_lowest_corner() -> None:
    """300 random boxes with ceilings: the least over all corners; random inner points are never lower."""
    rng = np.random.default_rng(6)
    for _ in range(300):
        low, high = random_box(rng, ceiling=True)
        k = float(rng.uniform(1.02, 4.0)) / math.sqrt(low.shape[1])
        found, exact = lowest(low, high, k)
        corners = itertools.product(*zip(low[0].tolist(), high[0].tolist(), strict=True))
        assert found[0] == pytest.approx(min(value(list(c), k) for c in corners), abs=1e-12)
        assert exact[0]
        inner = rng.uniform(low, high, (50, low.shape[1]))
        assert min(value(x.tolist(), k) for x in inner) >= found[0] - 1e-12


def test_without_upper_bound_the_lowest_value_has_no_end() -> None:
    """K > 1/sqrt(n): a single unbounded value takes mean - k sd below anything."""
    assert lowest(np.array([[1.0, 2.0]]), np.array([[np.inf, 2.0]]), 1.0)[0][0] == -np.inf


def test_many_like_unknown_values_are_counted_not_listed() -> None:
    """Twenty missing pulls between 0 and 5 have 21 different corners: exact. Twenty different ones are bounded from
    below, and said so.
    """
    known = np.full((1, 4), 2.0)
    like_low, like_high = np.zeros((1, 20)), np.full((1, 20), 5.0)
    found, exact = lowest(np.hstack([like_low, known]), np.hstack([like_high, known]), 1.0)
    by_count = [value([2.0] * 4 + [5.0] * j + [0.0] * (20 - j), 1.0) for j in range(21)]
    assert exact[0]
    assert found[0] == pytest.approx(min(by_count), abs=1e-12)
    different = np.linspace(3.0, 5.0, 20)[np.newaxis]
    bound, exact = lowest(np.hstack([like_low, known]), np.hstack([different, known]), 1.0)
    assert not exact[0]
    rng = np.random.default_rng(7)
    tried = [value([2.0] * 4 + np.where(rng.random(20) < 0.5, 0.0, different[0]).tolist(), 1.0) for _ in range(2000)]
    assert bound[0] <= min(tried)


def test_levels_are_where_the_conditions_change() -> None:
    """300 random boxes: just inside the interval mean - k sd meets, just outside it does not; the mean's level in
    closed form agrees.
    """
    rng = np.random.default_rng(8)
    slack = np.array([0.0])
    for _ in range(300):
        low, high = random_box(rng, ceiling=bool(rng.random() < 0.5))
        k = float(rng.choice([0.0, 0.2, 1.0, 2.0]))
        at = float(rng.uniform(0.3, 2.5))
        first, last = interval_of_levels(low, high, k, at, slack)
        for level in np.concatenate([np.linspace(-0.5, 8.0, 60), first[np.isfinite(first)], last[np.isfinite(last)]]):
            met = spread(at_level(low, high, np.array([level])), k)[0] >= at
            inside = first[0] - 1e-9 <= level <= last[0] + 1e-9
            strictly = first[0] + 1e-9 < level < last[0] - 1e-9
            assert met <= inside, (low, high, k, at, level, first, last)
            assert met >= strictly, (low, high, k, at, level, first, last)
        if k == 0.0:
            assert level_of_mean(low, high, at)[0] == first[0]
