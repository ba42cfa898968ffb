"""Every value that the decisions are about, as columns: made pulls that count, and required pulls that were not made.

What a value may be
-------------------
=============================================
========================================================================== what is known
    the value lies between
=============================================
========================================================================== exact
    itself and itself at least x (read so, or by the glue rule)      x and the declared ceiling, else without end;
    above the ceiling it is exact
at most x                                      0 and x
a pull not made, or lost; its value in doubt   0 and the ceiling, else without end
exact or at least x, broke elsewhere           x and the ceiling, else without end (the asked interface or layer held)
at most x, broke elsewhere                     0 and the ceiling, else without end
=============================================
==========================================================================

The last two rows are for a criterion that asks for an interface or a layer. A pull broke there where that code has
at least
``Settled.broke_there_from_percent`` of the area; where the failure was not recorded, the break may have been elsewhere.

Shares of the failed area
-------------------------
The share that broke at or in the dolly adhesive says nothing of what the layers would have done: for criteria on
other codes it could have been any code, none excluded. A criterion that names an adhesive code itself asks what
happened, and takes the shares as recorded. Area without a recorded code, a failure that was not recorded and a pull
that was not made are unknown to both.

With ``record_to`` each strength is rounded first. The unknown values stay a continuum: they are not held to the
recording step.

Imports: numpy, floor 0, terms, statistics.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.limits import SHARE, record
from adhesion_stats.acceptance.measurements import grouping, mean_of, reduced, unknown_measurements
from adhesion_stats.errors import WrongUsage
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Reason, Standing
from adhesion_stats.terms.criteria import (
    PULL_OFF,
    AllOf,
    AnyOf,
    CountAtLeast,
    Criterion,
    Requirement,
    criteria,
    depends_on_failure,
    questions,
)
from adhesion_stats.terms.silence import Settled
from adhesion_stats.terms.specification import Specification

__all__ = ["Cases", "cases", "required_number", "unknown_number", "zones_of"]

Values = NDArray[np.float64]
Codes = NDArray[np.int64]
Truth = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Cases:
    """The values of all zones, one entry per value; the order of entries is of no consequence.

    Attributes
    ----------
    zones
        Names of the zones; a zone may have no value at all.
    zone : (m,) int64
        Index into ``zones``.
    pull : (m,) int64
        Row of ``Pulls``; -1 for a required or lost pull that has no value.
    low, high : {question: (m,)} [MPa]
        Between which limits the value lies, by question; equal where exact, ``high`` may be ``inf``.
    codes, glue
        Failure codes of the columns of ``known``; those of them (and others) that are adhesive codes.
    known : (m, c) [% of area]
        Recorded share by code.
    unrecorded : (m,) [% of area]
        Share of which no code is known.
    depth_low, depth_high : (m,) [mm]
        Between which limits the depth of the break lies; 0 and ``inf`` where it was not measured.
    flagged : (m,) bool
        Pointed at by an outlier test.
    measurement : (m,) text
        Name of the measurement whose pulls a value is the mean of (``pull`` is then the first of them), "" for one that
        was not made; (0,) where values are pulls.
    """

    zones: tuple[str, ...]
    zone: Codes
    pull: Codes
    low: Mapping[str, Values]
    high: Mapping[str, Values]
    codes: tuple[str, ...] = ()
    glue: tuple[str, ...] = ()
    known: Values = field(default_factory=lambda: np.zeros((0, 0)))
    unrecorded: Values = field(default_factory=lambda: np.zeros(0))
    depth_low: Values = field(default_factory=lambda: np.zeros(0))
    depth_high: Values = field(default_factory=lambda: np.zeros(0))
    flagged: Truth = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    measurement: NDArray[np.object_] = field(default_factory=lambda: np.zeros(0, dtype=object))

    def __post_init__(self) -> None:
        m = self.zone.size
        if not self.known.size:
            object.__setattr__(self, "known", np.zeros((m, len(self.codes))))
        defaults = {
            "unrecorded": np.zeros(m), "depth_low": np.zeros(m), "depth_high": np.full(m, np.inf),
            "flagged": np.zeros(m, dtype=np.bool_),
        }  # fmt: skip
        for name, empty in defaults.items():
            if getattr(self, name).size != m:
                object.__setattr__(self, name, empty)

    def __len__(self) -> int:
        return int(self.zone.size)

    def keep(self, mask: Truth | NDArray[np.intp]) -> Cases:
        """Return the cases where ``mask`` (m,) is true, or of these rows; zones stay, also those that become empty."""
        return Cases(
            zones=self.zones,
            zone=self.zone[mask],
            pull=self.pull[mask],
            low={q: v[mask] for q, v in self.low.items()},
            high={q: v[mask] for q, v in self.high.items()},
            codes=self.codes,
            glue=self.glue,
            known=self.known[mask],
            unrecorded=self.unrecorded[mask],
            depth_low=self.depth_low[mask],
            depth_high=self.depth_high[mask],
            flagged=self.flagged[mask],
            measurement=self.measurement[mask] if self.measurement.size else self.measurement,
        )

    def drop(self, mask: Truth) -> Cases:
        """Return the cases where ``mask`` (m,) is false."""
        return self.keep(~mask)

    def of(self, zone: str) -> Cases:
        """Return the cases of one zone."""
        return self.keep(self.rows_of(self.zones.index(zone)))

    def rows_of(self, code: int) -> NDArray[np.intp]:
        """Return the rows of one zone, by its index; those of all zones are found together at the first call."""
        order, edges = self._grouped
        return order[edges[code] : edges[code + 1]]

    @functools.cached_property
    def _grouped(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        order = np.argsort(self.zone, kind="stable")
        return order, np.searchsorted(self.zone[order], np.arange(len(self.zones) + 1))


def zones_of(pulls: Pulls, specification: Specification) -> tuple[str, ...]:
    """Zones to decide about: those of the file in its order, then those that only the specification names; of its plan
    those of which something is asked.
    """
    names = () if specification.plan is None else tuple(zone.name for zone in specification.plan.zones)
    planned = [name for name in names if specification.requirement_for(name) is not None]
    named = [*specification.pulls.zones, *(zone for rule in specification.rules for zone in rule.zones), *planned]
    return tuple(dict.fromkeys([*pulls.zones, *named]))


def required_number(specification: Specification, zone: str) -> int:
    """How many pulls a zone needs: the number that is asked for, else the number that its z-of-n criteria plan,
    else 0.
    """
    requirement = specification.requirement_for(zone)
    planned = 0 if requirement is None else _planned(requirement)
    return max(specification.required_for(zone) or 0, planned)


def _planned(requirement: Requirement) -> int:
    """All of: the largest number that a part plans. Any of: the smallest, since that part alone may settle it."""
    if isinstance(requirement, AllOf):
        return max(_planned(part) for part in requirement.parts)
    if isinstance(requirement, AnyOf):
        return min(_planned(part) for part in requirement.parts)
    return requirement.n if isinstance(requirement, CountAtLeast) else 0


def unknown_number(*, required: int, usable: int, lost: int, doubtful: int, settled: Settled) -> int:
    """How many values of a zone are wholly unknown: missing from the required number; or, also beyond it, those of
    doubtful pulls, and of lost ones where these are unknown.
    """
    missing = max(required - usable, 0)
    return max(missing, doubtful + (lost if settled.lost == "unknown" else 0))


def cases(
    pulls: Pulls, standing: Standing, specification: Specification, settled: Settled, zones: Iterable[str]
) -> Cases:
    """Return the values that the decisions are about.

    Parameters
    ----------
    pulls, standing
        Facts and judgement; only pulls that count enter, with bounds as read and as judged.
    specification, settled
        The contract's terms, and one way to settle the rules on which it is silent.
    zones
        The zones to decide about (see ``zones_of``).

    Raises
    ------
    WrongUsage
        If a counted pull belongs to a zone that is not among ``zones``.
    """
    names = tuple(zones)
    zone = pulls.zone.index_in(names)
    counted = np.flatnonzero(standing.counted)
    made = zone[counted]
    if (made < 0).any():
        strangers = sorted(set(pulls.zone.take(counted[made < 0])))
        raise WrongUsage(f"expected every counted pull in one of the zones {names}; found pulls of {strangers}")
    by_measurement = specification.pulls.count_by == "measurement"
    opened = _opened(zone, standing, settled) if by_measurement else np.zeros(0, np.int64)
    absent = zone[opened] if by_measurement else _unknown_pulls(zone, standing, specification, settled, names, made)
    asked = [c for name in names if (r := specification.requirement_for(name)) is not None for c in criteria(r)]
    ceiling = np.inf if specification.pulls.ceiling is None else specification.pulls.ceiling.mpa
    low, high = _read_bounds(pulls, standing, specification, counted)
    lows: dict[str, Values] = {}
    highs: dict[str, Values] = {}
    for question in questions(asked):
        there = None if question == PULL_OFF else _broke_there(pulls, question, settled)[counted]
        lows[question], highs[question] = _for_question(low, high, there, ceiling, absent.size)
    codes = pulls.failure_codes if _asks_for_shares(asked) else ()
    known = np.nan_to_num(pulls.failure_percent[counted], nan=0.0) if codes else np.zeros((counted.size, 0))
    unrecorded = np.maximum(100.0 - known.sum(axis=1), 0.0) if codes else np.full(counted.size, 100.0)
    unrecorded[unrecorded <= SHARE * 100] = 0.0
    depth = pulls.conditions["failure_depth_mm"][counted] if "failure_depth_mm" in pulls.conditions else np.nan
    depth = np.broadcast_to(np.asarray(depth, dtype=np.float64), counted.shape)
    values = Cases(
        zones=names,
        zone=np.concatenate([made, absent]).astype(np.int64),
        pull=np.concatenate([counted, opened if by_measurement else np.full(absent.size, -1)]).astype(np.int64),
        low=lows,
        high=highs,
        codes=codes,
        glue=specification.glue.codes,
        known=np.concatenate([known, np.zeros((absent.size, len(codes)))]),
        unrecorded=np.concatenate([unrecorded, np.full(absent.size, 100.0)]),
        depth_low=np.concatenate([np.nan_to_num(depth, nan=0.0), np.zeros(absent.size)]),
        depth_high=np.concatenate([np.nan_to_num(depth, nan=np.inf), np.full(absent.size, np.inf)]),
        flagged=np.concatenate([standing.flags[counted] != 0, np.zeros(absent.size, dtype=np.bool_)]),
    )
    return _measured(values, pulls, standing, specification, ceiling) if by_measurement else values


def _opened(zone: Codes, standing: Standing, settled: Settled) -> Codes:
    """Rows of the pulls without a usable value that belong to a measurement all the same: in doubt, or lost where lost
    ones are unknown.
    """
    taken_out = int(Reason.REPLACED | Reason.EXCLUDED | Reason.RETEST_OF_VALID)
    there = ((standing.reasons & taken_out) == 0) & (zone >= 0)
    mine = (standing.reasons & int(Reason.DISPUTED | Reason.LOST | Reason.GLUE)) == int(Reason.DISPUTED)
    if settled.lost == "unknown":
        mine = mine | ((standing.reasons & int(Reason.LOST)) != 0)
    return np.flatnonzero(there & mine).astype(np.int64)


def _measured(values: Cases, pulls: Pulls, standing: Standing, specification: Specification, ceiling: float) -> Cases:
    """The pulls' values as one value a valid measurement, and the measurements that are wholly unknown."""
    retained = (standing.reasons[values.pull] & int(Reason.LOST)) == 0
    needed = specification.pulls.pulls_per_measurement or 1
    found = grouping(pulls, values.pull, values.zone, retained, needed=needed)
    unknown = unknown_measurements(found, [required_number(specification, name) for name in values.zones])
    kept, absent = found.valid, unknown.size
    low: dict[str, Values] = {}
    high: dict[str, Values] = {}
    for question, bounds in values.low.items():
        least, most = mean_of(found, bounds, values.high[question])
        low[question] = np.concatenate([least[kept], np.zeros(absent)])
        high[question] = np.concatenate([most[kept], np.full(absent, ceiling)])
    shares = reduced(found, np.concatenate([values.known, values.unrecorded[:, np.newaxis]], axis=1))[kept]
    depth_low, depth_high = np.full(kept.size, np.inf), np.zeros(kept.size)
    np.minimum.at(depth_low, found.group, values.depth_low)
    np.maximum.at(depth_high, found.group, values.depth_high)
    flagged = np.bincount(found.group, weights=values.flagged, minlength=kept.size) > 0
    return Cases(
        zones=values.zones,
        zone=np.concatenate([found.zone[kept], unknown]),
        pull=np.concatenate([found.first[kept], np.full(absent, -1, np.int64)]),
        low=low,
        high=high,
        codes=values.codes,
        glue=values.glue,
        known=np.concatenate([shares[:, :-1], np.zeros((absent, len(values.codes)))]),
        unrecorded=np.concatenate([shares[:, -1], np.full(absent, 100.0)]),
        depth_low=np.concatenate([depth_low[kept], np.zeros(absent)]),
        depth_high=np.concatenate([depth_high[kept], np.full(absent, np.inf)]),
        flagged=np.concatenate([flagged[kept], np.zeros(absent, np.bool_)]),
        measurement=np.array([*(n for n, v in zip(found.names, kept, strict=True) if v), *[""] * absent], dtype=object),
    )


