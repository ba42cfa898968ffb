"""The page of a rule's risk: rules in words, their points, the curves."""

from __future__ import annotations

import re
from pathlib import Path

from adhesion_stats.planning.risk import risk_facts
from adhesion_stats.planning.risk_asked import RiskAsked
from adhesion_stats.reporting.risk_page import render_risk, risk_svg
from tests.end_to_end.helpers import command
from tests.planning.test_risk import BOTH, STAGED, spec

MEAN = BOTH.replace(', { smallest_at_least = "1.00 MPa" }', "").replace('"T"', '"<b>T</b>"')


def test_two_rules_stand_side_by_side_with_both_curves() -> None:
    """Each in its own words, with its points; the second has a line of its own; the table holds its numbers."""
    facts = risk_facts(spec(BOTH), RiskAsked(), against=spec(MEAN))
    html = render_risk(facts).replace("\N{NO-BREAK SPACE}", " ")
    row = re.search(r"<tr>\s*<th[^>]*>Asks</th>.*?</tr>", html, re.DOTALL)
    assert row is not None
    assert "mean at least 1.50 MPa; smallest value at least 1.00 MPa" in row[0]
    assert row[0].count("mean at least 1.50 MPa") == 2
    for words in ("Consumer&#39;s point, 10 %: mean", "Producer&#39;s point, 95 %: mean", "They differ most at"):
        assert words in html
    svg = risk_svg(facts, 0)
    assert "conforms, the other" in svg
    assert risk_svg(facts, 0) == svg
    assert "conforms, other" in html


def test_a_ladder_is_drawn_beside_its_first_round() -> None:
    """One figure a stage; without a ladder or another rule there is one curve that conforms."""
    staged = risk_facts(spec(STAGED), RiskAsked(), against=None)
    html = render_risk(staged)
    assert html.count("conforms, the ladder") >= 2
    assert "over the whole ladder" in html
    alone = risk_facts(spec(BOTH), RiskAsked(), against=None)
    assert "conforms, the" not in render_risk(alone)


def test_names_are_text() -> None:
    """The title of a contract makes no element."""
    html = render_risk(risk_facts(spec(MEAN), RiskAsked(), against=None))
    assert "<b>T" not in html
    assert "&lt;b&gt;T" in html


def test_the_command_writes_the_page_and_never_over_a_file(tmp_path: Path) -> None:
    """A new file; an existing one is refused before anything is computed."""
    (tmp_path / "s.toml").write_text(BOTH, encoding="utf-8")
    page = tmp_path / "risk.html"
    ran = command("risk", tmp_path / "s.toml", "--output", page, folder=tmp_path)
    assert ran.returncode == 0
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    ran = command("risk", tmp_path / "s.toml", "--output", page, folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "exists already" in ran.stderr
