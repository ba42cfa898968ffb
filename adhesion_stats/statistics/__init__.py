"""Statistics of small samples: plain numbers in blocks, no tables, no units, no words of the trade.

Every kernel keeps the contract at the top of ``adhesion_stats.statistics.blocks``: one sample is the same call as a
million, with the same bits.

===================  ===============================================================================
``blocks``           cut a long table into blocks of equal sample size; values known within bounds
``describe``         mean, sd, coefficient of variation, smallest, largest, median
``intervals``        confidence interval of the mean
``characteristic``   one-sided tolerance bound
``en1990``           EN 1990 Annex D
``grubbs``           Grubbs' test, exact
``dixon``            Dixon's ratios, exact
``screening``        what outlier tests return; flags that chance alone brings
===================  ===============================================================================

Imports: numpy, scipy.special, scipy.optimize, ``adhesion_stats.errors``. Must not import pandas, scipy.stats, or any
other room.
"""

from adhesion_stats.statistics.blocks import Stack, blocks, stacks
from adhesion_stats.statistics.characteristic import k_one_sided, tolerance_bound_lower
from adhesion_stats.statistics.describe import Description, describe, mean_and_sd
from adhesion_stats.statistics.dixon import (
    CONVENTIONS,
    TRUE_LEVEL_TWO_SIDED,
    Convention,
    dixon,
    dixon_critical,
    dixon_p_value,
    dixon_ratio,
    ratio_for,
)
from adhesion_stats.statistics.en1990 import (
    EN1990_TABLE_D1,
    PrintedFactors,
    en1990_known_cov,
    en1990_known_sd,
    en1990_unknown,
    k_en1990_known,
    k_en1990_printed,
    k_en1990_unknown,
)
from adhesion_stats.statistics.grubbs import grubbs, grubbs_critical, grubbs_p_value, grubbs_statistic
from adhesion_stats.statistics.intervals import confidence_interval_mean, t_quantile
from adhesion_stats.statistics.screening import ChanceFlags, OutlierScreen, flags_by_chance

__all__ = [
    "CONVENTIONS",
    "EN1990_TABLE_D1",
    "TRUE_LEVEL_TWO_SIDED",
    "ChanceFlags",
    "Convention",
    "Description",
    "OutlierScreen",
    "PrintedFactors",
    "Stack",
    "blocks",
    "confidence_interval_mean",
    "describe",
    "dixon",
    "dixon_critical",
    "dixon_p_value",
    "dixon_ratio",
    "en1990_known_cov",
    "en1990_known_sd",
    "en1990_unknown",
    "flags_by_chance",
    "grubbs",
    "grubbs_critical",
    "grubbs_p_value",
    "grubbs_statistic",
    "k_en1990_known",
    "k_en1990_printed",
    "k_en1990_unknown",
    "k_one_sided",
    "mean_and_sd",
    "ratio_for",
    "stacks",
    "t_quantile",
    "tolerance_bound_lower",
]
