"""The plan dictionary as types: what plan.json holds, field by field. Lengths in metres, areas in m²."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict, cast

from adhesion_stats.reporting.results import ContractHead, MessageDict

__all__ = ["AskedFacts", "PlanFacts", "PositionFacts", "ZoneFacts", "plan_from"]


class AskedFacts(TypedDict):
    """What one rule asks of a zone."""

    kind: str
    pulls: int
    per_measurement: int
    each: int
    times: int
    source: str
    first_area: str | None
    then_each: str | None
    begun: bool | None


class RetestFacts(TypedDict):
    """A position kept for a retest."""

    id: str
    x_m: float
    y_m: float


class PositionFacts(TypedDict):
    """A pull's position and what is kept beside it."""

    id: str
    x_m: float
    y_m: float
    measurement: str | None
    retests: list[RetestFacts]


class KeepOutFacts(TypedDict):
    """A part of a zone where nobody pulls."""

    name: str
    corners: list[list[float]]


class MeasurementFacts(TypedDict):
    """A measurement: several pulls within a square (x from, y from, x to, y to) that count as one value."""

    name: str
    square: list[float] | None


class ZoneFacts(TypedDict):
    """A zone's plan."""

    zone: str
    number: int
    area_m2: float | None
    area_from: str | None
    parts: dict[str, list[str]]
    asked: list[AskedFacts]
    decides: int
    pulls: int
    measurements: list[MeasurementFacts] | None
    risk: RiskFacts | None
    outline: list[list[float]] | None
    keep_outs: list[KeepOutFacts]
    step_m: float | None
    cells: list[list[float]] | None
    positions: list[PositionFacts]


class RiskTerms(TypedDict):
    """The risks wanted; means as written."""

    good_mean: str
    bad_mean: str
    cov_percent: float
    accept_good_at_least_percent: float
    accept_bad_at_most_percent: float
    between_percent: float
    between_given: bool


class RiskFacts(TypedDict):
    """How often a good and a bad zone are accepted with ``n`` values [-]."""

    n: int
    good: float
    bad: float
    met: bool
    how: str
    standard_error: float


class PlanRules(TypedDict):
    """How positions were drawn."""

    seed: int | None
    stratified: bool | None
    edge_distance_m: float | None
    spacing_m: float | None
    retest_positions: int | None
    per_measurement: int | None
    measurement_side_m: float | None
    source: str
    risk: RiskTerms | None


class PlanFile(TypedDict):
    """A file that the plan was made from."""

    file: str
    sha256: str


class PlanInputs(TypedDict):
    """What the plan was made from."""

    specification: PlanFile


class PlanFacts(TypedDict):
    """The whole of plan.json."""

    format: str
    format_version: int
    contract: ContractHead
    inputs: PlanInputs
    rules: PlanRules
    pulls: int
    zones: list[ZoneFacts]
    messages: list[MessageDict]
    cautions: list[MessageDict]


def plan_from(plan: Mapping[str, object]) -> PlanFacts:
    """The dictionary under its types. Raises ValueError for another format or version."""
    if plan.get("format") != "adhesion_stats plan" or plan.get("format_version") != 1:
        came = f"{plan.get('format')!r}, version {plan.get('format_version')!r}"
        raise ValueError(f"Expected a plan of the format 'adhesion_stats plan', version 1; found {came}.")
    return cast("PlanFacts", plan)
