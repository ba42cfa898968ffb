"""The six properties that hold for every readings file, on random tables across CSV, XLSX and ODS, encodings and
separators.
"""

from __future__ import annotations

import csv
import io
import locale
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from adhesion_stats.intake import Reading, read_bytes, read_file
from adhesion_stats.wording import say
from tests.intake.books import ods, xlsx

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

ZONES = ("Deck", "007", "NA", "1E5", "12.10", "Süd", "<b>&", "Wall")
FAILURES = ("A", "A/B 20 / A 80", "80% A, 20% A/B", "Y/Z 100", "", "B/C 60 C 40")
WORDS = ("n/a", "glue failure", "lost", "", "-")


@dataclass(frozen=True)
class Row:
    """One pull of a random table."""

    zone: str
    id: str
    value: float | str
    failure: str


rows = st.lists(
    st.builds(
        Row,
        st.sampled_from(ZONES),
        st.integers(1, 999).map(lambda k: f"P{k:03d}"),
        st.one_of(st.integers(20, 500).map(lambda k: k / 100), st.sampled_from((*WORDS, "> 3.5", "<0.5"))),
        st.sampled_from(FAILURES),
    ),
    min_size=1,
    max_size=25,
    unique_by=lambda row: row.id,
).filter(lambda table: any(isinstance(row.value, float) for row in table))

HEAD = ("zone", "id", "strength [MPa]", "failure")


def cells(table: list[Row]) -> list[tuple[object, ...]]:
    """Heading and rows of a table."""
    return [HEAD, *((row.zone, row.id, row.value if row.value != "" else None, row.failure or None) for row in table)]


def text(table: list[Row], *, separator: str = ",", decimal: str = ".", end: str = "\n") -> str:
    """The table as separated text."""
    target = io.StringIO()
    writer = csv.writer(target, delimiter=separator, lineterminator=end)
    writer.writerow(HEAD)
    for row in table:
        value = f"{row.value:g}".replace(".", decimal) if isinstance(row.value, float) else row.value
        writer.writerow((row.zone, row.id, value, row.failure))
    return target.getvalue()


def facts(reading: Reading) -> tuple[object, ...]:
    """Everything about the pulls but their places."""
    pulls = reading.pulls
    return (
        pulls.zone, pulls.id, pulls.strength_mpa.tobytes(), pulls.bound.tobytes(), pulls.lost.tobytes(), pulls.doubts,
        tuple(tuple(sorted(pulls.failure(i).items())) for i in range(len(pulls))),
    )  # fmt: skip


def remarks(reading: Reading) -> list[str]:
    """What is said, but for how the file was decoded."""
    return sorted(say(message) for message in reading.messages if not message.code.startswith("encoding"))


def read(content: bytes | str, file: str = "readings.csv") -> Reading:
    """Read a file from its content."""
    return read_bytes(content.encode() if isinstance(content, str) else content, file=file)


@given(rows, st.integers(0, 3))
@settings(max_examples=80, deadline=None)
def test_pulls_and_rows_left_out_are_the_rows_of_the_file(table: list[Row], summaries: int) -> None:
    """No row disappears without a word: means below the table are named, every other row is a pull."""
    lines = text(table) + "".join(f"{table[-1].zone},Mean,1.50,\n" for _ in range(summaries))
    reading = read(lines)
    named = [message for message in reading.messages if message.code == "summary_rows_left_out"]
    left_out = sum(int(str(message.facts["count"])) for message in named)
    assert len(reading.pulls) + left_out == len(table) + summaries
    assert reading.pulls.row.tolist() == list(range(2, len(table) + 2))


