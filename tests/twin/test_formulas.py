"""The twin's formulas against published numbers, so that agreement of the two sides is not agreement in error."""

from __future__ import annotations

from fractions import Fraction

import mpmath
import pytest
from mpmath import mpf

from adhesion_stats.twin import formulas, outliers


@pytest.mark.parametrize(
    ("n", "content", "confidence", "k"),
    [
        # NIST/SEMATECH e-Handbook, 7.2.6.3, worked example (non-central t): n = 43, 90 %, 99 %
        (43, 0.90, 0.99, 1.873954),
        # NBS Handbook 91, table A-7, one-sided: n = 10 and n = 5, 95 % at 95 %
        (10, 0.95, 0.95, 2.911),
        (5, 0.95, 0.95, 4.203),
    ],
)
def test_factor_of_the_tolerance_bound(n: int, content: float, confidence: float, k: float) -> None:
    """The quadrature over the sample's spread gives the printed factors."""
    digits = 6 if n == 43 else 3
    assert float(formulas.factor_one_sided(n, content, confidence, n - 1)) == pytest.approx(k, abs=0.6 * 10**-digits)


def test_student_quantiles() -> None:
    """T tables: 97.5 % with 5 degrees of freedom 2.571, 95 % with 2 2.920 (NIST/SEMATECH e-Handbook, 1.3.6.7.2)."""
    assert float(formulas.student_quantile(0.975, 5)) == pytest.approx(2.571, abs=5e-4)
    assert float(formulas.student_quantile(0.95, 2)) == pytest.approx(2.920, abs=5e-4)


def test_number_of_values_for_an_order_statistic() -> None:
    """59 values: the smallest lies below the 5 % fractile with 95 % confidence; 58 don't (1 - 0.95^n, by hand)."""
    assert formulas.confidence_of_rank(59, 1, Fraction(95, 100)) == 1 - Fraction(95, 100) ** 59
    assert formulas.confidence_of_rank(59, 1, Fraction(95, 100)) >= Fraction(95, 100)
    assert formulas.confidence_of_rank(58, 1, Fraction(95, 100)) < Fraction(95, 100)


def test_mean_and_variance_are_exact() -> None:
    """1.1, 1.3 and 1.8: mean 4.2 / 3 = 1.4; squares 0.09 + 0.01 + 0.16 = 0.26, over 2 = 0.13."""
    values = [Fraction("1.1"), Fraction("1.3"), Fraction("1.8")]
    assert formulas.mean(values) == Fraction("1.4")
    assert formulas.variance(values) == Fraction("0.13")


@pytest.mark.parametrize(("n", "critical"), [(3, 1.1531), (10, 2.176), (20, 2.557)])
def test_grubbs_at_the_printed_points(n: int, critical: float) -> None:
    """ASTM E178, table 1, one-sided 5 %: the p-value of the printed point is 5 %."""
    p = outliers.grubbs_p(mpf(critical), n, "low")
    assert p == pytest.approx(0.05, abs=1.5e-3)


def test_grubbs_where_several_values_can_lie_out() -> None:
    """Below the place where one value alone can, the recursion: n = 4, G = 0.9 by a double integral on the sphere.

    Four values as a point on a sphere in three dimensions: P(largest > g) = 1 - share of the sphere outside four caps.
    For n = 4 two caps overlap when g < sqrt(3 * 2 / 8) = 0.866; at 0.9 they don't: p is 4 caps of (1 - g/g_max)/2.
    """
    assert outliers.grubbs_p(mpf("0.9"), 4, "low") == pytest.approx(4 * (1 - 0.9 / 1.5) / 2, abs=1e-12)
    # At 0.8 they do: the same caps less the six lenses that two of them share, which spherical trigonometry gives.
    assert outliers.grubbs_p(mpf("0.8"), 4, "low") == pytest.approx(
        4 * (1 - 0.8 / 1.5) / 2 - 6 * _lens(0.8 / 1.5), abs=1e-9
    )


def _lens(height: float) -> float:
    """Share of the unit sphere that two caps above ``height`` share, their axes at cos = -1/3 (as of four values)."""

    def over(z: mpf) -> mpf:  # ring at height z about the first axis: the part that lies in the second cap
        cosine = (height + z / 3) / (mpmath.sqrt(1 - z * z) * mpmath.sqrt(mpf(8) / 9))
        return mpf(0) if cosine >= 1 else mpmath.acos(max(cosine, -1)) / mpmath.pi

    at = mpmath.findroot(lambda z: (height + z / 3) - mpmath.sqrt((1 - z * z) * mpf(8) / 9), 0.7)
    return float(mpmath.quad(over, [height, at]) / 2)


@pytest.mark.parametrize(("n", "ratio", "critical"), [(3, "r10", 0.941), (7, "r10", 0.507), (10, "r11", 0.477)])
def test_dixon_at_the_printed_points(n: int, ratio: str, critical: float) -> None:
    """Dixon (1951), one-sided 5 % points as in ASTM E178: the p-value of the printed point is 5 %."""
    assert outliers.dixon_p(critical, ratio, n, "low") == pytest.approx(0.05, abs=1.5e-3)


def test_dixon_of_three_in_closed_form() -> None:
    """With n = 3 the beta distribution is the arcsine law (a = b = 1/2); Q = 1 gives a share of 1/6."""
    for r in (0.1, 0.5, 0.9):
        closed = 0.5 - 3 / mpmath.pi * mpmath.atan((2 * r - 1) / mpmath.sqrt(3))
        assert outliers.dixon_p(r, "r10", 3, "low") == pytest.approx(float(closed), abs=1e-12)


def test_share_below_of_three_values() -> None:
    """With n = 3 the beta distribution is the arcsine law (a = b = 1/2): Q = 1 gives a share of 1/6."""
    x = 0.5 - 3**0.5 / 4
    closed = 100 * 2 / mpmath.pi * mpmath.asin(mpmath.sqrt(x))
    assert float(formulas.share_below(mpf(1), 3)) == pytest.approx(float(closed), abs=1e-10)
    assert float(closed) == pytest.approx(100 / 6, abs=1e-10)
