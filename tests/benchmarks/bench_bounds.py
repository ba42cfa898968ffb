"""Bounds, Shapiro-Wilk and fits with bounded values, beside loops over scipy in the same run. Prints ratios.

    python -m tests.benchmarks.bench_bounds

The loops run over a part of the samples and are extrapolated; the part is printed.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from adhesion_stats import statistics as room

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """One comparison: seconds for all samples, ours and extrapolated from the loop."""

    name: str
    samples: int
    looped: int
    ours: float
    theirs: float
    apart: float

    @property
    def ratio(self) -> float:
        """How many times as long the loop takes."""
        return self.theirs / self.ours


def _timed(work: Callable[[], Values]) -> tuple[float, Values]:
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def tolerance(samples: int, looped: int) -> Line:
    """Lower tolerance bounds of samples of 10, factor and all."""
    x = np.sort(np.random.default_rng(1).normal(3.0, 0.5, (samples, 10)), axis=-1)

    def loop() -> Values:
        found = []
        for row in x[:looped]:
            k = stats.nct.ppf(0.95, 9, stats.norm.ppf(0.95) * np.sqrt(10)) / np.sqrt(10)
            found.append(row.mean() - k * row.std(ddof=1))
        return np.array(found)

    ours, bounds = _timed(lambda: room.tolerance_bound_lower(x, content=0.95, confidence=0.95))
    theirs, expected = _timed(loop)
    apart = float(np.max(np.abs(bounds[:looped] - expected)))
    return Line("tolerance bounds, samples of 10", samples, looped, ours, theirs * samples / looped, apart)


def shapiro(samples: int, looped: int) -> Line:
    """Shapiro-Wilk, W and p-value, samples of 10."""
    x = np.sort(np.random.default_rng(2).normal(3.0, 0.5, (samples, 10)), axis=-1)
    ours, p = _timed(lambda: room.shapiro_wilk(x, recording_step=0.0).p_value)
    theirs, expected = _timed(lambda: np.array([stats.shapiro(row).pvalue for row in x[:looped]]))
    apart = float(np.max(np.abs(p[:looped] - expected)))
    return Line("Shapiro-Wilk, samples of 10", samples, looped, ours, theirs * samples / looped, apart)


def fits(samples: int, looped: int) -> Line:
    """Weibull fits of zones of 8 with two lower bounds each; ``apart``: how far scipy's likelihood lies below ours."""
    rng = np.random.default_rng(3)
    x = np.sort(3.0 * rng.weibull(6.0, (samples, 8)), axis=-1)
    bounded = rng.random((samples, 8)).argsort(axis=-1) < 2
    high = np.where(bounded, np.inf, x)
    stack = room.Stack(np.arange(samples), x, high)

    def height(row: int, shape: float, scale: float) -> float:
        frozen = stats.weibull_min(shape, scale=scale)
        return float(np.sum(frozen.logpdf(x[row][~bounded[row]])) + np.sum(frozen.logsf(x[row][bounded[row]])))

    def loop() -> Values:
        found = []
        for row in range(looped):
            data = stats.CensoredData(uncensored=x[row][~bounded[row]], right=x[row][bounded[row]])
            shape, _, scale = stats.weibull_min.fit(data, floc=0.0)
            found.append((shape, scale))
        return np.array(found)

    ours, heights = _timed(lambda: room.fit_bounded(stack, family="weibull").log_likelihood)
    theirs, parameters = _timed(loop)
    below = [heights[row] - height(row, *parameters[row]) for row in range(looped)]
    # scipy stops early now and then; never may it lie above.
    assert min(below) > -1e-8
    return Line("Weibull fits, zones of 8 with 2 bounded", samples, looped, ours, theirs * samples / looped, max(below))


def measure(scale: float) -> list[Line]:
    """All comparisons; ``scale`` below 1 for a quick look."""
    million, zones = int(1_000_000 * scale), int(10_000 * scale)
    return [
        tolerance(million, max(50, int(5000 * scale))),
        shapiro(million, max(50, int(5000 * scale))),
        fits(zones, max(10, int(200 * scale))),
    ]


def report(lines: list[Line]) -> str:
    """The comparisons as lines of text."""
    return "\n".join(
        f"{line.name:<42}{line.samples:>9} samples{line.ours:9.2f} s   loop{line.theirs:10.1f} s (from {line.looped})"
        f"{line.ratio:8.0f} x   apart at most {line.apart:.1e}"
        for line in lines
    )


if __name__ == "__main__":
    print(report(measure(1.0)))
