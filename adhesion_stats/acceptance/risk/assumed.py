"""What is assumed of a zone when the risk of a rule is computed, and which part of the rule the risk is about.

``Assumed``           distribution of the strengths, and how many pulls are known within bounds only
``strengths_alone``   a requirement without its criteria on failure composition
``share_limit``       the limit whose true share below is told beside a true mean

Imports: numpy, errors, terms, statistics.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics.strengths import Distribution
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    Criterion,
    FailureShare,
    MeanAtLeast,
    PullsWithFailure,
    Requirement,
    criteria,
)

__all__ = ["Assumed", "limits_mpa", "share_limit", "strengths_alone"]


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

    Raises
    ------
    WrongUsage
        If the distribution is none, shares are no shares, or the ceiling is not positive.
    """

    distribution: Distribution = "normal"
    glue_share: float = 0.0
    lost_share: float = 0.0
    ceiling_mpa: float = math.inf

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
        if wrong:
            raise WrongUsage("; ".join(wrong))

    @property
    def all_known(self) -> bool:
        """Whether every pull gives its value."""
        return self.glue_share == 0.0 and self.lost_share == 0.0


def strengths_alone(requirement: Requirement) -> tuple[Requirement, tuple[Criterion, ...]]:
    """Return the requirement without its criteria on failure composition, and the criteria left out.

    One of several that must all be met counts as met, one way of several as not taken: the risk is then that of the
    strengths alone.

    Raises
    ------
    WrongUsage
        If the requirement asks nothing of the strengths.
    """
    left_out = tuple(c for c in criteria(requirement) if isinstance(c, FailureShare | PullsWithFailure))
    kept = _without(requirement)
    if kept is None:
        raise WrongUsage(
            "the requirement asks only what broke, and nothing of the strengths: its risk depends on how zones break, "
            "which is not modelled"
        )
    return kept, left_out


def _without(part: Requirement) -> Requirement | None:
    if isinstance(part, FailureShare | PullsWithFailure):
        return None
    if not isinstance(part, AllOf | AnyOf):
        return part
    kept = tuple(found for p in part.parts if (found := _without(p)) is not None)
    if len(kept) < 2:
        return kept[0] if kept else None
    return AllOf(kept) if isinstance(part, AllOf) else AnyOf(kept)


def limits_mpa(requirement: Requirement) -> tuple[float, ...]:
    """Every limit on strength that the requirement names [MPa], as often as it is named."""
    return tuple(value for _, value in _limits(requirement))


def _limits(requirement: Requirement) -> Iterator[tuple[Criterion, float]]:
    for criterion in criteria(requirement):
        limit = getattr(criterion, "limit", None)
        value = getattr(limit, "mpa", None)
        if isinstance(value, float) and value > 0.0:
            yield criterion, value


def share_limit(requirement: Requirement) -> float:
    """Return the limit [MPa] that single values are held against: the lowest of those that are not about a mean.

    Where every limit is about a mean it is the lowest of these; ``nan`` where no limit is a strength.
    """
    found = list(_limits(requirement))
    single = [value for criterion, value in found if not isinstance(criterion, MeanAtLeast)]
    return min(single or [value for _, value in found], default=math.nan)
