"""What each criterion on strengths asks of n values, as a value to compute and a limit to compare it with.

The limit is compared in its own unit, and equal meets; with ``rounded`` the value is first rounded to the last place of
the limit as written (ASTM E29). A difference below the stated tolerance counts as none: 1e-12 of the largest number for
values and means, 1e-10 where a standard deviation went in.
Imports: mpmath, the standard library, this package.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import mpmath
from mpmath import mpf

from adhesion_stats.twin import formulas
from adhesion_stats.twin.model import NotKnown
from adhesion_stats.twin.quantities import Limit, limit_of, measure, percent
from adhesion_stats.twin.terms import Criterion, Terms
from adhesion_stats.twin.values import Number

__all__ = ["Fitted", "OfMean", "Rank", "Spread", "Threshold", "Unformed", "characteristic", "form_of", "threshold"]

VALUE, SPREAD, SHARE = 1e-12, 1e-10, 1e-9
_ZERO, _ONE = mpf(0), mpf(1)


@dataclass(frozen=True)
class Threshold:
    """The number from which on a value meets, in the limit's unit, and whether that number itself does."""

    at: Number
    closed: bool
    unit: Fraction = Fraction(1)  # what one unit is in MPa
    at_most: bool = False

    def meets(self, value: object, tolerance: float, largest: float = 0.0) -> bool:
        """Whether a value [MPa, or %] meets; ``largest``: the largest number that went into it."""
        if value == math.inf:
            return not self.at_most
        at, away = self.at, value / self.unit - self.at if isinstance(value, Fraction) else None
        if away is None:
            away = mpf(value) / formulas.number(self.unit) - formulas.number(at)
        slack = tolerance * max(abs(float(at)), largest / float(self.unit))
        away = -away if self.at_most else away
        return bool(away >= -slack) if self.closed else bool(away > slack)


def threshold(limit: Limit, terms: Terms, *, at_most: bool = False) -> Threshold:
    """The threshold of a limit under the rounding of the contract."""
    if not terms.rounded:
        return Threshold(limit.value, True, limit.mpa, at_most)
    step = Fraction(1, 10**limit.places)
    last = limit.value / step  # the limit counted in its last place
    if at_most:
        return Threshold(limit.value + step / 2, not (terms.ties_up or (last + 1) % 2 == 0), limit.mpa, True)
    return Threshold(limit.value - step / 2, terms.ties_up or last % 2 == 0, limit.mpa)


@dataclass(frozen=True)
class Unformed:
    """A criterion whose value can't be formed from so few values: neither met nor missed."""


@dataclass(frozen=True)
class Rank:
    """The value of a rank, counted from the largest, is at or above the limit; between ``best`` and ``worst`` where
    more or fewer values are there than were planned and the choice among them is open.
    """

    best: int
    worst: int
    limit: Threshold


@dataclass(frozen=True)
class Spread:
    """scale * mean - k * max(sd, floor) - shift, of the values or of their logarithms, at or above the limit.

    ``quotient``: the value that is shown where the contract limits a function of Q = (mean - limit) / sd.
    """

    limit: Threshold
    k: mpf = _ZERO
    scale: mpf = _ONE
    shift: mpf = _ZERO
    floor_share: float = 0.0
    floor: float = 0.0
    logs: bool = False
    quotient: Callable[[mpf], mpf] | None = None

    @property
    def tolerance(self) -> float:
        """What counts as no difference, relative."""
        return SPREAD if self.k else VALUE

    def value(self, values: Sequence[Number]) -> Number | mpf:
        """The number that is compared with the limit [MPa]."""
        if not self.k and self.scale == 1 and not self.shift:
            return math.inf if math.inf in values else formulas.mean([Fraction(v) for v in values])
        if self.logs:
            if min(values) <= 0:
                return mpf(0)
            logs = [mpmath.log(formulas.number(v)) for v in values]
            middle = mpmath.fsum(logs) / len(logs)
            spread = mpmath.sqrt(mpmath.fsum((v - middle) ** 2 for v in logs) / (len(logs) - 1))
            return mpmath.exp(middle - self.k * max(spread, self.floor))
        if math.inf in values:
            return math.inf
        exact = [Fraction(v) for v in values]
        middle = formulas.number(formulas.mean(exact))
        if not self.k:
            return self.scale * middle - self.shift
        spread = mpmath.sqrt(formulas.number(formulas.variance(exact)))
        return self.scale * middle - self.k * max(spread, self.floor_share * middle) - self.shift

    def rough(self, values: Sequence[float]) -> float:
        """The same in floats, for a search."""
        if self.logs:
            if min(values) <= 0:
                return 0.0
            logs = [math.log(v) for v in values]
            return math.exp(min(_rough(logs, float(self.k), self.floor, 0.0), 700.0))
        return _rough([v * float(self.scale) for v in values], float(self.k / self.scale), 0.0, self.floor_share)

    def shown(self, values: Sequence[Number]) -> Number | mpf | None:
        """The value that a report shows; None where Q has no number."""
        if self.quotient is None:
            return self.value(values)
        exact = [Fraction(v) for v in values]
        spread = mpmath.sqrt(formulas.number(formulas.variance(exact)))
        if spread == 0:
            return None
        return self.quotient((formulas.number(formulas.mean(exact)) - formulas.number(self.limit.at)) / spread)

    def never_falls(self, n: int) -> bool:
        """Whether the value never falls as one of n values grows."""
        return not self.logs and not self.floor_share and self.k * math.sqrt(n) <= self.scale


