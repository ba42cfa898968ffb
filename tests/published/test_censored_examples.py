"""Published data with bounded values: maximum likelihood, Kaplan-Meier, log-rank, competing risks.

``r_survival_reference.csv`` holds what R 4.2.2 (survival 3.5-3) finds, twelve digits; its optimiser stops at relative
changes of 1e-9 in the log-likelihood, so parameters and standard errors are compared at a relative 2e-6 and
log-likelihoods at 1e-9. Printed results stand in the tests: NIST/SEMATECH e-Handbook 8.4.1.3 and 8.4.2.2; Meeker &
Escobar, Statistical Methods for Reliability Data (1998), shock absorber and device G; Lieblein & Zelen 1956, ball
bearings. The e-Handbook's 20 units start at 54 h on one page and at 55 h on another: both are here.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from adhesion_stats.statistics import Stack, fit_bounded, fit_exponential, kaplan_meier, log_rank, stacks
from tests.published_data import rows

REFERENCE: dict[str, dict[str, float]] = {}
for line in rows("r_survival_reference.csv"):
    REFERENCE.setdefault(line["id"], {})[line["quantity"]] = float(line["value"])

BEARINGS = (
    "17.88 28.92 33.00 41.52 42.12 45.60 48.40 51.84 51.96 54.12 55.56 67.80 68.64 68.64 68.88 84.12 93.12 98.64 "
    "105.12 105.84 127.92 128.04 173.40"
)
UNITS = [187.0, 216, 240, 244, 335, 361, 373, 375, 386]


def _stack(values: list[float], exact: list[bool]) -> Stack:
    low = np.array(values)
    (stack,) = stacks(np.zeros(low.size, dtype=np.int64), low, np.where(np.array(exact), low, np.inf))
    return stack


def _modes(name: str, column: str, wanted: Callable[[str], bool]) -> Stack:
    table = rows(name)
    return _stack([float(row[column]) for row in table], [wanted(row["mode"]) for row in table])


def _events(name: str) -> Stack:
    table = rows(name)
    return _stack([float(row["t"]) for row in table], [row["event"] == "1" for row in table])


def _group(name: str) -> Stack:
    table = [row for row in rows("freireich_gehan.csv") if row["group"] == name]
    return _stack([float(row["weeks"]) for row in table], [row["event"] == "1" for row in table])


SETS: dict[str, Callable[[], Stack]] = {
    "shock_all": lambda: _modes("shock_absorber.csv", "km", lambda mode: mode != "Censored"),
    "shock_mode1": lambda: _modes("shock_absorber.csv", "km", lambda mode: mode == "Mode1"),
    "shock_mode2": lambda: _modes("shock_absorber.csv", "km", lambda mode: mode == "Mode2"),
    "deviceG_Surge": lambda: _modes("device_g.csv", "kcycles", lambda mode: mode == "Surge"),
    "deviceG_Wearout": lambda: _modes("device_g.csv", "kcycles", lambda mode: mode == "Wearout"),
    "deviceG_all": lambda: _modes("device_g.csv", "kcycles", lambda mode: mode in {"Surge", "Wearout"}),
    "ball_bearing": lambda: _stack([float(v) for v in BEARINGS.split()], [True] * 23),
    "freireich_control": lambda: _group("control"),
    "freireich_6-MP": lambda: _group("6-MP"),
    "nist_apr_54": lambda: _stack([54.0, *UNITS, *[500.0] * 10], [True] * 10 + [False] * 10),
    "nist_apr_55": lambda: _stack([55.0, *UNITS, *[500.0] * 10], [True] * 10 + [False] * 10),
    "bury_norcen": lambda: _events("bury_norcen.csv"),
    "bury_weicen": lambda: _events("bury_weicen.csv"),
    "bury_lgncen": lambda: _events("bury_lgncen.csv"),
    "bury_expcen": lambda: _events("bury_expcen.csv"),
}


def test_every_set_of_the_file_is_compared() -> None:
    """No set of the reference file is left out (freireich is the log-rank test)."""
    assert set(REFERENCE) == {*SETS, "freireich"}


@pytest.mark.parametrize("name", SETS)
def test_weibull(name: str) -> None:
    """Shape, scale, log-likelihood, standard errors and covariance of location and ln scale."""
    fit, known = fit_bounded(SETS[name](), family="weibull"), REFERENCE[name]
    assert fit.weibull_shape[0] == pytest.approx(known["weibull_shape"], rel=2e-6)
    assert fit.weibull_scale[0] == pytest.approx(known["weibull_scale"], rel=2e-6)
    assert fit.location[0] == pytest.approx(known["sev_mu"], rel=2e-6)
    assert fit.scale[0] == pytest.approx(known["sev_sigma"], rel=2e-6)
    assert fit.log_likelihood[0] == pytest.approx(known["weibull_loglik"], abs=1e-9 * abs(known["weibull_loglik"]))
    assert math.sqrt(fit.var_location[0]) == pytest.approx(known["se_mu"], rel=2e-5)
    assert math.sqrt(fit.var_log_scale[0]) == pytest.approx(known["se_log_sigma"], rel=2e-5)
    assert fit.cov_location_log_scale[0] == pytest.approx(known["cov_mu_logsigma"], rel=2e-5, abs=1e-7)


@pytest.mark.parametrize("name", SETS)
def test_lognormal(name: str) -> None:
    """Location, scale, log-likelihood and standard errors."""
    fit, known = fit_bounded(SETS[name](), family="lognormal"), REFERENCE[name]
    if "lognormal_mu" not in known:
        assert name.startswith("freireich")
        return
    assert fit.location[0] == pytest.approx(known["lognormal_mu"], rel=2e-6)
    assert fit.scale[0] == pytest.approx(known["lognormal_sigma"], rel=2e-6)
    assert fit.log_likelihood[0] == pytest.approx(known["lognormal_loglik"], rel=1e-9)
    assert math.sqrt(fit.var_location[0]) == pytest.approx(known["lognormal_se_mu"], rel=2e-5)
    assert math.sqrt(fit.var_log_scale[0]) == pytest.approx(known["lognormal_se_logsigma"], rel=2e-5)


@pytest.mark.parametrize("name", [name for name in SETS if "normal_mu" in REFERENCE[name]])
def test_normal(name: str) -> None:
    """Mean, standard deviation and log-likelihood."""
    fit, known = fit_bounded(SETS[name](), family="normal"), REFERENCE[name]
    assert fit.location[0] == pytest.approx(known["normal_mu"], rel=2e-6)
    assert fit.scale[0] == pytest.approx(known["normal_sigma"], rel=2e-6)
    assert fit.log_likelihood[0] == pytest.approx(known["normal_loglik"], rel=1e-9)


@pytest.mark.parametrize("name", [name for name in SETS if "exp_mean" in REFERENCE[name]])
def test_exponential_mean(name: str) -> None:
    """Twelve digits."""
    assert fit_exponential(SETS[name]())[0] == pytest.approx(REFERENCE[name]["exp_mean"], rel=1e-9)


@pytest.mark.parametrize(
    ("name", "family", "location", "scale"),
    [
        ("shock_all", "weibull", "10.23", "0.3164"),
        ("deviceG_Surge", "weibull", "6.11", "1.49"),
        ("deviceG_Wearout", "weibull", "5.83", "0.23"),
    ],
)
def test_printed_location_and_scale(name: str, family: str, location: str, scale: str) -> None:
    """Meeker & Escobar 1998, half of the last printed digit."""
    assert family == "weibull"
    fit = fit_bounded(SETS[name](), family="weibull")
    assert fit.location[0] == pytest.approx(float(location), abs=0.005)
    assert fit.scale[0] == pytest.approx(float(scale), abs=0.5 * 10.0 ** -len(scale.partition(".")[2]))


def test_printed_ball_bearings() -> None:
    """Weibull shape 2.102, scale 81.87."""
    fit = fit_bounded(SETS["ball_bearing"](), family="weibull")
    assert fit.weibull_shape[0] == pytest.approx(2.102, abs=0.0005)
    assert fit.weibull_scale[0] == pytest.approx(81.87, abs=0.005)


def test_e_handbook_8_4_1_3() -> None:
    """Shape 1.72563, scale 606.005, log-likelihood -75.121846; lognormal -75.164877."""
    weibull = fit_bounded(SETS["nist_apr_55"](), family="weibull")
    assert weibull.weibull_shape[0] == pytest.approx(1.72563, abs=5e-6)
    assert weibull.weibull_scale[0] == pytest.approx(606.005, abs=5e-4)
    assert weibull.log_likelihood[0] == pytest.approx(-75.121846, abs=5e-7)
    lognormal = fit_bounded(SETS["nist_apr_55"](), family="lognormal")
    assert lognormal.log_likelihood[0] == pytest.approx(-75.164877, abs=5e-7)


def test_e_handbook_kaplan_meier() -> None:
    """The same 20 units: 0.95, 0.90 ... 0.50."""
    found = kaplan_meier(SETS["nist_apr_55"](), confidence=0.95)
    assert found.share_above[0, :10] == pytest.approx(np.arange(0.95, 0.49, -0.05), abs=1e-12)
    assert found.share_above[0, 10:] == pytest.approx(0.5)


def test_e_handbook_8_4_2_2() -> None:
    """85 degree cell, 5 failures of 100: lognormal 8.891 and 1.21, log-likelihood -53.4."""
    stack = _stack([401.0, 428, 695, 725, 738, *[1000.0] * 95], [True] * 5 + [False] * 95)
    fit = fit_bounded(stack, family="lognormal")
    assert fit.location[0] == pytest.approx(8.891, abs=0.0005)
    assert fit.scale[0] == pytest.approx(1.21, abs=0.005)
    assert fit.log_likelihood[0] == pytest.approx(-53.4, abs=0.05)


@pytest.mark.parametrize(
    ("name", "family", "first", "second"),
    [
        ("bury_norcen", "normal", 47.8466237, 16.1919870),
        ("bury_weicen", "weibull", 1467.76090, 1.89833108),
        ("bury_lgncen", "lognormal", 4.49028000, 0.62695216),
    ],
)
def test_bury_1999(name: str, family: str, first: float, second: float) -> None:
    """Tyres, turrets, composite fatigue (data from NIST Dataplot): estimates recomputed, nine digits."""
    if family == "weibull":
        weibull = fit_bounded(SETS[name](), family="weibull")
        found = (weibull.weibull_scale[0], weibull.weibull_shape[0])
    else:
        fit = fit_bounded(SETS[name](), family="normal" if family == "normal" else "lognormal")
        found = (fit.location[0], fit.scale[0])
    assert found == (pytest.approx(first, rel=1.1e-9), pytest.approx(second, rel=5e-9))


def test_freireich_kaplan_meier() -> None:
    """6-mercaptopurine at 6, 7, 10, 13, 16, 22, 23 weeks, half of the sixth decimal."""
    found = kaplan_meier(_group("6-MP"), confidence=0.95)
    printed = {6: 0.857143, 7: 0.806723, 10: 0.752941, 13: 0.690196, 16: 0.627451, 22: 0.537815, 23: 0.448179}
    for week, share in printed.items():
        last = int(np.flatnonzero((found.value[0] == week) & found.exact[0])[-1])
        assert found.share_above[0, last] == pytest.approx(share, abs=5.1e-7)


def test_freireich_log_rank() -> None:
    """Chi-square 16.7929409892 (p 4.168809e-05), expected 10.749499 and 19.250501; Peto and Peto 14.45715."""
    known = REFERENCE["freireich"]
    found = log_rank(_group("control"), _group("6-MP"), weights="log-rank", recording_step=0.0)
    assert found.statistic == pytest.approx(known["logrank_chisq"], abs=5.1e-11)
    assert found.p_value == pytest.approx(4.168809e-05, abs=5e-12)
    assert found.expected[0, 0] == pytest.approx(known["exp_control"], abs=5e-10)
    assert found.expected[0, 1] == pytest.approx(known["exp_6mp"], abs=5e-10)
    weighted = log_rank(_group("control"), _group("6-MP"), weights="peto", recording_step=0.0)
    assert weighted.statistic == pytest.approx(known["peto_peto_rho1_chisq"], abs=5e-11)


def test_shock_absorber_competing_risks() -> None:
    """Two independent Weibull modes: -131.134121; one distance with constant odds of the modes: -131.205661."""
    apart = sum(
        float(fit_bounded(SETS[name](), family="weibull").log_likelihood[0]) for name in ("shock_mode1", "shock_mode2")
    )
    together = float(fit_bounded(SETS["shock_all"](), family="weibull").log_likelihood[0])
    assert apart == pytest.approx(-131.134121, abs=5e-7)
    assert together + 7 * math.log(7 / 11) + 4 * math.log(4 / 11) == pytest.approx(-131.205661, abs=5e-7)


LIFELINES = {(row["id"], row["quantity"]): float(row["value"]) for row in rows("lifelines_reference.csv")}


@pytest.mark.parametrize("name", [name for name in SETS if (name, "weibull_shape") in LIFELINES])
def test_lifelines_agrees_and_never_finds_a_higher_likelihood(name: str) -> None:
    """Parameters within its optimiser's 5e-5, log-likelihoods within 1e-6 of ours and never above them by 1e-8."""
    weibull, lognormal = fit_bounded(SETS[name](), family="weibull"), fit_bounded(SETS[name](), family="lognormal")
    for found, quantity in (
        (weibull.weibull_shape, "weibull_shape"),
        (weibull.weibull_scale, "weibull_scale"),
        (lognormal.location, "lognormal_mu"),
        (lognormal.scale, "lognormal_sigma"),
    ):
        assert float(found[0]) == pytest.approx(LIFELINES[name, quantity], rel=5e-5)
    for fit, quantity in ((weibull, "weibull_loglik"), (lognormal, "lognormal_loglik")):
        above = float(fit.log_likelihood[0]) - LIFELINES[name, quantity]
        assert -1e-8 < above < 1e-6


def test_lifelines_kaplan_meier_and_log_rank() -> None:
    """Freireich's two groups: share at seven weeks and chi-square to 1e-12."""
    found = kaplan_meier(_group("6-MP"), confidence=0.95)
    for week in (6, 7, 10, 13, 16, 22, 23):
        last = int(np.flatnonzero((found.value[0] == week) & found.exact[0])[-1])
        assert found.share_above[0, last] == pytest.approx(
            LIFELINES["freireich_6-MP", f"kaplan_meier_{week}"], rel=1e-12
        )
    test = log_rank(_group("control"), _group("6-MP"), weights="log-rank", recording_step=0.0)
    assert test.statistic == pytest.approx(LIFELINES["freireich", "logrank_chisq"], rel=1e-12)
    assert test.p_value == pytest.approx(LIFELINES["freireich", "logrank_p"], rel=1e-10)
