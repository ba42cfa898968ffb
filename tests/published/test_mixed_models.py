"""Nested spread beside mixed models: R lme4 1.1-31 and statsmodels' MixedLM, restricted and plain maximum likelihood.

Where sizes are equal, components of the analysis of variance **are** those of restricted maximum likelihood (cut at
zero), and plain maximum likelihood has a closed form in the same sums of squares; so the height of the likelihood at
ours must not lie below theirs. Where sizes differ the estimators are different ones: both are unbiased or nearly so,
and they agree as far as the data say anything (stated below). lme4's numbers are in ``data/r_mixed_models.csv``, with
the script.
"""

from __future__ import annotations

import math
import warnings

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

from adhesion_stats.statistics import nested_spread, precision
from tests.published_data import rows

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

LME4 = {(row["id"], row["quantity"]): float(row["value"]) for row in rows("r_mixed_models.csv")}
FIVE = np.array([74.0, 76, 75, 68, 71, 72, 75, 77, 77, 72, 74, 73, 79, 81, 79])


def _one_level(name: str) -> tuple[Values, Codes]:
    if name == "five_groups":
        return FIVE, np.repeat(np.arange(5), 3)
    data = rows(f"{name.lower()}.csv")
    return np.array([float(row["y"]) for row in data]), np.array([ord(row["group"]) for row in data])


def _pastes() -> tuple[Values, Codes, Codes]:
    data = rows("pastes.csv")
    return (
        np.array([float(row["strength"]) for row in data]),
        np.array([ord(row["batch"]) for row in data]),
        np.array([ord(row["cask"]) for row in data]),
    )


def log_likelihood(y: Values, group: Codes, part: Codes, variances: tuple[float, float, float], *, reml: bool) -> float:
    """Plain or restricted, from the definition: the normal density of all results, covariance matrix written out."""
    same_group = group[:, np.newaxis] == group
    same_part = same_group & (part[:, np.newaxis] == part)
    covariance = variances[0] * same_group + variances[1] * same_part + variances[2] * np.eye(y.size)
    inverse = np.linalg.inv(covariance)
    ones = np.ones(y.size)
    information = float(ones @ inverse @ ones)
    away = y - float(ones @ inverse @ y) / information
    _, log_det = np.linalg.slogdet(covariance)
    found = log_det + float(away @ inverse @ away) + (y.size - reml) * math.log(2.0 * math.pi)
    return -0.5 * (float(found) + (math.log(information) if reml else 0.0))


@pytest.mark.parametrize("name", ["Dyestuff", "Dyestuff2", "five_groups"])
def test_one_level_is_restricted_maximum_likelihood(name: str) -> None:
    """Components as lme4 finds them (8 digits and more), and a likelihood that is not lower than at its own."""
    y, group = _one_level(name)
    found = precision(y, level=np.zeros(y.size, dtype=np.int64), laboratory=group)
    label = "group" if name == "five_groups" else "Batch"
    theirs = (LME4[f"{name}_REML", f"var {label}"], LME4[f"{name}_REML", "var Residual"])
    between = max(float(found.between_variance[0]), 0.0)
    assert between == pytest.approx(theirs[0], rel=1e-7, abs=1e-9)
    within = float(found.repeatability_sd[0]) ** 2
    if between == 0.0:  # cut at zero, all results are one sample
        within = float(np.var(y, ddof=1))
    assert within == pytest.approx(theirs[1], rel=1e-8)
    single = np.arange(y.size)
    ours = log_likelihood(y, group, single, (between, 0.0, within), reml=True)
    assert ours == pytest.approx(LME4[f"{name}_REML", "logLik"], abs=1e-8)
    assert ours >= log_likelihood(y, group, single, (theirs[0], 0.0, theirs[1]), reml=True) - 1e-12


def test_plain_maximum_likelihood_of_dyestuff_from_the_same_sums() -> None:
    """1388.3333 between, 2451.25 within, -163.6635299: the mean square between batches over 6, not 5."""
    y, group = _one_level("Dyestuff")
    found = precision(y, level=np.zeros(y.size, dtype=np.int64), laboratory=group)
    within = float(found.repeatability_sd[0]) ** 2
    between = (float(found.sd_of_means[0]) ** 2 * 5 * 5 / 6 - within) / 5
    assert between == pytest.approx(LME4["Dyestuff_ML", "var Batch"], rel=1e-8)
    height = log_likelihood(y, group, np.arange(y.size), (between, 0.0, within), reml=False)
    assert height == pytest.approx(LME4["Dyestuff_ML", "logLik"], abs=1e-8)


