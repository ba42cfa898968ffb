"""Planning: what to do before the first pull and between two pulls. Facts only, no words.

``make_plan``       for each zone how many pulls, by which rule, and where
``draw_positions``  random positions in a zone; ``generator_for``: the generator of a zone from seed and name
``pulls_asked``     what each rule asks of a zone

Imports: numpy, plane, terms, acceptance. Must not import intake, reporting, pandas.
"""

from __future__ import annotations

from adhesion_stats.planning.ground import Ground
from adhesion_stats.planning.numbers import Asked, pulls_asked
from adhesion_stats.planning.plan import Plan, PlannedZone, make_plan
from adhesion_stats.planning.positions import NoRoom, Positions, draw_positions, generator_for

__all__ = [
    "Asked",
    "Ground",
    "NoRoom",
    "Plan",
    "PlannedZone",
    "Positions",
    "draw_positions",
    "generator_for",
    "make_plan",
    "pulls_asked",
]
