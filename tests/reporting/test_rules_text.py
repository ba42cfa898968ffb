"""The command ``rules``: the list, one rule whole, JSON, the page, and what an unknown name is told."""

from __future__ import annotations

import json

import pytest

from adhesion_stats.cli import main
from adhesion_stats.reporting.rules_text import rules_page
from adhesion_stats.terms.library import library
from adhesion_stats.terms.parse import parse_specification
from tests.terms.using import ASKED, HEAD
from tests.tooling.rules_page import PAGE


def test_the_list_names_every_rule_and_how_sure_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    """Each name has a line; lines stay within a hundred columns but for a name."""
    assert main(["rules"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert set(library()) <= set(lines)
    assert max(map(len, lines)) <= 100


def test_a_rule_is_shown_whole(capsys: pytest.CaptureFixture[str]) -> None:
    """Value, place, source, how sure, what has to be confirmed, later edition."""
    assert main(["rules", "nbr", "13749", "1996", "external"]) == 0
    said = capsys.readouterr().out
    for text in ("0.30 MPa", "soprovas.com", "secondary", "Replaced by: NBR 13749:2013", "require.at_least"):
        assert text in said


def test_an_unknown_name_is_told_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """Usage error with names to choose from."""
    assert main(["rules", "EN 1504-3 R9"]) == 2
    assert "EN 1504-3:2005 R" in capsys.readouterr().err


@pytest.mark.parametrize("name", list(library()))
def test_what_is_to_be_pasted_is_a_specification(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The lines of each rule and method are read without a problem, and use that rule."""
    assert main(["rules", name, "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)
    text = HEAD + ("" if one["kind"] == "rule" else ASKED) + one["to_paste"]
    terms = parse_specification(text.encode(), file="specification.toml")
    assert [used.published.name for used in terms.uses] == [name]
    assert one["to_confirm"] == [used.number.key for used in terms.uses[0].to_confirm]


def test_the_page_is_current() -> None:
    """Make it again with: python -m tests.tooling.rules_page."""
    assert PAGE.read_text(encoding="utf-8") == rules_page()
