"""The risk of a specification's rules as plain facts: probabilities by true mean, points, contract, second tries.

Zones that are asked the same by as many pulls are one part. Strengths are in MPa, shares and probabilities from 0 to 1.

Imports: numpy, acceptance, terms, floor 0. No words: kinds and facts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from adhesion_stats.acceptance import required_number
from adhesion_stats.acceptance.risk import (
    BETWEEN,
    Assumed,
    OperatingCharacteristic,
    Point,
    Rule,
    by_number_of_pulls,
    characteristic_of,
    contract_risk,
    means_for,
    regrouping,
    retest,
    rule_of_zone,
)
from adhesion_stats.errors import WrongUsage
from adhesion_stats.planning.risk_asked import MOST_PULLS, RiskAsked
from adhesion_stats.terms.criteria import PULL_OFF, CountAtLeast, Criterion, Requirement, criteria, limits
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor

__all__ = ["curve_of", "risk_facts"]

CONSUMER, HALF, PRODUCER = 0.10, 0.50, 0.95
_POINTS = (0.05, CONSUMER, HALF, PRODUCER)
_SHOWN = (0.02, 0.98)  # the table goes from where one zone in fifty conforms to where all but one do
_ROWS = 9
_MOST_CRITERIA = 100
_SIMULATIONS, _FOR_CAUTIONS = 10_000, 10_000
_OTHER_PULLS = (3, 5, 6, 10, 12)
_NICE = (1.0, 2.0, 2.5, 5.0)

Facts = dict[str, object]


def risk_facts(specification: Specification, asked: RiskAsked, *, against: Specification | None) -> Facts:
    """Return what ``adhesion-stats risk`` shows.

    Parameters
    ----------
    specification
        Whose rules are looked at.
    asked
        Assumptions and wishes.
    against
        A second specification: its rules on the same true means.

    Raises
    ------
    WrongUsage
        If a rule has no number of pulls, asks nothing of strengths, or a named zone is asked nothing.
    """
    if asked.between is not None and not any(
        one is not None and _per_measurement(one) is not None for one in (specification, against)
    ):
        raise WrongUsage(
            f"{specification.file} counts by pull: there are no measurements between which spread could lie, so leave "
            "--between out"
        )
    parts = [_part(specification, zones, asked, against) for zones in _groups(specification, asked)]
    return {
        "file": specification.file,
        "against": None if against is None else against.file,
        "title": specification.contract.title,
        "unit": specification.unit,
        "assumed": _assumed_facts(asked, specification),
        "zones": asked.zones,
        "parts": parts,
    }


def _assumed_facts(asked: RiskAsked, specification: Specification) -> Facts:
    ceiling = specification.pulls.ceiling
    return {
        "distribution": asked.distribution,
        "cov": asked.cov,
        "cov_given": asked.cov_given,
        "glue_share": asked.glue_share,
        "glue_tested_again": specification.glue.then == "discard",
        "lost_share": asked.lost_share,
        "per_measurement": _per_measurement(specification),
        "between": asked.between if asked.between is not None else BETWEEN if _per_measurement(specification) else None,
        "between_given": asked.between is not None,
        "ceiling_mpa": None if ceiling is None else ceiling.mpa,
        "broke": [list(pair) for pair in asked.broke],
        "seed": asked.seed,
    }


def _groups(specification: Specification, asked: RiskAsked) -> Iterator[tuple[str, ...]]:
    """Zones that are asked the same by as many pulls; the empty name stands for every zone that no rule names."""
    if asked.zone:
        if specification.requirement_for(asked.zone) is None:
            raise WrongUsage(f'nothing is asked of zone "{asked.zone}" in {specification.file}')
        yield (asked.zone,)
        return
    named = dict.fromkeys(zone for rule in specification.rules for zone in rule.zones)
    found: dict[tuple[Requirement, int], list[str]] = {}
    for zone in ("", *named):
        requirement = specification.requirement_for(zone)
        if requirement is not None:
            found.setdefault((requirement, required_number(specification, zone)), []).append(zone)
    yield from (tuple(zones) for zones in found.values())


def _per_measurement(specification: Specification) -> int | None:
    """Pulls of a measurement; None where values are pulls."""
    by_measurement = specification.pulls.count_by == "measurement"
    return specification.pulls.pulls_per_measurement if by_measurement else None


def _rule(specification: Specification, zone: str, asked: RiskAsked) -> Rule:
    n, requirement = required_number(specification, zone), specification.requirement_for(zone)
    if not asked.pulls and n > MOST_PULLS:
        raise WrongUsage(
            f"{specification.file} asks for {n} pulls of a zone; risks are worked out for at most {MOST_PULLS}."
        )
    if requirement is not None and len(list(criteria(requirement))) > _MOST_CRITERIA:
        raise WrongUsage(
            f"{specification.file} asks more than {_MOST_CRITERIA} things of one zone; risks are worked out for fewer."
        )
    return rule_of_zone(
        specification, zone, pulls=asked.pulls, between=asked.between, simulations=_SIMULATIONS,
        generator=np.random.default_rng(asked.seed),
        assumed=Assumed(
            distribution=asked.distribution, glue_share=asked.glue_share, lost_share=asked.lost_share,
            broke=asked.broke,
        ),
    )  # fmt: skip


def _part(
    specification: Specification, zones: tuple[str, ...], asked: RiskAsked, against: Specification | None
) -> Facts:
    rule = _rule(specification, zones[0], asked)
    other = None if against is None else _rule(against, zones[0], asked)
    means = _round_means(rule, asked, specification.unit)
    facts = _rule_facts(rule, means, asked)
    return {
        "zones": list(zones),
        **facts,
        "by_pulls": _by_pulls(rule, asked),
        "again": _again(rule, asked),
        "divided": _divided(rule, asked),
        "split": _split(specification, zones[0], rule, asked),
        "against": None if other is None else _rule_facts(other, means, asked),
    }


def _rule_facts(rule: Rule, means: np.ndarray[tuple[int, ...], np.dtype[np.float64]], asked: RiskAsked) -> Facts:
    points = [rule.point(mean, asked.cov) for mean in means.tolist()]
    accepted = rule.mean_where_accepted(_POINTS, asked.cov)
    return {
        "asked": [_criterion_facts(c) for c in criteria(rule.requirement)],
        "left_out": [c.said for c in rule.left_out],
        "values": rule.n,
        "pulls": rule.pulls,
        "how": rule.how,
        "simulations": rule.simulations,
        "standard_error": 0.5 / math.sqrt(rule.simulations) if rule.simulations else 0.0,
        "limit_mpa": _number(rule.limit_mpa),
        "rows": [_point_facts(point, asked) for point in points],
        "accepted_at": [
            {
                "probability": wanted,
                "mean_mpa": _number(mean),
                "share_below": None if math.isnan(mean) else rule.share_below(np.array([mean]), asked.cov).item(),
            }
            for wanted, mean in zip(_POINTS, accepted.tolist(), strict=True)
        ],
        "good": None if asked.good is None else _point_facts(rule.point(asked.good.mpa, asked.cov), asked),
        "bad": None if asked.bad is None else _point_facts(rule.point(asked.bad.mpa, asked.cov), asked),
    }


def _criterion_facts(criterion: Criterion) -> Facts:
    texts = [limit.text for limit in limits(criterion)]
    count = criterion if isinstance(criterion, CountAtLeast) else None
    question = getattr(criterion, "question", PULL_OFF)
    return {
        "kind": criterion.said,
        "question": None if question == PULL_OFF else question,
        "limits": texts,
        "z": None if count is None else count.z,
        "of": None if count is None else count.n,
    }


def _point_facts(point: Point, asked: RiskAsked) -> Facts:
    whole = None if asked.zones is None else contract_risk(point, zones=asked.zones)
    return {
        "mean_mpa": point.mean_mpa,
        "share_below": _number(point.share_below),
        "conforms": point.conforms,
        "does_not_conform": point.does_not_conform,
        "undetermined": point.undetermined,
        "all_zones_conform": None if whole is None else whole.conforms,
    }


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _round_means(rule: Rule, asked: RiskAsked, unit: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """About nine means [MPa], round numbers in the specification's unit, from hardly ever to nearly always."""
    ends = rule.mean_where_accepted(_SHOWN, asked.cov)
    if np.isnan(ends).any():
        ends = means_for(rule, asked.cov, points=2)
    low, high = (float(end) / factor(unit, "strength") for end in ends)
    raw = (high - low) / (_ROWS - 1)
    size = 10.0 ** math.floor(math.log10(raw))
    step = next((nice * size for nice in _NICE if nice * size >= raw), 10.0 * size)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    counted = np.arange(max(first, 1), last + 1, dtype=np.float64)
    return np.round(counted * step, 9) * factor(unit, "strength")


