"""Every state that results can hold has its words, and words keep numbers as numbers."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from adhesion_stats import reporting
from adhesion_stats.pulls import CONDITIONS, LABELS
from adhesion_stats.reporting.figures.look import LIMIT_STYLES, MARKS
from adhesion_stats.reporting.model import Number
from adhesion_stats.reporting.words import CONDITIONS_IN_WORDS, LABELS_IN_WORDS, WORDS, broke_at, fill, word
from adhesion_stats.standing import Status

OUTCOMES = ("conforms", "does not conform", "undetermined")
KINDS = ("mean", "smallest", "characteristic", "count", "failure share", "pulls with failure")


def test_every_standing_outcome_and_kind_has_words() -> None:
    """No state of a pull, zone or criterion is left without words."""
    keys = [f"status_{status.value}" for status in Status]
    keys += [f"as_{known}" for known in ("exact", "at_least", "at_most", "unknown")]
    keys += [key for outcome in OUTCOMES for key in (outcome, f"is_{outcome}")]
    keys += [f"{form}_{kind}" for kind in KINDS for form in ("kind", "short")]
    keys += [f"key_{mark}" for mark in MARKS] + [f"lim_{kind}" for kind in LIMIT_STYLES]
    keys += [f"severity_{severity}" for severity in ("note", "warning", "error")]
    keys += [f"v_{method}" for method in ("tolerance", "en1990-unknown", "en1990-known")]
    keys += ["lost_unknown", "lost_left out", "all_of", "any_of", "ties_even", "ties_up", "test_grubbs", "test_dixon"]
    keys += ["side_low", "side_high", "side_both"]
    assert [key for key in keys if not WORDS.get(key)] == []


def test_every_optional_column_has_a_name() -> None:
    """The columns that a readings file may carry are named for the reader, numbers with their unit."""
    assert set(LABELS_IN_WORDS) == set(LABELS)
    assert set(CONDITIONS_IN_WORDS) == set(CONDITIONS)


def test_sentence_keeps_the_value_of_its_number() -> None:
    """A number put into a sentence stays a number with its unrounded value."""
    number = Number(2.0, "2")
    parts = fill("counted_of", counted=number, required=Number(5.0, "5"))
    assert parts == (number, " of ", Number(5.0, "5"))


def test_unknown_word_is_an_error() -> None:
    """A word that is not there is a fault, not an empty place on the page."""
    with pytest.raises(KeyError):
        word("no such word")


@pytest.mark.parametrize(
    ("code", "text"),
    [("A", "A substrate"), ("A/B", "A/B interface"), ("B", "B layer 1"), ("C", "C layer 2"), ("Y", "Y dolly adhesive")],
)
def test_letters_count_from_the_substrate(code: str, text: str) -> None:
    """Layer letters as in ISO 4624: A substrate, B first layer, Y adhesive of the dolly."""
    assert broke_at(code) == text


def test_no_word_stands_unused() -> None:
    """Every key is named in the room's sources, whole or by its beginning."""
    room = Path(reporting.__file__).parent
    files = [*room.rglob("*.py"), *room.rglob("*.j2")]
    source = "\n".join(path.read_text(encoding="utf-8") for path in files if not path.name.endswith("words.py"))
    beginnings = tuple(re.findall(r'f"([a-z_]+_)\{', source))
    unused = [key for key in WORDS if f'"{key}"' not in source and not key.startswith(beginnings)]
    assert [key for key in unused if key not in OUTCOMES and key not in {"all_of", "any_of"} and key[:3] != "at_"] == []
