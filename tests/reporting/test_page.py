"""The page as text: self-contained, escaped, well formed, the same bytes each time."""

from __future__ import annotations

import functools
import itertools
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import pytest

from adhesion_stats.reporting import page
from adhesion_stats.reporting.model import Block
from adhesion_stats.reporting.page import render_page
from tests.reporting.conftest import page_named, results_named

VOID = {"meta", "br", "img", "input", "link", "hr", "path", "circle", "use", "rect", "mspace", "line"}
ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "a", "svg", "symbol", "path", "circle", "use", "p", "header",
    "div", "h1", "h2", "h3", "h4", "h5", "dl", "dt", "dd", "nav", "ul", "li", "main", "section", "span", "small",
    "table", "caption", "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "strong", "details", "summary",
    "math", "mrow", "mi", "mn", "mo", "mtext", "mspace", "mfrac", "msqrt", "msub", "mover", "g", "text", "tspan",
    "defs", "clippath", "pattern", "rect",
}  # fmt: skip


class Reader(HTMLParser):
    """Tags with their attributes, text, and whether tags close in the order in which they opened."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text: list[str] = []
        self.open: list[str] = []
        self.faults: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag."""
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag that closes itself."""
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """Check that the tag was the last one opened."""
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        """Keep text."""
        self.text.append(data)


@functools.cache
def read(page: str) -> Reader:
    """The page as read, once for all tests."""
    return Reader(page)


def attributes(page: str, name: str) -> list[str]:
    """All values of an attribute."""
    return [found[name] for _, found in read(page).tags if name in found]


def test_page_is_well_formed_and_made_of_known_tags(page: str) -> None:
    """Tags close in order, none is left open, and there is no tag that the template does not write itself."""
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert {tag for tag, _ in reader.tags} <= ALLOWED


def test_no_script_no_address_no_handler(page: str) -> None:
    """No script, no event handler, no address in any attribute but jumps within the page."""
    reader = read(page)
    assert all(tag != "script" and not name.startswith("on") for tag, found in reader.tags for name in found)
    assert attributes(page, "src") == []
    assert all(address.startswith("#") for address in attributes(page, "href"))
    assert not re.search(r"url\((?!#)", page)
    assert "@import" not in page


def test_own_pages_hold_no_remote_address_at_all() -> None:
    """Where the data hold none, "http" does not occur in the page."""
    assert "http" not in page_named("demo").replace('http-equiv="Content-Security-Policy"', "")


def test_content_policy_forbids_everything_but_own_style(page: str) -> None:
    """The page itself forbids scripts and requests."""
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    assert ("meta", {"http-equiv": "Content-Security-Policy", "content": policy}) in read(page).tags


def test_names_from_the_file_are_text() -> None:
    """Markup, quotes, template marks and formulas in names are shown as written, in page and figures alike."""
    page = page_named("hostile")
    text = " ".join(read(page).text)
    for name in ('<b>&"bold"', "<script>alert(1)</script>", "$x_1$ \\frac{a}{b} {{ zone }}", '<img src="http://'):
        assert name in text
    assert "<b>" not in page
    assert "<img" not in page
    assert "<script" not in page


def test_control_characters_are_shown_as_escapes() -> None:
    """No control character of a name reaches the page; it stands there as a visible escape."""
    page = page_named("hostile")
    assert "\x1b" not in page
    assert "\\x1b[31mred" in page
    assert "区域" in page


def test_same_results_same_bytes() -> None:
    """Rendering twice in one process gives the same page."""
    assert render_page(results_named("demo")) == page_named("demo")


def test_same_bytes_in_another_process(tmp_path: Path) -> None:
    """A fresh process with another hash seed gives the same page."""
    code = (
        "import sys; from pathlib import Path\n"
        "import example_results as e\n"
        "from adhesion_stats.reporting.page import render_page\n"
        "with e.sentences():\n"
        "    Path(sys.argv[1]).write_bytes(render_page(e.hostile()).encode())\n"
    )
    path = tmp_path / "page.html"
    here = Path(__file__).parent
    paths = os.pathsep.join((str(here), str(here.parents[1])))
    environment = {**os.environ, "PYTHONHASHSEED": "4321", "PYTHONPATH": paths}
    subprocess.run([sys.executable, "-c", code, str(path)], check=True, env=environment)
    assert path.read_bytes().decode() == page_named("hostile")


def test_ids_are_unique_and_jumps_arrive(page: str) -> None:
    """No id stands twice, and every jump, reference of a label and reference inside a figure has its target."""
    ids = attributes(page, "id")
    assert len(ids) == len(set(ids))
    targets = {address[1:] for address in attributes(page, "href")} | set(attributes(page, "aria-labelledby"))
    targets |= set(re.findall(r"url\(#([^)]+)\)", page))
    assert targets - set(ids) == set()


def test_zone_links_lead_to_its_pulls() -> None:
    """Each zone's section links to the rows of its pulls, and these back."""
    page = page_named("demo")
    for i in range(1, 15):
        assert f'<a href="#pulls-of-zone-{i}">' in page
        assert f'<tbody id="pulls-of-zone-{i}">' in page
        assert f'<section id="zone-{i}"' in page


