"""A small driver for headless Chromium: DevTools messages over a pipe, standard library only.

Chromium started with ``--remote-debugging-pipe`` reads commands from file descriptor 3 and writes answers and events to
file descriptor 4, each one JSON text ended by a zero byte. No port is opened, so several runs can't meet. The driver
does what the tests of the pages need: open a local file at a width, with or without JavaScript, on screen or paper;
take a picture; ask the page a question; and keep every address that the page asked for.
"""

from __future__ import annotations

import base64
import contextlib
import fcntl
import json
import os
import select
import shutil
import signal
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, Self, cast

__all__ = ["Browser", "BrowserFailure", "Page", "find_chromium"]

Json = dict[str, object]
Media = Literal["screen", "print"]

_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_FLAGS = (
    "--headless",
    "--remote-debugging-pipe",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--no-default-browser-check",
    "--hide-scrollbars",
    "--force-color-profile=srgb",
    "--host-resolver-rules=MAP * ~NOTFOUND",  # a request to another machine is recorded but never leaves this one
)
_TIMEOUT = 30.0  # seconds for one answer; a loaded machine needs a few


def find_chromium() -> str | None:
    """Path of a Chromium: the variable CHROMIUM if set, else the usual names on the path."""
    named = os.environ.get("CHROMIUM")
    if named:
        return shutil.which(named)
    return next((path for path in map(shutil.which, _NAMES) if path), None)


class BrowserFailure(RuntimeError):
    """Chromium did not answer, or answered with an error."""


def _above_ten(descriptor: int) -> int:
    """The same pipe end under a number above 10, so that putting it on 3 or 4 can't overwrite the other one."""
    moved = fcntl.fcntl(descriptor, fcntl.F_DUPFD_CLOEXEC, 10)
    os.close(descriptor)
    return moved


