"""The risk of a specification's rules as plain facts: probabilities by true mean, points, contract, second tries.

Zones that are asked the same by as many pulls are one part; so is each stage of the work that has rules of its own.
Strengths are in MPa, shares and probabilities from 0 to 1.

Imports: numpy, acceptance, terms, floor 0, this room. No words: kinds and facts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance import required_number
from adhesion_stats.acceptance.risk import (
    BETWEEN,
    Assumed,
    Ladder,
    OperatingCharacteristic,
    Point,
    Rule,
    characteristic_of,
    ladder_of_zone,
    means_for,
    rule_of_zone,
    stages_of,
)
from adhesion_stats.errors import WrongUsage
from adhesion_stats.planning.risk_asked import MOST_PULLS, RiskAsked
from adhesion_stats.planning.risk_beside import (
    CONSUMER,
    PRODUCER,
    again,
    by_pulls,
    differences,
    divided,
    ladder_facts,
    split,
)
from adhesion_stats.planning.rule_facts import requirement_facts
from adhesion_stats.terms.criteria import Requirement, criteria
from adhesion_stats.terms.specification import Specification
from adhesion_stats.units import factor

__all__ = ["curve_of", "risk_facts"]

HALF = 0.50
_POINTS = (0.05, CONSUMER, HALF, PRODUCER)
_SHOWN = (0.02, 0.98)  # the table goes from where one zone in fifty conforms to where all but one do
_ROWS = 9
_MOST_CRITERIA = 100
_CURVE = 81  # means of a curve
_SIMULATIONS = 10_000
_NICE = (1.0, 2.0, 2.5, 5.0)

Facts = dict[str, object]
Values = NDArray[np.float64]


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
    parts = [
        _part(terms, stage, zones, asked, against)
        for stage, terms in stages_of(specification)
        for zones in _groups(terms, asked)
    ]
    if not parts:
        raise WrongUsage(f'nothing is asked of zone "{asked.zone}" in {specification.file}')
    stages = dict.fromkeys(part["stage"] for part in parts)
    return {
        "file": specification.file,
        "against": None if against is None else against.file,
        "title": specification.contract.title,
        "against_title": None if against is None else against.contract.title,
        "invented": specification.contract.invented,
        "unit": specification.unit,
        "assumed": _assumed_facts(asked, specification, against),
        "zones": asked.zones,
        "stages": None
        if len(stages) < 2
        else {"names": list(stages), "each": PRODUCER, "all": PRODUCER ** len(stages)},
        "parts": parts,
    }


def _assumed_facts(asked: RiskAsked, specification: Specification, against: Specification | None) -> Facts:
    ceiling = specification.pulls.ceiling
    each = _per_measurement(specification) or (None if against is None else _per_measurement(against))
    return {
        "distribution": asked.distribution,
        "cov": asked.cov,
        "cov_given": asked.cov_given,
        "glue_share": asked.glue_share,
        "glue_tested_again": specification.glue.then == "discard",
        "lost_share": asked.lost_share,
        "per_measurement": each,
        "between": asked.between if asked.between is not None else BETWEEN if each else None,
        "between_given": asked.between is not None,
        "ceiling_mpa": None if ceiling is None else ceiling.mpa,
        "broke": [list(pair) for pair in asked.broke],
        "seed": asked.seed,
    }


def _per_measurement(specification: Specification) -> int | None:
    """Pulls of a measurement; None where values are pulls."""
    by_measurement = specification.pulls.count_by == "measurement"
    return specification.pulls.pulls_per_measurement if by_measurement else None


def _groups(terms: Specification, asked: RiskAsked) -> Iterator[tuple[str, ...]]:
    """Zones that are asked the same by as many pulls; the empty name stands for every zone that no rule names."""
    if asked.zone:
        if terms.requirement_for(asked.zone) is not None:
            yield (asked.zone,)
        return
    named = dict.fromkeys(zone for rule in terms.rules for zone in rule.zones)
    found: dict[tuple[Requirement, int], list[str]] = {}
    for zone in ("", *named):
        requirement = terms.requirement_for(zone)
        if requirement is not None:
            found.setdefault((requirement, required_number(terms, zone)), []).append(zone)
    yield from (tuple(zones) for zones in found.values())


def _assumed(asked: RiskAsked) -> Assumed:
    return Assumed(
        distribution=asked.distribution, glue_share=asked.glue_share, lost_share=asked.lost_share, broke=asked.broke
    )


def _rule(terms: Specification, zone: str, asked: RiskAsked) -> Rule:
    n, requirement = required_number(terms, zone), terms.requirement_for(zone)
    n = max([0 if asked.pulls else n, *(step.pulls or 0 for step in terms.ladder)])
    if n > MOST_PULLS:
        raise WrongUsage(f"{terms.file} asks for {n} pulls of a zone; risks are worked out for at most {MOST_PULLS}.")
    if requirement is not None and len(list(criteria(requirement))) > _MOST_CRITERIA:
        raise WrongUsage(
            f"{terms.file} asks more than {_MOST_CRITERIA} things of one zone; risks are worked out for fewer."
        )
    return rule_of_zone(
        terms, zone, pulls=asked.pulls, zones=asked.zones, between=asked.between, assumed=_assumed(asked),
        simulations=_SIMULATIONS, generator=np.random.default_rng(asked.seed),
    )  # fmt: skip


def _ladder(terms: Specification, zone: str, rule: Rule, asked: RiskAsked) -> Ladder | None:
    if rule.pool is not None:
        return None
    return ladder_of_zone(
        terms, zone, rule, assumed=_assumed(asked), between=asked.between, simulations=_SIMULATIONS,
        generator=np.random.default_rng(asked.seed),
    )  # fmt: skip


def _at_stage(against: Specification, stage: str) -> Specification:
    """The other contract's terms of the same stage; where it has none of that stage, those of its first one."""
    found = dict(stages_of(against))
    return found.get(stage) or next(iter(found.values()))


