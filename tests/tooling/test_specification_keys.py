"""docs/specification-keys.md lists every key that a specification may have, each in the section of its table."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from adhesion_stats.errors import InvalidSpecification
from adhesion_stats.terms import parse
from adhesion_stats.terms.checker import Checker
from adhesion_stats.terms.kinds import KINDS

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "specification-keys.md").read_text(encoding="utf-8")

EVERY_TABLE = b"""
[contract]
title = "x"
[pulls]
[glue]
[interface]
[rounding]
[screening]
[method]
[report]
[[report.characteristic]]
method = "tolerance"
[[exclude]]
[[determination]]
[[ladder]]
[[group]]
[[require]]
mean_at_least = "1 MPa"
[[require]]
classes = []
[plan]
[[plan.frequency]]
[[plan.zone]]
keep_outs = [{}]
rectangle = ["1 m", "1 m"]
[plan.risk]
"""


@pytest.fixture
def known(monkeypatch: pytest.MonkeyPatch) -> dict[str, set[str]]:
    """Table -> the keys that the parser takes there."""
    found: dict[str, set[str]] = {}
    inside = Checker.keys

    def noted(self: Checker, table: Mapping[str, object], path: str, names: Sequence[str]) -> None:
        found.setdefault(re.sub(r"\[\d+\]", "", path), set()).update(names)
        inside(self, table, path, names)

    monkeypatch.setattr(Checker, "keys", noted)
    with pytest.raises(InvalidSpecification):
        parse.parse_specification(EVERY_TABLE, file="s.toml")
    return found


def section(table: str) -> str:
    """Text under the heading of a table, or from its name in the text on."""
    own = re.search(rf"^(?:## )?`\[+{re.escape(table)}\]+`.*?(?=^## |^`\[|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert own is not None, table
    return own[0]


def test_every_table_has_its_section(known: dict[str, set[str]]) -> None:
    """The whole file's tables; those inside others are told where they stand."""
    for table in known[""]:
        section(table)


def test_every_key_stands_in_the_section_of_its_table(known: dict[str, set[str]]) -> None:
    """A key that is added without its line fails here."""
    left = {"", "require", "report.characteristic"}  # the file itself; criteria and methods are on their own pages
    inner = {table: table for table in known if table not in left}
    assert len(inner) >= 14
    for table in inner:
        if table.startswith("plan.zone.keep_outs"):
            continue  # told in the line keep_outs
        missing = {key for key in known[table] if f"`{key}`" not in section(table) and f"[{table}.{key}]" not in PAGE}
        assert not missing, (table, missing)
    own = {"zones", "groups", "stage", "required", "least_valid", "source", "all_of", "any_of", "classes", "at_least"}
    assert not {key for key in own if f"`{key}`" not in section("require")}


def test_every_key_of_a_criterion_is_on_a_page() -> None:
    """Kinds of criteria and what may stand beside them."""
    pages = "".join((DOCS / name).read_text(encoding="utf-8") for name in PAGES)
    words = set(re.findall(r"[a-z][a-z_0-9]*", pages))
    asked = {*KINDS, *(key for kind in KINDS.values() for key in kind.every_key)}
    assert asked <= words, asked - words


PAGES = ("specification.md", "specification-failure-and-groups.md", "specification-keys.md")
