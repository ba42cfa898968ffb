"""Speed of p-values for a million samples of ten: Grubbs and Dixon in blocks, beside a loop with scipy, one by one.

The loop is run over a share of the samples and its time carried on to all of them; both in the same run, so that the
ratio does not depend on the machine. For Grubbs the loop does what is usual: the t formula, two-sided. For Dixon there
is no function in a general library: the loop integrates with ``scipy.integrate.dblquad``, over a handful of samples.

    python -m tests.benchmarks.bench_outliers
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import integrate, special, stats

from adhesion_stats.statistics import dixon_p_value, dixon_ratio, grubbs_p_value, grubbs_statistic

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Result:
    """Seconds for all samples: in blocks, and by the loop (carried on from a share of them); and their agreement."""

    name: str
    blocks: float
    loop: float
    looped: int
    largest_difference: float

    @property
    def ratio(self) -> float:
        """How many times faster the blocks are."""
        return self.loop / self.blocks


def build(*, samples: int, seed: int) -> Values:
    """(samples, 10), ascending."""
    return np.sort(np.random.default_rng(seed).normal(2.5, 0.5, (samples, 10)), axis=-1)


def grubbs_by_scipy(values: Values) -> float:
    """Two-sided p-value of one sample by the t formula, as is usual."""
    n = values.size
    mean, sd = np.mean(values), np.std(values, ddof=1)
    g = float(np.max(np.abs(values - mean)) / sd)
    t = g * math.sqrt(n * (n - 2) / ((n - 1) ** 2 - n * g * g))
    return min(1.0, float(2 * n * stats.t.sf(t, n - 2)))


def dixon_by_scipy(values: Values) -> float:
    """One-sided p-value of r11 of one sample, high side, by a double integral."""
    n = values.size
    r = float((values[-1] - values[-2]) / (values[-1] - values[1]))

    def integrand(v: float, x: float) -> float:
        far, near = special.ndtr(x - v), special.ndtr(x - r * v)
        return float(far * (near - far) ** (n - 3) * math.exp(-0.5 * (x * x + (x - v) ** 2)) / (2.0 * math.pi))

    total, _ = integrate.dblquad(integrand, -8.0, 8.0, 0.0, 16.0, epsabs=1e-9, epsrel=1e-9)
    return float(math.factorial(n) / math.factorial(n - 3) * total)


def measure(*, samples: int, grubbs_loop: int, dixon_loop: int) -> list[Result]:
    """Both comparisons; tables per n are built within the time of the blocks."""
    x = build(samples=samples, seed=1)
    found = []
    start = time.perf_counter()
    g, _ = grubbs_statistic(x, sides="two")
    p = grubbs_p_value(g, n=10, sides="two")
    blocks = time.perf_counter() - start
    start = time.perf_counter()
    one_by_one = np.array([grubbs_by_scipy(row) for row in x[:grubbs_loop]])
    loop = (time.perf_counter() - start) / grubbs_loop * samples
    difference = float(np.abs(one_by_one - p[:grubbs_loop]).max())
    found.append(Result("Grubbs, two-sided", blocks, loop, grubbs_loop, difference))
    start = time.perf_counter()
    r, _ = dixon_ratio(x, ratio="r11", sides="high")
    q = dixon_p_value(r, ratio="r11", n=10, sides="high")
    blocks = time.perf_counter() - start
    start = time.perf_counter()
    integrated = np.array([dixon_by_scipy(row) for row in x[:dixon_loop]])
    loop = (time.perf_counter() - start) / dixon_loop * samples
    difference = float(np.abs(integrated - q[:dixon_loop]).max())
    found.append(Result("Dixon r11, one-sided", blocks, loop, dixon_loop, difference))
    return found


def report(results: list[Result]) -> str:
    """The results as lines of text."""
    return "\n".join(
        f"{one.name:<22}{one.blocks:8.2f} s in blocks, {one.loop:12.1f} s by a loop (from {one.looped} samples), "
        f"ratio {one.ratio:10.0f}, largest difference {one.largest_difference:.1e}"
        for one in results
    )


if __name__ == "__main__":
    print(report(measure(samples=1_000_000, grubbs_loop=5000, dixon_loop=3)))
