r"""Rules whose standard deviation is pooled over zones: the contract is the unit then, and no zone stands alone.

``Pool``           the zones that lend their spread
``pooled``         the criteria of a requirement that pool
``exact_pooled``   mean - k s_p >= L alone, of normal values that are all known: the mean of a zone is independent of
                   the pooled spread (``statistics.accepts_mean_less_pooled_sd``), one zone and all of them
``PooledDraws``    contracts drawn once; ``decided_pooled``: each of their zones, decided as real ones are

In a drawn contract each zone is decided with the bounds of the spread that its contract has: mean - k s at or above L
is mean at or above L of the values less k s, so every contract brings its own spread and one evaluation decides all.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeGuard

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.conditions import Spread
from adhesion_stats.acceptance.forms import condition, factor_of
from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.simulated import Draws, bounds_of, decided_on, strengths_of
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.operating import accepts_mean_less_pooled_sd
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CharacteristicAtLeast,
    MeanAtLeast,
    Requirement,
    criteria,
)
from adhesion_stats.terms.specification import Rounding

__all__ = ["Pool", "PooledDraws", "decided_pooled", "exact_pooled", "pooled", "shares_of"]

_MOST_DRAWN = 50_000_000
Values = NDArray[np.float64]
Truth = NDArray[np.bool_]


@dataclass(frozen=True)
class Pool:
    """The zones whose spread is pooled.

    Attributes
    ----------
    zones
        Zones of the rule that is looked at, each of as many values, 1 or more.
    others
        Numbers of values of further zones, which only lend their spread.
    """

    zones: int
    others: tuple[int, ...] = ()

    def degrees_of_freedom(self, n: int) -> int:
        """Of the pooled standard deviation, where the zones of the rule have n values each."""
        return self.zones * (n - 1) + sum(number - 1 for number in self.others if number > 1)


def pooled(requirement: Requirement) -> tuple[CharacteristicAtLeast, ...]:
    """The criteria of a requirement that pool the spread of zones."""
    return tuple(c for c in criteria(requirement) if _pools(c))


def _pools(criterion: object) -> TypeGuard[CharacteristicAtLeast]:
    return isinstance(criterion, CharacteristicAtLeast) and criterion.method == "pooled"


def _factor(criterion: CharacteristicAtLeast, n: int, pool: Pool) -> float:
    """The factor k under this pool.

    Raises
    ------
    WrongUsage
        If no zone of the pool has two values.
    """
    df = pool.degrees_of_freedom(n)
    k = None if df < 1 else factor_of(replace(criterion, pooled=(1.0, 1.0, df)), n)
    if k is None:
        raise WrongUsage(
            "the spread is pooled over zones of one value each, which have none: ask for two pulls or more"
        )
    return k


def exact_pooled(
    requirement: Requirement, *, n: int, assumed: Assumed, rounding: Rounding, pool: Pool
) -> Callable[[Values, float, int], Values] | None:
    """Return the probability that so many zones of the rule all conform, as ``at(means (g,) [MPa], cov, zones)``.

    None where no exact way is known. ``n``, ``assumed`` and ``rounding`` as in ``exact_way``.
    """
    means = assumed.of_means()
    alone = requirement if _pools(requirement) else None
    if alone is None or means is None or means.distribution != "normal" or rounding.record_to is not None:
        return None
    if not means.all_known or means.elsewhere(alone.question) > 0.0:
        return None
    k = _factor(alone, n, pool)
    asks = condition(MeanAtLeast(alone.key, alone.source, alone.question, alone.limit), n, rounding)
    assert isinstance(asks, Spread)
    limit, df = asks.own_at, pool.degrees_of_freedom(n)

    def at(mean: Values, cov: float, zones: int) -> Values:
        sd = cov * assumed.narrowed * mean
        return accepts_mean_less_pooled_sd(mean, limit=limit, sd=sd, n=n, k=k, degrees_of_freedom=df, zones=zones)

    return at


@dataclass(frozen=True, eq=False)
class PooledDraws:
    """Contracts drawn once: ``own`` (s * zones, n, m) holds the zones of the rule contract by contract, ``others``
    (s, n_i, m) each further zone.
    """

    own: Draws
    others: tuple[Draws, ...]
    pool: Pool

    @classmethod
    def of(cls, generator: np.random.Generator, assumed: Assumed, *, contracts: int, n: int, pool: Pool) -> PooledDraws:
        """Draw ``contracts`` contracts.

        Raises
        ------
        WrongUsage
            If they have more than fifty million pulls.
        """
        pulls = contracts * (pool.zones * n + sum(pool.others)) * assumed.per_measurement
        if pulls > _MOST_DRAWN:
            raise WrongUsage(
                f"the spread is pooled over {pool.zones + len(pool.others)} zones, and this rule has to be simulated: "
                f"that would take {pulls} pulls; risks are simulated for at most {_MOST_DRAWN}"
            )
        own = Draws.of(generator, assumed, zones=contracts * pool.zones, n=n)
        others = tuple(Draws.of(generator, assumed, zones=contracts, n=number) for number in pool.others)
        return cls(own, others, pool)


def decided_pooled(
    requirement: Requirement, draws: PooledDraws, *, mean_mpa: float, cov: float, assumed: Assumed, rounding: Rounding
) -> NDArray[np.int8]:
    """(s, zones) ``Outcome`` of each zone of the rule in each drawn contract, at one true mean [MPa]."""
    asked = pooled(requirement)
    names = {id(c): f"{c.question} less the pooled spread, {i}" for i, c in enumerate(asked)}
    on_views = _on_views(requirement, names)
    strength = strengths_of(on_views, draws.own, mean_mpa=mean_mpa, cov=cov, assumed=assumed, rounding=rounding)
    views: dict[str, tuple[Values, Values]] = {}
    n, zones = strength.shape[1], draws.pool.zones
    for criterion in asked:
        k, df = _factor(criterion, n, draws.pool), draws.pool.degrees_of_freedom(n)
        low, high = bounds_of(strength, draws.own, assumed, criterion.question)
        least, most = (total.reshape(-1, zones).sum(axis=1) for total in _squares(low, high))
        for other in draws.others:
            theirs = strengths_of(on_views, other, mean_mpa=mean_mpa, cov=cov, assumed=assumed, rounding=rounding)
            fewest, largest = _squares(*bounds_of(theirs, other, assumed, criterion.question))
            least, most = least + fewest, most + largest
        down, up = (np.repeat(k * np.sqrt(total / df), zones)[:, np.newaxis] for total in (most, least))
        known = np.isfinite(down)  # else the spread has no upper bound, and the value no lower one
        views[names[id(criterion)]] = (np.where(known, low - np.where(known, down, 0.0), 0.0), high - up)
    found = decided_on(on_views, strength, draws.own, assumed=assumed, rounding=rounding, views=views)
    return found.reshape(-1, zones)


def _on_views(part: Requirement, names: dict[int, str]) -> Requirement:
    """The requirement with each pooled criterion as one on the mean of its values less k s."""
    if isinstance(part, AllOf | AnyOf):
        return replace(part, parts=tuple(_on_views(p, names) for p in part.parts))
    if id(part) not in names or not isinstance(part, CharacteristicAtLeast):
        return part
    return MeanAtLeast(part.key, part.source, names[id(part)], part.limit)


def _squares(low: Values, high: Values) -> tuple[Values, Values]:
    """Least and greatest sum of squares about their mean of each row's values, as ``acceptance.pooling`` bounds it."""
    exact = low == high
    number = np.maximum(exact.sum(axis=1), 1)[:, np.newaxis]
    mean = np.where(exact, low, 0.0).sum(axis=1, keepdims=True) / number
    least = np.where(exact, np.square(low - mean), 0.0).sum(axis=1)
    if exact.all():
        return least, least
    c = np.mean(0.5 * (low + high), axis=1, keepdims=True)
    with np.errstate(invalid="ignore"):
        widest = np.maximum(np.square(low - c), np.square(high - c)).sum(axis=1)
    most = np.where(exact.all(axis=1), least, np.where(np.isinf(high).any(axis=1), np.inf, widest))
    return least, most


def shares_of(decisions: NDArray[np.int8]) -> tuple[float, float, float]:
    """Shares of rows (s, zones) of decisions of which all zones conform, some does not, and neither."""
    conforms = int(np.equal(decisions, Outcome.CONFORMS).all(axis=1).sum())
    fails = int(np.equal(decisions, Outcome.DOES_NOT_CONFORM).any(axis=1).sum())
    rows = decisions.shape[0]
    return conforms / rows, fails / rows, (rows - conforms - fails) / rows
