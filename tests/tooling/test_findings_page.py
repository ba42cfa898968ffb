"""docs/findings.md explains every finding, with what the program says today."""

from __future__ import annotations

import ast
from pathlib import Path

import adhesion_stats
from adhesion_stats.wording import SENTENCES
from adhesion_stats.wording.causes import CAUSES
from adhesion_stats.wording.intake import INTAKE
from adhesion_stats.wording.terms import TERMS
from tests.tooling.findings_page import PAGE, page, said

PACKAGE = Path(adhesion_stats.__file__).parent


def test_the_page_is_current() -> None:
    """Make it again with: python -m tests.tooling.findings_page."""
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_finding_has_a_cause_and_a_mend() -> None:
    """Codes of the readings and of specifications, and warnings that judging hands to the findings."""
    judged: set[str] = set()
    for path in (PACKAGE / "judging").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Message":
                severe = any("Severity" in ast.dump(argument) for argument in node.args)
                judged |= {
                    argument.value
                    for argument in node.args[:1]
                    if severe and isinstance(argument, ast.Constant) and isinstance(argument.value, str)
                }
    assert "mixed_preparation" in judged
    assert {*INTAKE, *TERMS, *judged} <= set(CAUSES)
    assert set(CAUSES) <= set(SENTENCES)
    assert all(cause.endswith(".") and mend.endswith(".") for cause, mend in CAUSES.values())


def test_every_finding_has_an_example_from_a_run() -> None:
    """No example is made up: each code of the page is said by the program about some file of the tests."""
    assert set(CAUSES) - set(said()) == set()
