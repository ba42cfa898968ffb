"""The public face of the room."""

from __future__ import annotations

import subprocess
import sys

from adhesion_stats import statistics


def test_every_public_name_exists_once() -> None:
    """``__all__`` has no name twice and none that is missing."""
    assert len(set(statistics.__all__)) == len(statistics.__all__)
    assert all(hasattr(statistics, name) for name in statistics.__all__)


def test_the_room_loads_no_heavy_library() -> None:
    """Importing the statistics brings numpy and parts of scipy, not pandas, scipy.stats, pint or matplotlib."""
    code = (
        "import sys, adhesion_stats.statistics;"
        "print(*[m for m in ('pandas', 'scipy.stats', 'pint', 'matplotlib', 'polars') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
