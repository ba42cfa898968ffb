"""Large regular text is read by column: the same pulls, messages and layout as line by line, to the last bit."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from unittest import mock

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from adhesion_stats import units
from adhesion_stats.coded import Coded, PackedTexts
from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import Reading, columnar, headings, open_file, read_bytes
from adhesion_stats.intake.cells import Cells, ColumnRows, cells_of, rows_where
from adhesion_stats.intake.encoding import decode, mend_double_encoding
from adhesion_stats.intake.findings import Findings, Marked
from adhesion_stats.intake.quantities import KNOWN
from adhesion_stats.intake.scan import lines_of, scan
from adhesion_stats.messages import Message, Severity
from adhesion_stats.terms.layout import Layout
from tests.cases.test_kinds import ALL
from tests.cases.test_messy import EXPECTED, FOLDER
from tests.intake.same import same

ZONES = ("Deck 1", "Deck 2", "deck 2", "Pier N", "Pfeiler Süd", "007")
FAILURES = ("A", "B", "80% A, 20% A/B", "A 50 / B 50", "Y", "-/Y 100", "blue", "A 60 B 60", "")
DATES = ("2024-05-01", "2024-05-02", "03.05.2024", "13/05/2024", "")
STRENGTHS = ("2.05", "1.9", "2,10", "> 3.5", "<0.5", "n/a", "", "0", "-1", "999", "glue failure", "2.0*", "9.5", "Mean")
HEAD = ("zone", "id", "strength [MPa]", "failure mode", "date", "remark")


def everything_of(content: bytes, layout: Layout) -> tuple[str, Reading | tuple[Message, ...]]:
    """Return what comes of a file: a reading, or the messages of its refusal."""
    try:
        return "read", read_bytes(content, file="f", layout=layout)
    except UnusableReadings as refused:
        return "refused", refused.messages


@contextlib.contextmanager
def by_column(*, head_lines: int) -> Iterator[list[bool]]:
    """Read by column from the first byte on, with few lines kept as lines; yields whether each file was regular."""
    taken: list[bool] = []

    def watched(head: list[str], content: bytes, start: int, separator: str) -> ColumnRows | None:
        rows = columnar.scan_columns(head, content, start, separator)
        taken.append(rows is not None)
        return rows

    with (
        mock.patch.object(columnar, "LEAST_BYTES", 0),
        mock.patch.object(columnar, "HEAD_LINES", head_lines),
        mock.patch.object(columnar, "_MANY", 20),  # shapes of few texts too
        mock.patch.object(open_file, "scan_columns", watched),
    ):
        yield taken


def both_ways(content: bytes, layout: Layout, head_lines: int) -> tuple[str, bool]:
    """Return how the two ways differ ("" for not at all), and whether the file was regular."""
    lines = everything_of(content, layout)
    with by_column(head_lines=head_lines) as taken:
        columns = everything_of(content, layout)
    return same(lines, columns), taken == [True]


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[list[str]], str]:
    """Rows of a table with headings, and its separator; ids repeat, are one each, or are long and unlike."""
    n = draw(st.integers(12, 60))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    usual = draw(st.lists(st.sampled_from(STRENGTHS), max_size=3))
    separator = draw(st.sampled_from([";", "\t", "|", ","]))
    style = draw(st.sampled_from(["P{}", "P{:07}", "{:x}", "Mean {}", "{}.10", "0{}", "n={}", "{}-Mar"]))
    rows = []
    zone = 0
    for i in range(n):
        zone = min(zone + int(rng.random() < 0.15), len(ZONES) - 1)
        strength = f"{rng.uniform(0.6, 3.4):.2f}" if rng.random() < 0.8 or not usual else str(rng.choice(usual))
        remark = "" if rng.random() < 0.7 else str(rng.choice(["wet", "core broke", " x ", "=12", "—"]))
        cells = [ZONES[zone], style.format(i % draw(st.sampled_from([n, 5]))), strength]
        rows.append([*cells, str(rng.choice(FAILURES)), str(rng.choice(DATES)), remark])
    head = [*HEAD[:3], *HEAD[3:]]
    return [head, *rows], separator


def written(rows: list[list[str]], separator: str, *, quotes: bool, end: str) -> list[str]:
    """Lines of the table; cells that hold the separator are quoted, or all are."""
    return [separator.join(f'"{cell}"' if quotes or separator in cell else cell for cell in row) + end for row in rows]


IRREGULAR = (
    "{line}{sep}",
    "{line}{sep}more",
    "{cell}",
    "",
    "   ",
    "{blank}",
    '"{line}',
    '{cell}{sep}"two "" marks"{rest}',
    '{cell}{sep}"open{rest}',
    '{cell}{sep}5" disc{rest}',
    '{cell}{sep}"a" {rest}',
    '{cell}{sep} "a"{rest}',
    '{cell}{sep}"line{end}break"{rest}',
    "{line}\r{line}",
    "{head}",
    "zone{sep}id{sep}strength [psi]{sep}failure{sep}date{sep}remark",
    "{sep}{sep}MPa{sep}{sep}{sep}",
    "Mean{sep}{sep}2.05{sep}{sep}{sep}",
    "Deck 9{sep}{sep}{sep}{sep}{sep}",
    "Note: wet{sep}{sep}{sep}{sep}{sep}",
    "\u00a0Deck 1{sep}x\u2003{sep}2.1{sep}A{sep}{sep}",
    "Deck 1{sep}1,234{sep}1,234{sep}A{sep}{sep}Â²",
    'Deck 1{sep}="7"{sep}1.9{sep}A{sep}{sep}="12"',
)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    table=tables(),
    quotes=st.booleans(),
    end=st.sampled_from(["\n", "\r\n"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"]),
    above=st.sampled_from([[], ["Readings of the bridge"], ["Object;North", ""]]),
    irregular=st.lists(st.tuples(st.sampled_from(IRREGULAR), st.integers(1, 10**6)), max_size=2),
    last=st.booleans(),
    head_lines=st.sampled_from([1, 3, 8]),
    named=st.booleans(),
)
def test_both_ways_are_the_same_to_the_last_bit(
    table: tuple[list[list[str]], str],
    quotes: bool,
    end: str,
    encoding: str,
    above: list[str],
    irregular: list[tuple[str, int]],
    last: bool,
    head_lines: int,
    named: bool,
) -> None:
    """Regular tables, and tables with an irregular row anywhere, at which the way by column hands over.

    Where the separator is not named, it is told from all lines, and the lines kept end with the heading.
    """
    rows, separator = table
    lines = written(rows, separator, quotes=quotes, end=end)
    for pattern, at in irregular:
        k = 1 + at % (len(lines) - 1)
        line = lines[k].removesuffix(end)
        cell, _, rest = line.partition(separator)
        rest = separator + rest.partition(separator)[2]
        blank = separator * (len(HEAD) - 1)
        facts = {"line": line, "cell": cell, "rest": rest, "blank": blank, "sep": separator, "end": end}
        lines[k] = pattern.format(head=lines[0].removesuffix(end), **facts) + end
    text = "".join([*(line + end for line in above), *lines])
    content = (text if last else text.removesuffix(end)).encode(encoding, errors="replace")
    every = lines_of(mend_double_encoding(decode(content).text))
    found = open_file._separator(every)
    with mock.patch.object(open_file, "_separator", return_value=found):
        difference, regular = both_ways(content, Layout(separator=separator if named else None), head_lines)
    assert difference == ""
    if not irregular and len(above) <= head_lines and (named or found[0] == separator):
        assert regular


@pytest.mark.parametrize("head_lines", [1, 2, 5])
def test_every_case_is_the_same_both_ways(head_lines: int) -> None:
    """All examples and kinds, with the separator that all lines show; some of them must be regular."""
    files = [kind.text.encode(kind.encoding) for kind in ALL] + [(FOLDER / name).read_bytes() for name in EXPECTED]
    inside = open_file._separator
    regular = 0
    for content in files:

        def separator_of_all(lines: list[str], content: bytes = content) -> tuple[str, int]:
            every = lines_of(mend_double_encoding(decode(content).text))
            return inside([lines[0], *every[1:]])

        with mock.patch.object(open_file, "_separator", separator_of_all):
            difference, one = both_ways(content, Layout(), head_lines)
        assert difference == "", content[:300]
        regular += one
    assert regular >= 15


def test_a_large_file_takes_the_way_by_column(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any change of limits: a file beyond the least size is not scanned line by line."""
    body = "".join(f"Deck {i // 9},P{i},{2 + i % 90 / 100:.2f}\n" for i in range(20_000))
    monkeypatch.setattr(open_file, "scan", lambda lines, separator: scan(lines[:1], separator))
    pulls = read_bytes(f"zone,id,strength [MPa]\n{body}".encode(), file="f").pulls
    assert len(pulls) == 20_000
    assert pulls.id[-1] == "P19999"
    assert pulls.row[-1] == 20_001


