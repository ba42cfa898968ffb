"""Probabilities of conformity asked of criteria: worked by hand, over every completion, by simulation."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from adhesion_stats.acceptance import (
    Outcome,
    Reason,
    ZoneDecision,
    conformity_of_zone,
    criterion_reason,
    decide,
    evaluate,
    hangs_on,
    needs,
)
from adhesion_stats.acceptance.block import Block
from adhesion_stats.acceptance.reasons import SURE_KINDS, SURE_STATES
from adhesion_stats.acceptance.risk import operating_characteristic
from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.statistics.shared_errors import Errors, conformity_of_mean, conformity_of_rank
from adhesion_stats.terms.criteria import Uncertain
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding, Specification
from adhesion_stats.wording import SENTENCES, say
from tests.acceptance.build import cases_of, pulls_of, requirement_of
from tests.acceptance.test_hand_worked import rows_of

CONFORMS, FAILS, OPEN = Outcome.CONFORMS, Outcome.DOES_NOT_CONFORM, Outcome.UNDETERMINED
PHI = stats.norm.cdf
P95 = "probability_of_conformity_at_least = 0.95"


def component(name: str, stated: str, *, common: bool) -> str:
    """One table of the budget."""
    return f'[[uncertainty.component]]\nname = "{name}"\n{stated}\ncommon = {str(common).lower()}\n'


SHARED_1_PERCENT = component("calibration", 'expanded = "2 %"\ncoverage_factor = 2', common=True)
SHARED_004 = component("calibration", 'standard = "0.04 MPa"', common=True)
OWN_004 = component("reading", 'standard = "0.04 MPa"', common=False)
OWN_2_PERCENT = component("alignment", 'standard = "2 %"', common=False)


def spec_of(criterion: str, budget: str, more: str = "") -> Specification:
    """A contract with one criterion and a budget."""
    text = f'[contract]\ntitle = "t"\n{budget}\n[[require]]\n{criterion}\n{more}'
    return parse_specification(text.encode(), file="t.toml")


def decided(criterion: str, budget: str, *values: float | str, more: str = "") -> ZoneDecision:
    """The decision of one zone."""
    spec = spec_of(criterion, budget, more)
    return decide(spec, cases_of(rows_of(*values), spec))["Z"]


def said(decision: ZoneDecision) -> str:
    """The reason of the first criterion as a sentence."""
    return say(criterion_reason(decision.criteria[0], decision))


MEAN = f'mean_at_least = "1.50 MPa"\n{P95}'


def test_the_mean_under_a_common_error_by_hand() -> None:
    """U = 2 % / 2 = 1 % of the reading for all pulls: the mean has to reach 1.50 / (1 - 1.645 * 0.01) = 1.5251. A mean
    of 1.52 has (1.52 - 1.50) / 0.0152 = 1.3158: 0.9059, too little; of 1.53 (0.03 / 0.0153 = 1.9608): 0.9750.
    """
    low = decided(MEAN, SHARED_1_PERCENT, 1.42, 1.62)
    high = decided(MEAN, SHARED_1_PERCENT, 1.43, 1.63)
    assert (low.outcome, high.outcome) == (FAILS, CONFORMS)
    assert low.criteria[0].sure == pytest.approx((0.9059, 0.9059), abs=5e-5)
    assert high.criteria[0].sure == pytest.approx((0.9750, 0.9750), abs=5e-5)
    assert low.criteria[0].needed == pytest.approx(1.5251, abs=5e-5)
    assert low.margin == pytest.approx(1.52 - 1.5251, abs=5e-5)
    assert said(low) == (
        "The mean is 1.52 MPa. The probability that the true mean reaches 1.50 MPa is only 0.906; 0.95 is asked for."
    )
    assert said(high) == (
        "The mean is 1.53 MPa. The probability that the true mean reaches 1.50 MPa is 0.975; 0.95 is asked for."
    )


def test_a_common_error_does_not_average_out_and_an_independent_one_does() -> None:
    """0.04 MPa, mean 1.54: common (1.54 - 1.50) / 0.04 = 1: 0.8413 for 2 pulls and for 16; independent, n = 16:
    0.04 / (0.04 / 4) = 4.
    """
    for n in (2, 16):
        found = decided(MEAN, SHARED_004, *[1.54] * n)
        assert found.outcome == FAILS
        assert found.criteria[0].sure == pytest.approx((PHI(1.0), PHI(1.0)), abs=1e-12)
    found = decided(MEAN, OWN_004, *[1.54] * 16)
    assert found.outcome == CONFORMS
    assert found.criteria[0].sure == pytest.approx((PHI(4.0), PHI(4.0)), abs=1e-12)
    assert found.criteria[0].needed == pytest.approx(1.5 + 1.644854 * 0.01, abs=1e-6)


def test_the_smallest_under_independent_errors_by_hand() -> None:
    """1.06 and 1.10 against 1.00, 0.04 MPa each: Phi(1.5) * Phi(2.5) = 0.93319 * 0.99379 = 0.92740."""
    asked = f'smallest_at_least = "1.00 MPa"\n{P95}'
    found = decided(asked, OWN_004, 1.06, 1.10)
    assert found.outcome == FAILS
    assert found.criteria[0].sure == pytest.approx((0.92740, 0.92740), abs=5e-6)
    # one common error instead: Phi(1.5) = 0.93319; 1.07: Phi(1.75) = 0.95994
    assert decided(asked, SHARED_004, 1.06, 1.10).criteria[0].sure == pytest.approx((PHI(1.5), PHI(1.5)), abs=1e-12)
    assert decided(asked, SHARED_004, 1.07, 1.10).outcome == CONFORMS


def test_z_of_n_under_independent_errors_by_hand() -> None:
    """At least 2 of 3 at 0.30: 0.34, 0.34, 0.30 with 0.04 each: q = 0.8413, 0.8413, 0.5;
    q1 q2 q3 + q1 q2 (1 - q3) + 2 q1 (1 - q2) q3 = 0.8413² + 0.8413 * 0.1587 = 0.8413.
    """
    found = decided(f'pulls_at_or_above = "0.30 MPa"\nat_least = 2\nof = 3\n{P95}', OWN_004, 0.34, 0.34, 0.30)
    assert found.criteria[0].sure == pytest.approx((0.841345, 0.841345), abs=5e-6)
    assert (found.criteria[0].reached, found.criteria[0].could) == (3, 3)
    assert said(found) == (
        "The probability that at least 2 of 3 true values reach 0.30 MPa is only 0.841; 0.95 is asked for."
    )


def test_a_characteristic_value_is_held_against_common_errors_only() -> None:
    """1.5, 1.6, 1.7, 1.8, 1.9: mean 1.7, sd 0.158114, k = 2.4634 (n = 5, 95/75): 1.31050 MPa. The scatter holds what
    each pull has for itself: with 0.04 MPa common, (1.31050 - 1.25) / 0.04 = 1.5126: 0.93481, whatever the own part.
    """
    criterion = 'characteristic_at_least = "1.25 MPa"\nmethod = "tolerance"\ncontent = 0.95\nconfidence = 0.75\n' + P95
    for budget in (SHARED_004, SHARED_004 + OWN_004):
        found = decided(criterion, budget, 1.5, 1.6, 1.7, 1.8, 1.9)
        assert found.outcome == FAILS
        assert found.criteria[0].low == pytest.approx(1.31050, abs=5e-6)
        assert found.criteria[0].sure == pytest.approx((0.93481, 0.93481), abs=5e-6)


def test_a_stated_spread_does_not_move_with_an_error_in_shares() -> None:
    """Mean 1.70, known sd 0.20, n = 4, k = 1.645 + 0.6745 / 2 = 1.98210 (95/75): 1.30358; 2 % of the mean is 0.034:
    (1.30358 - 1.25) / 0.034 = 1.5759: 0.94248. Of a spread from the readings only 2 % of the value would be uncertain.
    """
    criterion = (
        'characteristic_at_least = "1.25 MPa"\nmethod = "tolerance-known-sd"\ncontent = 0.95\nconfidence = 0.75\n'
        f'known_sd = "0.20 MPa"\n{P95}'
    )
    budget = component("calibration", 'standard = "2 %"', common=True)
    found = decided(criterion, budget, 1.6, 1.7, 1.7, 1.8).criteria[0]
    assert found.sure == pytest.approx((0.94248, 0.94248), abs=5e-5)


def test_the_forms_of_a_component_by_hand() -> None:
    """0.06/2 = 0.03 expanded; 0.06/sqrt 3 = 0.034641, a half-width; 0.06/sqrt 12 = 0.017321, a step; 0.06 itself."""
    stated = {
        'expanded = "0.06 MPa"\ncoverage_factor = 2': 0.03,
        'half_width = "0.06 MPa"': 0.034641,
        'step = "0.06 MPa"': 0.0173205,
        'standard = "0.06 MPa"': 0.06,
    }
    for text, u in stated.items():
        found = decided(MEAN, component("a", text, common=True), 1.52, 1.52)
        assert found.criteria[0].sure == pytest.approx((PHI(0.02 / u),) * 2, abs=5e-6)


def test_components_add_in_squares() -> None:
    """0.03 and 0.04 common: 0.05; (1.55 - 1.50) / 0.05 = 1."""
    budget = component("a", 'standard = "0.03 MPa"', common=True) + component("b", 'standard = "0.04 MPa"', common=True)
    assert decided(MEAN, budget, 1.55, 1.55).criteria[0].sure == pytest.approx((PHI(1.0), PHI(1.0)), abs=1e-12)


def test_an_uncertainty_alone_changes_no_decision_and_is_told_beside_it() -> None:
    """A mean of exactly 1.50 meets 1.50 whatever the uncertainty; the probability beside it is one half."""
    for budget in ("", SHARED_1_PERCENT + OWN_004):
        found = decided('mean_at_least = "1.50 MPa"', budget, 1.4, 1.6)
        assert (found.outcome, found.criteria[0].at_limit, found.criteria[0].sure) == (CONFORMS, True, None)
    spec = spec_of('mean_at_least = "1.50 MPa"', SHARED_1_PERCENT + OWN_004)
    cases = cases_of(rows_of(1.4, 1.6), spec)
    assert spec.uncertain is not None
    (beside,) = conformity_of_zone(decide(spec, cases)["Z"], cases.of("Z"), spec.uncertain)
    assert (beside.asked, beside.needed) == (None, None)
    assert [beside.low, beside.high] == pytest.approx([0.5, 0.5])
    # u² = (0.01 * 1.5)² + 0.04² / 2 = 0.000225 + 0.0008
    assert beside.uncertainty == pytest.approx(math.sqrt(0.001025), abs=1e-9)


def test_the_guard_band_of_a_smallest_value_is_how_far_all_have_to_move() -> None:
    """Two equal values with 0.04 MPa each: Phi(d / 0.04)² = 0.95 at d = 0.04 * 1.95451 = 0.07818."""
    criterion = f'smallest_at_least = "1.00 MPa"\n{P95}'
    spec = spec_of(criterion, OWN_004)
    for value, outcome in ((1.078, FAILS), (1.0783, CONFORMS)):
        cases = cases_of(rows_of(value, value), spec)
        decision = decide(spec, cases)["Z"]
        assert decision.outcome == outcome
        assert spec.uncertain is not None
        (beside,) = conformity_of_zone(decision, cases.of("Z"), spec.uncertain)
        assert beside.needed == pytest.approx(1.0 + 0.04 * stats.norm.ppf(math.sqrt(0.95)), abs=1e-7)


def test_rounding_does_not_touch_a_probability() -> None:
    """A mean of 1.496 would round to 1.50; its probability is below one half all the same."""
    rounding = '[rounding]\nmethod = "rounded"\nties = "even"\n'
    assert decided('mean_at_least = "1.50 MPa"', SHARED_004, 1.492, 1.5, more=rounding).outcome == CONFORMS
    found = decided(MEAN, SHARED_004, 1.492, 1.5, more=rounding)
    assert found.outcome == FAILS
    assert found.criteria[0].sure == pytest.approx((PHI(-0.1),) * 2, abs=1e-9)


def test_unknown_values_decide_only_where_they_can() -> None:
    """1.6, 1.6 and one of at least 1.40 under 0.04 common: at the least the mean is 1.5333, 0.7977; without end above.
    With a smallest value asked, an exact 1.02 fails whatever the bound is.
    """
    found = decided(MEAN, SHARED_004, 1.6, 1.6, ">1.4")
    assert (found.outcome, found.reason) == (OPEN, Reason.OPEN)
    assert found.criteria[0].sure == pytest.approx((PHI(0.033333 / 0.04), 1.0), abs=1e-5)
    assert said(found) == (
        "The probability that the true mean reaches 1.50 MPa lies between 0.798 and more than 0.999, and 0.95 is asked "
        "for: the unknown values decide (1 of 3)."
    )
    asked = f'smallest_at_least = "1.00 MPa"\n{P95}'
    assert decided(asked, OWN_004, 1.02, ">1.5").outcome == FAILS
    assert decided(asked, OWN_004, 1.12, ">1.5").outcome == CONFORMS
    assert decided(asked, OWN_004, 1.12, ">1.01").outcome == OPEN


def test_what_an_unknown_value_would_have_to_reach_is_told() -> None:
    """0.04 common: the mean has to reach 1.56579, so the third value 3 * 1.56579 - 3.2 = 1.49738, told as 1.50; with
    own errors of the smallest: Phi((x - 1) / 0.04) * Phi(3) = 0.95 at x = 1 + 0.04 * 1.6580 = 1.06632, told as 1.07.
    """
    for criterion, budget, values, level in (
        (MEAN, SHARED_004, (1.6, 1.6, ">1.4"), "1.50 MPa"),
        (f'smallest_at_least = "1.00 MPa"\n{P95}', OWN_004, (1.12, ">1.01"), "1.07 MPa"),
    ):
        spec = spec_of(criterion, budget)
        cases = cases_of(rows_of(*values), spec)
        (message,) = needs(spec, cases, decide(spec, cases))["Z"]
        assert message.code == "needs_one_level"
        assert level in say(message)


def test_it_hangs_on_a_pull_as_any_decision_does() -> None:
    """Without the low pull the probability would be enough."""
    spec = spec_of(f'smallest_at_least = "1.00 MPa"\n{P95}', OWN_004)
    rows = rows_of(1.02, 1.3, 1.4)
    cases = cases_of(rows, spec)
    (message,) = hangs_on(spec, cases, decide(spec, cases), pulls_of(rows))["Z"]
    assert (message.code, message.facts["outcome"]) == ("hangs_on_one_pull", "conforms")


def test_a_way_out_leaves_the_others_to_be_sure_of() -> None:
    """Two pulls that broke in the substrate are excused, as values without end; the third has to be sure."""
    criterion = f'smallest_at_least = "1.00 MPa"\nunless_failed = ["A"]\nfrom = "50 %"\n{P95}'
    spec = spec_of(criterion, OWN_004)
    rows = rows_of(0.8, 0.9, 1.07)
    for r in rows[:2]:
        r["failure"] = {"A": 100.0}
    rows[2]["failure"] = {"A/B": 100.0}
    found = decide(spec, cases_of(rows, spec))["Z"]
    assert found.criteria[0].sure == pytest.approx((PHI(1.75),) * 2, abs=1e-9)
    assert found.outcome == CONFORMS


BUDGETS = (SHARED_1_PERCENT, SHARED_004 + OWN_004, OWN_2_PERCENT + SHARED_1_PERCENT, SHARED_004 + OWN_2_PERCENT)
ASKED = (
    'mean_at_least = "1.30 MPa"',
    'smallest_at_least = "1.00 MPa"',
    'pulls_at_or_above = "1.20 MPa"\nat_least = 3\nof = 4',
    'pulls_at_or_above = "1.20 MPa"\nat_least_share = "60 %"',
    'held_at = "1.00 MPa"',
)


def probability_on(criterion: str, x: np.ndarray, of: Uncertain) -> float:
    """The probability by the statistics alone, of exact values."""
    e = Errors(
        common=of.mpa(common=True),
        common_share=of.share(common=True),
        independent=of.mpa(common=False),
        independent_share=of.share(common=False),
    )
    row = x[np.newaxis, :]
    if criterion.startswith("mean"):
        return float(conformity_of_mean(row, lower=1.3, errors=e)[0])
    z, limit = (x.size, 1.0) if "pulls" not in criterion else (3, 1.2)  # 60 % of 4: 2.4, so 3
    return float(conformity_of_rank(row, at_least=z, lower=limit, errors=e)[0])


@pytest.mark.parametrize("criterion", ASKED)
@pytest.mark.parametrize("budget", BUDGETS)
def test_bounded_pulls_against_a_grid_of_completions(criterion: str, budget: str) -> None:
    """Four pulls, two of them within bounds: conforms where every completion on a grid has the probability asked, does
    not conform where none has.
    """
    rng = np.random.default_rng(len(criterion) + len(budget))
    asked = f"{criterion}\nprobability_of_conformity_at_least = 0.9"
    seen = set()
    for i in range(12):
        known = np.round(rng.uniform(1.0, 1.6, 2), 2)
        low = np.round(rng.uniform(0.9, 1.3, 2), 2)
        second = f"<{low[1] + 0.4:.2f}" if i % 3 == 0 else f">{low[1] + 0.1:.2f}"
        values = (*known.tolist(), f">{low[0]}", second)
        ceiling = '[pulls]\nceiling = "2.0 MPa"\n'
        spec = spec_of(asked, budget, ceiling)
        found = decide(spec, cases_of(rows_of(*values), spec))["Z"]
        assert spec.uncertain is not None
        end = float(second[1:])
        span = np.linspace(0.0, end, 7) if second[0] == "<" else np.linspace(end, 2.0, 7)
        grid = itertools.product(np.linspace(low[0], 2.0, 7), span)
        chances = [probability_on(criterion, np.array([*known, a, b]), spec.uncertain) for a, b in grid]
        want = CONFORMS if min(chances) >= 0.9 else FAILS if max(chances) < 0.9 else OPEN
        assert found.outcome == want, (values, min(chances), max(chances))
        assert found.criteria[0].sure == pytest.approx((min(chances), max(chances)), abs=1e-8)
        seen.add(want)
    assert len(seen) >= 2


def test_several_criteria_share_the_unknown_values() -> None:
    """The mean needs the unknown pull high, mean - k sd needs it near the others: not both at once, and each alone."""
    parts = f'{{ mean_at_least = "1.60 MPa", {P95} }}, {{ mean_less_sd_at_least = "1.20 MPa", k = 2.0, {P95} }}'
    for second, outcome in (("0.90", FAILS), ("0.60", OPEN)):
        text = f"all_of = [{parts.replace('1.20', second)}]"
        found = decided(text, SHARED_1_PERCENT, 1.40, 1.40, 1.40, ">1.40")
        alone = [c.outcome for c in found.criteria]
        assert found.outcome == outcome
        assert alone == [OPEN, OPEN]
        # brute force: x beside 1.40 three times; A = 1.60 / (1 - 0.016449), and 0.90 or 0.60 likewise
        x = np.linspace(1.40, 6.0, 4000)
        rows = np.column_stack([np.full((x.size, 3), 1.40), x])
        mean, sd = rows.mean(axis=1), rows.std(axis=1, ddof=1)
        both = (mean >= 1.60 / 0.98355146) & (mean - 2.0 * sd >= float(second) / 0.98355146)
        assert both.any() == (outcome == OPEN)


def test_the_smallest_and_the_mean_together_are_decided_at_their_ends() -> None:
    """Both never fall: the greatest completion meets both, the least fails one."""
    text = f'all_of = [{{ mean_at_least = "1.30 MPa", {P95} }}, {{ smallest_at_least = "1.00 MPa", {P95} }}]'
    found = decided(text, SHARED_004 + OWN_004, 1.5, 1.6, ">1.0")
    assert (found.outcome, found.reason) == (OPEN, Reason.OPEN)
    assert decided(text, SHARED_004 + OWN_004, 1.5, 1.6, ">1.2").outcome == CONFORMS


def test_more_values_than_planned_leave_the_choice_open() -> None:
    """Three planned and four there: the best three have the probability, the worst three have not."""
    criterion = f'pulls_at_or_above = "1.00 MPa"\nat_least = 3\nof = 3\n{P95}'
    found = decided(criterion, OWN_004, 1.02, 1.3, 1.4, 1.5)
    assert (found.outcome, found.criteria[0].reason) == (OPEN, Reason.CHOICE)


def test_the_risk_is_exact_where_the_value_alone_decides_and_agrees_with_simulation() -> None:
    """The mean of 5 from a normal population of CoV 20 % against 1.5251 MPa; simulated zones within 4 errors."""
    rule, means = requirement_of(spec_of(MEAN, SHARED_1_PERCENT)), np.array([1.5, 1.7])
    found = operating_characteristic(rule, n=5, mean_mpa=means, cov=0.2)
    exact = PHI((means - 1.5250857) / (0.2 * means / math.sqrt(5)))
    assert found.conforms == pytest.approx(exact, abs=1e-6)
    drawn = operating_characteristic(
        rule, n=5, mean_mpa=means, cov=0.2, generator=np.random.default_rng(11), simulations=4000, simulate=True
    )
    assert np.all(np.abs(drawn.conforms - exact) <= 4.0 * np.sqrt(exact * (1.0 - exact) / 4000))


def test_the_risk_of_a_smallest_value_with_own_errors_by_simulation() -> None:
    """A rule without a formula is simulated by the same decisions: 2,000 zones drawn here give the same share."""
    spec = spec_of(f'smallest_at_least = "1.00 MPa"\n{P95}', OWN_004)
    rng = np.random.default_rng(3)
    x = np.sort(rng.normal(1.3, 0.15, (2000, 3)), axis=1)
    block = Block(np.arange(2000), 3, {"pull-off": x}, {"pull-off": x})
    accepted = float((evaluate(requirement_of(spec), block, rounding=Rounding()).decision == CONFORMS).mean())
    plain = float((np.prod(PHI((x - 1.0) / 0.04), axis=1) >= 0.95).mean())
    assert accepted == plain
    assert 0.5 < accepted < 0.95


WRONG = [
    (MEAN, "", ["spec_missing_key"]),
    (f'{MEAN}\nguard = "0.05 MPa"', SHARED_004, ["spec_two_bands"]),
    (MEAN.replace("0.95", "0.5"), SHARED_004, ["spec_out_of_range"]),
    (MEAN.replace("0.95", "0.99999"), SHARED_004, ["spec_out_of_range"]),
    (f'mean_at_least = "1 MPa"\nonly_failed = ["A"]\nfrom = "50 %"\n{P95}', SHARED_004, ["spec_probability_of_part"]),
    (
        f'characteristic_at_least = "1 MPa"\nmethod = "lognormal"\ncontent = 0.95\nconfidence = 0.75\n{P95}',
        SHARED_004,
        ["spec_probability_in_shares"],
    ),
    (f'cov_at_most = "20 %"\n{P95}', SHARED_004, ["spec_unknown_key"]),
    (MEAN, component("a", 'standard = "20 %"', common=True), ["spec_out_of_range"]),
    (MEAN, component("a", 'expanded = "2 %"', common=True), ["spec_missing_key"]),
    (MEAN, component("a", 'standard = "2 %"\ncoverage_factor = 2', common=True), ["spec_key_needs_another"]),
    (MEAN, component("a", 'standard = "2 %"\nstep = "0.01 MPa"', common=True), ["spec_one_kind"]),
    (MEAN, '[[uncertainty.component]]\nname = "a"\nstep = "0.01 MPa"\n', ["spec_missing_key"]),
    (MEAN, SHARED_004 + SHARED_004, ["spec_out_of_range"]),
    (MEAN, "[uncertainty]\nsource = 'x'\n", ["spec_missing_key"]),
]


@pytest.mark.parametrize(("criterion", "budget", "codes"), WRONG)
def test_what_can_not_be_meant_is_refused(criterion: str, budget: str, codes: list[str]) -> None:
    """Each problem names the key; nothing is guessed, least of all which errors pulls share."""
    with pytest.raises(InvalidSpecification) as caught:
        spec_of(criterion, budget)
    assert [message.code for message in caught.value.messages] == codes
    assert all("{" not in say(message) for message in caught.value.messages)


def test_every_state_has_its_sentence() -> None:
    """No kind that takes a probability is left without words."""
    codes = [f"{kind}_{state}" for kind in SURE_KINDS for state in SURE_STATES]
    assert [code for code in codes if code not in SENTENCES] == []
