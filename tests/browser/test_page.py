"""The assessment page in a real browser: phone, desk and paper, light and dark, without script or request."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from adhesion_stats.planning import make_plan
from adhesion_stats.reporting.page import render_page
from adhesion_stats.reporting.plan.page import render_plan
from adhesion_stats.terms.parse import parse_specification
from tests.browser.conftest import OpenPage
from tests.planning.examples import GOOD
from tests.reporting import example_results

pytestmark = pytest.mark.browser

PAGES: dict[str, Callable[[], dict[str, object]]] = {
    "demo": example_results.demo,
    "hostile": example_results.hostile,
    "single_pull": example_results.single_pull,
    "crowd": lambda: example_results.crowd(zones=24, pulls=6),
}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Pages of invented results as files."""
    folder = tmp_path_factory.mktemp("pages")
    made = {name: folder / f"{name}.html" for name in PAGES}
    with example_results.sentences():
        for name, results in PAGES.items():
            made[name].write_text(render_page(results()), encoding="utf-8")
    return made


@pytest.mark.parametrize("width", [360, 768, 1280])
@pytest.mark.parametrize("name", sorted(PAGES))
def test_page_fits_its_window(browser_page: OpenPage, pages: dict[str, Path], name: str, width: int) -> None:
    """The page never scrolls sideways; wide tables scroll in boxes of their own."""
    page = browser_page(pages[name], width=width)
    assert page.overflow() == 0, page.wide_elements()


@pytest.mark.parametrize("name", sorted(PAGES))
def test_page_asks_for_nothing_and_complains_of_nothing(
    browser_page: OpenPage, pages: dict[str, Path], name: str
) -> None:
    """No request leaves the page, and neither its own policy nor its markup makes the browser complain."""
    page = browser_page(pages[name])
    assert page.foreign_requests() == []
    assert page.problems == []
    assert page.requests == [pages[name].as_uri()]


