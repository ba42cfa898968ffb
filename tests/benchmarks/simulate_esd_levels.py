"""Writes adhesion_stats/statistics/esd_levels.py: levels at which the generalised extreme studentised deviate test has
the level asked for.

For each normal sample the smallest of the steps' own p-values (t formula, as in the published critical values) is the
level from which on the sample is flagged. Its quantile at alpha, over the samples, is the calibrated level.

    python -m tests.benchmarks.simulate_esd_levels          # 1,000,000 samples for each n, seed 20260101
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import special

SAMPLES, CHUNK, SEED = 1_000_000, 100_000, 20260101
LARGEST_N, LARGEST_R = 50, 10
NOMINAL = (0.005, 0.01, 0.02, 0.05, 0.10, 0.20)

HEAD = '''"""Levels that give the generalised extreme studentised deviate test its level: generated, not edited.

Written by tests/benchmarks/simulate_esd_levels.py, {samples:,} normal samples for each n, seed {seed}.
``LEVELS[n][r - 1]`` holds, for each level of ``NOMINAL``, the level to put into the published formula. Relative
Monte-Carlo error (one standard error) of the true level at an entry:
{errors}.

Imports: nothing but types. Must not import any other room.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["LARGEST_N", "LARGEST_R", "LEVELS", "NOMINAL"]

LARGEST_N = {largest_n}
LARGEST_R = {largest_r}
NOMINAL: tuple[float, ...] = {nominal}

LEVELS: Mapping[int, tuple[tuple[float, ...], ...]] = MappingProxyType(
    {{
{body}
    }}
)
'''


def flagged_from(x: NDArray[np.float64], most: int) -> NDArray[np.float64]:
    """(g, most): for r = 1 ... most the level from which on a row has a flag. Plain and apart from the package."""
    n = x.shape[1]
    rows = np.arange(x.shape[0])
    left = x - x.mean(axis=1, keepdims=True)
    found = []
    for m in range(n, n - most, -1):
        deviation = left - left.mean(axis=1, keepdims=True)
        squares = np.square(deviation).sum(axis=1)
        high = deviation[:, -1] > -deviation[:, 0]
        g = np.where(high, deviation[:, -1], -deviation[:, 0]) / np.sqrt(squares / (m - 1))
        room = np.maximum((m - 1) ** 2 - m * g * g, 1e-300)
        found.append(2.0 * m * special.stdtr(m - 2, -g * np.sqrt(m * (m - 2) / room)))
        left = np.where(high[:, np.newaxis], left[rows, :-1], left[rows, 1:])
    return np.minimum.accumulate(np.stack(found, axis=-1), axis=-1)


def levels(n: int) -> list[list[float]]:
    """Calibrated levels of one n: a list for each r, in the order of NOMINAL."""
    rng = np.random.default_rng([SEED, n])
    most = min(n // 2, LARGEST_R)
    parts = [
        flagged_from(np.sort(rng.standard_normal((CHUNK, n)), axis=-1), most).astype(np.float32)
        for _ in range(SAMPLES // CHUNK)
    ]
    quantiles = np.quantile(np.concatenate(parts), NOMINAL, axis=0)
    return [[float(f"{value:.5g}") for value in column] for column in quantiles.T]


def main() -> None:
    """Simulate and write the module."""
    lines = []
    for n in range(3, LARGEST_N + 1):
        lines.append(f"        {n}: (")
        lines += [f"            ({', '.join(map(str, row))})," for row in levels(n)]
        lines.append("        ),")
        print(n, flush=True)
    errors = ", ".join(f"{100 * ((1 - a) / a / SAMPLES) ** 0.5:.2f} % at {a}" for a in NOMINAL)
    text = HEAD.format(
        samples=SAMPLES,
        seed=SEED,
        errors=errors,
        largest_n=LARGEST_N,
        largest_r=LARGEST_R,
        nominal=NOMINAL,
        body="\n".join(lines),
    )
    target = Path(__file__).parents[2] / "adhesion_stats" / "statistics" / "esd_levels.py"
    target.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
