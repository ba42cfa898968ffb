"""The library's results beside the twin, in one process: what tests need to bring the two together."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from adhesion_stats.assessment import assess
from adhesion_stats.entrance import readings_from, specification_from
from adhesion_stats.record import canonical_bytes, read_results
from adhesion_stats.twin import SecondOpinion, second_opinion

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data" / "demo"
PUBLISHED = [
    path.read_bytes()
    for folder in ("published", "methods")
    for path in sorted((ROOT / "adhesion_stats" / "terms" / folder).glob("*.toml"))
]


def assessed(content: bytes, specification: bytes, *, file: str = "readings.csv") -> tuple[dict[str, object], str]:
    """The library's results, and the layout as it understood the readings."""
    terms = specification_from(specification, file="terms.toml")
    reading = readings_from(content, file=file, specification=terms, layout=None)
    results = read_results(canonical_bytes(assess(reading, terms).as_dict()))
    return dict(results), reading.layout.to_toml()


def opinion(
    content: bytes,
    specification: bytes,
    results: Mapping[str, object],
    *,
    file: str = "readings.csv",
    layout: str = "",
    understood: str = "",
) -> SecondOpinion:
    """The twin's opinion of results."""
    return second_opinion(
        readings=(file, content),
        specification=specification,
        layout=tomllib.loads(layout),
        understood=tomllib.loads(understood),
        published=PUBLISHED,
        results=results,
    )