def _part(
    terms: Specification, stage: str, zones: tuple[str, ...], asked: RiskAsked, against: Specification | None
) -> Facts:
    rule = _rule(terms, zones[0], asked)
    ladder = _ladder(terms, zones[0], rule, asked)
    means = _round_means(rule, asked, terms.unit)
    grid = means_for(rule, asked.cov, points=_CURVE)
    other: Facts | None = None
    difference: list[Facts] = []
    if against is not None:
        theirs = _at_stage(against, stage)
        second = _rule(theirs, zones[0], asked)
        grid = np.union1d(grid, means_for(second, asked.cov, points=_CURVE))
        other_ladder = _ladder(theirs, zones[0], second, asked)
        other = _rule_facts(second, theirs, other_ladder, means, grid, asked)
        difference = differences(rule, second, grid, asked)
    return {
        "zones": list(zones),
        "stage": stage,
        **_rule_facts(rule, terms, ladder, means, grid, asked),
        "by_pulls": by_pulls(rule, asked),
        "again": None if ladder is not None else again(rule, asked),
        "divided": divided(rule, asked),
        "split": split(rule, lambda between: _rule(terms, zones[0], replace(asked, between=between)), asked),
        "against": other,
        "differences": difference,
    }


def _rule_facts(
    rule: Rule, terms: Specification, ladder: Ladder | None, means: Values, grid: Values, asked: RiskAsked
) -> Facts:
    together = asked.zones if rule.pool is None else rule.pool.zones
    return {
        "asked": requirement_facts(rule.requirement),
        "left_out": [c.said for c in rule.left_out],
        "values": rule.n,
        "pulls": rule.pulls,
        "how": rule.how,
        "simulations": rule.simulations,
        "standard_error": 0.5 / math.sqrt(rule.simulations) if rule.simulations else 0.0,
        "limit_mpa": _number(rule.limit_mpa),
        "zones_together": together,
        "pool": None
        if rule.pool is None
        else {
            "zones": rule.pool.zones,
            "others": len(rule.pool.others),
            "degrees_of_freedom": rule.pool.degrees_of_freedom(rule.n),
        },
        "rows": [_point(rule, mean, asked, together) for mean in means.tolist()],
        "accepted_at": [
            {
                "probability": wanted,
                "mean_mpa": _number(mean),
                "share_below": None if math.isnan(mean) else rule.share_below(np.array([mean]), asked.cov).item(),
            }
            for wanted, mean in zip(_POINTS, rule.mean_where_accepted(_POINTS, asked.cov).tolist(), strict=True)
        ],
        "good": None if asked.good is None else _point(rule, asked.good.mpa, asked, together),
        "bad": None if asked.bad is None else _point(rule, asked.bad.mpa, asked, together),
        "ladder": None if ladder is None else ladder_facts(ladder, means, grid, asked),
        "ladder_not_told": bool(terms.ladder) and rule.pool is not None,
        "curve": _curve(rule, grid, asked),
    }


def _curve(rule: Rule, grid: Values, asked: RiskAsked) -> Facts:
    """The three probabilities on a grid of means, for a figure."""
    found = rule.at(grid, asked.cov)
    return {
        "mean_mpa": grid.tolist(),
        "conforms": found.conforms.tolist(),
        "does_not_conform": found.does_not_conform.tolist(),
        "undetermined": found.undetermined.tolist(),
    }


def _point(rule: Rule, mean: float, asked: RiskAsked, together: int | None) -> Facts:
    point = rule.point(mean, asked.cov)
    whole: Point | None = None if together is None else rule.point(mean, asked.cov, zones=together)
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


def _round_means(rule: Rule, asked: RiskAsked, unit: str) -> Values:
    """About nine means [MPa], round numbers in the specification's unit, from hardly ever to nearly always."""
    ends: Sequence[float] = rule.mean_where_accepted(_SHOWN, asked.cov).tolist()
    if np.isnan(ends).any():
        ends = means_for(rule, asked.cov, points=2).tolist()
    low, high = (float(end) / factor(unit, "strength") for end in ends)
    raw = (high - low) / (_ROWS - 1)
    size = 10.0 ** math.floor(math.log10(raw))
    step = next((nice * size for nice in _NICE if nice * size >= raw), 10.0 * size)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    counted = np.arange(max(first, 1), last + 1, dtype=np.float64)
    return np.round(counted * step, 9) * factor(unit, "strength")


def curve_of(
    specification: Specification, asked: RiskAsked, *, points: int = 200, zone: str = ""
) -> OperatingCharacteristic:
    """Return the operating characteristic of a zone's rule on a grid that shows the whole curve, as for a figure.

    Where the contract parts the work by stages, that of the first one.
    """
    _, terms = stages_of(specification)[0]
    rule = _rule(terms, asked.zone or zone, asked)
    means = means_for(rule, asked.cov, points=points)
    return characteristic_of(rule, means, np.full(means.shape, asked.cov))
