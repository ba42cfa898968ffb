"""The page on criteria by failure and on grouping: every example is a specification that is understood."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from adhesion_stats.terms.kinds import KINDS
from adhesion_stats.terms.parse import parse_specification

PAGE = (Path(__file__).parents[2] / "docs" / "specification-failure-and-groups.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("example", EXAMPLES, ids=[text.split('"')[1] for text in EXAMPLES])
def test_every_example_is_understood(example: str) -> None:
    """Parsed without a problem, with at least one rule."""
    assert parse_specification(example.encode(), file="page.toml").rules


@pytest.mark.parametrize(
    "key", ["unless_failed", "only_failed", "within_same_failure", "depth_from", "otherwise", "from"]
)
def test_every_key_of_these_kinds_is_on_the_page(key: str) -> None:
    """A key of the criteria that depend on what broke stands in an example."""
    assert any(key in kind.keys for kind in KINDS.values())
    assert any(re.search(rf"\b{key} =", example) for example in EXAMPLES)
