"""Which pulls count, and why not."""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.judging import judge, settlements, silent_rules
from adhesion_stats.judging.validity import repeated
from adhesion_stats.messages import Message
from adhesion_stats.pulls import Bound
from adhesion_stats.standing import Reason, Status
from adhesion_stats.terms.silence import Settled
from tests.building import NAN, Pull, pulls, specification, strengths

DISCARD = Settled(50.0, "discard", 100.0, "unknown")
BOUNDED = Settled(50.0, "at least", 100.0, "unknown")
ASKED = '[[require]]\nmean_at_least = "1.50 MPa"\n'


def statuses(rows: list[Pull], settled: Settled, text: str = ASKED) -> list[str]:
    """Return the status of each row."""
    table = pulls(rows)
    standing = judge(table, specification(text), settled).standing
    return [standing.status(i).value for i in range(len(rows))]


def test_a_plain_pull_counts() -> None:
    """Nothing speaks against a pull with a value."""
    assert statuses(strengths(1.5, 1.6), DISCARD) == ["counted", "counted"]


def test_lost_and_no_value_do_not_count() -> None:
    """A pull lost before loading is lost; one without any value does not count."""
    assert statuses([Pull(lost=True), Pull(NAN), Pull(1.5)], DISCARD) == ["lost", "invalid", "counted"]


@pytest.mark.parametrize(("share", "status"), [(40.0, "counted"), (50.0, "invalid"), (100.0, "invalid")])
def test_the_glue_rule_starts_at_its_share(share: float, status: str) -> None:
    """From the stated share on a break at the dolly adhesive is discarded; below it the value counts."""
    failure = {"Y": share, "A": 100 - share} if share < 100 else {"Y": 100.0}
    assert statuses([Pull(1.2, failure=failure)], DISCARD) == [status]


def test_shares_of_several_glue_codes_add_up() -> None:
    """30 % at the adhesive and 30 % between adhesive and dolly are 60 % glue."""
    assert statuses([Pull(1.2, failure={"-/Y": 30.0, "Y/Z": 30.0, "A": 40.0})], DISCARD) == ["invalid"]


def test_a_glue_break_as_lower_bound_counts_as_at_least() -> None:
    """Under the other treatment the pull counts, as a bound."""
    table = pulls([Pull(1.2, failure={"Y": 100.0})])
    standing = judge(table, specification(ASKED), BOUNDED).standing
    assert standing.status(0) is Status.COUNTED
    assert bool(standing.at_least[0])


def test_a_glue_break_without_value_never_counts() -> None:
    """There is nothing that could be a bound."""
    table = pulls([Pull(NAN, failure={"Y": 100.0}, bound=Bound.NOTHING)])
    standing = judge(table, specification(ASKED), BOUNDED).standing
    assert Reason(int(standing.reasons[0])) == Reason.GLUE


def test_a_disputed_value_is_not_used() -> None:
    """What intake could not settle is shown and not counted."""
    assert statuses([Pull(17.1, doubts=("load_strength_disagree",))], DISCARD) == ["invalid"]


def test_exclusions_need_words_and_name_who() -> None:
    """An exclusion in the specification takes out exactly the pull it names, on the word of whoever signed it."""
    text = ASKED + '[[exclude]]\nzone = "Z"\nid = "p2"\nreason = "void under the dolly"\nwho = "resident engineer"\n'
    table = pulls(strengths(1.5, 0.4, 1.6))
    standing = judge(table, specification(text), DISCARD).standing
    assert [standing.status(i).value for i in range(3)] == ["counted", "excluded", "counted"]
    assert standing.who[1] == "resident engineer"


def test_an_exclusion_that_names_no_single_pull_is_said() -> None:
    """Nothing is excluded by guess."""
    text = ASKED + '[[exclude]]\nid = "9"\nreason = "void"\nwho = "engineer"\n'
    judgement = judge(pulls(strengths(1.5)), specification(text), DISCARD)
    assert [m.code for m in judgement.messages] == ["exclusion_not_found_anywhere"]
    assert judgement.standing.counted.all()


def test_a_retest_replaces_a_glue_break() -> None:
    """The discarded pull is replaced, and the retest counts."""
    rows = [Pull(1.0, id="a", failure={"Y": 100.0}), Pull(1.8, id="b", retest_of="a")]
    assert statuses(rows, DISCARD) == ["replaced", "counted"]


def test_a_retest_of_a_valid_pull_does_not_count() -> None:
    """A low but valid pull stands; its retest is left out and named."""
    rows = [Pull(0.9, id="a", failure={"A": 100.0}), Pull(1.8, id="b", retest_of="a")]
    table = pulls(rows)
    judgement = judge(table, specification(ASKED), DISCARD)
    assert [judgement.standing.status(i).value for i in range(2)] == ["counted", "excluded"]
    assert [m.code for m in judgement.messages] == ["retest_of_valid"]


