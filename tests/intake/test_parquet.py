"""Parquet: the same values and remarks as the text file of the same table, and nothing but our own errors."""

from __future__ import annotations

import csv
import datetime as dt
import decimal
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet as pq

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import parquet, read_bytes
from adhesion_stats.pulls import Bound
from tests.intake.same import same

if TYPE_CHECKING:
    from adhesion_stats.intake import Reading

DAYS = [dt.date(2024, 5, 1), dt.date(2024, 5, 2), None, dt.date(2024, 5, 2)]
TABLE: dict[str, object] = {
    "zone": ["Deck 1", "Deck 1", "Deck 2", "Deck 2"],
    "id": ["007", "7", "08", "9"],
    "strength [MPa]": [2.05, 1.9, None, 2.4],
    "failure mode": ["A", "80% A, 20% A/B", None, "Y"],
    "date": DAYS,
    "temperature [°C]": [12, 13, None, 15],
}


def packed(columns: Mapping[str, object], **types: pa.DataType) -> bytes:
    """Return the bytes of a Parquet file."""
    arrays = [pa.array(values, types.get(name.split(" ")[0])) for name, values in columns.items()]
    target = io.BytesIO()
    pq.write_table(pa.table(arrays, names=list(columns)), target)
    return target.getvalue()


def text(columns: Mapping[str, object]) -> bytes:
    """Return the bytes of a text file of the same table."""
    target = io.StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(columns)
    lists = [values for values in columns.values() if isinstance(values, Sequence)]
    writer.writerows(["" if cell is None else str(cell) for cell in row] for row in zip(*lists, strict=True))
    return target.getvalue().encode()


def refusal(content: bytes) -> str:
    """Return what is said when a file is refused."""
    with pytest.raises(UnusableReadings) as caught:
        read_bytes(content, file="readings.parquet")
    return str(caught.value)


def both(columns: Mapping[str, object], **types: pa.DataType) -> tuple[Reading, Reading]:
    """Read the table from Parquet and from text."""
    return read_bytes(packed(columns, **types), file="f"), read_bytes(text(columns), file="f")


def test_values_and_remarks_are_those_of_the_text_file() -> None:
    """Numbers, dates, texts and blanks: the same pulls, the same messages at the same rows and columns."""
    one, other = both(TABLE)
    assert same(one.pulls, other.pulls, but={"digest"}) == ""
    assert same(one.messages, other.messages) == ""
    assert one.messages, "the blank strength is remarked on"
    assert dict(one.layout.columns) == dict(other.layout.columns)


@pytest.mark.parametrize(
    ("column", "values"),
    [
        ("strength [MPa]", ["2,05", ">1,9", "n/a", "2,4"]),
        ("failure mode", ["A", "A", "blue", "A 50 / B 70"]),
        ("zone", ["Deck 1", "deck 1", "Deck 2", "Deck 2"]),
        ("id", ["05-Mar", "7", "8", "8"]),
        ("strength [MPa]", ["1.62", "Mean", "2.0", "n/a"]),
    ],
)
def test_texts_are_judged_as_in_a_text_file(column: str, values: list[str]) -> None:
    """Signs, words, double ids and odd spellings are said in the same words."""
    table = {**TABLE, column: values}
    outcomes = []
    for content in (packed(table), text(table)):
        try:
            outcomes.append(read_bytes(content, file="f").messages)
        except UnusableReadings as refused:
            outcomes.append(refused.messages)
    assert same(*outcomes) == ""
    assert outcomes[0]


def test_numbers_of_32_bits_are_the_numbers_that_were_recorded() -> None:
    """2.05 stored in 32 bits is 2.05, not 2.0499999523."""
    reading, _ = both(TABLE, strength=pa.float32())
    assert reading.pulls.strength_mpa[0] == 2.05
    assert reading.pulls.recording_step_mpa == pytest.approx(0.01)


def test_decimals_keep_their_last_place() -> None:
    """A decimal column says to which place was recorded."""
    values = [decimal.Decimal("2.50"), decimal.Decimal("1.90"), decimal.Decimal("2.00"), decimal.Decimal("2.10")]
    reading = read_bytes(packed({**TABLE, "strength [MPa]": values}), file="f")
    assert reading.pulls.entered == ("2.50", "1.90", "2.00", "2.10")
    assert reading.pulls.recording_step_mpa == pytest.approx(0.01)


