"""An operating characteristic of 200 points, mean and smallest of five pulls: computed, and by plain numpy simulation.

The simulation draws fresh zones for each point. It is timed with a number of zones that fits the machine, and its time
is carried over to the number that reaches the wanted standard error at p = 1/2 (time grows with the number of zones).
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from adhesion_stats.statistics import AS_MEASURED, Ratio, probability_accepted

LIMIT, FLOOR, N, COV = 1.5, 1.125, 5, 0.20
WANTED_ERROR = 1e-4


@dataclass(frozen=True)
class Measured:
    """Seconds for 200 points, and the largest difference of the simulated ones in their standard errors."""

    points: int
    computed_s: float
    simulated_s: float
    sets: int
    largest_difference: float

    @property
    def to_wanted_error_s(self) -> float:
        """Seconds that the simulation would take to reach the wanted standard error."""
        return self.simulated_s * (0.25 / WANTED_ERROR**2) / self.sets

    @property
    def ratio(self) -> float:
        """Times faster than the simulation at the same error."""
        return self.to_wanted_error_s / self.computed_s


def measure(*, points: int, sets: int, repeats: int) -> Measured:
    """Time both; the best of ``repeats`` for the computed one."""
    means = np.linspace(1.0, 3.0, points)
    rule = np.zeros((2, N + 1), dtype=np.bool_)
    rule[1, N] = True
    best, computed = np.inf, means
    for _ in range(repeats):
        start = time.perf_counter()
        computed = probability_accepted(
            means, ratio=Ratio("normal", COV), n=N, limits=[FLOOR], mean_limits=[LIMIT], accepted=rule,
            completed=AS_MEASURED,
        )  # fmt: skip
        best = min(best, time.perf_counter() - start)
    rng = np.random.default_rng(1)
    start = time.perf_counter()
    shares = np.empty(points)
    for i, mean in enumerate(means.tolist()):
        x = rng.normal(mean, COV * mean, (sets, N))
        shares[i] = ((x.mean(axis=1) >= LIMIT) & (x.min(axis=1) >= FLOOR)).mean()
    simulated = time.perf_counter() - start
    error = np.sqrt(np.maximum(computed * (1 - computed), 1 / sets) / sets)
    return Measured(points, best, simulated, sets, float(np.max(np.abs(shares - computed) / error)))


def report(found: Measured) -> str:
    """One line."""
    return (
        f"{found.points} points, mean and smallest at n = {N}: computed {found.computed_s:.3f} s; simulated "
        f"{found.simulated_s:.2f} s for {found.sets} zones a point, {found.to_wanted_error_s:.0f} s to a standard "
        f"error of {WANTED_ERROR:g}: {found.ratio:.0f} times faster; largest difference {found.largest_difference:.1f} "
        "standard errors"
    )
