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
``grubbs_pair``      Grubbs' test for two outliers in one tail, exact
``grubbs_ends``      Grubbs' test for one outlier at either end
``dixon``            Dixon's ratios, exact
``esd``              generalised extreme studentised deviate test, published and calibrated
``tietjen_moore``    Tietjen and Moore's test for k outliers, by simulation
``median_screen``    distance from the median in median absolute deviations
``cochran``          Cochran's test of the largest variance, exact
``populations``      what a test's level becomes where values are not normal
``screening``        what outlier tests return; flags that chance alone brings
===================  ===============================================================================

Imports: numpy, scipy.special, scipy.optimize, ``adhesion_stats.errors``. Must not import pandas, scipy.stats, or any
other room.
"""

from adhesion_stats.statistics.blocks import Stack, blocks, stacks
from adhesion_stats.statistics.characteristic import k_one_sided, tolerance_bound_lower
from adhesion_stats.statistics.cochran import (
    VarianceScreen,
    cochran,
    cochran_critical,
    cochran_p_value,
    cochran_statistic,
)
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
from adhesion_stats.statistics.esd import EsdScreen, esd, esd_critical, esd_statistics
from adhesion_stats.statistics.grubbs import grubbs, grubbs_critical, grubbs_p_value, grubbs_statistic
from adhesion_stats.statistics.grubbs_ends import (
    grubbs_ends,
    grubbs_ends_critical,
    grubbs_ends_p_value,
    grubbs_ends_statistic,
)
from adhesion_stats.statistics.grubbs_pair import (
    PairScreen,
    grubbs_pair,
    grubbs_pair_critical,
    grubbs_pair_p_value,
    grubbs_pair_statistic,
)
from adhesion_stats.statistics.intervals import confidence_interval_mean, t_quantile
from adhesion_stats.statistics.median_screen import (
    MedianScreen,
    median_absolute_deviation,
    median_screen,
    modified_z,
)
from adhesion_stats.statistics.populations import Population, level_under, weibull_shape
from adhesion_stats.statistics.screening import ChanceFlags, OutlierScreen, flags_by_chance, holm
from adhesion_stats.statistics.tietjen_moore import (
    SimulatedProbability,
    tietjen_moore_p_value,
    tietjen_moore_statistic,
)

__all__ = [
    "CONVENTIONS",
    "EN1990_TABLE_D1",
    "TRUE_LEVEL_TWO_SIDED",
    "ChanceFlags",
    "Convention",
    "Description",
    "EsdScreen",
    "MedianScreen",
    "OutlierScreen",
    "PairScreen",
    "Population",
    "PrintedFactors",
    "SimulatedProbability",
    "Stack",
    "VarianceScreen",
    "blocks",
    "cochran",
    "cochran_critical",
    "cochran_p_value",
    "cochran_statistic",
    "confidence_interval_mean",
    "describe",
    "dixon",
    "dixon_critical",
    "dixon_p_value",
    "dixon_ratio",
    "en1990_known_cov",
    "en1990_known_sd",
    "en1990_unknown",
    "esd",
    "esd_critical",
    "esd_statistics",
    "flags_by_chance",
    "grubbs",
    "grubbs_critical",
    "grubbs_ends",
    "grubbs_ends_critical",
    "grubbs_ends_p_value",
    "grubbs_ends_statistic",
    "grubbs_p_value",
    "grubbs_pair",
    "grubbs_pair_critical",
    "grubbs_pair_p_value",
    "grubbs_pair_statistic",
    "grubbs_statistic",
    "holm",
    "k_en1990_known",
    "k_en1990_printed",
    "k_en1990_unknown",
    "k_one_sided",
    "level_under",
    "mean_and_sd",
    "median_absolute_deviation",
    "median_screen",
    "modified_z",
    "ratio_for",
    "stacks",
    "t_quantile",
    "tietjen_moore_p_value",
    "tietjen_moore_statistic",
    "tolerance_bound_lower",
    "weibull_shape",
]
