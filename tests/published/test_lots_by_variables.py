"""Acceptance by variables: MIL-STD-414 (1957), examples B-1 to B-3; operating characteristics and plans.

Data of the examples as in the public R package AQLSchemes; estimates recomputed (the standard prints coarser ones from
its tables: 0.66 and 2.19 %). Operating characteristics and plans as computed by the public R package AcceptanceSampling
1.0.11, whose manual quotes 1.65 % for code letter J of ISO 3951. Maxima of Z1.9 as in AQLSchemes.
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.errors import InvalidSample
from adhesion_stats.statistics import (
    lot_acceptance_probability,
    lot_plan,
    lot_share_beyond,
    mean_and_sd,
    power_of_tolerance_bound,
)
from tests.published_data import half_last_digit

TEMPERATURES = np.array([[184.0, 188, 197, 201, 205]])


def test_mil_std_414_operating_temperature() -> None:
    """Mean 195, s 8.803408; 2.1823118 % above 209, 0.6168968 % below 180, together 2.7992085 %."""
    mean, sd = mean_and_sd(TEMPERATURES)
    assert float(mean[0]) == 195.0
    assert float(sd[0]) == pytest.approx(8.803408, abs=5e-7)
    q = np.array([(209.0 - mean[0]) / sd[0], (mean[0] - 180.0) / sd[0]])
    assert q == pytest.approx([1.5902931, 1.7038855], abs=5e-8)
    share = 100.0 * lot_share_beyond(q, n=5, spread="unknown")
    assert share == pytest.approx([2.1823118, 0.6168968], abs=5e-8)
    assert float(share.sum()) == pytest.approx(2.7992085, abs=1e-7)


@pytest.mark.parametrize(
    ("q", "n", "spread", "share"),
    [
        ((110.0 - 100.0) / 8.0, 10, "known", 0.0938161649974),
        ((255.0 - 225.0) / 15.0, 42, "unknown", 0.0206956259972),
        (1.6094, 10, "known", 0.0448997255),
        (1.905285, 42, "unknown", 0.0263045512),
    ],
)
def test_estimated_shares(q: float, n: int, spread: str, share: float) -> None:
    """Ten digits or more."""
    found = lot_share_beyond(np.array([q]), n=n, spread="known" if spread == "known" else "unknown")
    assert float(found[0]) == pytest.approx(share, rel=3e-9)


def test_two_limits_add_up() -> None:
    """Sd 2 known, limits 90 and 100, mean 96.68, n = 21: 4.47823346987 %."""
    q = np.array([(100.0 - 96.68) / 2.0, (96.68 - 90.0) / 2.0])
    assert float(lot_share_beyond(q, n=21, spread="known").sum()) == pytest.approx(0.0447823346987, rel=1e-11)


def test_a_mean_beyond_the_limit_gives_more_than_half() -> None:
    """Q and -Q add up to one; the absolute value of Q would give 0.2533 for 0.7467."""
    q = np.array([0.6643, -0.6643])
    share = lot_share_beyond(q, n=5, spread="unknown")
    assert float(share.sum()) == pytest.approx(1.0, abs=1e-15)
    assert share[1] > 0.5 > share[0]


@pytest.mark.parametrize(
    ("n", "percent", "k"),
    [
        (4, "10.88", 1.1736), (5, "3.33", 1.5247), (5, "9.80", 1.2368), (7, "3.54", 1.6220), (7, "8.40", 1.3259),
        (10, "3.27", 1.7141), (10, "7.26", 1.4105), (15, "3.06", 1.7860), (15, "6.55", 1.4753), (20, "2.93", 1.8259),
        (20, "6.18", 1.5118), (25, "2.86", 1.8492), (25, "5.98", 1.5332), (35, "2.66", 1.8940), (35, "5.58", 1.5730),
        (50, "2.47", 1.9362), (50, "5.21", 1.6112),
    ],
)  # fmt: skip
def test_z1_9_maxima(n: int, percent: str, k: float) -> None:
    """The largest estimated share of a plan is that of its acceptance constant (s method, normal inspection)."""
    share = 100.0 * float(lot_share_beyond(np.array([k]), n=n, spread="unknown")[0])
    assert share == pytest.approx(float(percent), abs=half_last_digit(percent) + 0.002)  # k itself has four decimals


@pytest.mark.parametrize(
    ("n", "k", "percents", "accepted"),
    [
        (30, 1.86, (1, 2, 5, 10, 15), (0.941720948, 0.756551889, 0.258466428, 0.030094595, 0.003135060)),
        (35, 1.89, (1, 2, 5, 10, 15), (0.941672485, 0.736068046, 0.208920579, 0.016507325, 0.001148802)),
        (5, 1.53, (1, 2, 5, 10, 20, 30), (0.89832, 0.81586, 0.62827, 0.42153, 0.19511, 0.08763)),
    ],
)
def test_operating_characteristics(n: int, k: float, percents: tuple[float, ...], accepted: tuple[float, ...]) -> None:
    """Nine digits (five for n = 5)."""
    found = lot_acceptance_probability(np.array(percents) / 100.0, n=n, k=k, spread="unknown")
    assert found == pytest.approx(np.array(accepted), abs=5.1e-6 if n == 5 else 5.1e-10)


def test_iso_3951_code_letter_j() -> None:
    """1.65 % at 10 % beyond, and 10.95 % beyond at a probability of acceptance of 1 %... within the printed digits."""
    at_ten, at_limit = lot_acceptance_probability(np.array([0.10, 0.1095]), n=35, k=1.89, spread="unknown")
    assert 100.0 * at_ten == pytest.approx(1.65, abs=0.005)
    assert 100.0 * at_limit == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(
    ("good", "bad", "beta", "spread", "n", "k"),
    [
        (0.05, 0.15, 0.075, "unknown", 49, 1.32656),
        (0.05, 0.15, 0.075, "known", 26, 1.322271),
        (0.01, 0.06, 0.10, "unknown", 42, 1.905285),
        (0.01, 0.06, 0.10, "known", 15, 1.901648),
    ],
)
def test_two_point_plans(good: float, bad: float, beta: float, spread: str, n: int, k: float) -> None:
    """The published n; its k passes both points too, since it lies between the two that are allowed."""
    kind = "known" if spread == "known" else "unknown"
    plan = lot_plan(good=good, accepted=0.95, bad=bad, accepted_nevertheless=beta, spread=kind)  # type: ignore[arg-type]
    assert plan.n == n
    assert plan.k == pytest.approx(k, abs=0.02)
    points = lot_acceptance_probability(np.array([good, bad]), n=n, k=k, spread=kind)  # type: ignore[arg-type]
    assert points[0] >= 0.95 - 1e-3
    assert points[1] <= beta + 1e-3


def test_acceptance_is_the_power_of_a_tolerance_bound() -> None:
    """With the tolerance factor as k, both say how often a bound clears a limit."""
    from adhesion_stats.statistics import k_one_sided

    k = k_one_sided(n=8, content=0.95, confidence=0.75)
    (accepted,) = lot_acceptance_probability(np.array([0.001]), n=8, k=k, spread="unknown")
    power = power_of_tolerance_bound(n=8, distance=3.090232306167813, content=0.95, confidence=0.75)
    assert accepted == pytest.approx(power, rel=1e-9)


def test_what_makes_no_plan_is_refused() -> None:
    """Lots the wrong way round, too few values, a share of one."""
    with pytest.raises(InvalidSample, match="better than the bad one"):
        lot_plan(good=0.1, accepted=0.95, bad=0.05, accepted_nevertheless=0.1, spread="known")
    with pytest.raises(InvalidSample, match="3"):
        lot_share_beyond(np.array([1.0]), n=2, spread="unknown")
    with pytest.raises(InvalidSample, match="strictly between"):
        lot_acceptance_probability(np.array([1.0]), n=5, k=1.5, spread="known")
