"""The public face of the room."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest

from adhesion_stats import statistics as room
from adhesion_stats.errors import InvalidSample


def test_every_public_name_exists_once() -> None:
    """``__all__`` has no name twice and none that is missing."""
    assert len(set(room.__all__)) == len(room.__all__)
    assert all(hasattr(room, name) for name in room.__all__)


def test_the_room_loads_no_heavy_library() -> None:
    """Importing the statistics brings numpy and parts of scipy, not pandas, scipy.stats, pint or matplotlib."""
    code = (
        "import sys, adhesion_stats.statistics;"
        "print(*[m for m in ('pandas', 'scipy.stats', 'pint', 'matplotlib', 'polars') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


X = np.array([[1.0, 2.0, 3.0, 5.0]])
WRONG_WORDS: dict[str, Callable[[], object]] = {
    "grubbs": lambda: room.grubbs(X, alpha=0.05, sides="both", recording_step=0.0),  # type: ignore[arg-type]
    "grubbs_critical": lambda: room.grubbs_critical(n=4, alpha=0.05, sides="upper"),  # type: ignore[arg-type]
    "grubbs_p_value": lambda: room.grubbs_p_value(X[0], n=4, sides=""),  # type: ignore[arg-type]
    "dixon_ratio": lambda: room.dixon_ratio(X, ratio="r10", sides="both"),  # type: ignore[arg-type]
    "dixon_critical": lambda: room.dixon_critical(ratio="r9", n=4, alpha=0.05, sides="low"),  # type: ignore[arg-type]
    "dixon_p_value": lambda: room.dixon_p_value(X[0] / 5, ratio="r10", n=4, sides="one"),  # type: ignore[arg-type]
    "grubbs_pair_critical": lambda: room.grubbs_pair_critical(n=4, alpha=0.05, sides="x"),  # type: ignore[arg-type]
    "grubbs_pair_p_value": lambda: room.grubbs_pair_p_value(X[0] / 5, n=4, sides="x"),  # type: ignore[arg-type]
    "grubbs_pair_statistic": lambda: room.grubbs_pair_statistic(X, sides="x"),  # type: ignore[arg-type]
    "esd_critical": lambda: room.esd_critical(n=9, r=2, alpha=0.05, levels="x"),  # type: ignore[arg-type]
    "en1990_unknown": lambda: room.en1990_unknown(X, factors="table"),  # type: ignore[arg-type]
    "k_en1990_printed": lambda: room.k_en1990_printed(n=4, spread="none"),  # type: ignore[arg-type]
}


@pytest.mark.parametrize("name", WRONG_WORDS)
def test_unknown_words_are_refused(name: str) -> None:
    """A choice that the function doesn't know is an error that lists the known ones, never a silent other choice."""
    with pytest.raises(InvalidSample, match="to be one of"):
        WRONG_WORDS[name]()
