"""What a rule risks beyond one zone: other numbers of pulls, all zones of a contract, tests made again, zones divided
after the results, another rule.

Imports: numpy, this room, statistics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.outcomes import Outcome
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.characteristic import (
    SIMULATIONS,
    OperatingCharacteristic,
    Point,
    Rule,
    characteristic_of,
    rule_of,
)
from adhesion_stats.acceptance.risk.pooled import Pool
from adhesion_stats.acceptance.risk.simulated import Draws, decided, standard_error
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.operating import ThreeWay, tries, whole_contract
from adhesion_stats.terms.criteria import Requirement
from adhesion_stats.terms.specification import Rounding

__all__ = [
    "Comparison",
    "Regrouping",
    "Retest",
    "by_number_of_pulls",
    "compare",
    "contract_risk",
    "regrouping",
    "retest",
]

Values = NDArray[np.float64]


def by_number_of_pulls(
    requirement: Requirement,
    *,
    pulls: Sequence[int],
    mean_mpa: float,
    cov: float,
    assumed: Assumed,
    rounding: Rounding,
    generator: np.random.Generator | None = None,
    simulations: int = SIMULATIONS,
    pool: Pool | None = None,
) -> tuple[Point, ...]:
    """Return what the rule makes of one true quality, for each number of pulls.

    A fixed floor under single values gets stricter with every pull more; a limit on the mean gets surer.

    Parameters
    ----------
    pulls
        Numbers of pulls, each 1 or greater.
    mean_mpa, cov
        True mean [MPa] and coefficient of variation [-].
    generator, simulations
        For rules without an exact way.
    pool
        The zones over which a spread is pooled, where one is.
    """
    return tuple(
        rule_of(
            requirement,
            n=n,
            assumed=assumed,
            rounding=rounding,
            generator=generator,
            simulations=simulations,
            pool=pool,
        ).point(mean_mpa, cov)
        for n in pulls
    )


def contract_risk(zone: Point, *, zones: int) -> Point:
    """Return the outcomes of a contract of several zones of the same quality (``statistics.whole_contract``)."""
    one = ThreeWay(*(np.array([p]) for p in (zone.conforms, zone.does_not_conform, zone.undetermined)))
    whole = whole_contract(one, zones=zones)
    return replace(
        zone,
        conforms=float(whole.conforms[0]),
        does_not_conform=float(whole.does_not_conform[0]),
        undetermined=float(whole.undetermined[0]),
    )


@dataclass(frozen=True, slots=True)
class Retest:
    """Probability that a zone ends as conforming [-].

    Attributes
    ----------
    once
        At the first try.
    replacing
        Where a zone that does not conform at once is tested again from the start, and the new pulls replace the old.
    combined
        Where the pulls of all tries count together; None where this was not asked for.
    combined_error
        Its standard error; 0 where not asked for.
    most_tries
        Tries allowed in all.
    """

    once: float
    replacing: float
    combined: float | None
    combined_error: float
    most_tries: int


def retest(
    rule: Rule,
    *,
    mean_mpa: float,
    cov: float,
    most_tries: int,
    generator: np.random.Generator | None = None,
    simulations: int = SIMULATIONS,
) -> Retest:
    """Return how far a second try (and a third) lifts the probability that one and the same zone conforms.

    Parameters
    ----------
    rule
        From ``rule_of``.
    mean_mpa, cov
        True mean [MPa] and coefficient of variation [-]; nothing is mended between the tries.
    most_tries
        Tries in all, 1 or greater.
    generator, simulations
        For the pulls of all tries together, which are simulated; None: not computed.
    """
    _alone(rule)
    if most_tries < 1:
        raise WrongUsage(f"expected at least one try; got {most_tries}")
    once = rule.point(mean_mpa, cov).conforms
    replacing = tries(np.array([once]), most=most_tries).item()
    if generator is None:
        return Retest(once, replacing, None, 0.0, most_tries)
    draws = Draws.of(generator, rule.assumed, zones=simulations, n=rule.n * most_tries)
    ever = np.zeros(simulations, dtype=np.bool_)
    for used in range(rule.n, rule.n * most_tries + 1, rule.n):
        ever |= _conforms(rule, draws.columns(slice(0, used)), mean_mpa, cov)
    combined = np.array([ever.mean()])
    return Retest(once, replacing, combined.item(), standard_error(combined, simulations).item(), most_tries)


@dataclass(frozen=True, slots=True)
class Regrouping:
    """What dividing a zone after the results does to it.

    Attributes
    ----------
    conforms
        Probability that the zone conforms as it was laid out [-].
    a_part_conforms
        That it does, or that some line between neighbouring pulls leaves a part that conforms [-].
    chosen_conform
        That it does, or that the highest pulls alone, taken out of the zone, conform [-].
    standard_error
        The largest of the three.
    least_pulls
        Fewest pulls that a part may have.
    """

    conforms: float
    a_part_conforms: float
    chosen_conform: float
    standard_error: float
    least_pulls: int


def regrouping(
    rule: Rule,
    *,
    mean_mpa: float,
    cov: float,
    least_pulls: int,
    generator: np.random.Generator,
    simulations: int = SIMULATIONS,
) -> Regrouping:
    """Return how much a zone gains where its border may be drawn once the results are known.

    The pulls are independent of their place: whatever a new border gains, it gains by choice. Simulated.

    Parameters
    ----------
    rule
        From ``rule_of``.
    mean_mpa, cov
        True mean [MPa] and coefficient of variation [-], the same all over the zone.
    least_pulls
        Fewest pulls of a part, 1 to n - 1. Parts have any number of pulls from there up.
    """
    _alone(rule)
    if not 1 <= least_pulls < rule.n:
        raise WrongUsage(f"expected parts of at least 1 and fewer than the zone's {rule.n} pulls; got {least_pulls}")
    draws = Draws.of(generator, rule.assumed, zones=simulations, n=rule.n)
    whole = _conforms(rule, draws, mean_mpa, cov)
    part, chosen = whole.copy(), whole.copy()
    highest = draws.highest_first()
    for size in range(least_pulls, rule.n):
        for places in (slice(0, size), slice(rule.n - size, rule.n)):
            part |= _conforms(rule, draws.columns(places), mean_mpa, cov)
        chosen |= _conforms(rule, highest.columns(slice(0, size)), mean_mpa, cov)
    shares = np.array([whole.mean(), part.mean(), (chosen | part).mean()])
    error = standard_error(shares, simulations).max().item()
    return Regrouping(float(shares[0]), float(shares[1]), float(shares[2]), error, least_pulls)


def _alone(rule: Rule) -> None:
    """A zone whose spread is pooled has neither a second try nor a border of its own."""
    if rule.pool is not None:
        raise WrongUsage("the spread of this rule is pooled over zones: one of them can't be looked at alone")


def _conforms(rule: Rule, draws: Draws, mean_mpa: float, cov: float) -> NDArray[np.bool_]:
    found = decided(rule.requirement, draws, mean_mpa=mean_mpa, cov=cov, assumed=rule.assumed, rounding=rule.rounding)
    return np.equal(found, Outcome.CONFORMS)


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two rules on the same grid of true means.

    Attributes
    ----------
    first, second
        Their operating characteristics.
    more_often : (g,) float64
        Probability that the second conforms minus that of the first [-].
    """

    first: OperatingCharacteristic
    second: OperatingCharacteristic

    @property
    def more_often(self) -> Values:
        """Probability that the second rule accepts, minus that of the first, at each true mean [-]."""
        return self.second.conforms - self.first.conforms


def compare(first: Rule, second: Rule, *, mean_mpa: Values, cov: float) -> Comparison:
    """Return two rules side by side on the same true means (g,) [MPa], at one coefficient of variation [-]."""
    means = np.asarray(mean_mpa, dtype=np.float64)
    covs = np.full(means.shape, cov)
    return Comparison(characteristic_of(first, means, covs), characteristic_of(second, means, covs))
