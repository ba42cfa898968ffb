"""What is assumed of a zone when the risk of a rule is computed, and which part of the rule the risk is about.

``Assumed``           distribution of the strengths, and how many pulls are known within bounds only
``strengths_alone``   a requirement without its criteria on failure composition
``share_limit``       the limit whose true share below is told beside a true mean

Imports: numpy, errors, terms, statistics.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import get_args

from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.strengths import Distribution
from adhesion_stats.terms.criteria import (
    PULL_OFF,
    AllOf,
    AnyOf,
    AreaCriterion,
    CountAtLeast,
    Criterion,
    MeanAtLeast,
    Requirement,
    SmallestAtLeast,
    criteria,
    depends_on_failure,
    limits,
)

__all__ = ["Assumed", "limits_mpa", "share_limit", "strengths_alone"]


_SUM = 1e-9


@dataclass(frozen=True, kw_only=True)
class Assumed:
    """What is assumed of the pulls of a zone: independent, of one distribution.

    Attributes
    ----------
    distribution : {"normal", "lognormal", "weibull"}
    glue_share : float
        Share of pulls that break in the dolly adhesive and are then "at least" their value [-]; independent of
        strength.
    lost_share : float
        Share of pulls that give no value [-]; independent of strength.
    ceiling_mpa : float
        The greatest value that an unknown one may have [MPa]; ``inf`` where none is declared.
    broke : pairs of failure code and share [-]
        Of the pulls that give their value: which share breaks wholly in which layer or interface; the shares sum to 1.
        Empty: nothing is assumed, and each pull answers the question that is asked.
    per_measurement : int
        Pulls of a measurement, whose mean is one value of the zone; 1 where each pull is a value.
    between : float or None
        Of the variance of single pulls, the share that lies between measurements [-]; the rest lies within them. Of the
        variance of the normal scores where the distribution is not normal. None only where each pull is a value.

    Raises
    ------
    WrongUsage
        If the distribution is none, shares are no shares, the ceiling is not positive, or measurements have no pulls or
        no split of their variance.
    """

    distribution: Distribution = "normal"
    glue_share: float = 0.0
    lost_share: float = 0.0
    ceiling_mpa: float = math.inf
    broke: tuple[tuple[str, float], ...] = ()
    per_measurement: int = 1
    between: float | None = None

    def __post_init__(self) -> None:
        """Refuse what can't be, all at once."""
        known = get_args(Distribution)
        wrong = []
        if self.distribution not in known:
            wrong.append(f"expected distribution to be one of {', '.join(known)}; got {self.distribution!r}")
        for name, value in (("glue_share", self.glue_share), ("lost_share", self.lost_share)):
            if not 0.0 <= value <= 1.0:
                wrong.append(f"expected {name} from 0 to 1 (10 % is 0.10); got {value!r}")
        both = self.glue_share + self.lost_share
        if not wrong and both > 1.0:
            wrong.append(f"expected glue_share and lost_share together at most 1; got {both!r}")
        if not self.ceiling_mpa > 0.0:
            wrong.append(f"expected ceiling_mpa above zero; got {self.ceiling_mpa!r}")
        shares = [share for _, share in self.broke]
        if shares and (min(shares) < 0.0 or abs(sum(shares) - 1.0) > _SUM or len(dict(self.broke)) < len(shares)):
            told = ", ".join(f"{code} {share!r}" for code, share in self.broke)
            wrong.append(f"expected shares of different failure codes that sum to 1 in broke; got {told}")
        if self.per_measurement < 1:
            wrong.append(f"expected at least one pull in a measurement; got {self.per_measurement!r}")
        if self.between is None and self.per_measurement > 1:
            wrong.append("expected which share of the variance lies between measurements (between)")
        if self.between is not None and not 0.0 <= self.between <= 1.0:
            wrong.append(f"expected between from 0 to 1 (50 % is 0.50); got {self.between!r}")
        if wrong:
            raise WrongUsage("; ".join(wrong))

    @property
    def all_known(self) -> bool:
        """Whether every pull gives its value."""
        return self.glue_share == 0.0 and self.lost_share == 0.0

    @property
    def narrowed(self) -> float:
        """Standard deviation of a value in units of that of a single pull [-]: sqrt(b + (1 - b) / m)."""
        if self.per_measurement == 1:
            return 1.0
        assert self.between is not None  # refused above
        return math.sqrt(self.between + (1.0 - self.between) / self.per_measurement)

    def of_means(self) -> Assumed | None:
        """Return what holds of the means of measurements as if each were a pull, ``narrowed`` apart; None where no
        closed form is known: the mean of values that are not normal, and of ones below a ceiling.

        A measurement with a pull that gives no value is not valid and may then have any value; one with a pull that is
        "at least" its value is at least the mean of its bounds.
        """
        m = self.per_measurement
        if m == 1:
            return self
        if self.distribution != "normal" or (self.glue_share > 0.0 and math.isfinite(self.ceiling_mpa)):
            return None
        complete = (1.0 - self.lost_share) ** m
        at_least = complete - max(0.0, 1.0 - self.lost_share - self.glue_share) ** m
        return replace(self, per_measurement=1, between=None, glue_share=at_least, lost_share=1.0 - complete)

    def elsewhere(self, question: str) -> float:
        """Return the share of the pulls that gave a value in which the layer or interface asked for held [-]."""
        if question == PULL_OFF or not self.broke:
            return 0.0
        return 1.0 - dict(self.broke).get(question, 0.0)

    def of_question(self, question: str) -> Assumed:
        """Return the same for the values of one question: where it held, a pull is "at least" its value."""
        held = (1.0 - self.glue_share - self.lost_share) * self.elsewhere(question)
        return replace(self, glue_share=self.glue_share + held)


