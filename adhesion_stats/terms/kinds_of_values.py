"""How criteria on the zone's values are written.

Imports: terms.
"""

from __future__ import annotations

from adhesion_stats.terms.characteristic import METHOD_KEYS, method_asked
from adhesion_stats.terms.criteria import CharacteristicAtLeast, CountAtLeast, MeanAtLeast, SmallestAtLeast
from adhesion_stats.terms.entry import Entry, Kind
from adhesion_stats.terms.structure import MEAN_KEYS, UNLESS_KEYS, mean_selection, way_out

__all__ = ["VALUE_KINDS"]


def _mean(entry: Entry) -> MeanAtLeast | None:
    limit, question = entry.strength(), entry.question()
    only, alike = mean_selection(entry)
    return None if limit is None else MeanAtLeast(entry.key, entry.source, question, limit, only, alike)


def _smallest(entry: Entry) -> SmallestAtLeast | None:
    limit, question, unless = entry.strength(), entry.question(), way_out(entry)
    return None if limit is None else SmallestAtLeast(entry.key, entry.source, question, limit, unless)


def _characteristic(entry: Entry) -> CharacteristicAtLeast | None:
    limit, question = entry.strength(), entry.question()
    asked = method_asked(entry.check, entry.table, entry.path)
    if limit is None or asked is None:
        return None
    return CharacteristicAtLeast(
        entry.key,
        entry.source,
        question,
        limit,
        asked.method,
        asked.content,
        asked.confidence,
        asked.known_cov,
        asked.known_sd,
    )


def _count(entry: Entry) -> CountAtLeast | None:
    limit, question, unless = entry.strength(), entry.question(), way_out(entry)
    z = entry.check.count(entry.table, "at_least", entry.at("at_least"), at_least=1)
    n = entry.check.count(entry.table, "of", entry.at("of"), at_least=1)
    for name in ("at_least", "of"):
        entry.needed(name, "a number of pulls")
    if z is None or n is None or limit is None:
        return None
    if z > n:
        entry.check.problem("spec_more_than_all", entry.at("at_least"), z=z, n=n)
    return CountAtLeast(entry.key, entry.source, question, limit, z, n, unless)


VALUE_KINDS = (
    Kind("mean_at_least", ("question", *MEAN_KEYS), _mean),
    Kind("smallest_at_least", ("question", *UNLESS_KEYS), _smallest),
    Kind("characteristic_at_least", ("question", *METHOD_KEYS), _characteristic),
    Kind("pulls_at_or_above", ("question", "at_least", "of", *UNLESS_KEYS), _count),
)