def test_a_row_too_long_is_named_although_the_rest_is_regular() -> None:
    """The way by column hands over; the row is said with its number."""
    body = "".join(f"Deck {i // 9},P{i},2.05\n" for i in range(20_000)).splitlines(keepends=True)
    body[15_000] = "Deck 1,P15000,2,05,7\n"
    with pytest.raises(UnusableReadings) as caught:
        read_bytes(("zone,id,strength [MPa]\n" + "".join(body)).encode(), file="f")
    assert "15002" in str(caught.value)


def test_ids_that_occur_twice_far_apart_are_found() -> None:
    """Ids of which nearly every one is new are kept one a row; the same one twice in a zone is found all the same."""
    body = [f"Deck,{(i * 7919) % 999_983:x},2.05\n" for i in range(20_000)]
    body[19_000] = body[40]
    reading = read_bytes(("zone,id,strength [MPa]\n" + "".join(body)).encode(), file="f")
    twice = next(message for message in reading.messages if message.code == "duplicate_id")
    assert twice.facts["rows"] == "42, 19002"


@pytest.mark.parametrize("style", ["{:06}", "P{}", "1E{}", "Süd {}"])
def test_an_id_of_its_own_in_each_row_stays_text_and_stays_packed(style: str) -> None:
    """As written, zeros and all; no text is made for a row that nobody asks about."""
    names = [style.format(i) for i in range(1, 20_001)]
    body = "".join(f"Deck,{name},{2 + i % 7 / 10:.1f}\n" for i, name in enumerate(names))
    reading = read_bytes(f"zone,id,strength [MPa]\n{body}".encode(), file="f")
    assert isinstance(reading.pulls.id.values, PackedTexts)
    assert reading.pulls.id == tuple(names)
    assert reading.messages == ()


