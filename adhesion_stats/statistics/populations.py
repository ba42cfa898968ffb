"""What the assumption of normal values does to the level of a test: populations to draw from, and the share of samples
from them that a test flags.

Strengths are not normal. An outlier test at a nominal 5 % on the high side of ten lognormal values with a coefficient
of variation of 25 % flags 15 % of samples in which nothing is wrong. ``level_under`` says so for any test and
population.

Imports: numpy, scipy.special, scipy.optimize and this room. Must not import pandas, scipy.stats, or any other room.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import special

from adhesion_stats.statistics.checks import check_choice, check_level, check_positive, check_size
from adhesion_stats.statistics.tietjen_moore import SimulatedProbability

__all__ = ["Population", "Shape", "level_under", "weibull_shape"]

Values = NDArray[np.float64]
Shape = Literal["normal", "lognormal", "weibull"]

_CHUNK = 50_000  # samples simulated at a time; part of what a seed means


@dataclass(frozen=True, kw_only=True)
class Population:
    """A population of mean 1 to draw samples from.

    Attributes
    ----------
    shape : {"normal", "lognormal", "weibull"}
    cov : float
        Coefficient of variation of the sound part [-].
    weak_share : float
        Share of values that come from weak patches [-], 0 for none.
    weak_factor : float
        What a value in a weak patch is multiplied by [-].
    recording_step : float
        Step to which values are rounded, in units of the mean of the sound part; 0 for none.
    """

    shape: Shape
    cov: float
    weak_share: float
    weak_factor: float
    recording_step: float

    def __post_init__(self) -> None:
        """Refuse what is no population."""
        check_choice("shape", self.shape, among=get_args(Shape))
        check_positive("cov", self.cov, zero_allowed=False)
        if self.weak_share != 0.0:
            check_level("weak_share", self.weak_share)
        check_positive("weak_factor", self.weak_factor, zero_allowed=True)
        check_positive("recording_step", self.recording_step, zero_allowed=True)

    def draw(self, *, g: int, n: int, rng: np.random.Generator) -> Values:
        """(g, n) float64: g samples of n values each, ascending along the last axis."""
        if self.shape == "normal":
            x = 1.0 + self.cov * rng.standard_normal((g, n))
        elif self.shape == "lognormal":
            sigma = math.sqrt(math.log1p(self.cov * self.cov))
            x = np.exp(sigma * rng.standard_normal((g, n)) - 0.5 * sigma * sigma)
        else:
            k = weibull_shape(cov=self.cov)
            x = rng.weibull(k, (g, n)) / math.gamma(1.0 + 1.0 / k)
        if self.weak_share > 0.0:
            x = np.where(rng.random((g, n)) < self.weak_share, self.weak_factor * x, x)
        if self.recording_step > 0.0:
            x = np.round(x / self.recording_step) * self.recording_step
        return np.sort(x, axis=-1)


@lru_cache(maxsize=256)
def weibull_shape(*, cov: float) -> float:
    r"""Shape parameter of the Weibull distribution with the given coefficient of variation.

    Parameters
    ----------
    cov : float
        Coefficient of variation [-], 0.01 to 10.

    Returns
    -------
    float
        Shape [-].

    Raises
    ------
    InvalidSample
        If the coefficient is not positive and finite.

    Notes
    -----
    Root of :math:`\Gamma(1 + 2/k)/\Gamma(1 + 1/k)^2 = 1 + v^2`.

    Source: moments of the Weibull distribution.

    Examples
    --------
    A coefficient of 1 is the exponential distribution:

    >>> weibull_shape(cov=1.0)
    1.0
    """
    v = check_positive("cov", cov, zero_allowed=False)
    from scipy import optimize  # loads as long as all else together

    def excess(log_k: float) -> float:
        inverse = math.exp(-log_k)
        return float(special.gammaln(1.0 + 2.0 * inverse) - 2.0 * special.gammaln(1.0 + inverse)) - math.log1p(v * v)

    return math.exp(float(optimize.brentq(excess, math.log(0.15), math.log(500.0), xtol=1e-14)))


def level_under(
    *,
    flags: Callable[[Values], NDArray[np.bool_]],
    population: Population,
    n: int,
    samples: int,
    rng: np.random.Generator,
) -> SimulatedProbability:
    """Share of samples from a population that a test flags, by simulation.

    Parameters
    ----------
    flags : callable, (g, n) float64 -> (g,) bool
        The test: a function that takes a block and says which rows it flags.
    population : Population
    n : int
        Values per sample [-].
    samples : int
        Samples to simulate [-], 1000 or more.
    rng : numpy.random.Generator
        Source of random numbers; the same state gives the same result.

    Returns
    -------
    SimulatedProbability
        With its Monte-Carlo standard error.

    Raises
    ------
    InvalidSample
        Outside these ranges, or whatever the test raises.

    Notes
    -----
    Source: definition of a test's level; no table is used.

    Examples
    --------
    Ten lognormal values, coefficient of variation 25 %, high side at a nominal 5 %:

    >>> from adhesion_stats.statistics import grubbs
    >>> skewed = Population(shape="lognormal", cov=0.25, weak_share=0.0, weak_factor=1.0, recording_step=0.0)
    >>> found = level_under(
    ...     flags=lambda x: grubbs(x, alpha=0.05, sides="high", recording_step=0.0).flagged,
    ...     population=skewed, n=10, samples=100_000, rng=np.random.default_rng(1))
    >>> (round(found.value, 2), round(found.standard_error, 3))
    (0.15, 0.001)
    """
    size = check_size(n, at_least=1)
    wanted = check_size(samples, at_least=1000)
    count = 0
    for start in range(0, wanted, _CHUNK):
        block = population.draw(g=min(_CHUNK, wanted - start), n=size, rng=rng)
        count += int(np.count_nonzero(flags(block)))
    return SimulatedProbability.from_count(count, wanted)
