"""The rule of a zone as a specification writes it, ready to be asked for its risk: requirement, values, assumptions.

``BETWEEN``        the share of the variance between measurements that is taken where nobody says another
``assumed_of``     what a specification adds to what is assumed: measurements, ceiling, glue
``values_of``      how many values a zone has: pulls, or measurements
``stages_of``      the terms of each stage of the work
``pool_of``        the zones over which a rule pools its spread
``rule_of_zone``   the rule of a zone
``ladder_of_zone`` its retest ladder

Imports: numpy, this room, terms.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from adhesion_stats.acceptance.collect import required_number
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.characteristic import Rule, rule_of
from adhesion_stats.acceptance.risk.ladder import Ladder, ladder_of
from adhesion_stats.acceptance.risk.pooled import Pool, pooled
from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.specification import Specification
from adhesion_stats.terms.stages import STAGES

__all__ = ["BETWEEN", "assumed_of", "ladder_of_zone", "pool_of", "rule_of_zone", "stages_of", "values_of"]

BETWEEN = 0.50
"""Of the variance of single pulls, the share between measurements, where none is given: a choice of this program, no
published source. Whatever uses it says so."""


def assumed_of(specification: Specification, assumed: Assumed, *, between: float | None) -> Assumed:
    """Return what is assumed with what the contract says of it: measurements, ceiling, pulls that are tested again.

    Raises
    ------
    WrongUsage
        If values are measurements and the contract does not say of how many pulls, or a split is given and values are
        single pulls.
    """
    ceiling = specification.pulls.ceiling
    again = specification.glue.then == "discard"
    found = replace(
        assumed,
        glue_share=0.0 if again else assumed.glue_share,
        ceiling_mpa=math.inf if ceiling is None else ceiling.mpa,
    )
    if specification.pulls.count_by != "measurement":
        return found
    each = specification.pulls.pulls_per_measurement
    if each is None:
        raise WrongUsage(
            f"{specification.file} counts by measurement and does not say how many pulls make one: add "
            "pulls_per_measurement to its table [pulls]"
        )
    return replace(found, per_measurement=each, between=BETWEEN if between is None else between)


def values_of(specification: Specification, zone: str, *, pulls: int | None) -> int:
    """Return how many values a zone has: of so many ``pulls``, or as the contract asks where that is None.

    Raises
    ------
    WrongUsage
        If the contract does not say, or the pulls make no whole number of measurements.
    """
    each = specification.pulls.pulls_per_measurement or 1
    if specification.pulls.count_by == "measurement" and pulls is not None:
        if pulls % each:
            raise WrongUsage(f"{pulls} pulls make no whole number of measurements of {each} pulls each; change --pulls")
        return pulls // each
    n = pulls or required_number(specification, zone)
    if not n:
        raise WrongUsage(f"{specification.file} does not say how many pulls a zone needs; say it with --pulls")
    return n


def stages_of(specification: Specification) -> tuple[tuple[str, Specification], ...]:
    """Return the terms of each stage of the work that has rules of its own, as if there were no other.

    ("", the terms) where no rule names a stage. Each stage is decided by its own pulls (``judging.populations``).
    """
    names = dict.fromkeys(rule.stage for rule in specification.rules)
    return tuple(
        (
            stage,
            replace(specification, rules=tuple(replace(r, stage="") for r in specification.rules if r.stage == stage)),
        )
        for stage in sorted(names, key=("", *STAGES).index)
    )


def pool_of(specification: Specification, zone: str, *, pulls: int | None, zones: int | None) -> Pool | None:
    """Return the zones over which the rule of a zone pools its spread; None where it pools none.

    Parameters
    ----------
    pulls
        Pulls of every zone where other than the contract's numbers.
    zones
        How many zones there are, where neither the rule nor the plan names them.

    Raises
    ------
    WrongUsage
        If the zones are not known, are others than ``zones``, or differ between criteria.
    """
    rules = [rule for rule in specification.rules if not rule.zones or zone in rule.zones]
    planned = () if specification.plan is None else tuple(one.name for one in specification.plan.zones)
    named = {c.pooled_over or rule.zones or planned for rule in rules for c in pooled(rule.requirement)}
    if not named:
        return None
    if len(named) > 1:
        raise WrongUsage("the criteria of this rule pool their spread over different zones: that risk can't be told")
    (names,) = named
    if not names:
        if zones is None:
            raise WrongUsage("the rule pools the spread of the contract's zones: say how many there are with --zones")
        return Pool(zones)
    if zones is not None and zones != len(names):
        raise WrongUsage(f"the rule pools the spread of {len(names)} zones that the contract names: leave --zones out")
    mine = zone or names[0]
    if mine not in names:
        raise WrongUsage(f'zone "{mine}" is none of those whose spread its rule pools: that risk can\'t be told')

    def asked_of(name: str) -> tuple[object, int]:
        return specification.requirement_for(name), values_of(specification, name, pulls=pulls)

    alike = [name for name in names if asked_of(name) == asked_of(mine)]
    return Pool(len(alike), tuple(asked_of(name)[1] for name in names if name not in alike))


def rule_of_zone(
    specification: Specification,
    zone: str,
    *,
    pulls: int | None,
    zones: int | None,
    assumed: Assumed,
    between: float | None,
    simulations: int,
    generator: np.random.Generator,
) -> Rule:
    """Return the rule of a zone.

    Parameters
    ----------
    specification, zone
        What the contract asks of this zone.
    pulls
        Pulls of the zone where other than the contract's number.
    zones
        How many zones there are, for a spread that is pooled over zones without names.
    assumed, between
        What is assumed of the pulls, and of measurements the share of the variance between them (None: ``BETWEEN``).
    simulations, generator
        For rules without an exact way.

    Raises
    ------
    WrongUsage
        If nothing is asked of the zone, or as ``assumed_of``, ``values_of`` and ``rule_of`` do.
    """
    requirement = specification.requirement_for(zone)
    if requirement is None:
        raise WrongUsage(f'nothing is asked of zone "{zone}" in {specification.file}; name another one with --zone')
    return rule_of(
        requirement,
        n=values_of(specification, zone, pulls=pulls),
        assumed=assumed_of(specification, assumed, between=between),
        rounding=specification.rounding,
        simulations=simulations,
        generator=generator,
        pool=pool_of(specification, zone, pulls=pulls, zones=zones),
    )


def ladder_of_zone(
    specification: Specification,
    zone: str,
    first: Rule,
    *,
    assumed: Assumed,
    between: float | None,
    simulations: int,
    generator: np.random.Generator,
) -> Ladder | None:
    """Return the retest ladder of a zone whose first round is ``first``; None where the contract has none.

    Arguments as in ``rule_of_zone``; a step without a number of its own asks for as many values as the first round.
    """
    steps = specification.ladder
    if not steps:
        return None
    requirement = specification.requirement_for(zone)
    assert requirement is not None  # first was made of it
    rounds = [first]
    for step in steps:
        if step.do != "revise and repeat":
            continue
        known = next((rule for rule in rounds if rule.n == (step.pulls or first.n)), None)
        rounds.append(
            known
            or rule_of(
                requirement,
                n=step.pulls or first.n,
                assumed=assumed_of(specification, assumed, between=between),
                rounding=specification.rounding,
                simulations=simulations,
                generator=generator,
            )
        )
    return ladder_of(rounds, steps)
