"""The kinds of criterion that a specification can write: one entry a kind, in the order in which people are told them.

To add a kind: its dataclass in ``terms.criteria``, a function from ``Entry`` to it in one of the modules that the
registry gathers (or a new one), and its ``Kind`` here.

Imports: terms.
"""

from __future__ import annotations

from adhesion_stats.terms.entry import Kind
from adhesion_stats.terms.kinds_of_failure import FAILURE_KINDS
from adhesion_stats.terms.kinds_of_values import VALUE_KINDS

__all__ = ["KINDS"]

KINDS: dict[str, Kind] = {kind.main: kind for kind in (*VALUE_KINDS, *FAILURE_KINDS)}
