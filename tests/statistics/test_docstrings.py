"""Every public function says what it takes and gives, where it comes from, and shows itself at work."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from adhesion_stats import statistics as room

FUNCTIONS: dict[str, Callable[..., object]] = {
    name: getattr(room, name) for name in room.__all__ if inspect.isfunction(getattr(room, name))
}
CLASSES: dict[str, type] = {name: getattr(room, name) for name in room.__all__ if inspect.isclass(getattr(room, name))}
SECTIONS = ("Parameters", "Returns", "Raises", "Notes", "Examples")
PAGE = Path(__file__).parents[2] / "docs" / "statistics.md"
MARK = "from memory, unverified"
# A place in a document: 'ISO 5725-2:1994, 7.3.3', 'JCGM 106:2012, 8.3.2', 'EN 1990:2002, Annex D, D7.2'.
CLAUSE = re.compile(
    r"(?:ISO(?:/IEC)? [\d-]+(?::\d{4})?|JCGM \d+:\d{4}|EN \d+:\d{4}(?:, Annex D)?|e-Handbook of Statistical Methods)"
    r",\s+(?:clause\s+|annex\s+)?([A-Z]?\.?\d+(?:\.\d+)+|[A-Z]\.?\d[\d.]*|[BD]\b(?! \())"
)


def test_there_are_functions_to_look_at() -> None:
    """The walk is over the whole public face of the room."""
    assert len(FUNCTIONS) > 90
    assert len(CLASSES) > 25


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_says_what_it_takes_gives_and_refuses(name: str) -> None:
    """All sections in numpydoc's order, every parameter named, units or [-], a source, one example at least."""
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    at = [text.find(f"\n{section}\n{'-' * len(section)}\n") for section in SECTIONS]
    assert min(at) > 0, [section for section, place in zip(SECTIONS, at, strict=True) if place < 0]
    assert at == sorted(at)
    takes = text[at[0] : at[1]]
    for parameter in inspect.signature(FUNCTIONS[name]).parameters:
        assert re.search(rf"\b{parameter}\b", takes), parameter
    assert "unit" in text or "[-]" in text
    assert re.search(r"\bSources?:|\bSource\b", text)
    assert text[at[-1] :].count(">>> ") >= 1


@pytest.mark.parametrize("name", FUNCTIONS)
def test_levels_have_no_default(name: str) -> None:
    """Nobody gets a level, a side or a number of values that he did not write."""
    for parameter in inspect.signature(FUNCTIONS[name]).parameters.values():
        assert parameter.default is inspect.Parameter.empty, parameter.name


@pytest.mark.parametrize("name", CLASSES)
def test_a_class_names_its_attributes(name: str) -> None:
    """A result says what each of its attributes is."""
    text = inspect.getdoc(CLASSES[name]) or ""
    fields = getattr(CLASSES[name], "__dataclass_fields__", {})
    for field in fields:
        assert re.search(rf"\b{field}\b", text), field


def cited() -> dict[tuple[str, str], str]:
    """Clauses that docstrings cite, with the text that follows each: (module, citation)."""
    found = {}
    for file in sorted(Path(room.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Module):
                text = " ".join((ast.get_docstring(node) or "").split())
                for match in CLAUSE.finditer(text):
                    found[file.stem, match[0]] = text[match.end() : match.end() + 140]
    return found


def test_clauses_are_confirmed_or_marked() -> None:
    """Each clause number stands in the table of docs/statistics.md with where it was seen, or bears the mark."""
    page = " ".join(PAGE.read_text(encoding="utf-8").split())
    table = page[page.index("## Where citations were seen") :]
    citations = cited()
    assert len(citations) > 25
    for (module, citation), after in citations.items():
        document, _, clause = citation.rpartition(", ")
        short = document.replace("e-Handbook of Statistical Methods", "e-Handbook").replace(", Annex D", "")
        confirmed = re.search(
            rf"\| {re.escape(short)}[^|]*\|[^|]*(?<![\d.]){re.escape(clause)}(?![\d.]*\d)[^|]*\|", table
        )
        assert confirmed or MARK in after, (module, citation)


def test_the_page_shows_the_measured_costs() -> None:
    """What docs/statistics.md prints is the committed run."""
    costs = Path(__file__).parents[1] / "benchmarks" / "results" / "costs.txt"
    assert costs.read_text(encoding="utf-8").strip() in PAGE.read_text(encoding="utf-8")
