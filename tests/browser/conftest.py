"""Fixtures for tests that look at pages in headless Chromium."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import pytest

if TYPE_CHECKING:
    from tests.browser.devtools import Browser, Media, Page

# The pipe to Chromium needs POSIX; elsewhere the driver can't even be imported.
collect_ignore_glob = ["*.py"] if sys.platform == "win32" else []


class OpenPage(Protocol):
    """The kind of function that the fixture browser_page gives."""

    def __call__(self, path: Path, *, width: int = 1280, media: Media = "screen", javascript: bool = True) -> Page:
        """Open a local page; it is closed after the test."""
        ...


def missing_browser(environment: dict[str, str], found: str | None) -> tuple[Callable[[str], object], str] | None:
    """What to do without a browser: skip on somebody's own machine, fail where CI is set; None where there is one."""
    if found:
        return None
    text = "no Chromium: set CHROMIUM or install the package chromium"
    return (pytest.fail if environment.get("CI") else pytest.skip), text


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for the whole run."""
    from tests.browser.devtools import Browser, find_chromium

    executable = find_chromium()
    verdict = missing_browser(dict(os.environ), executable)
    if verdict or executable is None:
        act, text = verdict or (pytest.fail, "no Chromium")
        act(text)
        raise AssertionError(text)
    with Browser(executable) as running:
        yield running


@pytest.fixture
def browser_page(browser: Browser) -> Iterator[OpenPage]:
    """Open local pages at a width (px), on screen or print media, with or without JavaScript."""
    opened: list[Page] = []

    def open_page(path: Path, *, width: int = 1280, media: Media = "screen", javascript: bool = True) -> Page:
        page = browser.open(path, width=width, media=media, javascript=javascript)
        opened.append(page)
        return page

    yield open_page
    for page in opened:
        page.close()
