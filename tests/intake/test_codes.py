"""Every message code of this room has words, and every one is said by some file."""

from __future__ import annotations

import ast
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from openpyxl.styles import Font

import adhesion_stats.intake
from adhesion_stats.entrance import readings_from
from adhesion_stats.errors import InvalidSpecification, UnusableReadings
from adhesion_stats.intake import Reading, open_file, parquet, read_bytes, read_file
from adhesion_stats.terms.layout import Layout
from adhesion_stats.terms.parse import parse_specification
from adhesion_stats.wording import say_with_place
from adhesion_stats.wording.intake import INTAKE
from tests.cases import test_files_of_kinds as kinds
from tests.cases.test_kinds import ALL
from tests.cases.test_messy import EXPECTED, FOLDER
from tests.intake import test_workbooks as books
from tests.intake.books import replaced, xlsx
from tests.intake.test_parquet import TABLE, packed

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest

    from adhesion_stats.messages import Message

HEAD = "zone,id,strength MPa"
_LOADS = "zone,id,load kN,size,instrument,certificate,date"
_G1 = '[instruments.G1]\nunit = "kN"\ntable = [[2, 2.04], [16, 16.1]]\n'
_P7 = 'instrument = "P7"\n[instruments.P7]\nunit = "MPa"\ntable = [[0.5, 0.49], [4.5, 4.29]]\n'
# Readings and the certificates of instruments, invented.
INSTRUMENTS: tuple[tuple[str, str], ...] = (
    (f"{_LOADS}\nZ1,p1,5,50 x 50 mm,G2,,\nZ1,p2,5,50 x 50 mm,,,\n", _G1),
    (
        (
            f"{_LOADS}\nZ1,p1,5,50 x 50 mm,G1,K-7,2025-07-01\nZ1,p2,15,50 x 50 mm,G1,,2023-01-01\n"
            "Z1,p3,1,50 x 50 mm,G1,,\n"
        ),
        _G1 + 'certificate = "K-8"\ncapacity = "15 kN"\ncalibrated = "2024-01-01"\ndue = "2025-01-01"\n',
    ),
    (f"{HEAD}\nZ1,p1,1.62\n", 'instrument = "G1"\n' + _G1),
    ("zone,id,strength MPa,load kN,size\nZ1,p1,2.021,5.000,50 x 50 mm\nZ1,p2,2.0,,\n", 'instrument = "G1"\n' + _G1),
    (f"{HEAD},diameter mm\nZ1,p1,2.5,49\n", _P7),
    (f"{HEAD},diameter mm\nZ1,p1,2.5,49\n", _P7 + 'reads_for = "50 mm"\n'),
)
# Texts that say what no case says.
FURTHER: tuple[tuple[str, str], ...] = (
    ("zone,id,load N,disc mm,disc area mm²\nZ1,p1,3180,50,2500\n", ""),
    ("zone,1 [MPa],2 [MPa]\nZ1,1.62,1.48\nZ2,1.5,\n", ""),
    ("zone,id,qualifier,strength MPa\nZ1,p1,perhaps,1.62\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\n", 'encoding = "cp9999"'),
    (f"{HEAD}\nZ1,p1,1.62\n", "heading_row = 99"),
    (f"{HEAD}\nZ1,p1,1.62\n", '[columns]\nstrength = "x"'),
    (f"{HEAD}\nZ1,p1,1.62\n", 'recording_step = "x"'),
    (f"{HEAD}\nZ1,p1,1.62\nZ1,p2,1.5\n", "leave_out_rows = [3]"),
    (f"{HEAD}\nZ1,p1,1.62\n", '[units]\nstrength = "parsec"'),
    (f"{HEAD}\n", ""),
    ("", ""),
    ("%PDF-1.7", ""),
    ("zone,id,load N,disc\nZ1,p1,3180,big 5 or so\n", ""),
    ("id,strength MPa\np1,1.62\n\nid,strength psi\np3,235\n", ""),
    ("zone,id,load kN,core diameter mm,dolly diameter mm\nZ1,p1,3.18,49,50\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\n,,[MPa]\nZ1,p2,1.5\n", ""),
    (f"{HEAD}\nZ1,p1,8.2\n", ""),
    (f"{HEAD},cut\nZ1,p1,1.62,perhaps\n", ""),
    (f"{HEAD},A,A/B,failure\nZ1,p1,1.62,100,,A/B\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\nZ1,p2,1.48\nZ1,p3,1.5\nOdd,,1.0\n", ""),
    ("mix,id,strength MPa\nM1,p1,1.62\n", ""),
    ("zone,id,R_x [MPa]\nZ1,p1,1.62\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\nZ1 ,p2,1.5\n", ""),
    ("zone,id,stress psi,stress MPa\nZ1,p1,235,1.62\nZ1,p2,235,1.9\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\nZ1,p2,1.48\nZ1,,2.05\n", ""),
    (f"{HEAD},\nZ1,p1,1.62,7\n", ""),
    (f"{HEAD}\nZ1,p1,1.62\nzone,id,strength psi\nZ2,p2,235\n", ""),
    (f"{HEAD}\nZ1,p1,held at 1.5\nZ1,p2,not held at 1.5\nZ1,p3,1.5 ok\n", ""),
    ("planned zone,zone,id,strength MPa\nZ1,Z2,p1,1.5\n", ""),
    ("zone,id,proof stress MPa\nZ1,p1,1.5\n", ""),
    (f"{HEAD},proof stress MPa,held\nZ1,p1,1.2,1.5,yes\n", ""),
    *INSTRUMENTS,
)


