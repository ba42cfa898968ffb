"""How criteria on what broke are written.

Imports: terms.
"""

from __future__ import annotations

from adhesion_stats.terms.criteria import FailureShare, PullsWithFailure
from adhesion_stats.terms.entry import Entry, Kind
from adhesion_stats.terms.structure import each_pull, parse_depth

__all__ = ["FAILURE_KINDS"]


def _sides(entry: Entry) -> tuple[float | None, float | None, int | None]:
    """Lower limit, upper limit [%] and decimal places; exactly one of the limits must be there."""
    check, table = entry.check, entry.table
    low = check.percent(table, "at_least", entry.at("at_least"))
    high = check.percent(table, "at_most", entry.at("at_most"))
    if ("at_least" in table) == ("at_most" in table):
        check.problem("spec_one_kind", entry.path, found=(), known=("at_least", "at_most"))
    return low, high, check.percent_places(table, "at_least" if "at_least" in table else "at_most")


def _share(entry: Entry) -> FailureShare | None:
    codes = entry.check.codes(entry.table, entry.main, entry.at(entry.main))
    low, high, places = _sides(entry)
    return FailureShare(entry.key, entry.source, codes, low, high, places) if codes else None


def _pulls(entry: Entry) -> PullsWithFailure | None:
    codes = entry.check.codes(entry.table, entry.main, entry.at(entry.main))
    low, high, places = _sides(entry)
    start = entry.check.percent(entry.table, "from", entry.at("from"), above_zero=True)
    entry.needed("from", 'the share of a pull\'s area, such as "50 %"')
    depth, text = parse_depth(entry.check, entry.table, entry.path)
    if not codes or start is None:
        return None
    return PullsWithFailure(entry.key, entry.source, codes, start, low, high, places, depth, text)


FAILURE_KINDS = (
    Kind("failure_share", ("at_least", "at_most"), _share),
    Kind("pulls_with_failure", ("from", "depth_from", "at_least", "at_most"), _pulls),
    Kind("each_pull", ("question", "otherwise"), each_pull),
)
