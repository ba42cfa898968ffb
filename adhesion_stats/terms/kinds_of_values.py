"""How criteria on the zone's values are written.

Imports: terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from adhesion_stats.terms.characteristic import METHOD_KEYS, method_asked
from adhesion_stats.terms.criteria import (
    CharacteristicAtLeast,
    CountAtLeast,
    CovAtMost,
    HeldAt,
    Limit,
    MeanAtLeast,
    MeanLessSd,
    QualityIndex,
    ShareBelow,
    ShareOfPulls,
    SmallestAtLeast,
    SmallestOfMean,
)
from adhesion_stats.terms.entry import Entry, Kind
from adhesion_stats.terms.structure import MEAN_KEYS, UNLESS_KEYS, mean_selection, way_out

__all__ = ["VALUE_KINDS"]

_HALF, _ALL = 50.0, 100.0


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
        asked.pooled_over,
    )


def _count(entry: Entry) -> CountAtLeast | ShareOfPulls | None:
    if "at_least_share" in entry.table:
        return _share_of_pulls(entry)
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


def _share_of_pulls(entry: Entry) -> ShareOfPulls | None:
    limit, question = entry.strength(), entry.question()
    if {"at_least", "of"} & entry.table.keys():
        entry.check.problem("spec_one_kind", entry.path, found=(), known=("at_least and of", "at_least_share"))
    for name in UNLESS_KEYS:
        if name in entry.table:
            entry.check.problem("spec_unknown_key", entry.at(name), known="question, at_least_share, source")
    found = entry.percent("at_least_share")
    if found is None or limit is None:
        return None
    return ShareOfPulls(entry.key, entry.source, question, limit, Decimal(f"{found[0]:.{found[1]}f}"))


def _held(entry: Entry) -> HeldAt | None:
    limit, question = entry.strength(), entry.question()
    return None if limit is None else HeldAt(entry.key, entry.source, question, limit)


def _less_sd(entry: Entry) -> MeanLessSd | None:
    limit, question = entry.strength(), entry.question()
    entry.needed("k", "a factor, or a table by the number of pulls such as { 3 = 1.7, 4 = 1.55 }")
    written = entry.table.get("k")
    if isinstance(written, dict):
        by_n = _factors(entry, written)
        return None if limit is None else MeanLessSd(entry.key, entry.source, question, limit, None, by_n)
    k = entry.check.number(entry.table, "k", entry.at("k"))
    if k is None or limit is None:
        return None
    return MeanLessSd(entry.key, entry.source, question, limit, k)


def _factors(entry: Entry, written: Mapping[str, object]) -> tuple[tuple[int, float], ...]:
    """Factors by number of pulls, ascending."""
    found: dict[int, float] = {}
    if not written:
        entry.check.problem("spec_empty", entry.at("k"))
    for name in written:
        n = int(name) if name.isascii() and name.isdigit() else 0
        k = entry.check.number(written, name, entry.at(f"k.{name}"))
        if n < 2:
            expected = "a number of pulls from 2 up as the key"
            entry.check.problem("spec_out_of_range", entry.at(f"k.{name}"), expected=expected, came=f'"{name}"')
        elif k is not None:
            found[n] = k
    return tuple(sorted(found.items()))


def _lower_limit(entry: Entry) -> Limit | None:
    entry.needed("lower_limit", 'the lower limit of a single value, such as "1.50 MPa"')
    return entry.strength("lower_limit")


def _quality_index(entry: Entry) -> QualityIndex | None:
    limit, question = _lower_limit(entry), entry.question()
    index = entry.check.number(entry.table, entry.main, entry.at(entry.main))
    if limit is None or index is None:
        return None
    places = max(0, -int(Decimal(repr(index)).normalize().as_tuple().exponent))
    return QualityIndex(entry.key, entry.source, question, limit, index, max(places, 2))


def _share_below(entry: Entry) -> ShareBelow | None:
    limit, question, found = _lower_limit(entry), entry.question(), entry.percent()
    if found is not None and found[0] >= _HALF:
        came = f"{found[0]:g} %"
        entry.check.problem("spec_out_of_range", entry.at(entry.main), expected="a share below 50 %", came=came)
    return None if limit is None or found is None else ShareBelow(entry.key, entry.source, question, limit, *found)


def _cov(entry: Entry) -> CovAtMost | None:
    question, found = entry.question(), entry.percent()
    return None if found is None else CovAtMost(entry.key, entry.source, question, *found)


def _of_mean(entry: Entry) -> SmallestOfMean | None:
    question, found = entry.question(), entry.percent()
    if found is not None and found[0] >= _ALL:
        came = f"{found[0]:g} %"
        entry.check.problem("spec_out_of_range", entry.at(entry.main), expected="a share below 100 %", came=came)
    return None if found is None else SmallestOfMean(entry.key, entry.source, question, *found)


VALUE_KINDS = (
    Kind("mean_at_least", ("question", *MEAN_KEYS), _mean, limited=True),
    Kind("smallest_at_least", ("question", *UNLESS_KEYS), _smallest, limited=True),
    Kind("smallest_at_least_of_mean", ("question",), _of_mean),
    Kind("characteristic_at_least", ("question", *METHOD_KEYS), _characteristic, limited=True),
    Kind("mean_less_sd_at_least", ("question", "k"), _less_sd, limited=True),
    Kind("quality_index_at_least", ("question", "lower_limit"), _quality_index),
    Kind("share_below_at_most", ("question", "lower_limit"), _share_below),
    Kind("cov_at_most", ("question",), _cov),
    Kind("pulls_at_or_above", ("question", "at_least", "of", "at_least_share", *UNLESS_KEYS), _count, limited=True),
    Kind("held_at", ("question",), _held, limited=True),
)