def messages_of(read: Callable[[], Reading]) -> tuple[Message, ...]:
    """Return what a file makes the reader say, read or refused."""
    try:
        return read().messages
    except UnusableReadings as refused:
        return refused.messages


def workbooks() -> list[bytes]:
    """Workbooks that say what text files can't."""
    rows = books.ROWS

    def hide(book: object) -> None:
        sheet = book["Sheet1"]  # type: ignore[index]
        sheet.row_dimensions[3].hidden = True
        sheet.column_dimensions["B"].hidden = True

    def hide_sheet(book: object) -> None:
        book["Sheet2"].sheet_state = "hidden"  # type: ignore[index]

    def merge(book: object) -> None:
        book["Sheet1"].merge_cells("C2:C3")  # type: ignore[index]

    def strike(book: object) -> None:
        book["Sheet1"]["C3"].font = Font(strike=True)  # type: ignore[index]

    import datetime as dt

    return [
        xlsx(rows, edit=strike),
        xlsx([books.HEAD, ("Z1", "p1", "=1+1")]),
        xlsx(rows, edit=hide),
        xlsx(rows, rows, edit=hide_sheet),
        xlsx([("x",)], rows, edit=hide_sheet),
        xlsx(rows, rows),
        xlsx([("x",)], rows),
        xlsx(rows, edit=merge),
        xlsx([books.HEAD, ("Z1", "p1", dt.date(2024, 5, 1))]),
        replaced(xlsx(rows), {"xl/vbaProject.bin": b"x"}),
        replaced(xlsx(rows), {"xl/externalLinks/externalLink1.xml": b"<x/>"}),
        replaced(xlsx(rows), {"xl/styles.xml": b"<broken"}),
        xlsx(rows)[:900],
        replaced(xlsx(rows), {"xl/media/x": b"0" * (210 * 2**20)}),
        replaced(xlsx(rows), {"xl/styles.xml": b"<!DOCTYPE x><x/>"}),
        xlsx(rows, edit=lambda book: book["Sheet1"].cell(1_048_576, 16_384, "far")),
        b"zone,strength MPa,remark\nDeck,1.62," + b"x" * 40_000 + b"\n",
        b"zone,strength MPa" + b",x" * 3_000 + b"\n",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(900),
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
        b"zone,id,strength MPa\nZ1,p1,1.62\n\x00\x00",
    ]


def everything(monkeypatch: pytest.MonkeyPatch) -> list[Message]:
    """Every message that the files of the tests make the reader say."""
    found: list[Message] = []
    for kind in ALL:
        found += messages_of(partial(read_bytes, kind.text.encode(), file="x.csv"))
    for name in EXPECTED:
        found += messages_of(partial(read_file, FOLDER / name))
    for name in kinds.EXPECTED:
        found += messages_of(partial(read_file, kinds.FOLDER / name))
    for text, layout in FURTHER:
        found += messages_of(partial(read_bytes, text.encode(), file="x.csv", layout=Layout.from_toml(layout)))
    for content in workbooks():
        found += messages_of(partial(read_bytes, content, file="x.xlsx"))
    found += messages_of(lambda: read_bytes(xlsx(books.ROWS, books.ROWS), file="x.xlsx", layout=Layout(sheet="x")))
    contract = parse_specification(
        b'[contract]\ntitle="t"\n[[require]]\nmean_at_least="1 MPa"\n[readings]\n', file="s.toml"
    )
    found += readings_from(
        b"zone,id,strength MPa\nZ1,p1,1.62\n", file="x.csv", specification=contract, layout=("l.toml", b"")
    ).messages
    for content in (b"PAR1" + bytes(90), packed(TABLE)[:-4] + b"PARE"):
        found += messages_of(partial(read_bytes, content, file="x.parquet"))
    monkeypatch.setattr(parquet, "MAX_CELLS", 10)
    found += messages_of(lambda: read_bytes(packed(TABLE), file="x.parquet"))
    monkeypatch.setattr(open_file, "MAX_BYTES", 10)
    found += messages_of(lambda: read_bytes(b"zone,id,strength MPa\n", file="x.csv"))
    for text in ("a = [", "shet = 1", "zzzzzz = 1", "plausible = 3"):
        try:
            Layout.from_toml(text)
        except InvalidSpecification as refused:
            found += refused.messages
    return found


def test_every_code_is_said_by_some_file_and_has_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """A code that nothing produces is dead; a code without words would raise here."""
    found = everything(monkeypatch)
    assert {message.code for message in found} == set(INTAKE)
    for message in found:
        text = say_with_place(message)
        assert "{" not in text.replace("{{", "")


def test_every_code_in_the_source_has_words() -> None:
    """Codes passed to the collector are all in the table."""
    folder = Path(adhesion_stats.intake.__file__).parent
    codes = set()
    for path in folder.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.args):
                continue
            first = node.args[0]
            if (
                node.func.attr in {"add", "add_rows"}
                and isinstance(first, ast.Constant)
                and isinstance(first.value, str)
            ):
                codes.add(first.value)
    assert len(codes) > 50
    assert codes <= set(INTAKE)
