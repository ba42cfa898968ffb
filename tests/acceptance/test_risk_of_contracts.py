"""The risk of rules that reach beyond one zone and one round: spread pooled over zones, retest ladders, stages."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, stats

from adhesion_stats.acceptance import Cases, Outcome, decide
from adhesion_stats.acceptance.risk import (
    Assumed,
    Pool,
    climbed,
    ladder_of,
    pool_of,
    regrouping,
    retest,
    rule_of,
    stages_of,
)
from adhesion_stats.acceptance.risk.pooled import PooledDraws, decided_pooled
from adhesion_stats.acceptance.risk.simulated import bounds_of, strengths_of
from adhesion_stats.errors import WrongUsage
from adhesion_stats.statistics import ThreeWay, accepts_mean_less_pooled_sd, accepts_mean_less_sd
from adhesion_stats.terms.criteria import PULL_OFF, AllOf, CharacteristicAtLeast, SmallestAtLeast
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.terms.specification import Rounding, Specification
from adhesion_stats.terms.stages import LadderStep
from tests.acceptance.test_risk import MEAN, SMALLEST, UNKNOWN, limit

POOLED = CharacteristicAtLeast("1", "", "pull-off", limit(1.0), "pooled", 0.95, 0.75)
BOTH = AllOf((POOLED, SmallestAtLeast("2", "", "pull-off", limit(1.1))))
MEANS = np.array([1.5, 1.8, 2.1])
REPEAT = LadderStep("does not conform", "revise and repeat", 3)
REFER = LadderStep("does not conform", "refer to the designer")


def spec(text: str) -> Specification:
    """A specification."""
    return parse_specification(f'[contract]\ntitle = "t"\n{text}'.encode(), file="t.toml")


def test_one_zone_of_a_pool_is_a_noncentral_t_with_more_degrees_of_freedom() -> None:
    """With the degrees of freedom of its own values it is the rule on its own spread; else scipy's non-central t."""
    sd = 0.2 * MEANS
    own = accepts_mean_less_sd(MEANS, limit=1.0, sd=sd, n=5, k=2.0)
    one = {"limit": 1.0, "sd": sd, "n": 5, "k": 2.0}
    same = accepts_mean_less_pooled_sd(MEANS, degrees_of_freedom=4, zones=1, **one)  # type: ignore[arg-type]
    np.testing.assert_allclose(same, own, atol=1e-12)
    root = math.sqrt(5)
    theirs = stats.nct.sf(2.0 * root, 16, root * (MEANS - 1.0) / sd)
    found = accepts_mean_less_pooled_sd(MEANS, degrees_of_freedom=16, zones=1, **one)  # type: ignore[arg-type]
    np.testing.assert_allclose(found, theirs, atol=1e-9)


@pytest.mark.parametrize(
    ("n", "df", "zones", "k"), [(1, 1, 2, 1.5), (3, 16, 8, 2.0), (5, 4, 40, 8.0), (10, 400, 2, 0.3)]
)
def test_all_zones_of_a_pool_by_scipys_quadrature(n: int, df: int, zones: int, k: float) -> None:
    """The mean over the common spread of the power, by adaptive quadrature of another library, smooth and steep."""
    for mean in (1.0, 2.5, 4.0):
        edges = sorted(
            {0.0, mean / k, 0.9 * mean / k, 1.1 * mean / k, 1.0, 0.8, 1.2, stats.chi.isf(1e-18, df) / math.sqrt(df)}
        )

        def weighted(s: float, mean: float = mean) -> float:
            density = stats.chi.pdf(s * math.sqrt(df), df) * math.sqrt(df)
            return float(density * stats.norm.cdf(math.sqrt(n) * (mean - k * s)) ** zones)

        theirs = sum(integrate.quad(weighted, a, b, epsabs=1e-12)[0] for a, b in itertools.pairwise(edges))
        found = accepts_mean_less_pooled_sd(
            np.array([mean]), limit=0.0, sd=np.array([1.0]), n=n, k=k, degrees_of_freedom=df, zones=zones
        )
        assert float(found[0]) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("per", [1, 3])