def _asks_for_shares(asked: Iterable[Criterion]) -> bool:
    return any(depends_on_failure(c) for c in asked)


def _unknown_pulls(
    zone: Codes,
    standing: Standing,
    specification: Specification,
    settled: Settled,
    names: tuple[str, ...],
    made: Codes,
) -> Codes:
    """Zone codes of the values that are wholly unknown, one entry each; ``zone`` (n,) is the zone code of each pull."""
    taken_out = int(Reason.REPLACED | Reason.EXCLUDED | Reason.RETEST_OF_VALID)

    def per_zone(mask: Truth) -> Codes:
        kept = mask & ((standing.reasons & taken_out) == 0) & (zone >= 0)
        return np.bincount(zone[kept], minlength=len(names)).astype(np.int64)

    lost = per_zone((standing.reasons & int(Reason.LOST)) != 0)
    # A pull that was made has a value, also where nobody has decided yet which: leaving it out could hide a low one.
    # Broken in the adhesive and discarded it says nothing whatever its value.
    doubtful = per_zone((standing.reasons & int(Reason.DISPUTED | Reason.LOST | Reason.GLUE)) == int(Reason.DISPUTED))
    usable = np.bincount(made, minlength=len(names))
    number = [
        unknown_number(
            required=required_number(specification, name),
            usable=int(usable[i]),
            lost=int(lost[i]),
            doubtful=int(doubtful[i]),
            settled=settled,
        )
        for i, name in enumerate(names)
    ]
    return np.repeat(np.arange(len(names), dtype=np.int64), np.array(number, dtype=np.int64))


