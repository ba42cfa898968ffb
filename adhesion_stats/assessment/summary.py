"""What the counted pulls of each zone say: n, mean, spread, interval, characteristic values; or why they can't."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from adhesion_stats.acceptance.forms import factor_of, least_number
from adhesion_stats.acceptance.limits import record
from adhesion_stats.messages import Message, Severity
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.standing import Standing
from adhesion_stats.statistics import (
    EN14358_SOURCE,
    blocks,
    confidence_interval_mean,
    describe,
    en14358_lognormal,
    en14358_normal,
    mean_and_sd,
    order_statistic_bound,
    tolerance_bound_lognormal,
    tolerance_bound_weibull,
)
from adhesion_stats.terms.criteria import CharacteristicAtLeast, criteria
from adhesion_stats.terms.specification import CharacteristicAsked, Specification

__all__ = ["Characteristic", "ZoneSummary", "asked_methods", "summarise"]

SOURCES = {
    "tolerance": "one-sided normal tolerance bound, noncentral t, NIST/SEMATECH e-Handbook, 7.2.6.3",
    "en1990-unknown": "EN 1990:2002, Annex D, D7.2, coefficient of variation unknown (formula; document not seen)",
    "en1990-known": "EN 1990:2002, Annex D, D7.2, coefficient of variation known (formula; document not seen)",
    "tolerance-known-sd": "one-sided normal tolerance bound, standard deviation known: ISO 16269-6",
    "pooled": "one-sided normal tolerance bound with a pooled standard deviation, noncentral t: Owen, SCR-607 (1963)",
    "lognormal": "one-sided normal tolerance bound of the logarithms: ISO 16269-6",
    "weibull": "tolerance bound of a Weibull sample: Lawless, Technometrics 20 (1978) 355-364",
    "order-statistic": "bound without a distribution: ISO 16269-6; Wilks, Ann. Math. Statist. 12 (1941) 91-96",
    "en14358-normal": EN14358_SOURCE,
    "en14358-lognormal": EN14358_SOURCE,
    "iso12491": "ISO 12491, 5 % fractile, coverage method (formula)",
}


@dataclass(frozen=True)
class Characteristic:
    """A characteristic value by one method [MPa], with the factor used."""

    asked: CharacteristicAsked
    k: float | None
    value: float
    rank: int | None = None
    reached: float | None = None

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
            method = "tolerance" if c.method == "pooled" else c.method  # by the zone's own spread, beside the pooled
            found[CharacteristicAsked(method, c.content, c.confidence, c.known_cov, c.known_sd)] = None
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
    values: dict[CharacteristicAsked, Found | None] = {}
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
                    unsaid.append(_not_formed(asked, n))
                    continue
                value = float(result.value[row])
                if np.isnan(value):
                    unsaid.append(_say("summary_not_fitted", n=n))
                elif value <= 0 and result.k is not None:
                    unsaid.append(_say("summary_below_zero", n=n, k=f"{result.k:.2f}"))
                else:
                    kept.append(Characteristic(asked, result.k, value, result.rank, result.reached))
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


@dataclass(frozen=True)
class Found:
    """Characteristic values (g,) by one method, nan where the method finds none; factor, or rank and confidence."""

    value: NDArray[np.float64]
    k: float | None = None
    rank: int | None = None
    reached: float | None = None


def _not_formed(asked: CharacteristicAsked, n: int) -> Message:
    """Why a method gives no value for n pulls."""
    needed = least_number(asked)
    if n < needed:
        return _say("summary_needs_more", n=n, needed=needed)
    return _say("summary_factor_unknown", n=n)


def _characteristic(asked: CharacteristicAsked, n: int, x: NDArray[np.float64]) -> Found | None:
    """Values by one method for a block of samples of n; None where the method has none for this n."""
    if n < least_number(asked):
        return None
    if asked.method in {"order-statistic", "weibull", "lognormal", "en14358-lognormal"}:
        return _without_factor(asked, x)
    k = factor_of(asked, n)
    if k is None or (asked.method == "en1990-unknown" and n < 3):
        return None  # table D1 of EN 1990 starts at three tests
    mean, sd = mean_and_sd(x)
    if asked.known_cov is not None:
        return Found(mean * (1.0 - k * asked.known_cov), k)
    if asked.known_sd is not None:
        return Found(mean - k * asked.known_sd.mpa, k)
    if asked.method == "en14358-normal":
        return Found(en14358_normal(x, factors="exact"), k)
    return Found(mean - k * sd, k)


def _without_factor(asked: CharacteristicAsked, x: NDArray[np.float64]) -> Found:
    """Values by methods that need values above 0, or no distribution."""
    content, confidence = asked.content or 0.95, asked.confidence or 0.75
    if asked.method == "order-statistic":
        bound = order_statistic_bound(x, content=content, confidence=confidence)
        return Found(bound.value, None, bound.rank, bound.confidence)
    value = np.full(x.shape[0], np.nan)
    rows = np.flatnonzero((x[:, 0] > 0) & ((x[:, 0] < x[:, -1]) | (asked.method != "weibull")))
    if rows.size:
        kept = np.ascontiguousarray(x[rows])
        if asked.method == "weibull":
            value[rows] = tolerance_bound_weibull(kept, content=content, confidence=confidence)
        elif asked.method == "lognormal":
            value[rows] = tolerance_bound_lognormal(kept, content=content, confidence=confidence)
        else:
            value[rows] = en14358_lognormal(kept, factors="exact")
    return Found(value, factor_of(asked, x.shape[1]))
