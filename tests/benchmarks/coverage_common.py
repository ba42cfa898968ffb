"""What both halves of the coverage study share: populations with what is true of them, and the form of a row."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from adhesion_stats import statistics as room

SIZES = tuple(range(3, 31))
SOME_SIZES = (3, 4, 5, 7, 10, 15, 20, 30)
FEW_SIZES = (5, 10, 20)
REPLICATES = 100_000
COLUMNS = ("bound", "population", "bounded", "n", "claim", "kind", "replicates", "coverage", "standard_error")

Values = NDArray[np.float64]
Draw = Callable[[np.random.Generator, tuple[int, int]], Values]
Row = tuple[str, str, str, int, float, str, int, float, float]

_LOG_SD = math.sqrt(math.log(1.0 + 0.25**2))


@dataclass(frozen=True)
class Population:
    """A population and what is true of it."""

    name: str
    draw: Draw
    mean: float
    sd: float
    below: Callable[[Values], Values]
    fractile: Callable[[float], float]
    step: float = 0.0


def _patches_below(x: Values) -> Values:
    share: Values = 0.85 * special.ndtr((x - 1.0) / 0.15) + 0.15 * special.ndtr((x - 0.5) / 0.15)
    return share


def _patches(share: float) -> float:
    return float(optimize.brentq(lambda x: float(_patches_below(np.asarray(x))) - share, -2.0, 3.0, xtol=1e-14))


def _normal(name: str, mean: float, sd: float, step: float = 0.0) -> Population:
    return Population(
        name,
        lambda g, s: g.normal(mean, sd, s),
        mean,
        sd,
        lambda x: np.asarray(special.ndtr((x - mean) / sd)),
        lambda p: mean + sd * float(special.ndtri(p)),
        step,
    )


POPULATIONS = (
    _normal("normal", 1.0, 0.2),
    Population(
        "lognormal",
        lambda g, s: np.exp(g.normal(0.0, _LOG_SD, s)),
        math.exp(0.5 * _LOG_SD**2),
        0.25 * math.exp(0.5 * _LOG_SD**2),
        lambda x: np.asarray(special.ndtr(np.log(np.maximum(x, 1e-300)) / _LOG_SD)),
        lambda p: math.exp(_LOG_SD * float(special.ndtri(p))),
    ),
    Population(
        "Weibull",
        lambda g, s: g.weibull(4.0, s),
        math.gamma(1.25),
        math.sqrt(math.gamma(1.5) - math.gamma(1.25) ** 2),
        lambda x: -np.expm1(-(np.maximum(x, 0.0) ** 4.0)),
        lambda p: (-math.log1p(-p)) ** 0.25,
    ),
    Population(
        "weak patches",
        lambda g, s: g.normal(1.0, 0.15, s) - 0.5 * (g.random(s) < 0.15),
        1.0 - 0.075,
        math.sqrt(0.15**2 + 0.25 * 0.15 * 0.85),
        _patches_below,
        _patches,
    ),
    _normal("steps of 0.1", 2.5, 0.3, step=0.1),
)
NUMBER = {p.name: number for number, p in enumerate(POPULATIONS)}


def row(bound: str, population: str, bounded: str, n: int, claim: float, kind: str, hits: NDArray[np.bool_]) -> Row:
    """One line of the result."""
    share = float(np.mean(hits))
    error = math.sqrt(claim * (1.0 - claim) / hits.size)  # of the share where the claim is true
    return bound, population, bounded, n, claim, kind, hits.size, round(share, 5), round(error, 5)


def seeds(part: int, population: Population, n: int, again: bool) -> list[int]:
    """What a row's random numbers start from; ``again`` for the samples that decide after a surprise."""
    found = [part, NUMBER[population.name], n]
    return [*found, 1] if again else found


def by_chance(p: Population, values: Values, rng: np.random.Generator) -> tuple[Values, Values]:
    """Lower and upper bounds of values of which 20 % exceed a bound drawn independently of them."""
    bound = rng.normal(p.mean + 0.8416 * math.sqrt(2.0) * p.sd, p.sd, values.shape)
    return np.minimum(values, bound), np.where(values <= bound, values, np.inf)


def rounded(p: Population, values: Values) -> Values:
    """Values as recorded."""
    return np.round(values / p.step) * p.step if p.step else values


@dataclass(frozen=True, eq=False)
class Case:
    """Samples of one population and size, ascending; three values of the same population to come for each."""

    p: Population
    x: Values
    future: Values
    bounded: bool

    @property
    def n(self) -> int:
        """Values in a sample."""
        return int(self.x.shape[1])

    def kind(self, population: str) -> str:
        """Kind of a bound that is exact in the named population."""
        return "exact" if self.p.name == population and not self.bounded else "approximate"

    def one(self, bound: str, claim: float, kind: str, hits: NDArray[np.bool_]) -> Row:
        """A row of these samples."""
        return row(bound, self.p.name, "20 % taken as values" if self.bounded else "none", self.n, claim, kind, hits)


def surprising(found: Row) -> bool:
    """Whether an exact row lies beyond 3 standard errors of its claim."""
    _, _, _, _, claim, kind, replicates, coverage, _ = found
    return kind == "exact" and abs(coverage - claim) > 3.0 * math.sqrt(claim * (1.0 - claim) / replicates)


def fitted_stacks(low: Values, high: Values) -> list[room.Stack]:
    """Samples cut into stacks, those that no distribution can be fitted to left out."""
    g, n = low.shape
    found = []
    for stack in room.stacks(np.repeat(np.arange(g), n), low.ravel(), high.ravel()):
        fits = room.fit_trouble(stack) == room.FITS
        if fits.any():
            found.append(room.Stack(stack.group[fits], stack.low[fits], stack.high[fits]))
    return found
