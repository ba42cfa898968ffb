"""What the counted pulls of each zone say: n, mean, spread, interval, characteristic values; or why they can't."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.limits import record
from adhesion_stats.messages import Message, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.statistics import (
    blocks,
    confidence_interval_mean,
    describe,
    en1990_known_cov,
    en1990_known_sd,
    en1990_unknown,
    k_en1990_known,
    k_en1990_unknown,
    k_one_sided,
    tolerance_bound_lower,
)
from adhesion_stats.terms.criteria import CharacteristicAtLeast, criteria
from adhesion_stats.terms.specification import CharacteristicAsked, Specification

__all__ = ["Characteristic", "ZoneSummary", "asked_methods", "summarise"]

SOURCES = {
    "tolerance": "one-sided normal tolerance bound, noncentral t, NIST/SEMATECH e-Handbook, 7.2.6.3",
    "en1990-unknown": "EN 1990:2002, Annex D, D7.2, coefficient of variation unknown (formula; document not seen)",
    "en1990-known": "EN 1990:2002, Annex D, D7.2, coefficient of variation known (formula; document not seen)",
}


@dataclass(frozen=True)
class Characteristic:
    """A characteristic value by one method [MPa], with the factor used."""

    asked: CharacteristicAsked
    k: float
    value: float

    @property
    def source(self) -> str:
        """Where the method is written."""
        return SOURCES[self.asked.method]


@dataclass(frozen=True)
class ZoneSummary:
    """Summary of one zone's counted pulls; strengths in MPa, None where the pulls can't say it (see ``unsaid``)."""

    zone: str
    n: int
    bounded: int = 0
    mean: float | None = None
    sd: float | None = None
    cov: float | None = None
    smallest: float | None = None
    largest: float | None = None
    median: float | None = None
    interval: tuple[float, float] | None = None
    characteristic: tuple[Characteristic, ...] = ()
    unsaid: tuple[Message, ...] = field(default=())


def asked_methods(specification: Specification, zone: str) -> tuple[CharacteristicAsked, ...]:
    """Return the characteristic values to show for ``zone``: those that its criteria use, then those asked for."""
    found: dict[CharacteristicAsked, None] = {}
    requirement = specification.requirement_for(zone)
    for criterion in criteria(requirement) if requirement is not None else ():
        if isinstance(criterion, CharacteristicAtLeast):
            c = criterion
            found[CharacteristicAsked(c.method, c.content, c.confidence, c.known_cov, c.known_sd)] = None
    for asked in specification.characteristic:
        found[asked] = None
    return tuple(found)


def summarise(
    pulls: Pulls, standing: Standing, specification: Specification, zones: tuple[str, ...]
) -> tuple[ZoneSummary, ...]:
    """Summarise the counted pulls of each zone, in the order of ``zones``.

    A pull that is known from below only stands in with its bound: then mean and smallest value are lower bounds, and no
    spread is given. With a pull that is known from above only, neither is given.
    """
    counted = np.flatnonzero(standing.counted)
    codes = pulls.zone.index_in(zones)[counted]
    inexact = (pulls.bound[counted] != Bound.EXACT) | standing.at_least[counted]
    bounded = np.bincount(codes[inexact], minlength=len(zones))
    capped = np.bincount(codes[pulls.bound[counted] == Bound.AT_MOST], minlength=len(zones))
    summaries = [ZoneSummary(zone, 0, unsaid=(_say("summary_no_pulls"),)) for zone in zones]
    if counted.size:
        rounding = specification.rounding
        values = pulls.strength_mpa[counted]
        if rounding.record_to is not None:  # the values that the decisions are about
            values = record(values, rounding.record_to, rounding.ties)
        for n, group, x in blocks(codes, values):
            for i, summary in zip(group, _block(n, x, group, bounded, specification, zones), strict=True):
                summaries[int(i)] = _capped(summary) if capped[int(i)] else summary
    return tuple(summaries)


def _capped(summary: ZoneSummary) -> ZoneSummary:
    """The summary without what an upper bound leaves open."""
    unsaid = (_say("summary_at_most", bounded=summary.bounded, n=summary.n),)
    return replace(summary, mean=None, smallest=None, largest=None, median=None, unsaid=unsaid)


def _say(code: str, **facts: str | int) -> Message:
    return Message(code, Severity.NOTE, facts=facts)


def _block(
    n: int,
    x: NDArray[np.float64],
    group: NDArray[np.int64],
    bounded: NDArray[np.int64],
    specification: Specification,
    zones: tuple[str, ...],
) -> list[ZoneSummary]:
    d = describe(x)
    level = specification.interval_confidence
    interval = confidence_interval_mean(x, confidence=level) if n >= 2 else None
    values: dict[CharacteristicAsked, tuple[float, NDArray[np.float64]] | None] = {}
    found: list[ZoneSummary] = []
    for row, i in enumerate(group):
        zone = zones[int(i)]
        inexact = int(bounded[int(i)])
        unsaid: list[Message] = []
        kept: list[Characteristic] = []
        if inexact:
            unsaid.append(_say("summary_bounded", bounded=inexact, n=n))
        elif n == 1:
            unsaid.append(_say("summary_one_pull"))
        else:
            for asked in asked_methods(specification, zone):
                if asked not in values:
                    values[asked] = _characteristic(asked, n, x)
                result = values[asked]
                if result is None:
                    unsaid.append(_say("summary_factor_unknown", n=n))
                    continue
                value = float(result[1][row])
                if value <= 0:
                    unsaid.append(_say("summary_below_zero", n=n, k=f"{result[0]:.2f}"))
                else:
                    kept.append(Characteristic(asked, result[0], value))
        exact = inexact == 0 and n >= 2
        cov = float(d.cov[row])
        found.append(
            ZoneSummary(
                zone,
                n,
                inexact,
                mean=float(d.mean[row]),
                sd=float(d.sd[row]) if exact else None,
                cov=cov if exact and not np.isnan(cov) else None,
                smallest=float(d.smallest[row]),
                largest=float(d.largest[row]),
                median=float(d.median[row]),
                interval=(float(interval[0][row]), float(interval[1][row])) if exact and interval is not None else None,
                characteristic=tuple(kept),
                unsaid=tuple(unsaid),
            )
        )
    return found


def _characteristic(
    asked: CharacteristicAsked, n: int, x: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64]] | None:
    """Factor and values by one method for a block; None where the method has no factor for this n."""
    if asked.method == "tolerance":
        if asked.content is None or asked.confidence is None:
            return None
        k = k_one_sided(n=n, content=asked.content, confidence=asked.confidence)
        return k, tolerance_bound_lower(x, content=asked.content, confidence=asked.confidence)
    if asked.method == "en1990-unknown":
        if n < 3:
            return None  # table D1 starts at three tests
        return k_en1990_unknown(n=n), en1990_unknown(x, factors="formula")
    if asked.known_cov is not None:
        return k_en1990_known(n=n), en1990_known_cov(x, cov=asked.known_cov, factors="formula")
    if asked.known_sd is not None:
        return k_en1990_known(n=n), en1990_known_sd(x, sd=asked.known_sd.mpa, factors="formula")
    return None
