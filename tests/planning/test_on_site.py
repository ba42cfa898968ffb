"""On site: where zones stand between two pulls, worked by hand, as people read it and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from adhesion_stats.cli import main
from adhesion_stats.locate import packaged
from adhesion_stats.planning import ZoneOnSite
from adhesion_stats.reporting.plan.site import site_json, site_text, stands
from adhesion_stats.wording import say

DEMO = packaged("data", "demo", "planned-deck")
HEAD = "zone,id,strength [MPa],A [%],Y [%],retest of,lost before loading\n"
RULES = (
    '[contract]\ntitle = "t"\n[pulls]\nrequired = 3\nlost = "unknown"\nrecording_step = "0.01 MPa"\n'
    '[glue]\nfrom = "50 %"\nthen = "discard"\n[[require]]\nall_of = [{ mean_at_least = "1.50 MPa" }, '
    '{ smallest_at_least = "1.00 MPa" }]\n'
)


def after(tmp_path: Path, rows: str, rules: str = RULES) -> ZoneOnSite:
    """The first zone after these rows."""
    readings, terms = tmp_path / "r.csv", tmp_path / "s.toml"
    readings.write_text(HEAD + rows)
    terms.write_text(rules)
    return stands(readings, terms)[0]


def codes(zone: ZoneOnSite) -> list[str]:
    """What is said, by code."""
    return [message.code for message in zone.says]


def demo() -> dict[str, ZoneOnSite]:
    """The demo after nine pulls."""
    return {zone.zone: zone for zone in stands(DEMO / "readings-so-far.csv", DEMO / "specification.toml")}


def test_the_demo_stands_as_its_readme_says() -> None:
    """The hand-worked table of the README: numbers, sentences, places."""
    zones = demo()
    deck = " ".join(say(message) for message in zones["Deck"].says)
    assert (zones["Deck"].counted, zones["Deck"].asked, zones["Deck"].still) == (2, 9, 7)
    assert "must reach 1.00 MPa" in deck
    assert "(7 of 9, pull-off) reached 1.47 MPa" in deck  # 10.23 / 7 = 1.4614, rounded up
    assert "Repeat Z1-03 at Z1-03-R1" in deck
    assert "Z1-02: the dolly adhesive had cured 20.0 h, 24 h are asked for" in deck
    assert "Next place: Z1-04" in deck
    assert codes(zones["Ramp"]) == ["site_stop"]
    landing = " ".join(say(message) for message in zones["Landing"].says)
    assert "settles it: 1.55 MPa or more conforms" in landing
    readme = (DEMO / "README.md").read_text()
    for text in ("must reach 1.00 MPa", "1.47 each", "Z1-03-R1", "20 h, 24 h", "1.55 MPa or more conforms"):
        assert text in readme


def test_a_zone_that_is_complete(tmp_path: Path) -> None:
    """Three of three, mean 1.60: nothing more to pull."""
    zone = after(tmp_path, "D,1,1.5,100,,,\nD,2,1.6,100,,,\nD,3,1.7,100,,,\n")
    assert codes(zone) == ["site_conforms"]
    assert zone.still == 0


def test_a_zone_that_fails_complete(tmp_path: Path) -> None:
    """Three of three, mean 1.40."""
    assert codes(after(tmp_path, "D,1,1.3,100,,,\nD,2,1.4,100,,,\nD,3,1.5,100,,,\n")) == ["site_fails"]


def test_a_lost_pull_is_repeated_beside_it(tmp_path: Path) -> None:
    """1.80 + 1.20 and a lost one: its retest must reach 1.50; without a plan it is only named."""
    zone = after(tmp_path, "D,1,1.8,100,,,\nD,2,1.2,100,,,\nD,3,,,,,yes\n")
    assert codes(zone) == ["site_open", "site_settles_from", "site_repeat"]
    assert zone.says[1].facts["level"] == "1.50 MPa"
    assert zone.repeat[0].repeats == "3"


def test_a_pull_that_was_repeated_is_not_asked_for_again(tmp_path: Path) -> None:
    """The glue broke, the retest stands: two of three count."""
    zone = after(tmp_path, "D,1,1.8,100,,,\nD,2,0.4,,100,,\nD,2R,1.6,100,,2,\n")
    assert zone.counted == 2
    assert zone.repeat == ()


def test_z_of_n_is_safe_before_its_last_pull(tmp_path: Path) -> None:
    """Two of three at 1.00 are there: the third is asked for all the same."""
    rules = (
        RULES.split("[[require]]", maxsplit=1)[0]
        + '[[require]]\npulls_at_or_above = "1.00 MPa"\nat_least = 2\nof = 3\n'
    )
    zone = after(tmp_path, "D,1,1.8,100,,,\nD,2,1.2,100,,,\n", rules)
    assert codes(zone) == ["site_conforms_already"]
    assert zone.still == 1


def test_an_interface_is_said_to_be_assumed(tmp_path: Path) -> None:
    """A criterion on A/B takes the next pull as broken there, and says so."""
    rules = RULES.replace('mean_at_least = "1.50 MPa"', 'mean_at_least = "1.50 MPa", question = "A/B"')
    rules += '[interface]\nbroke_there_from = "50 %"\n'
    zone = after(tmp_path, "D,1,1.8,,,,\nD,2,1.2,,,,\n", rules)
    assert "site_assumes" in codes(zone)


def test_without_a_number_there_is_always_a_next(tmp_path: Path) -> None:
    """The contract names no number: open with one low pull is no end."""
    rules = RULES.replace("required = 3\n", "").replace("smallest_at_least", "mean_at_least")
    zone = after(tmp_path, "D,1,1.4,100,,,\nD,2,,,,,yes\n", rules)
    assert zone.next is not None
    assert zone.asked == 0


def test_a_planned_zone_without_pulls_is_there() -> None:
    """The landing's row is taken out: the zone is open with nothing counted, and its first place is named."""
    zones = demo()
    assert set(zones) == {"Deck", "Ramp", "Landing"}


