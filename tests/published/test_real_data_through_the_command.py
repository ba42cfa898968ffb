"""Published readings through the whole command: two mortars in kgf/cm², concrete beams in MPa.

Sources: tests/published/data/real/README.md. The limits are chosen for these tests. Second opinions: ``statistics`` of
the standard library, ``scipy.stats``.
"""

from __future__ import annotations

import csv
import json
import statistics
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from tests.end_to_end.helpers import command

DATA = Path(__file__).parent / "data" / "real"
KGF_CM2 = (
    0.0980665  # MPa, exact: 9.80665 N / 100 mm² (standard acceleration of gravity; NIST SP 811, 2008, appendix B.8)
)

MORTARS = """
[contract]
title = "Two mortars, tension bond strength"
document = "Limits of this test"
[report]
unit = "kgf/cm2"
[pulls]
required = 10
[screening]
side = "both"
[readings]
[readings.columns]
zone = "formulation"
id = "specimen"
strength = "tension_bond_strength_kgf_per_cm2"
[readings.units]
strength = "kgf/cm2"
[[require]]
all_of = [
  { mean_at_least = "17.00 kgf/cm2" },
  { smallest_at_least = "16.00 kgf/cm2" },
  { characteristic_at_least = "16.10 kgf/cm2", method = "tolerance", content = 0.95, confidence = 0.75 },
]
"""

BEAMS = """
[contract]
title = "Concrete beams, flexural strength"
document = "Limits of this test"
[pulls]
required = 27
[readings]
zone = "Beams"
plausible = false
[readings.columns]
id = "specimen"
strength = "flexural_strength_MPa"
[readings.units]
strength = "MPa"
[[require]]
all_of = [
  { mean_at_least = "8.0 MPa" },
  { smallest_at_least = "5.9 MPa" },
  { characteristic_at_least = "5.1 MPa", method = "tolerance", content = 0.95, confidence = 0.75 },
]
"""


def _assessed(folder: Path, readings: Path, terms: str) -> dict[str, Any]:
    (folder / "terms.toml").write_text(terms, encoding="utf-8")
    done = command("assess", readings, "--specification", "terms.toml", "--output", "report", folder=folder)
    assert done.returncode == 0, done.stderr
    results: dict[str, Any] = json.loads((folder / "report" / "results.json").read_bytes())
    return results | {"printed": done.stdout}


