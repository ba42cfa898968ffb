"""A second opinion for auditors: the same assessment again, slowly and plainly, by code that shares nothing with it.

=========== ====================================================================================================
cells       the raw cells of a text file or a workbook
headings    which column is what
readings    pulls, every number exact as written
terms       what the contract asks
reconcile   what is taken over from the record, and said
standing    which pulls count
values      what is known of each value
formulas    mean, standard deviation, factors of characteristic values
outliers    p-values of Grubbs and Dixon
forms       what each criterion asks of n values
breaks      criteria on what broke
decide      decisions over every completion of what is unknown
opinion     all of it together
compare     the record's numbers beside the twin's
=========== ====================================================================================================

Standard library and mpmath only, and not one import of ``adhesion_stats`` but this package: a contract in
``pyproject.toml`` holds that. What it does not know it says, and counts.
"""

from __future__ import annotations

from adhesion_stats.twin.compare import FORMAT_VERSION, Pair, SecondOpinion, second_opinion
from adhesion_stats.twin.model import NotKnown, Unchecked

__all__ = ["FORMAT_VERSION", "NotKnown", "Pair", "SecondOpinion", "Unchecked", "second_opinion"]