def _by_pulls(rule: Rule, asked: RiskAsked) -> Facts | None:
    """The same zone with other numbers of pulls, at the mean that this rule accepts nine times out of ten."""
    if any(isinstance(c, CountAtLeast) for c in criteria(rule.requirement)) or rule.simulations:
        return None
    mean = rule.mean_where_accepted((0.9,), asked.cov).item()
    if math.isnan(mean):
        return None
    pulls = sorted({*_OTHER_PULLS, rule.n})
    points = by_number_of_pulls(
        rule.requirement, pulls=[n for n in pulls if n > 1 or rule.n == 1], mean_mpa=mean, cov=asked.cov,
        assumed=rule.assumed, rounding=rule.rounding, generator=np.random.default_rng(asked.seed),
        simulations=_FOR_CAUTIONS,
    )  # fmt: skip
    shown = [n for n in pulls if n > 1 or rule.n == 1]
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


def _again(rule: Rule, asked: RiskAsked) -> Facts | None:
    mean = _bad_mean(rule, asked)
    if math.isnan(mean):
        return None
    combine = not any(isinstance(c, CountAtLeast) for c in criteria(rule.requirement))
    generator = np.random.default_rng(asked.seed) if combine else None
    found = retest(rule, mean_mpa=mean, cov=asked.cov, most_tries=2, generator=generator, simulations=_FOR_CAUTIONS)
    return {"mean_mpa": mean, "once": found.once, "replacing": found.replacing, "combined": found.combined}