marked = st.lists(st.tuples(st.booleans(), st.integers(0, 70)), min_size=1, max_size=400)


@settings(max_examples=200, deadline=None)
@given(cells=marked, named=st.booleans(), by_call=st.booleans(), many=st.integers(1, 70))
def test_a_message_about_many_rows_reads_the_same_by_runs(
    cells: list[tuple[bool, int]], named: bool, by_call: bool, many: int
) -> None:
    """Built from codes or row by row: the same rows, count and texts."""
    flags = np.array([flag for flag, _ in cells])
    codes = np.array([code % many for _, code in cells], np.int32)
    texts = ["" if k == 3 else f"t{k // 2}" for k in range(many)]
    at = np.flatnonzero(flags)
    names = Coded.of(f"p{i}" for i in range(len(cells))) if named else None
    numbers = at.astype(np.int64) * 1 + 2
    if by_call:
        seen = Marked(numbers, at, names, text=lambda i: texts[codes[i]])
    else:
        seen = Marked(numbers, at, names, Coded(codes, texts))
    one, other = Findings("f"), Findings("f")
    one.add_rows("x", Severity.NOTE, seen)
    other.add_rows("x", Severity.NOTE, list(seen))
    assert same(one.messages, other.messages) == ""


def test_rows_by_column_are_seen_as_rows() -> None:
    """Single rows, slices, steps and counts agree with the lists they stand for."""
    head = [["a"], ["b", "c", "d"]]
    body = [
        Cells(Coded.of(["x", "y", "x"])),
        Cells(Coded(np.array([1, 1, 0], np.int32), ("1", "2"))),
    ]
    rows = ColumnRows(head, body)
    lists = [["a"], ["b", "c", "d"], ["x", "2"], ["y", "2"], ["x", "1"]]
    assert [rows[i] for i in range(-5, 5)] == lists + lists
    for start in range(6):
        for stop in range(6):
            assert rows[start:stop] == lists[start:stop]
    assert rows[::2] == lists[::2]
    with pytest.raises(IndexError):
        rows[5]
    for column in range(3):
        for first in range(6):
            assert rows_where(rows, column, first, str.isalpha) == rows_where(lists, column, first, str.isalpha)
            assert rows_where(rows, column, first, lambda t: not t) == rows_where(lists, column, first, lambda t: not t)
            one, other = cells_of(rows, column, first), cells_of(lists, column, first)
            assert dict(zip(other[0], other[1].tolist(), strict=True)) == {
                text: sum(int(m) for t, m in zip(one[0], one[1], strict=True) if t == text) for text in one[0]
            }


def test_no_word_of_a_heading_and_no_unit_holds_a_digit_but_two() -> None:
    """On this rests that rows are looked over for further headings with all digits but 2 alike."""
    words = [word for _, _, words in (*headings._EXACT, *headings._STEMS) for word in words]
    words += [spelling for table in units._TABLES.values() for spelling in table]
    words += [*headings._NO_READING, *(word for names in KNOWN.values() for word in names)]
    assert {character for word in words for character in word if character.isdigit() and character != "²"} <= {"2"}
