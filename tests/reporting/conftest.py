"""Fixtures of the reporting tests: sentences for the invented messages, and documents rendered once for all tests."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator

import pytest

from adhesion_stats.reporting.document import assessment_document
from adhesion_stats.reporting.model import Document
from adhesion_stats.reporting.page import render_page
from tests.reporting import example_results

EXAMPLES: dict[str, Callable[[], dict[str, object]]] = {
    "demo": example_results.demo,
    "single_pull": example_results.single_pull,
    "crowd": lambda: example_results.crowd(zones=24, pulls=6),
    "hostile": example_results.hostile,
    "in_psi": example_results.in_psi,
}


@pytest.fixture(autouse=True, scope="module")
def example_sentences() -> Iterator[None]:
    """The sentences of the invented messages, in the register for as long as these tests run."""
    with example_results.sentences():
        yield


@functools.cache
def results_named(name: str) -> dict[str, object]:
    """Invented results by name."""
    return EXAMPLES[name]()


@functools.cache
def page_named(name: str) -> str:
    """The page of invented results."""
    return render_page(results_named(name))


@functools.cache
def document_named(name: str) -> Document:
    """The document of invented results."""
    return assessment_document(results_named(name))


@pytest.fixture(params=sorted(EXAMPLES))
def results(request: pytest.FixtureRequest) -> dict[str, object]:
    """Each of the invented results in turn."""
    return results_named(str(request.param))


@pytest.fixture(params=sorted(EXAMPLES))
def page(request: pytest.FixtureRequest) -> str:
    """The page of each of the invented results in turn."""
    return page_named(str(request.param))