def test_a_zone_that_nobody_pulled_yet_gets_its_first_place(tmp_path: Path) -> None:
    """Only the deck has readings; ramp and landing are planned and open."""
    text = (DEMO / "readings-so-far.csv").read_text().splitlines()
    readings = tmp_path / "r.csv"
    readings.write_text("\n".join(text[:3]) + "\n")
    zones = {zone.zone: zone for zone in stands(readings, DEMO / "specification.toml")}
    assert (zones["Ramp"].counted, zones["Ramp"].asked) == (0, 6)
    assert zones["Ramp"].to_come[0].id == "Z2-01"
    assert len(zones["Landing"].to_come) == 5


def test_the_command_prints_short_lines(capsys: pytest.CaptureFixture[str]) -> None:
    """At most sixty columns, the caution last."""
    assert main(["next", str(DEMO / "readings-so-far.csv"), "--specification", str(DEMO / "specification.toml")]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 60
    assert "Stop: it does not conform" in "\n".join(lines)
    assert "licensed engineer" in " ".join(lines[-3:])


def test_json_holds_numbers_and_sentences(capsys: pytest.CaptureFixture[str]) -> None:
    """One object: runs as numbers, places, each message with its sentence."""
    command = ["next", str(DEMO / "readings-so-far.csv"), "--specification", str(DEMO / "specification.toml"), "--json"]
    assert main(command) == 0
    zones = {zone["zone"]: zone for zone in json.loads(capsys.readouterr().out)["zones"]}
    assert zones["Landing"]["next"]["at_once"] == [{"from": 1.55, "to": None}]
    assert zones["Landing"]["next"]["step"] == 0.01
    assert zones["Deck"]["repeat"][0] == {"id": "Z1-03-R1", "repeats": "Z1-03", "x_m": 13.55, "y_m": 4.51}
    assert all(message["text"] for zone in zones.values() for message in zone["says"])


def test_names_from_the_file_stay_text(tmp_path: Path) -> None:
    """A zone that would command a terminal is shown as text, in both forms."""
    zone = after(tmp_path, "\x1b[31mD,1,1.8,100,,,\n")
    assert "\x1b" not in site_text((zone,))
    assert "\x1b" not in site_json((zone,))


MEASURED = (
    '[contract]\ntitle = "t"\n[pulls]\nrequired = 2\ncount_by = "measurement"\npulls_per_measurement = 3\n'
    'recording_step = "0.01 MPa"\n[[require]]\nmean_at_least = "1.50 MPa"\n'
)


def measured(tmp_path: Path, *rows: str) -> ZoneOnSite:
    """A zone of a contract that counts by measurement."""
    (tmp_path / "r.csv").write_text("zone,measurement,id,strength [MPa]\n" + "".join(f"D,{row}\n" for row in rows))
    (tmp_path / "s.toml").write_text(MEASURED)
    return stands(tmp_path / "r.csv", tmp_path / "s.toml")[0]


def test_measurements_are_counted_and_the_next_one_is_told_as_a_mean(tmp_path: Path) -> None:
    """M1 = (1.6 + 1.5 + 1.7) / 3 = 1.60; two are asked for a mean of 1.50: the next one must come to 1.40 or more."""
    zone = measured(tmp_path, "M1,1,1.6", "M1,2,1.5", "M1,3,1.7", "M2,4,1.3")
    assert (zone.counted, zone.asked, zone.still) == (1, 2, 1)
    assert codes(zone) == ["site_open_measured", "site_settles_from_measured", "site_lacks"]
    text = " ".join(site_text((zone,)).split())
    assert "Open: 1 of 2 measurements count, one more is asked for." in text
    assert "The mean of the next measurement settles it: 1.40 MPa or more conforms" in text
    assert "Measurement M2 lacks 2 pulls of 3" in text
    assert json.loads(site_json((zone,)))["zones"][0]["counted_by"] == "measurement"


def test_a_zone_with_all_its_measurements_is_done(tmp_path: Path) -> None:
    """Two of two: six pulls are two measurements, not six."""
    zone = measured(tmp_path, *(f"M{1 + i // 3},{i},1.6" for i in range(6)))
    assert (zone.counted, zone.asked) == (2, 2)
    assert codes(zone) == ["site_conforms_measured"]
    assert "Every measurement that is asked for is made (2)." in site_text((zone,))