def test_a_retest_does_not_replace_a_doubtful_pull() -> None:
    """A value in doubt is not invalid by rule: it stays open, and the retest does not count in its place."""
    rows = [Pull(17.1, id="a", doubts=("load_strength_disagree",)), Pull(2.0, id="b", retest_of="a")]
    judgement = judge(pulls(rows), specification(ASKED), DISCARD)
    assert [judgement.standing.status(i).value for i in range(2)] == ["invalid", "excluded"]
    assert [m.code for m in judgement.messages] == ["retest_of_valid"]


def test_the_other_decision_counts_the_retest_instead() -> None:
    """For the second of the two decisions the retest stands in place of the first pull."""
    rows = [Pull(0.9, id="a", failure={"A": 100.0}), Pull(1.8, id="b", retest_of="a")]
    instead = Settled(50.0, "discard", 100.0, "unknown", retest_instead=True)
    assert statuses(rows, instead) == ["replaced", "counted"]


def test_an_invalid_retest_replaces_nothing() -> None:
    """A retest that broke in the glue as well leaves the first pull as it was."""
    glue = {"Y": 100.0}
    rows = [Pull(1.0, id="a", failure=glue), Pull(1.1, id="b", retest_of="a", failure=glue)]
    assert statuses(rows, DISCARD) == ["invalid", "invalid"]


def test_a_second_retest_does_not_count() -> None:
    """One pull is replaced once; a third try is not a free choice."""
    rows = [
        Pull(1.0, id="a", failure={"Y": 100.0}),
        Pull(1.2, id="b", retest_of="a"),
        Pull(1.9, id="c", retest_of="a"),
    ]
    assert statuses(rows, DISCARD) == ["replaced", "counted", "excluded"]


def test_a_retest_of_an_unknown_pull_counts_as_its_own() -> None:
    """The reference is said to lead nowhere; the value is not lost."""
    judgement = judge(pulls([Pull(1.4, id="b", retest_of="zz")]), specification(ASKED), DISCARD)
    assert judgement.standing.counted.all()
    assert [m.code for m in judgement.messages] == ["retest_of_unknown"]


def test_counted_and_not_counted_add_up_to_the_rows() -> None:
    """No pull vanishes in judging."""
    rows = [Pull(1.0, failure={"Y": 100.0}), Pull(lost=True), *strengths(1.2, 1.3), Pull(5.0, doubts=("x",))]
    table = pulls(rows)
    standing = judge(table, specification(ASKED), DISCARD).standing
    assert int(standing.counted.sum()) + sum(standing.status(i) is not Status.COUNTED for i in range(5)) == 5


GLUE_BREAK = {"Y": 100.0}


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0), (2, 0, 1)])
def test_a_retest_of_a_retest_of_a_valid_pull_does_not_count(order: tuple[int, ...]) -> None:
    """However often a valid low pull is repeated, and in whatever order the rows stand, it alone counts."""
    rows = [Pull(1.0, id="a"), Pull(1.0, id="b", retest_of="a"), Pull(3.0, id="c", retest_of="b")]
    found = statuses([rows[i] for i in order], DISCARD)
    assert [found[order.index(i)] for i in range(3)] == ["counted", "excluded", "excluded"]


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0)])
def test_the_other_decision_counts_the_last_of_a_chain_alone(order: tuple[int, ...]) -> None:
    """With retests in place of what they repeat, one pull of the chain counts, not the first and the last."""
    rows = [Pull(1.0, id="a"), Pull(1.0, id="b", retest_of="a"), Pull(3.0, id="c", retest_of="b")]
    instead = Settled(50.0, "discard", 100.0, "unknown", retest_instead=True)
    found = statuses([rows[i] for i in order], instead)
    assert [found[order.index(i)] for i in range(3)] == ["replaced", "replaced", "counted"]


def test_a_discarded_retest_of_a_valid_pull_opens_no_second_chance() -> None:
    """The retest of a valid pull broke in the glue; repeating that retest adds no pull either."""
    rows = [Pull(1.0, id="a"), Pull(0.5, id="b", retest_of="a", failure=GLUE_BREAK), Pull(3.0, id="c", retest_of="b")]
    assert statuses(rows, DISCARD) == ["counted", "invalid", "excluded"]


def test_a_retest_by_way_of_a_discarded_retest_replaces_the_lost_pull_too() -> None:
    """A core was lost, its retest broke in the glue, that one's retest counts: it stands for both."""
    rows = [
        Pull(id="a", lost=True),
        Pull(0.5, id="b", retest_of="a", failure=GLUE_BREAK),
        Pull(1.8, id="c", retest_of="b"),
    ]
    assert statuses(rows, DISCARD) == ["replaced", "replaced", "counted"]


def test_one_pull_is_replaced_once_also_by_way_of_a_retest() -> None:
    """A and its retest b broke in the glue; c repeats a, d repeats b: two tries for one pull, the first counts."""
    rows = [
        Pull(0.5, id="a", failure=GLUE_BREAK),
        Pull(0.5, id="b", retest_of="a", failure=GLUE_BREAK),
        Pull(1.8, id="c", retest_of="a"),
        Pull(1.9, id="d", retest_of="b"),
    ]
    assert statuses(rows, DISCARD) == ["replaced", "invalid", "counted", "excluded"]


