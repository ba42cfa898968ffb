"""[[determination]]: read as written, every gap said at once."""

from __future__ import annotations

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.terms.determinations import Determination
from adhesion_stats.terms.parse import parse_specification

_HEAD = '[contract]\ntitle = "t"\n[[require]]\nmean_at_least = "1.50 MPa"\n[[determination]]\n'
_WHOLE = """zone = "Deck"
decided = "accepted by concession"
about = "does not conform"
who = "E"
when = {when}
why = "w"
"""


@pytest.mark.parametrize("when", ["2026-05-04", '"2026-05-04"'])
def test_a_determination_is_read_as_written(when: str) -> None:
    """A date and a text of the same date give the same determination."""
    terms = parse_specification((_HEAD + _WHOLE.format(when=when)).encode(), file="s.toml")
    assert terms.determinations == (
        Determination("Deck", "accepted by concession", "E", "2026-05-04", "w", "does not conform"),
    )


def test_every_gap_is_said_at_once() -> None:
    """Nobody decides nameless, undated or without grounds; the decision that it was about is one of three."""
    text = _HEAD + 'zone = "Deck"\ndecided = ""\nabout = "fails"\n'
    with pytest.raises(InvalidSpecification) as refused:
        parse_specification(text.encode(), file="s.toml")
    said = {(m.code, m.facts["path"]) for m in refused.value.messages}
    assert said == {
        ("spec_empty", "determination[1].decided"),
        ("spec_out_of_range", "determination[1].about"),
        ("spec_missing_key", "determination[1].who"),
        ("spec_missing_key", "determination[1].when"),
        ("spec_missing_key", "determination[1].why"),
    }
