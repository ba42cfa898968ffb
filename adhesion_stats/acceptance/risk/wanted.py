"""What a number of pulls risks: how often a good zone is accepted and a bad one is, and how many pulls the risks
wanted would take.

Pulls are taken as independent and normal; criteria on what broke are left out (nothing is assumed of what breaks). More
pulls are not always better: a fixed floor for the smallest value gets stricter with every pull, so a number may meet
both risks and a larger one not. Every number up to ``MOST`` is tried. Where a contract counts by measurement these are
numbers of measurements.

Imports: numpy, this room, terms. No words.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.characteristic import rule_of
from adhesion_stats.acceptance.risk.simulated import standard_error
from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.criteria import CountAtLeast, Requirement, criteria, limits
from adhesion_stats.terms.plan import RiskAsked
from adhesion_stats.terms.specification import Rounding

__all__ = ["MOST", "RiskFigures", "risk_figures", "smallest_number"]

MOST = 40  # values: pulls, or measurements
_SIMULATIONS = 4000
_MOST_SIMULATED = 12


@dataclass(frozen=True, slots=True)
class RiskFigures:
    """Probability [-] that a good and a bad zone conform with ``n`` values (pulls, or measurements).

    ``met``: both are as wanted. ``how``: which way they were computed; "simulated" has a ``standard_error`` [-] above
    zero.
    """

    n: int
    good: float
    bad: float
    met: bool
    how: str
    standard_error: float

    def as_dict(self) -> dict[str, object]:
        """Plain values."""
        return {
            "n": self.n,
            "good": self.good,
            "bad": self.bad,
            "met": self.met,
            "how": self.how,
            "standard_error": self.standard_error,
        }


def can_be_computed(requirement: Requirement) -> bool:
    """Whether the requirement asks something of strengths, so that a true mean says anything."""
    return any(limits(c) for c in criteria(requirement))


def risk_figures(
    requirement: Requirement, risk: RiskAsked, *, n: int, assumed: Assumed, rounding: Rounding, seed: int
) -> RiskFigures | None:
    """Return what ``n`` values risk; None where the rule asks nothing of strengths.

    ``seed`` is for rules that have to be simulated; the others do not depend on it.
    """
    if not can_be_computed(requirement):
        return None
    generator = np.random.Generator(np.random.PCG64(seed))
    try:
        rule = rule_of(
            requirement, n=n, assumed=assumed, rounding=rounding, generator=generator, simulations=_SIMULATIONS
        )
    except WrongUsage:  # all that is asked of strengths depends on what broke
        return None
    cov = risk.cov_percent / 100.0
    good, bad = (rule.point(limit.mpa, cov).conforms for limit in (risk.good_mean, risk.bad_mean))
    error = 0.0
    if rule.simulations:
        error = float(standard_error(np.array([good, bad]), rule.simulations).max())
    met = good >= risk.accept_good_at_least_percent / 100.0 and bad <= risk.accept_bad_at_most_percent / 100.0
    return RiskFigures(n, float(good), float(bad), bool(met), rule.how, error)


@functools.lru_cache(maxsize=64)  # zones mostly share their requirement
def smallest_number(
    requirement: Requirement, risk: RiskAsked, *, assumed: Assumed, rounding: Rounding, seed: int
) -> int | None:
    """Return the smallest number of values that meets both risks, None where none up to ``MOST`` does.

    A criterion that counts among n values fixes their number. Rules that have to be simulated are tried up to twelve.
    """
    counted = {c.n for c in criteria(requirement) if isinstance(c, CountAtLeast)}
    for n in sorted(counted) if counted else range(1, MOST + 1):
        found = risk_figures(requirement, risk, n=n, assumed=assumed, rounding=rounding, seed=seed)
        if found is None or (found.how == "simulated" and n >= _MOST_SIMULATED):
            return None
        if found.met:
            return n
    return None
