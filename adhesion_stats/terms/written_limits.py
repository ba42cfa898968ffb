"""Limits as contracts write them: in two units at once, and with a guard band.

"200 psi and 1.4 MPa" are two limits (200 psi is 1.379 MPa): which one governs has to be said. A guard band is added to
the limit that a result has to reach (guarded acceptance, JCGM 106:2012, 8.3.2); it belongs to the measurement, is
common to all pulls of the zone and no smaller for many, and says nothing of sampling.

Imports: terms, units.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from adhesion_stats.errors import UnknownUnit
from adhesion_stats.quantities import shown
from adhesion_stats.terms.checker import Checker, parse_limit
from adhesion_stats.terms.criteria import Limit
from adhesion_stats.units import factor

__all__ = ["LIMIT_KEYS", "guarded", "limit_of"]

LIMIT_KEYS = ("guard", "governs")
_TWO = re.compile(r"(?P<first>.+?)\s*(?:\band\b|\(|/|,|;)\s*(?P<second>\d[^()]*?)\)?")


def limit_of(check: Checker, table: Mapping[str, object], name: str, path: str, governs: str | None) -> Limit | None:
    """The limit under a key; of one in two units that whose unit ``governs``, with both in its text."""
    value = table.get(name)
    pair = _pair(value) if isinstance(value, str) else None
    if pair is None:
        if governs is not None:
            check.problem("spec_governs_one", path)
        return check.strength(table, name, path)
    chosen = [limit for limit in pair if limit.unit == governs]
    if len(chosen) != 1:
        first, second = pair
        facts = {
            "first": first.text,
            "second": second.text,
            "first_is": shown(first.mpa, second.unit, second.places + 2),
        }
        check.problem("spec_two_limits", path, **facts, units=(first.unit, second.unit))
        return None
    other = next(limit for limit in pair if limit is not chosen[0])
    return replace(chosen[0], text=f"{chosen[0].text} ({other.text})")


def _pair(text: str) -> tuple[Limit, Limit] | None:
    found = _TWO.fullmatch(text.strip())
    if found is None:
        return None
    try:
        first, second = parse_limit(found["first"]), parse_limit(found["second"])
    except (ValueError, UnknownUnit):
        return None
    return (first, second) if first.unit != second.unit else None


def guarded(limit: Limit, guard: Limit) -> Limit:
    """The limit that results have to reach: the limit and the guard band, in the limit's unit; its text names both."""
    if guard.unit == limit.unit:
        value = float(Decimal(repr(limit.value)) + Decimal(repr(guard.value)))
    else:
        value = limit.value + guard.mpa / factor(limit.unit, "strength")
    places = max(limit.places, guard.places)
    return replace(
        limit,
        text=f"{limit.text} + {guard.text}",
        value=value,
        places=places,
        mpa=value * factor(limit.unit, "strength"),
    )
