"""One assessment of readings whose every name and remark is made to do harm: all that comes of it holds text.

Names of the files try to get out of the parameters of the notebook; names beside them are those of modules.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.hostile.box import Outcome, run
from tests.hostile.test_hostile import COMMANDING, harmless

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="limits and /proc as Linux has them")

READINGS = 'r"\nopen("trap", "w").close()\n#{x}$(touch trap)`touch trap`.csv'
TERMS = "numpy.py"
ZONES = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(1)>",
    '=HYPERLINK("http://127.0.0.1:9")',
    "\x1b]8;;http://127.0.0.1:9\x07link\x1b]8;;\x07",
    "\x9b31m\u202egnitirw\u2066",
    "../../{0.__class__} %s ${7*7} {{7*7}}",
    "[x](javascript:alert(1)) `x` $x$ ![](http://127.0.0.1:9)",
)
REMARKS = ("@SUM(A1)", "-2+3+cmd|' /C calc'!A0", "+1", "<svg onload=alert(1)>", "%%bash\ntouch trap", "\t=1+1", "--")


@pytest.fixture(scope="module")
def assessed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outcome]:
    """The folder in which the record was made, and what the command said."""
    folder = tmp_path_factory.mktemp("assessed")
    with (folder / READINGS).open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["zone", "id", "strength MPa", "failure", "remark", "<b>operator</b>"])
        for zone, remark in zip(ZONES, REMARKS, strict=True):
            for k, strength in enumerate((1.82, 1.61, 1.74)):
                writer.writerow([zone, f"{remark}{k}", strength, "A", remark, "<i>x</i>"])
    terms = {
        "title": ZONES[0] + ZONES[3],
        "client": ZONES[1],
        "engineer": ZONES[4],
        "structure": ZONES[6],
        "note": ZONES[5],
    }
    lines = "\n".join(f"{key} = {json.dumps(text)}" for key, text in terms.items())
    (folder / TERMS).write_text(
        f'[contract]\n{lines}\n[pulls]\nrequired = 3\n[[require]]\nmean_at_least = "1.50 MPa"\n'
        f"source = {json.dumps(ZONES[0])}\n",
        encoding="utf-8",
    )
    found = run(["assess", READINGS, "--specification", TERMS, "--output", "new"], folder, seconds=60)
    return folder, found


class _Page(HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: set[str] = set()
        self.attributes: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.add(tag)
        self.attributes += [(name, value or "") for name, value in attrs]


def _acts(html: str) -> list[str]:
    """What in a page does something, or brings something from elsewhere."""
    page = _Page()
    page.feed(html)
    found = sorted(
        page.elements & {"script", "img", "iframe", "object", "embed", "base", "form", "link", "foreignobject"}
    )
    for name, value in page.attributes:
        if name.startswith("on") or (
            name in {"href", "src", "action", "xlink:href"} and not value.startswith(("#", "data:image/png"))
        ):
            found.append(f"{name}={value}")
    return found


def test_the_command_is_harmless(assessed: tuple[Path, Outcome]) -> None:
    """The assessment ends, writes its folder only, and starts nothing but the notebook's kernel."""
    folder, found = assessed
    harmless(found, folder, (0,), outputs=("new",))


def test_the_page_shows_text(assessed: tuple[Path, Outcome]) -> None:
    """No element, attribute or sign of the file is one of the page."""
    page = (assessed[0] / "new" / "assessment.html").read_text(encoding="utf-8")
    assert _acts(page) == []
    assert not [sign for sign in COMMANDING if sign in page]
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_the_notebook_shows_text(assessed: tuple[Path, Outcome]) -> None:
    """The same for whatever the cells show; the file's name stands in the parameters as a text."""
    notebook = json.loads((assessed[0] / "new" / "assessment.ipynb").read_bytes())
    for cell in notebook["cells"]:
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            assert _acts("".join(data.get("text/html", ""))) == []
            assert not {"application/javascript", "text/markdown", "text/latex"} & data.keys()
            shown = json.dumps(data, ensure_ascii=False) + json.dumps(output.get("text", ""), ensure_ascii=False)
            assert not [sign for sign in COMMANDING if sign in shown]
    (injected,) = [cell for cell in notebook["cells"] if "injected-parameters" in cell["metadata"].get("tags", [])]
    source = "".join(injected["source"])
    assert len(source.splitlines()) == 5
    assert f"readings = {json.dumps(READINGS, ensure_ascii=False)}" in source


def test_the_record_audits(assessed: tuple[Path, Outcome]) -> None:
    """A whole audit, in its fresh process and with the notebook run, finds the record reproduced and stays harmless."""
    folder = assessed[0] / "audited"
    folder.mkdir()
    found = run(["audit", "../new", "--output", "report"], folder, seconds=60)
    harmless(found, folder, (0,), outputs=("report",))
    page = (folder / "report" / "audit.html").read_text(encoding="utf-8")
    assert _acts(page) == []


def test_the_crate_holds_no_formulas(assessed: tuple[Path, Outcome]) -> None:
    """No cell of the table in a crate begins as a formula of a spreadsheet does; numbers stay numbers."""
    folder = assessed[0] / "packed"
    folder.mkdir()
    found = run(["crate", "../new", "--output", "crate", "--date", "2026-05-04"], folder)
    harmless(found, folder, (0,), outputs=("crate",))
    with (folder / "crate" / "pulls.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 3 * len(ZONES)
    cells = [cell for row in rows for cell in row.values()]
    assert not [
        cell for cell in cells if re.match(r"[=+\-@\t\r]", cell) and not re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", cell)
    ]
    assert {row["zone"] for row in rows} >= {"'" + ZONES[2], ZONES[0]}
    assert {row["strength_mpa"] for row in rows} == {"1.82", "1.61", "1.74"}
