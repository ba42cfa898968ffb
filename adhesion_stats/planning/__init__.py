"""Planning: what to do before the first pull and between two pulls. Facts only, no words.

``make_plan``       for each zone how many pulls, by which rule, and where
``draw_positions``  random positions in a zone; ``generator_for``: the generator of a zone from seed and name
``pulls_asked``     what each rule asks of a zone
``next_pull``       which values of the next pull leave a zone able to conform
``on_site``         where each zone stands between two pulls, what to repeat and where

Imports: numpy, plane, terms, acceptance. Must not import intake, reporting, pandas.
"""

from __future__ import annotations

from adhesion_stats.acceptance.asked import Asked, pulls_asked
from adhesion_stats.planning.ahead import NextPull, Run, next_pull
from adhesion_stats.planning.ground import Ground
from adhesion_stats.planning.on_site import Spot, ZoneOnSite, on_site, wait_for_plan
from adhesion_stats.planning.plan import Plan, PlannedZone, make_plan
from adhesion_stats.planning.positions import NoRoom, Positions, draw_positions, generator_for

__all__ = [
    "Asked",
    "Ground",
    "NextPull",
    "NoRoom",
    "Plan",
    "PlannedZone",
    "Positions",
    "Run",
    "Spot",
    "ZoneOnSite",
    "draw_positions",
    "generator_for",
    "make_plan",
    "next_pull",
    "on_site",
    "pulls_asked",
    "wait_for_plan",
]