class Browser:
    """One running Chromium; use as a context manager."""

    def __init__(self, executable: str) -> None:
        self._home = tempfile.mkdtemp(prefix="chromium-")
        child_in, self._to = map(_above_ten, os.pipe())
        self._from, child_out = map(_above_ten, os.pipe())
        flags = list(_FLAGS)
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            flags.append("--no-sandbox")  # Chromium's sandbox refuses to run as root, which containers do
        # A home of its own: no profile, settings or caches of the person who runs the tests.
        variables = dict(os.environ, HOME=self._home, XDG_CONFIG_HOME=self._home, XDG_CACHE_HOME=self._home)
        nowhere = os.open(os.devnull, os.O_RDWR)
        self._pid = os.posix_spawn(
            executable,
            [executable, *flags, f"--user-data-dir={self._home}/profile", "about:blank"],
            variables,
            file_actions=[
                (os.POSIX_SPAWN_DUP2, nowhere, 0),
                (os.POSIX_SPAWN_DUP2, nowhere, 1),
                (os.POSIX_SPAWN_DUP2, nowhere, 2),
                (os.POSIX_SPAWN_DUP2, child_in, 3),
                (os.POSIX_SPAWN_DUP2, child_out, 4),
            ],
            setpgroup=0,
        )
        for descriptor in (child_in, child_out, nowhere):
            os.close(descriptor)
        self._number = 0
        self._rest = b""
        self._events: list[Json] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End this Chromium, and only this one, and remove what it wrote."""
        with contextlib.suppress(BrowserFailure, OSError):
            self.send("Browser.close")
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        os.close(self._to)
        os.close(self._from)
        shutil.rmtree(self._home, ignore_errors=True)

    def send(self, method: str, session: str | None = None, **parameters: object) -> Json:
        """Send one command and wait for its answer; events that come in between are kept."""
        self._number += 1
        message: Json = {"id": self._number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        rest = memoryview(json.dumps(message).encode() + b"\0")
        while rest:
            rest = rest[os.write(self._to, rest) :]
        until = time.monotonic() + _TIMEOUT
        while True:
            answer = self._read(until, method)
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise BrowserFailure(f"{method}: {answer['error']}")
                return cast("Json", answer["result"])
            self._events.append(answer)

    def events(self, session: str) -> list[Json]:
        """Take the events of one page that have come so far."""
        mine = [event for event in self._events if event.get("sessionId") == session]
        self._events = [event for event in self._events if event.get("sessionId") != session]
        return mine

    def wait(self, session: str, method: str) -> list[Json]:
        """Wait for an event of one page; return all its events up to and including that one."""
        until = time.monotonic() + _TIMEOUT
        seen: list[Json] = []
        while True:
            seen += self.events(session)
            if any(event["method"] == method for event in seen):
                return seen
            self._events.append(self._read(until, method))

    def _read(self, until: float, waiting_for: str) -> Json:
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._from], [], [], max(0.0, until - time.monotonic()))
            if not ready:
                raise BrowserFailure(f"Chromium gave no answer to {waiting_for} within {_TIMEOUT:.0f} s.")
            chunk = os.read(self._from, 1 << 16)
            if not chunk:
                raise BrowserFailure(f"Chromium ended while {waiting_for} was under way.")
            self._rest += chunk
        text, self._rest = self._rest.split(b"\0", 1)
        return cast("Json", json.loads(text))

    def open(
        self,
        path: Path,
        *,
        width: int = 1280,
        height: int = 900,
        media: Media = "screen",
        javascript: bool = True,
    ) -> Page:
        """Open a local file in a new tab and wait until it has loaded."""
        target = self.send("Target.createTarget", url="about:blank")["targetId"]
        session = cast("str", self.send("Target.attachToTarget", targetId=target, flatten=True)["sessionId"])
        page = Page(self, session, cast("str", target), width=width)
        for domain in ("Page", "Network", "Log", "Runtime"):
            self.send(f"{domain}.enable", session)
        # Phones lay a page out by its viewport tag; asking for a phone at small widths shows a page that forgot it.
        self.send(
            "Emulation.setDeviceMetricsOverride",
            session,
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        self.send("Emulation.setEmulatedMedia", session, media=media)
        self.send("Emulation.setScriptExecutionDisabled", session, value=not javascript)
        page.take_note()
        page.requests.clear()  # the empty page that a tab starts with
        answer = self.send("Page.navigate", session, url=path.resolve().as_uri())
        if "errorText" in answer:
            raise BrowserFailure(f"{path}: {answer['errorText']}")
        page.keep(self.wait(session, "Page.loadEventFired"))
        return page


@dataclass
class Page:
    """One open page: what it asked for, what it complained of, and how it lies on the screen."""

    browser: Browser
    session: str
    target: str
    width: int  # px, as asked for
    requests: list[str] = field(default_factory=list)  # every address asked for, data: ones among them
    problems: list[str] = field(default_factory=list)  # errors, warnings and refusals of the console

    def keep(self, events: list[Json]) -> None:
        """Sort events into requests and problems."""
        for event in events:
            facts = cast("dict[str, dict[str, object]]", event["params"])
            if event["method"] == "Network.requestWillBeSent":
                self.requests.append(str(facts["request"]["url"]))
            elif event["method"] == "Log.entryAdded" and facts["entry"]["level"] in {"error", "warning"}:
                self.problems.append(f"{facts['entry']['text']} {facts['entry'].get('url', '')}".strip())
            elif event["method"] == "Runtime.exceptionThrown":
                self.problems.append(str(facts["exceptionDetails"].get("exception", facts["exceptionDetails"])))

    def take_note(self) -> None:
        """Take up the events that have come since the last look."""
        self.browser.send("Runtime.evaluate", self.session, expression="0")
        self.keep(self.browser.events(self.session))

    def foreign_requests(self) -> list[str]:
        """Addresses asked for that are neither on this disk nor inside the page; must be empty for an offline page."""
        self.take_note()
        return [url for url in self.requests if not url.startswith(("file:", "data:", "about:", "blob:"))]

    def ask(self, expression: str) -> object:
        """Value of a JavaScript expression, also where the page itself may run no script."""
        answer = self.browser.send(
            "Runtime.evaluate", self.session, expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in answer:
            raise BrowserFailure(f"{expression}: {answer['exceptionDetails']}")
        return cast("Json", answer["result"]).get("value")

    def overflow(self) -> float:
        """By how many pixels the page is wider than its window; 0 where nothing scrolls sideways."""
        # Against the width asked for, not innerWidth: a phone zooms out to wide content and innerWidth grows with it.
        wide = self.ask("document.documentElement.scrollWidth")
        return max(0.0, float(cast("float", wide)) - self.width)

    def wide_elements(self) -> list[str]:
        """Elements that stick out on the right, outermost first, for a message that helps."""
        found = self.ask(
            "[...document.querySelectorAll('body *')]"
            f".filter(e => e.getBoundingClientRect().right > {self.width} + 0.5)"
            ".slice(0, 5).map(e => e.outerHTML.slice(0, 120))"
        )
        return cast("list[str]", found)

    def screenshot(self, *, whole: bool = True) -> bytes:
        """A PNG of the page, whole or just the first screen."""
        answer = self.browser.send(
            "Page.captureScreenshot", self.session, format="png", captureBeyondViewport=whole, **self._clip(whole=whole)
        )
        return base64.b64decode(cast("str", answer["data"]))

    def _clip(self, *, whole: bool) -> Json:
        if not whole:
            return {}
        height = self.ask("document.documentElement.scrollHeight")
        return {"clip": {"x": 0, "y": 0, "width": self.width, "height": height, "scale": 1}}

    def pdf(self) -> bytes:
        """The page on A4 paper as Chromium prints it."""
        answer = self.browser.send(
            "Page.printToPDF",
            self.session,
            paperWidth=210 / 25.4,
            paperHeight=297 / 25.4,
            printBackground=True,
            preferCSSPageSize=True,
        )
        return base64.b64decode(cast("str", answer["data"]))

    def close(self) -> None:
        """Close the tab."""
        self.browser.send("Target.closeTarget", targetId=self.target)
