"""Columns of coded values answer as a plain tuple with the same entries does."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from adhesion_stats.coded import Coded, PackedTexts, Texts, filled

names = st.sampled_from(["", "North", "north", "Süd", "P1", "P10", "007", "NA", "—"])


@st.composite
def columns(draw: st.DrawFn) -> Texts:
    """Columns of any shape: values that no row holds, values that stand twice, packed values, long runs, no rows."""
    values = draw(st.lists(names, min_size=1, max_size=8))
    codes = draw(st.lists(st.integers(0, len(values) - 1), max_size=40))
    if draw(st.booleans()):
        codes = codes * 60  # long enough not to be put down one by one
        codes = sorted(codes) if draw(st.booleans()) else codes
    held = packed(values) if draw(st.booleans()) else tuple(values)
    return Coded(np.array(codes, np.int32), held)


def packed(texts: list[str]) -> PackedTexts:
    """The same texts in one run of bytes."""
    raw = [text.encode() for text in texts]
    return PackedTexts(np.cumsum([0, *map(len, raw)]).astype(np.int32), b"".join(raw))


@given(columns())
def test_a_column_is_the_sequence_of_its_entries(column: Texts) -> None:
    """Length, entries, slices, equality and hash are those of the tuple."""
    plain = tuple(column.values[code] for code in column.codes)
    assert tuple(column) == plain
    assert column == plain
    assert hash(column) == hash(plain)
    assert [column[i] for i in range(-len(plain), len(plain))] == [plain[i] for i in range(-len(plain), len(plain))]
    assert tuple(column[2:9:3]) == plain[2:9:3]
    assert column != (*plain, "more")
    assert ("Süd" in column) == ("Süd" in plain)
    assert Coded.of(plain) == column
    assert tuple(column.map(lambda text: (text, len(text)))) == tuple((text, len(text)) for text in plain)


@given(columns())
def test_tidy_holds_each_value_once_in_order(column: Texts) -> None:
    """As ``dict.fromkeys`` of the entries does; the entries stay."""
    assert tuple(column.tidy.values) == tuple(dict.fromkeys(column))
    assert column.tidy == column
    assert column.tidy.tidy is column.tidy


@given(columns(), names)
def test_questions_are_answered_for_every_row(column: Texts, name: str) -> None:
    """``where``, ``index_in``, ``rows_of``, ``map`` and ``take`` agree with a loop over the rows."""
    plain = tuple(column)
    assert column.where(str.isdigit).tolist() == [text.isdigit() for text in plain]
    assert column.index_in(("x", name)).tolist() == [1 if text == name else -1 for text in plain]
    assert column.rows_of(name).tolist() == [i for i, text in enumerate(plain) if text == name]
    assert column.numbers(len).tolist() == [len(text) for text in plain]
    assert column.put(column.where(str.isdigit), "x") == tuple("x" if text.isdigit() else text for text in plain)
    assert column.beside(column.map(len)) == tuple((text, len(text)) for text in plain)
    assert column.map(len) == tuple(map(len, plain))
    assert column.take(np.arange(len(plain))[::2]) == plain[::2]
    used, kept = column.only_used()
    assert used == column
    assert set(used.values) == set(plain)
    assert [column.values[k] for k in kept] == list(used.values)
    assert filled(column.values)[column.codes].tolist() == [bool(text) for text in plain]


@given(st.lists(columns(), max_size=4))
def test_joined_columns_stand_below_each_other(parts: list[Texts]) -> None:
    """All rows of all parts, in order."""
    assert Coded.joined(parts) == tuple(itertools.chain.from_iterable(parts))


@given(st.lists(names, max_size=12), st.lists(names, max_size=3))
def test_packed_texts_are_the_texts(texts: list[str], before: list[str]) -> None:
    """One by one, all together, some of them, and with others before them."""
    run = packed(texts)
    assert list(run) == texts == [run[k] for k in range(len(texts))] == run[:]
    assert list(run.chosen(np.arange(len(texts))[1::2])) == texts[1::2]
    assert list(run.after(before)) == [*before, *texts]


@given(st.lists(names, max_size=8))
def test_texts_that_rise_are_all_different(texts: list[str]) -> None:
    """They rise exactly where each is longer, or as long and later by its bytes."""
    keys = [(len(text.encode()), text.encode()) for text in texts]
    assert packed(texts).rise == all(a < b for a, b in itertools.pairwise(keys))


@pytest.mark.parametrize("style", ["P{}", "P{:05}", "Süd-{}"])
def test_numbered_names_rise(style: str) -> None:
    """Whether the numbers are padded or not."""
    assert packed([style.format(i) for i in range(1, 1200)]).rise
    assert not packed([style.format(i) for i in (*range(1, 1200), 7)]).rise


def test_a_column_of_one_value_takes_no_memory_and_cannot_be_written_to() -> None:
    """A million rows share one code."""
    column = Coded.same("", 1_000_000)
    assert len(column) == 1_000_000
    assert column.codes.base is not None
    assert column.codes.strides == (0,)
    with pytest.raises(ValueError, match="read-only"):
        Coded.of(["a", "b"]).codes[0] = 1
