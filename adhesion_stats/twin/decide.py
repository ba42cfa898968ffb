"""Decisions over every completion of what is unknown, by looking at completions one by one.

A completion gives every unknown value a number between its bounds. A zone conforms if every completion meets the whole
requirement and does not conform if none does. Here, for each criterion alone:

- one that never falls as a value grows (mean, ranks, known spread) is decided by all values low and all values high;
- mean - k sd with k √n > 1, and the like, falls without end as one value grows, so that an unknown value without end
  can always make it fail; else its least value lies at a corner of the bounds (a concave function has it there); its
  greatest value lies where all unknown values stand at one common level, as far as their bounds let them (for a given
  mean the spread is least there), and that level is found by narrowing down.

Together: proofs combine (all of: each part; any of: one part), and witnesses are looked for among all low, all high,
all at one level, one or two high and the others low. Where neither a proof nor a witness is found, the twin says so.
Imports: mpmath, the standard library, this package.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from mpmath import mpf

from adhesion_stats.twin.breaks import Ends, area_ends, area_value, by_failure_ends, depends_alone, view_bounds
from adhesion_stats.twin.forms import Fitted, Form, OfMean, Rank, Spread, Unformed, form_of
from adhesion_stats.twin.model import INFINITE, NotKnown
from adhesion_stats.twin.terms import AREA_KINDS, KINDS, AllOf, AnyOf, Criterion, Requirement, Terms, criteria
from adhesion_stats.twin.values import Number, Value

__all__ = ["Found", "ZoneDecision", "decide"]

Bounds = Sequence[tuple[Number, Number]]
Completion = Callable[[Bounds], list[Number]]
_MOST_CORNERS = 10  # unknown values whose corners are all tried: 2^10
_LEVELS = 30
_FAR = 1000  # a level without end is tried at so many times the largest number


@dataclass(frozen=True)
class Found:
    """One criterion in one zone: its ends, and why it was not checked (None: it was)."""

    criterion: Criterion
    ends: Ends | None
    unknown: bool = False  # whether the ends are those of unknown values
    why_not: NotKnown | None = None


@dataclass(frozen=True)
class ZoneDecision:
    """Outcome of a zone, None where it was not resolved or a criterion was not checked."""

    outcome: str | None
    found: tuple[Found, ...] = field(default=())
    unresolved: bool = False

    def of(self, key: str) -> Found | None:
        """What was found of one criterion."""
        return next((one for one in self.found if one.criterion.key == key), None)


@dataclass(frozen=True)
class _Strength:
    """A criterion on strengths with the form that it has and the bounds that it is decided on."""

    form: Form
    bounds: Bounds

    def met(self, completion: Completion) -> bool | None:
        """Whether a completion meets; None where that is open even so."""
        x = completion(self.bounds)
        if isinstance(self.form, Unformed):
            return None
        if isinstance(self.form, Rank):
            best, worst = (_rank(self.form, x, rank) for rank in (self.form.best, self.form.worst))
            return best if best == worst else None
        if isinstance(self.form, Fitted):
            bound = self.form.value(x)
            return None if bound is None else self.form.limit.meets(bound, self.form.tolerance, _largest(x))
        return self.form.limit.meets(self.form.value(x), self.form.tolerance, _largest(x))


def _largest(x: Sequence[Number]) -> float:
    return max(float(v) for v in x if v != INFINITE) if any(v != INFINITE for v in x) else 0.0


def _rank(form: Rank, x: Sequence[Number], rank: int) -> bool:
    """Whether the value of a rank, counted from the largest, meets."""
    return rank < 1 or form.limit.meets(sorted(x, reverse=True)[min(rank, len(x)) - 1], 1e-12)


def _low(bounds: Bounds) -> list[Number]:
    return [low for low, _ in bounds]


def _high(bounds: Bounds) -> list[Number]:
    return [high for _, high in bounds]


def _at_level(level: Number) -> Completion:
    """Every unknown value at one level, as far as its bounds let it."""
    return lambda bounds: [low if low == high else min(max(level, low), high) for low, high in bounds]


def _corner(highs: frozenset[int], far: Number) -> Completion:
    """The unknown values of these places high (at ``far`` where there is no end), the others low."""
    return lambda bounds: [(min(high, max(low, far)) if i in highs else low) for i, (low, high) in enumerate(bounds)]


def decide(
    requirement: Requirement,
    values: Sequence[Value],
    terms: Terms,
    *,
    held_back: bool,
    pooled: Callable[[Criterion], tuple[mpf, int] | None],
) -> ZoneDecision:
    """Decide a zone; ``held_back``: too few values count for any decision."""
    found: list[Found] = []
    asked: dict[str, _Strength] = {}
    for criterion in criteria(requirement):
        try:
            found.append(_alone(criterion, values, terms, pooled, asked))
        except NotKnown as problem:
            found.append(Found(criterion, None, why_not=problem))
    if held_back:
        return ZoneDecision("undetermined", tuple(found))
    known = {one.criterion.key: one for one in found}
    always, never = _proved(requirement, known, meets=True), _proved(requirement, known, meets=False)
    if always or never:
        return ZoneDecision("conforms" if always else "does not conform", tuple(found))
    if any(one.ends is None for one in found):
        return ZoneDecision(None, tuple(found))
    seen = {True: False, False: False}
    for outcome in _witnesses(requirement, known, asked, values, terms):
        seen[outcome] = True
        if all(seen.values()):
            return ZoneDecision("undetermined", tuple(found))
    if len(found) == 1:  # its own ends are exact
        return ZoneDecision("undetermined", tuple(found))
    return ZoneDecision(None, tuple(found), unresolved=True)


def _alone(
    criterion: Criterion,
    values: Sequence[Value],
    terms: Terms,
    pooled: Callable[[Criterion], tuple[mpf, int] | None],
    asked: dict[str, _Strength],
) -> Found:
    """One criterion taken alone; ``asked`` takes what it is about, where that is strengths."""
    if criterion.strange and criterion.kind in KINDS:
        raise NotKnown("key", criterion.strange)
    if criterion.kind in AREA_KINDS:
        return Found(criterion, area_ends(criterion, values, terms))
    if depends_alone(criterion):
        return Found(criterion, by_failure_ends(criterion, values, terms))
    bounds = view_bounds(criterion, values, terms)
    strength = _Strength(form_of(criterion, len(values), terms, pooled(criterion)), bounds)
    asked[criterion.key] = strength
    return Found(criterion, _ends(strength), unknown=any(low != high for low, high in bounds))


def _ends(strength: _Strength) -> Ends:
    form, bounds = strength.form, strength.bounds
    if isinstance(form, Unformed):
        return Ends(True, True)
    if isinstance(form, Rank):
        return _rank_ends(form, bounds)
    low, high = _low(bounds), _high(bounds)
    if isinstance(form, Fitted):
        return _fitted_ends(form, low, exact=low == high)
    if low == high:
        met = bool(strength.met(_low))
        shown = form.shown(low)
        return Ends(met, not met, shown, shown)
    if form.never_falls(len(bounds)):
        can_meet, can_fail = bool(strength.met(_high)), not strength.met(_low)
        if isinstance(form, Spread) and form.quotient is not None:
            return Ends(can_meet, can_fail)  # the quotient itself can rise and fall
        return Ends(can_meet, can_fail, form.shown(low), form.shown(high))
    return Ends(bool(strength.met(_best_level(strength))), _falls_short(strength))


def _fitted_ends(form: Fitted, values: Sequence[Number], *, exact: bool) -> Ends:
    """A bound that is found by a fit: of known values only."""
    if not exact:
        raise NotKnown("fitted_unknown")
    bound = form.value(values)
    if bound is None:
        return Ends(True, True)
    met = form.limit.meets(bound, form.tolerance, _largest(values))
    return Ends(met, not met, bound, bound)


def _rank_ends(form: Rank, bounds: Bounds) -> Ends:
    low, high = sorted(_low(bounds), reverse=True), sorted(_high(bounds), reverse=True)
    n = len(bounds)
    can_meet, must = _rank(form, high, form.best), _rank(form, low, form.worst)
    return Ends(can_meet, not must, low[min(form.worst, n) - 1], high[max(form.best, 1) - 1])


def _falls_short(strength: _Strength) -> bool:
    """Whether some completion fails a criterion that falls in the end."""
    bounds = strength.bounds
    if any(high == INFINITE for low, high in bounds if low != high):
        return True
    free = [i for i, (low, high) in enumerate(bounds) if low != high]
    if len(free) > _MOST_CORNERS:
        raise NotKnown("corners", str(len(free)))
    sets = itertools.chain.from_iterable(itertools.combinations(free, k) for k in range(len(free) + 1))
    return any(not strength.met(_corner(frozenset(highs), INFINITE)) for highs in sets)


def _best_level(strength: _Strength) -> Completion:
    """The level at which a criterion that falls in the end is best, narrowed down by thirds."""
    form, bounds = strength.form, strength.bounds
    assert isinstance(form, Spread | OfMean)

    floats = [(float(low), float(high)) for low, high in bounds]

    def value(level: float) -> float:
        return form.rough([min(max(level, low), high) for low, high in floats])

    low = min(low for low, _ in floats)
    high = 2 * max(1.0, *(end for bound in floats for end in bound if end != INFINITE))
    for _ in range(60):  # where every value is without end, so is the criterion's
        if value(2 * high) <= value(high):
            break
        high *= 2
    for _ in range(90):
        third = (high - low) / 3
        if value(low + third) < value(high - third):
            low += third
        else:
            high -= third
    return _at_level(Fraction((low + high) / 2))


def _proved(part: Requirement, known: Mapping[str, Found], *, meets: bool) -> bool:
    """Whether every completion surely meets (or surely fails) a requirement."""
    if isinstance(part, Criterion):
        ends = known[part.key].ends
        return ends is not None and not (ends.can_fail if meets else ends.can_meet)
    every = all if isinstance(part, AllOf) == meets else any
    return every(_proved(inner, known, meets=meets) for inner in part.parts)


def _met(part: Requirement, truths: Mapping[str, bool]) -> bool:
    if isinstance(part, Criterion):
        return truths[part.key]
    return (any if isinstance(part, AnyOf) else all)(_met(inner, truths) for inner in part.parts)


def _witnesses(
    requirement: Requirement,
    known: Mapping[str, Found],
    asked: Mapping[str, _Strength],
    values: Sequence[Value],
    terms: Terms,
) -> Iterator[bool]:
    """Whether the requirement is met, for one completion after the other."""
    others = list(_other_truths(known, asked, values, terms))
    for completion in _completions(asked):
        truths: dict[str, bool] = {}
        open_ = []
        for key, strength in asked.items():
            met = strength.met(completion)
            if met is None:
                open_.append(key)
            else:
                truths[key] = met
        for other in others:
            for choice in itertools.product((True, False), repeat=len(open_)):
                yield _met(requirement, {**truths, **other, **dict(zip(open_, choice, strict=True))})


def _completions(asked: Mapping[str, _Strength]) -> Iterator[Completion]:
    """All low, all high, the best level of each criterion, many levels, one or two high and the others low."""
    far = _far(asked)
    yield _low
    yield _at_level(far)
    for strength in asked.values():
        free = any(low != high for low, high in strength.bounds)
        falls = isinstance(strength.form, Spread | OfMean) and not strength.form.never_falls(len(strength.bounds))
        if falls and free:
            yield _best_level(strength)
    top = far / _FAR * 3
    for i in range(_LEVELS + 1):
        yield _at_level(Fraction(top) * i / _LEVELS)
    places = sorted({i for s in asked.values() for i, (low, high) in enumerate(s.bounds) if low != high})
    for k in range(1, 1 + min(len(places), 2)):
        for highs in itertools.combinations(places, k):
            yield _corner(frozenset(highs), far)


def _far(asked: Mapping[str, _Strength]) -> Fraction:
    numbers = [Fraction(v) for s in asked.values() for bound in s.bounds for v in bound if v != INFINITE]
    limits = [Fraction(s.form.limit.at) * s.form.limit.unit for s in asked.values() if not isinstance(s.form, Unformed)]
    return _FAR * max([*numbers, *limits, Fraction(1)])


def _other_truths(
    known: Mapping[str, Found], asked: Mapping[str, _Strength], values: Sequence[Value], terms: Terms
) -> Iterator[dict[str, bool]]:
    """What the criteria that are not on strengths can come to, together: unknown areas all to one code after the other.

    One of these that is open alone is independent of the strengths, and both its outcomes can be had.
    """
    others = [one for key, one in known.items() if key not in asked]
    settled = {}
    free = []
    for one in others:
        ends = one.ends
        assert ends is not None  # decide looked
        if ends.can_meet != ends.can_fail:
            settled[one.criterion.key] = ends.can_meet
        else:
            free.append(one.criterion)
    areas = [criterion for criterion in free if criterion.kind in AREA_KINDS]
    alone = [criterion.key for criterion in free if criterion.kind not in AREA_KINDS]
    if len(areas) == 1 or not values:
        alone, areas = [*alone, *(criterion.key for criterion in areas)], []
    codes = {str(code) for criterion in areas for code in _codes(criterion)}
    for code in [None, *sorted(codes)] if areas else [None]:
        truths = {c.key: area_value(c, values, terms, all_to=code)[1] for c in areas}
        for choice in itertools.product((True, False), repeat=len(alone)):
            yield {**settled, **truths, **dict(zip(alone, choice, strict=True))}


def _codes(criterion: Criterion) -> list[object]:
    named = criterion.table[criterion.kind]
    return named if isinstance(named, list) else [named]
