"""The parts of a criterion that depend on what broke, parsed: the way out, limits by failure, means within one failure.

::

    { smallest_at_least = "1.00 MPa", unless_failed = ["A"], from = "50 %", depth_from = "6 mm" }
    { pulls_at_or_above = "0.30 MPa", at_least = 8, of = 12, unless_failed = ["A"], from = "50 %" }
    { each_pull = [ { failed = ["A/B"], from = "60 %", at_least = "3.5 MPa" },
                    { failed = ["A"], from = "40 %", at_least = "3.0 MPa" } ], otherwise = "5.0 MPa" }
    { mean_at_least = "1.5 MPa", only_failed = ["A/B"], from = "50 %" }
    { mean_at_least = "1.5 MPa", within_same_failure = true, from = "60 %" }

Imports: terms. Must not import anything above floor 1.
"""

from __future__ import annotations

from collections.abc import Mapping

from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.criteria import EachPullAtLeast, FailureLimit
from adhesion_stats.terms.entry import Entry
from adhesion_stats.terms.failed import Failed

__all__ = ["MEAN_KEYS", "UNLESS_KEYS", "each_pull", "mean_selection", "parse_depth", "way_out"]

UNLESS_KEYS = ("unless_failed", "from", "depth_from")
MEAN_KEYS = ("only_failed", "within_same_failure", "from", "depth_from")
_HALF = 50.0  # two codes can't both have more than half of an area


def way_out(entry: Entry) -> Failed | None:
    """Return which pulls are excused; None where the criterion has no way out."""
    if "unless_failed" in entry.table:
        return _failed(entry.check, entry.table, entry.path, "unless_failed")
    _without_use(entry, ("from", "depth_from"), needs="unless_failed")
    return None


def mean_selection(entry: Entry) -> tuple[Failed | None, float | None]:
    """Return which pulls the mean is over, or the share from which on they count as failed alike; both None: all."""
    check, table = entry.check, entry.table
    alike = check.flag(table, "within_same_failure", entry.at("within_same_failure"))
    if alike and "only_failed" in table:
        check.problem("spec_two_selections", entry.path)
        return None, None
    if "only_failed" in table:
        return _failed(check, table, entry.path, "only_failed"), None
    if not alike:
        _without_use(entry, ("from", "depth_from"), needs="only_failed or within_same_failure")
        return None, None
    _without_use(entry, ("depth_from",), needs="only_failed")
    start = check.percent(table, "from", entry.at("from"), above_zero=True)
    entry.needed("from", 'the share of a pull\'s area, such as "60 %"')
    if start is not None and start <= _HALF:
        came = str(table["from"])
        check.problem("spec_out_of_range", entry.at("from"), expected="more than half of the area", came=came)
        return None, None
    return None, start


def _without_use(entry: Entry, names: tuple[str, ...], *, needs: str) -> None:
    for name in names:
        if name in entry.table:
            entry.check.problem("spec_key_needs_another", entry.at(name), needs=needs)


def each_pull(entry: Entry) -> EachPullAtLeast | None:
    """Return the limits by failure; every problem is kept."""
    check, found = entry.check, list[FailureLimit]()
    parts = check.tables(entry.table, entry.main, entry.at(entry.main))
    for i, part in enumerate(parts, 1):
        place = f"{entry.at(entry.main)}[{i}]"
        check.keys(part, place, ("failed", "from", "depth_from", "at_least"))
        for name, what in (("failed", "failure codes"), ("at_least", "a limit")):
            if name not in part:
                check.problem("spec_missing_key", f"{place}.{name}", what=what)
        failed = _failed(check, part, place, "failed")
        limit = check.strength(part, "at_least", f"{place}.at_least")
        if failed is not None and limit is not None:
            found.append(FailureLimit(failed, limit))
    if not parts and isinstance(entry.table[entry.main], list):
        check.problem("spec_empty", entry.at(entry.main))
    otherwise, question = entry.strength("otherwise"), entry.question()
    named = [case.limit for case in found] + ([] if otherwise is None else [otherwise])
    if len({limit.unit for limit in named}) > 1:
        check.problem("spec_units_differ", entry.path, units=tuple(dict.fromkeys(limit.unit for limit in named)))
        return None
    return EachPullAtLeast(entry.key, entry.source, question, tuple(found), otherwise) if found else None


def _failed(check: Checker, entry: Mapping[str, object], path: str, name: str) -> Failed | None:
    """Return the description whose codes stand under the key ``name``, with ``from`` and ``depth_from`` beside it.

    None where something is missing or wrong; every problem is kept in ``check``.
    """
    codes = check.codes(entry, name, f"{path}.{name}")
    start = check.percent(entry, "from", f"{path}.from", above_zero=True)
    if "from" not in entry:
        check.problem("spec_missing_key", f"{path}.from", what='the share of a pull\'s area, such as "50 %"')
    depth, text = parse_depth(check, entry, path)
    if not codes or start is None or ("depth_from" in entry and depth is None):
        return None
    return Failed(codes, start, depth, text)


def parse_depth(check: Checker, entry: Mapping[str, object], path: str) -> tuple[float | None, str]:
    """Return the least depth of the break [mm] and how it was written; (None, "") where it is not asked or wrong."""
    depth = check.measure(entry, "depth_from", f"{path}.depth_from", "length")
    if depth is not None and depth <= 0:
        check.problem(
            "spec_out_of_range", f"{path}.depth_from", expected="a depth above 0", came=str(entry["depth_from"])
        )
        return None, ""
    return depth, "" if depth is None else str(entry["depth_from"]).strip()