def test_headings_step_down_one_level_at_a_time(page: str) -> None:
    """One h1, and no level is skipped on the way down."""
    levels = [int(tag[1]) for tag, _ in read(page).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(below <= above + 1 for above, below in itertools.pairwise(levels))


def test_language_skip_link_and_title(page: str) -> None:
    """The page names its language, offers a jump to the decision first, and has a title."""
    assert '<html lang="en">' in page
    assert read(page).tags[[tag for tag, _ in read(page).tags].index("a")][1]["href"] == "#decision"
    assert re.search(r"<title>[^<]+</title>", page)


def test_tables_have_captions_and_scopes(page: str) -> None:
    """Each table has a caption, and each head cell says whether it heads a column, a row or a group of rows."""
    tables = page.count("<table")
    assert tables > 5
    assert page.count("<caption") == tables
    scopes = [found.get("scope", "") for tag, found in read(page).tags if tag == "th"]
    assert set(scopes) <= {"col", "row", "rowgroup"}


def test_every_picture_has_words_and_numbers(page: str) -> None:
    """Each picture has a text for who can't see it, and each figure its numbers as a table that can be opened."""
    reader = read(page)
    pictures = [found for _, found in reader.tags if found.get("class", "").startswith("picture")]
    assert pictures
    assert all(found["role"] == "img" and len(found["aria-label"]) > 20 for found in pictures)
    figures = re.findall(r"<figure.*?</figure>", page, flags=re.DOTALL)
    assert figures
    assert all("<details>" in figure and "<table" in figure for figure in figures)


def test_invented_data_is_announced_before_the_head() -> None:
    """The banner is the first thing of a page with invented data."""
    page = page_named("demo")
    assert 0 < page.index('class="banner"') < page.index("<h1>")
    assert 'class="banner"' not in page_named("single_pull")


def test_versions_and_clock_stay_out(page: str) -> None:
    """Nothing that changes with the day or the installation stands in the page."""
    text = " ".join(read(page).text)
    assert "matplotlib" not in page.lower()
    assert not re.search(r"\b\d{1,2}:\d{2}:\d{2}\b", text)


def test_message_without_sentence_is_an_error() -> None:
    """A code that nobody gave words is a fault, never an empty line of a report."""
    results = dict(results_named("single_pull"))
    unknown: dict[str, object] = {
        "code": "nobody_knows",
        "severity": "note",
        "sheet": None,
        "row": None,
        "column": None,
        "facts": {},
    }
    results["messages"] = [unknown]
    with pytest.raises(KeyError, match="nobody_knows"):
        render_page(results)


def test_every_kind_of_block_is_shown() -> None:
    """The template has a way to show each kind of block of the document model, so that none is left out in silence."""
    source = (Path(page.__file__).parent / "templates" / "blocks.html.j2").read_text(encoding="utf-8")
    shown = set(re.findall(r'kind == "(\w+)"', source))
    assert {kind.__name__ for kind in get_args(Block)} - shown == set()