@pytest.mark.parametrize("reml", [True, False])
def test_pastes_is_at_the_height_of_both_likelihoods(reml: bool) -> None:
    """Restricted 1.6573, 8.4337, .678 and -123.49537; plain 1.1992, 8.4336, .678 and -123.99723; never below either."""
    y, group, part = _pastes()
    found = nested_spread(y, group=group, part=part)
    ours = found.raw
    if not reml:
        mean_square = [s / df for s, df in zip(found.sum_of_squares, found.degrees_of_freedom, strict=True)]
        ours = ((mean_square[0] * 9 / 10 - mean_square[1]) / 6, found.raw[1], found.raw[2])
    key = "Pastes_REML" if reml else "Pastes_ML"
    theirs = (LME4[key, "var batch"], LME4[key, "var sample"], LME4[key, "var Residual"])
    assert ours == pytest.approx(theirs, rel=2e-6 if reml else 3e-5)  # lme4's optimiser stops there
    height = log_likelihood(y, group, part, ours, reml=reml)
    assert height == pytest.approx(LME4[key, "logLik"], abs=5e-8)
    assert height >= LME4[key, "logLik"] - 1e-9
    fitted = _statsmodels(y, group, part, reml=reml)
    assert ours == pytest.approx(fitted, rel=3e-3)  # statsmodels' optimiser stops there
    assert height >= log_likelihood(y, group, part, fitted, reml=reml) - 1e-9


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_balanced_sets_are_restricted_maximum_likelihood(seed: int) -> None:
    """Eight zones of three measurements of three pulls: nowhere near ours, nor at MixedLM's, is it higher."""
    rng = np.random.default_rng(seed)
    group, part = np.repeat(np.arange(8), 9), np.tile(np.repeat(np.arange(3), 3), 8)
    y = 2.5 + 0.4 * rng.normal(size=8)[group] + 0.3 * rng.normal(size=24)[3 * group + part] + 0.2 * rng.normal(size=72)
    found = nested_spread(y, group=group, part=part)
    assert min(found.raw) > 0.0
    height = log_likelihood(y, group, part, found.raw, reml=True)
    for _ in range(40):
        group_, part_, within = np.array(found.raw) * np.exp(0.05 * rng.normal(size=3))
        assert log_likelihood(y, group, part, (group_, part_, within), reml=True) < height
    fitted = _statsmodels(y, group, part, reml=True)
    assert found.raw == pytest.approx(fitted, rel=5e-3)
    assert height >= log_likelihood(y, group, part, fitted, reml=True) - 1e-9


def test_unbalanced_sets_agree_as_far_as_the_data_say_anything() -> None:
    """Forty zones of one to four measurements of one to three pulls; and Pastes without ten of its results.

    Between zones within 15 and 30 % of MixedLM, between measurements within 5 and 10 %, between pulls within 1.5 %: the
    two weigh small and large zones differently. With 39 and 9 degrees of freedom between zones, that component is known
    to about 30 % and 60 % anyway.
    """
    rng = np.random.default_rng(7)
    sizes = [(zone, measurement) for zone in range(40) for measurement in range(int(rng.integers(1, 5)))]
    pulls = rng.integers(1, 4, len(sizes))
    group, part = (np.repeat([code[i] for code in sizes], pulls) for i in (0, 1))
    y = 2.5 + 0.4 * rng.normal(size=40)[group] + 0.3 * rng.normal(size=(40, 4))[group, part]
    y += 0.2 * rng.normal(size=y.size)
    pastes = _pastes()
    kept = np.delete(np.arange(60), [0, 5, 7, 20, 33, 34, 40, 41, 42, 59])
    for (values, zone, measurement), apart in (
        ((y, group, part), (0.15, 0.05, 0.015)),
        ((pastes[0][kept], pastes[1][kept], pastes[2][kept]), (0.30, 0.10, 0.015)),
    ):
        found = nested_spread(values, group=zone, part=measurement).raw
        fitted = _statsmodels(values, zone, measurement, reml=True)
        for ours, theirs, within in zip(found, fitted, apart, strict=True):
            assert ours == pytest.approx(theirs, rel=within)


def _statsmodels(y: Values, group: Codes, part: Codes, *, reml: bool) -> tuple[float, float, float]:
    """Components by statsmodels' MixedLM."""
    import statsmodels.formula.api as smf  # type: ignore[import-untyped]

    frame = pd.DataFrame({"y": y, "zone": group, "part": part})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its optimiser warns of boundaries on the way
        fit = smf.mixedlm("y ~ 1", frame, groups="zone", re_formula="1", vc_formula={"part": "0 + C(part)"}).fit(
            reml=reml, method="powell"
        )
    return float(fit.cov_re.iloc[0, 0]), float(fit.vcomp[0]), float(fit.scale)