def strengths_alone(requirement: Requirement) -> tuple[Requirement, tuple[Criterion, ...]]:
    """Return the requirement as if nothing were known of what breaks, and the criteria that this changed.

    A criterion on failure composition is left out: one of several that must all be met counts as met, one way of
    several as not taken. A way out for pulls that failed in some way is not taken either.

    Raises
    ------
    WrongUsage
        If the rule asks nothing of the strengths, or has limits or means that depend on the failure.
    """
    changed = tuple(c for c in criteria(requirement) if depends_on_failure(c))
    if any(not isinstance(c, AreaCriterion | SmallestAtLeast | CountAtLeast) for c in changed):
        raise WrongUsage(
            "a limit or a mean of this rule depends on what broke: say which shares of the pulls break where (broke)"
        )
    kept = _without(requirement)
    if kept is None:
        raise WrongUsage(
            "the rule asks only what broke, and nothing of the strengths: say which shares of the pulls break where "
            "(broke)"
        )
    return kept, changed


def _without(part: Requirement) -> Requirement | None:
    if isinstance(part, AreaCriterion):
        return None
    if isinstance(part, SmallestAtLeast | CountAtLeast):
        return replace(part, unless=None)
    if not isinstance(part, AllOf | AnyOf):
        return part
    kept = tuple(found for p in part.parts if (found := _without(p)) is not None)
    if len(kept) < 2:
        return kept[0] if kept else None
    return AllOf(kept) if isinstance(part, AllOf) else AnyOf(kept)


def limits_mpa(requirement: Requirement) -> tuple[float, ...]:
    """Every limit on strength that the requirement names [MPa], as often as it is named."""
    return tuple(limit.mpa for criterion in criteria(requirement) for limit in limits(criterion))


def share_limit(requirement: Requirement) -> float:
    """Return the limit [MPa] that single values are held against: the lowest of those that are not about a mean.

    Where every limit is about a mean it is the lowest of these; ``nan`` where no limit is a strength.
    """
    single = [limit.mpa for c in criteria(requirement) if not isinstance(c, MeanAtLeast) for limit in limits(c)]
    return min(single or limits_mpa(requirement), default=math.nan)