def test_names_make_no_elements(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """Markup in names stays text: no element of it exists in the page, and the zone reads as written."""
    page = browser_page(pages["hostile"])
    assert page.ask("document.querySelectorAll('b, img, script').length") == 0
    assert page.ask("document.querySelector('#zones tbody th').textContent.trim()") == '<b>&"bold"'


def test_first_screen_of_a_phone_holds_the_decision(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """The contract's decision is in the upper half of a screen of 360 by 900 px, the first zone's on it."""
    page = browser_page(pages["demo"], width=360)
    for selector, most in ((".whole .verdict", 450), ("#zones tbody tr .outcome", 900)):
        bottom = page.ask(f"document.querySelector('{selector}').getBoundingClientRect().bottom")
        assert isinstance(bottom, int | float)
        assert bottom < most


def test_first_screen_of_a_phone_holds_the_numbers_of_a_plan(browser_page: OpenPage, tmp_path: Path) -> None:
    """How many pulls stands on a screen of 360 by 900 px, above the particulars of the contract."""
    text = GOOD.replace('title = "t"', 'title = "t"\nstructure = "A deck"\nclient = "C"\nengineer = "E"\nnote = "N"')
    plan = make_plan(parse_specification(text.encode(), file="s.toml")).as_dict()
    file = tmp_path / "plan.html"
    file.write_text(render_plan(plan), encoding="utf-8")
    page = browser_page(file, width=360)
    place = "document.querySelector('{}').getBoundingClientRect()"
    assert page.ask(f"{place.format('#plan .lead')}.bottom < 450") is True
    assert page.ask(f"{place.format('#plan')}.top < {place.format('.facts.head')}.top") is True
    assert page.overflow() == 0, page.wide_elements()


def test_first_screen_of_a_desk_holds_decision_and_zones(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """On 1280 by 900 px the decision, its reason and several zones are in sight without scrolling."""
    page = browser_page(pages["demo"])
    rows = page.ask(
        "[...document.querySelectorAll('#zones tbody tr')].filter(r => r.getBoundingClientRect().bottom <= 900).length"
    )
    assert isinstance(rows, int)
    assert rows >= 3


@pytest.mark.parametrize(("width", "shown"), [(360, "narrow-only"), (1280, "wide-only")])
def test_figures_suit_the_width(browser_page: OpenPage, pages: dict[str, Path], width: int, shown: str) -> None:
    """A phone gets the narrow drawing of each figure, a desk the wide one; never both, never none."""
    page = browser_page(pages["demo"], width=width)
    seen = page.ask(
        "[...document.querySelectorAll('.picture')].filter(p => p.offsetParent !== null).map(p => p.className)"
    )
    assert seen == [f"picture {shown}"] * 4


@pytest.mark.parametrize("width", [360, 1280])
def test_text_in_figures_is_large_enough(browser_page: OpenPage, pages: dict[str, Path], width: int) -> None:
    """No text of a figure that is shown falls below 8 px."""
    page = browser_page(pages["demo"], width=width)
    smallest = page.ask(
        "Math.min(...[...document.querySelectorAll('.picture svg')].filter(s => s.clientWidth).map(s => "
        "s.clientWidth / s.viewBox.baseVal.width * Math.min(...[...s.querySelectorAll('text')].map("
        "t => parseFloat(t.style.fontSize)))))"
    )
    assert isinstance(smallest, int | float)
    assert smallest >= 8


def test_texts_of_a_figure_stay_inside_it(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """No label is cut off at the edge of its picture, with the longest names too."""
    for name, width in (("demo", 1280), ("demo", 360), ("crowd", 1280), ("crowd", 360), ("hostile", 1280)):
        page = browser_page(pages[name], width=width)
        cut = page.ask(
            "[...document.querySelectorAll('.picture svg')].flatMap(s => { const b = s.getBoundingClientRect(); "
            "return [...s.querySelectorAll('text')].filter(t => { const r = t.getBoundingClientRect(); "
            "return r.width && "
            "(r.left < b.left - 1 || r.right > b.right + 1 || r.top < b.top - 1 || r.bottom > b.bottom + 1) })"
            ".map(t => t.textContent) })"
        )
        assert cut == [], name


def test_dark_dress_reaches_page_and_figures(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """Where the reader asks for dark, paper, text and the text of the figures turn."""
    page = browser_page(pages["demo"])
    question = (
        "[getComputedStyle(document.body).backgroundColor, "
        "getComputedStyle(document.querySelector('.wide-only svg text')).fill]"
    )
    looks = {}
    for scheme in ("light", "dark"):
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        page.browser.send("Emulation.setEmulatedMedia", page.session, media="screen", features=features)
        looks[scheme] = page.ask(question)
    assert looks == {
        "light": ["rgb(255, 254, 251)", "rgb(34, 48, 60)"],
        "dark": ["rgb(22, 27, 32)", "rgb(233, 229, 219)"],
    }


def test_paper_repeats_table_heads_and_opens_folds(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """In print, heads of tables repeat on each page, folded numbers are open, and nothing is cut at the side."""
    page = browser_page(pages["demo"], width=700, media="print")
    assert page.ask("getComputedStyle(document.querySelector('#all-pulls thead')).display") == "table-header-group"
    assert page.ask("document.querySelector('details table').checkVisibility()") is True
    assert page.ask("getComputedStyle(document.querySelector('.scroll')).overflowX") == "visible"
    assert page.pdf().startswith(b"%PDF-")


def test_page_reads_without_script_by_keyboard(browser_page: OpenPage, pages: dict[str, Path]) -> None:
    """Without script everything is there; boxes that scroll can be reached by keyboard and have names."""
    page = browser_page(pages["demo"], javascript=False)
    assert page.ask("document.querySelectorAll('#zones tbody tr').length") == 14
    boxes = page.ask("[...document.querySelectorAll('.scroll')].every(b => b.tabIndex === 0 && b.ariaLabel)")
    assert boxes is True