def _read_bounds(
    pulls: Pulls, standing: Standing, specification: Specification, counted: NDArray[np.intp]
) -> tuple[Values, Values]:
    """Bounds of the pull-off strength as read and judged, before any ceiling [MPa]."""
    value = pulls.strength_mpa[counted]
    bound = np.where(np.isnan(value), int(Bound.NOTHING), pulls.bound[counted])
    step = specification.rounding.record_to
    if step is not None:
        value = record(value, step, specification.rounding.ties)
    at_least = (bound == Bound.AT_LEAST) | (standing.at_least[counted] & (bound == Bound.EXACT))
    # A bound from above that broke in the adhesive is no bound at all: the layers held more than was read.
    nothing = (bound == Bound.NOTHING) | (standing.at_least[counted] & (bound == Bound.AT_MOST))
    low = np.where(nothing | (bound == Bound.AT_MOST), 0.0, value)
    high = np.where(nothing | at_least, np.inf, value)
    return low, high


def _broke_there(pulls: Pulls, question: str, settled: Settled) -> Truth:
    share = np.nan_to_num(pulls.share((question,)), nan=-1.0)
    return np.greater_equal(share, settled.broke_there_from_percent - SHARE * 100)


def _for_question(low: Values, high: Values, there: Truth | None, ceiling: float, absent: int) -> tuple[Values, Values]:
    """Bounds for one question, the unknown pulls appended."""
    if there is not None:
        high = np.where(there, high, np.inf)
    bounded = low < high
    high = np.where(bounded, np.maximum(np.minimum(high, ceiling), low), high)
    return (
        np.concatenate([low, np.zeros(absent)]),
        np.concatenate([high, np.full(absent, ceiling)]),
    )