@dataclass(frozen=True)
class OfMean:
    """100 * smallest / mean at or above the limit [%]."""

    limit: Threshold
    tolerance: float = VALUE

    def value(self, values: Sequence[Number]) -> Number:
        """The share [%]; of values that are all 0 it is 100."""
        if len(values) == 1:
            return Fraction(100)
        middle = formulas.mean([Fraction(v) for v in values])
        return 100 * Fraction(min(values)) / middle if middle else Fraction(100)

    def rough(self, values: Sequence[float]) -> float:
        """The same in floats, for a search."""
        middle = math.fsum(values) / len(values)
        return 100 * min(values) / middle if middle else 100.0

    def shown(self, values: Sequence[Number]) -> Number:
        """The value that a report shows."""
        return self.value(values)

    def never_falls(self, n: int) -> bool:
        """Of one value the share is always 100 %."""
        return n == 1


@dataclass(frozen=True)
class Fitted:
    """The exact bound of a Weibull sample at or above the limit; None where none can be found."""

    limit: Threshold
    content: float
    confidence: float
    tolerance: float = SPREAD

    def value(self, values: Sequence[Number]) -> mpf | None:
        """The bound [MPa]."""
        return formulas.weibull_bound(tuple(sorted(Fraction(v) for v in values)), self.content, self.confidence)


Form = Rank | Spread | OfMean | Fitted | Unformed


def _rough(values: Sequence[float], k: float, floor: float, floor_share: float) -> float:
    middle = math.fsum(values) / len(values)
    spread = math.sqrt(math.fsum((v - middle) ** 2 for v in values) / max(len(values) - 1, 1))
    return middle - k * max(spread, floor, floor_share * middle)


def form_of(criterion: Criterion, n: int, terms: Terms, pooled: tuple[mpf, int] | None) -> Form:
    """What a criterion asks of n values; ``pooled``: the sd [MPa] of several zones and its degrees of freedom.

    Raises ``NotKnown`` for a kind or method that the twin does not know.
    """
    if n == 0:
        return Unformed()
    maker = _FORMS.get(criterion.kind)
    if maker is None:
        raise NotKnown("kind", criterion.kind)
    return maker(dict(criterion.table), n, terms, pooled)


def _mean(table: dict[str, object], _: int, terms: Terms, __: object) -> Form:
    return Spread(threshold(limit_of(table, "mean_at_least"), terms))


