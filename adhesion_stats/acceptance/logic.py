"""All of / any of: which sets of criteria have to be met, or failed, by one completion.

"Every completion meets" distributes over all-of, "no completion meets" over any-of. The other two don't: two
criteria may each be met by some completion and never by the same one. So a requirement is written out

- as any-of of all-of's (``ways_to_meet``): some completion meets it if some completion meets all criteria of one of
the sets;
- as all-of of any-of's (``ways_to_fail``): some completion fails it if some completion fails all criteria of one of
the sets.

Both are exact. Sets that contain another one are left out. Written out, deeply nested requirements can grow beyond
use; past
``MOST_SETS`` ``None`` is returned, and the parts are combined one by one: never wrong, but more often undetermined.

Imports: terms.
"""

from __future__ import annotations

import itertools

from adhesion_stats.terms.criteria import AllOf, AnyOf, Criterion, Requirement, criteria

__all__ = ["MOST_SETS", "numbered", "ways_to_fail", "ways_to_meet"]

MOST_SETS = 2048
Sets = frozenset[frozenset[int]]


def numbered(requirement: Requirement) -> tuple[Criterion, ...]:
    """The criteria in the order in which they are written; each place counts, also where two are equal."""
    return tuple(criteria(requirement))


def ways_to_meet(requirement: Requirement) -> Sets | None:
    """Sets of criteria (numbered as in ``numbered``), one of which must be met whole."""
    return _written_out(requirement, product=AllOf)


def ways_to_fail(requirement: Requirement) -> Sets | None:
    """Sets of criteria, one of which must fail whole."""
    return _written_out(requirement, product=AnyOf)


def _written_out(requirement: Requirement, *, product: type[AllOf | AnyOf]) -> Sets | None:
    counter = itertools.count()

    def sets(part: Requirement) -> Sets | None:
        if not isinstance(part, AllOf | AnyOf):
            return frozenset({frozenset({next(counter)})})
        found = [sets(p) for p in part.parts]
        known = [s for s in found if s is not None]
        if len(known) < len(found):
            return None
        if not isinstance(part, product):
            return _smallest(frozenset().union(*known))
        crossed: Sets = frozenset({frozenset()})
        for s in known:
            if len(crossed) * len(s) > MOST_SETS:
                return None
            crossed = _smallest(frozenset(a | b for a in crossed for b in s))
        return crossed

    return sets(requirement)


def _smallest(sets: Sets) -> Sets:
    return frozenset(s for s in sets if not any(other < s for other in sets))
