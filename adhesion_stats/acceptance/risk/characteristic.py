"""The operating characteristic of a requirement: probability of each outcome against the true quality of a zone.

Imports: numpy, this room, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.risk.assumed import Assumed, limits_mpa, share_limit, strengths_alone
from adhesion_stats.acceptance.risk.exact import How, exact_way
from adhesion_stats.acceptance.risk.pooled import (
    Pool,
    PooledDraws,
    decided_pooled,
    exact_pooled,
    pooled,
    shares_of,
)
from adhesion_stats.acceptance.risk.simulated import Draws, simulated, standard_error
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.operating import ThreeWay, quality_at, whole_contract
from adhesion_stats.statistics.strengths import MOST_COV, Distribution, Ratio
from adhesion_stats.terms.criteria import Criterion, Requirement
from adhesion_stats.terms.specification import Rounding

__all__ = [
    "SIMULATIONS",
    "OperatingCharacteristic",
    "Point",
    "Rule",
    "characteristic_of",
    "mean_where",
    "means_for",
    "operating_characteristic",
    "rule_of",
]

Values = NDArray[np.float64]

SIMULATIONS = 20_000
_UNROUNDED = Rounding()
_SEARCH_FROM, _SEARCH_TO = 0.05, 40.0  # true means searched, in units of the lowest and highest limit
_COARSE = 48
_LEAST_CONTRACTS = 1000


@dataclass(frozen=True, slots=True)
class Point:
    """A true quality and what the rule makes of it: mean [MPa], share below the limit, probability of each outcome."""

    mean_mpa: float
    share_below: float
    conforms: float
    does_not_conform: float
    undetermined: float


@dataclass(frozen=True, eq=False)
class Rule:
    """A requirement on n pulls under stated assumptions, ready to be asked for its probabilities.

    Attributes
    ----------
    requirement, left_out
        What is computed, and the criteria that were left out or changed because nothing is assumed of what breaks.
    n
        Values of a zone: pulls, or measurements of ``assumed.per_measurement`` pulls each.
    assumed, rounding
        As given.
    how
        Which way: a code of ``exact``, or "simulated".
    simulations
        Zones drawn (contracts, where a spread is pooled over their zones); 0 where the way is exact.
    pool
        The zones over which the rule pools a spread; None where each zone stands alone.
    """

    requirement: Requirement
    left_out: tuple[Criterion, ...]
    n: int
    assumed: Assumed
    rounding: Rounding
    how: How
    simulations: int
    draws: Draws | PooledDraws | None
    pool: Pool | None = None

    @property
    def pulls(self) -> int:
        """Pulls of a zone."""
        return self.n * self.assumed.per_measurement

    @property
    def limit_mpa(self) -> float:
        """The limit whose true share below is told beside a mean [MPa]."""
        return share_limit(self.requirement)

    def at(self, mean_mpa: Values, cov: float) -> ThreeWay:
        """Return the probability of each outcome at each true mean (g,) [MPa], at one coefficient of variation [-]."""
        means = np.asarray(mean_mpa, dtype=np.float64)
        if self.pool is not None:
            return self._pooled(means, cov, whole=False)
        assert not isinstance(self.draws, PooledDraws)  # those belong to a pool
        exact = exact_way(self.requirement, n=self.n, assumed=self.assumed, rounding=self.rounding)
        if self.draws is None:
            assert exact is not None  # rule_of draws zones for every other rule
            return exact.at(means, cov)
        return simulated(
            self.requirement, self.draws, mean_mpa=means, cov=cov, assumed=self.assumed, rounding=self.rounding
        )

    def whole_at(self, mean_mpa: Values, cov: float, *, zones: int) -> ThreeWay:
        """Return the probability of each outcome of so many zones of this quality together.

        Independent zones, or those of the pool: they share their spread, and ``zones`` is their number.
        """
        means = np.asarray(mean_mpa, dtype=np.float64)
        if self.pool is None:
            return whole_contract(self.at(means, cov), zones=zones)
        if zones != self.pool.zones:
            raise WrongUsage(f"the spread is pooled over {self.pool.zones} zones of this rule; asked were {zones}")
        return self._pooled(means, cov, whole=True)

    def _pooled(self, means: Values, cov: float, *, whole: bool) -> ThreeWay:
        """One zone of the pool, or all of them together."""
        assert self.pool is not None
        if self.draws is None:
            exact = exact_pooled(
                self.requirement, n=self.n, assumed=self.assumed, rounding=self.rounding, pool=self.pool
            )
            assert exact is not None  # rule_of draws contracts for every other rule
            accepted = exact(means, cov, self.pool.zones if whole else 1)
            return ThreeWay(accepted, 1.0 - accepted, np.zeros_like(accepted))
        assert isinstance(self.draws, PooledDraws)
        shares = np.empty((3, means.size))
        for i, mean in enumerate(means.tolist()):
            found = decided_pooled(
                self.requirement, self.draws, mean_mpa=mean, cov=cov, assumed=self.assumed, rounding=self.rounding
            )
            shares[:, i] = shares_of(found if whole else found.reshape(-1, 1))
        return ThreeWay(shares[0], shares[1], shares[2])

    def point(self, mean_mpa: float, cov: float, *, zones: int | None = None) -> Point:
        """Return what the rule makes of one true mean [MPa]; of so many zones together where ``zones`` is given."""
        at = np.array([mean_mpa])
        found = self.at(at, cov) if zones is None else self.whole_at(at, cov, zones=zones)
        return Point(
            mean_mpa,
            self.share_below(np.array([mean_mpa]), cov).item(),
            float(found.conforms[0]),
            float(found.does_not_conform[0]),
            float(found.undetermined[0]),
        )

    def share_below(self, mean_mpa: Values, cov: float) -> Values:
        """Return the true share of single strengths below ``limit_mpa`` at each true mean [-]."""
        return Ratio(self.assumed.distribution, cov).share_below(self.limit_mpa / np.asarray(mean_mpa))

    def mean_where_accepted(self, probabilities: Sequence[float], cov: float) -> Values:
        """Return the true means [MPa] at which a zone conforms with these probabilities; ``nan`` where there is none.

        Sought between a twentieth of the lowest limit and forty times the highest one.
        """
        return mean_where(
            lambda mean: self.at(mean, cov).conforms, probabilities, limits_mpa(self.requirement),
            coarse=self.draws is not None,
        )  # fmt: skip


def mean_where(
    accepted: Callable[[Values], Values], probabilities: Sequence[float], limits: Sequence[float], *, coarse: bool
) -> Values:
    """The true means [MPa] at which ``accepted`` (means (g,) to probabilities (g,)) comes to these probabilities."""
    if not limits:
        return np.full(len(probabilities), math.nan)
    return quality_at(
        accepted,
        np.array(probabilities, dtype=np.float64),
        low=_SEARCH_FROM * min(limits),
        high=_SEARCH_TO * max(limits),
        relative=1e-3 if coarse else 1e-6,
    )


def rule_of(
    requirement: Requirement,
    *,
    n: int,
    assumed: Assumed,
    rounding: Rounding = _UNROUNDED,
    generator: np.random.Generator | None = None,
    simulations: int = SIMULATIONS,
    simulate: bool = False,
    pool: Pool | None = None,
) -> Rule:
    """Return a requirement ready to be asked; arguments as in ``operating_characteristic``.

    ``pool``: the zones over which a criterion pools its spread; needed where one does. Of pooled rules ``simulations``
    are zones too, so fewer contracts are drawn (1000 at least).
    """
    if n < 1:
        raise WrongUsage(f"expected at least one pull in a zone; got n = {n}")
    kept, left_out = (requirement, ()) if assumed.broke else strengths_alone(requirement)
    pool = pool if pooled(kept) else None
    if pool is None and pooled(kept):
        raise WrongUsage("the rule pools the spread of several zones: say how many they are (pool)")
    how: How | None = None
    if pool is not None:
        exact_of_pool = exact_pooled(kept, n=n, assumed=assumed, rounding=rounding, pool=pool)
        how = None if simulate or exact_of_pool is None else "mean less pooled sd"
    else:
        exact = None if simulate else exact_way(kept, n=n, assumed=assumed, rounding=rounding)
        how = None if exact is None else exact.how
    if how is not None:
        return Rule(kept, left_out, n, assumed, rounding, how, 0, None, pool)
    if generator is None:
        raise WrongUsage(
            "no exact way is known for this rule, so zones have to be simulated: give a generator, such as "
            "numpy.random.default_rng(1)"
        )
    if simulations < 1:
        raise WrongUsage(f"expected at least one simulated zone; got {simulations}")
    if pool is not None:
        contracts = max(_LEAST_CONTRACTS, simulations // pool.zones)
        drawn = PooledDraws.of(generator, assumed, contracts=contracts, n=n, pool=pool)
        return Rule(kept, left_out, n, assumed, rounding, "simulated", contracts, drawn, pool)
    draws = Draws.of(generator, assumed, zones=simulations, n=n)
    return Rule(kept, left_out, n, assumed, rounding, "simulated", simulations, draws)


@dataclass(frozen=True, eq=False)
class OperatingCharacteristic:
    """Probability of each outcome against the true quality of a zone.

    Attributes
    ----------
    rule : Rule
        What was asked, on what assumptions, and how it was computed.
    mean_mpa : (g,) float64
        True means [MPa].
    cov : (g,) float64
        True coefficients of variation [-].
    limit_mpa : float
        The limit that ``share_below`` is about [MPa].
    share_below : (g,) float64
        True share of strengths below it [-].
    conforms, does_not_conform, undetermined : (g,) float64
        Probabilities [-]; they sum to 1.
    standard_error : (g,) float64
        Largest standard error of the three [-]; 0 where computed.
    """

    rule: Rule
    mean_mpa: Values
    cov: Values
    limit_mpa: float
    share_below: Values
    conforms: Values
    does_not_conform: Values
    undetermined: Values
    standard_error: Values

    def __len__(self) -> int:
        return int(self.mean_mpa.size)

    @property
    def n(self) -> int:
        """Values of a zone."""
        return self.rule.n

    @property
    def how(self) -> How:
        """Which way the probabilities were found."""
        return self.rule.how


def operating_characteristic(
    requirement: Requirement,
    *,
    n: int,
    mean_mpa: Values,
    cov: float | Values,
    distribution: Distribution = "normal",
    glue_share: float = 0.0,
    lost_share: float = 0.0,
    ceiling_mpa: float = math.inf,
    broke: tuple[tuple[str, float], ...] = (),
    per_measurement: int = 1,
    between: float | None = None,
    rounding: Rounding = _UNROUNDED,
    generator: np.random.Generator | None = None,
    simulations: int = SIMULATIONS,
    simulate: bool = False,
) -> OperatingCharacteristic:
    """Return the probability that a zone conforms, does not conform, or stays undetermined, against its true quality.

    Parameters
    ----------
    requirement : Requirement
        What a specification asks. Without ``broke``, what it asks of the failure is left out (``rule.left_out``).
    n : int
        Values of the zone, each a pull or the mean of a measurement; all of them are made.
    mean_mpa : (g,) float64
        True means [MPa], above zero.
    cov : float or (g,) float64
        True coefficient of variation of single pulls [-].
    distribution : {"normal", "lognormal", "weibull"}
        Distribution of the strengths; normal is the usual assumption of published rules, not a finding.
    glue_share, lost_share : float
        Shares of pulls that are "at least" their value, and that give none [-]; independent of strength.
    ceiling_mpa : float
        Greatest value that an unknown one may have [MPa].
    broke : pairs of failure code and share [-]
        Which share of the pulls that give their value breaks wholly in which layer or interface, independent of
        strength. Empty: what broke is left out of the rule.
    per_measurement, between
        Pulls of a measurement, and the share of their variance that lies between measurements [-]; as in ``Assumed``.
    rounding : Rounding
        How values are compared with limits.
    generator, simulations
        For rules without an exact way: source of random numbers, and zones drawn.
    simulate : bool
        Simulate although an exact way is known (as a check of it).

    Returns
    -------
    OperatingCharacteristic

    Raises
    ------
    WrongUsage
        If the rule asks nothing of strengths, shares or means are out of range, or zones have to be simulated and
        there is no generator.

    Notes
    -----
    Pulls are taken as independent. Pulls of one zone that lie close together are not: true risks are then larger than
    those given here.

    Examples
    --------
    Eight of twelve pulls at 0.30 MPa or more, in a zone of which a quarter would not reach it.

    >>> from adhesion_stats.terms.criteria import CountAtLeast, Limit
    >>> rule = CountAtLeast("1", "", "pull-off", Limit("0.30 MPa", 0.3, "MPa", 2, 0.3), 8, 12)
    >>> mean = 0.3 / (1.0 - 0.25 * 0.6744898)
    >>> oc = operating_characteristic(rule, n=12, mean_mpa=np.array([mean]), cov=0.25)
    >>> oc.how, round(float(oc.share_below[0]), 3), round(float(oc.conforms[0]), 3)
    ('count', 0.25, 0.842)
    """
    means, covs = _grid(mean_mpa, cov)
    assumed = Assumed(
        distribution=distribution,
        glue_share=glue_share,
        lost_share=lost_share,
        ceiling_mpa=ceiling_mpa,
        broke=broke,
        per_measurement=per_measurement,
        between=between,
    )
    rule = rule_of(
        requirement, n=n, assumed=assumed, rounding=rounding, generator=generator, simulations=simulations,
        simulate=simulate,
    )  # fmt: skip
    return characteristic_of(rule, means, covs)


def characteristic_of(rule: Rule, mean_mpa: Values, cov: Values) -> OperatingCharacteristic:
    """Return the operating characteristic of a rule on a grid (g,) of means [MPa] and coefficients of variation."""
    shares = np.empty((3, mean_mpa.size))
    below = np.empty(mean_mpa.size)
    for one in np.unique(cov).tolist():
        here = cov == one
        found = rule.at(mean_mpa[here], one)
        shares[:, here] = np.stack([found.conforms, found.does_not_conform, found.undetermined])
        below[here] = rule.share_below(mean_mpa[here], one)
    error = np.zeros(mean_mpa.size)
    if rule.simulations:
        error = standard_error(shares, rule.simulations).max(axis=0)
    return OperatingCharacteristic(rule, mean_mpa, cov, rule.limit_mpa, below, shares[0], shares[1], shares[2], error)


def means_for(rule: Rule, cov: float, *, points: int) -> Values:
    """Return evenly spaced true means (points,) [MPa] from where a zone hardly ever conforms to where most do.

    From where one in a thousand conforms to where 99 in a hundred do; where a rule never gets so far, up to three
    times its highest limit.
    """
    limits = limits_mpa(rule.requirement)
    if not limits:
        raise WrongUsage("no limit of this rule is a strength; give the true means yourself")
    coarse = np.geomspace(_SEARCH_FROM * min(limits), _SEARCH_TO * max(limits), _COARSE)
    accepted = rule.at(coarse, cov).conforms
    low = coarse[max(0, int(np.searchsorted(np.maximum.accumulate(accepted), 0.001)) - 1)]
    reached = np.flatnonzero(accepted >= 0.99)
    high = coarse[reached[0]] if reached.size else 3.0 * max(limits)
    return np.linspace(min(low, 0.9 * high), high, points)


def _grid(mean_mpa: Values, cov: float | Values) -> tuple[Values, Values]:
    means = np.atleast_1d(np.asarray(mean_mpa, dtype=np.float64))
    covs = np.broadcast_to(np.asarray(cov, dtype=np.float64), means.shape) if np.ndim(cov) == 0 else np.asarray(cov)
    wrong = []
    if means.ndim != 1 or not bool(((means > 0.0) & np.isfinite(means)).all()):
        wrong.append("expected true means above zero [MPa], a list of one dimension")
    if covs.shape != means.shape:
        wrong.append(f"expected one coefficient of variation, or one for each of {means.size} means; got {covs.shape}")
    elif not bool(((covs > 0.0) & (covs <= MOST_COV)).all()):
        wrong.append(f"expected coefficients of variation above 0 and at most {MOST_COV} (20 % is 0.20)")
    if wrong:
        raise WrongUsage("; ".join(wrong))
    return means, covs.astype(np.float64)