def test_retests_in_a_circle_are_said() -> None:
    """Two pulls that repeat each other: one is taken as the first, and it is said."""
    rows = [Pull(1.0, id="a", retest_of="b"), Pull(2.0, id="b", retest_of="a")]
    judgement = judge(pulls(rows), specification(ASKED), DISCARD)
    assert [m.code for m in judgement.messages] == ["retest_of_itself", "retest_of_valid"]
    assert int(judgement.standing.counted.sum()) == 1


@pytest.mark.parametrize(
    "retest", [Pull(id="b", retest_of="a", lost=True), Pull(9.0, id="b", retest_of="a", doubts=("x",))]
)
def test_a_lost_or_doubtful_retest_of_a_valid_pull_is_out_whatever_its_value(retest: Pull) -> None:
    """It would not count with a value; so its missing value is no unknown of the zone."""
    standing = judge(pulls([Pull(2.0, id="a"), retest]), specification(ASKED), DISCARD).standing
    assert standing.counted.tolist() == [True, False]
    assert Reason.RETEST_OF_VALID in Reason(int(standing.reasons[1]))


def test_glue_shares_that_miss_the_threshold_in_floats_only_reach_it() -> None:
    """14.2 + 17.9 + 17.9 is 50 on paper and less in floats; the rule asks for 50 % or more."""
    share = {"A": 50.0, "Y": 14.2, "-/Y": 17.9, "Y/Z": 17.9}
    assert statuses([Pull(0.8, failure=share)], DISCARD) == ["invalid"]
    silent = specification(ASKED + '[glue]\nfrom = "50 %"\n')
    assert silent_rules(silent, pulls([Pull(0.8, failure=share)])) == ("glue_then",)


# --- silent rules ---------------------------------------------------------------------------------------------------


def test_nothing_is_silent_where_the_pulls_raise_no_question() -> None:
    """Without adhesive breaks or lost pulls there is one way to read any contract."""
    table = pulls(strengths(1.5, 1.6))
    assert silent_rules(specification(ASKED), table) == ()
    assert len(settlements(specification(ASKED), table)) == 1


def test_a_silent_glue_rule_is_read_in_every_way_that_matters() -> None:
    """Shares of 30 % and 100 %: the threshold lies at or below 30, or above; each break is discarded or a bound."""
    table = pulls([Pull(1.0, failure={"Y": 30.0, "A": 70.0}), Pull(1.1, failure={"Y": 100.0})])
    ways = settlements(specification(ASKED), table)
    assert {(w.glue_from_percent, w.glue_then) for w in ways} == {
        (30.0, "discard"), (30.0, "at least"), (100.0, "discard"), (100.0, "at least")
    }  # fmt: skip
    assert ways[0].glue_from_percent == 100.0
    assert ways[0].glue_then == "discard"


def test_a_stated_glue_rule_is_not_varied() -> None:
    """Where the contract speaks there is one reading."""
    text = ASKED + '[glue]\nfrom = "25 %"\nthen = "at least"\n'
    table = pulls([Pull(1.0, failure={"Y": 30.0, "A": 70.0})])
    assert [(w.glue_from_percent, w.glue_then) for w in settlements(specification(text), table)] == [(25.0, "at least")]


def test_lost_pulls_are_read_both_ways_when_the_contract_is_silent() -> None:
    """A lost pull may stand for a weak place or for a slip."""
    table = pulls([Pull(lost=True), *strengths(1.5)])
    assert [w.lost for w in settlements(specification(ASKED), table)] == ["unknown", "left out"]


def test_a_partly_asked_break_is_read_both_ways() -> None:
    """A pull that broke over 20 % at the asked interface may or may not have broken there."""
    text = '[[require]]\nmean_at_least = "1.50 MPa"\nquestion = "A/B"\n'
    table = pulls([Pull(1.0, failure={"A/B": 20.0, "A": 80.0})])
    assert [w.broke_there_from_percent for w in settlements(specification(text), table)] == [100.0, 20.0]


def test_reasons_do_not_change_the_pulls() -> None:
    """Judging leaves the facts as they are."""
    table = pulls(strengths(1.5, 0.4))
    before = table.strength_mpa.copy()
    judge(table, specification(ASKED), DISCARD)
    assert np.array_equal(table.strength_mpa, before)


def test_a_chain_of_retests_ends() -> None:
    """A hundred retests of each other are followed, the next is a first pull again, and it is said once."""
    rows = [Pull(1.8, id=str(i), retest_of=str(i - 1) if i else "") for i in range(150)]
    messages: list[Message] = []
    found = repeated(pulls(rows), messages)
    assert [m.code for m in messages] == ["retest_chain_too_long"]
    assert max(map(len, found.values())) == 100
