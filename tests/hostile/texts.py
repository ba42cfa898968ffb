"""Tables, terms and layouts as text, made to do harm: name of the file -> its bytes."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping

__all__ = ["LAYOUTS", "SPECIFICATIONS", "TABLES", "TERMS"]

_HEAD = b"zone,id,strength MPa,failure,remark\n"
_ROW = b"Deck,1,1.82,A,\n"
_MILLION = 1_000_000
_BOUND = 32_767
_LETTERS = b"abcdefghijklmnopqrstuvwxyz"

TERMS = b'[contract]\ntitle = "Invented"\n[pulls]\nrequired = 3\n[[require]]\nmean_at_least = "1.50 MPa"\n'


def _cell(column: int, text: bytes) -> bytes:
    row = [b"Deck", b"1", b"1.82", b"A", b""]
    row[column] = text
    return _HEAD + b",".join(row) + b"\n" + _ROW.replace(b",1,", b",2,")


def _parquet() -> bytes:
    """A hundred million rows in a few kilobytes: nothing, repeated."""
    import pyarrow as pa
    from pyarrow import parquet

    target = io.BytesIO()
    nothing = pa.nulls(101_000_000)
    parquet.write_table(pa.table({"zone": nothing, "strength MPa": nothing}), target, row_group_size=2**30)
    return target.getvalue()


def _parquet_deep() -> bytes:
    """Lists in lists, sixty levels."""
    import pyarrow as pa
    from pyarrow import parquet

    kind, value = pa.int8(), 1
    for _ in range(60):
        kind, value = pa.list_(kind), [value]  # type: ignore[assignment]
    target = io.BytesIO()
    parquet.write_table(pa.table({"zone": ["Deck"], "strength MPa": [1.5], "deep": pa.array([value], kind)}), target)
    return target.getvalue()


TABLES: Mapping[str, Callable[[], bytes]] = {
    "one-long-cell.csv": lambda: _cell(4, b"x" * 8 * _MILLION),
    "long-zone.csv": lambda: _cell(0, b"x" * _MILLION),
    "long-blanks.csv": lambda: _cell(2, b" " * _MILLION + b"1.82 MP a"),
    "long-digits.csv": lambda: _cell(2, b"9" * 100_000),
    "long-fraction.csv": lambda: _cell(2, b"1." + b"1" * 100_000),
    "long-groups.csv": lambda: _cell(2, b"1'000" + b"'000" * 50_000),
    "long-exponent.csv": lambda: _cell(2, b"1e" + b"9" * 100_000),
    "exponent.csv": lambda: _cell(2, b"1e999999999"),
    "small-exponent.csv": lambda: _cell(2, b"1e-999999999"),
    "not-a-number.csv": lambda: _cell(2, b"nan") + _cell(2, b"-inf").removeprefix(_HEAD),
    "other-digits.csv": lambda: _cell(2, "\u0661\u066b\u0668\u0662".encode() * 20_000),  # Arabic-Indic 1.82
    "long-composition.csv": lambda: _cell(3, b"1% A " * 50_000),
    "long-failure.csv": lambda: _cell(3, b"A/B" * 100_000),
    "long-failure-words.csv": lambda: _cell(3, b"cohesive failure in the concrete and " * 30_000),
    "long-unit.csv": lambda: _HEAD.replace(b"MPa", b"N/mm" * 50_000) + _ROW,
    "long-heading.csv": lambda: _HEAD.replace(b"strength", b"strength (" * 50_000) + _ROW,
    "brackets.csv": lambda: _HEAD.replace(b"MPa", b"[" * 200_000) + _ROW,
    "many-columns.csv": lambda: b"zone,strength MPa" + b",x" * 500_000 + b"\n" + b"Deck,1.82" + b"," * 500_000 + b"\n",
    "many-separators.csv": lambda: b";,\t|" * _MILLION + b"\n" + _HEAD + _ROW,
    "quotes.csv": lambda: _HEAD + b'"' * (2 * _MILLION + 1) + b"\n" + _ROW,
    "open-quotes.csv": lambda: _HEAD + b'"a,\n' * 30_000,
    "line-ends.csv": lambda: _HEAD + b"\r" * 100_000 + _ROW + b"\n\r" * 100_000,
    "zero-bytes.csv": lambda: _HEAD + b"Deck\0,1,1.82,A,\0\n",
    "only-zero-bytes.csv": lambda: b"\0" * 10 * _MILLION,
    "utf16-cut.csv": lambda: (_HEAD + _ROW).decode().encode("utf-16")[:-1],
    "twice-encoded.csv": lambda: _cell(4, "Ã¼Â²".encode() * 100_000),
    "surrogates.csv": lambda: _cell(0, b"\xed\xa0\x80Deck"),
    "combining.csv": lambda: _cell(0, "a\u0301".encode() * 300_000),
    "many-zones.csv": lambda: _HEAD + b"".join(b"Z%d,%d,1.82,A,\n" % (i, i) for i in range(4_000)),
    "retest-circle.csv": lambda: (
        b"zone,id,strength MPa,retest of\n" + b"".join(b"Deck,%d,1.8,%d\n" % (i, (i + 1) % 2000) for i in range(2000))
    ),
    "long-date.csv": lambda: b"zone,id,strength MPa,date\nDeck,1,1.82," + b"1/" * 300_000 + b"\n",
    "long-size.csv": lambda: b"zone,id,load kN,diameter mm\nDeck,1,1.82," + b"50 x " * 100_000 + b"\n",
    "yaml-and-code.csv": lambda: _cell(
        4, b"!!python/object/apply:os.system ['touch trap'] __import__('os').system('touch trap')"
    ),
    "zone-at-the-bound.csv": lambda: _cell(0, b"x" * _BOUND),
    "blanks-at-the-bound.csv": lambda: _cell(2, b"1.82" + b" " * (_BOUND - 10) + b"MP a"),
    "digits-at-the-bound.csv": lambda: _cell(2, b"9" * _BOUND),
    "groups-at-the-bound.csv": lambda: _cell(2, b"1'000" + b"'000" * (_BOUND // 4 - 2)),
    "composition-at-the-bound.csv": lambda: _cell(3, b"1% A " * (_BOUND // 5)),
    "failure-at-the-bound.csv": lambda: _cell(3, b"A/B" * (_BOUND // 3)),
    "words-at-the-bound.csv": lambda: _cell(3, b"cohesive failure in the concrete and " * (_BOUND // 37)),
    "combining-at-the-bound.csv": lambda: _cell(0, "a\u0301".encode() * (_BOUND // 2)),
    "remark-at-the-bound.csv": lambda: _cell(4, b"glue failure? " * (_BOUND // 14)),
    "date-at-the-bound.csv": lambda: b"zone,id,strength MPa,date\nDeck,1,1.82," + b"1/" * (_BOUND // 2) + b"\n",
    "size-at-the-bound.csv": lambda: b"zone,id,load kN,diameter mm\nDeck,1,1.82," + b"50 x " * (_BOUND // 5) + b"\n",
    "bound-at-the-bound.csv": lambda: _cell(2, b">" * (_BOUND - 4) + b"1.82"),
    "columns-at-the-bound.csv": lambda: (
        b"zone,strength MPa" + b"".join(b",x%d" % i for i in range(1990)) + (b"\nDeck,1.82" + b",1.5" * 1990) * 300
    ),
    "gzip.csv": lambda: b"\x1f\x8b\x08\0" + b"\0" * 1000,
    "billion.xml.csv": lambda: b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>',
    "repeated.parquet": _parquet,
    "deep.parquet": _parquet_deep,
    "cut.parquet": lambda: b"PAR1" + b"\xff" * 3000 + b"\xff\xff\xff\x7fPAR1",
}

SPECIFICATIONS: Mapping[str, Callable[[], bytes]] = {
    "deep-list.toml": lambda: TERMS + b"x = " + b"[" * 100_000 + b"]" * 100_000,
    "deep-table.toml": lambda: TERMS + b"x = " + b"{a=" * 50_000 + b"1" + b"}" * 50_000,
    "dotted.toml": lambda: TERMS + b".".join([b"a"] * 20_000) + b" = 1\n",
    "deep-head.toml": lambda: TERMS + b"[" + b".".join([b"a"] * 20_000) + b"]\n",
    "digits.toml": lambda: TERMS.replace(b"= 3", b"= " + b"9" * 100_000),
    "large-number.toml": lambda: TERMS.replace(b"= 3", b"= " + b"9" * 4000),
    "hexadecimal.toml": lambda: TERMS.replace(b"= 3", b"= 0x" + b"f" * 400_000),
    "milliard-pulls.toml": lambda: TERMS.replace(b"= 3", b"= 1_000_000_000"),
    "infinite.toml": lambda: TERMS.replace(b"= 3", b"= inf"),
    "not-a-number.toml": lambda: TERMS.replace(b"= 3", b"= nan"),
    "limit-exponent.toml": lambda: TERMS.replace(b"1.50 MPa", b"1e999999999 MPa"),
    "limit-digits.toml": lambda: TERMS.replace(b"1.50", b"1." + b"5" * 100_000),
    "limit-infinite.toml": lambda: TERMS.replace(b"1.50 MPa", b"inf MPa"),
    "limit-blanks.toml": lambda: TERMS.replace(b"1.50 MPa", b"1.50" + b" " * 300_000 + b"MP a"),
    "many-rules.toml": lambda: TERMS + b'[[require]]\nsmallest_at_least = "1.0 MPa"\n' * 300,
    "deep-rules.toml": lambda: TERMS + b"[[require]]\nall_of = " + b"[{ any_of = " * 200 + b"[]" + b" }]" * 200,
    "one-thousand-of.toml": lambda: (
        TERMS
        + b"[[require]]\nany_of = ["
        + b'{ pulls_at_or_above = "1.0 MPa", at_least = 500000000, of = 1000000000 },' * 20
        + b"]\n"
    ),
    "long-key.toml": lambda: TERMS + b"x" * _MILLION + b" = 1\n",
    "many-keys.toml": lambda: TERMS + b"".join(b"k%d = 1\n" % i for i in range(5_000)),
    "use-outside.toml": lambda: TERMS + b'[[require]]\nuse = "../../../../etc/passwd"\n',
    "bytes.toml": lambda: TERMS + b"x = '\xff\xfe'\n",
    "zero-bytes.toml": lambda: TERMS + b"x = '\0'\n",
    "escapes.toml": lambda: TERMS + b'"\\u001b]0;owned\\u0007" = 1\n"\\u009b31m\\u202e" = 2\n',
    "title.toml": lambda: TERMS.replace(b"Invented", b"<script>alert(1)</script>\\u001b[2J\\u202e"),
    "code.toml": lambda: TERMS.replace(b'title = "Invented"', b'title = "{0.__class__.__mro__}{}%s{{7*7}}${7*7}"'),
    "empty.toml": lambda: b"",
    "binary.toml": lambda: bytes(range(256)) * 4000,
}

LAYOUTS: Mapping[str, Callable[[], bytes]] = {
    "escape-encoding.toml": lambda: b'encoding = "unicode_escape"\n',
    "packed-encoding.toml": lambda: b'encoding = "zip"\n',
    "slow-encoding.toml": lambda: b'encoding = "punycode"\n',
    "module-encoding.toml": lambda: b'encoding = "../../os"\n',
    "separator.toml": lambda: b'separator = "\\u0000"\n',
    "long-separator.toml": lambda: b'separator = "' + b"," * 100_000 + b'"\n',
    "columns.toml": lambda: b"[columns]\n" + b"".join(b'"%d" = "zone"\n' % i for i in range(20_000)),
    "sheet.toml": lambda: b'sheet = "<script>\\u001b]8;;http://127.0.0.1\\u0007"\n',
    "deep.toml": lambda: b"x = " + b"[" * 100_000 + b"]" * 100_000,
}