@given(rows, st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_order_of_rows_changes_no_zone(table: list[Row], random: object) -> None:
    """Shuffled rows give the same pulls."""
    shuffled = list(table)
    random.shuffle(shuffled)  # type: ignore[attr-defined]

    def by_id(reading: Reading) -> dict[tuple[str, str], tuple[str, int, tuple[tuple[str, float], ...]]]:
        p = reading.pulls
        return {
            (p.zone[i], p.id[i]): (repr(float(p.strength_mpa[i])), int(p.bound[i]), tuple(sorted(p.failure(i).items())))
            for i in range(len(p))
        }

    assert by_id(read(text(table))) == by_id(read(text(shuffled)))


@given(rows, st.permutations(range(4)))
@settings(max_examples=60, deadline=None)
def test_order_of_columns_changes_nothing(table: list[Row], order: list[int]) -> None:
    """Reordered columns give the same pulls."""
    lines = list(csv.reader(io.StringIO(text(table))))
    target = io.StringIO()
    csv.writer(target, lineterminator="\n").writerows([[line[k] for k in order] for line in lines])
    assert facts(read(target.getvalue())) == facts(read(text(table)))


@given(rows, st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]))
@settings(max_examples=80, deadline=None)
def test_encoding_changes_nothing(table: list[Row], encoding: str) -> None:
    """UTF-8 with and without mark, UTF-16 and Windows-1252 give the same values and remarks."""
    one, two = read(text(table)), read(text(table).encode(encoding))
    assert facts(one) == facts(two)
    assert remarks(one) == remarks(two)


@given(rows, st.sampled_from([",", ";", "\t", "|"]), st.sampled_from([".", ","]), st.sampled_from(["\n", "\r\n", "\r"]))
@settings(max_examples=80, deadline=None)
def test_separator_decimal_mark_and_line_ends_change_no_value(
    table: list[Row], separator: str, decimal: str, end: str
) -> None:
    """The same numbers however they are written (bounds are written with a point here)."""
    assert facts(read(text(table, separator=separator, decimal=decimal, end=end))) == facts(read(text(table)))


@given(rows)
@settings(max_examples=60, deadline=None)
def test_the_same_table_gives_the_same_as_csv_xlsx_and_ods(table: list[Row]) -> None:
    """Values and remarks don't depend on the format."""
    one, two, three = (
        read(text(table)),
        read(xlsx(cells(table)), "readings.xlsx"),
        read(ods(cells(table)), "readings.ods"),
    )
    assert facts(one) == facts(two) == facts(three)
    assert remarks(one) == remarks(two) == remarks(three)


@given(rows)
@settings(max_examples=30, deadline=None)
def test_the_layout_as_understood_reads_the_same_again(table: list[Row]) -> None:
    """Written as TOML, read back and applied, it changes nothing."""
    first = read(text(table, separator=";", decimal=","))
    again = type(first.layout).from_toml(first.layout.to_toml())
    second = read_bytes(text(table, separator=";", decimal=",").encode(), file="readings.csv", layout=again)
    assert facts(first) == facts(second)
    assert again == second.layout


@given(rows)
@settings(max_examples=30, deadline=None)
def test_values_are_those_written(table: list[Row]) -> None:
    """Each number of the table comes back as the float of its text."""
    pulls = read(text(table)).pulls
    for i, row in enumerate(table):
        if isinstance(row.value, float):
            assert pulls.strength_mpa[i] == float(f"{row.value:g}")
        elif re.search(r"\d", row.value):
            assert pulls.strength_mpa[i] == float(re.sub(r"[^\d.]", "", row.value))
        else:
            assert np.isnan(pulls.strength_mpa[i])


def test_the_language_of_the_computer_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading asks the locale nothing: neither its decimal mark nor its encoding."""

    def asked(*_: object) -> str:
        raise AssertionError("the locale was asked")

    for name in ("localeconv", "getpreferredencoding", "getlocale", "setlocale", "atof", "str", "getencoding"):
        monkeypatch.setattr(locale, name, asked)
    content = text([Row("Süd", "P1", 1.62, "A")], separator=";", decimal=",")
    assert read(content.encode("cp1252")).pulls.strength_mpa.tolist() == [1.62]


def test_the_input_file_is_never_written_to(tmp_path: Path) -> None:
    """Bytes and time of the file stay; reading works on a file without write permission."""
    path = tmp_path / "readings.xlsx"
    path.write_bytes(xlsx(cells([Row("Deck", "P1", 1.62, "A")])))
    path.chmod(0o444)
    before, stamp = path.read_bytes(), path.stat().st_mtime_ns
    read_file(path)
    assert path.read_bytes() == before
    assert path.stat().st_mtime_ns == stamp
    assert [entry.name for entry in tmp_path.iterdir()] == ["readings.xlsx"]