def test_pools_computed_and_simulated_agree(per: int) -> None:
    """Six zones of five values and one of four that lends its spread: one zone and all, within three errors."""
    assumed, pool = Assumed(per_measurement=per, between=0.5), Pool(6, (4,))
    exact = rule_of(POOLED, n=5, assumed=assumed, pool=pool)
    drawn = rule_of(
        POOLED, n=5, assumed=assumed, pool=pool, simulate=True, simulations=12_000, generator=np.random.default_rng(5)
    )
    assert exact.how == "mean less pooled sd"
    for one, other in (
        (exact.at(MEANS, 0.2), drawn.at(MEANS, 0.2)),
        (exact.whole_at(MEANS, 0.2, zones=6), drawn.whole_at(MEANS, 0.2, zones=6)),
    ):
        error = np.sqrt(one.conforms * (1 - one.conforms) / drawn.simulations)
        assert (np.abs(one.conforms - other.conforms) < 3 * error).all()


def test_zones_of_a_pool_conform_together_oftener_than_independent_ones() -> None:
    """They share their spread."""
    rule = rule_of(POOLED, n=5, assumed=Assumed(), pool=Pool(6))
    assert (rule.whole_at(MEANS, 0.2, zones=6).conforms > rule.at(MEANS, 0.2).conforms ** 6).all()


@pytest.mark.parametrize(("glue", "lost", "ceiling"), [(0.0, 0.0, math.inf), (0.1, 0.0, math.inf), (0.08, 0.08, 3.0)])
def test_a_drawn_contract_is_decided_as_a_real_one(glue: float, lost: float, ceiling: float) -> None:
    """Sixty contracts of three zones and one further: zone by zone the outcome of ``decide``, bounded values too."""
    assumed = Assumed(glue_share=glue, lost_share=lost, ceiling_mpa=ceiling)
    pool = Pool(3, (4,))
    draws = PooledDraws.of(np.random.default_rng(11), assumed, contracts=60, n=5, pool=pool)
    common = {"mean_mpa": 1.75, "cov": 0.2, "assumed": assumed, "rounding": Rounding()}
    found = decided_pooled(BOTH, draws, **common)  # type: ignore[arg-type]
    bounds = [
        bounds_of(strengths_of(MEAN, one, **common), one, assumed, PULL_OFF)  # type: ignore[arg-type]
        for one in (draws.own, draws.others[0])
    ]
    contract = spec(
        '[[require]]\nzones = ["a", "b", "c"]\nall_of = [{ characteristic_at_least = "1.0 MPa", method = "pooled", '
        'content = 0.95, confidence = 0.75, pooled_over = ["a", "b", "c", "d"] }, { smallest_at_least = "1.1 MPa" }]\n'
    )
    for i in range(60):
        rows = [(bounds[0][0][3 * i + z], bounds[0][1][3 * i + z]) for z in range(3)]
        rows.append((bounds[1][0][i], bounds[1][1][i]))
        zone = np.concatenate([np.full(low.size, z) for z, (low, _) in enumerate(rows)])
        values = Cases(
            zones=("a", "b", "c", "d"), zone=zone, pull=np.arange(zone.size),
            low={PULL_OFF: np.concatenate([low for low, _ in rows])},
            high={PULL_OFF: np.concatenate([high for _, high in rows])},
        )  # fmt: skip
        decisions = decide(contract, values)
        assert [Outcome(int(o)) for o in found[i]] == [decisions[name].outcome for name in ("a", "b", "c")]
    assert len(np.unique(found)) > 1


