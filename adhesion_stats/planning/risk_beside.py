"""What stands beside a rule's probabilities: other numbers of pulls, second tries, borders drawn later, the ladder,
another rule, the split of the spread of measurements.

Imports: numpy, acceptance, terms, this room. No words: kinds and facts.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.risk import Climbed, Ladder, Rule, by_number_of_pulls, regrouping, retest
from adhesion_stats.planning.risk_asked import RiskAsked
from adhesion_stats.terms.criteria import CountAtLeast, criteria

__all__ = [
    "CONSUMER",
    "PRODUCER",
    "again",
    "by_pulls",
    "differences",
    "divided",
    "ladder_facts",
    "split",
]

CONSUMER, PRODUCER = 0.10, 0.95
_FOR_CAUTIONS = 10_000  # zones drawn
_OTHER_PULLS = (3, 5, 6, 10, 12)
_WORTH_SAYING = 0.01  # a difference of probabilities

Facts = dict[str, object]
Values = NDArray[np.float64]


def _counts(rule: Rule) -> bool:
    """Whether a criterion fixes the number of values."""
    return any(isinstance(c, CountAtLeast) for c in criteria(rule.requirement))


def by_pulls(rule: Rule, asked: RiskAsked) -> Facts | None:
    """The same zone with other numbers of values, at the mean that this rule accepts nine times out of ten."""
    if _counts(rule) or rule.simulations or (rule.pool is not None and rule.pool.others):
        return None
    mean = rule.mean_where_accepted((0.9,), asked.cov).item()
    if math.isnan(mean):
        return None
    shown = [n for n in sorted({*_OTHER_PULLS, rule.n}) if n > 1 or rule.n == 1]
    points = by_number_of_pulls(
        rule.requirement, pulls=shown, mean_mpa=mean, cov=asked.cov, assumed=rule.assumed, rounding=rule.rounding,
        generator=np.random.default_rng(asked.seed), simulations=_FOR_CAUTIONS, pool=rule.pool,
    )  # fmt: skip
    return {
        "mean_mpa": mean,
        "rows": [
            {"values": n, "pulls": n * rule.assumed.per_measurement, "conforms": p.conforms}
            for n, p in zip(shown, points, strict=True)
        ],
    }


def _bad_mean(rule: Rule, asked: RiskAsked) -> float:
    """A zone that should not pass: the one named as bad, else the one that passes once in ten."""
    return asked.bad.mpa if asked.bad is not None else rule.mean_where_accepted((CONSUMER,), asked.cov).item()


def again(rule: Rule, asked: RiskAsked) -> Facts | None:
    """A zone that should not pass and may be tested a second time."""
    mean = math.nan if rule.pool is not None else _bad_mean(rule, asked)
    if math.isnan(mean):
        return None
    generator = None if _counts(rule) else np.random.default_rng(asked.seed)
    found = retest(rule, mean_mpa=mean, cov=asked.cov, most_tries=2, generator=generator, simulations=_FOR_CAUTIONS)
    return {"mean_mpa": mean, "once": found.once, "replacing": found.replacing, "combined": found.combined}


def divided(rule: Rule, asked: RiskAsked) -> Facts | None:
    """What a line drawn after the results does, parts of half of the values (rounded down; at least two) or more."""
    least = max(2, rule.n // 2)
    if rule.pool is not None or least >= rule.n or _counts(rule):
        return None
    mean = _bad_mean(rule, asked)
    if math.isnan(mean):
        return None
    found = regrouping(
        rule, mean_mpa=mean, cov=asked.cov, least_pulls=least, generator=np.random.default_rng(asked.seed),
        simulations=_FOR_CAUTIONS,
    )  # fmt: skip
    return {
        "mean_mpa": mean,
        "least_values": least,
        "conforms": rule.point(mean, asked.cov).conforms,
        "a_part_conforms": found.a_part_conforms,
        "chosen_conform": found.chosen_conform,
    }


def split(rule: Rule, with_between: Callable[[float], Rule], asked: RiskAsked) -> Facts | None:
    """The mean that a zone needs, were all of the variance within measurements, or all of it between them."""
    if rule.assumed.per_measurement == 1:
        return None
    ends = {name: with_between(share) for name, share in (("within", 0.0), ("between", 1.0))}
    means = {name: end.mean_where_accepted((PRODUCER,), asked.cov).item() for name, end in ends.items()}
    return {"probability": PRODUCER, **{name: None if math.isnan(m) else m for name, m in means.items()}}


def ladder_facts(ladder: Ladder, means: Values, grid: Values, asked: RiskAsked) -> Facts:
    """The whole ladder: its steps, what a zone comes to at each mean, the points, the first round's point climbed."""
    found, curve = ladder.at(means, asked.cov), ladder.at(grid, asked.cov)
    accepted = ladder.mean_where_accepted((CONSUMER, PRODUCER), asked.cov).tolist()
    bad = _bad_mean(ladder.rounds[0], asked)
    return {
        "steps": [
            {
                "on": step.on,
                "do": step.do,
                "values": rule.n if step.do == "revise and repeat" else None,
                "pulls": rule.pulls if step.do == "revise and repeat" else None,
            }
            for step, rule in zip(ladder.steps, (*ladder.rounds[1:], ladder.rounds[-1]), strict=False)
        ],
        "exact": ladder.exact,
        "standard_error": float(max(found.standard_error.max(), curve.standard_error.max())),
        "rows": [_climbed_facts(ladder, found, means, i) for i in range(means.size)],
        "accepted_at": [
            {"probability": p, "mean_mpa": None if math.isnan(m) else m}
            for p, m in zip((CONSUMER, PRODUCER), accepted, strict=True)
        ],
        "bad": None
        if math.isnan(bad)
        else _climbed_facts(ladder, ladder.at(np.array([bad]), asked.cov), np.array([bad]), 0),
        "curve": {"conforms": curve.conforms.tolist(), "referred": curve.referred.tolist()},
    }


def _climbed_facts(ladder: Ladder, found: Climbed, means: Values, i: int) -> Facts:
    return {
        "mean_mpa": float(means[i]),
        "conforms": float(found.conforms[i]),
        "does_not_conform": float(found.does_not_conform[i]),
        "undetermined": float(found.undetermined[i]),
        "referred": float(found.referred[i]),
        "first_round": float(found.by_round[0, i]),
        "pulls": float(ladder.pulls(found)[i]),
    }


def differences(first: Rule, second: Rule, grid: Values, asked: RiskAsked) -> list[Facts]:
    """Where the two rules differ most: the mean at which the second conforms oftener, and that at which it does less.

    Of means (g,) [MPa]; a difference below one in a hundred is none.
    """
    one, two = first.at(grid, asked.cov).conforms, second.at(grid, asked.cov).conforms
    found: list[Facts] = []
    for more, gap in (("second", two - one), ("first", one - two)):
        i = int(np.argmax(gap))
        if gap[i] >= _WORTH_SAYING:
            found.append({"more": more, "mean_mpa": float(grid[i]), "first": float(one[i]), "second": float(two[i])})
    return found
