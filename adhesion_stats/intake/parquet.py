"""Parquet bytes -> one grid: headings as row 1, records from row 2 on, cells by column with their kinds.

Rows are counted as in a text file of the same table. Sizes are checked before anything is unpacked. Knows kinds of
columns; not headings, units or what a column means.
"""

from __future__ import annotations

import datetime as dt
import decimal
import math
from typing import TYPE_CHECKING

import numpy as np

from adhesion_stats.coded import Coded
from adhesion_stats.intake.cells import Cells, ColumnRows
from adhesion_stats.intake.columnar import encoded
from adhesion_stats.intake.grid import Detail, Grid, Kind
from adhesion_stats.intake.workbook import shown_number
from adhesion_stats.messages import Severity

if TYPE_CHECKING:
    import pyarrow as pa
    from pyarrow import parquet as pq

    from adhesion_stats.intake.findings import Findings

__all__ = ["MAX_CELLS", "MAX_UNPACKED", "is_parquet", "read_parquet"]

MAX_UNPACKED = 1024 * 2**20
MAX_CELLS = 200_000_000  # rows times columns: repeated values pack to nearly nothing


def is_parquet(content: bytes) -> bool:
    """Whether the bytes begin as a Parquet file does, a protected one too."""
    return content[:4] in {b"PAR1", b"PARE"}


def read_parquet(content: bytes, file: str, findings: Findings) -> list[Grid]:
    """Return the table; what can't be read is said in ``findings`` (then the list is empty)."""
    import pyarrow as pa
    from pyarrow import parquet as pq

    if content[-4:] == b"PARE" or content[:4] == b"PARE":
        findings.add("parquet_protected", Severity.ERROR)
        return []
    try:
        source = pq.ParquetFile(pa.BufferReader(content), page_checksum_verification=True)
        unpacked, cells = _sizes(source.metadata)
        if unpacked > MAX_UNPACKED or cells > MAX_CELLS:
            facts = {
                "unpacked_mb": unpacked // 2**20,
                "limit_mb": MAX_UNPACKED // 2**20,
                "cells": cells,
                "limit_cells": MAX_CELLS,
            }
            findings.add("parquet_too_large", Severity.ERROR, facts=facts)
            return []
        table = source.read()
        table.validate(full=True)
        columns = [_cells(column) for column in table.columns]
    except Exception as problem:  # noqa: BLE001 - whatever a damaged file makes it raise is told to the reader
        findings.add("parquet_damaged", Severity.ERROR, facts={"problem": f"{problem}".splitlines()[0][:200]})
        return []
    if not columns:
        findings.add("file_empty", Severity.ERROR)
        return []
    rows = ColumnRows([list(table.column_names)], columns)
    return [Grid(file, "", rows, range(1, len(rows) + 1), records=True)]


def _sizes(metadata: pq.FileMetaData) -> tuple[int, int]:
    """Bytes unpacked and number of cells, as the file says."""
    groups = [metadata.row_group(k) for k in range(metadata.num_row_groups)]
    rows = max(metadata.num_rows, sum(group.num_rows for group in groups))
    return sum(group.total_byte_size for group in groups), rows * max(1, metadata.num_columns)


def _cells(column: pa.ChunkedArray) -> Cells:
    """A column with the text of each distinct value, and what it is beyond text; missing values are blank."""
    import pyarrow as pa
    from pyarrow import compute as pc

    kind = column.type
    if pa.types.is_dictionary(kind):
        return _cells(column.cast(kind.value_type))
    if pa.types.is_null(kind):
        return Cells(Coded.same("", len(column)))
    if pa.types.is_string(kind) or pa.types.is_large_string(kind) or pa.types.is_string_view(kind):
        return encoded(pc.fill_null(column.cast(pa.string()), ""))
    if pa.types.is_nested(kind) or pa.types.is_binary(kind) or pa.types.is_large_binary(kind):
        return Cells(Coded.of(map(_plain_text, column.to_pylist())))
    if pa.types.is_timestamp(kind):
        column = column.cast(pa.timestamp("us", kind.tz), safe=False)
    small = pa.types.is_float16(kind) or pa.types.is_float32(kind)
    chosen = column.dictionary_encode(null_encoding="encode").combine_chunks()
    codes = chosen.indices.to_numpy(zero_copy_only=False).astype(np.int32, copy=False)
    shown = [_shown(_as_written(value, kind) if small else value) for value in chosen.dictionary.to_pylist()]
    return _once(codes, shown)


def _as_written(value: float | None, kind: pa.DataType) -> float | None:
    """A number of 16 or 32 bits as the shortest decimal number that it stands for: 2.13, not 2.130000114."""
    if value is None:
        return None
    return float(str(np.float16(value) if kind.bit_width == 16 else np.float32(value)))


def _once(codes: np.ndarray, shown: list[tuple[str, Detail | None]]) -> Cells:
    """Cells of which some distinct values are shown alike and are alike (nan and missing: both blank)."""
    known: dict[tuple[str, Detail | None], int] = {}
    to = np.array([known.setdefault(cell, len(known)) for cell in shown], np.int32)
    details = [detail for _, detail in known]
    return Cells(Coded(to[codes], tuple(text for text, _ in known)), details if any(details) else None)


def _plain_text(value: object) -> str:
    if value is None:
        return ""
    return value.decode("utf-8", "backslashreplace") if isinstance(value, bytes) else str(value)


def _shown(value: object) -> tuple[str, Detail | None]:
    """Text of a value as it would stand in a text file, and what else it is."""
    match value:
        case None:
            return "", None
        case bool():
            return str(value).upper(), Detail(Kind.BOOLEAN, float(value))
        case decimal.Decimal():
            return f"{value:f}", Detail(Kind.NUMBER, float(value))
        case int():
            return str(value), Detail(Kind.NUMBER, float(value))
        case float():
            if math.isnan(value):
                return "", None
            return (shown_number(value), Detail(Kind.NUMBER, value)) if math.isfinite(value) else (str(value), None)
        case dt.datetime():
            iso = value.date().isoformat()
            midnight = value.time() == dt.time()
            return iso if midnight else value.isoformat(sep=" ", timespec="seconds"), Detail(Kind.DATE, None, iso)
        case dt.date():
            return value.isoformat(), Detail(Kind.DATE, None, value.isoformat())
        case dt.time() | dt.timedelta():
            return str(value), Detail(Kind.DATE)
        case _:
            return str(value), None