def test_a_pool_has_to_be_known_and_is_not_looked_at_zone_by_zone() -> None:
    """Without the zones nothing is computed; a zone has no second try and no border of its own."""
    with pytest.raises(WrongUsage, match="how many they are"):
        rule_of(POOLED, n=5, assumed=Assumed())
    with pytest.raises(WrongUsage, match="one value each"):
        rule_of(POOLED, n=1, assumed=Assumed(), pool=Pool(4)).at(MEANS, 0.2)
    rule = rule_of(POOLED, n=5, assumed=Assumed(), pool=Pool(4))
    with pytest.raises(WrongUsage, match="looked at alone"):
        retest(rule, mean_mpa=1.5, cov=0.2, most_tries=2)
    with pytest.raises(WrongUsage, match="looked at alone"):
        regrouping(rule, mean_mpa=1.5, cov=0.2, least_pulls=2, generator=np.random.default_rng(1))
    with pytest.raises(WrongUsage, match="4 zones of this rule"):
        rule.whole_at(MEANS, 0.2, zones=5)
    with pytest.raises(WrongUsage, match="not independent"):
        ladder_of([rule, rule], [REPEAT])


def test_a_ladder_by_hand() -> None:
    """First round 0.5 conform, 0.4 not, 0.1 undetermined; second 0.6, 0.3, 0.1; then the designer.

    Conforms 0.5 + 0.4 × 0.6 = 0.74; referred 0.4 × 0.3 = 0.12; undetermined 0.1 + 0.4 × 0.1 = 0.14.
    """
    rounds = [ThreeWay(*(np.array([p]) for p in way)) for way in ((0.5, 0.4, 0.1), (0.6, 0.3, 0.1))]
    none = [np.zeros(1)] * 2
    found = climbed(rounds, [REPEAT, REFER], none)
    assert (found.conforms[0], found.referred[0], found.undetermined[0]) == pytest.approx((0.74, 0.12, 0.14))
    assert found.does_not_conform[0] == 0.0
    assert found.reached.ravel().tolist() == pytest.approx([1.0, 0.4])
    unreferred = climbed(rounds, [REPEAT], none)
    assert (unreferred.does_not_conform[0], unreferred.referred[0]) == pytest.approx((0.12, 0.0))
    on_open = climbed(rounds, [LadderStep("undetermined", "revise and repeat")], none)
    assert (on_open.conforms[0], on_open.does_not_conform[0]) == pytest.approx((0.5 + 0.1 * 0.6, 0.4 + 0.1 * 0.3))


def test_a_free_second_try_lifts_046_to_071() -> None:
    """A ladder of one step with as many pulls: 1 - (1 - 0.46)²."""
    rule = rule_of(MEAN, n=4, assumed=Assumed())
    mean = rule.mean_where_accepted((0.46,), 0.2)
    found = ladder_of([rule, rule], [LadderStep("does not conform", "revise and repeat"), REFER]).at(mean, 0.2)
    assert found.conforms[0] == pytest.approx(1 - 0.54**2, abs=1e-5)


def test_ladders_computed_and_simulated_agree() -> None:
    """Five pulls under mean and smallest with glue breaks, then three, then the designer: 40 000 ladders are walked."""
    assumed = Assumed(glue_share=0.15)
    rounds = [rule_of(AllOf((MEAN, SMALLEST)), n=n, assumed=assumed) for n in (5, 3)]
    found = ladder_of(rounds, [REPEAT, REFER]).at(np.array([1.5]), 0.2)
    rng = np.random.default_rng(20260504)
    many = 40_000

    def walked(n: int) -> tuple[np.ndarray, np.ndarray]:
        """Conforms and does not, decided by hand: what is known from below alone, and what could be."""
        value, glue = rng.normal(1.5, 0.3, (many, n)), rng.random((many, n)) < 0.15
        best = np.where(glue, np.inf, value)
        conforms = (value.mean(axis=1) >= 1.5) & (value.min(axis=1) >= 1.0)
        possible = (best.mean(axis=1) >= 1.5) & (best.min(axis=1) >= 1.0)
        return conforms, ~possible

    first, failed = walked(5)
    second, failed_again = walked(3)
    for told, share in (
        (found.conforms[0], (first | (failed & second)).mean()),
        (found.referred[0], (failed & failed_again).mean()),
    ):
        assert abs(told - share) < 3 * math.sqrt(told * (1 - told) / many)
    total = found.conforms + found.does_not_conform + found.undetermined + found.referred
    assert total[0] == pytest.approx(1.0)
    assert found.standard_error[0] == 0.0