def test_whole_numbers_name_pulls_as_they_are() -> None:
    """An id column of integers gives 7, not 7.0."""
    assert read_bytes(packed({**TABLE, "id": [7, 8, 9, 10]}), file="f").pulls.id == ("7", "8", "9", "10")


def test_a_column_of_dictionary_kind_and_one_of_nothing_are_read() -> None:
    """Kinds that a writer may choose by itself."""
    columns = {**TABLE, "remark": [None] * 4}
    reading = read_bytes(packed(columns, zone=pa.dictionary(pa.int8(), pa.string())), file="f")
    assert reading.pulls.zone == ("Deck 1", "Deck 1", "Deck 2", "Deck 2")


def test_times_of_day_do_not_hide_the_date() -> None:
    """A time stamp gives its day; nanoseconds and zones do no harm."""
    moments = np.array(["2024-05-01T10:00:00.000000001"] * 4, "datetime64[ns]").tolist()
    column = pa.array(moments, pa.timestamp("ns", "UTC"))
    table = pa.table({"zone": ["Z"] * 4, "id": list("abcd"), "strength [MPa]": [2.0, 2.1, 2.2, 2.3], "date": column})
    target = io.BytesIO()
    pq.write_table(table, target)
    assert read_bytes(target.getvalue(), file="f").pulls.date == ("2024-05-01",) * 4


def test_not_a_number_is_a_blank() -> None:
    """What programs store for a missing number is none."""
    pulls = read_bytes(packed({**TABLE, "strength [MPa]": [2.0, float("nan"), 2.1, 2.2]}), file="f").pulls
    assert pulls.bound.tolist() == [Bound.EXACT, Bound.NOTHING, Bound.EXACT, Bound.EXACT]


def test_a_place_is_named_by_row_and_column() -> None:
    """Headings are row 1, the third record is row 4."""
    said = refusal(packed({**TABLE, "strength [MPa]": ["2.0", "2.1", "2.1 2.3", "2.2"]}))
    assert "row 4" in said
    assert "strength [MPa]" in said


def test_without_a_unit_it_is_asked_for() -> None:
    """A kind of column is no unit."""
    table = {name.partition(" [")[0]: values for name, values in TABLE.items()}
    assert "unit" in refusal(packed(table))


def test_groups_side_by_side_are_put_below_each_other() -> None:
    """The same reshaping as for other files, kinds kept."""
    names = ["id", "strength [MPa]", "zone", "id", "strength [MPa]", "zone"]
    arrays = [["a", "b"], [2.0, 2.1], ["Z1", "Z1"], ["c", "d"], [1.9, 1.8], ["Z2", "Z2"]]
    target = io.BytesIO()
    pq.write_table(pa.table([pa.array(values) for values in arrays], names=names), target)
    assert sorted(read_bytes(target.getvalue(), file="f").pulls.strength_mpa.tolist()) == [1.8, 1.9, 2.0, 2.1]


def test_size_is_checked_before_anything_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred million equal values pack to next to nothing; the count is enough to refuse."""
    monkeypatch.setattr(parquet, "MAX_CELLS", 20)
    monkeypatch.setattr(pq.ParquetFile, "read", None)
    assert "cells" in refusal(packed(TABLE))


def test_a_protected_file_is_refused() -> None:
    """Its footer says so."""
    assert "encrypted" in refusal(packed(TABLE)[:-4] + b"PARE")


def test_damaged_files_end_in_values_or_in_our_own_error(tmp_path: Path) -> None:
    """Five hundred damages of fixed seeds: bytes changed, cut off, doubled; no other exception."""
    content = packed(TABLE)
    refused = read = 0
    for seed in range(500):
        rng = np.random.default_rng(seed)
        data = bytearray(content)
        for _ in range(int(rng.integers(1, 4))):
            at = int(rng.integers(4, len(data)))
            match seed % 3:
                case 0:
                    data[at] = int(rng.integers(0, 256))
                case 1:
                    data = data[:at]
                case _:
                    data[at:at] = data[at : at + 9]
            if len(data) <= 4:
                break
        try:
            read_bytes(bytes(data), file="f")
        except UnusableReadings as problem:
            refused += bool(str(problem))
        else:
            read += 1
    assert refused > 300
    assert refused + read == 500