def _divided(rule: Rule, asked: RiskAsked) -> Facts | None:
    """What a line drawn after the results does, parts of half of the pulls (rounded down; at least two) or more."""
    mean = _bad_mean(rule, asked)
    least = max(2, rule.n // 2)
    if math.isnan(mean) or least >= rule.n or any(isinstance(c, CountAtLeast) for c in criteria(rule.requirement)):
        return None
    found = regrouping(
        rule, mean_mpa=mean, cov=asked.cov, least_pulls=least, generator=np.random.default_rng(asked.seed),
        simulations=_FOR_CAUTIONS,
    )  # fmt: skip
    once = rule.point(mean, asked.cov).conforms
    return {
        "mean_mpa": mean,
        "least_values": least,
        "conforms": once,
        "a_part_conforms": found.a_part_conforms,
        "chosen_conform": found.chosen_conform,
    }


def _split(specification: Specification, zone: str, rule: Rule, asked: RiskAsked) -> Facts | None:
    """The mean that a zone needs, were all of the variance within measurements, or all of it between them."""
    if rule.assumed.per_measurement == 1:
        return None
    ends = {}
    for name, between in (("within", 0.0), ("between", 1.0)):
        other = _rule(specification, zone, replace(asked, between=between))
        ends[name] = _number(other.mean_where_accepted((PRODUCER,), asked.cov).item())
    return {"probability": PRODUCER, **ends}


def curve_of(
    specification: Specification, asked: RiskAsked, *, points: int = 200, zone: str = ""
) -> OperatingCharacteristic:
    """Return the operating characteristic of a zone's rule on a grid that shows the whole curve, as for a figure."""
    rule = _rule(specification, asked.zone or zone, asked)
    means = means_for(rule, asked.cov, points=points)
    return characteristic_of(rule, means, np.full(means.shape, asked.cov))
