"""Comparison of recorded and recomputed results."""

import pytest

from adhesion_stats.record import Difference, compare_results

RECORDED: dict[str, object] = {
    "decision": {"outcome": "conforms"},
    "zones": [{"zone": "Z1", "summary": {"mean": 1.5, "n": 5}, "at_limit": False, "binding": None}],
}


def _with(**changes: object) -> dict[str, object]:
    zone: dict[str, object] = {"zone": "Z1", "summary": {"mean": 1.5, "n": 5}, "at_limit": False, "binding": None}
    return {"decision": {"outcome": "conforms"}, "zones": [zone | changes]}


def test_equal_results_agree() -> None:
    """Nothing differs, and every entry was looked at."""
    found = compare_results(RECORDED, _with())
    assert (found.differences, found.entries, found.inexact) == ((), 6, 0)


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"summary": {"mean": 1.5000001, "n": 5}}, "zones[0].summary.mean"),
        ({"summary": {"mean": 1.5, "n": 6}}, "zones[0].summary.n"),
        ({"summary": {"mean": 1.5, "n": 5, "sd": 0.1}}, "zones[0].summary.sd"),
        ({"summary": {"mean": None, "n": 5}}, "zones[0].summary.mean"),
        ({"summary": {"n": 5}}, "zones[0].summary.mean"),
        ({"summary": []}, "zones[0].summary"),
        ({"zone": "Z2"}, "zones[0].zone"),
        ({"at_limit": True}, "zones[0].at_limit"),
        ({"at_limit": 0}, "zones[0].at_limit"),
        ({"binding": ""}, "zones[0].binding"),
    ],
)
def test_each_change_is_found_at_its_place(changes: dict[str, object], path: str) -> None:
    """A changed number, count, text, truth value, a missing and an added entry are each found."""
    assert [d.path for d in compare_results(RECORDED, _with(**changes)).differences] == [path]


def test_a_missing_and_an_added_zone_are_found() -> None:
    """Lists of different length differ in what one of them does not have."""
    shorter: dict[str, object] = {"decision": {"outcome": "conforms"}, "zones": []}
    assert [d.path for d in compare_results(RECORDED, shorter).differences] == ["zones[0]"]
    assert [d.path for d in compare_results(shorter, RECORDED).differences] == ["zones[0]"]


def test_the_last_bit_is_not_a_difference_but_is_said() -> None:
    """0.1 + 0.2 against 0.3: within the tolerance, counted as inexact."""
    found = compare_results({"x": 0.3}, {"x": 0.1 + 0.2})
    assert found.differences == ()
    assert found.inexact == 1
    assert 0 < found.largest < 1e-15


def test_whole_numbers_have_no_tolerance() -> None:
    """A count of a milliard pulls is not the same as one more."""
    assert compare_results({"n": 10**10}, {"n": 10**10 + 1}).differences == (Difference("n", 10**10, 10**10 + 1),)