@pytest.fixture(scope="module")
def mortars(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Both mortars assessed."""
    return _assessed(tmp_path_factory.mktemp("mortars"), DATA / "mortar_tension_bond_kgfcm2.csv", MORTARS)


@pytest.fixture(scope="module")
def beams(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The beams assessed."""
    return _assessed(tmp_path_factory.mktemp("beams"), DATA / "concrete_flexural_strength_MPa.csv", BEAMS)


def _zone(results: dict[str, Any], name: str) -> dict[str, Any]:
    (found,) = [zone for zone in results["zones"] if zone["zone"] == name]
    assert isinstance(found, dict)
    return found


def _of_kind(zone: dict[str, Any], kind: str) -> dict[str, Any]:
    (found,) = [criterion for criterion in zone["criteria"] if criterion["kind"] == kind]
    assert isinstance(found, dict)
    return found


def _tolerance_factor(n: int, content: float, confidence: float) -> float:
    """One-sided normal tolerance factor by the noncentral t distribution of scipy.stats."""
    return float(stats.nct.ppf(confidence, n - 1, stats.norm.ppf(content) * n**0.5) / n**0.5)


@pytest.mark.parametrize(
    ("name", "mean", "sd", "mean_mpa"),
    [("modified", 16.764, 0.31645, 1.643987), ("unmodified", 17.042, 0.24792, 1.671249)],
)
def test_mean_and_sd_of_the_mortars(
    mortars: dict[str, Any], name: str, mean: float, sd: float, mean_mpa: float
) -> None:
    """Table 2.1: mean 16.764 and 17.042, s 0.316 and 0.248 kgf/cm²; 1.643987 and 1.671249 MPa."""
    summary = _zone(mortars, name)["summary"]
    assert summary["n"] == 10
    assert summary["mean"] == pytest.approx(mean * KGF_CM2, rel=1e-12)
    assert summary["mean"] == pytest.approx(mean_mpa, abs=5e-7)
    assert summary["sd"] / KGF_CM2 == pytest.approx(sd, abs=5e-6)


@pytest.mark.parametrize(("name", "low", "high"), [("modified", 16.5376, 16.9904), ("unmodified", 16.8647, 17.2193)])
def test_interval_of_the_mortars(mortars: dict[str, Any], name: str, low: float, high: float) -> None:
    """95 % intervals of the means, Student's t on 9 degrees of freedom."""
    interval = _zone(mortars, name)["summary"]["interval"]
    assert interval["confidence"] == 0.95
    assert interval["low"] / KGF_CM2 == pytest.approx(low, abs=5e-5)
    assert interval["high"] / KGF_CM2 == pytest.approx(high, abs=5e-5)


@pytest.mark.parametrize(("name", "value"), [("modified", 16.0983), ("unmodified", 16.5205)])
def test_lower_tolerance_limit_of_the_mortars(mortars: dict[str, Any], name: str, value: float) -> None:
    """Content 95 %, confidence 75 %: mean − 2.1037 s, and the factor by scipy's noncentral t."""
    characteristic = _of_kind(_zone(mortars, name), "characteristic")
    assert characteristic["k"] == pytest.approx(_tolerance_factor(10, 0.95, 0.75), rel=1e-9)
    assert characteristic["k"] == pytest.approx(2.1037, abs=5e-5)
    assert characteristic["low"] / KGF_CM2 == pytest.approx(value, abs=5e-5)
    assert characteristic["low"] == characteristic["high"]


def test_decisions_of_the_mortars(mortars: dict[str, Any]) -> None:
    """Limits 17.00, 16.00, 16.10: modified misses mean (16.764) and tolerance limit (16.0983), unmodified meets all."""
    modified, unmodified = _zone(mortars, "modified"), _zone(mortars, "unmodified")
    assert [c["outcome"] for c in modified["criteria"]] == ["does not conform", "conforms", "does not conform"]
    assert [c["outcome"] for c in unmodified["criteria"]] == ["conforms", "conforms", "conforms"]
    assert modified["criteria"][0]["margin_low"] == pytest.approx(16.764 - 17.00, abs=1e-9)
    assert modified["criteria"][1]["margin_low"] == pytest.approx(16.35 - 16.00, abs=1e-9)
    assert unmodified["criteria"][0]["margin_low"] == pytest.approx(17.042 - 17.00, abs=1e-9)
    assert mortars["decision"]["outcome"] == "does not conform"


def test_mortars_are_shown_in_their_unit(mortars: dict[str, Any]) -> None:
    """The report keeps kgf/cm², and the recording step is 0.01 kgf/cm²."""
    assert mortars["unit"] in {"kgf/cm2", "kgf/cm²"}
    assert mortars["entry"]["recording_step_mpa"] == pytest.approx(0.01 * KGF_CM2, rel=1e-9)


def test_mortars_with_wrong_factor_would_fail() -> None:
    """A factor of 0.1 (bar) instead of 0.0980665 is 2 % off: the tolerance of the means above sees it."""
    assert abs(16.764 * 0.1 - 1.643987) > 5e-7


def test_beams(beams: dict[str, Any]) -> None:
    """Example 1.2: n 27, mean 8.1407, s 1.6595, median 7.7 MPa; smallest 5.9, largest 11.8."""
    with (DATA / "concrete_flexural_strength_MPa.csv").open(encoding="utf-8", newline="") as handle:
        values = [float(row["flexural_strength_MPa"]) for row in csv.DictReader(handle)]
    summary = _zone(beams, "Beams")["summary"]
    assert summary["n"] == 27
    assert summary["mean"] == pytest.approx(8.1407, abs=5e-5)
    assert summary["sd"] == pytest.approx(1.6595, abs=5e-5)
    assert summary["mean"] == pytest.approx(statistics.fmean(values), rel=1e-14)
    assert summary["sd"] == pytest.approx(statistics.stdev(values), rel=1e-14)
    assert (summary["median"], summary["smallest"], summary["largest"]) == (7.7, 5.9, 11.8)


def test_interval_and_tolerance_limit_of_the_beams(beams: dict[str, Any]) -> None:
    """Student's t on 26 degrees of freedom and the noncentral t, both by scipy.stats."""
    zone = _zone(beams, "Beams")
    half = float(stats.t.ppf(0.975, 26)) * 1.6595 / 27**0.5
    assert zone["summary"]["interval"]["low"] == pytest.approx(8.1407 - half, abs=2e-4)
    assert zone["summary"]["interval"]["high"] == pytest.approx(8.1407 + half, abs=2e-4)
    characteristic = _of_kind(zone, "characteristic")
    k = _tolerance_factor(27, 0.95, 0.75)
    assert characteristic["k"] == pytest.approx(k, rel=1e-9)
    assert characteristic["low"] == pytest.approx(8.1407 - k * 1.6595, abs=2e-4)


def test_decision_of_the_beams(beams: dict[str, Any]) -> None:
    """Mean 8.14 against 8.0, smallest 5.9 on 5.9, tolerance limit 8.1407 − 1.8833 × 1.6595 = 5.015 against 5.1."""
    zone = _zone(beams, "Beams")
    mean, smallest, characteristic = zone["criteria"]
    assert (mean["outcome"], smallest["outcome"], smallest["at_limit"]) == ("conforms", "conforms", True)
    assert characteristic["outcome"] == "does not conform"
    assert characteristic["margin_low"] == pytest.approx(5.015 - 5.1, abs=1e-3)


def test_command_prints_the_means_in_the_unit_of_the_readings(mortars: dict[str, Any]) -> None:
    """What is printed shows 16.76 and 17.04 kgf/cm², not MPa."""
    assert "16.76" in mortars["printed"]
    assert "17.04" in mortars["printed"]
