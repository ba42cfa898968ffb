"""The risk of rules: exact ways against simulated zones that ``evaluate`` decides, and hand-worked values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from adhesion_stats.acceptance.risk import (
    Assumed,
    OperatingCharacteristic,
    by_number_of_pulls,
    compare,
    contract_risk,
    means_for,
    operating_characteristic,
    regrouping,
    retest,
    rule_of,
)
from adhesion_stats.acceptance.risk.assumed import limits_mpa, share_limit, strengths_alone
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics import accepts_count
from adhesion_stats.statistics.strengths import Distribution
from adhesion_stats.terms.criteria import (
    AllOf,
    AnyOf,
    CharacteristicAtLeast,
    CountAtLeast,
    EachPullAtLeast,
    FailureLimit,
    FailureShare,
    Limit,
    MeanAtLeast,
    PullsWithFailure,
    Requirement,
    SmallestAtLeast,
)
from adhesion_stats.terms.failed import Failed
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding

UNROUNDED = Rounding()
SIMULATIONS = 20_000


def limit(value: float, unit: str = "MPa", mpa: float | None = None, places: int = 2) -> Limit:
    """A limit as written."""
    return Limit(f"{value} {unit}", value, unit, places, value if mpa is None else mpa)


MEAN = MeanAtLeast("1", "", "pull-off", limit(1.5))
SMALLEST = SmallestAtLeast("2", "", "pull-off", limit(1.0))
COUNT = CountAtLeast("3", "", "pull-off", limit(1.2), 4, 6)
BOTH = AllOf((MEAN, SMALLEST))
FAILURE = FailureShare("4", "", ("A",), 50.0, None)
KNOWN = CharacteristicAtLeast("5", "", "pull-off", limit(1.0), "en1990-known", known_cov=0.2)
UNKNOWN = CharacteristicAtLeast("6", "", "pull-off", limit(1.0), "tolerance", 0.90, 0.75)

ASSUMED = {
    "all known": (0.0, 0.0, math.inf),
    "glue": (0.2, 0.0, math.inf),
    "glue and lost": (0.15, 0.1, math.inf),
    "with a ceiling": (0.15, 0.1, 2.5),
}
RULES: dict[str, Requirement] = {
    "mean": MEAN,
    "smallest": SMALLEST,
    "count": COUNT,
    "both": BOTH,
    "any": AnyOf((BOTH, COUNT)),
    "all three": AllOf((MEAN, SMALLEST, COUNT)),
    "known spread": KNOWN,
}


def outcomes(found: OperatingCharacteristic) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """(3, g) probabilities."""
    return np.stack([found.conforms, found.does_not_conform, found.undetermined])


@pytest.mark.parametrize("assumed", ASSUMED)
@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize(("n", "distribution"), [(6, "normal"), (8, "lognormal"), (5, "weibull")])
def test_exact_is_what_simulated_zones_come_to(rule: str, assumed: str, n: int, distribution: Distribution) -> None:
    """Each outcome within 3 standard errors of zones drawn and decided one by one."""
    glue, lost, ceiling = ASSUMED[assumed]

    def found(*, simulate: bool) -> OperatingCharacteristic:
        return operating_characteristic(
            RULES[rule], n=n, mean_mpa=np.array([1.35, 1.8]), cov=0.25, distribution=distribution, glue_share=glue,
            lost_share=lost, ceiling_mpa=ceiling, generator=np.random.default_rng(77), simulations=SIMULATIONS,
            simulate=simulate,
        )  # fmt: skip

    exact, drawn = found(simulate=False), found(simulate=True)
    assert exact.how != "simulated"
    assert drawn.how == "simulated"
    p = outcomes(exact)
    error = np.sqrt(np.maximum(p * (1 - p), 1 / SIMULATIONS) / SIMULATIONS)
    assert np.all(np.abs(outcomes(drawn) - p) <= 3 * error)
    assert p.sum(axis=0) == pytest.approx([1.0, 1.0], abs=1e-12)


def test_mean_less_sd_is_what_simulated_zones_come_to() -> None:
    """A characteristic value with the spread of the sample: the non-central t."""
    arguments = {"n": 5, "mean_mpa": np.array([1.4, 2.0]), "cov": 0.2, "simulations": SIMULATIONS}
    exact = operating_characteristic(UNKNOWN, **arguments)  # type: ignore[arg-type]
    drawn = operating_characteristic(
        UNKNOWN, generator=np.random.default_rng(5), simulate=True, **arguments  # type: ignore[arg-type]
    )  # fmt: skip
    assert exact.how == "mean less sd"
    error = np.sqrt(exact.conforms * (1 - exact.conforms) / SIMULATIONS)
    assert np.all(np.abs(drawn.conforms - exact.conforms) <= 3 * error)


def test_rules_without_an_exact_way_are_simulated_with_their_error() -> None:
    """A spread taken from the sample beside a floor: zones are drawn, and the standard error is stated."""
    rule = AllOf((UNKNOWN, SMALLEST))
    with pytest.raises(WrongUsage, match="generator"):
        operating_characteristic(rule, n=5, mean_mpa=np.array([1.8]), cov=0.2)
    found = operating_characteristic(
        rule, n=5, mean_mpa=np.array([1.8]), cov=0.2, glue_share=0.1, generator=np.random.default_rng(1),
        simulations=2000,
    )  # fmt: skip
    assert found.how == "simulated"
    assert found.standard_error[0] == pytest.approx(0.5 / math.sqrt(2000), abs=0.004)
    assert outcomes(found).sum() == pytest.approx(1.0)
    assert found.undetermined[0] > 0.1  # a bounded value may lie anywhere above, and then widens the spread


def test_a_bound_never_hurts_a_rule_that_grows() -> None:
    """A pull that broke in the glue is at least its value: the zone conforms as often, and fails less often."""
    means = np.linspace(1.0, 2.5, 31)
    without = operating_characteristic(BOTH, n=5, mean_mpa=means, cov=0.2)
    with_glue = operating_characteristic(BOTH, n=5, mean_mpa=means, cov=0.2, glue_share=0.3)
    assert with_glue.conforms == pytest.approx(without.conforms, abs=1e-12)
    assert np.all(with_glue.does_not_conform <= without.does_not_conform + 1e-12)
    assert with_glue.undetermined.max() > 0.3


@pytest.mark.parametrize("distribution", ["normal", "lognormal", "weibull"])
@pytest.mark.parametrize("rule", RULES)
def test_better_zones_conform_more_often(rule: str, distribution: Distribution) -> None:
    """Conforms rises, does not conform falls with the true mean; the three sum to one."""
    found = operating_characteristic(
        RULES[rule], n=6, mean_mpa=np.linspace(0.6, 4.0, 120), cov=0.3, distribution=distribution, glue_share=0.1,
        lost_share=0.05,
    )  # fmt: skip
    assert np.diff(found.conforms).min() > -1e-9
    assert np.diff(found.does_not_conform).max() < 1e-9
    assert outcomes(found).sum(axis=0) == pytest.approx(np.ones(120), abs=1e-12)
    assert outcomes(found).min() >= -1e-12


def test_more_pulls_than_planned_leave_a_choice() -> None:
    """Four of six with eight pulls: the two left out may be the best or the worst. Worked by hand.

    Conforms where every choice of six holds four at the limit, so at least 6 of 8 reach it; fails where no choice
    does, so at most 3 of 8 reach it.
    """
    mean = 1.2 / (1 - 0.25 * 0.6744897501960817)  # a quarter of the pulls lies below 1.20
    found = operating_characteristic(COUNT, n=8, mean_mpa=np.array([mean]), cov=0.25)
    p = 0.75
    six_or_more = sum(math.comb(8, i) * p**i * (1 - p) ** (8 - i) for i in range(6, 9))
    four_or_more = accepts_count(np.array([p]), z=4, n=8).item()
    assert found.share_below[0] == pytest.approx(0.25, abs=1e-9)
    assert found.conforms[0] == pytest.approx(six_or_more, abs=1e-9)
    assert found.does_not_conform[0] == pytest.approx(1 - four_or_more, abs=1e-9)


def test_a_fixed_floor_gets_stricter_with_more_pulls() -> None:
    """Mean 1.5 and smallest 1.0, true mean 1.8 with 25 %: three pulls pass 82.47 % of the time, ten fewer.

    With 20 % ten pulls pass 87.47 % of the time (both by integration).
    """
    assumed = Assumed()
    wide = by_number_of_pulls(BOTH, pulls=(3, 5, 6, 10), mean_mpa=1.8, cov=0.25, assumed=assumed, rounding=UNROUNDED)
    chances = [point.conforms for point in wide]
    assert chances[0] == pytest.approx(0.8247, abs=0.00005)
    assert chances == sorted(chances, reverse=True)
    narrow = by_number_of_pulls(BOTH, pulls=(10,), mean_mpa=1.8, cov=0.20, assumed=assumed, rounding=UNROUNDED)
    assert narrow[0].conforms == pytest.approx(0.8747, abs=0.00005)


def test_qualities_at_which_the_rule_accepts() -> None:
    """At the means found, zones conform with the wanted probabilities."""
    rule = rule_of(BOTH, n=5, assumed=Assumed())
    means = rule.mean_where_accepted((0.05, 0.10, 0.50, 0.95), 0.2)
    assert rule.at(means, 0.2).conforms == pytest.approx([0.05, 0.10, 0.50, 0.95], abs=1e-5)
    grid = means_for(rule, 0.2, points=50)
    assert rule.at(grid[[0, -1]], 0.2).conforms == pytest.approx([0.0, 1.0], abs=0.01)


def test_rounding_moves_the_limit_by_half_a_place() -> None:
    """Rounded to 0.1 MPa, 1.45 meets a limit of 1.5: the same as an unrounded limit of 1.45."""
    means = np.array([1.45, 1.6])
    rounding = Rounding("rounded", "up")
    rough = MeanAtLeast("1", "", "pull-off", limit(1.5, places=1))
    exact = MeanAtLeast("1", "", "pull-off", limit(1.45))
    first = operating_characteristic(rough, n=5, mean_mpa=means, cov=0.2, rounding=rounding)
    second = operating_characteristic(exact, n=5, mean_mpa=means, cov=0.2)
    assert first.conforms == pytest.approx(second.conforms, abs=1e-12)
    assert first.conforms[0] == pytest.approx(0.5)


def test_recording_in_steps() -> None:
    """Strengths recorded to 0.1 MPa: single values exactly (0.95 is recorded as 1.0), a mean by simulation."""
    steps = Rounding("unrounded", "up", limit(0.1, places=1))
    means = np.array([1.3])
    arguments = {"n": 5, "mean_mpa": means, "cov": 0.2, "rounding": steps}
    found = operating_characteristic(SMALLEST, **arguments)  # type: ignore[arg-type]
    plain = operating_characteristic(SmallestAtLeast("2", "", "pull-off", limit(0.95)), n=5, mean_mpa=means, cov=0.2)
    assert found.how == "count"
    assert found.conforms == pytest.approx(plain.conforms, abs=1e-9)
    drawn = operating_characteristic(
        SMALLEST, generator=np.random.default_rng(8), simulate=True, simulations=SIMULATIONS, **arguments  # type: ignore[arg-type]
    )  # fmt: skip
    assert abs(drawn.conforms[0] - found.conforms[0]) < 3 * drawn.standard_error[0]
    mean = operating_characteristic(MEAN, generator=np.random.default_rng(8), **arguments)  # type: ignore[arg-type]
    assert mean.how == "simulated"


def test_failure_composition_is_left_out_and_named() -> None:
    """One of several that must be met counts as met, one way of several as not taken; alone it has no risk."""
    kept, left_out = strengths_alone(AllOf((BOTH, FAILURE)))
    assert (kept, left_out) == (BOTH, (FAILURE,))
    assert strengths_alone(AnyOf((MEAN, FAILURE)))[0] == MEAN
    with pytest.raises(WrongUsage, match="nothing of the strengths"):
        strengths_alone(FAILURE)


def test_with_failures_assumed_the_whole_rule_is_simulated() -> None:
    """Mean 1.5, or every pull breaks in the substrate: at n = 3 and 70 % the second way is taken 34.3 % of the time.

    The two ways are independent, so the zone conforms with 1 - (1 - P(mean)) (1 - 0.343).
    """
    rule = AnyOf((MEAN, PullsWithFailure("2", "", ("A",), 50.0, 100.0, None)))
    found = operating_characteristic(
        rule, n=3, mean_mpa=np.array([1.3, 1.5]), cov=0.2, broke=(("A", 0.7), ("A/B", 0.3)),
        generator=np.random.default_rng(6), simulations=SIMULATIONS,
    )  # fmt: skip
    mean = operating_characteristic(MEAN, n=3, mean_mpa=np.array([1.3, 1.5]), cov=0.2).conforms
    assert found.rule.left_out == ()
    assert found.conforms == pytest.approx(1 - (1 - mean) * (1 - 0.343), abs=3 * found.standard_error.max())


def test_a_way_out_is_taken_as_often_as_pulls_break_so() -> None:
    """No value below 1.2 unless it broke in the substrate: each pull passes with 1 - F (1 - 0.6). Worked by hand."""
    rule = SmallestAtLeast("1", "", "pull-off", limit(1.2), Failed(("A",), 50.0))
    mean = 1.2 / (1 - 0.25 * 0.6744897501960817)  # F = 0.25
    found = operating_characteristic(
        rule, n=4, mean_mpa=np.array([mean]), cov=0.25, broke=(("A", 0.6), ("A/B", 0.4)),
        generator=np.random.default_rng(7), simulations=SIMULATIONS,
    )  # fmt: skip
    assert found.conforms[0] == pytest.approx((1 - 0.25 * 0.4) ** 4, abs=3 * found.standard_error[0])
    without = operating_characteristic(rule, n=4, mean_mpa=np.array([mean]), cov=0.25)
    assert without.rule.left_out == (rule,)
    assert without.conforms[0] == pytest.approx(0.75**4, abs=1e-9)


def test_a_bond_that_held_is_a_bound() -> None:
    """The bond A/B asked for, and half of the pulls break in the substrate: they are "at least" their value."""
    rule = SmallestAtLeast("1", "", "A/B", limit(1.2))
    means = np.array([1.3, 1.6])
    found = operating_characteristic(rule, n=4, mean_mpa=means, cov=0.25, broke=(("A", 0.5), ("A/B", 0.5)))
    glue = operating_characteristic(rule, n=4, mean_mpa=means, cov=0.25, glue_share=0.5)
    drawn = operating_characteristic(
        rule, n=4, mean_mpa=means, cov=0.25, broke=(("A", 0.5), ("A/B", 0.5)), simulate=True,
        generator=np.random.default_rng(17), simulations=SIMULATIONS,
    )  # fmt: skip
    assert found.how == "count"
    assert outcomes(found) == pytest.approx(outcomes(glue))
    assert outcomes(drawn) == pytest.approx(outcomes(found), abs=3 * drawn.standard_error.max())


KINDS = {
    "quality_index_at_least = 1.12": "mean less sd",
    'share_below_at_most = "5 %"': "mean less sd",
    'cov_at_most = "25 %"': "mean less sd",
    'mean_less_sd_at_least = "1.00 MPa"\nk = 1.4': "mean less sd",
    'held_at = "1.20 MPa"': "count",
    'pulls_at_or_above = "1.20 MPa"\nat_least_share = "80 %"': "count",
    'smallest_at_least_of_mean = "70 %"': "simulated",
    'characteristic_at_least = "0.80 MPa"\nmethod = "en14358-lognormal"': "simulated",
    'characteristic_at_least = "0.80 MPa"\nmethod = "weibull"\ncontent = 0.95\nconfidence = 0.75': "simulated",
}


@pytest.mark.parametrize("text", KINDS)
def test_every_kind_has_a_risk(text: str) -> None:
    """Each kind of criterion: exact where one of the known forms is behind it, else simulated; both agree.

    A spread of 45 % takes some normal values below zero; a method that takes logarithms gets none of them.
    """
    lower = 'lower_limit = "1.00 MPa"' if text.startswith(("quality", "share_below")) else ""
    toml = f'[contract]\ntitle = "T"\n[[require]]\n{text}\n{lower}\n'
    rule = parse_specification(toml.encode(), file="s.toml").requirement_for("Z")
    assert rule is not None
    for cov in (0.2, 0.45):
        generator = np.random.default_rng(12)
        arguments = {"n": 6, "mean_mpa": np.array([1.5, 2.0]), "cov": cov, "generator": generator, "simulations": 4000}
        found = operating_characteristic(rule, **arguments)  # type: ignore[arg-type]
        drawn = operating_characteristic(rule, simulate=True, **arguments)  # type: ignore[arg-type]
        assert found.how == KINDS[text]
        error = np.hypot(found.standard_error, drawn.standard_error).max()
        assert outcomes(drawn) == pytest.approx(outcomes(found), abs=3 * error)
        assert outcomes(found).sum(axis=0) == pytest.approx([1.0, 1.0])


def test_limits_by_failure_need_to_know_how_zones_break() -> None:
    """A limit for each failure: refused without an assumption about failures, simulated with one."""
    rule = EachPullAtLeast("1", "", "pull-off", (FailureLimit(Failed(("A",), 50.0), limit(1.0)),), limit(1.5))
    with pytest.raises(WrongUsage, match="depends on what broke"):
        operating_characteristic(rule, n=2, mean_mpa=np.array([1.5]), cov=0.2)
    found = operating_characteristic(
        rule, n=2, mean_mpa=np.array([1.5]), cov=0.2, broke=(("A", 0.5), ("B", 0.5)),
        generator=np.random.default_rng(1), simulations=SIMULATIONS,
    )  # fmt: skip
    one = 0.5 * 0.9522096477271853 + 0.5 * 0.5  # Phi(5/3) and Phi(0)
    assert found.conforms[0] == pytest.approx(one**2, abs=3 * found.standard_error[0])


def test_limits_of_a_rule() -> None:
    """The true share below is told against the floor, not against the limit of the mean."""
    assert limits_mpa(AllOf((MEAN, SMALLEST, FAILURE))) == (1.5, 1.0)
    assert share_limit(BOTH) == 1.0
    assert share_limit(MEAN) == 1.5


def test_whole_contract() -> None:
    """Forty zones that pass nine times out of ten pass together 1.5 % of the time."""
    rule = rule_of(BOTH, n=5, assumed=Assumed())
    mean = rule.mean_where_accepted((0.9,), 0.2).item()
    whole = contract_risk(rule.point(mean, 0.2), zones=40)
    assert whole.conforms == pytest.approx(0.0148, abs=0.0001)
    assert whole.does_not_conform == pytest.approx(1 - whole.conforms, abs=1e-9)


def test_second_try() -> None:
    """At the limit itself 46 % pass mean 1.5 and smallest 1.0 with five pulls at 20 %: a free second try makes it 71 %.

    Where the pulls of both tries count together, a second try lifts it less.
    """
    rule = rule_of(BOTH, n=5, assumed=Assumed())
    found = retest(rule, mean_mpa=1.5, cov=0.2, most_tries=2, generator=np.random.default_rng(3))
    assert found.once == pytest.approx(0.46, abs=0.005)
    assert found.replacing == pytest.approx(0.71, abs=0.005)
    assert found.combined is not None
    assert found.once < found.combined < found.replacing
    alone = retest(rule, mean_mpa=1.5, cov=0.2, most_tries=1, generator=np.random.default_rng(3))
    assert alone.combined == pytest.approx(found.once, abs=3 * alone.combined_error)


def test_combined_pulls_of_two_tries_by_the_bivariate_normal() -> None:
    """A mean at its limit: two tries combined accept with 1/2 + (1/2 - arcsin(1/sqrt 2)/(2 pi) - 1/4) = 0.625."""
    found = retest(
        rule_of(MEAN, n=4, assumed=Assumed()), mean_mpa=1.5, cov=0.2, most_tries=2, generator=np.random.default_rng(9)
    )
    expected = 1 - (0.25 + math.asin(1 / math.sqrt(2)) / (2 * math.pi))  # both means below: the quadrant probability
    assert found.combined == pytest.approx(expected, abs=3 * found.combined_error)


def test_a_zone_divided_after_the_results_gains_by_choice() -> None:
    """Uniform quality: any gain is chance that was chosen; free choice gains more than a line between neighbours."""
    rule = rule_of(BOTH, n=6, assumed=Assumed())
    found = regrouping(rule, mean_mpa=1.4, cov=0.25, least_pulls=3, generator=np.random.default_rng(2))
    assert found.conforms == pytest.approx(rule.point(1.4, 0.25).conforms, abs=3 * found.standard_error)
    assert found.a_part_conforms > found.conforms + 0.1
    assert found.chosen_conform > found.a_part_conforms + 0.1
    with pytest.raises(WrongUsage, match="fewer than the zone's 6"):
        regrouping(rule, mean_mpa=1.4, cov=0.25, least_pulls=6, generator=np.random.default_rng(2))


def test_one_pull_chosen_is_the_largest_value() -> None:
    """The smallest value alone as a rule, parts of one pull: the best choice passes unless all n lie below."""
    rule = rule_of(SMALLEST, n=4, assumed=Assumed())
    found = regrouping(rule, mean_mpa=1.0, cov=0.2, least_pulls=1, generator=np.random.default_rng(4))
    assert found.chosen_conform == pytest.approx(1 - 0.5**4, abs=3 * found.standard_error)


def test_two_rules_side_by_side() -> None:
    """The same grid for both; a lower limit is met more often."""
    means = np.linspace(1.2, 2.0, 9)
    easy = rule_of(MeanAtLeast("1", "", "pull-off", limit(1.3)), n=5, assumed=Assumed())
    found = compare(rule_of(MEAN, n=5, assumed=Assumed()), easy, mean_mpa=means, cov=0.2)
    assert np.all(found.more_often > 0)
    assert found.first.mean_mpa is means
    assert found.second.conforms == pytest.approx(easy.at(means, 0.2).conforms)


def test_what_is_refused_is_said_at_once() -> None:
    """Shares above one, an unknown distribution, means of zero, no pulls."""
    with pytest.raises(WrongUsage, match=r"distribution.*glue_share.*ceiling"):
        Assumed(distribution="uniform", glue_share=1.2, ceiling_mpa=0.0)  # type: ignore[arg-type]
    with pytest.raises(WrongUsage, match="sum to 1 in broke"):
        Assumed(broke=(("A", 0.5), ("B", 0.4)))
    with pytest.raises(WrongUsage, match="together at most 1"):
        Assumed(glue_share=0.6, lost_share=0.6)
    with pytest.raises(WrongUsage, match=r"above zero.*20 % is 0\.20"):
        operating_characteristic(MEAN, n=3, mean_mpa=np.array([0.0]), cov=20.0)
    with pytest.raises(WrongUsage, match="at least one pull"):
        rule_of(MEAN, n=0, assumed=Assumed())


MEASURED = {"normal, half between": ("normal", 0.5), "all within": ("normal", 0.0), "all between": ("normal", 1.0)}


@pytest.mark.parametrize("split", MEASURED)
@pytest.mark.parametrize("assumed", ["all known", "glue and lost"])
def test_measurements_computed_and_simulated_agree(split: str, assumed: str) -> None:
    """Four measurements of three pulls under mean and smallest: within three standard errors, all three outcomes."""
    glue, lost, ceiling = ASSUMED[assumed]
    common = {"n": 4, "mean_mpa": np.array([1.3, 1.5, 1.7]), "cov": 0.2, "glue_share": glue, "lost_share": lost / 4}
    nested = {"per_measurement": 3, "between": MEASURED[split][1], "ceiling_mpa": ceiling}
    exact = operating_characteristic(BOTH, **common, **nested)  # type: ignore[arg-type]
    drawn = operating_characteristic(
        BOTH, **common, **nested, simulate=True, simulations=SIMULATIONS, generator=np.random.default_rng(7)  # type: ignore[arg-type]
    )  # fmt: skip
    assert exact.how == "mean and values"
    assert np.abs(outcomes(exact) - outcomes(drawn)).max() < 3 * drawn.standard_error.max()


def test_the_mean_of_measurements_by_hand() -> None:
    """Mean of 4 measurements of 3 pulls >= 1.5 at mu = 1.6, sd 0.32, a quarter between.

    Variance of a measurement: 0.32² (0.25 + 0.75 / 3) = 0.1024 × 0.5 = 0.0512; of the mean of four: 0.0128, sd 0.11314.
    P = Phi(0.1 / 0.11314) = Phi(0.88388) = 0.8116; as twelve single pulls Phi(0.1 / (0.32 / sqrt(12))) = 0.8605.
    """
    common = {"mean_mpa": np.array([1.6]), "cov": 0.2}
    nested = operating_characteristic(MEAN, n=4, per_measurement=3, between=0.25, **common)  # type: ignore[arg-type]
    single = operating_characteristic(MEAN, n=12, **common)  # type: ignore[arg-type]
    assert float(nested.conforms[0]) == pytest.approx(0.8116, abs=5e-5)
    assert float(single.conforms[0]) == pytest.approx(0.8605, abs=5e-5)
    assert nested.rule.pulls == 12


def test_a_lost_pull_leaves_its_measurement_unknown() -> None:
    """One measurement of two pulls, one in ten lost: both are there in 0.81 of cases, else nothing is decided."""
    found = operating_characteristic(
        SMALLEST, n=1, mean_mpa=np.array([50.0]), cov=0.2, lost_share=0.1, per_measurement=2, between=0.5
    )
    assert float(found.conforms[0]) == pytest.approx(0.81)
    assert float(found.undetermined[0]) == pytest.approx(0.19)


def test_measurements_that_are_not_normal_or_are_recorded_in_steps_are_simulated() -> None:
    """No closed form is known there: it is not passed off as exact."""
    step = Rounding(record_to=limit(0.1))
    common = {"n": 3, "assumed": Assumed(per_measurement=3, between=0.5), "generator": np.random.default_rng(1)}
    assert rule_of(MEAN, **common).how == "mean"  # type: ignore[arg-type]
    assert rule_of(MEAN, **common, rounding=step, simulations=100).how == "simulated"  # type: ignore[arg-type]
    log = Assumed(distribution="lognormal", per_measurement=3, between=0.5)
    assert rule_of(SMALLEST, **(common | {"assumed": log}), simulations=100).how == "simulated"  # type: ignore[arg-type]


def test_a_measurement_needs_a_split_of_its_spread() -> None:
    """Nothing is taken silently."""
    with pytest.raises(WrongUsage, match="which share of the variance lies between"):
        Assumed(per_measurement=3)
    with pytest.raises(WrongUsage, match="between from 0 to 1"):
        Assumed(per_measurement=3, between=50.0)
