"""Judging: which pulls count, and why not. From facts (``Pulls``) and terms to ``Standing`` and messages.

Order: validity (lost, no value, disputed, dolly adhesive, method where it says invalid, written exclusion) ->
replacement by retests -> screening for outliers (which excludes nothing) -> consistency of preparation (which excludes
nothing).
"""

from __future__ import annotations

from adhesion_stats.judging.method import Breach, breaches
from adhesion_stats.judging.populations import Population, Populations, parted
from adhesion_stats.judging.preparation import preparation_messages
from adhesion_stats.judging.screening import ScreeningRow, ScreeningTable, screen
from adhesion_stats.judging.silence import settlements, silent_rules
from adhesion_stats.judging.validity import Judgement, judge, named_by, repeated

__all__ = [
    "Breach",
    "Judgement",
    "Population",
    "Populations",
    "ScreeningRow",
    "ScreeningTable",
    "breaches",
    "judge",
    "named_by",
    "parted",
    "preparation_messages",
    "repeated",
    "screen",
    "settlements",
    "silent_rules",
]