def test_a_simulated_ladder_says_so() -> None:
    """A rule without an exact way: the errors of the rounds add up."""
    rule = rule_of(
        AllOf((UNKNOWN, SMALLEST)), n=5, assumed=Assumed(), generator=np.random.default_rng(3), simulations=2000
    )
    ladder = ladder_of([rule, rule], [REPEAT, REFER])
    found = ladder.at(np.array([1.5]), 0.2)
    assert not ladder.exact
    assert 0.01 < found.standard_error[0] <= 2 * 0.5 / math.sqrt(2000) * 1.001


def test_rounds_have_to_fit_the_steps() -> None:
    """One round more than steps that repeat."""
    rule = rule_of(MEAN, n=4, assumed=Assumed())
    for rounds, steps in (([rule], [REPEAT]), ([rule], []), ([rule, rule], [REFER])):
        with pytest.raises(WrongUsage, match="rounds for"):
            ladder_of(rounds, steps)


POOL_OF_ALL = (
    '[pulls]\nrequired = 5\n[[require]]\ncharacteristic_at_least = "1.0 MPa"\nmethod = "pooled"\ncontent = 0.95\n'
    "confidence = 0.75\n"
)
ZONES = (
    '[pulls]\nrequired = 5\n[[require]]\nzones = ["a", "b"]\ncharacteristic_at_least = "1.0 MPa"\nmethod = "pooled"\n'
    'content = 0.95\nconfidence = 0.75\npooled_over = ["a", "b", "c"]\n[[require]]\nzones = ["c"]\nrequired = 3\n'
    'mean_at_least = "1.50 MPa"\n'
)


def test_the_pool_is_what_the_contract_names() -> None:
    """Two zones of the rule and one of three pulls; a rule for all zones needs to be told how many there are."""
    assert pool_of(spec(ZONES), "a", pulls=None, zones=None) == Pool(2, (3,))
    assert pool_of(spec(ZONES), "c", pulls=None, zones=None) is None
    with pytest.raises(WrongUsage, match="leave --zones out"):
        pool_of(spec(ZONES), "a", pulls=None, zones=5)
    everywhere = spec(POOL_OF_ALL)
    with pytest.raises(WrongUsage, match="--zones"):
        pool_of(everywhere, "", pulls=None, zones=None)
    assert pool_of(everywhere, "", pulls=None, zones=7) == Pool(7)
    elsewhere = spec(ZONES.replace('pooled_over = ["a", "b", "c"]', 'pooled_over = ["b", "c"]'))
    with pytest.raises(WrongUsage, match='zone "a" is none of those'):
        pool_of(elsewhere, "a", pulls=None, zones=None)


def test_each_stage_has_its_own_terms() -> None:
    """Never both in one rule: the trial's mean, and production's smallest."""
    staged = spec(
        '[[require]]\nstage = "production"\nsmallest_at_least = "1.0 MPa"\n[[require]]\nstage = "trial"\nrequired = 3\n'
        'mean_at_least = "1.5 MPa"\n[[require]]\nmean_at_least = "1.2 MPa"\n'
    )
    found = stages_of(staged)
    assert [stage for stage, _ in found] == ["", "trial", "production"]
    assert [terms.requirement_for("x").said for _, terms in found] == ["mean", "mean", "smallest"]  # type: ignore[union-attr]
    assert found[1][1].required_for("x") == 3
