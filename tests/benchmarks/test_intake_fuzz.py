"""Damaged readings files: every one ends in pulls with all rows accounted for, or in the package's own error.

Run with ``pytest -m benchmark``; the number of inputs is 20,000 unless ``FUZZ_INPUTS`` says otherwise. Seeds are fixed.
"""

from __future__ import annotations

import os
import re
import time
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from adhesion_stats.errors import UnusableReadings
from adhesion_stats.intake import Reading, read_bytes
from adhesion_stats.messages import Severity
from tests.cases.test_kinds import ALL

FOLDER = Path(__file__).parents[1] / "cases" / "messy"
INPUTS = int(os.environ.get("FUZZ_INPUTS", "20000"))
SLOWEST_S = 20.0  # one small file; a hang shows as more
_ROWS_NAMED = (
    "summary_rows_left_out",
    "rows_of_remarks",
    "zone_rows",
    "heading_repeated",
    "unit_row_left_out",
    "lines_above_heading",
    "further_tables",
    "headings_over_rows",
)
_SNIPPETS = (
    b",",
    b";",
    b"\t",
    b'"',
    b"\n",
    b"\r\n",
    b" ",
    b"-",
    b"+",
    b">",
    b"<",
    b"%",
    b"/",
    b"0",
    b"9",
    b"A",
    b"A/B",
    b"1,234",
    b"1.234",
    b"n/a",
    b"MPa",
    b"psi",
    b"\xff",
    b"\x00",
    "²".encode(),
    "²".encode("cp1252"),
    b"\xef\xbb\xbf",
    b"=1+1",
    b"Mean",
    b"zone",
    b"nan",
    b"1e999",
    b"#DIV/0!",
)


def sources() -> list[bytes]:
    """The files that are damaged: all example files and all kinds."""
    files = [path.read_bytes() for path in sorted(FOLDER.iterdir()) if path.suffix != ".json"]
    return files + [kind.text.encode(kind.encoding) for kind in ALL]


def damaged(content: bytes, rng: np.random.Generator) -> bytes:
    """Return the content with one to four random damages to bytes or cells."""
    data = bytearray(content)
    for _ in range(int(rng.integers(1, 5))):
        at = int(rng.integers(0, len(data) + 1))
        match int(rng.integers(0, 7)):
            case 0 if at < len(data):
                data[at] = int(rng.integers(0, 256))
            case 1:
                del data[at : at + int(rng.integers(1, 12))]
            case 2:
                data[at:at] = _SNIPPETS[int(rng.integers(0, len(_SNIPPETS)))]
            case 3:
                end = at + int(rng.integers(1, 40))
                data[at:at] = data[at:end]
            case 4:
                lines = bytes(data).split(b"\n")
                lines.insert(int(rng.integers(0, len(lines))), lines[int(rng.integers(0, len(lines)))])
                data = bytearray(b"\n".join(lines))
            case 5:
                parts = re.split(rb"([,;\t])", bytes(data))
                one, two = (int(k) for k in rng.integers(0, len(parts), 2))
                parts[one], parts[two] = parts[two], parts[one]
                data = bytearray(b"".join(parts))
            case _:
                data = data[: max(1, at)]
    return bytes(data)


def rows_accounted(content: bytes, reading: Reading) -> bool:
    """Whether pulls, named rows and heading rows are all rows of a plain text file."""
    if content[:2] == b"PK" or b'"' in content:
        return True  # line breaks inside cells: rows are not lines
    encoding = reading.layout.encoding or "utf-8"
    text = content.decode(encoding, errors="replace").lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    separator = reading.layout.separator or ","
    lines = {
        n
        for n, line in enumerate(text.split("\n"), 1)
        if line.replace(separator if separator != "none" else "\n", "").strip()
    }
    named: set[int] = set()
    for message in reading.messages:
        if message.code in {"groups_side_by_side", "readings_side_by_side"} and message.place.row:
            named.add(message.place.row)
        if message.code in _ROWS_NAMED:
            for part in str(message.facts["rows"]).split(", "):
                first, _, last = part.partition("-")
                named |= set(range(int(first), int(last or first) + 1))
    headings = {
        reading.layout.heading_row,
        (reading.layout.heading_row or 0) + 1,
        (reading.layout.heading_row or 0) - 1,
    }
    lost = lines - named - set(reading.pulls.row.tolist()) - headings
    if text.startswith("sep="):
        lost.discard(1)
    return not lost


@pytest.mark.benchmark
def test_damaged_files_end_in_pulls_or_in_our_own_error() -> None:
    """No other exception, no hang, no row lost without a word; the counts are printed."""
    files, counts, slowest = sources(), Counter[str](), 0.0
    unaccounted: list[tuple[int, bytes]] = []
    silent = 0
    for seed in range(INPUTS):
        rng = np.random.default_rng(seed)
        content = damaged(files[seed % len(files)], rng)
        start = time.perf_counter()
        try:
            reading = read_bytes(content, file="damaged")
        except UnusableReadings as refused:
            errors = [message for message in refused.messages if message.severity is Severity.ERROR]
            silent += not (errors and str(refused))
            counts["refused"] += 1
        except Exception as problem:
            raise AssertionError(f"seed {seed}: {problem!r}") from problem
        else:
            counts["read, with remarks" if reading.messages else "read, nothing to say"] += 1
            if not rows_accounted(content, reading):
                unaccounted.append((seed, content))
        slowest = max(slowest, time.perf_counter() - start)
    print(
        f"\n{INPUTS} damaged files: {dict(counts)}, slowest {slowest:.2f} s, rows without a word in {len(unaccounted)}"
    )
    assert silent == 0, "a refusal without an error or without words"
    assert slowest < SLOWEST_S
    assert not unaccounted, unaccounted[:3]
