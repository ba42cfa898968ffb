"""Words in the value's cell: beside a number the number is kept; a word that nobody knows is a doubt."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.intake import read_bytes
from adhesion_stats.pulls import Bound, Pulls
from adhesion_stats.wording.judging import DOUBTS


def pulls_of(cell: str) -> Pulls:
    """The pulls of a small table whose last value is ``cell``."""
    text = f"zone;id;strength MPa\nZ;p1;2.0\nZ;p2;2.1\nZ;p3;{cell}\n"
    return read_bytes(text.encode(), file="readings.csv").pulls


@pytest.mark.parametrize(
    ("cell", "value", "bound"),
    [
        ("0.5 (glue?)", 0.5, Bound.EXACT),
        ("1.1 glue failure", 1.1, Bound.EXACT),
        ("1,2 MPa Kleberbruch", 1.2, Bound.EXACT),
        (">1.3 (glue)", 1.3, Bound.AT_LEAST),
    ],
)
def test_a_number_beside_words_about_the_glue_is_kept(cell: str, value: float, bound: Bound) -> None:
    """The value stays, and the failure is recorded as the dolly adhesive's."""
    pulls = pulls_of(cell)
    assert pulls.strength_mpa[2] == pytest.approx(value)
    assert pulls.bound[2] == bound
    assert pulls.failure(2) == {"Y": 100.0}


@pytest.mark.parametrize("cell", ["abc", "inf", "see note"])
def test_a_word_that_nobody_knows_is_a_doubt(cell: str) -> None:
    """It may hide any value, also a low one: the pull is not used until somebody decides, and not taken as absent."""
    pulls = pulls_of(cell)
    assert np.isnan(pulls.strength_mpa[2])
    assert pulls.doubts[2] == ("word_for_value",)
    assert "word_for_value" in DOUBTS


@pytest.mark.parametrize("cell", ["n/a", "-", "not tested", ""])
def test_a_mark_for_no_value_is_no_doubt(cell: str) -> None:
    """A known mark says that no value was measured."""
    assert pulls_of(cell).doubts[2] == ()
