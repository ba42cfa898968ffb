"""The rule of a zone as a specification writes it, ready to be asked for its risk: requirement, values, assumptions.

``BETWEEN``        the share of the variance between measurements that is taken where nobody says another
``assumed_of``     what a specification adds to what is assumed: measurements, ceiling, glue
``values_of``      how many values a zone has: pulls, or measurements
``rule_of_zone``   the rule of a zone

Imports: numpy, this room, terms.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from adhesion_stats.acceptance.collect import required_number
from adhesion_stats.acceptance.risk.assumed import Assumed
from adhesion_stats.acceptance.risk.characteristic import Rule, rule_of
from adhesion_stats.errors import WrongUsage
from adhesion_stats.terms.specification import Specification

__all__ = ["BETWEEN", "assumed_of", "rule_of_zone", "values_of"]

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


def rule_of_zone(
    specification: Specification,
    zone: str,
    *,
    pulls: int | None,
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
    )
