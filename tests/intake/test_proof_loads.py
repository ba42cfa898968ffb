"""Proof loads: a stress that a pull held is a lower bound and no strength; what does not say so plainly is asked."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.acceptance import Outcome
from adhesion_stats.assessment import assess
from adhesion_stats.assessment.check import check
from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import Reading, read_bytes, understand_bytes
from adhesion_stats.intake.proof import held_in_words
from adhesion_stats.pulls import Bound
from adhesion_stats.reporting.layout_file import layout_text
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.parse import parse_specification
from tests.intake.books import xlsx

HEAD = "zone;id;strength MPa"


def read(text: str, layout: str = "") -> Reading:
    """A file read by a layout."""
    return read_bytes(text.encode(), file="readings.csv", layout=Layout.from_toml(layout))


def last(cell: str, layout: str = "") -> tuple[float, Bound, str]:
    """Value, bound and raw text of the last of three pulls."""
    pulls = read(f"{HEAD}\nZ;p1;2,0\nZ;p2;2,1\nZ;p3;{cell}\n", layout).pulls
    return float(pulls.strength_mpa[2]), Bound(int(pulls.bound[2])), pulls.entered[2]


def refusal(text: str) -> dict[str, object]:
    """Code and rows of each error."""
    with pytest.raises(UnusableReadings) as refused:
        read(text)
    return {m.code: m.facts.get("rows") for m in refused.value.messages if m.severity.value == "error"}


@pytest.mark.parametrize(
    "cell",
    [
        "held at 1.5", "held 1.5 MPa", "no failure at 1.5", "proof 1.5 ok", "1.5 held", "1.5 (no failure)", "≥1.5 held",
        "held at 1.5 MPa for 3 min", "no failure up to 1500 kPa", "proof load 1.5 passed", "1.5 MPa - not broken",
        "remained intact at 1.5", "1,5 N/mm² gehalten", "kein Bruch bei 1,5", "Prüflast 1,5 MPa bestanden",
        "hält 1,5", "tenu à 1,5 MPa", "sans rupture à 1,5", "pas rompu à 1,5",
        "aguantó 1,5", "sin rotura a 1,5 MPa", "ha tenuto 1,5 MPa", "senza rottura a 1,5", "aguentou 1,5",
        "sem ruptura a 1,5 MPa", "wytrzymało 1,5 MPa", "bez zerwania przy 1,5",
    ],
)  # fmt: skip
def test_a_stress_that_was_held_is_a_lower_bound(cell: str) -> None:
    """In seven languages, with and without unit, before and behind the number; the text stays as it was entered."""
    value, bound, text = last(cell)
    assert value == pytest.approx(1.5, rel=1e-12)
    assert (bound, text) == (Bound.AT_LEAST, cell)


@pytest.mark.parametrize(
    "cell",
    ["not held at 1.5", "did not hold 1.5 MPa", "proof 1.5 failed", "1,5 nicht gehalten", "n'a pas tenu à 1,5",
     "no aguantó 1,5", "non ha tenuto 1,5", "não aguentou 1,5", "nie wytrzymało 1,5"],
)  # fmt: skip
def test_what_let_go_lies_below_the_proof_stress(cell: str) -> None:
    """An upper bound that is not reached itself: a pull that did not hold 1.5 MPa is no pull of 1.5 MPa."""
    value, bound, text = last(cell)
    assert bound == Bound.AT_MOST
    assert 1.4999 < value < 1.5 * (1 - 1e-11)
    assert text == cell


@pytest.mark.parametrize("cell", ["1.5 ok", "ok at 1.5", "1.5 pass", "proof load 1.5", "1.5 proof"])
def test_what_may_be_a_strength_that_passed_is_asked_about(cell: str) -> None:
    """The row is named, and one line of the layout decides either way."""
    assert refusal(f"{HEAD}\nZ;p1;{cell}\n") == {"proof_unclear": "2"}
    assert last(cell, "proof_held = true")[:2] == (1.5, Bound.AT_LEAST)
    assert last(cell, "proof_held = false")[:2] == (1.5, Bound.EXACT)


@pytest.mark.parametrize("cell", ["held 1.5, failed at 2.0", "held 5 s", "held <1.5", "1.5 fell", "failed at 1.5"])
def test_other_words_beside_numbers_stay_refused(cell: str) -> None:
    """Two numbers, a time, a sign that goes against the word, words of another matter."""
    assert set(refusal(f"{HEAD}\nZ;p1;{cell}\n")) <= {"two_numbers", "not_a_number"}


def test_plain_numbers_and_glue_words_are_read_as_before() -> None:
    """Nothing of a proof load is in them."""
    for cell, bound in (("1,5", Bound.EXACT), (">1,5", Bound.AT_LEAST), ("1,5 glue failure", Bound.EXACT)):
        assert last(cell)[:2] == (1.5, bound)


def test_one_finding_counts_the_proof_loads() -> None:
    """They are not told once more among the lower bounds."""
    reading = read(f"{HEAD}\nZ;p1;held at 1.5\nZ;p2;>1.7\nZ;p3;no failure at 1.5\nZ;p4;2.0\n")
    told = {m.code: (m.facts["count"], m.facts["rows"]) for m in reading.messages}
    assert told["proof_loads_held"] == (2, "2, 4")
    assert told["lower_bounds"] == (1, "3")


def test_a_column_of_proof_stress_and_one_of_yes_and_no() -> None:
    """Yes is at least the stress, no is below it; both texts are kept."""
    pulls = read("zone,id,proof stress MPa,held\nZ,p1,1.5,yes\nZ,p2,1.5,no\nZ,p3,1.5,no failure\n").pulls
    assert pulls.bound.tolist() == [Bound.AT_LEAST, Bound.AT_MOST, Bound.AT_LEAST]
    assert list(pulls.entered) == ["1.5 | yes", "1.5 | no", "1.5 | no failure"]


def test_proof_loads_in_kn_become_stresses() -> None:
    """2.95 kN on 50 mm: 2950 / (pi 50² / 4) = 2950 / 1963.5 = 1.5024 MPa, held."""
    pulls = read("zone;id;Prüflast [kN];gehalten;Durchmesser [mm]\nZ;p1;2,95;ja;50\nZ;p2;2,95;nein;50\n").pulls
    assert pulls.strength_mpa == pytest.approx([1.5024, 1.5024], abs=1e-4)
    assert pulls.bound.tolist() == [Bound.AT_LEAST, Bound.AT_MOST]


def test_a_blank_or_unknown_answer_is_asked_about() -> None:
    """Where both answers are written, a blank is neither."""
    assert refusal("zone,id,proof stress MPa,held\nZ,p1,1.5,yes\nZ,p2,1.5,\nZ,p3,1.5,perhaps\n") == {
        "proof_unclear": "3-4"
    }


def test_where_only_those_that_held_are_marked_the_others_broke_at_their_strength() -> None:
    """A cross beside 1.5 means that it held; the 1.2 without one is the stress at failure."""
    pulls = read("zone,id,stress MPa,held\nZ,p1,1.5,x\nZ,p2,1.2,\n").pulls
    assert pulls.bound.tolist() == [Bound.AT_LEAST, Bound.EXACT]


def test_proof_loads_without_any_result_are_asked_about() -> None:
    """Nothing is guessed of a column of proof stresses alone; the layout says that all held, or that they are none."""
    text = "zone,id,proof stress MPa\nZ,p1,1.5\nZ,p2,1.6\n"
    assert refusal(text) == {"proof_without_result": "2-3"}
    assert read(text, "proof_held = true").pulls.bound.tolist() == [Bound.AT_LEAST] * 2
    assert read(text, "proof_held = false").pulls.bound.tolist() == [Bound.EXACT] * 2


def test_a_heading_can_say_that_all_held() -> None:
    """Stress held."""
    assert read("zone,id,stress held MPa\nZ,p1,1.5\n").pulls.bound.tolist() == [Bound.AT_LEAST]


def test_strengths_beside_proof_loads() -> None:
    """With a strength above the proof stress it was pulled on; without one the proof stress speaks; where the two go
    against each other the value is doubted.
    """
    rows = (
        "Z,p1,,1.5,yes\nZ,p2,1.2,1.5,no\nZ,p3,1.7,1.5,yes\nZ,p4,1.5,1.5,yes\nZ,p5,1.2,1.5,yes\nZ,p6,1.6,1.5,no\n"
        "Z,p7,,1.5,no\nZ,p8,held,1.5,\nZ,p9,,,\n"
    )
    reading = read("zone,id,strength MPa,proof stress MPa,held\n" + rows)
    pulls = reading.pulls
    least, exact, most, nothing = Bound.AT_LEAST, Bound.EXACT, Bound.AT_MOST, Bound.NOTHING
    assert pulls.bound.tolist() == [least, exact, exact, least, exact, exact, most, least, nothing]
    assert [bool(doubt) for doubt in pulls.doubts] == [i in {4, 5} for i in range(9)]
    assert np.isnan(pulls.strength_mpa[8])


def test_the_heading_can_name_the_stress_that_was_held() -> None:
    """Held at 1.5 MPa: yes without a strength is at least 1.5, with 1.5 too; 1.9 was pulled on; no and 1.2 broke."""
    rows = "Z,p1,,yes\nZ,p2,1.5,yes\nZ,p3,1.9,yes\nZ,p4,1.2,no\nZ,p5,,no\nZ,p6,1.2,yes\n"
    reading = read("zone,id,strength MPa,held at 1.5 MPa\n" + rows)
    pulls = reading.pulls
    least, exact, most = Bound.AT_LEAST, Bound.EXACT, Bound.AT_MOST
    assert pulls.bound.tolist() == [least, least, exact, exact, most, exact]
    assert pulls.strength_mpa[0] == 1.5
    assert pulls.doubts[5] == ("proof_load_disagrees",)
    again = read("zone,id,strength MPa,held at 1.5 MPa\n" + rows, reading.layout.to_toml())
    assert again.pulls.bound.tolist() == pulls.bound.tolist()


def test_a_proof_stress_beside_strengths_alone_changes_nothing() -> None:
    """It may be no more than the limit of the contract."""
    pulls = read("zone,id,strength MPa,proof stress MPa\nZ,p1,1.9,1.5\nZ,p2,1.5,1.5\nZ,p3,,1.5\n").pulls
    assert pulls.bound.tolist() == [Bound.EXACT, Bound.EXACT, Bound.NOTHING]


def test_no_failure_as_the_failure_means_that_the_pull_held() -> None:
    """Nothing broke, so the value is a lower bound and no composition is recorded."""
    pulls = read("zone,id,strength MPa,failure\nZ,p1,1.5,no failure\nZ,p2,1.9,B\n").pulls
    assert pulls.bound.tolist() == [Bound.AT_LEAST, Bound.EXACT]
    assert (pulls.failure(0), pulls.failure(1)) == ({}, {"B": 100.0})


def test_the_layout_names_the_columns_and_the_written_one_reads_the_same() -> None:
    """Headings that no word list knows, and back from the layout as written."""
    text = "zone,id,P MPa,outcome\nZ,p1,1.5,yes\nZ,p2,1.5,no\n"
    reading = read(text, '[columns]\nproof = "P MPa"\nheld = "outcome"\n')
    assert reading.pulls.bound.tolist() == [Bound.AT_LEAST, Bound.AT_MOST]
    again = read(text, reading.layout.to_toml())
    assert again.pulls.bound.tolist() == reading.pulls.bound.tolist()
    headed = "zone,id,stress held MPa\nZ,p1,1.5\n"
    assert read(headed, read(headed).layout.to_toml()).pulls.bound.tolist() == [Bound.AT_LEAST]


def test_a_workbook_is_read_alike() -> None:
    """Numbers and words in cells of a workbook."""
    book = xlsx([("zone", "id", "strength MPa"), ("Z", "p1", "held at 1.5"), ("Z", "p2", 1.9)])
    assert read_bytes(book, file="x.xlsx").pulls.bound.tolist() == [Bound.AT_LEAST, Bound.EXACT]


def test_the_criterion_on_proof_loads_is_decided_by_what_held() -> None:
    """All held 1.5: conforms. One let go below 1.5: does not. One was loaded to 1.2 only: undetermined."""
    terms = b'[contract]\ntitle = "t"\n[[require]]\nheld_at = "1.50 MPa"\n'
    specification = parse_specification(terms, file="t.toml")
    rows = (
        "A;p1;held at 1.5\nA;p2;1.5 held\nB;p1;held at 1.5\nB;p2;not held at 1.5\nC;p1;held at 1.5\nC;p2;held at 1.2\n"
    )
    found = assess(read(f"{HEAD}\n{rows}"), specification)
    outcomes = {zone: found.readings.outcome(zone) for zone in "ABC"}
    assert outcomes == {"A": Outcome.CONFORMS, "B": Outcome.DOES_NOT_CONFORM, "C": Outcome.UNDETERMINED}


def test_words_of_failure_are_not_taken_for_proof_loads() -> None:
    """What a failure column holds elsewhere says nothing of a proof load."""
    for text in ("A", "failure", "glue failure", "none", "no", "B/C", "concrete", "break", "x"):
        assert held_in_words(text) is None


def test_open_questions_stand_in_the_written_layout() -> None:
    """Both answers as lines to choose from."""
    layout, messages = understand_bytes(f"{HEAD}\nZ;p1;1.5 ok\n".encode(), file="readings.csv")
    text = layout_text(layout, messages)
    assert "#proof_held = true" in text
    assert "#proof_held = false" in text


def test_what_was_only_loaded_short_of_the_limit_is_said_by_check_too() -> None:
    """Before anything is decided."""
    terms = parse_specification(b'[contract]\ntitle = "t"\n[[require]]\nheld_at = "1.50 MPa"\n', file="t.toml")
    codes = [message.code for message in check(read(f"{HEAD}\nZ;p1;held at 1.2\n"), terms).messages]
    assert "sense_only_bounds" in codes


def test_angle_brackets_in_a_failure_are_no_code() -> None:
    """They stand for a phrase while words are read; in a file they are signs that say nothing."""
    for text in ("<B>", "< ) >", "<foo> 100"):
        reading = read(f"zone;id;strength MPa;failure\nZ;p1;1.5;{text}\n")
        assert reading.pulls.failure(0) == {}
        assert "failure_unclear" in [message.code for message in reading.messages]
