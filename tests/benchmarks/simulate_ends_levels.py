"""Writes adhesion_stats/statistics/grubbs_ends_levels.py: range / sd in normal samples, n = 4 to 30.

Of a pair of values with difference D and all values with sum of squares 1, the pair holds the two extremes if every
other value lies between them: if D exceeds twice the largest distance of the others from the middle of the pair. Given
the directions of all else, the chance of that and of range / sd > q is a tail of Student's t. The mean of these chances
over simulated directions, n (n - 1) times, is P(range / sd > q). At the least possible q it has to be 1,
which serves as
control variate; at the largest of the table it is the closed form.

    python -m tests.benchmarks.simulate_ends_levels         # 1,000,000 directions for each n, seed 20260102
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import special

DIRECTIONS, CHUNK, SEED = 1_000_000, 100_000, 20260102
SIZES = range(4, 31)
POINTS = 65

HEAD = '''"""Distribution of range over standard deviation in normal samples: generated, not edited.

Written by tests/benchmarks/simulate_ends_levels.py, {directions:,} directions for each n, seed {seed}.
``EXCEEDED[n]`` holds P(range / sd > q) at {points} equally spaced q from the least possible value to
sqrt(3 (n - 1)/2), from which on the closed form is exact. Largest standard error of an entry: {error:.1g}; relative to
entries below 0.1: {relative:.1g}.

Imports: nothing but types. Must not import any other room.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["EXCEEDED"]

# fmt: off
EXCEEDED: Mapping[int, tuple[float, ...]] = MappingProxyType(
    {{
{body}
    }}
)
# fmt: on
'''


def t_of_range(q: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    """The t, n - 2 degrees of freedom, of a pair that is q standard deviations apart."""
    share = q * q / (2.0 * (n - 1))
    return np.sqrt((n - 2) * share / (1.0 - share))


def least(n: int) -> float:
    """The smallest range / sd that n values can have: half of them at either end."""
    return 2.0 * math.sqrt((n - 1) / n) if n % 2 == 0 else 2.0 * math.sqrt(n / (n + 1))


def exceeded(n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """P(range / sd > q) at the points, and standard errors."""
    rng = np.random.default_rng([SEED, n])
    q = np.linspace(least(n), math.sqrt(1.5 * (n - 1)), POINTS)
    t_q = t_of_range(q, n)
    tail = n * (n - 1) * special.stdtr(n - 2, -t_q)
    parts = []
    for _ in range(DIRECTIONS // CHUNK):
        others = rng.standard_normal((CHUNK, n - 2))
        middle = rng.standard_normal(CHUNK) / math.sqrt(2.0)
        centre = others.mean(axis=1)
        squares = np.square(others - centre[:, np.newaxis]).sum(axis=1) + 2.0 * (n - 2) / n * (middle - centre) ** 2
        furthest = np.abs(others - middle[:, np.newaxis]).max(axis=1)
        parts.append(math.sqrt(2.0 * (n - 2)) * furthest / np.sqrt(squares))
    t = np.sort(np.concatenate(parts))
    alone = n * (n - 1) * special.stdtr(n - 2, -t)
    # Mean over directions of min(tail, alone): below t_q the tail counts, above it the direction's own chance.
    rank = np.searchsorted(t, t_q)

    def sum_above(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate((np.cumsum(values[::-1])[::-1], [0.0]))[rank]

    below = np.concatenate(([0.0], np.cumsum(alone)))[rank]
    squares_above = sum_above(alone**2)
    mean = (rank * tail + sum_above(alone)) / t.size
    variance = (rank * tail**2 + squares_above) / t.size - mean**2
    covariance = (tail * below + squares_above) / t.size - mean * mean[0]
    # The first mean is known to be 1; what it is off by tells what the others are off by.
    corrected = mean - covariance / variance[0] * (mean[0] - 1.0)
    left = np.maximum(variance - covariance**2 / variance[0], 0.0)
    return np.clip(corrected, 0.0, 1.0), np.sqrt(left / t.size)


def main() -> None:
    """Simulate and write the module."""
    lines, error, relative = [], 0.0, 0.0
    for n in SIZES:
        p, se = exceeded(n)
        error = max(error, float(se.max()))
        relative = max(relative, float((se / p)[p < 0.1].max(initial=0.0)))
        texts = [f"{value:.6g}" for value in p]
        lines.append(f"        {n}: (")
        lines += [f"            {', '.join(texts[at : at + 8])}," for at in range(0, POINTS, 8)]
        lines.append("        ),")
        print(n, flush=True)
    text = HEAD.format(
        directions=DIRECTIONS, seed=SEED, points=POINTS, error=error, relative=relative, body="\n".join(lines)
    )
    target = Path(__file__).parents[2] / "adhesion_stats" / "statistics" / "grubbs_ends_levels.py"
    target.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
