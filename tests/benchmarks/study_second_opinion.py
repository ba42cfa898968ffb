"""Library and twin on random contracts and on every case file: how often they agree, and what the twin left unchecked.

Run it: ``python -m tests.benchmarks.study_second_opinion [first seed] [one after the last]``. Prints counts; a pair
that differs is printed with its seed or file. The usual run of the tests does the same on fewer.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator

from adhesion_stats.errors import UnusableReadings
from tests.twin.contracts import contract, readings
from tests.twin.sides import ROOT, assessed, opinion

__all__ = ["main"]

_TERMS = b"""[contract]
title = "Case files"
[[require]]
all_of = [{ mean_at_least = "1.5 MPa" }, { smallest_at_least = "1.0 MPa" }]
[pulls]
lost = "unknown"
[glue]
from = "50 %"
then = "at least"
"""


def _random(seeds: range) -> Iterator[tuple[str, str, bytes, bytes]]:
    for seed in seeds:
        r = random.Random(seed)  # noqa: S311 - the same contracts every time
        text = readings(r)
        yield f"seed {seed}", "readings.csv", text.encode(), contract(r).encode()


def _files() -> Iterator[tuple[str, str, bytes, bytes]]:
    for path in sorted((ROOT / "tests" / "cases").glob("*/*.*")):
        if path.suffix in {".csv", ".xlsx"}:
            yield path.name, path.name, path.read_bytes(), _TERMS


def _study(cases: Iterator[tuple[str, str, bytes, bytes]]) -> None:
    outcomes: Counter[str] = Counter()
    decisions: Counter[str] = Counter()
    unchecked: Counter[str] = Counter()
    pairs = 0
    for name, file, content, specification in cases:
        try:
            results, understood = assessed(content, specification, file=file)
        except UnusableReadings:
            outcomes["refused by the library"] += 1
            continue
        found = opinion(content, specification, results, file=file, understood=understood)
        outcomes[found.outcome] += 1
        decisions.update(str(pair.twin) for pair in found.pairs if pair.what == "decision")
        unchecked.update(one.code for one in found.unchecked)
        pairs += len(found.pairs)
        for pair in found.differing:
            print(name, pair)
    print(f"{pairs} pairs\n{dict(outcomes)}\ndecisions of zones: {dict(decisions)}\nunchecked: {dict(unchecked)}")


def main(arguments: list[str]) -> int:
    """Run the study and print what came of it."""
    first, last = (int(a) for a in arguments) if arguments else (0, 300)
    print(f"Random contracts, seeds {first} to {last - 1}")
    _study(_random(range(first, last)))
    print("Case files")
    _study(_files())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