def _smallest(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    key = "smallest_at_least" if "smallest_at_least" in table else "held_at"
    return Rank(n, n, threshold(limit_of(table, key), terms))


def _count(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    limit = threshold(limit_of(table, "pulls_at_or_above"), terms)
    if "at_least_share" in table:
        z = math.ceil(percent(str(table["at_least_share"]))[0] * n / 100)
        return Rank(z, z, limit)
    z, planned = int(str(table["at_least"])), int(str(table["of"]))
    return Rank(z - max(planned - n, 0), z + max(n - planned, 0), limit)


def _of_mean(table: dict[str, object], _: int, terms: Terms, __: object) -> Form:
    share, places = percent(str(table["smallest_at_least_of_mean"]))
    return OfMean(threshold(Limit(share, places, "%", Fraction(1)), terms))


def _less_sd(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    k = table["k"]
    factor = k.get(str(n)) if isinstance(k, dict) else k
    if n < 2 or factor is None:
        return Unformed()
    return Spread(threshold(limit_of(table, "mean_less_sd_at_least"), terms), k=mpf(str(factor)))


def _on_quotient(k: mpf, table: dict[str, object], closed: Threshold, shown: Callable[[mpf], mpf]) -> Form:
    lower = measure(str(table["lower_limit"]), "strength") if "lower_limit" in table else None
    at = Fraction(0) if lower is None else lower.value * lower.mpa
    return Spread(Threshold(at, closed.closed), k=k, quotient=shown)


def _quality(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    if n < 2:
        return Unformed()
    index = Fraction(str(table["quality_index_at_least"]))
    places = max(2, len(str(table["quality_index_at_least"]).partition(".")[2]))
    limit = threshold(Limit(index, places, "", Fraction(1)), terms)
    return _on_quotient(formulas.number(limit.at), table, limit, lambda q: q)


def _share_below(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    if n < 3:
        return Unformed()
    share, places = percent(str(table["share_below_at_most"]))
    limit = threshold(Limit(share, places, "%", Fraction(1)), terms, at_most=True)
    k = _quality_of_share(n, limit.at)
    return _on_quotient(k, table, limit, lambda q: formulas.share_below(q, n))


@functools.cache
def _quality_of_share(n: int, share: Number) -> mpf:
    """The Q at which the estimated share below the limit [%] comes to ``share``; from (n - 1) / √n on it is 0."""
    at, most = formulas.number(share), mpf((n - 1) / math.sqrt(n))
    return formulas.root(lambda q: formulas.share_below(q, n) - at, mpf(0), most, 1e-18)


def _cov(table: dict[str, object], n: int, terms: Terms, __: object) -> Form:
    if n < 2:
        return Unformed()
    share, places = percent(str(table["cov_at_most"]))
    limit = threshold(Limit(share, places, "%", Fraction(1)), terms, at_most=True)
    return _on_quotient(100 / formulas.number(limit.at), table, limit, lambda q: 100 / q)


def _characteristic(table: dict[str, object], n: int, terms: Terms, pooled: tuple[mpf, int] | None) -> Form:
    limit = threshold(limit_of(table, "characteristic_at_least"), terms)
    return characteristic(table, n, limit, pooled)


def characteristic(table: dict[str, object], n: int, limit: Threshold, pooled: tuple[mpf, int] | None = None) -> Form:
    """A characteristic value by its method. Sources: ISO 16269-6 (tolerance bounds), EN 1990:2002 Annex D, D7.2 (k_n by
    formula), EN 14358:2016 (floor of 0.05 under the spread), ISO 12491 (5 % fractile).
    """
    method = str(table["method"])
    fractile = method.startswith(("en", "iso"))
    content = 0.95 if fractile else float(str(table["content"]))
    confidence = 0.75 if method.startswith("en14358") else float(str(table.get("confidence", 0.75)))
    known = "known_cov" in table or "known_sd" in table
    if method == "weibull":
        return Fitted(limit, content, confidence) if n > 1 else Unformed()
    if method == "order-statistic":
        return _order(n, Fraction(str(table["content"])), Fraction(str(table["confidence"])), limit)
    if known:
        k = _en_factor(n) if method == "en1990-known" else formulas.factor_known_spread(n, content, confidence)
        if "known_cov" in table:
            return Spread(limit, scale=1 - k * mpf(str(table["known_cov"])))
        sd = measure(str(table["known_sd"]), "strength")
        return Spread(limit, shift=k * formulas.number(sd.value * sd.mpa))
    if method == "pooled":
        if pooled is None:
            return Unformed()
        k = formulas.factor_one_sided(n, content, confidence, pooled[1])
        return Spread(limit, shift=k * pooled[0])
    if n < (3 if method.startswith("en14358") else 2):
        return Unformed()
    if method == "en1990-unknown":
        return Spread(limit, k=formulas.student_quantile(0.95, n - 1) * mpmath.sqrt(1 + mpf(1) / n))
    k = formulas.factor_one_sided(n, content, confidence, n - 1)
    floor = 0.05 if method.startswith("en14358") else 0.0
    if method in {"lognormal", "en14358-lognormal"}:
        return Spread(limit, k=k, floor=floor, logs=True)
    if method in {"tolerance", "iso12491", "en14358-normal"}:
        return Spread(limit, k=k, floor_share=floor)
    raise NotKnown("method", method)


def _en_factor(n: int) -> mpf:
    """k_n with known spread: z(0.95) √(1 + 1/n)."""
    return formulas.normal_quantile(0.95) * mpmath.sqrt(1 + mpf(1) / n)


def _order(n: int, content: Fraction, confidence: Fraction, limit: Threshold) -> Form:
    ranks = [rank for rank in range(1, n + 1) if formulas.confidence_of_rank(n, rank, content) >= confidence]
    if not ranks:
        return Unformed()
    return Rank(n + 1 - ranks[-1], n + 1 - ranks[-1], limit)


_FORMS: dict[str, Callable[[dict[str, object], int, Terms, tuple[mpf, int] | None], Form]] = {
    "mean_at_least": _mean,
    "smallest_at_least": _smallest,
    "held_at": _smallest,
    "pulls_at_or_above": _count,
    "smallest_at_least_of_mean": _of_mean,
    "mean_less_sd_at_least": _less_sd,
    "quality_index_at_least": _quality,
    "share_below_at_most": _share_below,
    "cov_at_most": _cov,
    "characteristic_at_least": _characteristic,
}
