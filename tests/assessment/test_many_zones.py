"""The work grows with the pulls, never with pulls times zones or retests: steps are counted, no clock is read."""

from __future__ import annotations

import sys
from types import FrameType

import numpy as np

from adhesion_stats.assessment import assess
from adhesion_stats.intake import Reading
from adhesion_stats.terms.layout import Layout
from tests.building import Pull, pulls, specification

TERMS = """
[[require]]
all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.0 MPa" }]
[pulls]
required = 5
[[exclude]]
zone = "Deck 1"
id = "p2"
reason = "dolly touched the edge"
who = "A. Engineer"
"""


def readings(zones: int) -> Reading:
    """Five pulls a zone under the same ids in every zone; glue breaks, lost pulls, retests of either kind."""
    rng = np.random.default_rng(7)
    rows = []
    for k in range(zones):
        zone = f"Deck {k}"
        for i in range(4):
            glue = i == k % 7
            strength = round(float(rng.normal(2.2, 0.4)), 2)
            rows.append(Pull(strength, zone, f"p{i}", {"Y": 100.0} if glue else {"A": 100.0}, lost=i == k % 11))
        rows.append(Pull(2.0, zone, "p4", {"A": 100.0}, retest_of=f"p{k % 4}"))
    return Reading(pulls(rows), (), Layout())


def steps(zones: int) -> int:
    """Lines of the package's own code that run while so many zones are assessed."""
    reading, terms = readings(zones), specification(TERMS)
    assess(reading, terms).as_dict()  # so that what is computed once a process is not counted
    count = 0

    def trace(frame: FrameType, event: str, _: object) -> object:
        nonlocal count
        if "adhesion_stats" not in frame.f_code.co_filename:
            return None
        count += event == "line"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)  # type: ignore[arg-type]
    try:
        assess(readings(zones), terms).as_dict()
    finally:
        sys.settrace(before)
    return count


def test_four_times_the_zones_take_at_most_four_times_the_steps() -> None:
    """And not more: a loop over pulls within a loop over zones would take sixteen times as many."""
    assert steps(160) <= 4 * steps(40)
