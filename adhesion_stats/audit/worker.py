"""The fresh process of an audit: reads the raw files in its working folder, writes the results beside them.

Started as ``python -m adhesion_stats.audit.worker`` by ``recompute``; it takes a job as JSON on its standard input and
gives what came of it as JSON on its standard output, so that no text of a file becomes an argument or a path.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from adhesion_stats.errors import InvalidSpecification, UnusableReadings

__all__ = ["RESULTS", "main"]

RESULTS = "recomputed.json"


def main() -> int:
    """Recompute; 0 also where the files can't be used, which is an answer."""
    from adhesion_stats.assessment import assess
    from adhesion_stats.entrance import readings_from, specification_from
    from adhesion_stats.record import canonical_bytes

    job = json.load(sys.stdin)
    try:
        terms = specification_from(Path("specification").read_bytes(), file=job["specification"])
        layout = (job["layout"], Path("layout").read_bytes()) if job["layout"] else None
        reading = readings_from(Path("readings").read_bytes(), file=job["readings"], specification=terms, layout=layout)
    except (UnusableReadings, InvalidSpecification) as error:
        kind = "readings" if isinstance(error, UnusableReadings) else "specification"
        messages = [message.as_dict() for message in error.messages]
        json.dump({"unusable": kind, "messages": messages, "layout": ""}, sys.stdout)
        return 0
    Path(RESULTS).write_bytes(canonical_bytes(assess(reading, terms).as_dict()))
    json.dump({"unusable": None, "messages": [], "layout": reading.layout.to_toml()}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
