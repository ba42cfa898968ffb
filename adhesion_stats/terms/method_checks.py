"""What a method asks of preparation and loading: the table ``[method]`` of a specification.

::

    [method]
    use = "ISO 4624:2016"               # optional: a shipped method (see terms.use), which the keys below stand over
    dolly = "50 mm"                     # diameter, or side of a square
    dolly_shape = "square"              # or "round"
    cut = "yes"                         # or "no": cut round the dolly into the substrate
    cut_depth = ["10 mm", "20 mm"]      # an end that is not bounded is written "any"
    rate = ["0.04 MPa/s", "0.06 MPa/s"]
    time_to_failure = ["any", "90 s"]
    temperature = ["5 °C", "27 °C"]     # of the surface
    min_age = 7                         # days
    min_glue_hours = 24                 # between gluing and pulling
    least_pulls = 5                     # that count, in each zone
    spacing = "2 dollies"               # centre to centre; or a length
    edge = "1 dolly"                    # centre to the edge of the zone's outline, where the plan has one; or a length
    calibrated = true                   # the calibration is in force on the day (due in [readings.instruments])
    failure_shares_step = "10 %"
    invalid = ["cut", "cut_depth"]      # a breach of these makes a pull invalid; of the others it is a caution

Imports: terms.checker. Must not import anything above floor 1.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from adhesion_stats.terms.checker import Checker

__all__ = ["BREACHES", "Distance", "MethodChecks", "method_checks"]

# Checks of single pulls, which "invalid" may name.
BREACHES = (
    "dolly", "dolly_shape", "cut", "cut_depth", "rate", "time_to_failure", "temperature", "min_age", "spacing", "edge",
    "calibrated", "min_glue_hours",
)  # fmt: skip
_KEYS = (*BREACHES, "least_pulls", "failure_shares_step", "invalid")
_IN_DOLLIES = re.compile(r"(\d+(?:\.\d+)?)\s*doll(?:y|ies)")


@dataclass(frozen=True, slots=True)
class Distance:
    """A least distance as written: exactly one of millimetres and multiples of the dolly's size."""

    text: str
    mm: float | None = None
    dollies: float | None = None


@dataclass(frozen=True)
class MethodChecks:
    """What the contract's method asks of preparation and loading. None: not asked; an unbounded end is infinite.

    A breach is a caution, or makes the pull invalid where ``invalid`` names the check.
    """

    dolly_mm: float | None = None
    dolly_shape: Literal["round", "square"] | None = None
    cut: Literal["yes", "no"] | None = None
    cut_depth_mm: tuple[float, float] | None = None
    rate_mpa_per_s: tuple[float, float] | None = None
    time_to_failure_s: tuple[float, float] | None = None
    temperature_c: tuple[float, float] | None = None
    share_step_percent: float | None = None
    min_age_days: float | None = None
    min_glue_hours: float | None = None
    least_pulls: int | None = None
    spacing: Distance | None = None
    edge: Distance | None = None
    calibrated: bool = False
    invalid: frozenset[str] = frozenset()


def method_checks(check: Checker, table: Mapping[str, object]) -> MethodChecks:
    """Return the table ``[method]``; each problem is kept in ``check``."""
    check.keys(table, "method", _KEYS)
    cut = check.choice(table, "cut", "method.cut", ("yes", "no"))
    shape = check.choice(table, "dolly_shape", "method.dolly_shape", ("round", "square"))
    return MethodChecks(
        dolly_mm=check.measure(table, "dolly", "method.dolly", "length"),
        dolly_shape=None if shape is None else ("round" if shape == "round" else "square"),
        cut=None if cut is None else ("yes" if cut == "yes" else "no"),
        cut_depth_mm=check.span(table, "cut_depth", "method.cut_depth", "length"),
        rate_mpa_per_s=check.span(table, "rate", "method.rate", "rate"),
        time_to_failure_s=check.span(table, "time_to_failure", "method.time_to_failure", "time"),
        temperature_c=check.span(table, "temperature", "method.temperature", "temperature"),
        share_step_percent=check.percent(table, "failure_shares_step", "method.failure_shares_step", above_zero=True),
        min_age_days=check.number(table, "min_age", "method.min_age"),
        min_glue_hours=check.number(table, "min_glue_hours", "method.min_glue_hours"),
        least_pulls=check.count(table, "least_pulls", "method.least_pulls", at_least=1),
        spacing=_distance(check, table, "spacing"),
        edge=_distance(check, table, "edge"),
        calibrated=bool(check.flag(table, "calibrated", "method.calibrated")),
        invalid=_invalid(check, table),
    )


def _distance(check: Checker, table: Mapping[str, object], key: str) -> Distance | None:
    text = check.text(table, key, f"method.{key}")
    if text is None:
        return None
    if found := _IN_DOLLIES.fullmatch(text):
        return Distance(text, dollies=float(found[1]))
    mm = check.measure(table, key, f"method.{key}", "length")
    return None if mm is None else Distance(text, mm=mm)


def _invalid(check: Checker, table: Mapping[str, object]) -> frozenset[str]:
    names = check.texts(table, "invalid", "method.invalid") or ()
    for name in names:
        if check.one_of(name, "method.invalid", BREACHES) and name not in table:
            check.problem("spec_missing_key", f"method.{name}", what="what the method asks, since invalid names it")
    return frozenset(names)
