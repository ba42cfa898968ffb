"""docs/digits-of-agreement.md is what its script makes, and we stand at the top of each row."""

from __future__ import annotations

import pytest

from tests.tooling.digits_page import F_RATIO, MEAN_AND_SD, PAGE, page, tables

COMMITTED = PAGE.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def made() -> str:
    """The page as made now."""
    return "\n".join(page()) + "\n"


def test_the_page_is_current(made: str) -> None:
    """Words as made; digits within 0.6 of it, since other processors add up in another order."""

    def words(text: str) -> list[str]:
        return [line for line in text.splitlines() if not line.startswith("| ") or line.startswith("| set")]

    assert words(COMMITTED) == words(made), "make it anew: python -m tests.tooling.digits_page"
    for old, new in zip(tables(COMMITTED), tables(made), strict=True):
        for row, again in zip(old, new, strict=True):
            assert row == pytest.approx(again, abs=0.6)
            assert row[0] == again[0]


def test_as_recorded_is_at_the_ceiling_everywhere(made: str) -> None:
    """14.3 digits or more (half a unit of the last certified one) in every set, and never behind a library."""
    for table in tables(made):
        for row in table:
            assert row[0] >= 14.3
            assert row[0] >= max(row[1:]) - 0.7


def test_in_blocks_is_never_behind_a_library(made: str) -> None:
    """The standard deviation that the assessments use: within half a digit of the best library, or above."""
    sds = tables(made)[0]
    ours = list(MEAN_AND_SD).index("ours, in blocks")
    for row in sds:
        assert row[ours] >= max(row[ours + 1 :]) - 0.5


def test_libraries_fall_short_where_leading_digits_are_constant(made: str) -> None:
    """SmLs07 to 09: all 15 digits against fewer than 5."""
    ratios = tables(made)[2]
    assert len(ratios[0]) == len(F_RATIO)
    for row in ratios[-3:]:
        assert row[0] >= 14.3
        assert max(row[1:]) < 5.0
