"""The twin as a process of its own: ``python -m adhesion_stats.twin`` in a folder with the raw files.

Takes a job as JSON on its standard input (name of the readings, layout as understood), reads ``readings``,
``specification``, ``results``, ``layout`` where it is there, and the files in ``published``; prints its answer as JSON.
Imports: the standard library and this package.
"""

from __future__ import annotations

import json
import sys
import tomllib
from pathlib import Path

from adhesion_stats.twin.compare import second_opinion

__all__ = ["main"]


def main() -> int:
    """Make the second opinion on the files of the working folder."""
    job = json.load(sys.stdin)
    layout = Path("layout")
    found = second_opinion(
        readings=(job["readings"], Path("readings").read_bytes()),
        specification=Path("specification").read_bytes(),
        layout=tomllib.loads(layout.read_text(encoding="utf-8-sig")) if layout.exists() else {},
        understood=tomllib.loads(job["understood"]),
        published=[path.read_bytes() for path in sorted(Path("published").iterdir())],
        results=json.loads(Path("results").read_bytes()),
    )
    json.dump(found.as_dict(), sys.stdout, allow_nan=False)
    return 0


if __name__ == "__main__":
    sys.exit(main())
