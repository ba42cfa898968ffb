"""The decisions step of the benchmark: mean, smallest and characteristic value of every zone, over every completion."""

from __future__ import annotations

import functools

from adhesion_stats.acceptance import Block, Outcomes, evaluate
from adhesion_stats.statistics import Description, Stack
from adhesion_stats.terms.criteria import Requirement
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding

SPECIFICATION = b"""
[contract]
title = "benchmark"
[[require]]
all_of = [
  { mean_at_least = "1.50 MPa" },
  { smallest_at_least = "1.00 MPa" },
  { characteristic_at_least = "1.00 MPa", method = "tolerance", content = 0.95, confidence = 0.75 },
]
"""


@functools.cache
def requirement() -> Requirement:
    """What is asked of every zone."""
    found = parse_specification(SPECIFICATION, file="benchmark.toml").requirement_for("")
    assert found is not None
    return found


def decide_stack(stack: Stack, _: Description) -> Outcomes:
    """Decide all zones of a stack."""
    return evaluate(requirement(), Block.of(stack), rounding=Rounding())
