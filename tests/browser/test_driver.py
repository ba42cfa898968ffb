"""The browser driver itself: it must see what it is there to see."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.conftest import OpenPage, missing_browser
from tests.browser.devtools import BrowserFailure

pytestmark = pytest.mark.browser

PAGE = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">{head}
<style>body {{ margin: 0 }} #wide {{ width: {wide}px; height: 10px }}
@media print {{ #paper::after {{ content: "paper" }} }}</style></head>
<body><p id="text">plain</p><p id="paper"></p><div id="wide"></div>
<script>document.getElementById("text").textContent = "script ran"</script>{body}</body></html>"""
PHONE = '<meta name="viewport" content="width=device-width">'


def write(folder: Path, *, head: str = PHONE, body: str = "", wide: int = 100) -> Path:
    """Write a page with an element of a given width (px)."""
    path = folder / "a page.html"
    path.write_text(PAGE.format(head=head, body=body, wide=wide), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [360, 1280])
def test_fitting_page_does_not_overflow(browser_page: OpenPage, tmp_path: Path, width: int) -> None:
    """A page that fits has no overflow at either width."""
    page = browser_page(write(tmp_path), width=width)
    assert page.overflow() == 0
    assert page.ask("window.innerWidth") == width


@pytest.mark.parametrize("media", ["screen", "print"])
def test_overflow_is_measured_in_pixels(browser_page: OpenPage, tmp_path: Path, media: str) -> None:
    """An element of 500 px sticks out of a phone of 360 px by 140 px and is named."""
    page = browser_page(write(tmp_path, wide=500), width=360, media="print" if media == "print" else "screen")
    assert page.overflow() == 140
    assert any("wide" in element for element in page.wide_elements())


def test_missing_viewport_is_seen(browser_page: OpenPage, tmp_path: Path) -> None:
    """A page without a viewport tag is laid out too wide for a phone."""
    assert browser_page(write(tmp_path, head=""), width=360).overflow() > 0


def test_javascript_can_be_off(browser_page: OpenPage, tmp_path: Path) -> None:
    """The page's own script runs or not, and the page can be asked either way."""
    path = write(tmp_path)
    question = "document.getElementById('text').textContent"
    assert browser_page(path).ask(question) == "script ran"
    assert browser_page(path, javascript=False).ask(question) == "plain"


def test_foreign_request_is_recorded(browser_page: OpenPage, tmp_path: Path) -> None:
    """A page that asks another machine for a picture is caught, with the address."""
    page = browser_page(write(tmp_path, body='<img src="http://pictures.invalid/a.png" alt="">'))
    assert page.foreign_requests() == ["http://pictures.invalid/a.png"]


def test_local_page_has_no_foreign_request(browser_page: OpenPage, tmp_path: Path) -> None:
    """The file itself is recorded and not foreign, a picture inside it neither, and nothing is complained of."""
    path = write(tmp_path, body='<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=" alt="">')
    page = browser_page(path)
    assert page.foreign_requests() == []
    assert path.as_uri() in page.requests
    assert page.problems == []


def test_script_error_is_a_problem(browser_page: OpenPage, tmp_path: Path) -> None:
    """An exception in the page's script is kept."""
    page = browser_page(write(tmp_path, body="<script>no_such_name()</script>"))
    page.take_note()
    assert any("no_such_name" in problem for problem in page.problems)


def test_refused_source_is_a_problem(browser_page: OpenPage, tmp_path: Path) -> None:
    """What the page's own content security policy refuses is kept."""
    policy = PHONE + '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">'
    page = browser_page(write(tmp_path, head=policy))
    page.take_note()
    assert any("Content Security Policy" in problem for problem in page.problems)


def test_screenshot_is_a_png_of_the_whole_page(browser_page: OpenPage, tmp_path: Path) -> None:
    """The picture has the width asked for and the height of the page (bytes 16 to 24 of a PNG)."""
    page = browser_page(write(tmp_path, body='<div style="height:2000px"></div>'), width=360)
    whole, first = page.screenshot(), page.screenshot(whole=False)
    assert whole.startswith(b"\x89PNG")
    assert int.from_bytes(whole[16:20]) == int.from_bytes(first[16:20]) == 360
    assert int.from_bytes(whole[20:24]) > 2000 > int.from_bytes(first[20:24])


def test_print_media_and_paper(browser_page: OpenPage, tmp_path: Path) -> None:
    """Rules for paper hold in print media and in the PDF, not on the screen."""
    path = write(tmp_path)
    question = "getComputedStyle(document.getElementById('paper'), '::after').content"
    assert browser_page(path).ask(question) == "none"
    page = browser_page(path, media="print")
    assert page.ask(question) == '"paper"'
    assert page.pdf().startswith(b"%PDF-")


def test_missing_file_is_an_error(browser_page: OpenPage, tmp_path: Path) -> None:
    """A page that isn't there is not an empty success."""
    with pytest.raises(BrowserFailure, match="ERR_FILE_NOT_FOUND"):
        browser_page(tmp_path / "nothing.html")


def test_missing_browser_fails_only_under_ci() -> None:
    """Without Chromium a person's run skips, a CI run fails, and with one there is nothing to say."""
    at_home, under_ci = missing_browser({}, None), missing_browser({"CI": "true"}, None)
    assert at_home is not None
    assert under_ci is not None
    assert at_home[0] is pytest.skip
    assert under_ci[0] is pytest.fail
    assert missing_browser({"CI": "true"}, "/usr/bin/chromium") is None
